//! Whether an allocation keeps to its problem, and what it comes to, counted from what the terms mean.

use crate::problems::Problem;
use gainsay_plan::patch::allocation::{Allocated, Cost};

/// Everything that an allocation breaks.
pub(crate) fn broken(problem: &Problem, allocated: &Allocated) -> Vec<String> {
    let (of, mut broken) = (&problem.allocation, Vec::new());
    let (choices, channels) = (&allocated.choices, &allocated.channels);
    if choices.len() != of.lines.len() || channels.len() != of.wires.len() {
        return vec![format!(
            "{} choices for {} lines, channels on {} wires of {}",
            choices.len(),
            of.lines.len(),
            channels.len(),
            of.wires.len()
        )];
    }
    let mut balance = vec![0_i64; of.points];
    let place = |line: usize| choices[line].map(|choice| of.choices[choice].place);
    for (line, choice) in choices.iter().enumerate() {
        let Some(choice) = choice.map(|choice| of.choices[choice]) else { continue };
        if choice.line != line {
            broken.push(format!("line {line} has a choice of line {}", choice.line));
        }
        balance[choice.place] += 1;
    }
    for (index, (wire, channels)) in of.wires.iter().zip(channels).enumerate() {
        balance[wire.from] -= i64::from(*channels);
        balance[wire.to] += i64::from(*channels);
        if *channels > wire.channels {
            broken.push(format!(
                "wire {index} carries {channels} channels, {} too many",
                channels - wire.channels
            ));
        }
    }
    for (point, left) in balance.iter().enumerate().skip(1) {
        if *left != 0 {
            broken.push(format!("at point {point} there are {left:+} channels more than go on"));
        }
    }
    let placed = choices.iter().flatten().count() as i64;
    if balance.first() != Some(&placed) {
        broken.push(format!("{:?} channels reach the computer of {placed} lines", balance.first()));
    }
    for (index, ports) in of.ports.iter().enumerate() {
        let taken: u32 = ports.wires.iter().map(|(wire, per)| channels[*wire].div_ceil(*per)).sum();
        if taken > ports.count {
            broken.push(format!("ports {index}: {taken} are taken of {}", ports.count));
        }
    }
    for (index, supply) in of.supplies.iter().enumerate() {
        let drawn =
            supply.draws.iter().filter(|(choice, _)| choices[of.choices[*choice].line] == Some(*choice));
        let drawn: u64 = drawn.map(|(_, current)| u64::from(*current)).sum();
        if drawn > u64::from(supply.total) {
            broken.push(format!("supply {index}: {drawn} µA are drawn of {}", supply.total));
        }
    }
    for (a, b) in &of.pairs {
        if let (Some(one), Some(other)) = (place(*a), place(*b))
            && one != other
        {
            broken.push(format!("lines {a} and {b} are a pair, at {one} and {other}"));
        }
    }
    for set in &problem.forbidden {
        if set.iter().all(|wire| channels[*wire] > 0) {
            broken.push(format!("wires {set:?} are all in use, which can't be"));
        }
    }
    broken
}

/// What an allocation comes to.
pub(crate) fn cost(problem: &Problem, allocated: &Allocated) -> Cost {
    let of = &problem.allocation;
    let mut cost = Cost { left_out: 0, short: 0, tight: 0, changes: 0, penalty: 0, cables: 0, rank: 0 };
    for (line, choice) in of.lines.iter().zip(&allocated.choices) {
        match choice {
            None => {
                cost.left_out += line.sources;
                cost.changes += line.changes;
                cost.rank += u64::from(line.rank);
            }
            Some(choice) => {
                let choice = &of.choices[*choice];
                cost.short += choice.short;
                cost.tight += choice.tight;
                cost.changes += choice.changes;
                cost.penalty += u64::from(choice.penalty);
                cost.cables += choice.cables;
                cost.rank += u64::from(choice.rank);
            }
        }
    }
    for (wire, channels) in of.wires.iter().zip(&allocated.channels) {
        cost.penalty += u64::from(wire.penalty) * u64::from(*channels);
        if wire.per_cable > 0 {
            cost.cables += channels.div_ceil(wire.per_cable);
        }
    }
    cost
}
