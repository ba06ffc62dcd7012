//! What a flow can't say: violations, and the ways out of each, of which every solution takes at least one.

use super::flow::{Flow, Narrowed};
use super::search::Conflict;
use super::{Allocation, Choice};
use std::cmp::Reverse;

/// A step that narrows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Narrowing {
    /// This line draws less than this from this supply.
    Below(usize, usize, u32),
    /// This line draws this or more from this supply.
    Draws(usize, usize, u32),
    /// This choice and no other for its line.
    Only(usize),
    /// This line is left out.
    LeftOut(usize),
    /// At most so many channels on this wire.
    AtMost(usize, u32),
    /// So many cables of this wire paid for.
    Pay(usize, u32),
}

/// The first violation of a flow, if any.
pub(super) fn violation(
    problem: &Allocation,
    flow: &Flow,
    narrowed: &Narrowed,
    conflict: &mut Conflict<'_>,
) -> Option<Vec<Vec<Narrowing>>> {
    // Conflicts first: their ways out cost most, which raises the bounds of what is not worth looking at.
    let ways = conflict(&flow.channels).map(|ways| {
        ways.into_iter()
            .map(|way| way.into_iter().map(|(wire, most)| Narrowing::AtMost(wire, most)).collect())
            .collect()
    });
    ways.or_else(|| ports(problem, flow))
        .or_else(|| supplies(problem, flow))
        .or_else(|| pairs(problem, flow, narrowed))
}

fn ports(problem: &Allocation, flow: &Flow) -> Option<Vec<Vec<Narrowing>>> {
    problem.ports.iter().find_map(|ports| {
        let used = |(wire, per): &(usize, u32)| {
            flow.channels.get(*wire).map_or(0, |channels| channels.div_ceil((*per).max(1)))
        };
        let all: u32 = ports.wires.iter().map(used).sum();
        (all > ports.count).then(|| {
            ports
                .wires
                .iter()
                .filter(|wire| used(wire) > 0)
                .map(|wire| vec![Narrowing::AtMost(wire.0, (used(wire) - 1) * wire.1)])
                .collect()
        })
    })
}

/// One way of sharing out ports that are too few: the wires that use most of them keep theirs.
pub(super) fn shared_out(problem: &Allocation, flow: &Flow) -> Option<Vec<Narrowing>> {
    problem.ports.iter().find_map(|ports| {
        let used = |(wire, per): &(usize, u32)| {
            flow.channels.get(*wire).map_or(0, |channels| channels.div_ceil((*per).max(1)))
        };
        let all: u32 = ports.wires.iter().map(used).sum();
        (all > ports.count).then(|| {
            let mut wires = ports.wires.clone();
            wires.sort_by_key(|wire| Reverse(used(wire)));
            let mut left = ports.count;
            wires
                .iter()
                .map(|wire| {
                    let keeps = used(wire).min(left);
                    left -= keeps;
                    Narrowing::AtMost(wire.0, keeps.saturating_mul(wire.1))
                })
                .collect()
        })
    })
}

fn supplies(problem: &Allocation, flow: &Flow) -> Option<Vec<Vec<Narrowing>>> {
    problem.supplies.iter().enumerate().find_map(|(index, supply)| {
        // Lines that draw from it, with what they draw.
        let mut drawing: Vec<(usize, u32)> = supply
            .draws
            .iter()
            .filter_map(|(choice, current)| {
                let line = problem.choices.get(*choice)?.line;
                (flow.choices.get(line).copied().flatten() == Some(*choice)).then_some((line, *current))
            })
            .collect();
        // The fewest that are too many together: the hungriest first.
        drawing.sort_by_key(|(line, current)| (Reverse(*current), *line));
        let mut sum: u64 = 0;
        for (n, (_, current)) in drawing.iter().enumerate() {
            sum += u64::from(*current);
            if sum > u64::from(supply.total) {
                drawing.truncate(n + 1);
                // One of them draws less, wherever it goes: the first does, or the first draws as much and the second less, and
                // so on.
                let ways = (0..drawing.len()).map(|less| {
                    let stay = drawing.iter().take(less);
                    let stay = stay.map(|(line, current)| Narrowing::Draws(index, *line, *current));
                    let goes = drawing.get(less);
                    let goes = goes.map(|(line, current)| Narrowing::Below(index, *line, *current));
                    stay.chain(goes).collect()
                });
                return Some(ways.collect());
            }
        }
        None
    })
}

/// A pair apart: both at one of their common places, or one of them left out.
fn pairs(problem: &Allocation, flow: &Flow, narrowed: &Narrowed) -> Option<Vec<Vec<Narrowing>>> {
    let choice_of =
        |line: usize| flow.choices.get(line).copied().flatten().and_then(|c| problem.choices.get(c));
    problem.pairs.iter().find_map(|(a, b)| {
        (choice_of(*a)?.place != choice_of(*b)?.place).then_some(())?;
        let of = |line: usize| {
            let choices = problem.choices.iter().enumerate();
            choices.filter(move |(index, choice)| {
                choice.line == line && narrowed.without.get(*index) == Some(&false)
            })
        };
        let mut ways = Vec::new();
        for (first, choice) in of(*a) {
            // Each side may be taken in several ways there.
            for (second, _) in of(*b).filter(|(_, other)| other.place == choice.place) {
                ways.push(vec![Narrowing::Only(first), Narrowing::Only(second)]);
            }
        }
        ways.push(vec![Narrowing::LeftOut(*a)]);
        ways.push(vec![Narrowing::LeftOut(*b)]);
        Some(ways)
    })
}

/// Where a cable is begun but not filled, its whole price is not in the bound yet: one way pays it, the other does without it.
pub(super) fn begun_cable(
    problem: &Allocation,
    flow: &Flow,
    narrowed: &Narrowed,
) -> Option<Vec<Vec<Narrowing>>> {
    let channels = |wire: usize| flow.channels.get(wire).copied().unwrap_or(0);
    let paid = |wire: usize| narrowed.paid.get(wire).copied().unwrap_or(0);
    let ways = |wire: usize, per: u32, cables: u32| {
        vec![vec![Narrowing::AtMost(wire, (cables - 1) * per)], vec![Narrowing::Pay(wire, cables)]]
    };
    let per_of = |wire: usize| problem.wires.get(wire).map_or(1, |wire| wire.per_cable.max(1));
    // Bundles as a whole first: which of their wires is taken matters less than whether a cable begins there at all.
    for bundle in &problem.bundles {
        let cables = channels(bundle.through).div_ceil(bundle.per_cable.max(1));
        let of_wires: u32 = bundle.wires.iter().map(|wire| paid(*wire)).sum();
        if cables > paid(bundle.through).max(of_wires)
            && channels(bundle.through) % bundle.per_cable.max(1) != 0
        {
            return Some(ways(bundle.through, bundle.per_cable, cables));
        }
    }
    for bundle in &problem.bundles {
        let needed = |wire: usize| channels(wire).div_ceil(per_of(wire));
        let all: u32 = bundle.wires.iter().map(|wire| needed(*wire)).sum();
        let of_wires: u32 = bundle.wires.iter().map(|wire| paid(*wire)).sum();
        let counted = channels(bundle.through).div_ceil(bundle.per_cable.max(1));
        if all > counted.max(paid(bundle.through)).max(of_wires)
            && let Some(wire) = bundle.wires.iter().find(|wire| needed(**wire) > paid(**wire))
        {
            return Some(ways(*wire, per_of(*wire), needed(*wire)));
        }
    }
    let bundled = |index: usize| problem.bundles.iter().any(|bundle| bundle.wires.contains(&index));
    problem.wires.iter().enumerate().find_map(|(index, wire)| {
        let per = wire.per_cable;
        let cables = channels(index).div_ceil(per.max(1));
        let begun = per > 0 && !bundled(index) && channels(index) % per != 0 && cables > paid(index);
        begun.then(|| ways(index, per, cables))
    })
}

/// Takes the steps of a way; false where they change nothing, so that a search can't go on for ever.
pub(super) fn narrow(
    problem: &Allocation,
    of_line: &[Vec<usize>],
    narrowed: &mut Narrowed,
    way: &[Narrowing],
) -> bool {
    let mut changed = false;
    for step in way {
        changed |= take(problem, of_line, narrowed, *step);
    }
    changed
}

fn take(problem: &Allocation, of_line: &[Vec<usize>], narrowed: &mut Narrowed, step: Narrowing) -> bool {
    let without = |narrowed: &mut Narrowed, choice: usize| {
        narrowed.without.get_mut(choice).is_some_and(|without| !std::mem::replace(without, true))
    };
    match step {
        Narrowing::Below(supply, line, current) => {
            let mut changed = false;
            for choice in drawing(problem, supply, line, current) {
                changed |= without(narrowed, choice);
            }
            changed
        }
        Narrowing::Draws(supply, line, current) => {
            let stay: Vec<usize> = drawing(problem, supply, line, current).collect();
            let mut changed = false;
            for choice in of_line.get(line).into_iter().flatten().filter(|choice| !stay.contains(choice)) {
                changed |= without(narrowed, *choice);
            }
            narrowed.placed.get_mut(line).is_some_and(|placed| !std::mem::replace(placed, true)) || changed
        }
        Narrowing::Only(only) => {
            let Some(line) = problem.choices.get(only).map(|choice| choice.line) else { return false };
            let mut changed = false;
            for choice in of_line.get(line).into_iter().flatten().filter(|choice| **choice != only) {
                changed |= without(narrowed, *choice);
            }
            narrowed.placed.get_mut(line).is_some_and(|placed| !std::mem::replace(placed, true)) || changed
        }
        Narrowing::LeftOut(line) => {
            let mut changed = false;
            for choice in of_line.get(line).into_iter().flatten() {
                changed |= without(narrowed, *choice);
            }
            changed
        }
        Narrowing::AtMost(wire, channels) => narrowed.channels.get_mut(wire).is_some_and(|most| {
            let narrower = channels < *most;
            *most = channels.min(*most);
            narrower
        }),
        Narrowing::Pay(wire, cables) => narrowed.paid.get_mut(wire).is_some_and(|paid| {
            let more = cables > *paid;
            *paid = cables.max(*paid);
            more
        }),
    }
}

/// The choices of a line that draw a current or more from a supply.
fn drawing(
    problem: &Allocation,
    supply: usize,
    line: usize,
    current: u32,
) -> impl Iterator<Item = usize> + '_ {
    let draws = problem.supplies.get(supply).into_iter().flat_map(|supply| &supply.draws);
    draws
        .filter(move |(choice, drawn)| {
            *drawn >= current && problem.choices.get(*choice).is_some_and(|choice| choice.line == line)
        })
        .map(|(choice, _)| *choice)
}

/// Exchanges places so that pairs come together, where that costs nothing: a flow knows no pairs, and equal sources may lie
/// anywhere among equal inputs.
pub(super) fn unite_pairs(
    problem: &Allocation,
    of_line: &[Vec<usize>],
    flow: &mut Flow,
    narrowed: &Narrowed,
) {
    let at = |flow: &Flow, line: usize| -> Option<usize> {
        let choice = flow.choices.get(line).copied().flatten()?;
        problem.choices.get(choice).map(|c| c.place)
    };
    let cost = |choice: &Choice| {
        [choice.short, choice.tight, choice.changes, choice.penalty, choice.cables, choice.rank]
            .map(u64::from)
    };
    // Of several ways of taking a line at a place the best.
    let choice_of = |line: usize, place: usize| -> Option<(usize, &Choice)> {
        let choices =
            of_line.get(line)?.iter().filter_map(|index| Some((*index, problem.choices.get(*index)?)));
        choices
            .filter(|(index, choice)| choice.place == place && narrowed.without.get(*index) == Some(&false))
            .min_by_key(|(_, choice)| cost(choice))
    };
    // What a line costs as it is now.
    let now = |flow: &Flow, line: usize| -> Option<[u64; 6]> {
        problem.choices.get(flow.choices.get(line).copied().flatten()?).map(cost)
    };
    let add = |a: [u64; 6], b: [u64; 6]| {
        let mut sum = a;
        sum.iter_mut().zip(b).for_each(|(sum, more)| *sum += more);
        sum
    };
    let partner = |line: usize| {
        problem.pairs.iter().find_map(|(a, b)| match line {
            l if l == *a => Some(*b),
            l if l == *b => Some(*a),
            _ => None,
        })
    };
    for (a, b) in &problem.pairs {
        for (stays, moves) in [(*a, *b), (*b, *a)] {
            let (Some(goal), Some(from)) = (at(flow, stays), at(flow, moves)) else { break };
            if goal == from {
                break;
            }
            let Some((to_goal, there)) = choice_of(moves, goal) else { continue };
            let Some(before) = now(flow, moves) else { continue };
            let exchange = (0..problem.lines.len()).find_map(|other| {
                let is_free = other != stays && other != moves && at(flow, other) == Some(goal);
                // A pair that is together already stays so.
                let breaks = partner(other).is_some_and(|partner| at(flow, partner) == Some(goal));
                if !is_free || breaks {
                    return None;
                }
                let other_before = now(flow, other)?;
                let (other_choice, other_there) = choice_of(other, from)?;
                let same = add(cost(there), cost(other_there)) <= add(before, other_before);
                same.then_some((other, other_choice))
            });
            if let Some((other, other_choice)) = exchange {
                for (line, choice) in [(other, other_choice), (moves, to_goal)] {
                    if let Some(place) = flow.choices.get_mut(line) {
                        *place = Some(choice);
                    }
                }
                break;
            }
        }
    }
}
