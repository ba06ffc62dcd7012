//! Prices of ports that several wires share, and of supplies that several lines share (Lagrange multipliers): a flow does not know
//! that they are short; with a price on their use it behaves as if it did, and its cost less what all of them together would earn
//! is still a lower bound.

use super::flow::{Flow, Narrowed, least_cost, weight};
use super::{Allocation, Supply};

/// Prices of wires and choices, and what all ports and supplies would earn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Prices {
    /// For each wire the price of a channel.
    pub(super) of_wires: Vec<i128>,
    /// For each choice the price of what it draws.
    pub(super) of_choices: Vec<i128>,
    /// What everything that there is would earn.
    pub(super) of_all: i128,
}

/// Rounds of bidding about ports, and the last ones about supplies.
const ROUNDS: i128 = 20;

/// Rounds of bidding about supplies with what weighs more than penalties.
const ROUNDS_ABOVE: i128 = 8;

/// Bids.
struct Bids {
    per_port: Vec<i128>,
    /// For as much as one line draws at most.
    per_line: Vec<i128>,
}

impl Prices {
    /// Prices found by bidding (subgradient steps): who is short gets dearer, who has some left cheaper. None where nothing is
    /// short without them.
    pub(super) fn of(problem: &Allocation, narrowed: &Narrowed, flows: &mut usize) -> Option<Self> {
        let mut bids =
            Bids { per_port: vec![0; problem.ports.len()], per_line: vec![0; problem.supplies.len()] };
        let mut best: Option<(i128, Self)> = None;
        let mut any = false;
        // What decides more is bid for first.
        for level in [weight::SHORT, weight::TIGHT, weight::CHANGE, weight::PENALTY] {
            let last = level == weight::PENALTY;
            for round in 0..if last { ROUNDS } else { ROUNDS_ABOVE } {
                let prices = Self::from_bids(problem, &bids);
                let flow = least_cost(problem, narrowed, Some(&prices));
                *flows += 1;
                let of_ports: Vec<i128> = problem.ports.iter().map(|ports| excess(ports, &flow)).collect();
                let of_supplies: Vec<i128> =
                    problem.supplies.iter().map(|supply| overdrawn(problem, supply, &flow)).collect();
                if !any && of_ports.iter().chain(&of_supplies).all(|excess| *excess <= 0) {
                    return None;
                }
                any = true;
                if best.as_ref().is_none_or(|(bound, _)| flow.bound > *bound) {
                    best = Some((flow.bound, prices));
                }
                if !last && of_supplies.iter().all(|excess| *excess <= 0) {
                    break;
                }
                // Smaller and smaller steps: of ports of a few tenths of a decibel at first, of supplies of what they decide.
                for (price, excess) in bids.per_line.iter_mut().zip(&of_supplies) {
                    *price = (*price + level / (round + 1) * excess.signum()).max(0);
                }
                if last {
                    let step = 12 * weight::PENALTY / (round + 3);
                    for (price, excess) in bids.per_port.iter_mut().zip(&of_ports) {
                        *price = (*price + step * excess).max(0);
                    }
                }
            }
        }
        best.map(|(_, prices)| prices)
    }

    fn from_bids(problem: &Allocation, bids: &Bids) -> Self {
        let mut of_wires = vec![0; problem.wires.len()];
        let mut of_choices = vec![0; problem.choices.len()];
        let mut of_all = 0;
        for (ports, price) in problem.ports.iter().zip(&bids.per_port) {
            of_all += price * i128::from(ports.count);
            for (wire, per) in &ports.wires {
                if let Some(of_wire) = of_wires.get_mut(*wire) {
                    // Rounded down, so that the bound stays one.
                    *of_wire += price / i128::from((*per).max(1));
                }
            }
        }
        for (supply, price) in problem.supplies.iter().zip(&bids.per_line) {
            let per_unit = price / i128::from(most_drawn(supply));
            of_all += per_unit * i128::from(supply.total);
            for (choice, drawn) in &supply.draws {
                if let Some(of_choice) = of_choices.get_mut(*choice) {
                    *of_choice += per_unit * i128::from(*drawn);
                }
            }
        }
        Self { of_wires, of_choices, of_all }
    }
}

fn most_drawn(supply: &Supply) -> u32 {
    supply.draws.iter().map(|(_, drawn)| *drawn).max().unwrap_or(1).max(1)
}

/// What is drawn from a supply beyond what it gives.
fn overdrawn(problem: &Allocation, supply: &Supply, flow: &Flow) -> i128 {
    let drawn = supply.draws.iter().filter(|(choice, _)| {
        let line = problem.choices.get(*choice).map(|choice| choice.line);
        line.and_then(|line| flow.choices.get(line).copied().flatten()) == Some(*choice)
    });
    drawn.map(|(_, drawn)| i128::from(*drawn)).sum::<i128>() - i128::from(supply.total)
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
