//! Many readings of one field become one: the same said twice, lists said in parts, contradictions, and figures that follow
//! from others.

mod derived;
mod noise;

use super::Placed;
use crate::clause::dimension;
use crate::doubts::{Doubt, DoubtKind};
use crate::facts::Fact;
use crate::grammar::Numbers;
use crate::lexicon::Atom;
use crate::reading::{About, Answers, Candidate, Entry, Path, Question, Table, Unplaced, Value, Why};
use crate::words;
use gainsay_units::{Dimension, Quantity};
use std::collections::BTreeMap;

/// More different values of one field than this say nothing more.
const MOST_READINGS: usize = 12;

/// More groups of inputs than this are no device.
const MOST_GROUPS: usize = 64;

/// All that merging gives.
#[derive(Default)]
pub(crate) struct Merged {
    pub(crate) entries: Vec<Entry>,
    pub(crate) doubts: Vec<Doubt>,
    pub(crate) questions: Vec<Question>,
    pub(crate) unplaced: Vec<Unplaced>,
    answers: Answers,
}

/// Merges what was placed.
pub(crate) fn merge(placed: Vec<Placed>, facts: &[Fact], answers: &Answers) -> Merged {
    let mut merged = Merged { answers: answers.clone(), ..Merged::default() };
    let mut fields: BTreeMap<Path, Vec<Placed>> = BTreeMap::new();
    let mut padded: Vec<Placed> = Vec::new();
    let mut groups: Vec<String> = Vec::new();
    for one in placed {
        if !groups.contains(&one.path.group) {
            if groups.len() >= MOST_GROUPS {
                continue;
            }
            groups.push(one.path.group.clone());
        }
        let level = matches!(
            one.path.field,
            "maximum_input" | "full_scale" | "input_impedance" | "ein" | "maximum_spl"
        );
        if one.with_pad && level {
            padded.push(one);
        } else {
            fields.entry(one.path.clone()).or_default().push(one);
        }
    }
    merged.levels_with_pad(padded, &mut fields);
    merged.highest_gain(&mut fields);
    merged.ratio_to_noise(&mut fields);
    for (path, all) in fields {
        for one in &all {
            for (kind, sentence) in &one.doubts {
                merged.doubt(*kind, &path, one.candidate.line, sentence.clone());
            }
            merged.said_twice(one, facts);
        }
        match path.field {
            "least_input" => {}
            "ein" => merged.noise(&path, all, facts),
            "dynamic_range" => merged.dynamic_range(path, all),
            "self_noise" => merged.self_noise(&path, all),
            "sample_rates_hz" | "clock_sources" | "switchable_to" => merged.union(path, all),
            "count" => merged.count(path, all, facts),
            "transducer" => merged.transducer(path, all),
            _ => merged.single(path, all),
        }
    }
    merged
}

/// A figure in the base unit of its dimension.
pub(crate) fn base(value: &Value) -> Option<f64> {
    match value {
        Value::Figure(quantity) => Some(quantity.unit.to_base(quantity.number)).filter(|b| b.is_finite()),
        _ => None,
    }
}

fn same(a: &Value, b: &Value) -> bool {
    match (base(a), base(b), a, b) {
        (Some(x), Some(y), Value::Figure(p), Value::Figure(_)) => {
            if p.unit.dimension().is_logarithmic() {
                (x - y).abs() < 0.15
            } else {
                (x - y).abs() <= 0.02 * x.abs().max(y.abs())
            }
        }
        _ => a == b,
    }
}

/// Which of two values a careful reader takes: the one that promises less.
fn more_cautious(path: &Path, a: &Value, b: &Value) -> bool {
    if let (Value::Word(a), Value::Word(b)) = (a, b) {
        // Phantom power that may do harm is kept off, whatever else is said of it.
        if path.field == "phantom" {
            let rank =
                |word: &str| ["harmful", "required", "ignored"].iter().position(|known| *known == word);
            return rank(a) < rank(b);
        }
        // An omnidirectional microphone takes up most of the room.
        return path.field == "pattern" && *a == "omnidirectional";
    }
    if let (Value::Yes(a), Value::Yes(b)) = (a, b) {
        return !a & b;
    }
    if let (Value::Count(a), Value::Count(b)) = (a, b) {
        return a < b;
    }
    let (Some(a), Some(b)) = (base(a), base(b)) else { return false };
    let higher_is_worse = matches!(
        path.field,
        "ein"
            | "self_noise"
            | "least_gain"
            | "output_impedance"
            | "impedance"
            | "gain_step"
            | "input_noise_voltage"
            | "input_noise_current"
            | "input_latency"
            | "output_latency"
    ) || (path.field == "phantom_current"
        && matches!(path.table, Table::Microphone | Table::Booster));
    if higher_is_worse { a > b } else { a < b }
}

impl Merged {
    fn doubt(&mut self, kind: DoubtKind, path: &Path, line: usize, sentence: String) {
        let doubt = Doubt { kind, field: Some(path.to_string()), line: Some(line), sentence };
        // What is said twice is said by the same line, one after the other.
        if !self.doubts.iter().rev().take(8).any(|known| *known == doubt) {
            self.doubts.push(doubt);
        }
    }

    fn set_aside(&mut self, one: &Placed, why: Why) {
        let Candidate { line, span, words, .. } = one.candidate.clone();
        self.unplaced.push(Unplaced { line, span, words, why });
    }

    fn entry(&mut self, path: Path, reading: Candidate, others: Vec<Candidate>) {
        self.entries.push(Entry { path, reading, others, withheld: false });
    }

    /// One value; where others contradict it, the cautious one with the others beside it, and a question.
    fn single(&mut self, path: Path, all: Vec<Placed>) {
        let mut readings: Vec<Candidate> = Vec::new();
        for one in &all {
            let other = one.or.clone().map(|value| Candidate { value, ..one.candidate.clone() });
            for candidate in std::iter::once(one.candidate.clone()).chain(other) {
                let full = readings.len() >= MOST_READINGS;
                match readings.iter_mut().find(|r| same(&r.value, &candidate.value)) {
                    None if !full => readings.push(candidate),
                    None => {}
                    // Of two that are the same, the one with more conditions says more.
                    Some(known) => {
                        if let (Value::Figure(old), Value::Figure(new)) = (&known.value, &candidate.value)
                            && said(new) > said(old)
                        {
                            *known = candidate;
                        }
                    }
                }
            }
        }
        let supposed = all.iter().any(|one| one.or.is_some());
        let stated = readings.len() > 1 && !(supposed && all.len() == 1);
        let mut chosen = 0;
        if stated {
            for (index, reading) in readings.iter().enumerate().skip(1) {
                let so_far = readings.get(chosen).map(|r| &r.value);
                if so_far.is_some_and(|value| more_cautious(&path, &reading.value, value)) {
                    chosen = index;
                }
            }
        }
        let about = About::Field(path.clone());
        let answer = self.answers.to(&about).filter(|choice| *choice < readings.len());
        if readings.len() > 1 {
            self.questions.push(Question {
                about,
                sentence: words::which_value(&path),
                choices: readings.iter().map(words::choice).collect(),
                chosen: answer.unwrap_or(chosen),
            });
            match answer {
                Some(choice) => {
                    chosen = choice;
                    self.doubts.retain(|d| {
                        !(d.kind == DoubtKind::Ambiguous && d.field.as_deref() == Some(&path.to_string()))
                    });
                }
                None if stated => {
                    let line = readings.first().map_or(0, |r| r.line);
                    let (kind, sentence) = if path.field == "pattern" {
                        (DoubtKind::Ambiguous, words::several_patterns(&readings))
                    } else {
                        (DoubtKind::Contradiction, words::contradiction(&path, &readings))
                    };
                    self.doubt(kind, &path, line, sentence);
                }
                None => {}
            }
        }
        if chosen < readings.len() {
            let reading = readings.remove(chosen);
            let others = if answer.is_some() { Vec::new() } else { readings };
            self.entry(path, reading, others);
        }
    }

    /// A list that several lines make together.
    fn union(&mut self, path: Path, all: Vec<Placed>) {
        let mut all = all.into_iter().map(|one| one.candidate);
        let Some(mut reading) = all.next() else { return };
        for next in all {
            match (&mut reading.value, next.value) {
                (Value::RatesHz(have), Value::RatesHz(more)) => {
                    for rate in more {
                        if !have.iter().any(|r| (r - rate).abs() < 0.5) {
                            have.push(rate);
                        }
                    }
                    have.sort_by(f64::total_cmp);
                }
                (Value::Words(have), Value::Words(more)) => {
                    for word in more {
                        if !have.contains(&word) {
                            have.push(word);
                        }
                    }
                }
                _ => {}
            }
        }
        if let Value::RatesHz(rates) = &mut reading.value {
            rates.sort_by(f64::total_cmp);
            rates.dedup_by(|a, b| (*a - *b).abs() < 0.5);
        }
        self.entry(path, reading, Vec::new());
    }

    /// Counts of parts of a group add up: "2 on the front, 6 on the rear", or "Inputs 1–4" and "Inputs 5–8" further down.
    fn count(&mut self, path: Path, mut all: Vec<Placed>, facts: &[Fact]) {
        channels_not_plugs(&mut all, facts);
        if let Some(sum) = sum_of_parts(&all, facts)
            && let Some(first) = all.first_mut()
        {
            first.candidate.value = Value::Count(sum);
            first.candidate.how = Some(words::sum_of_parts(sum));
            all.truncate(1);
        }
        self.single(path, all);
    }

    /// "Active ribbon" says more than "ribbon", and contradicts it not.
    fn transducer(&mut self, path: Path, mut all: Vec<Placed>) {
        let said = |all: &[Placed], word: &str| {
            all.iter().any(|one| matches!(one.candidate.value, Value::Word(known) if known == word))
        };
        for (more, less) in [("active-ribbon", "ribbon"), ("valve-condenser", "condenser")] {
            if said(&all, more) {
                all.retain(|one| !matches!(one.candidate.value, Value::Word(known) if known == less));
            }
        }
        self.single(path, all);
    }

    /// The same figure in two units must be the same.
    fn said_twice(&mut self, one: &Placed, facts: &[Fact]) {
        let Some(fact) = facts.get(one.fact) else { return };
        let Value::Figure(quantity) = &one.candidate.value else { return };
        if quantity.unit.dimension() != Dimension::Voltage || fact.clause.also.is_empty() {
            return;
        }
        let this = quantity.unit.to_base(quantity.number);
        for also in &fact.clause.also {
            let (Some(unit), Some(Dimension::Voltage)) = (also.known(), dimension(also)) else { continue };
            let other = unit.to_base(also.first());
            let apart = (this - other).abs();
            if other.is_finite() && apart > 0.6 {
                let written = Quantity::new(also.first(), unit);
                self.doubt(
                    DoubtKind::LevelReference,
                    &one.path,
                    one.candidate.line,
                    words::levels_apart(quantity, &written, apart),
                );
            }
        }
    }
}

/// Channels in one connector of 25 poles (AES59).
const CHANNELS_OF_D25: u32 = 8;

/// "16 channels, 2 × D-sub": the connectors are counted, too; they hold eight channels each.
fn channels_not_plugs(all: &mut Vec<Placed>, facts: &[Fact]) {
    let number = |one: &Placed| match one.candidate.value {
        Value::Count(count) => Some(count),
        _ => None,
    };
    let counts: Vec<u32> = all.iter().filter_map(number).collect();
    all.retain(|one| {
        let plugs = facts.get(one.fact).is_some_and(|fact| {
            fact.clause.own.has(Atom::D25) && fact.clause.measure.as_ref().is_some_and(|m| m.times)
        });
        !(plugs && number(one).is_some_and(|plugs| counts.contains(&plugs.saturating_mul(CHANNELS_OF_D25))))
    });
}

/// The sum of counts that are parts of one group; none where they say the same thing twice.
fn sum_of_parts(all: &[Placed], facts: &[Fact]) -> Option<u32> {
    let clause = |one: &Placed| facts.get(one.fact).map(|fact| &fact.clause);
    if all.len() < 2 {
        return None;
    }
    let counts = all.iter().map(|one| match one.candidate.value {
        Value::Count(count) => Some(count),
        _ => None,
    });
    let sum: u32 = counts.collect::<Option<Vec<u32>>>()?.iter().sum();
    // Parts with places of their own, or written as products, on one line.
    let line = all.first()?.candidate.line;
    let part = |one: &Placed| {
        one.candidate.line == line
            && clause(one)
                .is_some_and(|c| c.own.has(Atom::Location) || c.measure.as_ref().is_some_and(|m| m.times))
    };
    // Ranges of numbers that follow each other.
    let ranges: Option<Vec<(f64, f64)>> = all
        .iter()
        .map(|one| match clause(one)?.measure.as_ref()?.numbers {
            Numbers::Range(low, high) => Some((low, high)),
            _ => None,
        })
        .collect();
    let follow = ranges.is_some_and(|mut ranges| {
        ranges.sort_by(|a, b| a.0.total_cmp(&b.0));
        ranges.windows(2).all(|pair| matches!(pair, [(_, high), (low, _)] if (low - high - 1.0).abs() < 1e-9))
    });
    (all.iter().all(part) || follow).then_some(sum)
}

fn said(quantity: &Quantity) -> usize {
    let conditions = &quantity.conditions;
    usize::from(conditions.weighting.is_some())
        + usize::from(conditions.source_impedance.is_some())
        + usize::from(conditions.band.is_some())
        + usize::from(quantity.tolerance.is_some())
}
