//! Who can feed whom: the ways a clock can take, and the sets of devices that must share one.

use super::set::Set;
use super::{ClockDevice, ClockPath, ClockSystem};
use gainsay_gear::connection::{ClockSource, DigitalFormat};

/// A way that costs no cable: embedded in an audio link, or over the network.
#[derive(Debug, Clone, Copy)]
pub(super) struct FreeWay {
    pub(super) to: usize,
    pub(super) source: ClockSource,
    pub(super) by: ClockPath,
}

/// Which of the reasons to share a clock are upheld; the others are treated as if they did not ask for it.
#[derive(Debug, Clone)]
pub(super) struct Kept {
    pub(super) links: Vec<bool>,
    pub(super) together: Vec<bool>,
}

impl Kept {
    pub(super) fn all(system: &ClockSystem) -> Self {
        Self {
            links: system.links.iter().map(|link| !link.converts_rate).collect(),
            together: vec![true; system.together.len()],
        }
    }

    pub(super) fn none(system: &ClockSystem) -> Self {
        Self { links: vec![false; system.links.len()], together: vec![false; system.together.len()] }
    }
}

/// A system with the ways worked out.
pub(super) struct Wiring<'a> {
    pub(super) system: &'a ClockSystem,
    /// For each device the ways out of it that cost no cable.
    ways: Vec<Vec<FreeWay>>,
}

/// The clock source of a device that takes the clock embedded in this format, if it has one.
pub(super) fn embedded_source(device: &ClockDevice, format: DigitalFormat) -> Option<ClockSource> {
    format.clock_sources().iter().copied().find(|source| device.sources.contains(source))
}

/// The clock source of a device that takes the clock over a cable of this format which carries nothing else: an AES11 reference
/// where it has such an input. The network is no such cable.
pub(super) fn cable_source(device: &ClockDevice, format: DigitalFormat) -> Option<ClockSource> {
    if format == DigitalFormat::Aes67 {
        return None;
    }
    format.clock_sources().iter().rev().copied().find(|source| device.sources.contains(source))
}

impl<'a> Wiring<'a> {
    pub(super) fn new(system: &'a ClockSystem) -> Self {
        let mut ways: Vec<Vec<FreeWay>> = vec![Vec::new(); system.devices.len()];
        for (index, link) in system.links.iter().enumerate() {
            if link.format == DigitalFormat::Aes67 || link.from == link.to {
                continue;
            }
            let source = system.devices.get(link.to).and_then(|to| embedded_source(to, link.format));
            if let (Some(source), Some(ways)) = (source, ways.get_mut(link.from)) {
                ways.push(FreeWay { to: link.to, source, by: ClockPath::Link(index) });
            }
        }
        for (index, (device, ways)) in system.devices.iter().zip(&mut ways).enumerate() {
            if !is_on_network(system, index, device) {
                continue;
            }
            for (to, other) in system.devices.iter().enumerate() {
                if to != index && other.sources.contains(&ClockSource::Aes67) {
                    ways.push(FreeWay { to, source: ClockSource::Aes67, by: ClockPath::Network });
                }
            }
        }
        Self { system, ways }
    }

    pub(super) fn device(&self, index: usize) -> Option<&'a ClockDevice> {
        self.system.devices.get(index)
    }

    /// Whether a device has a clock of its own.
    pub(super) fn leads(&self, index: usize) -> bool {
        self.takes(index, ClockSource::Internal)
    }

    /// Whether a device can take its clock from this source.
    pub(super) fn takes(&self, index: usize, source: ClockSource) -> bool {
        self.device(index).is_some_and(|device| device.sources.contains(&source))
    }

    /// Whether a device gives word clock.
    pub(super) fn gives_word(&self, index: usize) -> bool {
        self.device(index).is_some_and(|device| device.word_clock_output)
    }

    /// The ways out of a device that cost no cable.
    pub(super) fn ways(&self, index: usize) -> &[FreeWay] {
        self.ways.get(index).map_or(&[], Vec::as_slice)
    }

    /// The formats that a device can take a clock in over a cable of its own, as bits.
    pub(super) fn cable_formats(&self, index: usize) -> u16 {
        let Some(device) = self.device(index) else { return 0 };
        let free = device.inputs.iter().filter(|ports| ports.count > 0);
        let formats = free.flat_map(|ports| ports.formats.iter().copied());
        format_bits(formats.filter(|format| cable_source(device, *format).is_some()))
    }

    /// Whether one device can feed another in any way, cables included.
    pub(super) fn can_feed(&self, from: usize, to: usize) -> bool {
        if from == to {
            return false;
        }
        let free = self.ways(from).iter().any(|way| way.to == to);
        let word = self.gives_word(from) && self.takes(to, ClockSource::WordClock);
        let wanted = self.cable_formats(to);
        let cable = wanted != 0
            && self.device(from).is_some_and(|device| {
                device
                    .outputs
                    .iter()
                    .any(|ports| ports.count > 0 && format_bits(ports.formats.iter().copied()) & wanted != 0)
            });
        free || word || cable
    }

    /// The devices in sets that are connected in whatever way, each in ascending order.
    pub(super) fn components(&self) -> Vec<Vec<usize>> {
        let all = Kept {
            links: vec![true; self.system.links.len()],
            together: vec![true; self.system.together.len()],
        };
        let devices: Vec<usize> = (0..self.system.devices.len()).collect();
        self.cores(&devices, &all)
    }

    /// The devices of one component in sets that must share a clock, as far as the reasons for it are kept.
    pub(super) fn cores(&self, component: &[usize], kept: &Kept) -> Vec<Vec<usize>> {
        let n = self.system.devices.len();
        let mut joins: Vec<Vec<usize>> = vec![Vec::new(); n];
        let mut join = |a: usize, b: usize| {
            if a < n && b < n {
                if let Some(joins) = joins.get_mut(a) {
                    joins.push(b);
                }
                if let Some(joins) = joins.get_mut(b) {
                    joins.push(a);
                }
            }
        };
        for (link, _) in self.system.links.iter().zip(&kept.links).filter(|(_, kept)| **kept) {
            join(link.from, link.to);
        }
        for (group, _) in self.system.together.iter().zip(&kept.together).filter(|(_, kept)| **kept) {
            let mut members = group.iter().copied().filter(|device| *device < n);
            if let Some(first) = members.next() {
                members.for_each(|other| join(first, other));
            }
        }
        let mut seen = Set::default();
        let mut cores = Vec::new();
        for &start in component {
            if seen.contains(start) {
                continue;
            }
            seen.insert(start);
            let mut core = vec![start];
            let mut at = 0;
            while let Some(device) = core.get(at).copied() {
                at += 1;
                for &other in joins.get(device).into_iter().flatten() {
                    if !seen.contains(other) {
                        seen.insert(other);
                        core.push(other);
                    }
                }
            }
            core.sort_unstable();
            cores.push(core);
        }
        cores
    }
}

fn is_on_network(system: &ClockSystem, index: usize, device: &ClockDevice) -> bool {
    let port = device
        .outputs
        .iter()
        .chain(&device.inputs)
        .any(|ports| ports.count > 0 && ports.formats.contains(&DigitalFormat::Aes67));
    let link = || {
        let links = system.links.iter().filter(|link| link.format == DigitalFormat::Aes67);
        links.into_iter().any(|link| link.from == index || link.to == index)
    };
    port || link()
}

/// Formats as bits, for quick comparison.
pub(super) fn format_bits(formats: impl Iterator<Item = DigitalFormat>) -> u16 {
    formats.fold(0, |bits, format| bits | (1 << format as u16))
}
