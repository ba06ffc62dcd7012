//! The shell of every page.

use crate::{assets, words};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use gainsay_plan::Verdict;
use maud::{DOCTYPE, Markup, html};

/// Which part of the site a page belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Part {
    Ask,
    Cases,
    Gear,
    None,
}

/// A page.
pub(crate) fn page(part: Part, title: &str, content: &Markup) -> Markup {
    let link = |of: Part, address: &str, name: &str| {
        html! { a href=(address) aria-current=[(part == of).then_some("page")] { (name) } }
    };
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="htmx-config" content="{\"includeIndicatorStyles\":false,\"allowEval\":false,\"historyCacheSize\":0,\"defaultSettleDelay\":0}";
                title { (title) @if title != words::NAME { " – " (words::NAME) } }
                link rel="icon" href=(assets::address("icon.svg")) type="image/svg+xml";
                link rel="preload" href=(assets::address("source-serif-4-normal.woff2")) as="font" type="font/woff2" crossorigin;
                link rel="stylesheet" href=(assets::address("page.css"));
                script src=(assets::address("htmx.js")) defer {}
                script src=(assets::address("page.js")) defer {}
            }
            body {
                a.skip href="#text" { (words::SKIP) }
                header.site {
                    a.name href="/" { (words::NAME) }
                    nav aria-label="Parts" {
                        (link(Part::Ask, "/", words::ASK))
                        (link(Part::Cases, "/cases", words::CASES))
                        (link(Part::Gear, "/gear", words::GEAR))
                    }
                }
                div #news role="status" aria-live="polite" {}
                main #text tabindex="-1" { (content) }
            }
        }
    }
}

/// A page that says what went wrong.
pub(crate) fn error(status: StatusCode, why: &str) -> Response {
    let content = html! {
        h1 { (status.canonical_reason().unwrap_or("Error")) }
        p { (why) }
        p { a href="/" { "To the first page" } }
    };
    (status, page(Part::None, status.canonical_reason().unwrap_or("Error"), &content)).into_response()
}

/// Nothing is there.
pub(crate) fn not_found() -> Response {
    error(StatusCode::NOT_FOUND, words::NOT_FOUND)
}

/// A verdict: a word, with a mark beside it.
pub(crate) fn verdict(verdict: Verdict) -> Markup {
    let (class, mark) = match verdict {
        Verdict::Enough => ("enough", "✓"),
        Verdict::Tight => ("tight", "~"),
        Verdict::Short => ("short", "✗"),
    };
    html! { span.verdict.(class) { span aria-hidden="true" { (mark) } " " (verdict.word()) } }
}

/// A list under a small heading, if there is anything in it.
pub(crate) fn list(heading: &str, items: &[String]) -> Markup {
    html! {
        @if !items.is_empty() {
            section {
                h2 { (heading) }
                ul { @for item in items { li { (item) } } }
            }
        }
    }
}
