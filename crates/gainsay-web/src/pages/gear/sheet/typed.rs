//! What stood in the fields of the page, and the sheet as it is read with them.

use super::KINDS;
use gainsay_gear::DeviceType;
use gainsay_sheet::{About, Answers, Entry, NotASheet, NotTaken, Path, Reading};
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

    /// The reading with what was corrected and without what was dropped, doubted anew. What can't be true stays in it, withheld, as
    /// long as its tick is missing.
    ///
    /// # Errors
    /// The first correction that is not what its field can hold, with the field.
    pub(super) fn corrected(&self, reading: &Reading) -> Result<Reading, (Path, NotTaken)> {
        let mut kept = reading.clone();
        let mut changed = Vec::new();
        for entry in &reading.entries {
            if !self.is_used(entry) {
                if !entry.withheld {
                    kept.leave_out(&entry.path);
                }
            } else if let Some(correction) = self.correction(entry) {
                kept.correct(&entry.path, correction).map_err(|wrong| (entry.path.clone(), wrong))?;
                changed.push(entry.path.clone());
            } else if let Some(ticked) = kept.entries.iter_mut().find(|kept| kept.path == entry.path) {
                ticked.withheld = false;
            }
        }
        if let Ok(device) = kept.device() {
            kept.doubt_anew(&device, &changed);
        }
        Ok(kept)
    }
}

/// What a question is about, as the name of its field.
pub(super) fn key(about: &About) -> String {
    match about {
        About::Kind => "kind".to_owned(),
        About::Variant => "variant".to_owned(),
        About::Field(path) => path.to_string(),
    }
}
