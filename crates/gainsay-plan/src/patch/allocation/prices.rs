//! Prices of ports that several wires share (Lagrange multipliers): a flow does not know that ports are short; with a price on
//! their use it behaves as if it did, and its cost less what all ports together would earn is still a lower bound.

use super::Allocation;
use super::flow::{Flow, Narrowed, least_cost, weight};

/// Prices of the wires, and what all ports would earn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Prices {
    /// For each wire the price of a channel.
    pub(super) of_wires: Vec<i128>,
    /// Price of each port times how many there are, summed.
    pub(super) of_all_ports: i128,
}

/// Rounds of bidding.
const ROUNDS: i128 = 20;

impl Prices {
    /// Prices found by bidding (subgradient steps): who is short gets dearer, who has some left cheaper. None where nothing is
    /// short without them.
    pub(super) fn of(problem: &Allocation, narrowed: &Narrowed, flows: &mut usize) -> Option<Self> {
        let mut per_port: Vec<i128> = vec![0; problem.ports.len()];
        let mut best: Option<(i128, Self)> = None;
        for round in 0..ROUNDS {
            let prices = Self::from_ports(problem, &per_port);
            let flow = least_cost(problem, narrowed, Some(&prices));
            *flows += 1;
            let excess: Vec<i128> = problem.ports.iter().map(|ports| excess(ports, &flow)).collect();
            if round == 0 && excess.iter().all(|excess| *excess <= 0) {
                return None;
            }
            if best.as_ref().is_none_or(|(bound, _)| flow.bound > *bound) {
                best = Some((flow.bound, prices));
            }
            // A step of a few tenths of a decibel at first, smaller and smaller.
            let step = 12 * weight::PENALTY / (round + 3);
            for (price, excess) in per_port.iter_mut().zip(&excess) {
                *price = (*price + step * excess).max(0);
            }
        }
        best.map(|(_, prices)| prices)
    }

    fn from_ports(problem: &Allocation, per_port: &[i128]) -> Self {
        let mut of_wires = vec![0; problem.wires.len()];
        let mut of_all_ports = 0;
        for (ports, price) in problem.ports.iter().zip(per_port) {
            of_all_ports += price * i128::from(ports.count);
            for (wire, per) in &ports.wires {
                if let Some(of_wire) = of_wires.get_mut(*wire) {
                    // Rounded down, so that the bound stays one.
                    *of_wire += price / i128::from((*per).max(1));
                }
            }
        }
        Self { of_wires, of_all_ports }
    }
}

/// How many ports are used beyond those that there are, counting parts of a port as parts.
fn excess(ports: &super::Ports, flow: &Flow) -> i128 {
    let used: f64 = ports
        .wires
        .iter()
        .map(|(wire, per)| {
            f64::from(flow.channels.get(*wire).copied().unwrap_or(0)) / f64::from((*per).max(1))
        })
        .sum();
    (used - f64::from(ports.count)).ceil() as i128
}
