//! What could be added or changed.

use super::case::{heading, sentences, with_case, with_site};
use super::file::not_saved;
use super::notice::go_home;
use super::{State, both_widths, csv_file, download, json_file, parts_of, plain, wrong};
use crate::layout::{self, Part};
use crate::shelf::Opened;
use crate::words;
use axum::extract::{Form, Path};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use gainsay_folder::adopt::adopt_changes;
use gainsay_folder::folder::Version;
use gainsay_picture::{Style, Width, options_frontier, options_frontier_inline, options_text_twin};
use gainsay_plan::options::{OptionsAnswer, Plan, by_reason};
use gainsay_plan::words::options::{left, plan, turning_point};
use gainsay_plan::words::percent;
use maud::{Markup, html};
use serde::Deserialize;
use std::time::SystemTime;

pub(crate) async fn page(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    with_options(site, name, |opened, answer| {
        let title = format!("{}: {}", words::OPTIONS, opened.case.title);
        layout::page(Part::Cases, &title, &content(opened, answer)).into_response()
    })
    .await
}

pub(crate) async fn picture(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    with_options(site, name, |opened, answer| {
        let svg = options_frontier(answer, &Style::default());
        download("image/svg+xml", &format!("{}-options.svg", opened.name), svg)
    })
    .await
}

pub(crate) async fn json(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    with_options(site, name, |opened, answer| json_file(&format!("{}-options.json", opened.name), answer))
        .await
}

/// The frontier as a table.
pub(crate) async fn csv(site: State, Path(name): Path<String>) -> Result<Response, Response> {
    with_options(site, name, |opened, answer| {
        let rows = answer.frontier.iter().enumerate().map(|(index, of)| {
            vec![
                of.price.to_string(),
                plan(of),
                of.verdict.word().to_owned(),
                left(of.result),
                plain(Some(of.chance_enough), 3),
                plain(Some(of.penalty_db), 2),
                if index == answer.recommended { "yes" } else { "no" }.to_owned(),
            ]
        });
        let head = [
            "price",
            "what to do",
            "verdict",
            "left",
            "probability that all is enough",
            "perfect preamps gain (dB)",
            "to follow",
        ];
        csv_file(&format!("{}-options.csv", opened.name), &head, rows)
    })
    .await
}

/// Which option is to be carried out, and on which version of the case.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Wanted {
    /// What it does, in its own words: whatever the order of the options is then, this is the one that was seen.
    plan: String,
    base: String,
}

/// Writes an option into the case file.
pub(crate) async fn make(
    site: State,
    Path(name): Path<String>,
    Form(wanted): Form<Wanted>,
) -> Result<Response, Response> {
    with_site(site, name, move |site, named, opened| {
        if Version::parse(&wanted.base) != Some(opened.version) {
            return layout::error(StatusCode::CONFLICT, words::OPTIONS_CHANGED);
        }
        let answer = match opened.options() {
            Ok(answer) => answer,
            Err(error) => return layout::error(StatusCode::UNPROCESSABLE_ENTITY, error),
        };
        let found = answer.frontier.iter().chain(&answer.without_changes).find(|of| plan(of) == wanted.plan);
        let Some(found) = found else {
            return layout::error(StatusCode::CONFLICT, words::NO_SUCH_OPTION);
        };
        let text = match adopt_changes(&opened.text, &opened.case, &found.changes) {
            Ok(text) => text,
            Err(error) => {
                let why = format!("Nothing was changed: {}; {}.", error.message(), error.mend());
                return layout::error(StatusCode::UNPROCESSABLE_ENTITY, &why);
            }
        };
        if let Err(error) = named.check(site, &text) {
            return wrong("This change does not fit into the case", &error);
        }
        let base = Some(opened.version);
        match site.shelf.folder().save(named.place, &named.name, &text, base, SystemTime::now()) {
            Ok(version) => go_home(named, base, version),
            Err(error) => not_saved(named, &text, base, &error),
        }
    })
    .await
}

async fn with_options(
    site: State,
    name: String,
    what: impl FnOnce(&Opened, &OptionsAnswer) -> Response + Send + 'static,
) -> Result<Response, Response> {
    with_case(site, name, move |opened| match opened.options() {
        Ok(answer) => what(opened, answer),
        Err(error) => layout::error(StatusCode::UNPROCESSABLE_ENTITY, error),
    })
    .await
}

fn content(opened: &Opened, answer: &OptionsAnswer) -> Markup {
    let root = format!("/cases/{}", opened.name);
    let draw = |width, prefix| {
        options_frontier_inline(answer, &Style { width, heading: false, prefix, ..Style::default() })
    };
    html! {
        (heading(opened))
        (parts_of(opened, words::OPTIONS))
        div.answer { (sentences(&answer.answer)) }
        figure {
            (both_widths(draw(Width::Wide, "wide"), draw(Width::Narrow, "narrow")))
            figcaption { details { summary { (words::IN_WORDS) } pre.twin { (options_text_twin(answer)) } } }
        }
        (table(opened, "From what costs nothing to the best", &answer.frontier, Some(answer.recommended)))
        @if !answer.without_changes.is_empty() {
            (table(opened, "If nothing about the recording itself may change", &answer.without_changes, None))
        }
        @if let Some(ask) = &answer.ask {
            section {
                h2 { (words::ASK_NEXT) }
                p { (ask.question) }
                ul {
                    @for lead in &ask.leads {
                        li { (between(lead.from.as_deref(), lead.to.as_deref())) ": " (lead.then) " " span.quiet { "(" (percent(lead.chance)) ")" } }
                    }
                }
            }
        }
        @if !answer.turning_points.is_empty() {
            section {
                h2 { "What would change the plan" }
                ul { @for point in &answer.turning_points { li { (turning_point(point)) } } }
            }
        }
        @if !answer.why_not.is_empty() {
            section {
                h2 { "Why not" }
                dl.reasons {
                    @for (reason, of) in by_reason(&answer.why_not) {
                        @for why in of {
                            dt { (why.candidate) @if let Some(price) = why.price { " " span.quiet { "(" (price) ")" } } }
                        }
                        dd { (reason) }
                    }
                }
            }
        }
        (layout::list(words::REMARKS, &answer.remarks))
        (layout::list(words::TAKE_CARE, &answer.cautions))
        p.keep { (words::DOWNLOAD) ": "
            a href={ (root) "/options.svg" } { (words::PICTURE_FILE) } ", "
            a href={ (root) "/options.csv" } { (words::TABLE_FILE) } ", "
            a href={ (root) "/options.json" } { (words::DATA_FILE) }
        }
    }
}

fn between(from: Option<&str>, to: Option<&str>) -> String {
    match (from, to) {
        (None, None) => "whatever it is".to_owned(),
        (None, Some(to)) => format!("below {to}"),
        (Some(from), None) => format!("above {from}"),
        (Some(from), Some(to)) => format!("from {from} to {to}"),
    }
}

fn table(opened: &Opened, heading: &str, plans: &[Plan], recommended: Option<usize>) -> Markup {
    html! {
        section {
            h2 { (heading) }
            div.wide-table tabindex="0" role="region" aria-label=(heading) {
                table {
                    thead { tr {
                        th.n scope="col" { "Price" } th scope="col" { "What to do" }
                        th scope="col" { "Result" } th.n scope="col" { "All enough" }
                    } }
                    tbody {
                        @for (index, of) in plans.iter().enumerate() {
                            tr.chosen[recommended == Some(index)] {
                                td.n { (of.price) }
                                th scope="row" {
                                    (plan(of))
                                    @if recommended == Some(index) { " " span.quiet { "(to follow)" } }
                                    @if !of.changes.is_empty() { (make_form(opened, of)) }
                                }
                                td { (layout::verdict(of.verdict)) @if of.result != gainsay_plan::options::Score::ENOUGH { " " span.quiet { (left(of.result)) } } }
                                td.n { (percent(of.chance_enough)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The button that writes a plan into the case.
fn make_form(opened: &Opened, of: &Plan) -> Markup {
    let what = plan(of);
    html! {
        form.make-change action={ "/cases/" (opened.name) "/options" } method="post" {
            input type="hidden" name="base" value=(opened.version);
            input type="hidden" name="plan" value=(what);
            button.small type="submit" aria-label={ (words::MAKE_CHANGE) ": " (what) } { (words::MAKE_CHANGE) }
        }
    }
}
