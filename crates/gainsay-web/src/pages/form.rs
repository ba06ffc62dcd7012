//! Forms for everything that a file can hold, made from the format's own schema.

use super::file::{Named, not_saved, ways};
use super::{State, problems};
use crate::layout;
use crate::safety::working;
use crate::words;
use axum::extract::{Form, Path};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use gainsay_folder::LoadError;
use gainsay_folder::edit::{Edit, FieldPath, Value as NewValue, apply_all};
use gainsay_folder::folder::{Place, Version};
use gainsay_gear::{Catalogue, DeviceType};
use maud::{Markup, html};
use serde_json::Value;
use std::collections::HashMap;
use std::sync::{Arc, LazyLock};
use std::time::SystemTime;

/// Most fields that a form may send.
const MOST_FIELDS: usize = 20_000;

static CASE: LazyLock<Value> =
    LazyLock::new(|| serde_json::to_value(gainsay_plan::case::schema()).unwrap_or_default());
static DEVICE: LazyLock<Value> =
    LazyLock::new(|| serde_json::to_value(gainsay_gear::device_schema()).unwrap_or_default());

/// What a field holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sort<'a> {
    /// Text.
    Text,
    /// A figure: text, or a table with a value.
    Figure(&'a str),
    /// One of several words.
    OneOf(&'a Value),
    Flag,
    Number,
    Whole,
    /// Several texts, words or numbers.
    List(&'a Value),
    /// Fields of its own.
    Table(&'a Value),
    /// Several tables.
    Tables(&'a Value),
}

/// A file that is edited: what its format allows, what it holds, and what was typed.
struct Edited<'a> {
    schema: &'a Value,
    typed: HashMap<String, String>,
}

impl Edited<'_> {
    /// The definition behind a reference.
    fn resolve<'s>(&'s self, schema: &'s Value) -> &'s Value {
        let reference = schema.get("$ref").and_then(Value::as_str).and_then(|r| r.strip_prefix('#'));
        reference.and_then(|pointer| self.schema.pointer(pointer)).unwrap_or(schema)
    }

    fn sort<'s>(&'s self, field: &'s Value) -> Sort<'s> {
        // What may be left out is one of itself and null.
        let of = field.get("anyOf").and_then(Value::as_array);
        let of = of.and_then(|all| all.iter().find(|one| one.get("type") != Some(&Value::from("null"))));
        let inner = of.unwrap_or(field);
        if inner.get("$ref").and_then(Value::as_str) == Some("#/$defs/Figure") {
            let example = inner.pointer("/examples/0").and_then(Value::as_str);
            return Sort::Figure(example.unwrap_or_default());
        }
        let schema = self.resolve(inner);
        if schema.get("oneOf").is_some() || schema.get("enum").is_some() {
            return Sort::OneOf(schema);
        }
        let types = match schema.get("type") {
            Some(Value::String(one)) => vec![one.as_str()],
            Some(Value::Array(all)) => all.iter().filter_map(Value::as_str).collect(),
            _ => Vec::new(),
        };
        if types.contains(&"array") {
            let items = schema.get("items").unwrap_or(&Value::Null);
            let items = self.resolve(items);
            return if items.get("properties").is_some() { Sort::Tables(items) } else { Sort::List(items) };
        }
        match () {
            () if types.contains(&"object") => Sort::Table(schema),
            () if types.contains(&"boolean") => Sort::Flag,
            () if types.contains(&"integer") => Sort::Whole,
            () if types.contains(&"number") => Sort::Number,
            () => Sort::Text,
        }
    }

    /// What stands in a field: what was typed, else what the file says.
    fn text(&self, path: &str, value: Option<&Value>) -> String {
        self.typed.get(path).cloned().unwrap_or_else(|| value.map(as_text).unwrap_or_default())
    }
}

/// The schema of a file.
fn schema_of(named: &Named, document: &Value) -> (&'static Value, Value) {
    match named.place {
        Place::Case => (&CASE, CASE.clone()),
        Place::Gear => {
            let of = document.get("type").and_then(Value::as_str).unwrap_or("interface");
            let file = match of {
                "microphone" => "MicrophoneFile",
                "booster" => "BoosterFile",
                "cable" => "CableFile",
                _ => "FrontEndFile",
            };
            (&DEVICE, DEVICE.pointer(&format!("/$defs/{file}")).cloned().unwrap_or_default())
        }
    }
}

/// A value as it is typed.
fn as_text(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Bool(flag) => if *flag { "yes" } else { "no" }.to_owned(),
        Value::Array(all) => all.iter().map(as_text).collect::<Vec<_>>().join(", "),
        // A figure that is a table.
        Value::Object(fields) => fields.get("value").map(as_text).unwrap_or_default(),
        Value::Null => String::new(),
        number => number.to_string(),
    }
}

pub(crate) async fn page(
    site: State,
    Path((place, stem)): Path<(String, String)>,
) -> Result<Response, Response> {
    let named = Named::of(&place, &stem)?;
    let site = Arc::clone(&site.0);
    working(move || match site.shelf.folder().read(named.place, &named.name) {
        Ok(read) => form_page(&named, &read.text, Some(read.version), HashMap::new(), None),
        Err(_) => layout::not_found(),
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
) -> Response {
    let Ok(document) = toml::from_str::<Value>(text) else {
        return Redirect::to(&format!("{}/file", named.address())).into_response();
    };
    let (schema, root) = schema_of(named, &document);
    let edited = Edited { schema, typed };
    let status = if wrong.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    let content = html! {
        h1 { (named.name.stem()) }
        (ways(named, words::FORM))
        @if let Some(wrong) = wrong { div role="alert" { (problems(wrong)) } }
        form.fields action={ (named.address()) "/edit" } method="post" {
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

fn join(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}

/// Plain fields first, then tables.
fn fields(edited: &Edited<'_>, path: &str, schema: &Value, value: Option<&Value>) -> Markup {
    let properties = schema.get("properties").and_then(Value::as_object);
    let all: Vec<(&String, &Value)> = properties.into_iter().flatten().collect();
    let is_table = |field: &Value| matches!(edited.sort(field), Sort::Table(_) | Sort::Tables(_));
    let (tables, plain): (Vec<_>, Vec<_>) = all.into_iter().partition(|(_, field)| is_table(field));
    html! {
        @if !plain.is_empty() {
            div.grid { @for (key, field) in plain { (one(edited, path, key, field, value)) } }
        }
        @for (key, field) in tables { (one(edited, path, key, field, value)) }
    }
}

fn one(edited: &Edited<'_>, path: &str, key: &str, field: &Value, parent: Option<&Value>) -> Markup {
    let path = join(path, key);
    let value = parent.and_then(|parent| parent.get(key));
    let about = field.get("description").and_then(Value::as_str).unwrap_or_default();
    let label = key.replace('_', " ");
    match edited.sort(field) {
        Sort::Table(schema) => html! {
            details.table open[value.is_some()] {
                summary { strong { (label) } " " span.quiet { (about) } }
                (fields(edited, &path, schema, value))
            }
        },
        Sort::Tables(schema) => {
            let entries = value.and_then(Value::as_array).map_or(0, Vec::len);
            html! {
                section.tables {
                    h2 { (label) }
                    p.quiet { (about) }
                    @for index in 0..entries {
                        @let entry = format!("{path}[{index}]");
                        @let of = value.and_then(|value| value.get(index));
                        @let name = of.and_then(|of| ["name", "device", "label", "source"].into_iter().find_map(|key| of.get(key))).map(as_text);
                        fieldset {
                            legend { (name.unwrap_or_else(|| format!("{label} {}", index + 1))) }
                            (fields(edited, &entry, schema, of))
                            p.buttons {
                                @if index > 0 { button type="submit" name="do" value={ "up " (entry) } { (words::MOVE_UP) } }
                                button type="submit" name="do" value={ "remove " (entry) } { (words::REMOVE) }
                            }
                        }
                    }
                    p.buttons { button type="submit" name="do" value={ "add " (path) } { (words::ADD) " " (label) } }
                }
            }
        }
        sort => {
            let text = edited.text(&path, value);
            html! {
                p.entry {
                    label for=(path) { (label) }
                    (control(&path, key, sort, &text))
                    @if !about.is_empty() { span.hint { (about) } }
                }
            }
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

fn words_of(schema: &Value) -> Vec<String> {
    let of = |value: &Value| value.as_str().map(str::to_owned);
    let one = schema.get("oneOf").and_then(Value::as_array);
    let named = one.into_iter().flatten().filter_map(|one| one.get("const").and_then(of));
    let listed = schema.get("enum").and_then(Value::as_array).into_iter().flatten().filter_map(of);
    named.chain(listed).collect()
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
        let only_saved = action == "save" || action.is_empty();
        // A table that has just been added may still lack what it needs.
        if let (Err(wrong), true) = (named.check(&site, &text), only_saved) {
            return form_page(&named, &from.text, base, typed, Some(&wrong));
        }
        match folder.save(named.place, &named.name, &text, base, SystemTime::now()) {
            Ok(_) if only_saved => Redirect::to(&named.address()).into_response(),
            Ok(_) => Redirect::to(&format!("{}/edit", named.address())).into_response(),
            Err(error) => not_saved(&named, &text, base, &error),
        }
    })
    .await
}

/// What was changed in the fields, and what a button asks for.
fn edits(
    named: &Named,
    text: &str,
    typed: &HashMap<String, String>,
    action: &str,
) -> Result<Vec<Edit>, String> {
    let document = toml::from_str::<Value>(text).map_err(|error| error.message().to_owned())?;
    let (schema, root) = schema_of(named, &document);
    let edited = Edited { schema, typed: HashMap::new() };
    let mut changes = Vec::new();
    collect(&edited, "", &root, Some(&document), typed, &mut changes)?;
    let path = |text: &str| FieldPath::parse(text).map_err(|error| error.message());
    let entry = |text: &str| -> Result<(FieldPath, usize), String> {
        let (array, index) =
            text.strip_suffix(']').and_then(|text| text.rsplit_once('[')).ok_or("no such table")?;
        Ok((path(array)?, index.parse().map_err(|_| "no such table")?))
    };
    match action.split_once(' ') {
        Some(("add", array)) => {
            changes.push(Edit::AddTable { array: path(array)?, fields: first_fields(array) })
        }
        Some(("remove", table)) => {
            let (array, index) = entry(table)?;
            changes.push(Edit::RemoveTable { array, index });
        }
        Some(("up", table)) => {
            let (array, index) = entry(table)?;
            changes.push(Edit::MoveTable { array, from: index, to: index.saturating_sub(1) });
        }
        _ => {}
    }
    Ok(changes)
}

/// What a new table begins with, so that it can be read.
fn first_fields(array: &str) -> Vec<(String, NewValue)> {
    let field = |key: &str, value: &str| vec![(key.to_owned(), NewValue::from(value))];
    match array {
        "source" => field("kind", "speech normal"),
        "owned" => field("device", "usual-interface"),
        "option" => field("device", "usual-booster"),
        _ => Vec::new(),
    }
}

fn collect(
    edited: &Edited<'_>,
    path: &str,
    schema: &Value,
    value: Option<&Value>,
    typed: &HashMap<String, String>,
    changes: &mut Vec<Edit>,
) -> Result<(), String> {
    let properties = schema.get("properties").and_then(Value::as_object);
    for (key, field) in properties.into_iter().flatten() {
        let path = join(path, key);
        let now = value.and_then(|value| value.get(key));
        match edited.sort(field) {
            Sort::Table(schema) => collect(edited, &path, schema, now, typed, changes)?,
            Sort::Tables(schema) => {
                for (index, of) in now.and_then(Value::as_array).into_iter().flatten().enumerate() {
                    collect(edited, &format!("{path}[{index}]"), schema, Some(of), typed, changes)?;
                }
            }
            sort => {
                let Some(new) = typed.get(&path) else { continue };
                let new = new.trim();
                if new == now.map(as_text).unwrap_or_default().trim() {
                    continue;
                }
                let field_path = FieldPath::parse(&path).map_err(|error| error.message())?;
                changes.push(if new.is_empty() {
                    Edit::Remove { path: field_path }
                } else {
                    Edit::Set { path: field_path, value: value_of(&path, sort, new)? }
                });
            }
        }
    }
    Ok(())
}

/// What was typed, as the format wants it.
fn value_of(path: &str, sort: Sort<'_>, text: &str) -> Result<NewValue, String> {
    let number = |text: &str| -> Result<f64, String> {
        let number = text.replace(',', ".").parse::<f64>().ok().filter(|number| number.is_finite());
        number.ok_or_else(|| format!("{path}: {text:?} is not a number"))
    };
    let whole = |text: &str| -> Result<i64, String> {
        text.parse::<i64>().map_err(|_| format!("{path}: {text:?} is not a whole number"))
    };
    Ok(match sort {
        Sort::Flag => NewValue::Flag(text == "yes"),
        Sort::Whole => NewValue::Whole(whole(text)?),
        Sort::Number => {
            let number = number(text)?;
            if number.fract().abs() < f64::EPSILON && number.abs() < 1e15 {
                NewValue::Whole(number as i64)
            } else {
                NewValue::Number(number)
            }
        }
        Sort::List(items) => {
            let is = |name: &str| items.get("type").and_then(Value::as_str) == Some(name);
            let parts = text.split(',').map(str::trim).filter(|part| !part.is_empty());
            let one = |part: &str| -> Result<NewValue, String> {
                Ok(if is("integer") {
                    NewValue::Whole(whole(part)?)
                } else if is("number") {
                    let number = number(part)?;
                    if number.fract().abs() < f64::EPSILON {
                        NewValue::Whole(number as i64)
                    } else {
                        NewValue::Number(number)
                    }
                } else {
                    NewValue::from(part)
                })
            };
            NewValue::List(parts.map(one).collect::<Result<_, _>>()?)
        }
        _ => NewValue::from(text),
    })
}
