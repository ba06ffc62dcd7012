//! Why a candidate is not in the plan.

use super::extension::Extension;
use super::plan::{Change, Plan};
use super::score::Score;
use super::search::Found;
use super::{OptionsError, Searched};
use crate::answer::Verdict;
use crate::case::{Candidate, Case, Owned, Pickup, Source};
use crate::chain::Chain;
use crate::check::{Judge, Options};
use crate::draws::Draws;
use crate::footing::{Measure, footing};
use crate::patch::needs::channels_out;
use crate::patch::{Extended, Input, Market, Socket, UnusableBecause, best, inputs_of};
use crate::price::Price;
use crate::thresholds::PENALTY_STEP;
use crate::what_if::with_microphone;
use crate::words;
use gainsay_gear::microphone::Transducer;
use gainsay_gear::{Catalogue, Device, DeviceType};
use serde::Serialize;
use std::sync::Arc;

/// A candidate that is not in the plan, and why.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WhyNot {
    /// The device.
    pub candidate: String,
    /// What one of it costs.
    pub price: Option<Price>,
    /// Why not, in words with numbers.
    pub reason: String,
}

/// The reasons, each once, with the candidates that they hold for; in the order in which they first occur.
#[must_use]
pub fn by_reason(all: &[WhyNot]) -> Vec<(&str, Vec<&WhyNot>)> {
    let mut groups: Vec<(&str, Vec<&WhyNot>)> = Vec::new();
    for why in all {
        match groups.iter_mut().find(|(reason, _)| *reason == why.reason) {
            Some((_, of)) => of.push(why),
            None => groups.push((&why.reason, vec![why])),
        }
    }
    groups
}

/// What a candidate comes to by itself.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Alone {
    /// As many of it as may be had, and nothing else.
    pub(super) found: Found,
    /// How many of it are used then.
    pub(super) used: u32,
    /// What is there already and can't run on one clock with it.
    pub(super) clashes_with: Option<String>,
    /// Whether any source could use it at all.
    pub(super) has_takers: bool,
}

/// Why a candidate is not in the plan, for its sentence.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Reason {
    /// Nobody says what it costs.
    NoPrice,
    /// It costs more than may be spent.
    OverBudget { budget: Price },
    /// It can't be used at all.
    Unusable { why: UnusableBecause },
    /// No source could use it.
    NoTakers { device_type: DeviceType, passive: bool },
    /// It does as well and costs more.
    Dearer { by: Price, count: u32 },
    /// It does as well at the same price; the noise in all is higher.
    Noisier { by_db: f64 },
    /// It does as well in everything.
    AsGood,
    /// It brings inputs, and not enough of them.
    TooFewInputs { needed: u32, brings: u32, carried: Option<u32>, clock: Option<String> },
    /// It can't be on one clock with what is there, or has no use for another reason.
    NoUse,
    /// It lowers the noise of a source, and not enough.
    TooLittle { source: String, by_db: f64, left: Score, limit: Option<String> },
    /// Nothing is lacking.
    NothingLacks { best: Option<(String, f64)> },
}

/// What each candidate comes to by itself; none where it has no price.
pub(super) fn alone(
    extension: &Extension,
    market: &Market,
    extended: &mut Extended<'_>,
    free: &Found,
) -> Result<Vec<Option<Alone>>, OptionsError> {
    let mut all = Vec::with_capacity(extension.candidates.len());
    for candidate in &extension.candidates {
        let Some(index) = *candidate else {
            all.push(None);
            continue;
        };
        let mut counts = free.counts.clone();
        if let (Some(count), Some(Some((_, most)))) = (counts.get_mut(index), extension.offers.get(index)) {
            *count = *most;
        }
        let solved = extended.solve(&counts)?;
        let score =
            Score { left_out: solved.cost.left_out, short: solved.cost.short, tight: solved.cost.tight };
        let used = solved.used.get(index).copied().unwrap_or(0);
        let has_takers =
            market.offers.iter().any(|offer| offer.kind == index || offer.takes.contains(&index));
        let clash = market.exclusive.iter().find_map(|(one, other)| match (*one, *other) {
            (one, other) if one == index && other != index => Some(other),
            (one, other) if other == index && one != index => Some(one),
            _ => None,
        });
        let clash = clash.filter(|other| extension.base.get(*other).is_some_and(|base| *base > 0));
        let mut clash = clash.and_then(|other| extension.case.owned.get(other));
        // Boxes that follow another need a cable that brings them its clock, and there may be none that is free.
        if clash.is_none()
            && score.left_out >= free.score.left_out
            && score.left_out > 0
            && extended.solve_without_clocks(&counts)?.cost.left_out < score.left_out
        {
            clash = (0..extension.base.len()).find_map(|at| {
                let owned = extension.case.owned.get(at)?;
                let there = extension.base.get(at).is_some_and(|base| *base > 0)
                    && free.solved.used.get(at).is_some_and(|used| *used > 0);
                (there && owned.device.front_end().is_some_and(|f| f.whole.computer.is_some()))
                    .then_some(owned)
            });
        }
        all.push(Some(Alone {
            clashes_with: clash.map(|owned| owned.device.name.clone()),
            used,
            has_takers,
            found: Found { price: extension.price(&counts), counts, score, solved },
        }));
    }
    Ok(all)
}

/// The reason for each candidate that a plan leaves out.
pub(super) fn why_not(
    case: &Case,
    with: Options,
    today: &Plan,
    plan: &Plan,
    searched: &Searched,
) -> Result<Vec<WhyNot>, OptionsError> {
    let mut all = Vec::new();
    for (index, candidate) in case.additions.candidates.iter().enumerate() {
        let device = &candidate.device;
        let is_in = |change: &Change| matches!(change, Change::Add { device: added, .. } if added.name == device.name);
        if plan.changes.iter().any(is_in) {
            continue;
        }
        let alone = searched.alone.get(index).and_then(Option::as_ref);
        let reason = reason(case, candidate, alone, today, plan, searched, with)?;
        let mut sentence = words::options::why_not(&reason);
        if let Some(more) = gain_clause(device, today, with.draws)? {
            sentence.push(' ');
            sentence.push_str(&more);
        }
        all.push(WhyNot { candidate: device.name.clone(), price: candidate.price, reason: sentence });
    }
    Ok(all)
}

fn reason(
    case: &Case,
    candidate: &Candidate,
    alone: Option<&Alone>,
    today: &Plan,
    plan: &Plan,
    searched: &Searched,
    with: Options,
) -> Result<Reason, OptionsError> {
    let device = &candidate.device;
    let (Some(price), Some(alone)) = (candidate.price, alone) else { return Ok(Reason::NoPrice) };
    if let Some(budget) = case.additions.budget.filter(|budget| *budget < price) {
        return Ok(Reason::OverBudget { budget });
    }
    if let Some(why) = unusable(case, device)? {
        return Ok(Reason::Unusable { why });
    }
    let Some(free) = &searched.free else { return Ok(Reason::NoUse) };
    if free.score == Score::ENOUGH && plan.price == Price::NOTHING {
        return Ok(Reason::NothingLacks { best: most_quieter(case, device, today, with)? });
    }
    if !alone.has_takers {
        let passive = case.sources.iter().any(|source| {
            let microphone = source.microphone().and_then(Device::microphone);
            microphone.and_then(|m| m.transducer).is_some_and(Transducer::is_passive)
        });
        return Ok(Reason::NoTakers { device_type: device.device_type(), passive });
    }
    let own_price = price.times(alone.used.max(1));
    if alone.found.score <= plan.result {
        let cost = alone.found.solved.cost.penalty;
        let of_plan = searched.penalty_of_best.unwrap_or(cost);
        return Ok(if own_price > plan.price {
            Reason::Dearer { by: own_price.less(plan.price), count: alone.used.max(1) }
        } else if cost > of_plan {
            Reason::Noisier { by_db: (cost - of_plan) as f64 * PENALTY_STEP.db() }
        } else {
            Reason::AsGood
        });
    }
    let (needed, left) = (free.score.left_out, alone.found.score.left_out);
    if needed > 0 && left > 0 && device.front_end().is_some() {
        let brings = needed.saturating_sub(left);
        let inputs = device.front_end().map_or(0, gainsay_gear::FrontEnd::n_microphone_inputs);
        let carried = channels_out(device, case.session.sample_rate.value);
        let carried = (carried < inputs).then_some(carried);
        return Ok(Reason::TooFewInputs { needed, brings, carried, clock: alone.clashes_with.clone() });
    }
    Ok(match most_quieter(case, device, today, with)? {
        Some((source, by_db)) => {
            let of_source = plan.answer.sources.iter().find(|answer| answer.name == source);
            let limit = of_source.and_then(|s| s.result.as_ref()).map(|result| result.limit_words.clone());
            Reason::TooLittle { source, by_db, left: alone.found.score, limit }
        }
        None => Reason::NoUse,
    })
}

/// Why a device can't be used where it is added to the case as it is.
fn unusable(case: &Case, device: &Arc<Device>) -> Result<Option<UnusableBecause>, OptionsError> {
    if device.front_end().is_none() {
        return Ok(None);
    }
    let mut with = case.clone();
    with.owned.push(Owned { device: Arc::clone(device), count: 1 });
    let patch = best(&with)?;
    let found = patch.unusable.iter().find(|unusable| unusable.device.name == device.name);
    Ok(found.map(|unusable| unusable.why))
}

/// The source whose noise a device would lower most, put into the place of what is there now, and by how many decibels; none
/// where it would lower none that anyone could tell.
fn most_quieter(
    case: &Case,
    device: &Arc<Device>,
    today: &Plan,
    with: Options,
) -> Result<Option<(String, f64)>, OptionsError> {
    let mut judge = Judge::new(case, with);
    let mut best: Option<(String, f64)> = None;
    for (index, source) in case.sources.iter().enumerate() {
        let now = today.answer.sources.get(index).and_then(|source| source.result.as_ref());
        let (Some(now), Some(Ok(input))) = (now, today.answer.patch.inputs.get(index)) else { continue };
        let least = match put_in(case, source, input, device) {
            Put::Source(source) => judge.suitability(&Chain::new(case, &source, input)?).1.db(),
            Put::Inputs(inputs) => {
                let mut least = f64::INFINITY;
                for input in inputs {
                    least = least.min(judge.suitability(&Chain::new(case, source, &input)?).1.db());
                }
                least
            }
            Put::Nowhere => continue,
        };
        judge.forget_source();
        let by = now.penalty_db.median - least;
        if by >= PENALTY_STEP.db() && best.as_ref().is_none_or(|(_, known)| by > *known) {
            best = Some((source.name.clone(), by));
        }
    }
    Ok(best)
}

/// A device in the place of what is there.
enum Put {
    /// At the source: another microphone, or a booster.
    Source(Box<Source>),
    /// At one of these inputs.
    Inputs(Vec<Input>),
    /// It does not go there.
    Nowhere,
}

fn put_in(case: &Case, source: &Source, input: &Input, device: &Arc<Device>) -> Put {
    if device.device_type() == DeviceType::Microphone {
        return match &source.pickup {
            Pickup::Acoustic { .. } => Put::Source(Box::new(with_microphone(source, device))),
            Pickup::Electrical { .. } => Put::Nowhere,
        };
    }
    if device.device_type() == DeviceType::Booster {
        let passive = source.microphone().and_then(Device::microphone).and_then(|m| m.transducer);
        let phantom = matches!(&input.socket, Socket::Microphone(group) if group.phantom == Some(true));
        let fits = passive.is_some_and(Transducer::is_passive) && phantom && source.booster.is_none();
        return if fits {
            Put::Source(Box::new(Source { booster: Some(Arc::clone(device)), ..source.clone() }))
        } else {
            Put::Nowhere
        };
    }
    let mut alone = case.clone();
    alone.owned.push(Owned { device: Arc::clone(device), count: 1 });
    alone.sources = vec![Source { pin: None, pair: None, ..source.clone() }];
    alone.clock = None;
    Put::Inputs(inputs_of(&alone, alone.owned.len() - 1))
}

/// Where a candidate's sheet promises more gain than the input that runs out of it: what that comes to at full scale.
fn gain_clause(device: &Device, today: &Plan, draws: Draws) -> Result<Option<String>, OptionsError> {
    /// The medians of ranges need no more.
    const FEW: usize = 1_000;
    if device.front_end().is_none() || device.device_type() == DeviceType::Preamp {
        return Ok(None);
    }
    let wanting = today.answer.sources.iter().enumerate().find_map(|(index, source)| {
        let result = source.result.as_ref()?;
        (result.reach != Verdict::Enough).then_some(index)
    });
    let Some(index) = wanting else { return Ok(None) };
    let Some(Ok(input)) = today.answer.patch.inputs.get(index) else { return Ok(None) };
    let few = Draws { count: FEW, ..draws };
    let range = |device: &Device| -> Result<Option<(f64, f64)>, OptionsError> {
        let footing = footing(device, Catalogue::embedded(), few)?;
        let groups = footing.compared().filter_map(|group| {
            let median = |measure| group.get(measure).map(|footed| footed.estimate.median);
            Some((median(Measure::GainRange)?, median(Measure::FullScaleSensitivity)?))
        });
        Ok(groups.max_by(|a, b| a.0.total_cmp(&b.0)))
    };
    let (Some((own, own_at)), Some((other, other_at))) = (range(&input.device)?, range(device)?) else {
        return Ok(None);
    };
    let (more_gain, more_signal) = (other - own, other_at - own_at);
    Ok((more_gain >= 1.0 && more_signal >= -more_gain + 1.0)
        .then(|| words::options::gain_on_the_sheet(more_gain, more_signal)))
}
