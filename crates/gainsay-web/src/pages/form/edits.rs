//! From what was typed into a form to the changes of a file.

use super::schema::{Edited, Sort, as_text, join, schema_of};
use crate::pages::file::Named;
use gainsay_folder::edit::{Edit, FieldPath, Value as NewValue};
use serde_json::Value;
use std::collections::HashMap;

/// What was changed in the fields, and what a button asks for.
pub(super) fn edits(
    named: &Named,
    text: &str,
    typed: &HashMap<String, String>,
    action: &str,
) -> Result<Vec<Edit>, String> {
    let document = toml::from_str::<Value>(text).map_err(|error| error.message().to_owned())?;
    let (schema, root) = schema_of(named, &document);
    let edited = Edited { schema, typed: HashMap::new(), added: String::new() };
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
