//! Options: what would be enough, for how much, and what to ask next.
//!
//! ```text
//! Case ─ extension  everything that could be added or changed, as one case ─┐
//!        scenario   sample rate, turns: what is changed for all at once ────┤
//!                                                                          Extended ─ Market ─ master (mixed-integer program)
//!                                                                             └── search ──────────┘
//!                                                                                   │ frontier
//!                              plan: each of it as a case, checked by the same engine as any other
//!                              why_not, asking, turning, influence ── OptionsAnswer ── words::options
//! ```

mod asking;
mod extension;
mod influence;
mod master;
mod model;
mod plan;
mod score;
mod search;
mod turning;
mod why_not;

pub use asking::{Ask as OptionAsk, Lead};
pub use influence::{Influence, SourceInfluences};
pub use model::{Model, ModelBox, ModelDevice, ModelFound, ModelPoint, Ways, found, found_after, model_of};
pub use plan::{Change, Plan, PlanSource};
pub use score::Score;
pub use turning::TurningPoint;
pub(crate) use why_not::Reason;
pub use why_not::{WhyNot, by_reason};

use crate::answer::{Answer, Verdict};
use crate::case::{Allowed, Case, Keep, Pickup};
use crate::chain::{Chain, MissingFigure};
use crate::check::{Examined, Options, examine};
use crate::patch::Extended;
use crate::price::Price;
use crate::words;
use extension::{Extension, Scenario};
use gainsay_units::{Figure, Hertz, Origin};
use search::{Frontier, Search, SearchError};
use serde::Serialize;
use std::fmt;
use std::ops::ControlFlow;

/// Options of a case, judged.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OptionsAnswer {
    /// What the case is called.
    pub title: String,
    /// The question.
    pub question: Option<String>,
    /// What to do, in plain sentences.
    pub answer: Vec<String>,
    /// What it comes to as it is.
    pub today: Plan,
    /// From what costs nothing to the best that can be had; each is dearer and better than the one before.
    pub frontier: Vec<Plan>,
    /// Index in the frontier of the plan to follow.
    pub recommended: usize,
    /// The same where nothing may change about how the sources are taken, if that makes a difference.
    pub without_changes: Vec<Plan>,
    /// For each candidate that the plan to follow leaves out, the reason.
    pub why_not: Vec<WhyNot>,
    /// What would most likely change the plan.
    pub ask: Option<OptionAsk>,
    /// Where another plan would be right, figure by figure.
    pub turning_points: Vec<TurningPoint>,
    /// Plans that would be right beyond turning points, as they come out with what is taken now.
    pub reserves: Vec<Plan>,
    /// What each source's result depends on.
    pub influences: Vec<SourceInfluences>,
    /// The most that may be spent.
    pub budget: Option<Price>,
    /// No additions come to a better result than this, and none that come to the best that was found cost less.
    pub bound: Bound,
    /// How much cheaper than the best that was found something could be that comes to the bound; none where that is not known,
    /// because the bound's result was not reached.
    pub gap: Option<Price>,
    /// Whether the frontier is proven to be the best there is.
    pub proven: bool,
    /// Whether the search was stopped before its end.
    pub stopped: bool,
    /// What else there is to know.
    pub remarks: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// How many mixed-integer programs and patches it took.
    pub effort: Effort,
}

/// What can't be beaten.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Bound {
    /// Result.
    pub result: Score,
    /// Price.
    pub price: Price,
}

/// What a search took.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Effort {
    /// Mixed-integer programs.
    pub programs: usize,
    /// Patches.
    pub patches: usize,
}

/// What is being done, for somebody who waits.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// In words.
    pub doing: String,
    /// The best so far: price and result.
    pub best: Option<(Price, Score)>,
}

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum OptionsError {
    /// A figure is missing that neither a device nor the kind that it is like states.
    Missing(MissingFigure),
    /// The solver of mixed-integer programs fails.
    Unsolved(String),
}

impl fmt::Display for OptionsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing(missing) => missing.fmt(f),
            Self::Unsolved(message) => write!(f, "the options can't be searched: {message}"),
        }
    }
}

impl std::error::Error for OptionsError {}

impl From<MissingFigure> for OptionsError {
    fn from(missing: MissingFigure) -> Self {
        Self::Missing(missing)
    }
}

impl From<SearchError> for OptionsError {
    fn from(error: SearchError) -> Self {
        match error {
            SearchError::Missing(missing) => Self::Missing(missing),
            SearchError::Unsolved(unsolved) => Self::Unsolved(unsolved.0),
        }
    }
}

/// A plan with what its check rests on.
struct Judged {
    plan: Plan,
    chains: Vec<Option<(Chain, Vec<u8>)>>,
}

/// Frontiers of all scenarios together.
struct Searched {
    plans: Vec<Judged>,
    /// What there is without paying, with nothing changed for all at once.
    free: Option<search::Found>,
    /// For each candidate what it comes to by itself.
    alone: Vec<Option<why_not::Alone>>,
    /// Penalty in steps of the best plan.
    penalty_of_best: Option<u64>,
    bound: Bound,
    proven: bool,
    stopped: bool,
    effort: Effort,
}

/// Works out the options of a case. `watch` is told now and then what is being done, and can end the search: then the answer is
/// the best so far, and says so.
///
/// # Errors
/// When a figure is missing, or the solver fails.
pub fn options(
    case: &Case,
    with: Options,
    watch: &mut dyn FnMut(&Progress) -> ControlFlow<()>,
) -> Result<OptionsAnswer, OptionsError> {
    let today = judge(case, case.clone(), Vec::new(), Price::NOTHING, with)?;
    let searched = search(case, with, true, true, watch)?;
    let mut stopped = searched.stopped;
    let changes = searched.plans.iter().any(|judged| judged.plan.changes_the_recording());
    let without_changes = if changes && !searched.stopped {
        let without = search(case, with, false, false, watch)?;
        stopped |= without.stopped;
        without.plans.into_iter().map(|judged| judged.plan).collect()
    } else {
        Vec::new()
    };
    let recommended = recommended(&searched.plans);
    let judged = searched.plans.get(recommended).unwrap_or(&today);
    let why_not = why_not::why_not(case, with, &today.plan, &judged.plan, &searched)?;
    let turning = if stopped {
        turning::Turning::default()
    } else {
        turning::turning(case, with, &searched.plans, recommended, watch)?
    };
    let ask = asking::ask(&searched.plans, &turning.reserves, recommended, with);
    let influences = influence::influences(&judged.chains, case, with);
    let gap =
        (searched.plans.last().map(|best| best.plan.result) == Some(searched.bound.result)).then(|| {
            let best = searched.plans.last().map_or(Price::NOTHING, |best| best.plan.price);
            best.less(searched.bound.price)
        });
    let cautions = words::options::cautions(&judged.plan);
    let mut answer = OptionsAnswer {
        title: case.title.clone(),
        question: case.question.clone(),
        answer: Vec::new(),
        today: today.plan.clone(),
        recommended,
        frontier: searched.plans.iter().map(|judged| judged.plan.clone()).collect(),
        without_changes,
        why_not,
        ask,
        turning_points: turning.points,
        reserves: turning.reserves.into_iter().map(|judged| judged.plan).collect(),
        influences,
        budget: case.additions.budget,
        bound: searched.bound,
        gap,
        proven: searched.proven,
        stopped,
        remarks: words::options::remarks(case),
        cautions,
        effort: searched.effort,
    };
    answer.answer = words::options::answer(&answer);
    Ok(answer)
}

/// The cheapest plan that comes to the best result of all.
fn recommended(plans: &[Judged]) -> usize {
    let best = plans.iter().map(|judged| judged.plan.result).min().unwrap_or_default();
    plans.iter().position(|judged| judged.plan.result == best).unwrap_or(0)
}

/// The scenarios of a case, the one in which nothing is changed for all at once first.
fn scenarios(case: &Case, free_changes: bool) -> Vec<Scenario> {
    let mut scenarios = vec![Scenario { free_changes, ..Scenario::default() }];
    if !free_changes {
        return scenarios;
    }
    let turns: Vec<Vec<usize>> = case
        .additions
        .changes
        .iter()
        .filter_map(|allowed| match allowed {
            Allowed::Turns { sources } => Some(sources.clone()),
            _ => None,
        })
        .filter(|sources| {
            let acoustic = |source: &usize| {
                case.sources
                    .get(*source)
                    .is_some_and(|source| matches!(source.pickup, Pickup::Acoustic { .. }))
            };
            sources.iter().all(acoustic)
        })
        .collect();
    for index in 0..turns.len() {
        scenarios.push(Scenario {
            turns: turns.get(index).cloned().into_iter().collect(),
            free_changes,
            ..Scenario::default()
        });
    }
    if turns.len() > 1 {
        scenarios.push(Scenario { turns, free_changes, ..Scenario::default() });
    }
    for rate in rates(case) {
        let lower: Vec<Scenario> = scenarios
            .iter()
            .map(|scenario| Scenario { rate: Some(rate.clone()), ..scenario.clone() })
            .collect();
        scenarios.extend(lower.into_iter().filter(|scenario| scenario.rate.is_some()));
    }
    scenarios
}

/// Sample rates that would do as well.
fn rates(case: &Case) -> Vec<Figure<Hertz>> {
    let own = case.session.sample_rate.value;
    let mut rates: Vec<Figure<Hertz>> = case
        .additions
        .changes
        .iter()
        .filter_map(|allowed| match allowed {
            Allowed::SampleRate(rate) => Some(rate.clone()),
            _ => None,
        })
        .filter(|rate| rate.value != own)
        .collect();
    if rates.is_empty() && own.hertz() > 50_000.0 && !case.additions.keeps(Keep::SampleRate) {
        let mut usual = Figure::exact(Hertz::new(48_000.0), "48 kHz".to_owned());
        usual.origin = Origin::Assumed;
        rates.push(usual);
    }
    rates.truncate(1);
    rates
}

/// The frontier over all scenarios.
fn search(
    case: &Case,
    with: Options,
    free_changes: bool,
    with_alone: bool,
    watch: &mut dyn FnMut(&Progress) -> ControlFlow<()>,
) -> Result<Searched, OptionsError> {
    let mut all: Vec<(usize, Extension, search::Found)> = Vec::new();
    let scenarios = scenarios(case, free_changes);
    let (mut proven, mut stopped, mut effort) = (true, false, Effort::default());
    let (mut free, mut alone, mut penalty_of_best) = (None, Vec::new(), None);
    let mut bound = Bound { result: Score { left_out: u32::MAX, ..Score::ENOUGH }, price: Price::NOTHING };
    for (index, scenario) in scenarios.iter().enumerate() {
        // Nothing is better than enough for nothing.
        if stopped
            || all.iter().any(|(.., found)| found.price == Price::NOTHING && found.score == Score::ENOUGH)
        {
            break;
        }
        let extension = Extension::of(case, scenario);
        let doing = words::options::doing(scenario.rate.as_ref());
        let (frontier, by_themselves) = frontier(&extension, with, &doing, index == 0 && with_alone, watch)?;
        if index == 0 {
            free = frontier.all.first().cloned();
            alone = by_themselves;
        }
        proven &= frontier.proven;
        stopped |= frontier.stopped;
        effort.programs += frontier.programs;
        effort.patches += frontier.patches;
        let reached = Bound { result: frontier.best_score, price: frontier.least_price };
        if (reached.result, reached.price) < (bound.result, bound.price) {
            bound = reached;
        }
        for found in frontier.all {
            all.push((index, extension.clone(), found));
        }
    }
    // From the cheapest on, whatever is better than all before; of equals the one that changes least.
    all.sort_by(|(_, a_extension, a), (_, b_extension, b)| {
        let key = |extension: &Extension, found: &search::Found| {
            let (score, price, changes, penalty, boxes, cables) = search::order(found);
            (price, score, changes + extension.changes, penalty, boxes, cables)
        };
        key(a_extension, a).cmp(&key(b_extension, b))
    });
    let mut plans: Vec<Judged> = Vec::new();
    let mut best_model: Option<Score> = None;
    for (index, extension, found) in all {
        if best_model.is_some_and(|best| found.score >= best) {
            continue;
        }
        best_model = Some(found.score);
        penalty_of_best = Some(found.solved.cost.penalty);
        let Some(scenario) = scenarios.get(index) else { continue };
        let (after, changes) = plan::what_if(case, scenario, &extension, &found);
        let judged = judge(case, after, changes, found.price, with)?;
        // The check has the last word.
        if plans.last().is_none_or(|last| judged.plan.result < last.plan.result) {
            plans.push(judged);
        }
    }
    Ok(Searched { plans, free, alone, penalty_of_best, bound, proven, stopped, effort })
}

fn frontier(
    extension: &Extension,
    with: Options,
    doing: &str,
    with_alone: bool,
    watch: &mut dyn FnMut(&Progress) -> ControlFlow<()>,
) -> Result<(Frontier, Vec<Option<why_not::Alone>>), OptionsError> {
    if watch(&Progress { doing: doing.to_owned(), best: None }).is_break() {
        return Ok((Frontier { stopped: true, ..Frontier::default() }, Vec::new()));
    }
    let (extended, market) =
        Extended::new(&extension.case, &extension.variants, &extension.in_use, with.draws)?;
    let tell = |best: &search::Found| {
        watch(&Progress { doing: doing.to_owned(), best: Some((best.price, best.score)) })
    };
    let (frontier, mut extended) = Search::new(extension, &market, extended, tell).run()?;
    let alone = match frontier.all.first() {
        Some(free) if with_alone && !frontier.stopped => {
            why_not::alone(extension, &market, &mut extended, free)?
        }
        _ => Vec::new(),
    };
    Ok((frontier, alone))
}

/// Checks a case that came of changes, and says what it comes to for the case as it was.
fn judge(
    before: &Case,
    after: Case,
    changes: Vec<Change>,
    price: Price,
    with: Options,
) -> Result<Judged, MissingFigure> {
    let Examined { answer, chains } = examine(&after, with)?;
    let result = result_of(&answer);
    let verdict = if result.left_out > 0 || result.short > 0 {
        Verdict::Short
    } else if result.tight > 0 {
        Verdict::Tight
    } else {
        Verdict::Enough
    };
    let words = words::options::changes(&changes);
    let plan = Plan {
        price,
        words,
        changes,
        result,
        verdict,
        chance_enough: chance_enough(&chains),
        penalty_db: answer
            .sources
            .iter()
            .filter_map(|s| s.result.as_ref())
            .map(|r| r.penalty_db.median)
            .sum(),
        sources: plan_sources(before, &answer, &chains),
        case: after,
        answer,
    };
    Ok(Judged { plan, chains })
}

/// What a check counts.
pub(crate) fn result_of(answer: &Answer) -> Score {
    let count = |verdict: Verdict| {
        answer.sources.iter().filter(|s| s.result.as_ref().is_some_and(|r| r.verdict == verdict)).count()
            as u32
    };
    Score {
        left_out: answer.sources.iter().filter(|source| source.result.is_none()).count() as u32,
        short: count(Verdict::Short),
        tight: count(Verdict::Tight),
    }
}

/// Share of the draws in which every source is enough.
fn chance_enough(chains: &[Option<(Chain, Vec<u8>)>]) -> f64 {
    if chains.iter().any(Option::is_none) {
        return 0.0;
    }
    let mut enough: Vec<bool> = Vec::new();
    for (_, classes) in chains.iter().flatten() {
        if enough.is_empty() {
            enough = vec![true; classes.len()];
        }
        for (enough, class) in enough.iter_mut().zip(classes) {
            *enough &= *class == 0;
        }
    }
    enough.iter().filter(|enough| **enough).count() as f64 / enough.len().max(1) as f64
}

fn plan_sources(before: &Case, answer: &Answer, chains: &[Option<(Chain, Vec<u8>)>]) -> Vec<PlanSource> {
    let of_source = |name: &String| {
        let (index, source) = answer.sources.iter().enumerate().find(|(_, source)| source.name == *name)?;
        let result = source.result.as_ref();
        let classes = chains.get(index).and_then(Option::as_ref).map(|(_, classes)| classes);
        let enough = classes.map_or(0.0, |classes| {
            classes.iter().filter(|class| **class == 0).count() as f64 / classes.len().max(1) as f64
        });
        Some(PlanSource {
            source: name.clone(),
            verdict: result.map_or(Verdict::Short, |result| result.verdict),
            input: source.input.clone(),
            limit: result.map(|result| result.limit_words.clone()),
            penalty_db: result.map(|result| result.penalty_db.median),
            chance_enough: enough,
        })
    };
    before.sources.iter().filter_map(|source| of_source(&source.name)).collect()
}
