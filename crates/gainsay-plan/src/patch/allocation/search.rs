//! Branch and bound over flows, best bound first, after one dive for a solution to begin with.

use super::branch::{Narrowing, begun_cable, narrow, shared_out, unite_pairs, violation};
use super::flow::{Flow, Narrowed, least_cost, weight};
use super::prices::Prices;
use super::{Allocated, Allocation, Cost};
use std::cmp::{Ordering, Reverse};
use std::collections::{BinaryHeap, HashSet};

/// Flows that are computed before the search gives up proving. Ordinary studios need fewer than a hundred.
const MOST_FLOWS: usize = 60_000;

/// The same in edges looked at, which bounds the time that an absurd studio takes.
const MOST_WORK: usize = 400_000_000;

/// Steps of the dive.
const MOST_STEPS: usize = 200;

/// Answers for the channels on each wire whether they can't be: ways out, of which any solution takes at least one, each a set of
/// wires with the most channels on each. None where all is well.
pub(crate) type Conflict<'a> = dyn FnMut(&[u32]) -> Option<Vec<WayOut>> + 'a;

/// Wires, and the most channels on each.
pub(crate) type WayOut = Vec<(usize, u32)>;

/// Finds the best allocation.
///
/// `conflict` is given the channels on each wire and answers with wires that can't all be in use (on one clock), or with none;
/// it must be monotone: what conflicts goes on conflicting when more wires are used.
pub fn solve(problem: &Allocation, conflict: &mut dyn FnMut(&[u32]) -> Option<Vec<usize>>) -> Allocated {
    solve_with(problem, &mut |channels| {
        conflict(channels).map(|wires| wires.into_iter().map(|wire| vec![(wire, 0)]).collect())
    })
}

/// The same with ways out of a conflict that take several wires at once.
pub(crate) fn solve_with(problem: &Allocation, conflict: &mut Conflict<'_>) -> Allocated {
    Search::new(problem, conflict).run()
}

/// How many units of a single line find a way, at most; pairs and supplies are not asked.
pub(crate) fn most_units(problem: &Allocation, conflict: &mut Conflict<'_>) -> u32 {
    let units: u32 = problem.lines.iter().map(|line| line.units).sum();
    let mut search = Search::new(problem, conflict);
    let mut heap = BinaryHeap::new();
    let mut seen = HashSet::new();
    search.push(Narrowed::none(problem), i128::MAX, &mut seen, &mut heap);
    let mut bound = weight::LEFT_OUT * i128::from(units);
    while let Some(Reverse(node)) = heap.pop() {
        bound = node.flow.bound;
        let done = search.flows > search.most_flows();
        match violation(problem, &node.flow, &node.narrowed, search.conflict) {
            Some(ways) if !done => search.branch(&node, ways, i128::MAX, &mut seen, &mut heap),
            // Given up, the bound is what it may be at most.
            _ => break,
        }
    }
    let left_out = u32::try_from(bound / weight::LEFT_OUT).unwrap_or(units);
    units.saturating_sub(left_out)
}

struct Search<'a, 'b> {
    problem: &'a Allocation,
    conflict: &'a mut Conflict<'b>,
    /// The choices of each line.
    of_line: Vec<Vec<usize>>,
    /// Prices of ports and supplies that are short, which bring the bounds close to the optimum.
    prices: Option<Prices>,
    flows: usize,
}

/// A node of the search with its flow.
struct Node {
    flow: Flow,
    narrowed: Narrowed,
    order: usize,
}

impl PartialEq for Node {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Node {}
impl PartialOrd for Node {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Node {
    fn cmp(&self, other: &Self) -> Ordering {
        // Among equal bounds the latest first: it is the deepest, and likely to be without violation.
        (self.flow.bound, Reverse(self.order)).cmp(&(other.flow.bound, Reverse(other.order)))
    }
}

type Heap = BinaryHeap<Reverse<Node>>;

impl<'a, 'b> Search<'a, 'b> {
    fn new(problem: &'a Allocation, conflict: &'a mut Conflict<'b>) -> Self {
        let mut of_line = vec![Vec::new(); problem.lines.len()];
        for (index, choice) in problem.choices.iter().enumerate() {
            if let Some(choices) = of_line.get_mut(choice.line) {
                choices.push(index);
            }
        }
        Self { problem, conflict, of_line, prices: None, flows: 0 }
    }

    fn most_flows(&self) -> usize {
        let work = self.problem.lines.len() * (self.problem.choices.len() + self.problem.wires.len());
        MOST_FLOWS.min(MOST_WORK / work.max(1))
    }

    /// The best allocation.
    fn run(&mut self) -> Allocated {
        let problem = self.problem;
        let nothing = vec![None; problem.lines.len()];
        let no_channels = vec![0; problem.wires.len()];
        let mut best = Allocated {
            cost: problem.cost(&nothing, &no_channels),
            choices: nothing,
            channels: no_channels,
            proven: true,
        };
        let mut limit = i128::MAX;
        let prices = Prices::of(problem, &Narrowed::none(problem), &mut self.flows);
        self.prices = prices;
        self.dive(&mut best, &mut limit);
        let mut seen: HashSet<Narrowed> = HashSet::new();
        let mut heap: Heap = BinaryHeap::new();
        self.push(Narrowed::none(problem), limit, &mut seen, &mut heap);
        while let Some(Reverse(mut node)) = heap.pop() {
            if !may_be_better(node.flow.bound, limit) {
                break;
            }
            if self.flows > self.most_flows() {
                best.proven = false;
                break;
            }
            unite_pairs(problem, &self.of_line, &mut node.flow, &node.narrowed);
            let ways = match violation(problem, &node.flow, &node.narrowed, self.conflict) {
                Some(ways) => ways,
                None => {
                    take_if_better(problem, &node.flow, &mut best, &mut limit);
                    if !may_be_better(node.flow.bound, limit) {
                        continue;
                    }
                    // Prices of ports that are not all used leave the bound below the cost: without them it is exact.
                    if node.narrowed.priced && self.prices.is_some() {
                        let narrowed = Narrowed { priced: false, ..node.narrowed };
                        self.push(narrowed, limit, &mut seen, &mut heap);
                        continue;
                    }
                    match begun_cable(problem, &node.flow, &node.narrowed) {
                        Some(ways) => ways,
                        None => continue,
                    }
                }
            };
            self.branch(&node, ways, limit, &mut seen, &mut heap);
        }
        best
    }

    /// Follows the best way out of each violation until none is left, for a solution to measure others by.
    fn dive(&mut self, best: &mut Allocated, limit: &mut i128) {
        let problem = self.problem;
        let mut narrowed = Narrowed::none(problem);
        let mut flow = self.flow(&narrowed);
        for _ in 0..MOST_STEPS {
            if !may_be_better(flow.bound, *limit) {
                return;
            }
            unite_pairs(problem, &self.of_line, &mut flow, &narrowed);
            let Some(ways) = violation(problem, &flow, &narrowed, self.conflict) else {
                take_if_better(problem, &flow, best, limit);
                return;
            };
            // Ports that are too few are shared out at once: one by one they would take a step each.
            if let Some(way) = shared_out(problem, &flow) {
                if !narrow(problem, &self.of_line, &mut narrowed, &way) {
                    return;
                }
                flow = self.flow(&narrowed);
                continue;
            }
            let next = ways
                .iter()
                .filter_map(|way| {
                    let mut next = narrowed.clone();
                    narrow(problem, &self.of_line, &mut next, way).then_some(next)
                })
                .map(|next| (self.flow(&next), next))
                .min_by_key(|(flow, _)| flow.bound);
            let Some((next_flow, next_narrowed)) = next else { return };
            (flow, narrowed) = (next_flow, next_narrowed);
        }
    }

    fn branch(
        &mut self,
        node: &Node,
        ways: Vec<Vec<Narrowing>>,
        limit: i128,
        seen: &mut HashSet<Narrowed>,
        heap: &mut Heap,
    ) {
        for way in ways {
            let mut narrowed = node.narrowed.clone();
            if narrow(self.problem, &self.of_line, &mut narrowed, &way) {
                self.push(narrowed, limit, seen, heap);
            }
        }
    }

    fn flow(&self, narrowed: &Narrowed) -> Flow {
        least_cost(self.problem, narrowed, self.prices.as_ref().filter(|_| narrowed.priced))
    }

    fn push(&mut self, narrowed: Narrowed, limit: i128, seen: &mut HashSet<Narrowed>, heap: &mut Heap) {
        if !seen.insert(narrowed.clone()) {
            return;
        }
        self.flows += 1;
        let flow = self.flow(&narrowed);
        if may_be_better(flow.bound, limit) {
            heap.push(Reverse(Node { flow, narrowed, order: self.flows }));
        }
    }
}

fn take_if_better(problem: &Allocation, flow: &Flow, best: &mut Allocated, limit: &mut i128) {
    let cost = problem.cost(&flow.choices, &flow.channels);
    let number = one_number(&cost);
    if number < *limit {
        *limit = number;
        *best =
            Allocated { choices: flow.choices.clone(), channels: flow.channels.clone(), cost, proven: true };
    }
}

/// Whether a solution above a bound can be better than one at the limit in anything but its ranks, which only decide between
/// equals and are not worth a search.
fn may_be_better(bound: i128, limit: i128) -> bool {
    /// More cables than any patch has.
    const MOST_CABLES: i128 = 1 << 14;
    /// More than the ranks of any patch come to, and less than a sixteenth of a cable.
    const MOST_RANK: i128 = 1 << 31;
    let level = |number: i128| number.div_euclid(weight::CABLE);
    let steps = weight::PENALTY / weight::CABLE;
    let mut least = level(bound);
    // So are cables: what goes beyond the ranks is a part of one more.
    if bound.rem_euclid(weight::CABLE) > MOST_RANK {
        least += 1;
    }
    // Penalties are whole steps: a part of one means the next.
    if least.rem_euclid(steps) > MOST_CABLES {
        least = (least.div_euclid(steps) + 1) * steps;
    }
    limit == i128::MAX && bound < limit || least < level(limit)
}

/// A cost as one number, in the weights of the flow.
fn one_number(cost: &Cost) -> i128 {
    weight::LEFT_OUT * i128::from(cost.left_out)
        + weight::SHORT * i128::from(cost.short)
        + weight::TIGHT * i128::from(cost.tight)
        + weight::CHANGE * i128::from(cost.changes)
        + weight::PENALTY * i128::from(cost.penalty)
        + weight::CABLE * i128::from(cost.cables)
        + i128::from(cost.rank)
}
