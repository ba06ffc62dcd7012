//! The options as they are read on a terminal.

use super::to_follow;
use crate::output::{self, QUIET, STRONG, WARNING, styled};
use gainsay_plan::Verdict;
use gainsay_plan::options::{
    Influence, Lead, OptionAsk, OptionsAnswer, Plan, Score, SourceInfluences, WhyNot, by_reason,
};
use gainsay_plan::words::{number, options as words, percent};

/// Figures that are shown of a source unless all are asked for.
const SHOWN_FIGURES: usize = 3;

/// A source that is enough with less than this probability is in doubt.
const DOUBT_BELOW: f64 = 0.9;

pub(super) fn text(answer: &OptionsAnswer, all: bool) -> String {
    let mut head = styled(STRONG, &output::paragraph(&answer.title, ""));
    if let Some(question) = &answer.question {
        head.push('\n');
        head.push_str(&styled(QUIET, &output::paragraph(&format!("“{question}”"), "")));
    }
    let mut blocks = vec![head, conclusion(answer), frontier(answer)];
    if !answer.without_changes.is_empty() {
        let rows: Vec<Row<'_>> =
            answer.without_changes.iter().map(|plan| Row { plan, is_to_follow: false }).collect();
        blocks.push(format!(
            "{}\n{}",
            styled(STRONG, &output::paragraph("If nothing about the recording itself may change", "")),
            plans(&rows)
        ));
    }
    if !answer.why_not.is_empty() {
        blocks.push(section("Why not", by_reason(&answer.why_not).iter().map(why_not)));
    }
    if !answer.turning_points.is_empty() {
        blocks.push(section(
            "What would change the plan",
            answer.turning_points.iter().map(words::turning_point),
        ));
    }
    blocks.extend(answer.ask.as_ref().map(ask));
    blocks.extend(influences(answer, all));
    if !answer.remarks.is_empty() {
        blocks.push(section("Remarks", answer.remarks.iter().cloned()));
    }
    if !answer.cautions.is_empty() {
        blocks.push(section("Take care", answer.cautions.iter().cloned()));
    }
    blocks.join("\n\n")
}

/// A paragraph a sentence; the first stands out.
fn conclusion(answer: &OptionsAnswer) -> String {
    let style = if answer.today.verdict == Verdict::Enough { STRONG } else { WARNING };
    let wrapped = output::paragraph(&answer.answer.join(" "), "");
    match answer.answer.first() {
        Some(first) if wrapped.starts_with(first.as_str()) => {
            wrapped.replacen(first.as_str(), &styled(style, first), 1)
        }
        _ => wrapped,
    }
}

fn section(title: &str, items: impl Iterator<Item = String>) -> String {
    let lines: Vec<String> = items.map(|item| output::hanging(&item, "  ", "    ")).collect();
    format!("{}\n{}", styled(STRONG, &output::paragraph(title, "")), lines.join("\n"))
}

/// A plan of a table.
struct Row<'a> {
    plan: &'a Plan,
    is_to_follow: bool,
}

impl Row<'_> {
    fn what(&self) -> String {
        if self.plan.changes.is_empty() { "as it is".to_owned() } else { words::plan(self.plan) }
    }

    fn sign(&self) -> &'static str {
        if self.is_to_follow { "→" } else { "" }
    }
}

fn frontier(answer: &OptionsAnswer) -> String {
    let mut rows: Vec<Row<'_>> = answer
        .frontier
        .iter()
        .enumerate()
        .map(|(index, plan)| Row { plan, is_to_follow: index == answer.recommended })
        .collect();
    if !rows.iter().any(|row| row.plan.changes.is_empty()) {
        rows.insert(0, Row { plan: &answer.today, is_to_follow: false });
    }
    let plans = plans(&rows);
    if rows.iter().any(|row| row.is_to_follow) && rows.len() > 1 {
        return format!("{plans}\n{}", styled(QUIET, "→ the plan to follow"));
    }
    plans
}

fn plans(rows: &[Row<'_>]) -> String {
    let table = output::table(
        &["", "Price", "What to do", "Result", "Chance that\nall is enough"],
        rows.iter()
            .map(|row| {
                vec![
                    row.sign().to_owned(),
                    row.plan.price.to_string(),
                    row.what(),
                    result(row.plan.result).replace(' ', "\u{a0}").replace(",\u{a0}", ",\n"),
                    percent(row.plan.chance_enough).replace(' ', "\u{a0}"),
                ]
            })
            .collect(),
        &[1, 4],
        &[0, 1, 3, 4],
    );
    if output::fits(&table) { table } else { list(rows) }
}

fn list(rows: &[Row<'_>]) -> String {
    let entries: Vec<String> = rows
        .iter()
        .map(|row| {
            let sign = if row.is_to_follow { "→ " } else { "" };
            let head = format!("{sign}{}: {}", row.plan.price, result(row.plan.result));
            let chance = format!("probability that all is enough: {}", percent(row.plan.chance_enough));
            [
                styled(STRONG, &output::hanging(&head, "", "  ")),
                output::hanging(&row.what(), "  ", "    "),
                output::hanging(&chance, "  ", "    "),
            ]
            .join("\n")
        })
        .collect();
    entries.join("\n")
}

/// A result, short enough for a column.
fn result(score: Score) -> String {
    let parts: Vec<String> =
        [(score.left_out, "without input"), (score.short, "short"), (score.tight, "tight")]
            .into_iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, what)| format!("{count} {what}"))
            .collect();
    if parts.is_empty() { Verdict::Enough.word().to_owned() } else { parts.join(", ") }
}

/// The candidates that are left out for one reason, and the reason.
fn why_not((reason, of): &(&str, Vec<&WhyNot>)) -> String {
    let named = of.iter().map(|why| {
        let price = why.price.map_or_else(|| "no price".to_owned(), |price| price.to_string());
        format!("{} ({price})", why.candidate)
    });
    format!("{}: {reason}", named.collect::<Vec<_>>().join("; "))
}

fn ask(ask: &OptionAsk) -> String {
    let mut lines = vec![styled(STRONG, "Ask or measure next"), output::paragraph(&ask.question, "  ")];
    lines.extend(ask.leads.iter().map(|lead| output::hanging(&lead_words(lead), "  – ", "    ")));
    lines.join("\n")
}

fn lead_words(lead: &Lead) -> String {
    let range = match (&lead.from, &lead.to) {
        (None, None) => "any answer".to_owned(),
        (None, Some(to)) => format!("below {to}"),
        (Some(from), None) => format!("{from} or more"),
        (Some(from), Some(to)) => format!("{from} to {to}"),
    };
    format!("{range} (probability {}): {}", percent(lead.chance), lead.then)
}

/// What the sources depend on that are in doubt; of all if that is asked for.
fn influences(answer: &OptionsAnswer, all: bool) -> Option<String> {
    let plan = to_follow(answer);
    let of_source = |name: &str| plan.sources.iter().find(|source| source.source == name);
    let shown: Vec<&SourceInfluences> = answer
        .influences
        .iter()
        .filter(|source| !source.figures.is_empty())
        .filter(|source| {
            all || of_source(&source.source)
                .is_none_or(|s| s.verdict != Verdict::Enough || s.chance_enough < DOUBT_BELOW)
        })
        .collect();
    let hidden = answer.influences.iter().filter(|source| !source.figures.is_empty()).count() - shown.len();
    if shown.is_empty() {
        return None;
    }
    let mut lines =
        vec![styled(STRONG, &output::paragraph("What it depends on, with the plan to follow", ""))];
    for source in &shown {
        let result = of_source(&source.source).map(|s| {
            format!(
                ": {}; the probability that it is enough is {}",
                s.verdict.word(),
                percent(s.chance_enough)
            )
        });
        let name = format!("{}{}", source.source, result.unwrap_or_default());
        lines.push(output::hanging(&name, "  ", "    "));
        let count = if all { source.figures.len() } else { SHOWN_FIGURES };
        let figures = source.figures.iter().take(count);
        lines.extend(figures.map(|figure| output::hanging(&influence(figure), "    – ", "      ")));
    }
    if hidden > 0 {
        let others = match hidden {
            1 => "one source that is".to_owned(),
            n => format!("{n} sources that are"),
        };
        lines.push(styled(
            QUIET,
            &output::hanging(&format!("and of {others} not in doubt (--all)"), "  ", "    "),
        ));
    }
    Some(lines.join("\n"))
}

fn influence(figure: &Influence) -> String {
    format!(
        "{} from {} to {}: probability {} to {}; a perfect preamp gains {} to {} dB",
        figure.figure,
        figure.low,
        figure.high,
        percent(figure.chance_low),
        percent(figure.chance_high),
        number(figure.penalty_low_db, 1),
        number(figure.penalty_high_db, 1),
    )
}
