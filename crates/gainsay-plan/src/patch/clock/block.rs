//! The cheapest way to run a set of devices on one clock.
//!
//! Devices that feed each other without a cable form a cluster: once one of them has the clock, all have it. A tree then costs
//! only what brings the clock into clusters that get it from no other without a cable, the origins: each needs a word clock
//! cable or a digital cable of its own. Best-first search (A*) over the sets of clusters that have the clock finds the least.

use super::set::Set;
use super::wiring::{Wiring, cable_source, format_bits};
use super::{ClockPath, ClockRole};
use gainsay_gear::connection::{ClockSource, DigitalFormat};
use std::collections::BTreeMap;

/// Digital cables for the clock alone, then word clock cables.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) struct Cost {
    pub(super) cables: usize,
    pub(super) words: usize,
}

impl Cost {
    pub(super) const NOTHING: Self = Self { cables: 0, words: 0 };

    pub(super) fn plus(self, other: Self) -> Self {
        Self { cables: self.cables + other.cables, words: self.words + other.words }
    }
}

struct Cluster {
    /// In ascending order.
    members: Vec<usize>,
    /// The member that would lead.
    leader: Option<usize>,
    /// The member that would take word clock.
    word: Option<usize>,
    gives_word: bool,
    /// Formats of digital cables that would bring the clock in.
    formats: u16,
    /// Whether no other cluster feeds it without a cable.
    origin: bool,
    /// The clusters that have the clock once this one has it.
    reach: Set,
}

/// A group of free outputs.
struct Outlet {
    cluster: usize,
    device: usize,
    /// Position among the device's groups of free outputs.
    group: usize,
    formats: u16,
    count: u32,
}

#[derive(Debug, Clone, Copy)]
enum Step {
    Word { cluster: usize },
    Cable { outlet: usize, cluster: usize },
}

/// How a block gets its clock.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    pub(super) cost: Cost,
    pub(super) leader: usize,
    steps: Vec<Step>,
}

/// Devices that share a leader.
pub(super) struct Block {
    devices: Set,
    clusters: Vec<Cluster>,
    outlets: Vec<Outlet>,
}

struct Node {
    reached: Set,
    /// How many ports of each outlet are taken.
    taken: Vec<u32>,
    cost: Cost,
    steps: Vec<Step>,
}

impl Block {
    /// `devices` in ascending order; `pinned` leads if it is among them.
    pub(super) fn new(wiring: &Wiring<'_>, devices: &[usize], pinned: Option<usize>) -> Self {
        let mut set = Set::default();
        devices.iter().for_each(|device| set.insert(*device));
        let pinned = pinned.filter(|device| set.contains(*device));
        let reach: Vec<(usize, Set)> =
            devices.iter().map(|device| (*device, free_reach(wiring, *device, &set))).collect();
        let mut placed = Set::default();
        let mut clusters: Vec<Cluster> = Vec::new();
        for (device, forward) in &reach {
            if placed.contains(*device) {
                continue;
            }
            let members: Vec<usize> = reach
                .iter()
                .filter(|(other, back)| forward.contains(*other) && back.contains(*device))
                .map(|(other, _)| *other)
                .collect();
            members.iter().for_each(|member| placed.insert(*member));
            let may_lead = |member: &usize| pinned.is_none_or(|p| p == *member) && wiring.leads(*member);
            let first = |wanted: &dyn Fn(&usize) -> bool| members.iter().copied().find(wanted);
            clusters.push(Cluster {
                leader: first(&may_lead),
                word: first(&|member| wiring.takes(*member, ClockSource::WordClock)),
                gives_word: members.iter().any(|member| wiring.gives_word(*member)),
                formats: members.iter().fold(0, |bits, member| bits | wiring.cable_formats(*member)),
                origin: reach.iter().all(|(other, back)| !back.contains(*device) || forward.contains(*other)),
                reach: Set::default(),
                members,
            });
        }
        let cluster_of =
            |device: usize| clusters.iter().position(|cluster| cluster.members.contains(&device));
        let outlets = devices
            .iter()
            .filter_map(|device| Some((*device, cluster_of(*device)?, wiring.device(*device)?)))
            .flat_map(|(device, cluster, ports)| {
                ports.outputs.iter().enumerate().map(move |(group, ports)| Outlet {
                    cluster,
                    device,
                    group,
                    formats: format_bits(
                        ports.formats.iter().copied().filter(|f| *f != DigitalFormat::Aes67),
                    ),
                    count: ports.count,
                })
            })
            .filter(|outlet| outlet.count > 0 && outlet.formats != 0)
            .collect();
        let firsts: Vec<usize> =
            clusters.iter().filter_map(|cluster| cluster.members.first().copied()).collect();
        for cluster in &mut clusters {
            let Some(first) = cluster.members.first() else { continue };
            let Some((_, forward)) = reach.iter().find(|(device, _)| device == first) else { continue };
            for (index, first) in firsts.iter().enumerate() {
                if forward.contains(*first) {
                    cluster.reach.insert(index);
                }
            }
        }
        Self { devices: set, clusters, outlets }
    }

    /// The cheapest plan; among equals the one whose leader comes first.
    pub(super) fn cheapest(&self) -> Option<Plan> {
        let mut roots: Vec<(usize, usize)> = self
            .clusters
            .iter()
            .enumerate()
            .filter_map(|(index, cluster)| cluster.leader.map(|leader| (leader, index)))
            .collect();
        roots.sort_unstable();
        let mut best: Option<Plan> = None;
        for (leader, root) in roots {
            if best.as_ref().is_some_and(|best| best.cost == Cost::NOTHING) {
                break;
            }
            if let Some(plan) = self.plan_from(root, leader, best.as_ref().map(|best| best.cost)) {
                best = Some(plan);
            }
        }
        best
    }

    /// The cheapest plan with this cluster's leader, if it costs less than `limit`.
    fn plan_from(&self, root: usize, leader: usize, limit: Option<Cost>) -> Option<Plan> {
        let mut open: BTreeMap<(Cost, usize, usize), Node> = BTreeMap::new();
        let mut seen: BTreeMap<(Set, Vec<u32>), Cost> = BTreeMap::new();
        let mut serial = 0;
        let mut put = |mut node: Node, open: &mut BTreeMap<(Cost, usize, usize), Node>| {
            self.take_forced_words(&mut node);
            let Some(least) = self.least_to_go(&node) else { return };
            let whole = node.cost.plus(least);
            if limit.is_some_and(|limit| whole >= limit) {
                return;
            }
            let key = (node.reached.clone(), node.taken.clone());
            if seen.get(&key).is_some_and(|cost| *cost <= node.cost) {
                return;
            }
            seen.insert(key, node.cost);
            serial += 1;
            let left = self.clusters.len() - node.reached.count();
            open.insert((whole, left, serial), node);
        };
        let reached = self.clusters.get(root)?.reach.clone();
        let start =
            Node { reached, taken: vec![0; self.outlets.len()], cost: Cost::NOTHING, steps: Vec::new() };
        put(start, &mut open);
        while let Some(((_, left, _), node)) = open.pop_first() {
            if left == 0 {
                return Some(Plan { cost: node.cost, leader, steps: node.steps });
            }
            for (outlet, _) in self.outlets.iter().enumerate() {
                for cluster in 0..self.clusters.len() {
                    if let Some(next) = self.with_cable(&node, outlet, cluster) {
                        put(next, &mut open);
                    }
                }
            }
            if self.has_word(&node) {
                for (index, cluster) in self.clusters.iter().enumerate() {
                    if cluster.word.is_some() && !node.reached.contains(index) {
                        put(self.with_word(&node, index), &mut open);
                    }
                }
            }
        }
        None
    }

    fn has_word(&self, node: &Node) -> bool {
        let mut clusters = self.clusters.iter().enumerate();
        clusters.any(|(index, cluster)| cluster.gives_word && node.reached.contains(index))
    }

    /// An origin that takes word clock gets it as soon as there is some: it needs a cable anyhow, none is cheaper, and the order
    /// does not matter.
    fn take_forced_words(&self, node: &mut Node) {
        if !self.has_word(node) {
            return;
        }
        for (index, cluster) in self.clusters.iter().enumerate() {
            if cluster.origin && cluster.word.is_some() && !node.reached.contains(index) {
                *node = self.with_word(node, index);
            }
        }
    }

    fn with_word(&self, node: &Node, cluster: usize) -> Node {
        let mut reached = node.reached.clone();
        if let Some(cluster) = self.clusters.get(cluster) {
            reached.add_all(&cluster.reach);
        }
        let mut steps = node.steps.clone();
        steps.push(Step::Word { cluster });
        Node { reached, taken: node.taken.clone(), cost: node.cost.plus(Cost { cables: 0, words: 1 }), steps }
    }

    fn with_cable(&self, node: &Node, outlet: usize, cluster: usize) -> Option<Node> {
        let (from, to) = (self.outlets.get(outlet)?, self.clusters.get(cluster)?);
        let has_clock = node.reached.contains(from.cluster) && !node.reached.contains(cluster);
        if !has_clock || from.formats & to.formats == 0 {
            return None;
        }
        let mut taken = node.taken.clone();
        let ports = taken.get_mut(outlet)?;
        if *ports >= from.count {
            return None;
        }
        *ports += 1;
        let mut reached = node.reached.clone();
        reached.add_all(&to.reach);
        let mut steps = node.steps.clone();
        steps.push(Step::Cable { outlet, cluster });
        Some(Node { reached, taken, cost: node.cost.plus(Cost { cables: 1, words: 0 }), steps })
    }

    /// A lower bound of what is still to pay, exact where word clock reaches all that is left; none where it can't be done.
    fn least_to_go(&self, node: &Node) -> Option<Cost> {
        let left = || {
            self.clusters
                .iter()
                .enumerate()
                .filter(|(index, cluster)| cluster.origin && !node.reached.contains(*index))
        };
        let words = left().filter(|(_, cluster)| cluster.word.is_some()).count();
        let by_cable: Vec<usize> =
            left().filter(|(_, cluster)| cluster.word.is_none()).map(|(index, _)| index).collect();
        if !self.outlets_suffice(node, &by_cable) {
            return None;
        }
        if by_cable.is_empty() && node.reached.count() < self.clusters.len() && !self.has_word(node) {
            // Only a digital cable leads on from here, and it may end at one of those that could take word clock.
            return Some(Cost { cables: 1, words: words.saturating_sub(1) });
        }
        Some(Cost { cables: by_cable.len(), words })
    }

    /// Whether there is an outlet of its own for every one of these clusters, leaving aside which has the clock first
    /// (augmenting paths in the bipartite graph of clusters and outlets).
    fn outlets_suffice(&self, node: &Node, clusters: &[usize]) -> bool {
        let mut holders: Vec<Vec<usize>> = vec![Vec::new(); self.outlets.len()];
        clusters.iter().all(|cluster| self.find_outlet(node, *cluster, &mut holders, &mut Set::default()))
    }

    fn find_outlet(
        &self,
        node: &Node,
        cluster: usize,
        holders: &mut Vec<Vec<usize>>,
        tried: &mut Set,
    ) -> bool {
        let Some(to) = self.clusters.get(cluster) else { return false };
        for (index, outlet) in self.outlets.iter().enumerate() {
            if tried.contains(index) || outlet.cluster == cluster || outlet.formats & to.formats == 0 {
                continue;
            }
            tried.insert(index);
            let ports = outlet.count - node.taken.get(index).copied().unwrap_or(0).min(outlet.count);
            let held = holders.get(index).cloned().unwrap_or_default();
            if held.len() < ports as usize {
                if let Some(holders) = holders.get_mut(index) {
                    holders.push(cluster);
                }
                return true;
            }
            for (place, holder) in held.into_iter().enumerate().take(ports as usize) {
                if self.find_outlet(node, holder, holders, tried) {
                    if let Some(holder) = holders.get_mut(index).and_then(|held| held.get_mut(place)) {
                        *holder = cluster;
                    }
                    return true;
                }
            }
        }
        false
    }

    /// Writes the roles of this block's devices.
    pub(super) fn write_roles(&self, wiring: &Wiring<'_>, plan: &Plan, roles: &mut [ClockRole]) {
        let mut order = vec![plan.leader];
        let mut placed = Set::default();
        placed.insert(plan.leader);
        let mut at = 0;
        let mut steps = plan.steps.iter();
        loop {
            // Without a cable as far as it goes, by the shortest way.
            while let Some(from) = order.get(at).copied() {
                at += 1;
                for way in wiring.ways(from) {
                    if self.devices.contains(way.to) && !placed.contains(way.to) {
                        placed.insert(way.to);
                        order.push(way.to);
                        let role = ClockRole::Follows { from, source: way.source, by: way.by };
                        set_role(roles, way.to, role);
                    }
                }
            }
            let Some(step) = steps.next() else { return };
            let Some((to, role)) = self.entry(wiring, *step, &order) else { continue };
            placed.insert(to);
            order.push(to);
            set_role(roles, to, role);
        }
    }

    /// The device that a step brings the clock to, and its role.
    fn entry(&self, wiring: &Wiring<'_>, step: Step, order: &[usize]) -> Option<(usize, ClockRole)> {
        match step {
            Step::Word { cluster } => {
                let to = self.clusters.get(cluster)?.word?;
                // The nearest to the leader.
                let from = order.iter().copied().find(|device| wiring.gives_word(*device))?;
                let source = ClockSource::WordClock;
                Some((to, ClockRole::Follows { from, source, by: ClockPath::WordClock }))
            }
            Step::Cable { outlet, cluster } => {
                let outlet = self.outlets.get(outlet)?;
                let output = wiring.device(outlet.device)?.outputs.get(outlet.group)?;
                let members = self.clusters.get(cluster)?.members.iter();
                let mut ends = members.filter_map(|to| {
                    let device = wiring.device(*to)?;
                    device.inputs.iter().filter(|input| input.count > 0).find_map(|input| {
                        let mut formats = input.formats.iter().copied();
                        let format = formats.find(|format| {
                            output.formats.contains(format) && cable_source(device, *format).is_some()
                        })?;
                        Some((*to, cable_source(device, format)?, input.group, format))
                    })
                });
                let (to, source, input_group, format) = ends.next()?;
                let by = ClockPath::Cable { output_group: output.group, input_group, format };
                Some((to, ClockRole::Follows { from: outlet.device, source, by }))
            }
        }
    }
}

fn set_role(roles: &mut [ClockRole], device: usize, role: ClockRole) {
    if let Some(place) = roles.get_mut(device) {
        *place = role;
    }
}

/// The devices of a block that a clock at `start` gets to without a cable.
fn free_reach(wiring: &Wiring<'_>, start: usize, block: &Set) -> Set {
    let mut reached = Set::default();
    reached.insert(start);
    let mut waiting = vec![start];
    while let Some(device) = waiting.pop() {
        for way in wiring.ways(device) {
            if block.contains(way.to) && !reached.contains(way.to) {
                reached.insert(way.to);
                waiting.push(way.to);
            }
        }
    }
    reached
}
