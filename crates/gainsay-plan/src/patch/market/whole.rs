//! The whole case with all its additions as one allocation problem, box by box, for comparison with other solvers.

use super::Extended;
use crate::case::Case;
use crate::chain::MissingFigure;
use crate::patch::allocation::{Allocation, Choice};
use crate::patch::clock::ConflictReason;
use crate::patch::studio::{Ease, LimitOf, Spot, Studio, WireOf};
use crate::patch::suitability::Landed;
use crate::patch::variant::{Changeable, Wanted};
use std::collections::{HashMap, HashSet};

/// The whole.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Whole {
    pub(crate) allocation: Allocation,
    /// For each box the index of its device among the owned ones, and which of several it is, from 0.
    pub(crate) boxes: Vec<(usize, u32)>,
    /// For each point its box; none for the computer.
    pub(crate) box_of: Vec<Option<usize>>,
    /// For each supply the owned microphone or booster that it counts; none of phantom supplies.
    pub(crate) resource_of: Vec<Option<usize>>,
    /// For each choice the device, among the owned ones, that has to be there for it to come to what it does: the one that has
    /// the line input behind the preamp. None where that makes no difference.
    pub(crate) needs: Vec<Option<usize>>,
    /// Whether no preamp has line inputs of several kinds to go into.
    pub(crate) one_landing: bool,
}

impl Extended<'_> {
    /// The allocation problem with every device that there could be. Other ways of taking a line are choices everywhere, also
    /// where it is enough as it is; or only where the search takes them to be worth having, with the best line input behind
    /// each preamp.
    ///
    /// # Errors
    /// As [`Extended::new`].
    pub(crate) fn whole(&mut self, everywhere: bool) -> Result<Whole, MissingFigure> {
        let changeable = Changeable {
            variants: self.changeable.variants,
            in_use: self.changeable.in_use,
            wanted: if everywhere { Wanted::Everywhere } else { self.changeable.wanted.clone() },
        };
        let mut studio = Studio::with_changes(self.case, Ease::default(), &changeable);
        let all = vec![true; studio.lines.len()];
        self.scales.weigh_all(&mut studio, &all, self.draws)?;
        let resource_of = studio.limits_of.iter().map(|of| match of {
            LimitOf::Resource(index) => Some(*index),
            LimitOf::Supply(_) => None,
        });
        let one_landing = studio.places.iter().all(|place| {
            let kinds = place.landings.iter().map(|(_, (at, group, _))| (studio.owned_index(*at), *group));
            kinds.collect::<HashSet<_>>().len() < 2
        });
        let by_landing = if everywhere { self.scales.by_landing(&studio, self.draws)? } else { Vec::new() };
        let needs = split_by_landing(&mut studio.allocation, &by_landing);
        Ok(Whole {
            needs,
            one_landing,
            boxes: boxes(&studio),
            box_of: studio.spots.iter().map(|(at, _)| Some(*at).filter(|at| *at != usize::MAX)).collect(),
            resource_of: resource_of.collect(),
            allocation: studio.allocation,
        })
    }
}

/// Makes of each choice with several kinds of line inputs behind its preamp one for each kind; gives for each choice the device
/// that it needs.
fn split_by_landing(allocation: &mut Allocation, by_landing: &[Vec<Landed>]) -> Vec<Option<usize>> {
    let mut needs = vec![None; allocation.choices.len()];
    for (index, landed) in by_landing.iter().enumerate() {
        for (nth, landed) in landed.iter().enumerate() {
            let Some(choice) = allocation.choices.get(index) else { continue };
            let (short, tight, penalty) = (landed.short, landed.tight, landed.penalty);
            let choice = Choice { short, tight, penalty, ..*choice };
            let at = if nth == 0 { index } else { allocation.choices.len() };
            if nth == 0 {
                if let Some(first) = allocation.choices.get_mut(index) {
                    *first = choice;
                }
            } else {
                allocation.choices.push(choice);
                needs.push(None);
                for supply in &mut allocation.supplies {
                    let drawn = supply.draws.iter().find(|(of, _)| *of == index).map(|(_, drawn)| *drawn);
                    supply.draws.extend(drawn.map(|drawn| (at, drawn)));
                }
            }
            if let Some(need) = needs.get_mut(at) {
                *need = Some(landed.device);
            }
        }
    }
    needs
}

fn boxes(studio: &Studio<'_>) -> Vec<(usize, u32)> {
    let mut seen: HashMap<usize, u32> = HashMap::new();
    let number = |at: usize| {
        let owned = studio.owned_index(at);
        let copy = seen.entry(owned).or_insert(0);
        *copy += 1;
        (owned, *copy - 1)
    };
    (0..studio.boxes.len()).map(number).collect()
}

/// What a wire is, whichever other boxes there are: where it begins and ends, and its digital ports.
type WireKey = (Option<(usize, u32)>, Spot, Option<(usize, u32)>, Spot, String);

fn wire_keys(studio: &Studio<'_>) -> Vec<WireKey> {
    let boxes = boxes(studio);
    let end = |point: usize| {
        let (at, spot) = studio.spots.get(point).copied().unwrap_or((usize::MAX, Spot::Computer));
        (boxes.get(at).copied(), spot)
    };
    let key = |(wire, of): (&crate::patch::allocation::Wire, &WireOf)| {
        let ((from, begin), (to, finish)) = (end(wire.from), end(wire.to));
        let ports = match of {
            WireOf::Digital(d) => format!("{} {} {:?}", d.output_group, d.input_group, d.format),
            WireOf::Analogue | WireOf::Computer(_) => String::new(),
        };
        (from, begin, to, finish, ports)
    };
    studio.allocation.wires.iter().zip(&studio.wires).map(key).collect()
}

/// Wires of the whole that can't all be in use, on one clock, where there are so many of each owned device; none where all is
/// well. `channels` are on the wires of the whole; those of boxes that are not there are left out of account.
pub(crate) fn clash_of_whole(case: &Case, counts: &[u32], channels: &[u32]) -> Option<Vec<usize>> {
    let whole = Studio::new(case, Ease::default());
    let mut there = case.clone();
    for (owned, count) in there.owned.iter_mut().zip(counts) {
        owned.count = *count;
    }
    let part = Studio::new(&there, Ease::default());
    let of_whole: HashMap<WireKey, usize> =
        wire_keys(&whole).into_iter().enumerate().map(|(wire, key)| (key, wire)).collect();
    let to_whole: Vec<Option<usize>> =
        wire_keys(&part).iter().map(|key| of_whole.get(key).copied()).collect();
    let on_wire = |wire: &Option<usize>| wire.and_then(|wire| channels.get(wire)).copied().unwrap_or(0);
    let of_part: Vec<u32> = to_whole.iter().map(on_wire).collect();
    let clash = part.clash(&of_part)?;
    Some(clash.wires.iter().filter_map(|wire| to_whole.get(*wire).copied().flatten()).collect())
}

/// Pairs of wires of the whole that can't both be in use whatever there is, because two boxes can only lead the clock.
pub(crate) fn lasting_clashes(case: &Case) -> Vec<(usize, usize)> {
    let whole = Studio::new(case, Ease::default());
    let carries = |(wire, of): (usize, &WireOf)| match of {
        WireOf::Computer(_) => Some(wire),
        // An input that converts the rate takes any clock.
        WireOf::Digital(digital) => (!digital.converts_rate).then_some(wire),
        WireOf::Analogue => None,
    };
    let carriers: Vec<usize> = whole.wires.iter().enumerate().filter_map(carries).collect();
    let mut pairs = Vec::new();
    let mut channels = vec![0; whole.wires.len()];
    for (index, one) in carriers.iter().enumerate() {
        for other in carriers.iter().skip(index + 1) {
            for (wire, n) in [(*one, 1), (*other, 1)] {
                if let Some(channels) = channels.get_mut(wire) {
                    *channels = n;
                }
            }
            let clash = whole.clash(&channels);
            if clash.is_some_and(|clash| matches!(clash.conflict.reason, ConflictReason::OnlyLead(..))) {
                pairs.push((*one, *other));
            }
            for wire in [*one, *other] {
                if let Some(channels) = channels.get_mut(wire) {
                    *channels = 0;
                }
            }
        }
    }
    pairs
}
