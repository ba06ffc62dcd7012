//! Writing a reading as a device file.

use crate::doubts::DoubtKind;
use crate::reading::{Candidate, Entry, Path, Reading, Table, Unplaced, Value, Why};
use crate::words;
use std::fmt::Write;

/// A TOML string.
pub(crate) fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// Text for a comment: on one line.
fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

fn note(reading: &Candidate) -> String {
    let from = format!("read from: \"{}\"", reading.words);
    match &reading.how {
        Some(how) => format!("{how}; {from}"),
        None => from,
    }
}

fn value(value: &Value, reading: &Candidate) -> String {
    match value {
        Value::Figure(quantity) => {
            format!("{{ value = {}, note = {} }}", quoted(&quantity.to_string()), quoted(&note(reading)))
        }
        Value::Word(word) => quoted(word),
        Value::Words(all) => format!("[{}]", all.iter().map(|w| quoted(w)).collect::<Vec<_>>().join(", ")),
        Value::Texts(all) => format!("[{}]", all.iter().map(|w| quoted(w)).collect::<Vec<_>>().join(", ")),
        Value::Yes(yes) => yes.to_string(),
        Value::Count(count) => count.to_string(),
        Value::RatesHz(rates) => {
            format!("[{}]", rates.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "))
        }
        Value::Text(text) => quoted(text),
    }
}

impl Reading {
    /// The device file: every figure with the words that it was read from.
    #[must_use]
    pub fn to_toml(&self) -> String {
        let mut out = words::head(self.device_type);
        self.body(&mut out);
        out
    }

    /// The same with doubts and what found no place as comments at the end.
    #[must_use]
    pub fn to_toml_with_remarks(&self) -> String {
        let mut out = self.to_toml();
        if !self.doubts.is_empty() {
            out.push_str("\n# To doubt:\n");
            for doubt in &self.doubts {
                let _ = writeln!(out, "# - {}", plain(&self.doubt_line(doubt)));
            }
        }
        if !self.unplaced.is_empty() {
            out.push_str("\n# Not placed:\n");
            for line in self.unplaced_lines() {
                let _ = writeln!(out, "# - {}", plain(&line));
            }
        }
        out
    }

    /// A doubt in one line, with its place.
    #[must_use]
    pub fn doubt_line(&self, doubt: &crate::Doubt) -> String {
        let place = doubt.line.map_or_else(String::new, |line| format!("line {line}: "));
        let field = doubt.field.as_ref().map_or_else(String::new, |field| format!("{field}: "));
        format!("{place}{field}{doubt}")
    }

    /// What was not placed, a line for each.
    #[must_use]
    pub fn unplaced_lines(&self) -> Vec<String> {
        self.unplaced
            .iter()
            .map(|Unplaced { line, words, why, .. }| match why {
                Why::NoField(what) => format!("line {line}: no field for {what}: {words}"),
                Why::NotUnderstood(what) => format!("line {line}: not understood, {what}: {words}"),
            })
            .collect()
    }

    fn body(&self, out: &mut String) {
        let _ = writeln!(out, "name = {}", quoted(&self.name));
        let _ = writeln!(out, "type = {}", quoted(self.device_type.word()));
        let mut current: Option<(Table, &str)> = None;
        for entry in &self.entries {
            let Path { table, group, field } = &entry.path;
            if current != Some((*table, group.as_str())) {
                current = Some((*table, group.as_str()));
                let (open, close) = if table.is_list() { ("[[", "]]") } else { ("[", "]") };
                let _ = writeln!(out, "\n{open}{}{close}", table.name());
            }
            self.write_entry(out, entry, field);
        }
    }

    fn write_entry(&self, out: &mut String, entry: &Entry, field: &str) {
        let reading = &entry.reading;
        let path = entry.path.to_string();
        if entry.withheld {
            let why = self.doubts.iter().find(|d| {
                d.field.as_ref() == Some(&path)
                    && matches!(d.kind, DoubtKind::EinBelowThermal | DoubtKind::Impossible)
            });
            let why = why.map_or(String::new(), |doubt| format!(" {}", doubt.sentence));
            let _ = writeln!(
                out,
                "# {field} = {} is left out:{}",
                quoted(&plain(&words::value_in_file(&reading.value))),
                plain(&why)
            );
            let _ = writeln!(out, "#   {}", plain(&note(reading)));
            return;
        }
        let written = value(&reading.value, reading);
        let remark = match &reading.value {
            Value::Figure(_) => String::new(),
            _ if reading.words.is_empty() => String::new(),
            _ => format!("  # {}", plain(&note(reading))),
        };
        let _ = writeln!(out, "{field} = {written}{remark}");
        for other in &entry.others {
            let _ = writeln!(
                out,
                "# {field}: it may be {}, {}",
                quoted(&plain(&words::value_in_file(&other.value))),
                plain(&note(other)),
            );
        }
    }
}
