//! Forms for everything that a file can hold, made from the format's own schema.

mod edits;
mod schema;

use super::file::{Named, meanwhile, not_saved, send_to, ways};
use super::notice::{Saved, go_added, go_home, gone, notice};
use super::{State, problems};
use crate::layout;
use crate::safety::working;
use crate::words;
use axum::extract::{Form, Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use edits::edits;
use gainsay_folder::LoadError;
use gainsay_folder::edit::apply_all;
use gainsay_folder::folder::Version;
use gainsay_gear::{Catalogue, DeviceType};
use maud::{Markup, html};
use schema::{Edited, Sort, as_text, join, schema_of, words_of};
use serde_json::Value;
use std::collections::HashMap;
use std::sync::Arc;
use std::time::SystemTime;

/// Most fields that a form may send.
const MOST_FIELDS: usize = 20_000;

pub(crate) async fn page(
    site: State,
    Path((place, stem)): Path<(String, String)>,
    Query(saved): Query<Saved>,
) -> Result<Response, Response> {
    let named = Named::of(&place, &stem)?;
    let site = Arc::clone(&site.0);
    working(move || match site.shelf.folder().read(named.place, &named.name) {
        Ok(read) => {
            let notice = notice(&site, &named, &saved, Some(read.version), None);
            form_page(&named, &read.text, Some(read.version), HashMap::new(), None, (&notice, &saved.added))
        }
        Err(_) => gone(&site, &named).unwrap_or_else(layout::not_found),
    })
    .await
}

/// The form; where the text is no TOML, its text instead.
fn form_page(
    named: &Named,
    text: &str,
    base: Option<Version>,
    typed: HashMap<String, String>,
    wrong: Option<&LoadError>,
    (notice, added): (&Markup, &str),
) -> Response {
    let Ok(document) = toml::from_str::<Value>(text) else {
        return Redirect::to(&format!("{}/file", named.address())).into_response();
    };
    let (schema, root) = schema_of(named, &document);
    let edited = Edited { schema, typed, added: added.to_owned() };
    let status = if wrong.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    let content = html! {
        (ways(named, words::FORM))
        (notice)
        @if let Some(wrong) = wrong { div role="alert" { (problems(wrong)) } }
        form.fields data-typed="do=both" action=(send_to(named, "edit")) method="post" {
            input type="hidden" name="base" value=(base.map(|version| version.to_string()).unwrap_or_default());
            // The first button is what Enter means.
            button.first-button type="submit" name="do" value="save" { (words::SAVE) }
            (fields(&edited, "", &root, Some(&document)))
            p.buttons {
                button type="submit" name="do" value="save" { (words::SAVE) }
                a href=(named.address()) { (words::LET_IT_BE) }
            }
        }
        (known_names())
    };
    (status, layout::page(named.part(), named.name.stem(), &content)).into_response()
}

/// More tables of one name than this are shut at first.
const MOST_OPEN: usize = 3;

/// The fields that are usually filled in a table of which there are many; nothing where all are.
fn usual_fields(path: &str) -> Option<&'static [&'static str]> {
    match path.split_once('[')?.0 {
        "source" if !path.contains('.') => {
            Some(&["name", "kind", "microphone", "distance", "booster", "cable", "turns"])
        }
        "option" => Some(&["device", "price", "count"]),
        _ => None,
    }
}

/// Plain fields first, then tables.
fn fields(edited: &Edited<'_>, path: &str, schema: &Value, value: Option<&Value>) -> Markup {
    let properties = schema.get("properties").and_then(Value::as_object);
    let all: Vec<(&String, &Value)> = properties.into_iter().flatten().collect();
    let is_table = |field: &Value| matches!(edited.sort(field), Sort::Table(_) | Sort::Tables(_));
    let (tables, plain): (Vec<_>, Vec<_>) = all.into_iter().partition(|(_, field)| is_table(field));
    // What is said, and what usually is, stands there; the rest can be opened.
    let is_usual = |key: &str| usual_fields(path).is_none_or(|usual| usual.contains(&key));
    let is_said = |key: &str| {
        value.and_then(|value| value.get(key)).is_some()
            || edited.typed.get(&join(path, key)).is_some_and(|typed| !typed.trim().is_empty())
    };
    let (shown, more): (Vec<_>, Vec<_>) =
        plain.into_iter().partition(|(key, _)| is_usual(key) || is_said(key));
    html! {
        @if !shown.is_empty() {
            div.grid { @for (key, field) in shown { (one(edited, path, key, field, value)) } }
        }
        @if !more.is_empty() {
            details.more {
                summary { (words::MORE_FIELDS) }
                div.grid { @for (key, field) in more { (one(edited, path, key, field, value)) } }
            }
        }
        @for (key, field) in tables { (one(edited, path, key, field, value)) }
    }
}

fn one(edited: &Edited<'_>, path: &str, key: &str, field: &Value, parent: Option<&Value>) -> Markup {
    let path = join(path, key);
    let value = parent.and_then(|parent| parent.get(key));
    let about = field.get("description").and_then(Value::as_str).unwrap_or_default();
    let label = words::label(key);
    match edited.sort(field) {
        Sort::Table(schema) => html! {
            details.table open[value.is_some()] {
                summary { strong { (label) } " " span.quiet { (described(about)) } }
                (fields(edited, &path, schema, value))
            }
        },
        Sort::Tables(schema) => {
            let entries = value.and_then(Value::as_array).map_or(0, Vec::len);
            html! {
                section.tables {
                    h2 { (label) }
                    p.quiet { (described(about)) }
                    @for index in 0..entries {
                        @let entry = format!("{path}[{index}]");
                        @let of = value.and_then(|value| value.get(index));
                        @let name = of.and_then(|of| ["name", "device", "label", "source"].into_iter().find_map(|key| of.get(key))).map(as_text);
                        @let name = name.unwrap_or_else(|| format!("{label} {}", index + 1));
                        @let added = edited.added == path && index + 1 == entries;
                        details.one open[entries <= MOST_OPEN || added || !edited.typed.is_empty()] id=[added.then_some("added")] {
                            summary { (name) }
                            fieldset aria-label=(name) {
                                (fields(edited, &entry, schema, of))
                                p.buttons {
                                    @if index > 0 { button type="submit" name="do" value={ "up " (entry) } { (words::MOVE_UP) } }
                                    button type="submit" name="do" value={ "remove " (entry) } { (words::REMOVE) }
                                }
                            }
                        }
                    }
                    p.buttons { button type="submit" name="do" value={ "add " (path) } { (words::add(key)) } }
                }
            }
        }
        sort => {
            let text = edited.text(&path, value);
            html! {
                p.entry {
                    label for=(path) { (label) }
                    (control(&path, key, sort, &text))
                    @if !about.is_empty() { span.hint { (described(about)) } }
                }
            }
        }
    }
}

/// A description, in which what is typed as it stands is between backticks.
fn described(about: &str) -> Markup {
    html! {
        @for (index, part) in about.split('`').enumerate() {
            @if index % 2 == 1 { code { (part) } } @else { (part) }
        }
    }
}

fn control(path: &str, key: &str, sort: Sort<'_>, text: &str) -> Markup {
    match sort {
        Sort::Flag => html! {
            select #(path) name=(path) {
                option value="" selected[text.is_empty()] { "–" }
                option value="yes" selected[text == "yes"] { "yes" }
                option value="no" selected[text == "no"] { "no" }
            }
        },
        Sort::OneOf(schema) => {
            let words = words_of(schema);
            html! {
                select #(path) name=(path) {
                    option value="" selected[text.is_empty()] { "–" }
                    @for word in &words { option value=(word) selected[word == text] { (word) } }
                }
            }
        }
        Sort::Number | Sort::Whole => {
            html! { input #(path) type="text" inputmode="decimal" name=(path) value=(text) maxlength="40"; }
        }
        Sort::Figure(example) => {
            html! { input #(path) type="text" name=(path) value=(text) placeholder=(example) maxlength="200"; }
        }
        Sort::Text if matches!(key, "question" | "note") => {
            html! { textarea #(path) name=(path) rows="2" { "\n" (text) } }
        }
        _ => {
            let list = match key {
                "kind" => Some("known-kinds"),
                "microphone" => Some("known-microphones"),
                "booster" => Some("known-boosters"),
                "device" => Some("known-devices"),
                _ => None,
            };
            html! { input #(path) type="text" name=(path) value=(text) list=[list] maxlength="2000"; }
        }
    }
}

/// Names that can be typed by their beginning.
fn known_names() -> Markup {
    let catalogue = Catalogue::embedded();
    let devices = |of: &[DeviceType]| -> Vec<(String, String)> {
        of.iter().flat_map(|of| catalogue.devices(*of)).map(|device| (device.id, device.name)).collect()
    };
    let list = |id: &str, all: Vec<(String, String)>| {
        html! { datalist #(id) { @for (value, words) in &all { option value=(value) { (words) } } } }
    };
    html! {
        (list("known-kinds", catalogue.source_names().map(|name| (name.to_owned(), name.to_owned())).collect()))
        (list("known-microphones", devices(&[DeviceType::Microphone])))
        (list("known-boosters", devices(&[DeviceType::Booster])))
        (list("known-devices", devices(&[DeviceType::Interface, DeviceType::Preamp, DeviceType::Converter, DeviceType::Microphone, DeviceType::Booster])))
    }
}

pub(crate) async fn save(
    site: State,
    Path((place, stem)): Path<(String, String)>,
    Form(form): Form<Vec<(String, String)>>,
) -> Result<Response, Response> {
    let named = Named::of(&place, &stem)?;
    if form.len() > MOST_FIELDS {
        return Err(layout::error(StatusCode::PAYLOAD_TOO_LARGE, "These are more fields than a file has."));
    }
    let site = Arc::clone(&site.0);
    working(move || {
        let mut typed: HashMap<String, String> = HashMap::new();
        let (mut action, mut base) = (String::new(), String::new());
        for (name, value) in form {
            match name.as_str() {
                "do" => action = value,
                "base" => base = value,
                _ => {
                    typed.insert(name, value.replace("\r\n", "\n"));
                }
            }
        }
        let base = Version::parse(&base);
        let folder = site.shelf.folder();
        // What was typed belongs to the version that the form was made from.
        let from = base.and_then(|base| match folder.read(named.place, &named.name) {
            Ok(read) if read.version == base => Some(read),
            _ => folder.earlier(named.place, &named.name, base).ok(),
        });
        let Some(from) = from else {
            return layout::error(StatusCode::CONFLICT, "The file that this form was made from is gone.");
        };
        let edits = match edits(&named, &from.text, &typed, &action) {
            Ok(edits) => edits,
            Err(message) => return layout::error(StatusCode::UNPROCESSABLE_ENTITY, &message),
        };
        let text = match apply_all(&from.text, &edits) {
            Ok(text) => text,
            Err(error) => {
                let why = format!("{}; {}", error.message(), error.mend());
                return layout::error(StatusCode::UNPROCESSABLE_ENTITY, &why);
            }
        };
        if let Some(meanwhile) = meanwhile(&site, &named, &text, base, action == "both") {
            return meanwhile;
        }
        let only_saved = action == "save" || action.is_empty();
        // A table that has just been added may still lack what it needs.
        if let (Err(wrong), true) = (named.check(&site, &text), only_saved) {
            return form_page(&named, &from.text, base, typed, Some(&wrong), (&html! {}, ""));
        }
        match folder.save(named.place, &named.name, &text, base, SystemTime::now()) {
            Ok(version) if only_saved => go_home(&named, base, version),
            Ok(version) => go_added(&named, &action, base, version),
            Err(error) => not_saved(&named, &text, base, &error),
        }
    })
    .await
}
