//! `gainsay patch`.

use crate::exit::{Exit, Failure};
use crate::output::{self, QUIET, STRONG, WARNING, styled};
use clap::{Args, ValueHint};
use gainsay_plan::patch::sheet::{Connection, PatchSheet, Row, patch_sheet};
use gainsay_plan::words::{number, patch::channels};
use gainsay_plan::{Draws, Options, Verdict};
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(after_help = "\
Every source gets the input that is best for all of them together: as many sources as possible, then the fewest that are \
short, then the fewest that are tight, then the least noise in all, then the fewest cables. A case can settle an input (`input`), a stereo pair (`pair`), a \
connection ([[link]]) and who leads the clock (`clock`).")]
pub(crate) struct Patch {
    /// The case's TOML file; the embedded demo if not given
    #[arg(value_hint = ValueHint::FilePath)]
    case: Option<PathBuf>,
    /// Print everything as JSON, with units in the field names
    #[arg(long, conflicts_with = "csv")]
    json: bool,
    /// Print the patch sheet as CSV, a line a channel
    #[arg(long)]
    csv: bool,
    /// Write a picture of the patch to this SVG file
    #[arg(long, value_name = "FILE.svg", value_hint = ValueHint::FilePath)]
    diagram: Option<PathBuf>,
    /// End with exit code 4 if a source has no input
    #[arg(long)]
    strict: bool,
}

pub(crate) fn run(arguments: &Patch) -> Result<Exit, Failure> {
    let case = super::load(arguments.case.as_ref())?;
    let answer = super::check::answer(&case, Options { draws: Draws::default(), stage_intervals: false })?;
    let sheet = patch_sheet(&case, &answer);
    if let Some(path) = &arguments.diagram {
        let svg = gainsay_picture::patch_diagram(&sheet, &answer.patch, &gainsay_picture::Style::default());
        output::write_file(path, &svg)?;
    }
    if arguments.json {
        output::print(&super::check::json(&sheet)?)?;
    } else if arguments.csv {
        output::print(csv(&sheet)?.trim_end())?;
    } else {
        output::print(&text(&sheet))?;
        if let Some(path) = &arguments.diagram {
            output::print(&format!("\nPicture of the patch: {}", path.display()))?;
        }
    }
    let short = arguments.strict && sheet.verdict == Verdict::Short;
    Ok(if short { Exit::Short } else { Exit::Answered })
}

fn csv(sheet: &PatchSheet) -> Result<String, Failure> {
    let fail = |error: csv::Error| {
        Failure::Output(format!("the patch sheet can't be written as CSV: {error}"), "report it".to_owned())
    };
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer
        .write_record([
            "channel",
            "track",
            "source",
            "microphone",
            "microphone_pad",
            "booster",
            "cable_m",
            "into",
            "input_sort",
            "input",
            "then",
            "gain_db",
            "pad_db",
            "phantom",
            "pair_with",
            "move_earlier_samples",
        ])
        .map_err(fail)?;
    for row in &sheet.rows {
        let shift =
            sheet.timing.shifts.iter().find(|shift| shift.channel == row.channel).map_or(0, |s| s.samples);
        let yes = |on: bool| if on { "yes" } else { "no" }.to_owned();
        writer
            .write_record([
                row.channel.to_string(),
                row.track.clone(),
                row.source_words(),
                row.microphone.clone().unwrap_or_default(),
                yes(row.microphone_pad),
                row.booster.clone().unwrap_or_default(),
                format!("{:.1}", row.cable_m),
                row.into.clone(),
                row.input_sort.clone(),
                row.input.to_string(),
                row.then.clone().unwrap_or_default(),
                row.gain_db.map_or_else(String::new, |gain| format!("{gain:.1}")),
                format!("{:.1}", row.pad_db),
                yes(row.phantom),
                row.pair_with.clone().unwrap_or_default(),
                shift.to_string(),
            ])
            .map_err(fail)?;
    }
    let bytes = writer.into_inner().map_err(|error| fail(error.into_error().into()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// The patch as it is read on a terminal.
fn text(sheet: &PatchSheet) -> String {
    let mut blocks = vec![styled(STRONG, &sheet.title)];
    blocks.push(conclusion(sheet));
    if !sheet.without_input.is_empty() {
        let mut lines = vec![styled(WARNING, "Without an input")];
        for without in &sheet.without_input {
            lines.push(output::hanging(&format!("{}: {}", without.source, without.why), "  ", "    "));
        }
        lines.extend(sheet.reliefs.iter().map(|relief| output::hanging(relief, "  ", "    ")));
        blocks.push(lines.join("\n"));
    }
    if !sheet.warnings.is_empty() {
        blocks.push(list("Take care", sheet.warnings.iter().map(String::as_str), WARNING));
    }
    let table = row_table(sheet);
    blocks.push(if output::fits(&table) { table } else { row_list(sheet) });
    if !sheet.connections.is_empty() {
        blocks.push(list(
            "Connections",
            sheet.connections.iter().map(connection).collect::<Vec<_>>().iter().map(String::as_str),
            STRONG,
        ));
    }
    if sheet.clocks.len() > 1 {
        let lines: Vec<String> = sheet
            .clocks
            .iter()
            .map(|clock| match (&clock.follows, &clock.over) {
                (Some(follows), Some(over)) => {
                    format!("{}: set to {}; follows {follows}, {over}", clock.device, clock.setting)
                }
                _ => format!("{}: set to {}; leads", clock.device, clock.setting),
            })
            .collect();
        blocks.push(list("Clock", lines.iter().map(String::as_str), STRONG));
    }
    if sheet.timing.paths.len() > 1 {
        blocks.push(timing(sheet));
    }
    if !sheet.items.is_empty() {
        let lines: Vec<String> = sheet
            .items
            .iter()
            .map(|item| format!("{} × {} ({})", item.count, item.what, item.used_for))
            .collect();
        blocks.push(list("To have at hand", lines.iter().map(String::as_str), STRONG));
    }
    blocks.push(steps(sheet));
    blocks.join("\n\n")
}

fn conclusion(sheet: &PatchSheet) -> String {
    let wrapped = output::paragraph(&sheet.answer.join(" "), "");
    let style = if sheet.verdict == Verdict::Enough { STRONG } else { WARNING };
    match sheet.answer.first() {
        Some(first) if wrapped.starts_with(first.as_str()) => {
            wrapped.replacen(first.as_str(), &styled(style, first), 1)
        }
        _ => wrapped,
    }
}

fn list<'a>(title: &str, items: impl Iterator<Item = &'a str>, style: anstyle::Style) -> String {
    let lines: Vec<String> = items.map(|item| output::hanging(item, "  ", "    ")).collect();
    format!("{}\n{}", styled(style, title), lines.join("\n"))
}

fn gain(row: &Row) -> String {
    match row.gain_db {
        Some(gain) if row.pad_db > 0.0 => format!("{}, pad", number(gain, 0)),
        Some(gain) => number(gain, 0),
        None => "–".to_owned(),
    }
}

fn microphone(row: &Row) -> String {
    let mut words = row.microphone.clone().unwrap_or_else(|| "own output".to_owned());
    if row.microphone_pad {
        words.push_str(", pad on");
    }
    if let Some(booster) = &row.booster {
        words.push_str(&format!(" + {booster}"));
    }
    words
}

fn row_table(sheet: &PatchSheet) -> String {
    let rows = sheet
        .rows
        .iter()
        .map(|row| {
            vec![
                row.channel.to_string(),
                row.source_words(),
                microphone(row),
                number(row.cable_m, usize::from(row.cable_m.fract() != 0.0)),
                row.input_words(),
                row.then.clone().unwrap_or_default(),
                gain(row),
                if row.phantom { "on" } else { "off" }.to_owned(),
            ]
        })
        .collect();
    output::table(
        &["Ch.", "Source", "Microphone", "Cable\nm", "Input", "Then", "Gain\ndB", "Phantom\npower"],
        rows,
        &[0, 3, 6],
        &[0, 3, 6, 7],
    )
}

fn row_list(sheet: &PatchSheet) -> String {
    let entries: Vec<String> = sheet
        .rows
        .iter()
        .map(|row| {
            let mut lines = vec![styled(STRONG, &format!("{}. {}", row.channel, row.source_words()))];
            let mut line = |text: String| lines.push(output::hanging(&text, "   ", "     "));
            line(microphone(row));
            line(format!("cable {} m → {}", number(row.cable_m, 1), row.input_words()));
            if let Some(then) = &row.then {
                line(then.clone());
            }
            line(format!("gain {} dB, phantom power {}", gain(row), if row.phantom { "on" } else { "off" }));
            lines.join("\n")
        })
        .collect();
    entries.join("\n")
}

fn connection(connection: &Connection) -> String {
    let cables = if connection.cables > 1 { format!("{} × ", connection.cables) } else { String::new() };
    let limit = connection
        .usual_limit_m
        .map(|limit| format!(", usually up to {} m", number(limit, 0)))
        .unwrap_or_default();
    let cable = if connection.cable.is_empty() {
        String::new()
    } else {
        format!(": {cables}{}{limit}", connection.cable)
    };
    format!(
        "{} ({}) → {} ({}), {}{}{cable}",
        connection.from,
        connection.output,
        connection.to,
        connection.input,
        connection.format,
        channels(connection)
    )
}

fn timing(sheet: &PatchSheet) -> String {
    let lines: Vec<String> = sheet
        .timing
        .paths
        .iter()
        .map(|path| {
            let sources: Vec<&str> = path.sources.iter().map(String::as_str).collect();
            gainsay_plan::words::patch::path(path, &gainsay_plan::words::list(&sources))
        })
        .chain(sheet.timing.shifts.iter().filter(|shift| shift.samples > 0).map(|shift| {
            format!("Move \"{}\" (channel {}) {} samples earlier.", shift.track, shift.channel, shift.samples)
        }))
        .collect();
    list("Time", lines.iter().map(String::as_str), STRONG)
}

fn steps(sheet: &PatchSheet) -> String {
    let mut lines = vec![styled(STRONG, "The session, in this order")];
    let mut phase = "";
    for (number, step) in sheet.steps.iter().enumerate() {
        if step.phase != phase {
            phase = step.phase;
            lines.push(styled(QUIET, &format!("  {phase}")));
        }
        lines.push(output::hanging(&step.what, &format!("  {:2}. ", number + 1), "      "));
    }
    lines.join("\n")
}
