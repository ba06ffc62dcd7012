//! The comparison as it is read on a terminal.

use crate::output::{self, QUIET, STRONG, styled};
use gainsay_plan::Estimate;
use gainsay_plan::footing::{
    Apart, DeviceFooting, Footed, GroupFooting, GroupKind, Measure, Recording, Recordings, Written,
};
use gainsay_plan::words::footing::footing_words;
use gainsay_plan::words::{decimals, interval_in, number};
use std::path::Path;

pub(super) fn text(
    devices: &[DeviceFooting],
    recordings: Option<&Recordings>,
    diagram: Option<&Path>,
) -> String {
    let mut blocks = Vec::new();
    if let Some(recordings) = recordings {
        blocks.push(recording(recordings));
    }
    let kinds: Vec<GroupKind> = devices.iter().flat_map(|d| d.compared().map(|g| g.kind)).collect();
    // Boxes with line inputs only are shown apart from those with microphone inputs.
    for kind in GroupKind::ALL {
        if kinds.contains(&kind) {
            let tables =
                [kind.columns(), few_columns(kind)].map(|columns| figures_table(devices, kind, columns));
            let fitting = tables.into_iter().find(|table| output::fits(table));
            blocks.push(fitting.unwrap_or_else(|| figures_list(devices, kind)));
        }
    }
    blocks.push(styled(QUIET, &output::paragraph(&footing_words(&kinds), "")));
    let doubts = doubts(devices);
    if !doubts.is_empty() {
        blocks.push(format!("{}\n{}", styled(STRONG, "Unclear on the sheet"), doubts.join("\n")));
    }
    if let Some(path) = diagram {
        blocks.push(format!("Usable windows: {}", path.display()));
    }
    blocks.join("\n\n")
}

/// A name takes at most so many columns before it is broken.
const NAME_WIDTH: usize = 20;

/// A name in rows that fit their column.
fn wrapped(name: &str) -> String {
    textwrap::fill(name, NAME_WIDTH)
}

/// The figures that an ordinary terminal has room for.
const fn few_columns(kind: GroupKind) -> &'static [Measure] {
    match kind {
        GroupKind::MicrophoneInput => &[
            Measure::FullScaleSensitivity,
            Measure::MaximumInput,
            Measure::Ein,
            Measure::DynamicRangeLeastGain,
            Measure::DynamicRangeMostGain,
        ],
        GroupKind::Microphone => {
            &[Measure::OutputAt94, Measure::EquivalentNoise, Measure::MaximumSpl, Measure::EinAddingOneDb]
        }
        _ => kind.columns(),
    }
}

fn rows(devices: &[DeviceFooting], kind: GroupKind) -> impl Iterator<Item = (&DeviceFooting, &GroupFooting)> {
    devices.iter().flat_map(|d| d.compared().map(move |g| (d, g))).filter(move |(_, g)| g.kind == kind)
}

/// A cell of the table, whose column has the unit.
fn cell(measure: Measure, footed: &Footed) -> String {
    let written = Written::in_own_unit(measure, footed);
    let interval = written.interval.unwrap_or_else(|| "exact".to_owned());
    format!("{}\n{}\n{}", written.value, interval.replace(' ', "\u{a0}"), footed.from.word())
}

fn figures_table(devices: &[DeviceFooting], kind: GroupKind, measures: &[Measure]) -> String {
    let rows = rows(devices, kind)
        .map(|(device, group)| {
            let mut row = vec![wrapped(&device.name_of(group))];
            row.extend(
                measures
                    .iter()
                    .map(|m| group.get(*m).map_or_else(|| "–".to_owned(), |footed| cell(*m, &footed))),
            );
            row
        })
        .collect();
    let mut head = vec!["Device"];
    head.extend(measures.iter().map(|measure| measure.column()));
    let numbers: Vec<usize> = (1..=measures.len()).collect();
    let all: Vec<usize> = (0..=measures.len()).collect();
    output::table(&head, rows, &numbers, &all)
}

fn figures_list(devices: &[DeviceFooting], kind: GroupKind) -> String {
    let entries: Vec<String> = rows(devices, kind)
        .map(|(device, group)| {
            format!("{}\n{}", styled(STRONG, &device.name_of(group)), self::group(group, "  "))
        })
        .collect();
    entries.join("\n")
}

/// Every figure of a group, a line each.
pub(crate) fn group(group: &GroupFooting, indent: &str) -> String {
    let lines: Vec<String> = group
        .figures
        .iter()
        .map(|(measure, footed)| {
            let written = Written::of(*measure, footed);
            let interval = written.interval.map(|i| format!(" ({i})")).unwrap_or_default();
            let value = format!("{} {}{interval}", written.value, written.unit);
            output::hanging(
                &format!("{}: {value}, {}", measure.words(), footed.from.word()),
                indent,
                &format!("{indent}  "),
            )
        })
        .collect();
    lines.join("\n")
}

fn doubts(devices: &[DeviceFooting]) -> Vec<String> {
    devices
        .iter()
        .flat_map(|device| device.compared().map(move |group| (device, group)))
        .flat_map(|(device, group)| {
            group
                .doubts
                .iter()
                .map(|doubt| output::hanging(&format!("{}: {doubt}", device.name_of(group)), "  ", "    "))
        })
        .collect()
}

/// What each would record, best first.
fn recording(recordings: &Recordings) -> String {
    let mut lines = vec![styled(STRONG, &output::paragraph(&recordings.conclusion, ""))];
    lines.push(String::new());
    let table = recording_table(recordings);
    lines.push(if output::fits(&table) { table } else { recording_list(recordings) });
    lines.push(String::new());
    for recording in recordings.recordings.iter().filter(|r| r.apart != Apart::First) {
        lines.push(output::hanging(&format!("{}: {}.", recording.name, recording.sentence), "", "  "));
    }
    lines.join("\n").trim_end().to_owned()
}

/// Median above, interval below.
fn stacked(estimate: &Estimate) -> String {
    let d = decimals(estimate);
    let (median, low, high) = (number(estimate.median, d), number(estimate.low, d), number(estimate.high, d));
    if low == high { median } else { format!("{median}\n{low}\u{a0}to\u{a0}{high}") }
}

fn recording_table(recordings: &Recordings) -> String {
    let none = || "–".to_owned();
    let rows = recordings
        .recordings
        .iter()
        .map(|r| {
            let mut row = vec![r.place.to_string(), wrapped(&r.name)];
            match &r.result {
                Some(result) => row.extend([
                    result.noise_equivalent_dba.as_ref().map_or_else(none, stacked),
                    r.more_noise_db.as_ref().map_or_else(none, stacked),
                    stacked(&result.penalty_db),
                    stacked(&result.peak_dbfs),
                    result.verdict.word().to_owned(),
                ]),
                None => row.extend([none(), none(), none(), none(), "no input".to_owned()]),
            }
            row
        })
        .collect();
    output::table(
        &[
            "",
            "Device",
            "Noise as\nsound dBA",
            "More noise\ndB",
            "Perfect preamp\ngains dB",
            "Peak\ndBFS",
            "Verdict",
        ],
        rows,
        &[2, 3, 4, 5],
        &[0, 1, 2, 3, 4, 5, 6],
    )
}

fn recording_list(recordings: &Recordings) -> String {
    let entries: Vec<String> = recordings.recordings.iter().map(recording_entry).collect();
    entries.join("\n")
}

fn recording_entry(recording: &Recording) -> String {
    let Some(result) = &recording.result else {
        return styled(STRONG, &format!("{}. {}: no input", recording.place, recording.name));
    };
    let title = format!("{}. {}: {}", recording.place, recording.name, result.verdict.word());
    let mut lines = vec![styled(STRONG, &output::hanging(&title, "", "   "))];
    let mut line = |text: String| lines.push(output::hanging(&text, "   ", "     "));
    if let Some(noise) = &result.noise_equivalent_dba {
        line(format!("noise as sound {}", interval_in(noise, "dBA")));
    }
    if let Some(more) = &recording.more_noise_db {
        line(format!("more noise {}", interval_in(more, "dB")));
    }
    line(format!("a perfect preamp gains {}", interval_in(&result.penalty_db, "dB")));
    line(format!("peak {}", interval_in(&result.peak_dbfs, "dBFS")));
    lines.join("\n")
}
