//! What stands beside a lane in words; shared by picture and text.

use crate::figures;
use gainsay_plan::{Answer, LevelAnswer, SourceAnswer, Verdict};

/// Microphone, distance, booster, input, route and gain.
pub(crate) fn chain(source: &SourceAnswer) -> String {
    let mut parts = vec![match (&source.microphone, source.distance_m) {
        (Some(microphone), Some(metres)) => format!("{microphone}, at {}", figures::distance(metres)),
        (Some(microphone), None) => microphone.clone(),
        (None, _) => source.kind.clone(),
    }];
    parts.extend(source.booster.clone());
    let gain = source.result.as_ref().and_then(gain);
    parts.extend(source.input.as_ref().map(|input| match gain {
        Some(gain) => format!("{input}, {gain}"),
        None => input.clone(),
    }));
    parts.extend(source.route.clone());
    parts.join(" → ")
}

/// How the input is set.
pub(crate) fn gain(result: &LevelAnswer) -> Option<String> {
    let gain = result.gain_db?;
    let at_most = result.most_gain_db.is_some_and(|most| gain >= most - 0.5);
    let figure = figures::gain(gain);
    let figure = figure.trim_start_matches('+');
    let pad = if result.pad_db > 0.0 { ", pad on" } else { "" };
    let microphone_pad = if result.microphone_pad { ", microphone’s pad on" } else { "" };
    let all = if at_most { ", all the way up" } else { "" };
    Some(format!("gain {figure}{all}{pad}{microphone_pad}"))
}

/// The verdict on a source as a word.
pub(crate) fn verdict(source: &SourceAnswer) -> &'static str {
    source.result.as_ref().map_or("no input", |result| result.verdict.word())
}

/// Where the loudest peak should land, in dBFS: what has to be added afterwards tells it, else the given one.
pub(crate) fn target(answer: &Answer, given: f64) -> f64 {
    answer
        .sources
        .iter()
        .filter_map(|source| source.result.as_ref())
        .find(|result| result.turn_up_afterwards_db > 0.0)
        .map_or(given, |result| result.peak_dbfs.median + result.turn_up_afterwards_db)
}

/// Class and path of a verdict's mark, in a box of 12 × 12.
pub(crate) const fn mark(source: &SourceAnswer) -> (&'static str, &'static str) {
    match &source.result {
        Some(LevelAnswer { verdict: Verdict::Enough, .. }) => ("mark-good", "M1.5 6.5L4.8 10L10.5 2.5"),
        Some(LevelAnswer { verdict: Verdict::Tight, .. }) => {
            ("mark-tight", "M1 7.5C3 3.5 4.8 4 6 6S9 8.5 11 4.5")
        }
        _ => ("mark-short", "M2 2L10 10M10 2L2 10"),
    }
}

/// Class of the verdict's word.
pub(crate) const fn verdict_class(source: &SourceAnswer) -> &'static str {
    match &source.result {
        Some(LevelAnswer { verdict: Verdict::Enough, .. }) => "good",
        Some(LevelAnswer { verdict: Verdict::Tight, .. }) => "",
        _ => "warn",
    }
}

/// The same of one source alone.
pub(crate) fn target_of(source: &SourceAnswer, given: f64) -> f64 {
    source
        .result
        .as_ref()
        .filter(|result| result.turn_up_afterwards_db > 0.0)
        .map_or(given, |result| result.peak_dbfs.median + result.turn_up_afterwards_db)
}
