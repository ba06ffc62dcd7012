//! Why devices can't run on one clock, brought down to the fewest that show it.

use super::partition::{is_feasible, reach_of_all_ways};
use super::wiring::{Kept, Wiring};
use super::{ClockConflict, ConflictReason};

/// Explains a component that has no assignment.
pub(super) fn explain(wiring: &Wiring<'_>, component: &[usize]) -> ClockConflict {
    let pinned = wiring.system.leader;
    let works = |kept: &Kept, pinned| is_feasible(wiring, &wiring.cores(component, kept), pinned);
    if !works(&Kept::none(wiring.system), None) {
        return without_any_clock(wiring, component);
    }
    // Deletion filter: what can be left out while the conflict stays is not part of it. Leaving out a reason to share a clock
    // never makes anything impossible that was possible, so one pass gives a smallest set. From the end, so that the earliest stay.
    let mut kept = Kept::all(wiring.system);
    for index in (0..kept.together.len()).rev() {
        if_still(&mut kept, |kept| kept.together.get_mut(index), |kept| !works(kept, pinned));
    }
    for index in (0..kept.links.len()).rev() {
        if_still(&mut kept, |kept| kept.links.get_mut(index), |kept| !works(kept, pinned));
    }
    let links = marked(&kept.links);
    let together = marked(&kept.together);
    let devices = ends(wiring, &links, &together);
    let only_lead: Vec<usize> = devices
        .iter()
        .copied()
        .filter(|device| !component.iter().any(|from| wiring.can_feed(*from, *device)))
        .collect();
    let reason = match pinned {
        // Without the wish for a leader there is a way.
        Some(leader) if works(&kept, None) => match only_lead.iter().find(|device| **device != leader) {
            Some(other) => ConflictReason::LeaderAgainst { leader, other: *other },
            None => ConflictReason::LeaderDoesNotReach { leader },
        },
        _ => match only_lead.as_slice() {
            [first, second, ..] => ConflictReason::OnlyLead(*first, *second),
            _ => ConflictReason::NobodyReachesAll,
        },
    };
    ClockConflict { devices, links, together, reason }
}

/// Takes a mark away, and puts it back unless the conflict is still there.
fn if_still(
    kept: &mut Kept,
    mark: impl Fn(&mut Kept) -> Option<&mut bool>,
    conflict: impl Fn(&Kept) -> bool,
) {
    let Some(was) = mark(kept).map(std::mem::take) else { return };
    if was
        && !conflict(kept)
        && let Some(mark) = mark(kept)
    {
        *mark = true;
    }
}

fn marked(marks: &[bool]) -> Vec<usize> {
    marks.iter().enumerate().filter(|(_, mark)| **mark).map(|(index, _)| index).collect()
}

/// The devices that links and groups join, in ascending order.
fn ends(wiring: &Wiring<'_>, links: &[usize], together: &[usize]) -> Vec<usize> {
    let system = wiring.system;
    let at_links =
        links.iter().filter_map(|index| system.links.get(*index)).flat_map(|link| [link.from, link.to]);
    let in_groups = together.iter().filter_map(|index| system.together.get(*index)).flatten().copied();
    let mut devices: Vec<usize> = at_links.chain(in_groups).collect();
    devices.retain(|device| *device < system.devices.len());
    devices.sort_unstable();
    devices.dedup();
    devices
}

/// The conflict where devices get no clock whatever they are allowed to do.
fn without_any_clock(wiring: &Wiring<'_>, component: &[usize]) -> ClockConflict {
    let leaders = component.iter().copied().filter(|device| wiring.leads(*device));
    let reached = reach_of_all_ways(wiring, leaders, component);
    let mut alone = component.iter().copied().filter(|device| !reached.contains(*device));
    let Some(start) = alone.next() else {
        // Every device could be fed, but there are not ports enough for all at once.
        let devices = component.iter().copied().filter(|device| !wiring.leads(*device)).collect();
        return ClockConflict {
            devices,
            links: Vec::new(),
            together: Vec::new(),
            reason: ConflictReason::NobodyReachesAll,
        };
    };
    // Back from each to one that could feed it, until there is none or the way comes round.
    let mut way = vec![start];
    while let Some(last) = way.last().copied() {
        let Some(feeder) = component.iter().copied().find(|from| wiring.can_feed(*from, last)) else {
            let reason = ConflictReason::NothingToFollow { device: last };
            return ClockConflict { devices: vec![last], links: Vec::new(), together: Vec::new(), reason };
        };
        if let Some(at) = way.iter().position(|device| *device == feeder) {
            way.drain(..at);
            break;
        }
        way.push(feeder);
    }
    way.sort_unstable();
    let links = wiring
        .system
        .links
        .iter()
        .enumerate()
        .filter(|(_, link)| link.from != link.to && way.contains(&link.from) && way.contains(&link.to))
        .map(|(index, _)| index)
        .collect();
    ClockConflict { devices: way, links, together: Vec::new(), reason: ConflictReason::Loop }
}
