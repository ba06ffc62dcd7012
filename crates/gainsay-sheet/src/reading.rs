//! What was read: figures and facts with the words that they were read from, doubts, and what found no place.

use crate::doubts::Doubt;
use gainsay_gear::DeviceType;
use gainsay_units::Quantity;
use std::fmt::{self, Display, Formatter};
use std::ops::Range;

/// A table of a device file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Table {
    /// `[microphone]`
    Microphone,
    /// `[booster]`
    Booster,
    /// `[[microphone_inputs]]`
    MicrophoneInputs,
    /// `[[line_inputs]]`
    LineInputs,
    /// `[[line_outputs]]`
    LineOutputs,
    /// `[[digital_inputs]]`
    DigitalInputs,
    /// `[[digital_outputs]]`
    DigitalOutputs,
    /// `[device]`
    Device,
}

impl Table {
    /// Its name in the file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Microphone => "microphone",
            Self::Booster => "booster",
            Self::MicrophoneInputs => "microphone_inputs",
            Self::LineInputs => "line_inputs",
            Self::LineOutputs => "line_outputs",
            Self::DigitalInputs => "digital_inputs",
            Self::DigitalOutputs => "digital_outputs",
            Self::Device => "device",
        }
    }

    /// Whether the file holds a list of them.
    #[must_use]
    pub const fn is_list(self) -> bool {
        !matches!(self, Self::Microphone | Self::Booster | Self::Device)
    }
}

/// The place of a field in a device file.
///
/// A group in a list is named by what tells it from the others: `line`, `instrument` or `return` for line inputs, the format
/// for digital ports, the label for several groups of microphone inputs; empty where there is one group only.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Path {
    /// The table.
    pub table: Table,
    /// Which group of the list.
    pub group: String,
    /// The field.
    pub field: &'static str,
}

impl Display for Path {
    /// `microphone_inputs.ein`, `line_inputs[instrument].count`.
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(self.table.name())?;
        if !self.group.is_empty() {
            write!(f, "[{}]", self.group)?;
        }
        write!(f, ".{}", self.field)
    }
}

/// What a field holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A figure with its unit and conditions.
    Figure(Quantity),
    /// One of the words that the field knows.
    Word(&'static str),
    /// Several of them.
    Words(Vec<&'static str>),
    /// Several of them, as somebody corrected them.
    Texts(Vec<String>),
    /// Yes or no.
    Yes(bool),
    /// How many.
    Count(u32),
    /// Sample rates in hertz.
    RatesHz(Vec<f64>),
    /// Free text.
    Text(String),
}

impl Display for Value {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Self::Figure(quantity) => write!(f, "{quantity}"),
            Self::Word(word) => f.write_str(word),
            Self::Words(words) => f.write_str(&words.join(", ")),
            Self::Texts(words) => f.write_str(&words.join(", ")),
            Self::Yes(yes) => write!(f, "{yes}"),
            Self::Count(count) => write!(f, "{count}"),
            Self::RatesHz(rates) => {
                let all: Vec<String> = rates.iter().map(ToString::to_string).collect();
                f.write_str(&all.join(", "))
            }
            Self::Text(text) => f.write_str(text),
        }
    }
}

/// One reading of a field.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// What it says.
    pub value: Value,
    /// Bytes of the sheet.
    pub span: Range<usize>,
    /// Line of the sheet, counted from one.
    pub line: usize,
    /// The words of that line.
    pub words: String,
    /// How the value came about, where it does not stand in the words as it is.
    pub how: Option<String>,
}

/// A field that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Where it belongs.
    pub path: Path,
    /// The reading that is taken.
    pub reading: Candidate,
    /// Other readings that the sheet allows.
    pub others: Vec<Candidate>,
    /// Why it stands in the file as a comment only: it can't be true.
    pub withheld: bool,
}

/// What the sheet says and the file has no place for, or what could not be understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unplaced {
    /// Line of the sheet, counted from one.
    pub line: usize,
    /// Bytes of the sheet.
    pub span: Range<usize>,
    /// The words of that line.
    pub words: String,
    /// Why it has no place.
    pub why: Why,
}

/// Why something was not placed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// A device file has no field for it; what it is.
    NoField(&'static str),
    /// It is not clear what it belongs to.
    NotUnderstood(&'static str),
}

/// What a question is about.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum About {
    /// What kind of device it is.
    Kind,
    /// Which column of a table holds the device.
    Variant,
    /// Which of two readings of a field is meant.
    Field(Path),
}

/// Something that the text leaves open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// What it is about.
    pub about: About,
    /// The question.
    pub sentence: String,
    /// The answers to choose from.
    pub choices: Vec<String>,
    /// Which is taken unless another is chosen.
    pub chosen: usize,
}

/// Answers to questions of an earlier reading of the same text.
#[derive(Debug, Clone, Default)]
pub struct Answers(Vec<(About, usize)>);

impl Answers {
    /// Adds an answer.
    pub fn add(&mut self, about: About, choice: usize) {
        self.0.push((about, choice));
    }

    /// The answer to a question, if it was given.
    pub(crate) fn to(&self, about: &About) -> Option<usize> {
        self.0.iter().rev().find(|(known, _)| known == about).map(|(_, choice)| *choice)
    }
}

/// A sheet as it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What the device is.
    pub device_type: DeviceType,
    /// Its name: the sheet's first line, or a plain description.
    pub name: String,
    /// Every field that was read, in the order of the file.
    pub entries: Vec<Entry>,
    /// What to doubt.
    pub doubts: Vec<Doubt>,
    /// What found no place.
    pub unplaced: Vec<Unplaced>,
    /// What the text leaves open.
    pub questions: Vec<Question>,
}

impl Reading {
    /// The entry of a field.
    #[must_use]
    pub fn entry(&self, table: Table, group: &str, field: &str) -> Option<&Entry> {
        self.entries.iter().find(|e| e.path.table == table && e.path.group == group && e.path.field == field)
    }

    /// The same device under another name.
    #[must_use]
    pub fn named(mut self, name: &str) -> Self {
        if !name.trim().is_empty() {
            name.trim().clone_into(&mut self.name);
        }
        self
    }
}
