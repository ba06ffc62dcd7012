//! The cases of the folder.

use super::State;
use super::file::Named;
use super::gear::library_of;
use super::notice::{go, go_home};
use super::question::{BOXES, Question, devices, kinds};
use crate::Site;
use crate::layout::{self, Part};
use crate::safety::working;
use crate::words;
use axum::extract::Form;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use gainsay_folder::folder::{FileName, Place, SaveError, Version};
use gainsay_folder::library::Library;
use gainsay_folder::load;
use maud::{Markup, html};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant, SystemTime};

/// How long a list of cases waits for the answers of those that nobody has opened yet.
const PATIENCE: Duration = Duration::from_millis(250);

pub(crate) async fn page(site: State) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || {
        let shelf = &site.shelf;
        let cases =
            shelf.cases().map_err(|error| layout::error(StatusCode::INTERNAL_SERVER_ERROR, &error.to_string()))?;
        let deleted = shelf.folder().deleted().unwrap_or_default();
        let deleted: Vec<_> = deleted.iter().filter(|(place, _, _)| *place == Place::Case).collect();
        let start = Instant::now();
        let answered = |name: &str| {
            let opened = if start.elapsed() < PATIENCE { shelf.open(name).ok() } else { shelf.opened(name) };
            opened.and_then(|opened| opened.answer.answer.first().cloned())
        };
        let content = html! {
            h1 { (words::CASES) }
            @if cases.is_empty() { p { (words::NO_CASES) } }
            ul.shelf {
                @for case in &cases {
                    li {
                        @match &case.what {
                            Ok((title, question)) => {
                                a href={ "/cases/" (case.name) } { (title) }
                                @if let Some(question) = question { p.question { "“" (question) "”" } }
                                @if let Some(answer) = answered(&case.name) { p { (answer) } }
                            },
                            Err(_) => {
                                a href={ "/cases/" (case.name) } { (case.name) }
                                p.warn { (words::WRONG_FILE) "." }
                            },
                        }
                    }
                }
            }
            (begin_form(&library_of(&site)?))
            @if !deleted.is_empty() {
                details {
                    summary { (words::DELETED) }
                    ul.shelf { @for (_, name, _) in &deleted { li { a href={ "/cases/" (name.stem()) "/history" } { (name.stem()) } } } }
                }
            }
        };
        Ok(layout::page(Part::Cases, words::CASES, &content).into_response())
    })
    .await?
}

fn begin_form(own: &Library) -> Markup {
    html! {
        form.begin action="/begin" method="post" {
            h2 { (words::NEW_CASE) }
            p.entry {
                label for="begin-title" { (words::CALLED) }
                input #begin-title type="text" name="title" maxlength="120" required autocomplete="off";
            }
            p.entry {
                label for="begin-kind" { (words::FIRST_SOURCE) }
                select #begin-kind name="kind" { (kinds("")) }
            }
            p.entry {
                label for="begin-into" { (words::PLUGGED_INTO) }
                select #begin-into name="into" { (devices(own, BOXES, "", None)) }
            }
            input type="hidden" name="microphone" value="";
            input type="hidden" name="distance" value="";
            p.buttons { button type="submit" { (words::BEGIN_CASE) } }
        }
    }
}

/// Makes a case of a question, and goes there.
pub(crate) async fn create(site: State, Form(question): Form<Question>) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || {
        let text = question.case_text(&library_of(&site)?);
        let (named, version) = save_new(&site, &question.kind, &text)?;
        Ok(go_home(&named, None, version))
    })
    .await?
}

/// Begins a case, and goes to its form.
pub(crate) async fn begin(site: State, Form(question): Form<Question>) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || {
        let text = question.case_text(&library_of(&site)?);
        let title = if question.title.trim().is_empty() { &question.kind } else { &question.title };
        let (named, version) = save_new(&site, title, &text)?;
        Ok(go(&named, "/edit", None, version))
    })
    .await?
}

/// Saves a case under the first name of its title that is free.
fn save_new(site: &Site, title: &str, text: &str) -> Result<(Named, Version), Response> {
    for number in 1..100 {
        let numbered = if number == 1 { title.to_owned() } else { format!("{title} {number}") };
        let name = FileName::from_title(&numbered)
            .or_else(|_| FileName::parse(&format!("case-{number}.toml")))
            .map_err(|error| layout::error(StatusCode::BAD_REQUEST, &error.to_string()))?;
        let draft = site.shelf.folder().with_draft(Place::Case, &name, text);
        if let Err(error) = load(&draft, Path::new(name.as_str())) {
            return Err(super::wrong("This makes no case", &error));
        }
        match site.shelf.folder().save(Place::Case, &name, text, None, SystemTime::now()) {
            Ok(version) => return Ok((Named { place: Place::Case, name }, version)),
            Err(SaveError::ChangedMeanwhile { .. }) => {}
            Err(error) => return Err(layout::error(StatusCode::INSUFFICIENT_STORAGE, &error.to_string())),
        }
    }
    Err(layout::error(StatusCode::CONFLICT, "There are a hundred cases of this name: rename some."))
}
