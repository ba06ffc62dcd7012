//! Flow of least cost from lines to the computer: shortest augmenting paths with potentials (Edmonds and Karp 1972).

#![expect(
    clippy::indexing_slicing,
    reason = "every index is a point or edge that this module has numbered itself"
)]

use super::Allocation;
use super::prices::Prices;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Weights that make one number of the parts of a cost, each far above the sum of all that come after it.
pub(super) mod weight {
    /// Of a cable; ranks of up to 2³⁶ lie below it.
    pub(crate) const CABLE: i128 = 1 << 36;
    /// Of a step of penalty; up to 2¹⁶ cables lie below it.
    pub(crate) const PENALTY: i128 = 1 << 52;
    /// Of a change to how a source is taken; up to 2²² steps of penalty lie below it.
    pub(crate) const CHANGE: i128 = 1 << 74;
    /// Of a source that is tight; up to 2¹⁰ changes lie below it, and as many of each below the next.
    pub(crate) const TIGHT: i128 = 1 << 84;
    /// Of a source that is short.
    pub(crate) const SHORT: i128 = 1 << 94;
    /// Of a source that is left out.
    pub(crate) const LEFT_OUT: i128 = 1 << 104;
}

/// What branching has narrowed.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Narrowed {
    /// Choices that are out.
    pub(super) without: Vec<bool>,
    /// Lines that can't be left out.
    pub(super) placed: Vec<bool>,
    /// Most channels of each wire.
    pub(super) channels: Vec<u32>,
    /// Cables of each wire that are paid for already, whether used or not.
    pub(super) paid: Vec<u32>,
    /// Whether ports have their prices.
    pub(super) priced: bool,
}

impl Narrowed {
    pub(super) fn none(problem: &Allocation) -> Self {
        Self {
            without: vec![false; problem.choices.len()],
            placed: vec![false; problem.lines.len()],
            channels: problem.wires.iter().map(|wire| wire.channels).collect(),
            paid: vec![0; problem.wires.len()],
            priced: true,
        }
    }
}

/// A flow of least cost.
#[derive(Debug, Clone)]
pub(super) struct Flow {
    /// For each line its choice, or none.
    pub(super) choices: Vec<Option<usize>>,
    /// Channels on each wire.
    pub(super) channels: Vec<u32>,
    /// Its cost: a lower bound on that of every solution within the same narrowing.
    pub(super) bound: i128,
}

struct Edge {
    to: usize,
    left: u32,
    cost: i128,
}

/// What an edge stands for.
enum Meaning {
    Choice(usize),
    Wire(usize),
}

struct Network {
    edges: Vec<Edge>,
    from: Vec<Vec<usize>>,
}

impl Network {
    /// Adds an edge and its reverse; the reverse has the next number.
    fn add(&mut self, from: usize, to: usize, capacity: u32, cost: i128) -> usize {
        let id = self.edges.len();
        self.edges.push(Edge { to, left: capacity, cost });
        self.edges.push(Edge { to: from, left: 0, cost: -cost });
        self.from[from].push(id);
        self.from[to].push(id + 1);
        id
    }
}

pub(super) fn least_cost(problem: &Allocation, narrowed: &Narrowed, prices: Option<&Prices>) -> Flow {
    const SINK: usize = 0;
    let n_lines = problem.lines.len();
    let line_point = |line: usize| problem.points + line;
    let n_points = problem.points + n_lines;
    let mut network = Network { edges: Vec::new(), from: (0..n_points).map(|_| Vec::new()).collect() };
    let mut meanings: Vec<(usize, Meaning)> = Vec::new();
    let mut bound: i128 = prices.map_or(0, |prices| -prices.of_all);
    for (index, line) in problem.lines.iter().enumerate() {
        if !narrowed.placed[index] {
            let cost = weight::LEFT_OUT * i128::from(line.sources)
                + weight::CHANGE * i128::from(line.changes)
                + i128::from(line.rank);
            network.add(line_point(index), SINK, line.units, cost);
        }
    }
    for (index, choice) in problem.choices.iter().enumerate() {
        if narrowed.without[index] {
            continue;
        }
        let cost = weight::SHORT * i128::from(choice.short)
            + weight::TIGHT * i128::from(choice.tight)
            + weight::CHANGE * i128::from(choice.changes)
            + weight::PENALTY * i128::from(choice.penalty)
            + weight::CABLE * i128::from(choice.cables)
            + i128::from(choice.rank)
            + prices.and_then(|prices| prices.of_choices.get(index)).copied().unwrap_or(0);
        let edge = network.add(line_point(choice.line), choice.place, problem.lines[choice.line].units, cost);
        meanings.push((edge, Meaning::Choice(index)));
    }
    // Channels of one cable and cables that are paid for, for each wire at which cables are counted. Cables of a bundle are counted
    // where it begins.
    let mut counted: Vec<(u32, u32)> =
        problem.wires.iter().zip(&narrowed.paid).map(|(wire, paid)| (wire.per_cable, *paid)).collect();
    for bundle in &problem.bundles {
        let of_wires: u32 = bundle.wires.iter().map(|wire| narrowed.paid[*wire]).sum();
        for wire in &bundle.wires {
            counted[*wire] = (0, 0);
        }
        counted[bundle.through] = (bundle.per_cable, narrowed.paid[bundle.through].max(of_wires));
    }
    for (index, wire) in problem.wires.iter().enumerate() {
        let most = narrowed.channels[index];
        let (per, paid) = counted[index];
        bound += weight::CABLE * i128::from(if per == 0 { 0 } else { paid });
        // Channels on cables that are paid for cost nothing more; the rest at least their share of a cable.
        let free = if per == 0 { most } else { most.min(paid.saturating_mul(per)) };
        let share = if per == 0 { 0 } else { weight::CABLE / i128::from(per) };
        let price = prices.and_then(|prices| prices.of_wires.get(index)).copied().unwrap_or(0);
        let price = price + weight::PENALTY * i128::from(wire.penalty);
        for (capacity, cost) in [(free, price), (most - free, share + price)] {
            if capacity > 0 {
                let edge = network.add(wire.from, wire.to, capacity, cost);
                meanings.push((edge, Meaning::Wire(index)));
            }
        }
    }

    let mut potentials = vec![0_i128; n_points];
    let mut search = Search::new(n_points);
    for (index, line) in problem.lines.iter().enumerate() {
        let mut left = line.units;
        while left > 0 {
            let Some((sent, cost)) =
                search.augment(&mut network, &mut potentials, line_point(index), SINK, left)
            else {
                // A line that can't be left out has nowhere to go: nothing within this narrowing is a solution.
                bound = i128::MAX;
                break;
            };
            bound += i128::from(sent) * cost;
            left -= sent;
        }
        if bound == i128::MAX {
            break;
        }
    }

    let mut flow = Flow { choices: vec![None; n_lines], channels: vec![0; problem.wires.len()], bound };
    for (edge, meaning) in meanings {
        // What has gone through an edge stands free on its reverse.
        let gone = network.edges[edge + 1].left;
        match meaning {
            Meaning::Choice(index) if gone > 0 => flow.choices[problem.choices[index].line] = Some(index),
            Meaning::Choice(_) => {}
            Meaning::Wire(index) => flow.channels[index] += gone,
        }
    }
    flow
}

struct Search {
    distance: Vec<i128>,
    via: Vec<usize>,
    done: Vec<bool>,
    heap: BinaryHeap<Reverse<(i128, usize)>>,
}

impl Search {
    fn new(n: usize) -> Self {
        Self {
            distance: vec![i128::MAX; n],
            via: vec![usize::MAX; n],
            done: vec![false; n],
            heap: BinaryHeap::new(),
        }
    }

    /// Sends at most so many units along the shortest path; says how many, and what each costs. None where there is no path.
    fn augment(
        &mut self,
        network: &mut Network,
        potentials: &mut [i128],
        start: usize,
        sink: usize,
        most: u32,
    ) -> Option<(u32, i128)> {
        self.distance.fill(i128::MAX);
        self.done.fill(false);
        self.heap.clear();
        self.distance[start] = 0;
        self.heap.push(Reverse((0, start)));
        let mut reached = 0;
        while let Some(Reverse((distance, point))) = self.heap.pop() {
            if self.done[point] {
                continue;
            }
            self.done[point] = true;
            reached = distance;
            if point == sink {
                break;
            }
            for edge_id in &network.from[point] {
                let edge = &network.edges[*edge_id];
                if edge.left == 0 || self.done[edge.to] {
                    continue;
                }
                let next = distance + edge.cost + potentials[point] - potentials[edge.to];
                if next < self.distance[edge.to] {
                    self.distance[edge.to] = next;
                    self.via[edge.to] = *edge_id;
                    self.heap.push(Reverse((next, edge.to)));
                }
            }
        }
        if !self.done[sink] {
            return None;
        }
        for (point, potential) in potentials.iter_mut().enumerate() {
            // Points beyond the sink count as if they lay at its distance, which keeps every reduced cost above zero.
            *potential += if self.done[point] { self.distance[point] } else { reached };
        }
        let mut sent = most;
        let mut point = sink;
        while point != start {
            let edge = self.via[point];
            sent = sent.min(network.edges[edge].left);
            point = network.edges[edge ^ 1].to;
        }
        let mut cost = 0;
        point = sink;
        while point != start {
            let edge = self.via[point];
            cost += network.edges[edge].cost;
            network.edges[edge].left -= sent;
            network.edges[edge ^ 1].left += sent;
            point = network.edges[edge ^ 1].to;
        }
        Some((sent, cost))
    }
}
