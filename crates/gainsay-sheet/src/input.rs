//! Whether what was given is a text at all.

use crate::words::not_a_sheet as words;
use std::fmt::{self, Display, Formatter};

/// A specification sheet is a few pages; more than this, about 80 pages, is something else.
pub const LARGEST_SHEET: usize = 256 * 1024;

/// Lines of the longest sheet, empty ones not counted: hundreds of pages.
pub const MOST_LINES: usize = 20_000;

/// Bytes of the longest line that is read: paragraphs are shorter, and a table's row is far shorter. What it means that figures
/// stand on one line has to be looked at pair by pair, which takes time that grows with the square of the line.
pub const LONGEST_LINE: usize = 8 * 1024;

/// Why something is not a sheet, and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotASheet {
    message: String,
    mend: String,
}

impl NotASheet {
    pub(crate) fn new((message, mend): (String, String)) -> Self {
        Self { message, mend }
    }

    /// What is wrong.
    #[must_use]
    pub fn message(&self) -> &str {
        &self.message
    }

    /// What to do.
    #[must_use]
    pub fn mend(&self) -> &str {
        &self.mend
    }
}

impl Display for NotASheet {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.message, self.mend)
    }
}

impl std::error::Error for NotASheet {}

/// How files begin that hold specifications but are no text.
const DOCUMENTS: &[(&[u8], &str)] = &[
    (b"%PDF", "a PDF document"),
    (b"PK\x03\x04", "a packed document or archive"),
    (b"\xd0\xcf\x11\xe0", "an office document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\x1f\x8b", "a compressed file"),
    (b"{\\rtf", "a document in rich text"),
    (b"\x7fELF", "a program"),
    (b"RIFF", "a sound file"),
];

/// The text of a file.
///
/// # Errors
/// When it is empty, too large, a document or picture, not UTF-8, or holds zero bytes; with the place and the mend.
pub fn text_of(bytes: &[u8]) -> Result<&str, NotASheet> {
    if bytes.len() > LARGEST_SHEET {
        return Err(NotASheet::new(words::too_large(LARGEST_SHEET)));
    }
    for (begin, what) in DOCUMENTS {
        if bytes.starts_with(begin) {
            return Err(NotASheet::new(words::document(what)));
        }
    }
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(NotASheet::new(words::wide_encoding()));
    }
    let lines = |before: &[u8]| before.iter().filter(|b| **b == b'\n').count() + 1;
    if let Some(at) = bytes.iter().position(|b| *b == 0) {
        return Err(NotASheet::new(words::zero_byte(lines(bytes.get(..at).unwrap_or_default()))));
    }
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let before = bytes.get(..error.valid_up_to()).unwrap_or_default();
        let line_start = before.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
        NotASheet::new(words::other_encoding(lines(before), before.len() - line_start + 1))
    })?;
    check(text)?;
    Ok(text)
}

/// Whether a text can be a sheet.
pub(crate) fn check(text: &str) -> Result<(), NotASheet> {
    if text.len() > LARGEST_SHEET {
        return Err(NotASheet::new(words::too_large(LARGEST_SHEET)));
    }
    if text.trim_matches(|c: char| c.is_whitespace() || c == '\u{feff}').is_empty() {
        return Err(NotASheet::new(words::empty()));
    }
    if text.lines().filter(|line| !line.trim().is_empty()).count() > MOST_LINES {
        return Err(NotASheet::new(words::many_lines(MOST_LINES)));
    }
    if let Some(line) = text.lines().position(|line| line.len() > LONGEST_LINE) {
        return Err(NotASheet::new(words::long_line(line + 1, LONGEST_LINE)));
    }
    if let Some(at) = text.find('\0') {
        return Err(NotASheet::new(words::zero_byte(
            text.get(..at).unwrap_or_default().matches('\n').count() + 1,
        )));
    }
    Ok(())
}
