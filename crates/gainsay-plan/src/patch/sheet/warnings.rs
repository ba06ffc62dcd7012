//! What could do damage first, then what could go wrong.

use super::joints::Joint;
use super::rows::{Row, microphone_inputs};
use super::steps::endangered;
use super::timing::Timing;
use crate::answer::Answer;
use crate::case::Case;
use crate::patch::needs::{phantom_current, phantom_supply, phantom_supply_in_all};
use crate::patch::synchronise::clock_sources;
use crate::patch::{Clock, Unit};
use crate::words::{self, list, number};
use gainsay_gear::DeviceType;
use gainsay_units::Origin;

pub(super) fn warnings(
    case: &Case,
    answer: &Answer,
    rows: &[Row],
    joints: &[Joint],
    between: &[Joint],
    timing: &Timing,
) -> Vec<String> {
    let mut warnings: Vec<String> = Vec::new();
    warnings.extend(joints.iter().chain(between).filter_map(|joint| joint.damaging.clone()));
    warnings.extend(phantom_on_the_wrong(case, answer, rows));
    warnings.extend(starving(case, answer, rows));
    warnings.extend(rows.iter().filter_map(words::patch::joint));
    warnings.extend(joints.iter().chain(between).flat_map(|joint| joint.remarks.clone()));
    warnings.extend(split_pairs(answer, rows));
    warnings.extend(timing.paths.iter().filter_map(words::patch::comb));
    warnings.extend(of_clocks(answer));
    warnings.extend(several_interfaces(answer, rows));
    warnings.extend(answer.remarks.iter().cloned());
    let mut seen: Vec<String> = Vec::new();
    warnings.retain(|warning| {
        let new = !seen.contains(warning);
        seen.push(warning.clone());
        new
    });
    warnings
}

/// Microphones that phantom power harms on inputs where one switch feeds a whole group.
fn phantom_on_the_wrong(case: &Case, answer: &Answer, rows: &[Row]) -> Vec<String> {
    let harmed = |row: &Row| !endangered(case, std::slice::from_ref(row)).is_empty();
    rows.iter()
        .filter(|row| harmed(row))
        .filter_map(|row| {
            let group = microphone_inputs(answer, row)?;
            let others: Vec<String> = rows
                .iter()
                .filter(|other| {
                    other.at == row.at
                        && other.phantom
                        && microphone_inputs(answer, other).is_some_and(|g| g.label == group.label)
                })
                .map(Row::source_words)
                .collect();
            let others: Vec<&str> = others.iter().map(String::as_str).collect();
            (group.phantom_together == Some(true) && !others.is_empty()).then(|| {
                format!(
                    "{} is on inputs whose phantom power is switched together, and {} there needs it: phantom power can destroy \
                     that microphone. Move it to other inputs, or put a transformer box before it.",
                    row.source_words(),
                    list(&others)
                )
            })
        })
        .collect()
}

/// Supplies that may give less than the microphones draw.
fn starving(case: &Case, answer: &Answer, rows: &[Row]) -> Vec<String> {
    let mut warnings = Vec::new();
    let milliamperes = |amperes: f64| number(amperes * 1e3, 1);
    for row in rows.iter().filter(|row| row.phantom) {
        let Some(source) = case.sources.get(row.source) else { continue };
        let (_, most) = phantom_current(source);
        let Some(group) = microphone_inputs(answer, row) else { continue };
        let is_stated = group
            .phantom_current
            .as_ref()
            .and_then(|s| s.figure())
            .is_some_and(|f| f.origin < Origin::Typical);
        if let Some((least, _)) = phantom_supply(group)
            && is_stated
            && most.amperes() > least.amperes()
        {
            warnings.push(format!(
                "{} may draw up to {} mA of phantom power; the input may give no more than {} mA: a microphone that starves \
                 distorts early.",
                row.source_words(),
                milliamperes(most.amperes()),
                milliamperes(least.amperes())
            ));
        }
    }
    for (at, unit) in answer.patch.boxes.iter().enumerate() {
        let Some((least, _)) = unit.front_end().and_then(phantom_supply_in_all) else { continue };
        let drawn: f64 = rows
            .iter()
            .filter(|row| row.at == at && row.phantom)
            .filter_map(|row| case.sources.get(row.source))
            .map(|source| phantom_current(source).1.amperes())
            .sum();
        if drawn > least.amperes() {
            warnings.push(format!(
                "The microphones on {} may draw up to {} mA of phantom power together; it may give no more than {} mA in all.",
                unit.words(),
                milliamperes(drawn),
                milliamperes(least.amperes())
            ));
        }
    }
    warnings
}

fn split_pairs(answer: &Answer, rows: &[Row]) -> Vec<String> {
    let mut warnings = Vec::new();
    for row in rows {
        let Some(partner) = &row.pair_with else { continue };
        match rows.iter().find(|other| other.sources.contains(partner)) {
            Some(other) if row.channel < other.channel && apart_behind_a_preamp(answer, row, other) => {
                warnings.push(format!(
                    "The pair {} and {partner} is on equal preamps, but their outputs go into different line inputs: see how \
                     far they lie apart in time.",
                    row.source_words()
                ));
            }
            Some(other) if other.at != row.at || other.input_sort != row.input_sort => {}
            Some(other) if row.channel < other.channel && row.input.abs_diff(other.input) != 1 => warnings
                .push(format!(
                    "The pair {} and {partner} is on inputs {} and {}, which are equal but not side by side.",
                    row.source_words(),
                    row.input,
                    other.input
                )),
            Some(_) => {}
            None => warnings.push(format!(
                "Of the pair {} and {partner} only one side has an input: it is recorded in mono.",
                row.source_words()
            )),
        }
    }
    warnings
}

/// Whether two preamp channels go into different groups of line inputs.
fn apart_behind_a_preamp(answer: &Answer, a: &Row, b: &Row) -> bool {
    let line = |row: &Row| {
        let input = answer.patch.inputs.get(row.source)?.as_ref().ok()?;
        input.line.as_ref().map(|line| (line.at, line.inputs.label.clone()))
    };
    line(a) != line(b)
}

fn of_clocks(answer: &Answer) -> Vec<String> {
    let patch = &answer.patch;
    let mut warnings = Vec::new();
    for link in patch.converted.iter().filter_map(|link| patch.links.get(*link)) {
        let unit = |at: usize| patch.boxes.get(at).map_or_else(String::new, Unit::words);
        warnings.push(format!(
            "{} and {} run on different clocks, and the input converts the sample rate: nothing clicks, but the signal is \
             a little later and not bit for bit the same.",
            unit(link.from),
            unit(link.to)
        ));
    }
    for (unit, clock) in patch.boxes.iter().zip(&patch.clocks) {
        let Some(front_end) = unit.front_end() else { continue };
        if front_end.whole.clock_sources.is_none()
            && patch.links.len() + patch.converted.len() > 0
            && clock.is_some()
        {
            let sources: Vec<&str> = clock_sources(front_end).into_iter().map(words::clock::source).collect();
            warnings.push(format!(
                "The file of \"{}\" does not say where it can take its clock from; taken: {}.",
                unit.device.name,
                list(&sources)
            ));
        }
    }
    let by_word_clock = patch
        .clocks
        .iter()
        .flatten()
        .filter(|clock| matches!(clock, Clock::Follows { by: crate::patch::ClockCable::WordClock, .. }))
        .count();
    if by_word_clock > 0 {
        warnings.push(
            "A word clock line is terminated with 75 Ω once, at its far end: switch the terminations of boxes between off."
                .to_owned(),
        );
    }
    warnings
}

fn several_interfaces(answer: &Answer, rows: &[Row]) -> Vec<String> {
    let ends = super::connections::to_computer(&answer.patch, rows);
    let mut warnings = Vec::new();
    if ends.len() > 1 {
        let names: Vec<String> =
            ends.iter().filter_map(|(at, _)| answer.patch.boxes.get(*at)).map(Unit::words).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        warnings.push(format!(
            "{} go into the computer side by side: its recording program must be able to record from all of them at once.",
            list(&names)
        ));
    }
    for link in &answer.patch.links {
        let sends = answer.patch.boxes.get(link.from);
        if let Some(unit) = sends.filter(|unit| unit.device.device_type() == DeviceType::Interface) {
            warnings.push(format!(
                "{} is an interface used as a converter: set its routing so that its inputs go to its digital output.",
                unit.words()
            ));
        }
    }
    warnings
}
