//! The file formats: schema, reference pages, demo and built-in kinds say the same. `UPDATE_DOCS=1` brings the committed ones up to
//! date.

use crate::run::gainsay;
use serde_json::Value;
use std::fmt::Write;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn schema(of: &str) -> Value {
    serde_json::from_str(&gainsay(&["schema", of]).stdout).expect("a schema")
}

/// Compares a committed file with what it should be, or writes it.
#[track_caller]
fn in_step(path: &str, want: &str) {
    let path = root().join(path);
    if std::env::var_os("UPDATE_DOCS").is_some() {
        std::fs::write(&path, want).expect("it can be written");
    }
    let got = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        got == want,
        "{} is not up to date; run UPDATE_DOCS=1 cargo nextest run -p gainsay",
        path.display()
    );
}

#[test]
fn committed_schemas_are_what_the_program_prints() {
    in_step("docs/schema/case.schema.json", &gainsay(&["schema", "case"]).stdout);
    in_step("docs/schema/device.schema.json", &gainsay(&["schema", "device"]).stdout);
}

#[test]
fn reference_pages_follow_the_schemas() {
    for (page, of, start) in
        [("docs/case-format.md", "case", "CaseFile"), ("docs/device-format.md", "device", "DeviceFile")]
    {
        let text = std::fs::read_to_string(root().join(page)).expect("the page");
        let begin = "brings it up to date -->\n";
        let end = "<!-- end of reference -->";
        let (before, rest) = text.split_once(begin).expect("the mark before the reference");
        let (_, after) = rest.split_once(end).expect("the mark behind the reference");
        let reference = reference(&schema(of), start);
        in_step(page, &format!("{before}{begin}{reference}{end}{after}"));
    }
}

/// A table of fields for each table of the file.
fn reference(schema: &Value, start: &str) -> String {
    let mut text = String::new();
    if schema["properties"].is_object() {
        section(&mut text, start, schema);
    }
    for (name, definition) in schema["$defs"].as_object().expect("definitions") {
        if definition["properties"].is_object() {
            section(&mut text, name, definition);
        } else if let Some(words) = words(definition) {
            writeln!(text, "\n### {}\n\n{words}", title(name)).expect("text");
        }
    }
    text.push('\n');
    text
}

fn title(name: &str) -> String {
    let mut title = String::new();
    for c in name.trim_end_matches("File").chars() {
        if c.is_uppercase() && !title.is_empty() {
            title.push(' ');
            title.extend(c.to_lowercase());
        } else {
            title.push(c);
        }
    }
    title
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").replace('|', "\\|")
}

fn section(text: &mut String, name: &str, definition: &Value) {
    let description = definition["description"].as_str().unwrap_or_default();
    writeln!(
        text,
        "\n### {}\n\n{}\n\n| field | holds | meaning |\n|---|---|---|",
        title(name),
        one_line(description)
    )
    .expect("text");
    let required: Vec<&str> =
        definition["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    for (field, property) in definition["properties"].as_object().expect("fields") {
        let meaning = one_line(property["description"].as_str().unwrap_or_default());
        let must = if required.contains(&field.as_str()) { " (required)" } else { "" };
        writeln!(text, "| `{field}`{must} | {} | {meaning} |", holds(property)).expect("text");
    }
}

/// What a field holds, in words.
fn holds(property: &Value) -> String {
    if let Some(reference) = property["$ref"].as_str() {
        return named(reference, property);
    }
    for key in ["anyOf", "allOf", "oneOf"] {
        let inner = property[key].as_array().and_then(|all| all.iter().find(|one| one["$ref"].is_string()));
        if let Some(inner) = inner {
            return holds(inner);
        }
    }
    if let Some(words) = property["enum"].as_array() {
        let words: Vec<String> =
            words.iter().filter_map(Value::as_str).map(|w| format!("`\"{w}\"`")).collect();
        return words.join(", ");
    }
    let kind = match &property["type"] {
        Value::String(kind) => kind.as_str(),
        Value::Array(kinds) => kinds.iter().filter_map(Value::as_str).find(|k| *k != "null").unwrap_or("any"),
        _ => "any",
    };
    match kind {
        "string" => "text".to_owned(),
        "integer" => "whole number".to_owned(),
        "number" => "number".to_owned(),
        "boolean" => "`true` or `false`".to_owned(),
        "array" => format!("list of {}", holds(&property["items"])),
        other => other.to_owned(),
    }
}

fn named(reference: &str, property: &Value) -> String {
    let name = reference.rsplit('/').next().unwrap_or_default();
    if name == "Figure" {
        let example = property["examples"][0].as_str().unwrap_or_default();
        return if example.is_empty() {
            "figure".to_owned()
        } else {
            format!("figure, such as `\"{example}\"`")
        };
    }
    let title = title(name);
    format!("[{}](#{})", title.to_lowercase(), title.to_lowercase().replace(' ', "-"))
}

/// The words of an enumeration with their meanings.
fn words(definition: &Value) -> Option<String> {
    let variants = definition["oneOf"].as_array()?;
    let mut text = one_line(definition["description"].as_str().unwrap_or_default());
    text.push_str("\n\n| word | meaning |\n|---|---|\n");
    for variant in variants {
        let word = variant["const"].as_str().or_else(|| variant["enum"][0].as_str())?;
        writeln!(
            text,
            "| `\"{word}\"` | {} |",
            one_line(variant["description"].as_str().unwrap_or_default())
        )
        .ok()?;
    }
    Some(text.trim_end().to_owned())
}

/// TOML text as JSON, for the validator.
fn as_json(text: &str) -> Value {
    let table: toml::Table = text.parse().expect("TOML");
    serde_json::to_value(table).expect("JSON")
}

#[test]
fn demo_and_built_in_kinds_fit_the_schemas() {
    let case = jsonschema::validator_for(&schema("case")).expect("a schema");
    let device = jsonschema::validator_for(&schema("device")).expect("a schema");
    for (path, text) in gainsay_folder::demo::FILES {
        let validator = if path.starts_with("gear/") { &device } else { &case };
        if let Err(error) = validator.validate(&as_json(text)) {
            panic!("{path}: {error} at {}", error.instance_path());
        }
    }
    let folder = root().join("crates/gainsay-gear/kinds/devices");
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).expect("the kinds") {
        let path = entry.expect("a file").path();
        let text = std::fs::read_to_string(&path).expect("text");
        if let Err(error) = device.validate(&as_json(&text)) {
            panic!("{}: {error} at {}", path.display(), error.instance_path());
        }
        seen += 1;
    }
    assert!(seen >= 50, "only {seen} device files were seen");
}

#[test]
fn the_schemas_refuse_what_the_program_refuses() {
    let case = jsonschema::validator_for(&schema("case")).expect("a schema");
    let device = jsonschema::validator_for(&schema("device")).expect("a schema");
    for text in
        ["titel = \"x\"", "[[source]]\nkind = \"fiddle\"\ndistence = \"1 m\"", "[[source]]\ndistance = 3"]
    {
        assert!(!case.is_valid(&as_json(text)), "{text}");
    }
    for text in [
        "name = \"x\"\ntype = \"microfone\"",
        "type = \"microphone\"",
        "name = \"x\"\ntype = \"microphone\"\n[microphone]\nsensitivty = \"1 mV/Pa\"",
        "name = \"x\"\ntype = \"booster\"\n[microphone]\nsensitivity = \"1 mV/Pa\"",
    ] {
        assert!(!device.is_valid(&as_json(text)), "{text}");
    }
}
