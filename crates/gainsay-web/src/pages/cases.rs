//! The cases of the folder.

use super::State;
use super::file::Named;
use super::question::Question;
use crate::layout::{self, Part};
use crate::safety::working;
use crate::words;
use axum::extract::Form;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use gainsay_folder::folder::{FileName, Place, SaveError};
use gainsay_folder::load;
use maud::html;
use std::path::Path;
use std::sync::Arc;
use std::time::SystemTime;

pub(crate) async fn page(site: State) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    let (cases, deleted) =
        working(move || (site.shelf.cases(), site.shelf.folder().deleted().unwrap_or_default())).await?;
    let deleted: Vec<_> = deleted.iter().filter(|(place, _, _)| *place == Place::Case).collect();
    let cases =
        cases.map_err(|error| layout::error(StatusCode::INTERNAL_SERVER_ERROR, &error.to_string()))?;
    let content = html! {
        h1 { (words::CASES) }
        @if cases.is_empty() { p { (words::NO_CASES) } }
        ul.shelf {
            @for case in &cases {
                li {
                    a href={ "/cases/" (case.name) } {
                        @match &case.what { Ok((title, _)) => (title), Err(_) => (case.name) }
                    }
                    @match &case.what {
                        Ok((_, Some(question))) => p.question { "“" (question) "”" },
                        Ok((_, None)) => {},
                        Err(_) => p.warn { (words::WRONG_FILE) "." },
                    }
                }
            }
        }
        @if !deleted.is_empty() {
            details {
                summary { (words::DELETED) }
                ul.shelf { @for (_, name, _) in &deleted { li { a href={ "/cases/" (name.stem()) "/history" } { (name.stem()) } } } }
            }
        }
    };
    Ok(layout::page(Part::Cases, words::CASES, &content).into_response())
}

/// Makes a case of a question, and goes there.
pub(crate) async fn create(site: State, Form(question): Form<Question>) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    working(move || {
        let text = question.case_text();
        for number in 1..100 {
            let title =
                if number == 1 { question.kind.clone() } else { format!("{} {number}", question.kind) };
            let name = FileName::from_title(&title)
                .or_else(|_| FileName::parse(&format!("case-{number}.toml")))
                .map_err(|error| layout::error(StatusCode::BAD_REQUEST, &error.to_string()))?;
            if let Err(error) =
                load(&site.shelf.folder().with_draft(Place::Case, &name, &text), Path::new(name.as_str()))
            {
                return Err(super::wrong("This question makes no case", &error));
            }
            match site.shelf.folder().save(Place::Case, &name, &text, None, SystemTime::now()) {
                Ok(version) => {
                    return Ok(super::notice::go_home(&Named { place: Place::Case, name }, None, version));
                }
                Err(SaveError::ChangedMeanwhile { .. }) => {}
                Err(error) => {
                    return Err(layout::error(StatusCode::INSUFFICIENT_STORAGE, &error.to_string()));
                }
            }
        }
        Err(layout::error(StatusCode::CONFLICT, "There are a hundred cases of this name: rename some."))
    })
    .await?
}
