//! A case: the answer, the picture, the table, what was assumed, what to ask next.

use super::file::Named;
use super::notice::{Saved, gone, notice};
use super::{State, both_widths, cannot_open, csv_file, download, json_file, parts_of, plain};
use crate::Site;
use crate::layout::{self, Part};
use crate::safety::working;
use crate::shelf::{OpenError, Opened};
use crate::words;
use axum::extract::{Path, Query};
use axum::response::{IntoResponse, Response};
use gainsay_picture::{Style, Width, level_diagram, level_diagram_inline, text_twin};
use gainsay_plan::words::{interval, number};
use gainsay_plan::{Answer, SourceAnswer, Verdict};
use maud::{Markup, html};
use std::sync::Arc;

/// How many assumed figures are shown unfolded.
const SHOWN_ASSUMPTIONS: usize = 8;

/// Opens a case and makes something of it, away from the threads that answer.
pub(crate) async fn with_case(
    site: State,
    name: String,
    what: impl FnOnce(&Opened) -> Response + Send + 'static,
) -> Result<Response, Response> {
    with_site(site, name, |_, _, opened| what(opened)).await
}

/// The same where more of the folder is needed than the case.
pub(crate) async fn with_site(
    site: State,
    name: String,
    what: impl FnOnce(&Site, &Named, &Opened) -> Response + Send + 'static,
) -> Result<Response, Response> {
    let named = Named::of("cases", &name)?;
    let site = Arc::clone(&site.0);
    working(move || match site.shelf.open(&name) {
        Ok(opened) => what(&site, &named, &opened),
        Err(OpenError::None) => gone(&site, &named).unwrap_or_else(layout::not_found),
        Err(error) => cannot_open(&name, &error),
    })
    .await
}

pub(crate) async fn page(
    site: State,
    Path(name): Path<String>,
    Query(saved): Query<Saved>,
) -> Result<Response, Response> {
    with_site(site, name, move |site, named, opened| {
        let notice = notice(site, named, &saved, Some(opened.version), Some(opened));
        layout::page(Part::Cases, &opened.case.title, &content(opened, &notice)).into_response()
    })
    .await
}

/// The sources as a table.
pub(crate) async fn csv(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    with_case(site, name, |opened| {
        let rows = opened.answer.sources.iter().map(|source| {
            let result = source.result.as_ref();
            let of = |estimate: Option<&gainsay_plan::Estimate>| {
                let figures = [estimate.map(|e| e.median), estimate.map(|e| e.low), estimate.map(|e| e.high)];
                figures.map(|figure| plain(figure, 2))
            };
            let mut row = vec![
                source.name.clone(),
                source.input.clone().unwrap_or_default(),
                result.map_or(Verdict::Short, |result| result.verdict).word().to_owned(),
                result.map_or_else(|| "inputs".to_owned(), |result| result.limit_words.clone()),
                plain(result.and_then(|result| result.gain_db), 1),
            ];
            row.extend(of(result.map(|result| &result.peak_dbfs)));
            row.extend(of(result.map(|result| &result.noise_dbfs_a)));
            row.extend(of(result.map(|result| &result.penalty_db)));
            row
        });
        csv_file(&format!("{}-sources.csv", opened.name), &SOURCES_HEAD, rows)
    })
    .await
}

/// Columns of the table of sources; intervals hold the truth with a probability of 95 %.
const SOURCES_HEAD: [&str; 14] = [
    "source",
    "into",
    "verdict",
    "limited by",
    "gain (dB)",
    "peak (dBFS)",
    "peak, low",
    "peak, high",
    "noise (dBFS, A-weighted)",
    "noise, low",
    "noise, high",
    "perfect preamp gains (dB)",
    "gains, low",
    "gains, high",
];

pub(crate) async fn levels(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    with_case(site, name, |opened| {
        let svg = level_diagram(&opened.answer, &style(opened, Width::Wide));
        download("image/svg+xml", &format!("{}.svg", opened.name), svg)
    })
    .await
}

pub(crate) async fn json(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    with_case(site, name, |opened| json_file(&format!("{}.json", opened.name), &opened.answer)).await
}

pub(crate) fn style(opened: &Opened, width: Width) -> Style<'static> {
    Style {
        width,
        peak_target_dbfs: opened.case.session.peak_target.value.dbfs(),
        heading: false,
        prefix: if width == Width::Narrow { "narrow" } else { "wide" },
        ..Style::default()
    }
}

/// Title and question.
pub(crate) fn heading(opened: &Opened) -> Markup {
    html! {
        h1 { (opened.case.title) }
        @if let Some(question) = &opened.case.question { p.question { "“" (question) "”" } }
    }
}

fn content(opened: &Opened, notice: &Markup) -> Markup {
    let answer = &opened.answer;
    let root = format!("/cases/{}", opened.name);
    html! {
        (heading(opened))
        (parts_of(opened, words::ANSWER))
        (notice)
        div.answer { (sentences(&answer.answer)) }
        (verdicts(answer))
        figure {
            (both_widths(
                level_diagram_inline(answer, &style(opened, Width::Wide)),
                level_diagram_inline(answer, &style(opened, Width::Narrow)),
            ))
            figcaption {
                details { summary { (words::IN_WORDS) } pre.twin { (text_twin(answer)) } }
            }
        }
        (table(answer, &root))
        @if let Some(ask) = &answer.ask {
            section { h2 { (words::ASK_NEXT) } p { (ask.question) } }
        }
        (layout::list(words::REMARKS, &answer.remarks))
        (assumed(answer))
        (layout::list(words::TAKE_CARE, &answer.cautions))
        p.keep { (words::DOWNLOAD) ": "
            a href={ (root) "/levels.svg" } { (words::PICTURE_FILE) } ", "
            a href={ (root) "/sources.csv" } { (words::TABLE_FILE) } ", "
            a href={ (root) "/answer.json" } { (words::DATA_FILE) }
        }
    }
}

/// Sentences of an answer; the first stands out.
pub(crate) fn sentences(sentences: &[String]) -> Markup {
    html! {
        @if let Some((first, rest)) = sentences.split_first() {
            p.first { (first) }
            @if !rest.is_empty() { p { (rest.join(" ")) } }
        }
    }
}

/// Inputs, level, colour.
fn verdicts(answer: &Answer) -> Markup {
    let inputs = &answer.inputs;
    let limit = answer.sources.iter().filter_map(|source| source.result.as_ref()).max_by_key(|r| r.verdict);
    html! {
        dl.verdicts {
            div {
                dt { (words::INPUTS) }
                dd { (layout::verdict(inputs.verdict)) " " span.quiet { (inputs.used) " of " (inputs.needed) " needed" } }
            }
            @if let Some(level) = answer.level {
                div {
                    dt { (words::LEVEL) }
                    dd { (layout::verdict(level)) @if let Some(limit) = limit { " " span.quiet { "limited by " (limit.limit_words) } } }
                }
            }
            div {
                dt { (words::COLOUR) }
                dd.quiet {
                    @if answer.colour_wanted.is_empty() { (words::NOT_WANTED) } @else { (words::ONLY_IF_COLOUR) }
                }
            }
        }
    }
}

/// All sources.
fn table(answer: &Answer, root: &str) -> Markup {
    html! {
        div.wide-table tabindex="0" role="region" aria-label="All sources" {
            table {
                thead { tr {
                    th scope="col" { "Source" }
                    th scope="col" { "Into" }
                    th.n scope="col" { "Gain, dB" }
                    th.n scope="col" { "Peak, dBFS" }
                    th.n scope="col" { "Noise, dBFS A-weighted" }
                    th.n scope="col" { "Perfect preamp gains, dB" }
                    th scope="col" { "Limited by" }
                    th scope="col" { "Verdict" }
                } }
                tbody {
                    @for (index, source) in answer.sources.iter().enumerate() { (row(source, index, root)) }
                }
            }
        }
        p.quiet.small { (words::BRACKETS) }
    }
}

fn row(source: &SourceAnswer, index: usize, root: &str) -> Markup {
    html! {
        tr {
            th scope="row" {
                @if source.result.is_some() { a href={ (root) "/sources/" (index + 1) } { (source.name) } }
                @else { (source.name) }
            }
            td { (source.input.clone().unwrap_or_else(|| "–".to_owned())) }
            @match &source.result {
                Some(result) => {
                    td.n { (result.gain_db.map_or_else(|| "line".to_owned(), |gain| number(gain, 0))) }
                    td.n { (interval(&result.peak_dbfs)) }
                    td.n { (interval(&result.noise_dbfs_a)) }
                    td.n { (interval(&result.penalty_db)) }
                    td { (result.limit_words) }
                    td { (layout::verdict(result.verdict)) }
                },
                None => {
                    td.n { "–" } td.n { "–" } td.n { "–" } td.n { "–" } td { "inputs" }
                    td { (layout::verdict(Verdict::Short)) }
                },
            }
        }
    }
}

fn assumed(answer: &Answer) -> Markup {
    let (shown, rest) = answer.assumed.split_at(answer.assumed.len().min(SHOWN_ASSUMPTIONS));
    let list = |all: &[gainsay_plan::Assumption]| {
        html! {
            ul {
                @for assumption in all {
                    li {
                        (assumption.figure) ": " (assumption.value) " "
                        span.quiet { "(" (assumption.from.word()) @if let Some(note) = &assumption.note { ": " (note) } ")" }
                    }
                }
            }
        }
    };
    html! {
        @if !answer.assumed.is_empty() {
            section {
                h2 { (words::ASSUMED) }
                (list(shown))
                @if !rest.is_empty() { details { summary { "and " (rest.len()) " more that matter less" } (list(rest)) } }
            }
        }
    }
}
