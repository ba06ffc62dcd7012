//! Reads the text of a specification sheet into a device file, with its doubts.
//!
//! A sheet is read in steps, each in a module of its own: lines and their cells (`text`), figures and words (`scan`, with the
//! grammar of figures in `grammar` and the words of three languages in `lexicon`), rows with their labels and headings
//! (`rows`), clauses of one figure each with its conditions (`clause`, `facts`), and the fields of a device file (`place`).
//! Nothing here opens a file or prints.
//!
//! ```
//! let reading = gainsay_sheet::read("Microphone preamp\nGain: +10 to +65 dB\nEIN: -128 dBu (A-wtd, 150 Ω)", None).unwrap();
//! let file = reading.to_toml();
//! assert!(file.contains("gain_range = { value = \"55 dB\""), "{file}");
//! assert!(file.contains("ein = { value = \"−128 dBu (A-weighted, 150 Ω)\""), "{file}");
//! ```

mod clause;
mod correct;
mod doubts;
mod facts;
mod finish;
mod grammar;
mod input;
mod kind;
mod lexicon;
mod losses;
mod place;
mod reading;
mod rows;
mod scan;
mod terms;
mod text;
mod toml;
mod words;

pub use correct::NotTaken;
pub use doubts::{Doubt, DoubtKind, doubts_of};
pub use input::{LARGEST_SHEET, LONGEST_LINE, MOST_LINES, NotASheet, text_of};
pub use reading::{About, Answers, Candidate, Entry, Path, Question, Reading, Table, Unplaced, Value, Why};

use gainsay_gear::DeviceType;

/// Reads a sheet. `kind` says what the device is; where it is not given, the text decides.
///
/// # Errors
/// When the text is empty or too large, or nothing in it reads like a specification.
pub fn read(text: &str, kind: Option<DeviceType>) -> Result<Reading, NotASheet> {
    read_with(text, kind, &Answers::default())
}

/// Reads a sheet again with answers to the questions of its first reading.
///
/// # Errors
/// As [`read`].
pub fn read_with(text: &str, kind: Option<DeviceType>, answers: &Answers) -> Result<Reading, NotASheet> {
    input::check(text)?;
    finish::read(text, kind, answers)
}
