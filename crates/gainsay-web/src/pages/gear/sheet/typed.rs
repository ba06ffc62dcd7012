//! What stood in the fields of the page, and the sheet as it is read with them.

use super::KINDS;
use crate::words;
use gainsay_folder::edit::{Edit, EditError, FieldPath, Value as NewValue, apply_all};
use gainsay_gear::DeviceType;
use gainsay_sheet::{About, Answers, Entry, NotASheet, Reading, Value};
use std::collections::{HashMap, HashSet};

/// The fields as they were sent.
#[derive(Debug, Default)]
pub(super) struct Typed {
    pub(super) text: String,
    pub(super) kind: Option<DeviceType>,
    /// Name of the device; empty for the sheet's own.
    pub(super) name: String,
    /// Name of its file; empty for one made from the name.
    pub(super) file: String,
    /// Whether the device is to be kept, not only read again.
    pub(super) keep: bool,
    /// What each figure's field held when the page was made: a figure of these without a tick was dropped, not unseen.
    shown: HashMap<String, String>,
    values: HashMap<String, String>,
    ticked: HashSet<String>,
    chosen: HashMap<String, usize>,
}

impl Typed {
    pub(super) fn of(form: Vec<(String, String)>) -> Self {
        let mut typed = Self::default();
        for (name, value) in form {
            // Browsers send line breaks as two characters.
            let value = value.replace("\r\n", "\n");
            match name.split_once(' ') {
                Some(("was", path)) => drop(typed.shown.insert(path.to_owned(), value)),
                Some(("value", path)) => drop(typed.values.insert(path.to_owned(), value.trim().to_owned())),
                Some(("use", path)) => drop(typed.ticked.insert(path.to_owned())),
                Some(("ask", about)) => {
                    if let Ok(choice) = value.parse() {
                        typed.chosen.insert(about.to_owned(), choice);
                    }
                }
                _ => match name.as_str() {
                    "text" => typed.text = value,
                    "kind" => {
                        typed.kind = KINDS.iter().find(|(name, _)| *name == value).map(|(_, kind)| *kind);
                    }
                    "name" => value.trim().clone_into(&mut typed.name),
                    "file" => value.trim().clone_into(&mut typed.file),
                    "do" => typed.keep = value == "keep",
                    _ => {}
                },
            }
        }
        typed
    }

    /// What the text says, with the answers that were given to what it leaves open.
    ///
    /// # Errors
    /// When it is no sheet.
    pub(super) fn read(&self) -> Result<Reading, NotASheet> {
        // Also tells a document that was pasted as its bytes.
        gainsay_sheet::text_of(self.text.as_bytes())?;
        let mut answers = Answers::default();
        let mut reading = gainsay_sheet::read_with(&self.text, self.kind, &answers)?;
        let mut answered = HashSet::new();
        // What is open depends on the answers before it: the kind of device comes first.
        while let Some((about, choice)) = reading.questions.iter().find_map(|question| {
            let choice = self.chosen.get(&key(&question.about))?;
            let fits = *choice < question.choices.len() && !answered.contains(&question.about);
            fits.then(|| (question.about.clone(), *choice))
        }) {
            answered.insert(about.clone());
            answers.add(about, choice);
            reading = gainsay_sheet::read_with(&self.text, self.kind, &answers)?;
        }
        Ok(reading.named(&self.name))
    }

    /// What stands in the field of a figure: the correction, or what was read.
    pub(super) fn value(&self, entry: &Entry) -> String {
        self.correction(entry).map_or_else(|| entry.reading.value.to_string(), str::to_owned)
    }

    /// What was typed in place of what was read, if anything was.
    pub(super) fn correction(&self, entry: &Entry) -> Option<&str> {
        let path = entry.path.to_string();
        let typed = self.values.get(&path)?;
        let unchanged = self.shown.get(&path) == Some(typed) || *typed == entry.reading.value.to_string();
        (!unchanged && !typed.is_empty()).then_some(typed.as_str())
    }

    /// Whether a figure goes into the file. What can't be true goes in only when it is ticked.
    pub(super) fn is_used(&self, entry: &Entry) -> bool {
        let path = entry.path.to_string();
        if self.shown.contains_key(&path) { self.ticked.contains(&path) } else { !entry.withheld }
    }

    /// The device file, with what was corrected and without what was dropped.
    ///
    /// # Errors
    /// When a correction is not what its field can hold.
    pub(super) fn file_text(&self, reading: &Reading) -> Result<String, String> {
        let mut kept = reading.clone();
        // What can't be true stays as a comment.
        kept.entries.retain(|entry| entry.withheld || self.is_used(entry));
        // A doubt is about what was read: it goes with it.
        let is_gone =
            |entry: &&Entry| !(entry.withheld || self.is_used(entry)) || self.correction(entry).is_some();
        let gone: Vec<String> =
            reading.entries.iter().filter(is_gone).map(|entry| entry.path.to_string()).collect();
        kept.doubts.retain(|doubt| !doubt.field.as_ref().is_some_and(|field| gone.contains(field)));
        for entry in &mut kept.entries {
            entry.withheld = entry.withheld && !self.is_used(entry);
            if self.correction(entry).is_some() {
                entry.reading.how = Some(words::corrected(&entry.reading.value.to_string()));
                entry.others.clear();
            }
        }
        let edits = self.edits(&kept)?;
        let say = |error: EditError| format!("{}; {}", error.message(), error.mend());
        apply_all(&kept.to_toml_with_remarks(), &edits).map_err(say)
    }

    /// The corrections as changes to the file that the reading writes.
    fn edits(&self, kept: &Reading) -> Result<Vec<Edit>, String> {
        let mut edits = Vec::new();
        let mut counts: HashMap<_, usize> = HashMap::new();
        let mut current = None;
        for entry in &kept.entries {
            let table = entry.path.table;
            let group = (table, entry.path.group.as_str());
            if current != Some(group) {
                current = Some(group);
                *counts.entry(table).or_default() += 1;
            }
            let Some(correction) = self.correction(entry).filter(|_| !entry.withheld) else { continue };
            let index = counts.get(&table).copied().unwrap_or(1).saturating_sub(1);
            let place = if table.is_list() { format!("[{index}]") } else { String::new() };
            let path = FieldPath::parse(&format!("{}{place}.{}", table.name(), entry.path.field))
                .map_err(|error| error.message())?;
            edits.push(Edit::Set { path, value: new_value(entry, correction)? });
        }
        Ok(edits)
    }
}

/// A correction, as its field holds it.
fn new_value(entry: &Entry, text: &str) -> Result<NewValue, String> {
    let is_not = |what: &str| format!("{}: {text:?} is not {what}", entry.path);
    let parts = || text.split(',').map(str::trim).filter(|part| !part.is_empty());
    Ok(match &entry.reading.value {
        Value::Figure(_) | Value::Word(_) | Value::Text(_) => NewValue::from(text),
        Value::Words(_) => NewValue::List(parts().map(NewValue::from).collect()),
        Value::Yes(_) => match text {
            "true" | "yes" => NewValue::Flag(true),
            "false" | "no" => NewValue::Flag(false),
            _ => return Err(is_not("yes or no")),
        },
        Value::Count(_) => NewValue::Whole(text.parse::<u32>().map_err(|_| is_not("a whole number"))?.into()),
        Value::RatesHz(_) => {
            let rate = |part: &str| part.parse::<u32>().map(|rate| NewValue::Whole(rate.into()));
            NewValue::List(parts().map(rate).collect::<Result<_, _>>().map_err(|_| is_not("rates in Hz"))?)
        }
    })
}

/// What a question is about, as the name of its field.
pub(super) fn key(about: &About) -> String {
    match about {
        About::Kind => "kind".to_owned(),
        About::Variant => "variant".to_owned(),
        About::Field(path) => path.to_string(),
    }
}
