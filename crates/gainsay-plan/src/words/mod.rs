//! Every sentence of the answer, in one place.

pub mod clock;
pub mod footing;
pub mod joining;
pub mod options;
pub mod patch;

use crate::answer::{Answer, BoosterAnswer, Estimate, LevelAnswer, Limit, SourceAnswer, Verdict};
use crate::case::{Case, Pickup};
use crate::chain::{Chain, Origination, Parameter, ParameterId};
use crate::kernel::Ceiling;
use crate::patch::{Input, NoInput, Patch, UnusableBecause};
use crate::stages::Contributor;
use gainsay_gear::microphone::{PhantomNeed, Transducer};
use gainsay_units::{Hertz, Origin};

/// A number with a real minus sign and a fixed number of decimals; no minus before zero.
#[must_use]
pub fn number(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return if value > 0.0 { "∞" } else { "−∞" }.to_owned();
    }
    let text = format!("{:.*}", decimals, value.abs());
    let is_zero = text.chars().all(|c| matches!(c, '0' | '.'));
    if value < 0.0 && !is_zero { format!("−{text}") } else { text }
}

/// How many decimals an uncertain figure deserves: none where its interval is wider than 4, one otherwise.
#[must_use]
pub fn decimals(estimate: &Estimate) -> usize {
    usize::from(estimate.high - estimate.low <= 4.0)
}

/// Median and interval: `−31 (−37 to −25)`; the median alone where the interval vanishes in the rounding.
#[must_use]
pub fn interval(estimate: &Estimate) -> String {
    let d = decimals(estimate);
    let (median, low, high) = (number(estimate.median, d), number(estimate.low, d), number(estimate.high, d));
    if low == high { median } else { format!("{median} ({low} to {high})") }
}

/// Median and interval with a unit.
#[must_use]
pub fn interval_in(estimate: &Estimate, unit: &str) -> String {
    let d = decimals(estimate);
    let (median, low, high) = (number(estimate.median, d), number(estimate.low, d), number(estimate.high, d));
    if low == high { format!("{median} {unit}") } else { format!("{median} {unit} ({low} to {high})") }
}

/// A share in percent: `94 %`, `under 1 %`.
#[must_use]
pub fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if percent < 0.5 && percent > 0.0 {
        "under 1 %".to_owned()
    } else if percent > 99.5 && percent < 100.0 {
        "over 99 %".to_owned()
    } else {
        format!("{percent:.0} %")
    }
}

/// A figure as it was written, for reading.
#[must_use]
pub fn figure(written: &str) -> String {
    written.to_owned()
}

/// A name up to the first comma that tells it from all other names; the whole name if none does.
#[must_use]
pub fn short<'a>(name: &str, all: impl Iterator<Item = &'a str>) -> String {
    let parts: Vec<&str> = name.split(',').map(str::trim).collect();
    let others: Vec<&str> = all.filter(|other| *other != name).collect();
    let head = |n: usize| parts.get(..n).map(|head| head.join(", ")).unwrap_or_default();
    (1..parts.len())
        .map(head)
        .find(|head| {
            !head.is_empty()
                && others.iter().all(|other| *other != head && !other.starts_with(&format!("{head},")))
        })
        .unwrap_or_else(|| name.to_owned())
}

/// Names in a row: `a`, `a and b`, `a, b and c`.
#[must_use]
pub fn list(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// A price without cents where it has none.
#[must_use]
pub fn price_words(price: f64) -> String {
    let text = format!("{price:.2}");
    text.strip_suffix(".00").unwrap_or(&text).to_owned()
}

/// How a figure is introduced that stands beside a measured one.
#[must_use]
pub const fn beside(origin: Origin) -> &'static str {
    match origin {
        Origin::Sheet => "the sheet says",
        Origin::Given => "given was",
        _ => "beside it stands",
    }
}

/// A small whole number in words.
fn count(n: u32) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
        "twelve",
    ];
    WORDS.get(n as usize).map_or_else(|| n.to_string(), |word| (*word).to_owned())
}

/// A text with a capital in front, and no spaces around it.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut chars = text.trim().chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// How an input's signal reaches the computer, where it is not by its own device.
pub(crate) fn route(input: &Input) -> Option<String> {
    let mut parts = Vec::new();
    if let Some(line) = &input.line {
        parts.push(format!("into {}", line.words()));
    }
    for hop in &input.hops {
        let cable = if hop.cable > 1 { format!(" of cable {}", hop.cable) } else { String::new() };
        parts.push(format!(
            "over {}, channel {}{cable}, into {}",
            hop.format.words(),
            hop.channel,
            hop.into.name
        ));
    }
    (!parts.is_empty()).then(|| parts.join(", then "))
}

/// A sample rate for reading: `48 kHz`.
#[must_use]
pub fn sample_rate(rate: Hertz) -> String {
    let kilohertz = rate.hertz() / 1000.0;
    let decimals = if (kilohertz * 10.0).round() % 10.0 == 0.0 { 0 } else { 1 };
    format!("{} kHz", number(kilohertz, decimals))
}

/// What limits a source.
pub(crate) fn limit(limit: Limit, noise: Verdict) -> String {
    match limit {
        Limit::Ceiling(Ceiling::Microphone) => "the microphone's maximum sound level".to_owned(),
        Limit::Ceiling(Ceiling::Booster) => "the booster's output".to_owned(),
        Limit::Ceiling(Ceiling::Input) => "the input's maximum level".to_owned(),
        Limit::Noise(contributor) => match (contributor, noise) {
            (Contributor::Room, _) => "noise of the room".to_owned(),
            (Contributor::Microphone, _) => "noise of the microphone".to_owned(),
            (Contributor::Output, _) => "noise of the source's own output".to_owned(),
            (other, _) => format!("noise of the {}", other.words()),
        },
    }
}

/// The answer to the whole case.
pub(crate) fn answer(answer: &Answer) -> Vec<String> {
    let mut sentences = vec![headline(answer)];
    sentences.push(inputs(answer));
    let results: Vec<(&SourceAnswer, &LevelAnswer)> =
        answer.sources.iter().filter_map(|s| s.result.as_ref().map(|r| (s, r))).collect();
    if let Some(sentence) = small_waveforms(&results) {
        sentences.push(sentence);
    }
    if let Some(sentence) = noise_of_the_worst(&results) {
        sentences.push(sentence);
    }
    for (source, result) in &results {
        // Where the level is low too, the sentence on the small waveform has said it.
        if result.noise != Verdict::Enough
            && result.reach == Verdict::Enough
            && let Some(booster) = &result.with_booster
        {
            sentences.push(format!("On {}, {}.", source.name, booster_words(booster)));
        }
    }
    for (source, result) in &results {
        if result.headroom != Verdict::Enough {
            sentences.push(headroom(source, result));
        }
    }
    if !answer.colour_wanted.is_empty() {
        let names: Vec<&str> = answer.colour_wanted.iter().map(String::as_str).collect();
        sentences.push(format!(
            "A coloured sound is wanted for {}; whether a preamp here can give it is not worked out by this check.",
            list(&names)
        ));
    }
    sentences
}

fn headline(answer: &Answer) -> String {
    let of = |verdict: Verdict| -> Vec<&str> {
        answer
            .sources
            .iter()
            .filter(|s| s.result.as_ref().is_some_and(|r| r.verdict == verdict))
            .map(|s| s.name.as_str())
            .collect()
    };
    let (short, tight) = (of(Verdict::Short), of(Verdict::Tight));
    let missing: Vec<&str> = answer.inputs.without_input.iter().map(String::as_str).collect();
    if !missing.is_empty() {
        let verb = if missing.len() == 1 { "has" } else { "have" };
        return format!("Not enough inputs: {} {verb} nowhere to go.", list(&missing));
    }
    if !short.is_empty() {
        let verb = if short.len() == 1 { "is" } else { "are" };
        return format!("Not good enough as it stands: {} {verb} short.", list(&short));
    }
    if !tight.is_empty() {
        let verb = if tight.len() == 1 { "is" } else { "are" };
        return format!("It will do, only just: {} {verb} tight.", list(&tight));
    }
    "Buy nothing: what is there is good enough for this.".to_owned()
}

fn inputs(answer: &Answer) -> String {
    let inputs = &answer.inputs;
    let sources = answer.sources.len() as u32;
    let there = match inputs.microphone_inputs {
        0 => "there is no microphone input".to_owned(),
        1 => "there is one microphone input".to_owned(),
        n => format!("there are {} microphone inputs", count(n)),
    };
    let plural = |n: u32| if n == 1 { "" } else { "s" };
    let verb = if sources == 1 { "needs" } else { "need" };
    let turns = if inputs.needed < sources { ", some of them in turns," } else { "" };
    capital(&format!(
        "{} source{}{turns} {verb} {} input{} at once; {there}.",
        count(sources),
        plural(sources),
        count(inputs.needed),
        plural(inputs.needed),
    ))
}

/// A low recorded peak is not by itself a fault; said once, for all sources that it concerns.
fn small_waveforms(results: &[(&SourceAnswer, &LevelAnswer)]) -> Option<String> {
    let low: Vec<&(&SourceAnswer, &LevelAnswer)> =
        results.iter().filter(|(_, result)| result.reach == Verdict::Tight).collect();
    match low.as_slice() {
        [] => None,
        [(source, result)] => {
            let mut sentence = format!(
                "{} will look small in the file, peaking near {} dBFS with the gain all the way up. That is no fault by \
                 itself: turned up {} dB afterwards it is the same recording with the same noise under it",
                source.name,
                number(result.peak_dbfs.median, 0),
                number(result.turn_up_afterwards_db, 0),
            );
            sentence.push_str(&match &result.with_booster {
                Some(booster) => format!("; {}.", booster_words(booster)),
                None => ".".to_owned(),
            });
            Some(sentence)
        }
        many => {
            let names: Vec<&str> = many.iter().map(|(source, _)| source.name.as_str()).collect();
            Some(format!(
                "{} will look small in the file even with the gain all the way up. That is no fault by itself: turned up \
                 afterwards they are the same recordings with the same noise under them.",
                list(&names)
            ))
        }
    }
}

/// What a booster would change.
#[must_use]
pub fn booster_words(booster: &BoosterAnswer) -> String {
    let change = booster.noise_change_db;
    let noise = if change.abs() < 0.05 {
        "leave the noise as it is".to_owned()
    } else if change < 0.0 {
        let hardly = if change > -1.0 { ", which nobody hears" } else { "" };
        format!("lower the noise by {} dB{hardly}", number(-change, 1))
    } else {
        format!("raise the noise by {} dB", number(change, 1))
    };
    format!(
        "an inline booster would lift the peak to {} dBFS and {noise}",
        number(booster.peak_dbfs.median, 0)
    )
}

/// The source on which a perfect preamp would gain most.
fn noise_of_the_worst(results: &[(&SourceAnswer, &LevelAnswer)]) -> Option<String> {
    let (source, result) = results.iter().max_by(|(_, a), (_, b)| {
        (a.noise, a.penalty_db.median)
            .partial_cmp(&(b.noise, b.penalty_db.median))
            .unwrap_or(std::cmp::Ordering::Equal)
    })?;
    let most = result.noise_shares.iter().max_by(|a, b| a.mean.total_cmp(&b.mean))?;
    let gain = interval_in(&result.penalty_db, "dB");
    let whose = match most.contributor {
        Contributor::Room => "the room's".to_owned(),
        Contributor::Microphone => "the microphone's own".to_owned(),
        Contributor::Output => "that of the source's own output".to_owned(),
        other => format!("that of the {}", other.words()),
    };
    let share = percent(most.mean);
    let alone = results.len() == 1;
    let where_most = if alone { String::new() } else { format!(", on {}", source.name) };
    // The source with the worst verdict need not be the one on which most would be gained: inaudible noise is no fault.
    let is_most = results.iter().all(|(_, other)| other.penalty_db.median <= result.penalty_db.median);
    let start =
        if alone || !is_most { "A perfect preamp would gain" } else { "A perfect preamp would gain at most" };
    let tail = match (result.noise, result.audible_probability >= 0.5) {
        (Verdict::Enough, false) => "which nobody would hear at replay".to_owned(),
        (Verdict::Enough, true) if most.contributor.is_ahead_of_chain() => {
            "so what can be heard there is not the preamp's".to_owned()
        }
        (Verdict::Enough, true) => "too little to hear a difference".to_owned(),
        (Verdict::Tight, _) => "which an attentive listener may notice".to_owned(),
        (Verdict::Short, _) => "which can be heard".to_owned(),
    };
    Some(format!("{start} {gain}{where_most}, {tail}: {share} of the noise there is {whose}."))
}

fn headroom(source: &SourceAnswer, result: &LevelAnswer) -> String {
    let Some(worst) = result.ceilings.iter().max_by(|a, b| a.probability.total_cmp(&b.probability)) else {
        return String::new();
    };
    let what = match worst.ceiling {
        Ceiling::Microphone => "its microphone",
        Ceiling::Booster => "its booster",
        Ceiling::Input => "its input",
    };
    let remedy = match worst.ceiling {
        Ceiling::Microphone => "a microphone that takes more, or more distance, would cure it",
        Ceiling::Booster => "leave the booster out",
        Ceiling::Input => "a pad, or a less sensitive microphone, would cure it",
    };
    format!(
        "Loud passages of {} overdrive {what} with a probability of {}; {remedy}.",
        source.name,
        percent(worst.probability)
    )
}

/// What one sentence says of a source.
pub(crate) fn source(source: &SourceAnswer) -> String {
    let Some(result) = &source.result else {
        return match source.no_input {
            Some(NoInput::NoPhantom) => {
                "no free input supplies the phantom power that its microphone needs".to_owned()
            }
            Some(NoInput::NoneOfItsKind) => "there is no input of the kind that it needs".to_owned(),
            Some(NoInput::RunOut) | None => "all suitable inputs are taken".to_owned(),
        };
    };
    let mut parts = Vec::new();
    if result.headroom != Verdict::Enough {
        parts.push(format!("loud passages may pass {}", limit(result.limit, result.noise)));
    }
    match result.noise {
        Verdict::Enough if result.audible_probability < 0.5 => {
            parts.push("its noise can't be heard at replay".to_owned())
        }
        Verdict::Enough => {
            let room = result.noise_shares.iter().max_by(|a, b| a.mean.total_cmp(&b.mean));
            let whose = match room.map(|share| share.contributor) {
                Some(Contributor::Room) => "the room can be heard behind it, and no preamp helps",
                Some(Contributor::Microphone) => {
                    "the microphone's own noise can be heard behind it, and no preamp helps"
                }
                _ => "its noise can be heard, and a better preamp would not change that",
            };
            parts.push(whose.to_owned());
        }
        Verdict::Tight => parts.push(format!(
            "a better preamp would lower its noise by {} dB",
            number(result.penalty_db.median, 1)
        )),
        Verdict::Short => parts.push(format!(
            "a better preamp would lower its audible noise by {} dB",
            number(result.penalty_db.median, 1)
        )),
    }
    if result.reach == Verdict::Tight {
        parts.push(format!("turn it up {} dB afterwards", number(result.turn_up_afterwards_db, 0)));
    }
    if result.pad_db > 0.0 {
        parts.push("switch the input's pad on".to_owned());
    }
    if result.microphone_pad {
        parts.push("switch the microphone's pad on".to_owned());
    }
    parts.join("; ")
}

/// What a figure of a chain is, for the question that would settle it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Role {
    Loud,
    Quiet,
    Crest,
    Distance,
    Room,
    Microphone,
    Impedance,
    Device,
    Cable,
}

impl Role {
    pub(crate) fn of(chain: &Chain, id: ParameterId) -> Self {
        if id == chain.loud {
            return Self::Loud;
        }
        if id == chain.quiet {
            return Self::Quiet;
        }
        if id == chain.crest {
            return Self::Crest;
        }
        if id == chain.source_resistance || Some(id) == chain.source_inductance {
            return Self::Impedance;
        }
        if id == chain.cable_length || id == chain.cable_capacitance {
            return Self::Cable;
        }
        if let Origination::Microphone(end) = &chain.origin {
            if id == end.distance {
                return Self::Distance;
            }
            if id == end.room {
                return Self::Room;
            }
            if id == end.sensitivity || id == end.maximum_spl || id == end.directivity {
                return Self::Microphone;
            }
            if end.self_noise.as_ref().is_some_and(|range| range.range == id) {
                return Self::Microphone;
            }
        }
        Self::Device
    }
}

/// The question that would settle a verdict, in plain words.
pub(crate) fn question(role: Role, parameter: &Parameter, source: &str) -> String {
    let taken = format!("{} was taken ({})", parameter.written, parameter.origin.word());
    match role {
        Role::Loud => format!(
            "How loud is the loudest passage of {source} at the microphone? A phone's sound level app held there, good to \
             ±3 dB, would do; {taken}."
        ),
        Role::Quiet => format!(
            "How loud is the quietest passage of {source} that matters, at the microphone? A phone's sound level app held \
             there, good to ±3 dB, would do; {taken}."
        ),
        Role::Crest => format!(
            "How far do the peaks of {source} stand above its level? A trial recording of a loud passage shows it; {taken}."
        ),
        Role::Distance => {
            format!("How far is the microphone from {source}? A tape measure settles it; {taken}.")
        }
        Role::Room => format!(
            "How noisy is the room when nobody plays? A phone's sound level app with A-weighting, good to ±3 dB, would do; \
             {taken}."
        ),
        Role::Microphone | Role::Device | Role::Impedance | Role::Cable => {
            format!("What is the {}? Its sheet, or a measurement, would settle it; {taken}.", parameter.label)
        }
    }
}

/// Level of the loudest passage a metre from a source, where ears may be; at the microphone nobody listens.
fn level_at_one_metre(source: &crate::case::Source, answer: &SourceAnswer) -> Option<f64> {
    let Pickup::Acoustic { distance, size, .. } = &source.pickup else { return None };
    let air = answer.result.as_ref()?.stages.first()?;
    Some(air.loud + crate::case::carried(distance.value, gainsay_units::Metres::new(1.0), *size).db())
}

/// The cautions that apply to a case.
pub(crate) fn cautions(case: &Case, sources: &[SourceAnswer]) -> Vec<String> {
    let mut cautions = Vec::new();
    let phantom = sources.iter().any(|s| s.result.as_ref().is_some_and(|r| r.phantom));
    let microphones = || {
        case.sources
            .iter()
            .filter_map(|s| s.microphone().and_then(|m| m.microphone().map(|model| (m, model))))
    };
    let mut endangered: Vec<&str> = microphones()
        .filter(|(_, m)| m.phantom == Some(PhantomNeed::Harmful) || m.transducer == Some(Transducer::Ribbon))
        .map(|(device, _)| device.name.as_str())
        .collect();
    endangered.dedup();
    if !endangered.is_empty() {
        cautions.push(format!(
            "Ribbon and vintage microphones can be damaged by phantom power through a faulty or unbalanced cable: keep it off \
             for {}, and patch with phantom power off everywhere.",
            list(&endangered)
        ));
    }
    if phantom {
        cautions.push(
            "Switch phantom power on last and off first, with the monitors turned down, and never patch with it on."
                .to_owned(),
        );
    }
    let loud: Vec<&str> = case
        .sources
        .iter()
        .zip(sources)
        .filter(|(source, answer)| level_at_one_metre(source, answer).is_some_and(|level| level >= 85.0))
        .map(|(source, _)| source.name.as_str())
        .collect();
    if !loud.is_empty() {
        cautions.push(format!(
            "A metre away, {} can exceed 85 dB. NIOSH recommends at most 8 hours a day at 85 dBA, and half as long for every \
             3 dB more: limit the time near loud sources, or wear protection.",
            list(&loud)
        ));
    }
    let valves = microphones().any(|(_, m)| m.transducer == Some(Transducer::ValveCondenser))
        || case.owned.iter().any(|owned| {
            owned.device.front_end().is_some_and(|front_end| {
                front_end
                    .microphone_inputs
                    .iter()
                    .any(|group| group.input_stage == Some(gainsay_gear::front_end::InputStage::Valve))
            })
        });
    if valves {
        cautions.push(
            "Valve equipment holds lethal voltages, also after it is switched off: never open it.".to_owned(),
        );
    }
    cautions.push(
        "When you replay what was turned up, start with the monitors low: the level you leave them at was for the quiet file."
            .to_owned(),
    );
    cautions.push(
        "If it hums, never lift a protective earth to cure it; mains work belongs to licensed electricians under the local code."
            .to_owned(),
    );
    cautions
}

/// Remarks on devices and microphones.
pub(crate) fn remarks(case: &Case, patch: &Patch) -> Vec<String> {
    let mut remarks = Vec::new();
    for unusable in &patch.unusable {
        let why = match unusable.why {
            UnusableBecause::SampleRate => {
                format!("it does not run at {}", case.session.sample_rate.written)
            }
            UnusableBecause::NoDigitalInput => patch::no_digital_input(case, &unusable.device),
            UnusableBecause::NoLineInput => "no line input is there to take its output".to_owned(),
        };
        remarks.push(format!("\"{}\" is not used: {why}.", unusable.device.name));
    }
    // Microphones that are needed at once against those that are owned.
    let mut needed: Vec<(&str, u32)> = Vec::new();
    let mut turns: Vec<(&str, &str)> = Vec::new();
    for source in &case.sources {
        let Some(microphone) = source.microphone() else { continue };
        if let Some(word) = &source.turns {
            if turns.contains(&(word.as_str(), microphone.name.as_str())) {
                continue;
            }
            turns.push((word, &microphone.name));
        }
        match needed.iter_mut().find(|(name, _)| *name == microphone.name) {
            Some((_, n)) => *n += 1,
            None => needed.push((&microphone.name, 1)),
        }
    }
    let owns_microphones = case.owned.iter().any(|owned| owned.device.microphone().is_some());
    for (name, n) in needed {
        let owned: u32 = case.owned.iter().filter(|o| o.device.name == name).map(|o| o.count).sum();
        if owns_microphones && owned < n {
            remarks.push(format!(
                "{} of \"{name}\" needed at once, {} owned: have {} more at hand, or take another microphone.",
                capital(&count(n)),
                count(owned),
                count(n - owned)
            ));
        }
    }
    for source in &case.sources {
        if let Pickup::Acoustic { microphone, microphone_given: false, .. } = &source.pickup {
            remarks.push(format!(
                "No microphone is named for {}: \"{}\" was taken, usual for its kind.",
                source.name, microphone.name
            ));
        }
    }
    remarks
}
