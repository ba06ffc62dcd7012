//! The pages, one module for each.

mod case;
mod cases;
mod file;
mod form;
pub(crate) mod gear;
mod notice;
mod options;
mod patch;
mod question;
mod source;

use crate::shelf::{OpenError, Opened};
use crate::{Site, assets, layout, words};
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::{HeaderName, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use layout::Part;
use maud::{Markup, html};
use std::sync::Arc;

pub(crate) type State = axum::extract::State<Arc<Site>>;

pub(crate) fn router() -> Router<Arc<Site>> {
    Router::new()
        .route("/", get(question::page))
        .route("/cases", get(cases::page).post(cases::create))
        .route("/begin", post(cases::begin))
        .route("/cases/{case}", get(case::page))
        .route("/cases/{case}/sources.csv", get(case::csv))
        .route("/cases/{case}/patch.csv", get(patch::csv))
        .route("/cases/{case}/options.csv", get(options::csv))
        .route("/cases/{case}/levels.svg", get(case::levels))
        .route("/cases/{case}/answer.json", get(case::json))
        .route("/cases/{case}/sources/{number}", get(source::page).post(source::keep))
        .route("/cases/{case}/sources/{number}/what-if", get(source::what_if))
        .route("/cases/{case}/patch", get(patch::page))
        .route("/cases/{case}/patch.svg", get(patch::picture))
        .route("/cases/{case}/patch.json", get(patch::json))
        .route("/cases/{case}/options", get(options::page).post(options::make))
        .route("/cases/{case}/options.svg", get(options::picture))
        .route("/cases/{case}/options.json", get(options::json))
        .route("/gear", get(gear::library::page))
        .route(
            "/gear/sheet",
            get(gear::sheet::page)
                .post(gear::sheet::read)
                .layer(DefaultBodyLimit::max(gear::sheet::LARGEST_REQUEST)),
        )
        .route("/gear/compare", get(gear::compare::page))
        .route("/gear/compare.csv", get(gear::compare::csv))
        .route("/gear/compare.svg", get(gear::compare::svg))
        .route("/gear/compare.json", get(gear::compare::json))
        .route("/gear/copy", post(gear::copy::keep))
        .route("/gear/{device}", get(gear::device::page))
        .route("/gear/{device}/device.toml", get(gear::device::toml))
        .route("/gear/{device}/device.json", get(gear::device::json))
        .route("/gear/{device}/remove", get(gear::remove::page).post(gear::remove::remove))
        .route("/{place}/{name}/edit", get(form::page).post(form::save))
        .route("/{place}/{name}/file", get(file::page).post(file::save))
        .route("/{place}/{name}/history", get(file::history).post(file::restore))
        .route("/{place}/{name}/undo", post(notice::undo))
        .route("/{place}/{name}/delete", post(notice::delete))
        .route("/revision", get(revision))
        .route("/assets/{hash}/{name}", get(assets::serve))
        .fallback(async || layout::not_found())
}

/// What the folder is like: changes with any of its files, for pages that refresh.
async fn revision(site: State) -> Result<Response, Response> {
    let site = Arc::clone(&site.0);
    crate::safety::working(move || site.shelf.revision().into_response()).await
}

/// A page that says what is wrong in which files.
pub(crate) fn wrong(heading: &str, error: &gainsay_folder::LoadError) -> Response {
    let content = html! { h1 { (heading) } (problems(error)) };
    (StatusCode::UNPROCESSABLE_ENTITY, layout::page(Part::None, heading, &content)).into_response()
}

/// Why a case can't be shown.
pub(crate) fn cannot_open(name: &str, error: &OpenError) -> Response {
    match error {
        OpenError::None => layout::not_found(),
        OpenError::Missing(what) => layout::error(StatusCode::UNPROCESSABLE_ENTITY, what),
        OpenError::Wrong(error) => {
            let content = html! {
                h1 { (name) }
                p { (words::WRONG_FILE) ". " a href={ "/cases/" (name) "/file" } { (words::TEXT) } }
                (problems(error))
            };
            (StatusCode::UNPROCESSABLE_ENTITY, layout::page(Part::Cases, name, &content)).into_response()
        }
    }
}

/// What is wrong in which files, with the lines.
pub(crate) fn problems(error: &gainsay_folder::LoadError) -> Markup {
    html! {
        @for file in &error.files {
            @let name = file.path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            @for problem in &file.problems {
                @let (line, column) = file.line_and_column(problem);
                section.problem {
                    p { strong { (name) ", line " (line) ", column " (column) } ": " (problem.message) }
                    @if let Some(text) = file.text.lines().nth(line.saturating_sub(1)) {
                        pre { code { (text) } }
                    }
                    p.quiet { (problem.mend) }
                }
            }
        }
    }
}

/// The parts of a case.
pub(crate) fn parts_of(opened: &Opened, here: &str) -> Markup {
    let root = format!("/cases/{}", opened.name);
    let link = |address: String, name: &str| {
        html! { a href=(address) aria-current=[(here == name).then_some("page")] { (name) } }
    };
    html! {
        nav.parts aria-label="Parts of the case" {
            (link(root.clone(), words::ANSWER))
            (link(format!("{root}/patch"), words::PATCH))
            (link(format!("{root}/options"), words::OPTIONS))
            (link(format!("{root}/edit"), words::CHANGE))
        }
    }
}

/// A file to keep.
pub(crate) fn download(media_type: &'static str, name: &str, text: String) -> Response {
    let disposition = format!("attachment; filename=\"{name}\"");
    let headers: [(HeaderName, String); 2] =
        [(header::CONTENT_TYPE, media_type.to_owned()), (header::CONTENT_DISPOSITION, disposition)];
    (headers, text).into_response()
}

/// JSON with numbers to four decimals, which is finer than any of them is known.
pub(crate) fn json_text<T: serde::Serialize>(value: &T) -> Result<String, serde_json::Error> {
    let mut value = serde_json::to_value(value)?;
    round(&mut value);
    serde_json::to_string_pretty(&value)
}

fn round(value: &mut serde_json::Value) {
    match value {
        serde_json::Value::Number(number) if number.is_f64() => {
            let rounded = number.as_f64().map(|n| (n * 1e4).round() / 1e4);
            let rounded = rounded.map(|n| if n.abs() > 0.0 { n } else { 0.0 });
            if let Some(rounded) = rounded.and_then(serde_json::Number::from_f64) {
                *number = rounded;
            }
        }
        serde_json::Value::Array(items) => items.iter_mut().for_each(round),
        serde_json::Value::Object(fields) => fields.values_mut().for_each(round),
        _ => {}
    }
}

/// A JSON file to keep.
pub(crate) fn json_file<T: serde::Serialize>(name: &str, value: &T) -> Response {
    match json_text(value) {
        Ok(text) => download("application/json", name, text),
        Err(_) => layout::error(StatusCode::INTERNAL_SERVER_ERROR, "That can't be written as JSON."),
    }
}

/// A picture in both widths: style sheets show the one that fits. The narrow one may be left out where the window is wide.
pub(crate) fn both_widths(wide: String, narrow: impl Into<Option<String>>) -> Markup {
    html! {
        div.picture.wide { (maud::PreEscaped(wide)) }
        @if let Some(narrow) = narrow.into() { div.picture.narrow { (maud::PreEscaped(narrow)) } }
    }
}

/// A table to keep (RFC 4180).
pub(crate) fn csv_file(name: &str, head: &[&str], rows: impl Iterator<Item = Vec<String>>) -> Response {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let written = writer.write_record(head).and_then(|()| {
        for row in rows {
            writer.write_record(row)?;
        }
        Ok(writer.into_inner().unwrap_or_default())
    });
    match written.map(String::from_utf8) {
        Ok(Ok(text)) => download("text/csv; charset=utf-8", name, text),
        _ => layout::error(StatusCode::INTERNAL_SERVER_ERROR, "That can't be written as a table."),
    }
}

/// A number as a program reads it; nothing where there is none.
pub(crate) fn plain(number: Option<f64>, decimals: usize) -> String {
    number.map(|number| format!("{number:.decimals$}")).unwrap_or_default()
}
