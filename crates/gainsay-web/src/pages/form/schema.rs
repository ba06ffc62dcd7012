//! What the format of a file allows in its fields, from its own schema.

use crate::pages::file::Named;
use gainsay_folder::folder::Place;
use serde_json::Value;
use std::collections::HashMap;
use std::sync::LazyLock;

static CASE: LazyLock<Value> =
    LazyLock::new(|| serde_json::to_value(gainsay_plan::case::schema()).unwrap_or_default());
static DEVICE: LazyLock<Value> =
    LazyLock::new(|| serde_json::to_value(gainsay_gear::device_schema()).unwrap_or_default());

/// What a field holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sort<'a> {
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
pub(super) struct Edited<'a> {
    pub(super) schema: &'a Value,
    pub(super) typed: HashMap<String, String>,
    /// The tables of which the last has just been added.
    pub(super) added: String,
}

impl Edited<'_> {
    /// The definition behind a reference.
    fn resolve<'s>(&'s self, schema: &'s Value) -> &'s Value {
        let reference = schema.get("$ref").and_then(Value::as_str).and_then(|r| r.strip_prefix('#'));
        reference.and_then(|pointer| self.schema.pointer(pointer)).unwrap_or(schema)
    }

    pub(super) fn sort<'s>(&'s self, field: &'s Value) -> Sort<'s> {
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
    pub(super) fn text(&self, path: &str, value: Option<&Value>) -> String {
        self.typed.get(path).cloned().unwrap_or_else(|| value.map(as_text).unwrap_or_default())
    }
}

/// The schema of a file.
pub(super) fn schema_of(named: &Named, document: &Value) -> (&'static Value, Value) {
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
pub(super) fn as_text(value: &Value) -> String {
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

/// The path of a field.
pub(super) fn join(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}

/// The words of which a field holds one.
pub(super) fn words_of(schema: &Value) -> Vec<String> {
    let of = |value: &Value| value.as_str().map(str::to_owned);
    let one = schema.get("oneOf").and_then(Value::as_array);
    let named = one.into_iter().flatten().filter_map(|one| one.get("const").and_then(of));
    let listed = schema.get("enum").and_then(Value::as_array).into_iter().flatten().filter_map(of);
    named.chain(listed).collect()
}
