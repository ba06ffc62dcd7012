//! Which of the sets that must be on one clock share a leader.

use super::block::{Block, Cost, Plan};
use super::set::Set;
use super::wiring::Wiring;
use std::collections::BTreeMap;

/// Up to so many sets, every way to share them out is looked at at once.
const SMALL: usize = 5;

/// Up to so many sets, every way is looked at where joining pairs does not give what is plainly the best.
const EXHAUSTIVE: usize = 12;

/// What a way to share out comes to, best first.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Worth {
    /// Sets that get no clock.
    without: usize,
    cost: Cost,
    clocks: usize,
    /// In ascending order.
    leaders: Vec<usize>,
}

impl Worth {
    fn nothing() -> Self {
        Self { without: 0, cost: Cost::NOTHING, clocks: 0, leaders: Vec::new() }
    }

    fn with(&self, other: &Self) -> Self {
        let mut leaders: Vec<usize> = self.leaders.iter().chain(&other.leaders).copied().collect();
        leaders.sort_unstable();
        Self {
            without: self.without + other.without,
            cost: self.cost.plus(other.cost),
            clocks: self.clocks + other.clocks,
            leaders,
        }
    }
}

/// The sets of one component, with what was worked out for blocks of them so far.
struct Sharing<'a> {
    wiring: &'a Wiring<'a>,
    cores: &'a [Vec<usize>],
    pinned: Option<usize>,
}

type Share = (Block, Plan);

impl Sharing<'_> {
    /// A block of these sets and its plan.
    fn block(&self, cores: impl Iterator<Item = usize>) -> Option<Share> {
        let mut devices: Vec<usize> =
            cores.filter_map(|core| self.cores.get(core)).flatten().copied().collect();
        devices.sort_unstable();
        let block = Block::new(self.wiring, &devices, self.pinned);
        block.cheapest().map(|plan| (block, plan))
    }

    fn masked(&self, mask: usize) -> Option<Share> {
        self.block((0..self.cores.len()).filter(|core| mask & (1 << core) != 0))
    }

    fn worth(share: &Option<Share>, sets: usize) -> Worth {
        match share {
            Some((_, plan)) => Worth { without: 0, cost: plan.cost, clocks: 1, leaders: vec![plan.leader] },
            None => Worth { without: sets, ..Worth::nothing() },
        }
    }

    /// The best of all ways to share out, by dynamic programming over sets of sets.
    fn exhaustive(&self) -> Option<Vec<Share>> {
        let all = 1_usize << self.cores.len();
        let mut shares: Vec<Option<Share>> = Vec::with_capacity(all);
        // For each set of sets the best worth, and the block that its lowest set is in.
        let mut best: Vec<Option<(Worth, usize)>> = Vec::with_capacity(all);
        shares.push(None);
        best.push(Some((Worth::nothing(), 0)));
        for mask in 1..all {
            shares.push(self.masked(mask));
            let lowest = mask & mask.wrapping_neg();
            let rest = mask ^ lowest;
            let mut found: Option<(Worth, usize)> = None;
            let mut more = rest;
            loop {
                let block = lowest | more;
                let others = best.get(mask ^ block).and_then(Option::as_ref);
                let share = shares.get(block).filter(|share| share.is_some());
                if let (Some(share), Some((others, _))) = (share, others) {
                    let worth = Self::worth(share, 0).with(others);
                    if found.as_ref().is_none_or(|(best, _)| worth < *best) {
                        found = Some((worth, block));
                    }
                }
                if more == 0 {
                    break;
                }
                more = (more - 1) & rest;
            }
            best.push(found);
        }
        let mut chosen = Vec::new();
        let mut left = all - 1;
        while left != 0 {
            let (_, block) = best.get(left)?.as_ref()?;
            chosen.push(shares.get_mut(*block)?.take()?);
            left ^= block;
        }
        Some(chosen)
    }

    /// A good way to share out: at first each set alone, then always the two blocks together that gain most, for as long as
    /// `more` wants it. Deterministic, but not always the best.
    fn by_pairs(&self, more: impl Fn(&Worth) -> bool) -> Option<Vec<Share>> {
        let part = |cores: Vec<usize>| {
            let share = self.block(cores.iter().copied());
            let worth = Self::worth(&share, cores.len());
            Part { cores, share, worth }
        };
        let mut parts: BTreeMap<usize, Part> =
            (0..self.cores.len()).map(|core| (core, part(vec![core]))).collect();
        // Merged parts that would gain something, by the keys of the two.
        let mut merged: BTreeMap<(usize, usize), Option<Part>> = BTreeMap::new();
        loop {
            let whole = parts.values().fold(Worth::nothing(), |worth, part| worth.with(&part.worth));
            if !more(&whole) {
                break;
            }
            let mut gain: Option<(Worth, usize, usize)> = None;
            for (a, first) in &parts {
                for (b, second) in parts.range(a + 1..) {
                    let better = merged.entry((*a, *b)).or_insert_with(|| {
                        let both = part(first.cores.iter().chain(&second.cores).copied().collect());
                        (both.worth < first.worth.with(&second.worth)).then_some(both)
                    });
                    let Some(both) = better else { continue };
                    let others = parts.iter().filter(|(key, _)| *key != a && *key != b);
                    let whole = others.fold(both.worth.clone(), |worth, (_, other)| worth.with(&other.worth));
                    if gain.as_ref().is_none_or(|(best, ..)| whole < *best) {
                        gain = Some((whole, *a, *b));
                    }
                }
            }
            let Some((_, a, b)) = gain else { break };
            let Some(both) = merged.remove(&(a, b)).flatten() else { break };
            merged.retain(|(first, second), _| ![*first, *second].iter().any(|key| *key == a || *key == b));
            parts.remove(&b);
            parts.insert(a, both);
        }
        parts.into_values().map(|part| part.share).collect()
    }

    /// The fewest clocks that there can be without any cable: a set that no other feeds needs its own, and so does one of every
    /// ring of sets that feed each other but that no other feeds.
    fn fewest_clocks_without_cables(&self) -> usize {
        let devices: Vec<usize> = self.cores.iter().flatten().copied().collect();
        let core_of = |device: usize| self.cores.iter().position(|core| core.contains(&device));
        let fed_by: Vec<(usize, usize)> = devices
            .iter()
            .flat_map(|from| self.wiring.ways(*from).iter().map(move |way| (*from, way.to)))
            .filter_map(|(from, to)| Some((core_of(from)?, core_of(to)?)))
            .collect();
        let reach = |start: usize| {
            let mut reached = Set::default();
            reached.insert(start);
            let mut waiting = vec![start];
            while let Some(core) = waiting.pop() {
                for (_, to) in fed_by.iter().filter(|(from, _)| *from == core) {
                    if !reached.contains(*to) {
                        reached.insert(*to);
                        waiting.push(*to);
                    }
                }
            }
            reached
        };
        let reaches: Vec<Set> = (0..self.cores.len()).map(reach).collect();
        let feeds = |from: usize, to: usize| reaches.get(from).is_some_and(|reach| reach.contains(to));
        let cores = || 0..self.cores.len();
        // The lowest of each ring stands for it.
        cores()
            .filter(|core| {
                cores().all(|other| !feeds(other, *core) || (feeds(*core, other) && *core <= other))
            })
            .count()
    }
}

/// A block while blocks are joined pair by pair.
struct Part {
    cores: Vec<usize>,
    share: Option<Share>,
    worth: Worth,
}

/// The cheapest plan for the cores of one component, block by block; none where some get no clock.
pub(super) fn cheapest(
    wiring: &Wiring<'_>,
    cores: &[Vec<usize>],
    pinned: Option<usize>,
) -> Option<Vec<Share>> {
    let sharing = Sharing { wiring, cores, pinned };
    let whole = sharing.block(0..cores.len());
    match &whole {
        Some((_, plan)) if plan.cost == Cost::NOTHING => return whole.map(|share| vec![share]),
        _ if cores.len() == 1 => return whole.map(|share| vec![share]),
        _ => {}
    }
    if !all_in_reach(wiring, cores, pinned) {
        return None;
    }
    if cores.len() <= SMALL {
        return sharing.exhaustive();
    }
    let pairs = sharing.by_pairs(|_| true);
    let cost =
        |shares: &Vec<Share>| shares.iter().fold(Cost::NOTHING, |cost, (_, plan)| cost.plus(plan.cost));
    let is_best = pairs.as_ref().is_some_and(|pairs| {
        cost(pairs) == Cost::NOTHING && pairs.len() <= sharing.fewest_clocks_without_cables()
    });
    if is_best {
        return pairs;
    }
    if cores.len() <= EXHAUSTIVE {
        return sharing.exhaustive();
    }
    match (pairs, whole) {
        (Some(pairs), Some(whole)) if whole.1.cost > cost(&pairs) => Some(pairs),
        (pairs, whole) => whole.map(|share| vec![share]).or(pairs),
    }
}

/// Whether there is any way to share out that gives every core its clock.
pub(super) fn is_feasible(wiring: &Wiring<'_>, cores: &[Vec<usize>], pinned: Option<usize>) -> bool {
    if !all_in_reach(wiring, cores, pinned) {
        return false;
    }
    let sharing = Sharing { wiring, cores, pinned };
    sharing.block(0..cores.len()).is_some()
        || (cores.len() > 1 && sharing.by_pairs(|worth| worth.without > 0).is_some())
        || (1 < cores.len() && cores.len() <= EXHAUSTIVE && sharing.exhaustive().is_some())
}

/// Whether for every core there is a leader from which all its devices could be fed, if there were ports enough and nothing
/// else were in the way. Where there is none, no sharing out helps.
fn all_in_reach(wiring: &Wiring<'_>, cores: &[Vec<usize>], pinned: Option<usize>) -> bool {
    let all: Vec<usize> = cores.iter().flatten().copied().collect();
    let reaches: Vec<(usize, Set)> = all
        .iter()
        .filter(|device| wiring.leads(**device))
        .map(|device| (*device, reach_of_all_ways(wiring, std::iter::once(*device), &all)))
        .collect();
    cores.iter().all(|core| {
        reaches.iter().any(|(leader, reach)| {
            let pin_agrees = pinned.is_none_or(|pinned| pinned == *leader || !core.contains(&pinned));
            pin_agrees && core.iter().all(|device| reach.contains(*device))
        })
    })
}

/// What could be fed from these devices, cables included, if there were ports enough.
pub(super) fn reach_of_all_ways(
    wiring: &Wiring<'_>,
    from: impl Iterator<Item = usize>,
    devices: &[usize],
) -> Set {
    let mut waiting: Vec<usize> = from.collect();
    let mut reached = Set::default();
    waiting.iter().for_each(|device| reached.insert(*device));
    while let Some(device) = waiting.pop() {
        for &to in devices {
            if !reached.contains(to) && wiring.can_feed(device, to) {
                reached.insert(to);
                waiting.push(to);
            }
        }
    }
    reached
}
