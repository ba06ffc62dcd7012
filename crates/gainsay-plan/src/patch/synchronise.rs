//! The clocks of a studio: what of it is in use, as a clock system, and the answer as clocks of its boxes.

use super::clock::{
    AudioLink, ClockConflict, ClockDevice, ClockPath, ClockRole, ClockSystem, ConflictReason, FreePorts,
    assign,
};
use super::studio::{Studio, WireOf};
use super::{Clock, ClockCable};
use crate::case::formats;
use gainsay_gear::FrontEnd;
use gainsay_gear::connection::ClockSource;
use gainsay_gear::front_end::DigitalPorts;

/// Whose clock each box runs on.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Clocks {
    /// For each box; [`ClockCable::Link`] holds the index of a wire.
    pub(super) of: Vec<Option<Clock>>,
    /// Wires whose ends run on different clocks.
    pub(super) converted: Vec<usize>,
}

/// Boxes that can't run on one clock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Clash {
    /// Wires that can't all be in use.
    pub(super) wires: Vec<usize>,
    /// Which boxes, and why, with indices of boxes.
    pub(super) conflict: ClockConflict,
}

/// Where a device can take its clock from. A file that does not say is taken to mean: its own, or any digital input it has.
pub(super) fn clock_sources(front_end: &FrontEnd) -> Vec<ClockSource> {
    front_end.whole.clock_sources.clone().unwrap_or_else(|| {
        let embedded = front_end.digital_inputs.iter().flat_map(formats);
        let mut sources = vec![ClockSource::Internal];
        sources.extend(embedded.flat_map(|format| format.clock_sources().iter().copied()));
        sources.dedup();
        sources
    })
}

/// Among more boxes than this that could help with a clock, no two are tried together.
const MOST_PAIRS_OF: usize = 16;

/// Finds whose clock every box that is in use runs on. Where those boxes alone have no common clock, one or two boxes that carry
/// no sound but give or pass on a clock may help: by word clock, or by a digital cable of its own.
///
/// # Errors
/// Wires that can't all be in use, because their boxes can't run on one clock.
pub(super) fn synchronise(studio: &Studio<'_>, channels: &[u32]) -> Result<Clocks, Clash> {
    let alone = with(studio, channels, &[]);
    if alone.is_ok() {
        return alone;
    }
    let gives_its_clock = |at: &usize| {
        studio.front_end(*at).is_some_and(|front_end| {
            front_end.whole.word_clock_output == Some(true) || !front_end.digital_outputs.is_empty()
        })
    };
    let helpers: Vec<usize> = (0..studio.boxes.len()).filter(gives_its_clock).collect();
    let one = helpers.iter().map(|helper| vec![*helper]);
    let two = helpers.iter().enumerate().flat_map(|(index, first)| {
        let seconds = helpers.iter().skip(index + 1).filter(|_| helpers.len() <= MOST_PAIRS_OF);
        seconds.map(|second| vec![*first, *second])
    });
    let helped = one.chain(two).find_map(|more| with(studio, channels, &more).ok());
    helped.map_or(alone, Ok)
}

/// The same, with more boxes on the same clock.
fn with(studio: &Studio<'_>, channels: &[u32], more: &[usize]) -> Result<Clocks, Clash> {
    let in_use: Vec<(usize, WireOf)> = studio
        .wires
        .iter()
        .zip(channels)
        .enumerate()
        .filter(|(_, (_, channels))| **channels > 0)
        .map(|(index, (wire, _))| (index, *wire))
        .collect();
    let used_ports = |at: usize, group: usize, sends: bool| -> u32 {
        in_use
            .iter()
            .filter_map(|(index, wire)| match wire {
                WireOf::Digital(d) => {
                    let here = if sends { (d.from, d.output_group) } else { (d.to, d.input_group) };
                    let channels = channels.get(*index).copied().unwrap_or(0);
                    (here == (at, group)).then(|| channels.div_ceil(d.per_cable.max(1)))
                }
                _ => None,
            })
            .sum()
    };
    let to_computer: Vec<(usize, usize)> = in_use
        .iter()
        .filter_map(|(wire, of)| if let WireOf::Computer(at) = of { Some((*wire, *at)) } else { None })
        .collect();
    let mut boxes: Vec<usize> = to_computer.iter().map(|(_, at)| *at).collect();
    for (_, wire) in &in_use {
        if let WireOf::Digital(digital) = wire {
            boxes.extend([digital.from, digital.to]);
        }
    }
    let leader = studio.clock_leader().filter(|_| !boxes.is_empty());
    boxes.extend(leader);
    if !boxes.is_empty() {
        boxes.extend_from_slice(more);
    }
    boxes.sort_unstable();
    boxes.dedup();
    let index_of = |at: usize| boxes.iter().position(|b| *b == at);

    let free = |at: usize, groups: &[DigitalPorts], sends: bool| -> Vec<FreePorts> {
        groups
            .iter()
            .enumerate()
            .map(|(group, ports)| FreePorts {
                group,
                formats: formats(ports).collect(),
                count: ports.count.unwrap_or(1).saturating_sub(used_ports(at, group, sends)),
            })
            .collect()
    };
    let devices = boxes
        .iter()
        .map(|at| {
            let Some(front_end) = studio.front_end(*at) else { return ClockDevice::default() };
            ClockDevice {
                sources: clock_sources(front_end),
                word_clock_output: front_end.whole.word_clock_output == Some(true),
                outputs: free(*at, &front_end.digital_outputs, true),
                inputs: free(*at, &front_end.digital_inputs, false),
            }
        })
        .collect();
    let mut link_wires = Vec::new();
    let mut links = Vec::new();
    for (wire, of) in &in_use {
        if let WireOf::Digital(digital) = of
            && let (Some(from), Some(to)) = (index_of(digital.from), index_of(digital.to))
        {
            link_wires.push(*wire);
            links.push(AudioLink { from, to, format: digital.format, converts_rate: digital.converts_rate });
        }
    }
    let mut together: Vec<usize> = to_computer.iter().filter_map(|(_, at)| index_of(*at)).collect();
    together.extend(leader.and_then(index_of));
    together.extend(more.iter().filter_map(|at| index_of(*at)));
    let system = ClockSystem {
        devices,
        links,
        together: if together.len() > 1 { vec![together] } else { Vec::new() },
        leader: leader.and_then(index_of),
    };
    match assign(&system) {
        Ok(clocking) => {
            let mut clocks = Clocks { of: vec![None; studio.boxes.len()], converted: Vec::new() };
            for (at, role) in boxes.iter().zip(&clocking.roles) {
                let clock = match role {
                    ClockRole::Leads => Clock::Leads,
                    ClockRole::Follows { from, source, by } => Clock::Follows {
                        from: boxes.get(*from).copied().unwrap_or(0),
                        source: *source,
                        by: match by {
                            ClockPath::Link(link) => {
                                ClockCable::Link(link_wires.get(*link).copied().unwrap_or(0))
                            }
                            ClockPath::WordClock => ClockCable::WordClock,
                            ClockPath::Network => ClockCable::Network,
                            ClockPath::Cable { output_group, input_group, format } => ClockCable::Own {
                                format: *format,
                                output_group: *output_group,
                                input_group: *input_group,
                            },
                        },
                    },
                };
                if let Some(place) = clocks.of.get_mut(*at) {
                    *place = Some(clock);
                }
            }
            clocks.converted =
                clocking.converted.iter().filter_map(|link| link_wires.get(*link).copied()).collect();
            Ok(clocks)
        }
        Err(conflict) => Err(clash(&conflict, &boxes, &link_wires, &to_computer)),
    }
}

fn clash(
    conflict: &ClockConflict,
    boxes: &[usize],
    link_wires: &[usize],
    to_computer: &[(usize, usize)],
) -> Clash {
    let at = |index: usize| boxes.get(index).copied().unwrap_or(0);
    let involved: Vec<usize> = conflict.devices.iter().map(|device| at(*device)).collect();
    let mut wires: Vec<usize> =
        conflict.links.iter().filter_map(|link| link_wires.get(*link).copied()).collect();
    // Boxes that go into one computer clash through their ways into it; so does a box that has no clock at all.
    if !conflict.together.is_empty() || wires.is_empty() {
        let of_involved = to_computer.iter().filter(|(_, at)| involved.contains(at)).map(|(wire, _)| *wire);
        wires.extend(of_involved);
    }
    if wires.is_empty() {
        wires.extend(to_computer.iter().map(|(wire, _)| *wire));
        wires.extend_from_slice(link_wires);
    }
    let reason = match conflict.reason {
        ConflictReason::OnlyLead(a, b) => ConflictReason::OnlyLead(at(a), at(b)),
        ConflictReason::NothingToFollow { device } => ConflictReason::NothingToFollow { device: at(device) },
        ConflictReason::LeaderCannotLead { device } => {
            ConflictReason::LeaderCannotLead { device: at(device) }
        }
        ConflictReason::LeaderAgainst { leader, other } => {
            ConflictReason::LeaderAgainst { leader: at(leader), other: at(other) }
        }
        ConflictReason::LeaderDoesNotReach { leader } => {
            ConflictReason::LeaderDoesNotReach { leader: at(leader) }
        }
        ConflictReason::Loop => ConflictReason::Loop,
        ConflictReason::NobodyReachesAll => ConflictReason::NobodyReachesAll,
    };
    Clash {
        wires,
        conflict: ClockConflict { devices: involved, links: Vec::new(), together: Vec::new(), reason },
    }
}
