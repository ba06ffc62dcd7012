//! The same facts in words.

use super::{Subject, subjects};
use crate::figures;
use crate::twin::plain;
use gainsay_plan::Estimate;
use gainsay_plan::footing::{DeviceFooting, Measure, thermal_limit};
use gainsay_plan::words::number;

/// The facts of the usable windows in sentences: a line each.
#[must_use]
pub fn windows_text_twin(devices: &[DeviceFooting]) -> String {
    let subjects = subjects(devices);
    let mut lines = standing_out(&subjects);
    if !subjects.first().is_some_and(Subject::is_microphone) {
        let limit = figures::with_unit(&number(thermal_limit().dbu(), 1), "dBu");
        lines.push(format!(
            "Levels are at the input; noise is unweighted, 20 Hz to 20 kHz. The thermal noise of 150 Ω is {limit}."
        ));
    }
    for subject in &subjects {
        lines.push(String::new());
        lines.extend(of_subject(subject));
    }
    plain(&lines.join("\n"))
}

fn of_subject(subject: &Subject<'_>) -> Vec<String> {
    let group = subject.group;
    let (unit, noise_unit) = subject.units();
    let mut lines = vec![format!("{}.", subject.name().trim_end_matches('.'))];
    if subject.moves() {
        for point in &group.window {
            lines.push(format!(
                "At a gain of {}: ceiling {}, noise {}, between them {}.",
                figures::with_unit(&number(point.gain_db, 0), "dB"),
                figures::whole(&point.ceiling, unit),
                figures::whole(&point.noise, noise_unit),
                figures::with_unit(&number(point.ceiling.median - point.noise.median, 0), "dB"),
            ));
        }
    } else if let Some(point) = group.window.first() {
        lines.push(format!(
            "Ceiling {}, noise {}, between them {}.",
            figures::whole(&point.ceiling, unit),
            figures::whole(&point.noise, noise_unit),
            figures::with_unit(&number(point.ceiling.median - point.noise.median, 0), "dB"),
        ));
    }
    lines.extend(group.doubts.iter().map(|doubt| format!("Unclear: {doubt}.")));
    lines
}

/// Which device stands out, in a sentence or two; nothing where there is only one.
pub(super) fn standing_out(subjects: &[Subject<'_>]) -> Vec<String> {
    if subjects.len() < 2 {
        return Vec::new();
    }
    let best = |measure: Measure, least: bool| {
        let known: Vec<(&Subject<'_>, Estimate)> =
            subjects.iter().filter_map(|s| Some((s, s.group.get(measure)?.estimate))).collect();
        let first = *known.iter().map(|(_, e)| e).min_by(|a, b| {
            if least { a.median.total_cmp(&b.median) } else { b.median.total_cmp(&a.median) }
        })?;
        // Those whose intervals the best one's median lies in can't be told from it.
        let alike: Vec<&Subject<'_>> = known
            .iter()
            .filter(|(_, e)| e.low <= first.median && first.median <= e.high)
            .map(|(subject, _)| *subject)
            .collect();
        (known.len() > 1 && alike.len() < known.len()).then_some((alike, first))
    };
    let mut sentences = Vec::new();
    let mut say = |measure: Measure, least: bool, words: [&str; 2], unit: &str| {
        let Some((alike, estimate)) = best(measure, least) else { return };
        let names: Vec<String> = alike.iter().map(|s| format!("“{}”", s.name())).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let [one, several] = words;
        // The least noise is told apart by tenths, levels by whole decibels.
        let figure = if measure == Measure::Ein {
            figures::median(&estimate, unit)
        } else {
            figures::level(estimate.median, unit)
        };
        let names = gainsay_plan::words::list(&names);
        sentences.push(if alike.len() == 1 {
            format!("{names} {one}, {figure}.")
        } else {
            format!("{names} {several}, about {figure}; too little is known to tell them apart.")
        });
    };
    if subjects.first().is_some_and(Subject::is_microphone) {
        say(
            Measure::EquivalentNoise,
            true,
            ["has the least noise of its own", "have the least noise of their own"],
            "dBA",
        );
        say(Measure::MaximumSpl, false, ["takes the loudest sound", "take the loudest sound"], "dB SPL");
    } else {
        say(
            Measure::FullScaleSensitivity,
            true,
            ["fills the file from the quietest signal", "fill the file from the quietest signals"],
            "dBu",
        );
        say(
            Measure::Ein,
            true,
            ["has the least noise at the most gain", "have the least noise at the most gain"],
            "dBu",
        );
        say(Measure::MaximumInput, false, ["takes the highest level", "take the highest levels"], "dBu");
    }
    sentences
}
