//! What to ask next: the figure whose knowledge would most likely change the plan.

use super::Judged;
use crate::chain::{Chain, Parameter};
use crate::check::Options;
use crate::draws::{BINS, Column};
use crate::information::worth_by_classes;
use crate::words;
use gainsay_units::Spread;
use serde::Serialize;
use std::collections::BTreeMap;

/// Below this, knowing a figure changes next to nothing.
const WORTH_ASKING: f64 = 0.01;

/// The one thing to ask or measure next.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ask {
    /// The figure.
    pub figure: String,
    /// The question in plain words.
    pub question: String,
    /// The source that it matters most to.
    pub source: String,
    /// By how much knowing it would raise the probability of naming the right plan, or, with one plan, the right verdict
    /// (expected value of partial perfect information).
    pub expected_gain: f64,
    /// What each answer would lead to, from the lowest on.
    pub leads: Vec<Lead>,
}

/// What an answer would lead to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lead {
    /// Where it begins, in words; none of the lowest.
    pub from: Option<String>,
    /// Where it ends; none of the highest.
    pub to: Option<String>,
    /// Probability of such an answer.
    pub chance: f64,
    /// What then is right.
    pub then: String,
}

/// For each draw the plan, or the verdict, that is right.
struct Decision {
    /// Index of what is right in each draw.
    right: Vec<usize>,
    /// What there is, in words.
    names: Vec<String>,
}

/// A figure of a plan, the source in whose chain it is, and what it is there.
type Asked<'a> = (&'a Parameter, &'a Chain, words::Role);

/// `reserves` are plans that may turn out to be right although they are not on the frontier as things stand.
pub(super) fn ask(
    frontier: &[Judged],
    reserves: &[Judged],
    recommended: usize,
    with: Options,
) -> Option<Ask> {
    let mut plans: Vec<&Judged> = frontier.iter().chain(reserves).collect();
    plans.sort_by_key(|judged| judged.plan.price);
    let decision = decide(&plans, frontier.get(recommended)?)?;
    let worth = Worth::new(&decision, with);
    let (gain, (parameter, chain, role)) = figures(&plans)
        .into_values()
        .map(|asked| (worth.of(&column(asked.0, with)), asked))
        .max_by(|a, b| a.0.total_cmp(&b.0))?;
    (gain >= WORTH_ASKING).then(|| Ask {
        figure: parameter.label.clone(),
        question: words::question(role, parameter, &chain.source),
        source: chain.source.clone(),
        expected_gain: gain.min(1.0),
        leads: leads(&decision, &column(parameter, with), parameter),
    })
}

/// The figures of plans that are not known exactly, by their keys.
fn figures<'a>(plans: &[&'a Judged]) -> BTreeMap<&'a str, Asked<'a>> {
    let mut figures: BTreeMap<&str, Asked<'_>> = BTreeMap::new();
    for judged in plans {
        for (chain, _) in judged.chains.iter().flatten() {
            for (id, parameter) in chain.each().filter(|(_, parameter)| !parameter.spread.is_exact()) {
                figures
                    .entry(&parameter.key)
                    .or_insert_with(|| (parameter, chain, words::Role::of(chain, id)));
            }
        }
    }
    figures
}

fn column(parameter: &Parameter, with: Options) -> Column {
    Column::draw(&parameter.key, parameter.value, parameter.spread, parameter.positive, with.draws)
}

/// What knowing a figure is worth for a decision.
struct Worth {
    /// For each way to decide, whether it is right in each draw.
    benefits: Vec<Vec<f64>>,
    /// What a figure without influence seems to be worth.
    by_chance: f64,
}

impl Worth {
    fn new(decision: &Decision, with: Options) -> Self {
        let benefits = (0..decision.names.len())
            .map(|choice| decision.right.iter().map(|right| f64::from(u8::from(*right == choice))).collect())
            .collect();
        let mut worth = Self { benefits, by_chance: 0.0 };
        let nothing = Spread::Rectangular { below: 1.0, above: 1.0 };
        worth.by_chance =
            worth.of(&Column::draw("a figure without influence", 0.0, nothing, false, with.draws));
        worth
    }

    /// By how much knowing a figure raises the probability of deciding rightly.
    fn of(&self, column: &Column) -> f64 {
        let classes: Vec<usize> = column.bins.iter().map(|bin| usize::from(*bin)).collect();
        worth_by_classes(&self.benefits, &classes, BINS) - self.by_chance
    }
}

/// Which plan is right in each draw: the cheapest of those that come to the best result. Where there is one plan, the verdict.
fn decide(plans: &[&Judged], only: &Judged) -> Option<Decision> {
    let results: Vec<Vec<u64>> = plans.iter().map(|judged| result_by_draw(judged)).collect();
    if plans.len() == 1 {
        let names =
            ["everything is enough", "something is tight", "something is short"].map(str::to_owned).to_vec();
        let mut right: Vec<usize> = Vec::new();
        for (_, classes) in only.chains.iter().flatten() {
            right.resize(classes.len(), 0);
            for (worst, class) in right.iter_mut().zip(classes) {
                *worst = (*worst).max(usize::from(*class));
            }
        }
        return Some(Decision { right, names });
    }
    let n = results.iter().map(Vec::len).max()?;
    let right = (0..n)
        .map(|draw| {
            let of_plan = results.iter().map(|results| results.get(draw).copied().unwrap_or(u64::MAX));
            of_plan.enumerate().min_by_key(|(index, result)| (*result, *index)).map_or(0, |(index, _)| index)
        })
        .collect();
    let names = plans.iter().map(|judged| words::options::plan_short(&judged.plan)).collect();
    Some(Decision { right, names })
}

/// What a plan comes to in each draw, as one number; less is better.
fn result_by_draw(judged: &Judged) -> Vec<u64> {
    /// More than there are sources.
    const MANY: u64 = 1 << 20;
    let left_out = judged.chains.iter().filter(|chain| chain.is_none()).count() as u64;
    let mut results: Vec<u64> = Vec::new();
    for (_, classes) in judged.chains.iter().flatten() {
        results.resize(classes.len(), left_out * MANY * MANY);
        for (result, class) in results.iter_mut().zip(classes) {
            *result += match class {
                0 => 0,
                1 => 1,
                _ => MANY,
            };
        }
    }
    results
}

/// What is right in each class of a figure, classes of one kind put together.
fn leads(decision: &Decision, column: &Column, of: &Parameter) -> Vec<Lead> {
    let mut counts = vec![vec![0_u32; decision.names.len()]; BINS];
    let mut least = [f64::INFINITY; BINS];
    for ((bin, right), value) in column.bins.iter().zip(&decision.right).zip(&column.values) {
        let bin = usize::from(*bin);
        if let Some(count) = counts.get_mut(bin).and_then(|counts| counts.get_mut(*right)) {
            *count += 1;
        }
        if let Some(least) = least.get_mut(bin) {
            *least = least.min(*value);
        }
    }
    let most_frequent = |counts: &Vec<u32>| {
        let all = counts.iter().enumerate().max_by_key(|(index, count)| (**count, usize::MAX - index));
        all.map_or(0, |(index, _)| index)
    };
    let mut right: Vec<usize> = counts.iter().map(most_frequent).collect();
    // A single class between two others of one kind is chance.
    for at in 1..BINS - 1 {
        let around = (right.get(at - 1).copied(), right.get(at + 1).copied());
        if let (Some(before), Some(after)) = around
            && before == after
            && let Some(here) = right.get_mut(at)
        {
            *here = before;
        }
    }
    let edge = |bin: usize| least.get(bin).map(|value| words::options::value(of, *value));
    let mut leads: Vec<Lead> = Vec::new();
    let mut begin = 0;
    for bin in 1..=BINS {
        let (here, next) = (right.get(begin), right.get(bin));
        if here == next {
            continue;
        }
        leads.push(Lead {
            from: (begin > 0).then(|| edge(begin)).flatten(),
            to: (bin < BINS).then(|| edge(bin)).flatten(),
            chance: (bin - begin) as f64 / BINS as f64,
            then: here.and_then(|index| decision.names.get(*index)).cloned().unwrap_or_default(),
        });
        begin = bin;
    }
    leads
}

#[cfg(test)]
mod tests;
