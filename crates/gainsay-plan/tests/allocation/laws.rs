//! Laws that hold for every best allocation, tried on random problems. Arithmetic; no source.

use crate::problems::{Dice, Problem, STUDIOS, studio};
use crate::{numbers, solved};
use gainsay_plan::patch::allocation::{Choice, Line, Wire};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

fn problem() -> impl Strategy<Value = Problem> {
    (0..STUDIOS.len(), 1_000..u64::from(u32::MAX)).prop_map(|(recipe, seed)| studio(&STUDIOS[recipe], seed))
}

/// The order of numbers that an equal deal of cards would have.
fn shuffled(count: usize, dice: &mut Dice) -> Vec<usize> {
    let mut order: Vec<usize> = (0..count).collect();
    for last in (1..count).rev() {
        order.swap(last, dice.below(last + 1));
    }
    order
}

/// The same problem with its lines in another order: line `i` becomes line `order[i]`.
fn with_lines_in_order(problem: &Problem, order: &[usize]) -> Problem {
    let mut other = problem.clone();
    for (line, to) in order.iter().enumerate() {
        other.allocation.lines[*to] = problem.allocation.lines[line];
    }
    for choice in &mut other.allocation.choices {
        choice.line = order[choice.line];
    }
    for (a, b) in &mut other.allocation.pairs {
        (*a, *b) = (order[*a].min(order[*b]), order[*a].max(order[*b]));
    }
    other
}

/// The same problem with its wires in another order.
fn with_wires_in_order(problem: &Problem, order: &[usize]) -> Problem {
    let mut other = problem.clone();
    for (wire, to) in order.iter().enumerate() {
        other.allocation.wires[*to] = problem.allocation.wires[wire];
    }
    for ports in &mut other.allocation.ports {
        ports.wires.iter_mut().for_each(|(wire, _)| *wire = order[*wire]);
    }
    for set in &mut other.forbidden {
        set.iter_mut().for_each(|wire| *wire = order[*wire]);
    }
    other
}

fn best(problem: &Problem) -> [u64; 6] {
    let allocated = solved(problem);
    assert!(allocated.proven, "{}: not proven", problem.name);
    numbers(&allocated.cost)
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 200,
        rng_seed: RngSeed::Fixed(20),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn an_input_more_never_leaves_more_out(problem in problem()) {
        let mut more = problem.clone();
        let place = more.allocation.points;
        more.allocation.points += 1;
        more.allocation.wires.push(Wire { from: place, to: 0, channels: 1, per_cable: 0, penalty: 0 });
        for line in 0..more.allocation.lines.len() {
            let choice = Choice { line, place, short: 3, tight: 0, changes: 1, penalty: 1_000, cables: 1, rank: 100 };
            more.allocation.choices.push(choice);
        }
        let (before, after) = (best(&problem)[0], best(&more)[0]);
        prop_assert!(after <= before, "{after} left out with an input more, {before} without");
        let lines = &problem.allocation.lines;
        let sources = lines.iter().map(|line| u64::from(line.sources)).max().unwrap_or(0);
        prop_assert!(before <= after + sources, "one input more takes {} sources, {sources} at most", before - after);
    }

    #[test]
    fn what_gives_way_never_costs(problem in problem(), what in 0..5_usize) {
        let mut eased = problem.clone();
        match what {
            0 => eased.forbidden.clear(),
            1 => eased.allocation.pairs.clear(),
            2 => eased.allocation.supplies.clear(),
            3 => eased.allocation.ports.iter_mut().for_each(|ports| ports.count += 1),
            _ => eased.allocation.wires.iter_mut().for_each(|wire| wire.channels = wire.channels.saturating_add(1)),
        }
        let (before, after) = (best(&problem), best(&eased));
        prop_assert!(after <= before, "with less to keep to it comes to {after:?}, with more to {before:?}");
    }

    #[test]
    fn the_order_of_lines_and_wires_changes_nothing(problem in problem(), seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let lines = shuffled(problem.allocation.lines.len(), &mut dice);
        let wires = shuffled(problem.allocation.wires.len(), &mut dice);
        let other = with_wires_in_order(&with_lines_in_order(&problem, &lines), &wires);
        prop_assert_eq!(best(&other), best(&problem));
    }

    #[test]
    fn a_line_more_takes_no_one_in(problem in problem(), seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let mut more = problem.clone();
        let line = more.allocation.lines.len();
        more.allocation.lines.push(Line { sources: 1, changes: 0, rank: 1, units: 1 });
        let mut places: Vec<usize> = more.allocation.choices.iter().map(|choice| choice.place).collect();
        places.sort_unstable();
        places.dedup();
        for place in places {
            if dice.chance(70) {
                let penalty = dice.within(0, 50);
                more.allocation.choices.push(Choice { line, place, short: 0, tight: 0, changes: 0, penalty, cables: 0, rank: 1 });
            }
        }
        let (before, after) = (best(&problem)[0], best(&more)[0]);
        prop_assert!(after >= before, "{after} left out with a line more, {before} without");
        prop_assert!(after <= before + 1, "one line more leaves {after} out, without it {before}");
    }

    #[test]
    fn penalties_in_another_unit_are_the_same_penalties(problem in problem(), factor in 2..50_u32) {
        let mut other = problem.clone();
        other.allocation.choices.iter_mut().for_each(|choice| choice.penalty *= factor);
        other.allocation.wires.iter_mut().for_each(|wire| wire.penalty *= factor);
        let mut want = best(&problem);
        want[4] *= u64::from(factor);
        prop_assert_eq!(best(&other), want);
    }

    #[test]
    fn what_is_best_is_best_again(problem in problem()) {
        let once = solved(&problem);
        let again = solved(&problem);
        prop_assert_eq!(once, again);
    }

    // With nothing to choose from but what was chosen, it comes to the same.
    #[test]
    fn what_is_not_taken_does_not_matter(problem in problem()) {
        let allocated = solved(&problem);
        let mut kept: Vec<usize> = allocated.choices.iter().flatten().copied().collect();
        kept.sort_unstable();
        let mut only = problem.clone();
        only.allocation.choices = kept.iter().map(|choice| problem.allocation.choices[*choice]).collect();
        for supply in &mut only.allocation.supplies {
            supply.draws = supply
                .draws
                .iter()
                .filter_map(|(choice, current)| Some((kept.iter().position(|k| k == choice)?, *current)))
                .collect();
        }
        prop_assert_eq!(best(&only), numbers(&allocated.cost));
    }
}
