//! `gainsay check`.

use crate::arguments::Check;
use crate::exit::{Exit, Failure};
use crate::output::{self, QUIET, STRONG, WARNING, styled};
use gainsay_plan::stages::Contributor;
use gainsay_plan::words::{self, interval, number};
use gainsay_plan::{Answer, Case, Estimate, LevelAnswer, Limit, Options, SourceAnswer, Verdict};
use std::path::Path;

/// How many assumed figures are listed unless all are asked for.
const SHOWN_ASSUMPTIONS: usize = 8;

pub(crate) fn run(arguments: &Check) -> Result<Exit, Failure> {
    let case = super::load(arguments.case.as_ref())?;
    let answer = answer(
        &case,
        Options { draws: arguments.draws.draws(), stage_intervals: arguments.diagram.is_some() },
    )?;
    if let Some(path) = &arguments.diagram {
        diagram(&case, &answer, path)?;
    }
    if arguments.json {
        output::print(&json(&answer)?)?;
    } else {
        let hint = arguments.case.as_ref().map_or(String::new(), |path| format!(" {}", path.display()));
        output::print(&text(&answer, arguments.all, &hint))?;
        if let Some(path) = &arguments.diagram {
            output::print(&format!("Level diagram: {}", path.display()))?;
        }
    }
    let short = arguments.strict && answer.verdict == Verdict::Short;
    Ok(if short { Exit::Short } else { Exit::Answered })
}

pub(crate) fn answer(case: &Case, options: Options) -> Result<Answer, Failure> {
    Ok(gainsay_plan::check(case, options)?)
}

/// JSON for reading and for machines: numbers to four decimals, which is finer than any of them is known.
pub(crate) fn json<T: serde::Serialize>(value: &T) -> Result<String, Failure> {
    let fail = |error: serde_json::Error| {
        Failure::Output(format!("the answer can't be written as JSON: {error}"), "report it".to_owned())
    };
    let mut value = serde_json::to_value(value).map_err(fail)?;
    round(&mut value);
    serde_json::to_string_pretty(&value).map_err(fail)
}

fn round(value: &mut serde_json::Value) {
    match value {
        serde_json::Value::Number(number) if number.is_f64() => {
            if let Some(rounded) = number
                .as_f64()
                .map(|n| (n * 1e4).round() / 1e4)
                .and_then(|n| serde_json::Number::from_f64(if n == 0.0 { 0.0 } else { n }))
            {
                *number = rounded;
            }
        }
        serde_json::Value::Array(items) => items.iter_mut().for_each(round),
        serde_json::Value::Object(fields) => fields.values_mut().for_each(round),
        _ => {}
    }
}

pub(crate) fn diagram(case: &Case, answer: &Answer, path: &Path) -> Result<(), Failure> {
    let style = gainsay_picture::Style {
        peak_target_dbfs: case.session.peak_target.value.dbfs(),
        ..gainsay_picture::Style::default()
    };
    let svg = gainsay_picture::level_diagram(answer, &style);
    output::write_file(path, &svg)
}

/// The answer as it is read on a terminal.
pub(crate) fn text(answer: &Answer, all: bool, case_argument: &str) -> String {
    let mut blocks = Vec::new();
    let mut head = styled(STRONG, &answer.title);
    if let Some(question) = &answer.question {
        head.push('\n');
        head.push_str(&styled(QUIET, &output::paragraph(&format!("“{question}”"), "")));
    }
    blocks.push(head);
    blocks.push(conclusion(answer));
    let table = source_table(answer);
    blocks.push(if output::fits(&table) { table } else { source_list(answer) });
    blocks.push(sentences(answer));
    if !answer.remarks.is_empty() {
        blocks.push(section("Remarks", answer.remarks.iter().map(String::as_str)));
    }
    if let Some(ask) = &answer.ask {
        blocks.push(format!(
            "{}\n{}",
            styled(STRONG, "Ask or measure next"),
            output::paragraph(&ask.question, "  ")
        ));
    }
    blocks.push(assumptions(answer, all));
    blocks.push(section("Take care", answer.cautions.iter().map(String::as_str)));
    if let Some(source) = answer.sources.iter().find(|s| s.result.is_some()) {
        let name =
            if answer.sources.len() > 1 { format!(" --source \"{}\"", source.name) } else { String::new() };
        blocks.push(styled(QUIET, &format!("Every number unfolded: gainsay explain{case_argument}{name}")));
    }
    blocks.join("\n\n")
}

/// The answer in a few sentences; the first stands out.
fn conclusion(answer: &Answer) -> String {
    let text = answer.answer.join(" ");
    let wrapped = output::paragraph(&text, "");
    match answer.answer.first() {
        // The headline is short enough not to be broken, except on very narrow terminals.
        Some(first) if wrapped.starts_with(first.as_str()) => {
            wrapped.replacen(first.as_str(), &styled(verdict_style(answer.verdict), first), 1)
        }
        _ => wrapped,
    }
}

fn verdict_style(verdict: Verdict) -> anstyle::Style {
    if verdict == Verdict::Enough { STRONG } else { WARNING }
}

fn verdict(result: &LevelAnswer) -> String {
    result.verdict.word().to_owned()
}

/// What limits it, short enough for a column.
fn limit(result: &LevelAnswer) -> String {
    match result.limit {
        Limit::Noise(Contributor::Output) => "own noise".to_owned(),
        Limit::Noise(Contributor::AfterGain) => "preamp output noise".to_owned(),
        Limit::Noise(contributor) => format!("{} noise", contributor.words()),
        Limit::Ceiling(ceiling) => format!("{} level", ceiling.words()),
    }
}

/// An interval that a table does not break.
fn unbroken(estimate: &Estimate) -> String {
    interval(estimate).replace(' ', "\u{a0}")
}

fn gain(result: &LevelAnswer) -> String {
    let pad = if result.pad_db > 0.0 { ", pad" } else { "" };
    result.gain_db.map_or_else(|| "line".to_owned(), |gain| format!("{}{pad}", number(gain, 0)))
}

fn source_table(answer: &Answer) -> String {
    let rows = answer
        .sources
        .iter()
        .map(|source| match &source.result {
            Some(result) => vec![
                source.name.clone(),
                gain(result),
                unbroken(&result.peak_dbfs),
                unbroken(&result.noise_dbfs_a),
                unbroken(&result.penalty_db),
                limit(result),
                verdict(result),
            ],
            None => {
                let none = || "–".to_owned();
                vec![
                    source.name.clone(),
                    none(),
                    none(),
                    none(),
                    none(),
                    "inputs".to_owned(),
                    "no input".to_owned(),
                ]
            }
        })
        .collect();
    let table = output::table(
        &[
            "Source",
            "Gain\ndB",
            "Peak\ndBFS",
            "Noise\ndBFS A-weighted",
            "Perfect preamp\ngains dB",
            "Limited by",
            "Verdict",
        ],
        rows,
        &[1, 2, 3, 4],
        &[1, 2, 3, 4, 6],
    );
    format!("{table}\n{}", styled(QUIET, "In brackets: 95 % intervals."))
}

fn source_list(answer: &Answer) -> String {
    let entries: Vec<String> = answer
        .sources
        .iter()
        .map(|source| match &source.result {
            Some(result) => {
                let mut lines = vec![styled(STRONG, &format!("{}: {}", source.name, verdict(result)))];
                let mut line = |text: String| lines.push(output::hanging(&text, "  ", "    "));
                line(format!("gain {} dB", gain(result)));
                line(format!("peak {}", words::interval_in(&result.peak_dbfs, "dBFS")));
                line(format!("noise {}", words::interval_in(&result.noise_dbfs_a, "dBFS A-weighted")));
                line(format!("a perfect preamp gains {}", words::interval_in(&result.penalty_db, "dB")));
                line(format!("limited by {}", result.limit_words));
                lines.join("\n")
            }
            None => styled(STRONG, &format!("{}: no input", source.name)),
        })
        .collect();
    entries.join("\n")
}

/// What each source comes to, in a sentence.
fn sentences(answer: &Answer) -> String {
    let lines: Vec<String> = answer
        .sources
        .iter()
        .map(|source| {
            let way = way(source);
            output::hanging(format!("{}: {}. {way}", source.name, source.sentence).trim_end(), "", "  ")
        })
        .collect();
    lines.join("\n")
}

/// Microphone and input, in brackets.
fn way(source: &SourceAnswer) -> String {
    let mut parts = Vec::new();
    if let Some(microphone) = &source.microphone {
        parts.push(match source.distance_m {
            Some(distance) => format!("{microphone}, {}", metres(distance)),
            None => microphone.clone(),
        });
    }
    parts.extend(source.booster.clone());
    parts.extend(source.input.clone());
    parts.extend(source.route.clone());
    if parts.is_empty() { String::new() } else { format!("[{}]", parts.join(" → ")) }
}

fn metres(distance: f64) -> String {
    if distance < 1.0 {
        format!("{} cm", number(distance * 100.0, 0))
    } else {
        format!("{} m", number(distance, 1))
    }
}

fn assumptions(answer: &Answer, all: bool) -> String {
    let shown = if all { answer.assumed.len() } else { SHOWN_ASSUMPTIONS };
    let lines: Vec<String> = answer
        .assumed
        .iter()
        .take(shown)
        .map(|assumption| {
            let note = assumption.note.as_ref().map(|note| format!(": {note}")).unwrap_or_default();
            output::hanging(
                &format!("{}: {} ({}{note})", assumption.figure, assumption.value, assumption.from.word()),
                "  ",
                "    ",
            )
        })
        .collect();
    let rest = answer.assumed.len().saturating_sub(shown);
    let more = if rest > 0 {
        format!("\n{}", styled(QUIET, &format!("  and {rest} more that matter less (--all)")))
    } else {
        String::new()
    };
    if lines.is_empty() {
        return format!("{}\n  nothing", styled(STRONG, "Assumed"));
    }
    format!("{}\n{}{more}", styled(STRONG, "Assumed, because the case does not say"), lines.join("\n"))
}

fn section<'a>(title: &str, items: impl Iterator<Item = &'a str>) -> String {
    let lines: Vec<String> = items.map(|item| output::hanging(item, "  ", "  ")).collect();
    format!("{}\n{}", styled(STRONG, title), lines.join("\n"))
}
