//! What could be added or changed.

use super::case::{heading, sentences, with_case};
use super::{State, both_widths, download, json_file, parts_of};
use crate::layout::{self, Part};
use crate::shelf::Opened;
use crate::words;
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use gainsay_picture::{Style, Width, options_frontier, options_frontier_inline, options_text_twin};
use gainsay_plan::options::{OptionsAnswer, Plan};
use gainsay_plan::words::options::{left, plan, turning_point};
use gainsay_plan::words::percent;
use maud::{Markup, html};

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
        (table("From what costs nothing to the best", &answer.frontier, Some(answer.recommended)))
        @if !answer.without_changes.is_empty() {
            (table("If nothing about the recording itself may change", &answer.without_changes, None))
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
                    @for why in &answer.why_not {
                        dt { (why.candidate) @if let Some(price) = why.price { " " span.quiet { "(" (price) ")" } } }
                        dd { (why.reason) }
                    }
                }
            }
        }
        (layout::list(words::REMARKS, &answer.remarks))
        (layout::list(words::TAKE_CARE, &answer.cautions))
        p.keep { (words::DOWNLOAD) ": "
            a href={ (root) "/options.svg" } { (words::PICTURE_FILE) } ", "
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

fn table(heading: &str, plans: &[Plan], recommended: Option<usize>) -> Markup {
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
