//! Sentences about options.

use super::{capital, count, list, number, percent};
use crate::answer::Verdict;
use crate::case::Case;
use crate::chain::Parameter;
use crate::options::{Change, OptionsAnswer, Plan, Reason, Score, TurningPoint};
use crate::patch::UnusableBecause;
use crate::price::Price;
use gainsay_gear::microphone::PhantomNeed;
use gainsay_gear::{Device, DeviceType};
use gainsay_units::{Figure, Hertz, Metres, Quantity};

/// A value of a figure, as the figure itself was written: in the same unit, under the same conditions.
#[must_use]
pub fn value(of: &Parameter, value: f64) -> String {
    let like = of.written.parse::<Quantity>().map(|written| written.with_value(value));
    like.map_or_else(|_| in_base_unit(value, of.unit), |like| like.to_string())
}

fn in_base_unit(value: f64, unit: &str) -> String {
    let decimals = match value.abs() {
        _ if unit.starts_with("dB") => 1,
        v if v >= 100.0 => 0,
        v if v >= 10.0 => 1,
        v if v >= 0.1 => 2,
        _ => return format!("{value:.2e} {unit}"),
    };
    match unit {
        "m" => metres(Metres::new(value)),
        "" => number(value, decimals),
        _ => format!("{} {unit}", number(value, decimals)),
    }
}

/// A distance: centimetres below a metre.
#[must_use]
pub fn metres(distance: Metres) -> String {
    let metres = distance.metres();
    if metres < 0.995 {
        format!("{} cm", number(100.0 * metres, 0))
    } else {
        format!("{} m", number(metres, 2))
    }
}

/// What is looked for after the plan is known, for somebody who waits.
pub(crate) const TURNING: &str = "looking for what would change the plan";

/// What the search is about, for somebody who waits.
pub(crate) fn doing(rate: Option<&Figure<Hertz>>) -> String {
    match rate {
        Some(rate) => format!("weighing what could be added, at {}", super::sample_rate(rate.value)),
        None => "weighing what could be added".to_owned(),
    }
}

/// What a plan does, a line for each thing. What is bought for a certain source is told with it.
pub(crate) fn changes(changes: &[Change]) -> Vec<String> {
    let bought = |device: &Device| {
        changes.iter().find_map(|change| match change {
            Change::Add { device: added, count, each } if added.name == device.name => Some((*count, *each)),
            _ => None,
        })
    };
    let is_told = |device: &Device| {
        changes.iter().any(|change| match change {
            Change::Microphone { to: of, .. } | Change::Booster { booster: of, .. } => of.name == device.name,
            _ => false,
        })
    };
    let get = |device: &Device, otherwise: &str| match bought(device) {
        Some((_, each)) if each == Price::NOTHING => format!("get \"{}\" and {otherwise}", device.name),
        Some((_, each)) => format!("buy \"{}\" for {each} and {otherwise}", device.name),
        None => String::new(),
    };
    let words = changes.iter().filter_map(|change| {
        Some(match change {
            Change::Add { device, .. } if is_told(device) => return None,
            Change::Add { device, count: 1, each } if *each == Price::NOTHING => {
                format!("add \"{}\"", device.name)
            }
            Change::Add { device, count: n, each } if *each == Price::NOTHING => {
                format!("add {} of \"{}\"", count(*n), device.name)
            }
            Change::Add { device, count: 1, each } => format!("buy \"{}\" for {each}", device.name),
            Change::Add { device, count: n, each } => {
                format!("buy {} of \"{}\" for {each} each", count(*n), device.name)
            }
            Change::Closer { source, from, to } => {
                format!("move the microphone of {source} from {} to {}", metres(from.value), metres(to.value))
            }
            Change::Microphone { source, from, to } => match bought(to) {
                Some(_) => get(to, &format!("take it for {source} instead of \"{}\"", from.name)),
                None => format!("take \"{}\" for {source} instead of \"{}\"", to.name, from.name),
            },
            Change::Booster { source, booster } => match bought(booster) {
                Some(_) => get(booster, &format!("put it into the line of {source}")),
                None => format!("put \"{}\" into the line of {source}", booster.name),
            },
            Change::SampleRate { from, to } => {
                format!(
                    "record at {} instead of {}",
                    super::sample_rate(to.value),
                    super::sample_rate(from.value)
                )
            }
            Change::Turns { sources } => {
                let names: Vec<&str> = sources.iter().map(String::as_str).collect();
                format!("let {} take turns at one microphone", list(&names))
            }
            Change::LeaveOut { source } => format!("do without {source}"),
        })
    });
    words.collect()
}

/// What a plan does, in a line.
#[must_use]
pub fn plan(plan: &Plan) -> String {
    if plan.changes.is_empty() {
        return "leave everything as it is".to_owned();
    }
    let words: Vec<&str> = plan.words.iter().map(String::as_str).collect();
    list(&words)
}

/// The same with as few words as possible.
#[must_use]
pub fn plan_short(plan: &Plan) -> String {
    let bought = |of: &Device| {
        plan.changes
            .iter()
            .any(|change| matches!(change, Change::Add { device, .. } if device.name == of.name))
    };
    let mut words: Vec<String> = Vec::new();
    for change in &plan.changes {
        words.push(match change {
            Change::Add { device, count: 1, .. } => format!("\"{}\"", device.name),
            Change::Add { device, count: n, .. } => format!("{} of \"{}\"", count(*n), device.name),
            Change::Closer { source, to, .. } => format!("{source} at {}", to.written),
            // What is bought stands among what is added.
            Change::Microphone { to: of, .. } | Change::Booster { booster: of, .. } if bought(of) => continue,
            Change::Microphone { source, to: of, .. } | Change::Booster { source, booster: of } => {
                format!("\"{}\" for {source}", of.name)
            }
            Change::SampleRate { to, .. } => super::sample_rate(to.value),
            Change::Turns { sources } => {
                format!("{} by turns", list(&sources.iter().map(String::as_str).collect::<Vec<_>>()))
            }
            Change::LeaveOut { source } => format!("without {source}"),
        });
    }
    if words.is_empty() {
        return "buy nothing".to_owned();
    }
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let price =
        if plan.price == Price::NOTHING { "nothing to pay".to_owned() } else { plan.price.to_string() };
    format!("{} ({price})", list(&words))
}

/// A plan that is right beyond a turning point; says where it does not suffice either.
pub(crate) fn plan_beyond(of: &Plan) -> String {
    let what = plan_short(of);
    match of.verdict {
        Verdict::Enough => what,
        _ => format!("{what}, which leaves {}", left(of.result)),
    }
}

/// What is left to wish for.
#[must_use]
pub fn left(score: Score) -> String {
    let of = |n: u32| if n == 1 { "source" } else { "sources" };
    let mut parts = Vec::new();
    if score.left_out > 0 {
        parts.push(format!("{} {} without an input", count(score.left_out), of(score.left_out)));
    }
    if score.short > 0 {
        parts.push(format!("{} {} short", count(score.short), of(score.short)));
    }
    if score.tight > 0 {
        parts.push(format!("{} {} tight", count(score.tight), of(score.tight)));
    }
    if parts.is_empty() {
        return "nothing to wish for".to_owned();
    }
    let parts: Vec<&str> = parts.iter().map(String::as_str).collect();
    list(&parts)
}

/// The recommendation.
pub(crate) fn answer(answer: &OptionsAnswer) -> Vec<String> {
    let mut sentences = Vec::new();
    let Some(to_follow) = answer.frontier.get(answer.recommended) else {
        sentences.push("The search was stopped before it found anything.".to_owned());
        return sentences;
    };
    let enough_today = answer.today.result == Score::ENOUGH;
    if enough_today {
        sentences.push(format!(
            "Buy nothing: everything is enough as it is, with a probability of {}.",
            percent(answer.today.chance_enough)
        ));
    } else {
        sentences.push(format!("As it is there is {}.", left(answer.today.result)));
    }
    if !enough_today && to_follow.changes.is_empty() {
        if !answer.stopped {
            sentences.push(no_help(answer));
        }
    } else if !enough_today {
        let price = if to_follow.price == Price::NOTHING {
            "That costs nothing".to_owned()
        } else {
            format!("That costs {} in all", to_follow.price)
        };
        let then = if to_follow.result == Score::ENOUGH {
            format!("and everything is enough, with a probability of {}", percent(to_follow.chance_enough))
        } else {
            format!("and leaves {}", left(to_follow.result))
        };
        sentences.push(format!("{}. {price}, {then}.", capital(&plan(to_follow))));
    }
    if let Some(free) = answer.frontier.first().filter(|_| answer.recommended > 0)
        && !free.changes.is_empty()
        && free.result < answer.today.result
    {
        sentences.push(format!("For nothing you could {}: {}.", plan(free), left(free.result)));
    }
    if !answer.without_changes.is_empty() {
        sentences.push(unchanged(answer, to_follow));
    }
    sentences.extend(
        answer.reserves.iter().filter(|plan| plan.chance_enough > to_follow.chance_enough + 0.05).map(
            |plan| {
                format!(
                    "{} would raise the probability that everything is enough from {} to {}.",
                    capital(&plan_short(plan)),
                    percent(to_follow.chance_enough),
                    percent(plan.chance_enough)
                )
            },
        ),
    );
    sentences.push(certificate(answer));
    sentences
}

fn no_help(answer: &OptionsAnswer) -> String {
    let limits: Vec<String> = answer
        .today
        .sources
        .iter()
        .filter(|source| source.verdict != Verdict::Enough)
        .filter_map(|source| Some(format!("{}: {}", source.source, source.limit.clone()?)))
        .collect();
    let why = if limits.is_empty() { String::new() } else { format!(" ({})", limits.join("; ")) };
    match answer.budget {
        Some(budget) => format!("Nothing that could be had for {budget} changes that{why}."),
        None => format!("Nothing that was weighed changes that{why}."),
    }
}

fn unchanged(answer: &OptionsAnswer, to_follow: &Plan) -> String {
    let best = answer.without_changes.iter().min_by_key(|plan| (plan.result, plan.price));
    match best {
        Some(plan) if plan.result <= to_follow.result => {
            format!("If nothing about the recording itself may change: {}.", plan_short(plan))
        }
        Some(plan) if plan.changes.is_empty() => {
            "If nothing about the recording itself may change, nothing that was weighed helps.".to_owned()
        }
        Some(plan) => format!(
            "If nothing about the recording itself may change, {} is the best there is, and leaves {}.",
            plan_short(plan),
            left(plan.result)
        ),
        None => String::new(),
    }
}

/// Where another plan would be right.
#[must_use]
pub fn turning_point(point: &TurningPoint) -> String {
    let side = if point.above { "above" } else { "below" };
    format!("{} {side} {} (taken: {}): {}.", capital(&point.figure), point.at, point.now, point.then)
}

fn certificate(answer: &OptionsAnswer) -> String {
    if answer.stopped {
        return format!(
            "The search was stopped: this is the best so far. Nothing can come to better than {} for less than {}.",
            left(answer.bound.result),
            answer.bound.price
        );
    }
    match answer.gap {
        Some(gap) if answer.proven && gap == Price::NOTHING => {
            "It is proven that nothing that was weighed is cheaper and as good, or better.".to_owned()
        }
        _ => format!(
            "It is not proven that this is the best: something that comes to {} for {} could not be ruled out.",
            left(answer.bound.result),
            answer.bound.price
        ),
    }
}

/// Why a candidate is not in the plan.
pub(crate) fn why_not(reason: &Reason) -> String {
    let best = |best: &Option<(String, f64)>| match best {
        Some((source, by)) => {
            format!(
                "it would lower the noise of {source} by {} dB at best, and of no source by more",
                number(*by, 1)
            )
        }
        None => "it would not lower the noise of any source".to_owned(),
    };
    match reason {
        Reason::NoPrice => "Nobody says what it costs: write `price = …` to have it weighed.".to_owned(),
        Reason::OverBudget { budget } => format!("It costs more than the {budget} that may be spent."),
        Reason::Unusable { why: UnusableBecause::SampleRate } => {
            "It does not run at this sample rate.".to_owned()
        }
        Reason::Unusable { why: UnusableBecause::NoDigitalInput } => {
            "It has no way into the computer: nothing that is there has a digital input of its format."
                .to_owned()
        }
        Reason::Unusable { why: UnusableBecause::NoLineInput } => {
            "It is analogue, and there is no free line input to take its output.".to_owned()
        }
        Reason::NoTakers { device_type: DeviceType::Booster, passive: false } => {
            "It is for passive microphones, and none of the sources has one.".to_owned()
        }
        Reason::NoTakers { .. } => "No source would be better off with it.".to_owned(),
        Reason::Dearer { by, count: 1 } => format!("It does as well, and costs {by} more."),
        Reason::Dearer { by, count: n } => {
            format!("{} of it do as well, and cost {by} more.", capital(&count(*n)))
        }
        Reason::Noisier { by_db } => {
            format!("It does as well for no more money, with {} dB more noise in all.", number(*by_db, 1))
        }
        Reason::AsGood => "It does exactly as well for no more money: take whichever you like.".to_owned(),
        Reason::TooFewInputs { needed, brings, carried, clock } => {
            let carried = match carried {
                Some(channels) => format!(
                    "Its digital output carries {} {} at this sample rate. ",
                    count(*channels),
                    if *channels == 1 { "channel" } else { "channels" }
                ),
                None => String::new(),
            };
            let lack =
                if *needed == 1 { "one source lacks" } else { &format!("{} sources lack", count(*needed)) };
            let clock = match clock {
                Some(other) => format!(" It can't run on one clock with \"{other}\"."),
                None => String::new(),
            };
            if *brings == 0 {
                format!("{carried}{} an input, and it makes room for none.{clock}", capital(lack))
            } else {
                format!("{carried}It makes room for {}, and {lack} an input.{clock}", count(*brings))
            }
        }
        Reason::NoUse => "It makes nothing better with what is there.".to_owned(),
        Reason::TooLittle { source, by_db, left: score, limit } => {
            let limit = limit.as_ref().map(|limit| format!(" (its limit: {limit})")).unwrap_or_default();
            format!(
                "It would lower the noise of {source} by {} dB{limit}, and leave {}.",
                number(*by_db, 1),
                left(*score)
            )
        }
        Reason::NothingLacks { best: by } => format!("As things stand nothing is lacking: {}.", best(by)),
    }
}

/// What more gain on the sheet comes to.
pub(crate) fn gain_on_the_sheet(more_gain_db: f64, more_signal_db: f64) -> String {
    let signal = if more_signal_db >= 0.05 {
        format!("it needs {} dB more signal to reach full scale", number(more_signal_db, 1))
    } else {
        format!("it reaches full scale with only {} dB less signal", number(-more_signal_db, 1))
    };
    format!("Its sheet has {} dB more gain, but {signal}.", number(more_gain_db, 0))
}

/// What else there is to know.
pub(crate) fn remarks(case: &Case) -> Vec<String> {
    let mut remarks = Vec::new();
    let additions = &case.additions;
    if additions.candidates.is_empty() {
        remarks.push(
            "No device is named that could be added, and none in the gear folder has a price: only what costs nothing was \
             weighed. Name some: [[option]] device = \"…\", price = …"
                .to_owned(),
        );
    } else if !additions.named {
        remarks.push(format!(
            "The case names no devices: {} with a price in the gear folder were weighed.",
            count(additions.candidates.len() as u32)
        ));
    }
    let without: Vec<&str> = additions
        .candidates
        .iter()
        .filter(|candidate| candidate.price.is_none())
        .map(|candidate| candidate.device.name.as_str())
        .collect();
    if !without.is_empty() {
        remarks.push(format!("Without a price, and so not weighed: {}.", list(&without)));
    }
    if additions.budget == Some(Price::NOTHING) {
        remarks.push("The budget is nothing: only what costs nothing was weighed.".to_owned());
    }
    remarks
}

/// What to mind with a plan.
pub(crate) fn cautions(plan: &Plan) -> Vec<String> {
    let mut cautions = plan.answer.cautions.clone();
    let closer = plan.changes.iter().any(|change| matches!(change, Change::Closer { .. }));
    if closer {
        cautions.insert(
            0,
            "Closer sounds different: directional microphones lift the bass, breath and plosives grow. Listen before you \
             decide."
                .to_owned(),
        );
    }
    let harmful =
        |device: &Device| device.microphone().is_some_and(|m| m.phantom == Some(PhantomNeed::Harmful));
    let boosted = plan
        .case
        .sources
        .iter()
        .any(|source| source.booster.is_some() && source.microphone().is_some_and(harmful));
    if boosted {
        cautions.insert(
            0,
            "A booster takes phantom power and must keep it from the microphone: check that it does before a ribbon or vintage \
             microphone hangs on it."
                .to_owned(),
        );
    }
    cautions
}
