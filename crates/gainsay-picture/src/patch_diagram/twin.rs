//! The same facts in words, for those who can't see the picture.

use crate::twin::plain;
use gainsay_plan::patch::Patch;
use gainsay_plan::patch::sheet::{PatchSheet, Row};
use gainsay_plan::words::{list, number, patch as words};

/// The facts of the patch diagram in sentences: a line each.
#[must_use]
pub fn patch_text_twin(sheet: &PatchSheet, patch: &Patch) -> String {
    let mut lines = vec![format!("{}.", sheet.title.trim_end_matches(['.', '!', '?']))];
    lines.extend(sheet.answer.iter().cloned());
    lines.push(String::new());
    lines.extend(sheet.rows.iter().map(|row| of_row(row, sheet, patch)));
    for connection in &sheet.connections {
        let cables =
            if connection.cables == 1 { String::new() } else { format!(", {} cables", connection.cables) };
        lines.push(format!(
            "{} ({}) to {} ({}): {}{}{cables}.",
            connection.from,
            connection.output,
            connection.to,
            connection.input,
            connection.format,
            words::channels(connection)
        ));
    }
    if sheet.clocks.len() > 1 {
        for clock in &sheet.clocks {
            lines.push(match (&clock.follows, &clock.over) {
                (Some(leader), Some(over)) => {
                    format!(
                        "{} follows the clock of {leader} {over}: set it to {}.",
                        clock.device, clock.setting
                    )
                }
                _ => format!("{} runs on its own clock: set it to {}.", clock.device, clock.setting),
            });
        }
    }
    for path in sheet.timing.paths.iter().filter(|_| sheet.timing.paths.len() > 1) {
        let names: Vec<&str> = path.sources.iter().map(String::as_str).collect();
        lines.push(words::path(path, &list(&names)));
    }
    for without in &sheet.without_input {
        lines.push(format!("Not connected: {}. {}", without.source, without.why));
    }
    plain(&lines.join("\n"))
}

fn of_row(row: &Row, sheet: &PatchSheet, patch: &Patch) -> String {
    let mut parts = Vec::new();
    if let Some(microphone) = &row.microphone {
        let pad = if row.microphone_pad { " with its pad on" } else { "" };
        parts.push(format!("{microphone}{pad}"));
    }
    if let Some(booster) = &row.booster {
        parts.push(format!("through {booster}"));
    }
    if row.cable_m > 0.0 {
        parts.push(format!("{} of cable", crate::figures::distance(row.cable_m)));
    }
    let input = match patch.inputs.get(row.source) {
        Some(Ok(input)) => input.words(),
        _ => row.input_words(),
    };
    parts.push(format!("into {input}"));
    if row.phantom {
        parts.push("phantom power on".to_owned());
    }
    if row.pad_db > 0.0 {
        parts.push(format!("pad of {}\u{2009}dB on", number(row.pad_db, 0)));
    }
    parts.extend(row.then.as_ref().map(|then| format!("then {then}")));
    let late = sheet.timing.shifts.iter().find(|shift| shift.channel == row.channel).map_or(0, |s| s.samples);
    if late > 0 {
        parts.push(format!("{late} samples late"));
    }
    format!("Track {}: {}.", row.track, parts.join(", "))
}
