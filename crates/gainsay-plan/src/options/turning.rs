//! Where another plan would be right.

use super::influence::{SourceInfluences, influences};
use super::score::Score;
use super::{Judged, OptionsError, Progress, judge, recommended, search};
use crate::answer::Verdict;
use crate::case::{Case, Fixed};
use crate::chain::{Chain, Parameter};
use crate::check::{Judge, Options};
use crate::draws::Draws;
use crate::words;
use gainsay_units::Spread;
use serde::Serialize;
use std::ops::ControlFlow;

/// How many figures are looked at.
const MOST_FIGURES: usize = 4;
/// Values that are tried to either side.
const STEPS: i32 = 8;
/// Halvings of the interval in which it turns.
const HALVINGS: usize = 10;

/// A value of a figure beyond which another plan is right.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TurningPoint {
    /// The figure.
    pub figure: String,
    /// What is taken for it, in words.
    pub now: String,
    /// The value at which it turns, in words.
    pub at: String,
    /// The same in its base unit.
    pub value: f64,
    /// That unit.
    pub unit: String,
    /// Whether it turns above that value, rather than below.
    pub above: bool,
    /// Sources whose result it is.
    pub sources: Vec<String>,
    /// What is right beyond it.
    pub then: String,
    /// What that costs; none where nothing that could be added would do.
    pub price: Option<crate::price::Price>,
}

/// How many plans are kept that would be right beyond turning points.
const MOST_RESERVES: usize = 3;
/// Draws of the searches beyond turning points.
const DRAWS_BEYOND: usize = 2_000;

/// Turning points, and the plans beyond them.
#[derive(Default)]
pub(super) struct Turning {
    pub(super) points: Vec<TurningPoint>,
    pub(super) reserves: Vec<Judged>,
}

/// Where another plan than the recommended one is right, for the figures that matter most.
pub(super) fn turning(
    case: &Case,
    with: Options,
    plans: &[Judged],
    at: usize,
    watch: &mut dyn FnMut(&Progress) -> ControlFlow<()>,
) -> Result<Turning, OptionsError> {
    let mut turning = Turning::default();
    let Some(plan) = plans.get(at) else { return Ok(turning) };
    let best = Some((plan.plan.price, plan.plan.result));
    for key in keys(plan, with) {
        // Who has no patience has the plan, and goes without the rest of this.
        if watch(&Progress { doing: words::options::TURNING.to_owned(), best }).is_break() {
            break;
        }
        let Some(parameter) = parameter(plan, &key) else { continue };
        let mut scales = Scales { plans, key: &key, judges: judges(plans, with) };
        let now = scales.right(parameter.value);
        for direction in [-1.0, 1.0] {
            let reach = reach(parameter, direction);
            let mut last = parameter.value;
            for step in 1..=STEPS {
                let value = parameter.value + reach * f64::from(step) / f64::from(STEPS);
                if scales.right(value) == now {
                    last = value;
                    continue;
                }
                let turns = scales.turns_between(last, value, now);
                let Some((point, then)) = point(case, with, plan, parameter, turns, reach)? else { break };
                turning.points.push(point);
                let known = |judged: &Judged| judged.plan.words == then.plan.words;
                if turning.reserves.len() < MOST_RESERVES && !plans.iter().chain(&turning.reserves).any(known)
                {
                    turning.reserves.push(as_it_is(case, then, with)?);
                }
                break;
            }
        }
    }
    Ok(turning)
}

/// A plan from beyond a turning point, with what is taken now.
fn as_it_is(case: &Case, then: Judged, with: Options) -> Result<Judged, OptionsError> {
    let mut after = then.plan.case;
    after.fixed.clone_from(&case.fixed);
    Ok(judge(case, after, then.plan.changes, then.plan.price, with)?)
}

/// The figures to look at: each input's noise, and what moves a source most.
fn keys(plan: &Judged, with: Options) -> Vec<String> {
    let mut keys: Vec<(f64, String)> = Vec::new();
    let all: Vec<SourceInfluences> = influences(&plan.chains, &plan.plan.case, with);
    for ((chain, _), source) in plan.chains.iter().flatten().zip(&all) {
        for (rank, figure) in source.figures.iter().enumerate() {
            keys.push((figure.swing_db() / (1.0 + rank as f64), figure.key.clone()));
        }
        let noise = chain.parameters().iter().filter(|parameter| parameter.key.ends_with("/EIN"));
        // The noise of an input is what people argue about.
        keys.extend(noise.map(|parameter| (f64::INFINITY, parameter.key.clone())));
    }
    keys.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    let mut chosen: Vec<String> = Vec::new();
    for (_, key) in keys {
        if !chosen.contains(&key) && chosen.len() < MOST_FIGURES {
            chosen.push(key);
        }
    }
    chosen
}

fn parameter<'a>(plan: &'a Judged, key: &str) -> Option<&'a Parameter> {
    let chains = plan.chains.iter().flatten();
    chains.flat_map(|(chain, _)| chain.parameters()).find(|parameter| parameter.key == key)
}

/// How far to look: twice as far as the figure's own uncertainty goes, and at least so far that a look is worth while.
fn reach(parameter: &Parameter, direction: f64) -> f64 {
    let (below, above) = match parameter.spread {
        Spread::Exact => (0.0, 0.0),
        spread => spread.half_widths_95(),
    };
    let own = 2.0 * if direction < 0.0 { below } else { above };
    // Nobody picks how far off a control is: beyond what its tolerance allows there is nothing to see.
    if parameter.key.ends_with("/gain accuracy") {
        return direction * own;
    }
    let least = if parameter.positive { 0.6 * parameter.value } else { 15.0 };
    direction
        * own.max(least).min(if parameter.positive && direction < 0.0 {
            0.9 * parameter.value
        } else {
            f64::INFINITY
        })
}

fn judges<'a>(plans: &'a [Judged], with: Options) -> Vec<Judge<'a>> {
    plans.iter().map(|judged| Judge::new(&judged.plan.case, with)).collect()
}

/// What is right at a value: the best result of all plans, and the cheapest plan that comes to it.
type Right = (Score, usize);

struct Scales<'a> {
    plans: &'a [Judged],
    key: &'a str,
    judges: Vec<Judge<'a>>,
}

impl Scales<'_> {
    fn right(&mut self, value: f64) -> Right {
        let mut best: Option<Right> = None;
        for (index, (judged, judge)) in self.plans.iter().zip(&mut self.judges).enumerate() {
            let mut score = Score::ENOUGH;
            for (source, chain) in judged.plan.answer.sources.iter().zip(&judged.chains) {
                let verdict = match chain {
                    None => {
                        score.left_out += 1;
                        continue;
                    }
                    Some((chain, _)) if has(chain, self.key) => {
                        let mut chain = chain.clone();
                        chain.fix(self.key, value);
                        let (verdict, _) = judge.suitability(&chain);
                        judge.forget_source();
                        verdict
                    }
                    Some(_) => source.result.as_ref().map_or(Verdict::Enough, |result| result.verdict),
                };
                match verdict {
                    Verdict::Enough => {}
                    Verdict::Tight => score.tight += 1,
                    Verdict::Short => score.short += 1,
                }
            }
            if best.is_none_or(|(known, _)| score < known) {
                best = Some((score, index));
            }
        }
        best.unwrap_or((Score::ENOUGH, 0))
    }

    /// Where it turns between a value where the same is right as now and one where it is not.
    fn turns_between(&mut self, same: f64, other: f64, now: Right) -> f64 {
        let (mut same, mut other) = (same, other);
        for _ in 0..HALVINGS {
            let middle = same + (other - same) / 2.0;
            if self.right(middle) == now {
                same = middle;
            } else {
                other = middle;
            }
        }
        same + (other - same) / 2.0
    }
}

fn has(chain: &Chain, key: &str) -> bool {
    chain.parameters().iter().any(|parameter| parameter.key == key)
}

/// The turning point, with what a search finds a little beyond it.
fn point(
    case: &Case,
    with: Options,
    plan: &Judged,
    parameter: &Parameter,
    value: f64,
    reach: f64,
) -> Result<Option<(TurningPoint, Judged)>, OptionsError> {
    let mut beyond = case.clone();
    beyond.fixed.push(Fixed { key: parameter.key.clone(), value: value + reach / 50.0 });
    let draws = Draws { count: with.draws.count.min(DRAWS_BEYOND), ..with.draws };
    let mut found =
        search(&beyond, Options { draws, ..with }, true, false, &mut |_| ControlFlow::Continue(()))?;
    let best = recommended(&found.plans);
    if best >= found.plans.len() {
        return Ok(None);
    }
    let then = found.plans.swap_remove(best);
    // The same plan may do beyond it with another patch.
    if then.plan.words == plan.plan.words && then.plan.result <= plan.plan.result {
        return Ok(None);
    }
    let sources = plan.chains.iter().flatten().filter(|(chain, _)| has(chain, &parameter.key));
    let point = TurningPoint {
        figure: parameter.label.clone(),
        now: parameter.written.clone(),
        at: words::options::value(parameter, value),
        value,
        unit: parameter.unit.to_owned(),
        above: reach > 0.0,
        sources: sources.map(|(chain, _)| chain.source.clone()).collect(),
        then: words::options::plan_beyond(&then.plan),
        price: Some(then.plan.price),
    };
    Ok(Some((point, then)))
}
