//! What knowing a figure is worth, against nested Monte Carlo: the figure is held at one value after the other, everything else is
//! drawn anew, and the decision is taken for each value. (The definition itself; Brennan, Kharroubi, O'Hagan and Chilcott 2007,
//! "Calculating partial expected value of perfect information via Monte Carlo sampling algorithms".)

use super::{Worth, column, decide, figures};
use crate::case::{Case, CaseFile, FilePart, Fixed, assemble};
use crate::check::Options;
use crate::draws::Draws;
use crate::options::{Judged, judge, options};
use gainsay_gear::{Catalogue, Device};
use gainsay_units::Origin;
use std::ops::ControlFlow;

const WITH: Options = Options { draws: Draws { count: 40_000, seed: 1 }, stage_intervals: false };

/// Values of the figure, in the middle of classes of equal probability.
const VALUES: usize = 160;

/// Draws of everything else for each value: of another seed than the others.
const INNER: Options = Options { draws: Draws { count: 4_000, seed: 71 }, stage_intervals: false };

/// Classes instead of values take away a little, chance adds a little; this is a tenth of what is asked for.
const CLOSE: f64 = 0.01;

fn storyteller() -> Case {
    let gear = include_str!("../../../../gainsay-folder/demo/gear/kitchen-interface.toml");
    let gear = [Device::from_toml(gear, "kitchen-interface", Origin::Sheet).unwrap()];
    let text = include_str!("../../../../gainsay-folder/demo/storyteller.toml");
    let file = CaseFile::from_toml(text).unwrap();
    assemble(&[FilePart { file }], &gear, Catalogue::embedded()).unwrap()
}

/// The probability of each plan that it is the right one.
fn chances(case: &Case, plans: &[Judged], fixed: &Fixed) -> Vec<f64> {
    let held: Vec<Judged> = plans
        .iter()
        .map(|judged| {
            let mut after = judged.plan.case.clone();
            after.fixed.push(fixed.clone());
            judge(case, after, judged.plan.changes.clone(), judged.plan.price, INNER).unwrap()
        })
        .collect();
    let decision = decide(&held.iter().collect::<Vec<_>>(), &held[0]).unwrap();
    let mut counts = vec![0.0; plans.len()];
    for right in &decision.right {
        counts[*right] += 1.0;
    }
    counts.iter().map(|count| count / decision.right.len() as f64).collect()
}

#[test]
fn knowing_a_figure_is_worth_what_nested_draws_say() {
    let case = storyteller();
    let answer = options(&case, WITH, &mut |_| ControlFlow::Continue(())).unwrap();
    let mut plans: Vec<Judged> = answer
        .frontier
        .iter()
        .chain(&answer.reserves)
        .map(|plan| judge(&case, plan.case.clone(), plan.changes.clone(), plan.price, WITH).unwrap())
        .collect();
    plans.sort_by_key(|judged| judged.plan.price);
    assert!(plans.len() > 1, "there is nothing to decide");
    let all: Vec<&Judged> = plans.iter().collect();
    let decision = decide(&all, &plans[0]).unwrap();
    let worth = Worth::new(&decision, WITH);
    let n = decision.right.len() as f64;
    let blind = (0..plans.len())
        .map(|plan| decision.right.iter().filter(|right| **right == plan).count() as f64 / n)
        .fold(0.0, f64::max);
    let mut asked = 0;
    let mut most = 0.0_f64;
    for (key, (parameter, ..)) in figures(&all) {
        let column = column(parameter, WITH);
        let ours = worth.of(&column);
        if ours < 0.002 {
            continue;
        }
        asked += 1;
        most = most.max(ours);
        let mut values = column.values.clone();
        values.sort_by(f64::total_cmp);
        let informed = (0..VALUES).map(|index| {
            let value = values[(2 * index + 1) * values.len() / (2 * VALUES)];
            let chances = chances(&case, &plans, &Fixed { key: key.to_owned(), value });
            chances.into_iter().fold(0.0, f64::max)
        });
        let nested = informed.sum::<f64>() / VALUES as f64 - blind;
        let off = ours - nested;
        assert!(off.abs() < CLOSE, "{key}: {ours:.4}, nested draws {nested:.4}, off by {off:+.4}");
    }
    assert!(asked > 1 && most > 10.0 * CLOSE, "{asked} figures are worth asking, the first {most:.4}");
}
