//! How a file is laid out: which lines belong to which table.

use super::EditError;
use super::path::Segment;
use std::ops::Range;
use toml_edit::{Document, Item, Table};

/// A table under a header of its own.
#[derive(Debug, Clone)]
pub(super) struct Section {
    /// Where its line begins.
    pub(super) start: usize,
    /// Where its header's line ends, with the line break.
    header_end: usize,
    /// Steps from the root to it.
    pub(super) path: Vec<Segment>,
}

/// A key with its value in a table, not in an inline table.
#[derive(Debug, Clone)]
pub(super) struct Field {
    /// Its lines, with the last line break and comments on them.
    pub(super) lines: Range<usize>,
    /// Steps from the root to it.
    pub(super) path: Vec<Segment>,
}

/// A text, what it says and where it says it.
pub(super) struct Layout<'a> {
    pub(super) text: &'a str,
    pub(super) document: Document<&'a str>,
    /// In the order of the text.
    pub(super) sections: Vec<Section>,
    /// In the order of the text.
    pub(super) fields: Vec<Field>,
}

impl<'a> Layout<'a> {
    /// # Errors
    /// [`EditError::NotToml`].
    pub(super) fn of(text: &'a str) -> Result<Self, EditError> {
        let document = Document::parse(text).map_err(|error| EditError::NotToml {
            message: error.message().to_owned(),
            at: error.span().map_or(0, |span| span.start),
        })?;
        let mut layout = Self { text, document, sections: Vec::new(), fields: Vec::new() };
        let (mut sections, mut fields) = (Vec::new(), Vec::new());
        layout.collect(layout.document.as_table(), &[], &mut sections, &mut fields);
        sections.sort_by_key(|section| section.start);
        fields.sort_by_key(|field| field.lines.start);
        layout.sections = sections;
        layout.fields = fields;
        Ok(layout)
    }

    fn collect(&self, table: &Table, path: &[Segment], sections: &mut Vec<Section>, fields: &mut Vec<Field>) {
        if let Some(span) = table.span()
            && !path.is_empty()
            && has_header(table)
        {
            sections.push(Section {
                start: self.line_start(span.start),
                header_end: self.line_end(span.end),
                path: path.to_vec(),
            });
        }
        for (name, item) in table {
            let mut inner = path.to_vec();
            inner.push(Segment::Key(name.to_owned()));
            match item {
                Item::None => {}
                Item::Value(value) => {
                    let key = table.key(name).and_then(toml_edit::Key::span);
                    if let (Some(key), Some(value)) = (key, value.span()) {
                        let lines = self.line_start(key.start)..self.line_end(value.end);
                        fields.push(Field { lines, path: inner });
                    }
                }
                Item::Table(table) => self.collect(table, &inner, sections, fields),
                Item::ArrayOfTables(tables) => {
                    for (index, table) in tables.iter().enumerate() {
                        inner.push(Segment::Index(index));
                        self.collect(table, &inner, sections, fields);
                        inner.pop();
                    }
                }
            }
        }
    }

    /// Part of the text.
    pub(super) fn part(&self, range: Range<usize>) -> &'a str {
        self.text.get(range).unwrap_or("")
    }

    /// The line break that the text uses.
    pub(super) fn line_break(&self) -> &'static str {
        match self.text.find('\n') {
            Some(at) if self.part(0..at).ends_with('\r') => "\r\n",
            _ => "\n",
        }
    }

    /// Where the text begins, behind a byte order mark.
    pub(super) fn begin(&self) -> usize {
        if self.text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 }
    }

    /// Where the line with a byte begins.
    pub(super) fn line_start(&self, at: usize) -> usize {
        self.part(0..at).rfind('\n').map_or_else(|| self.begin().min(at), |found| found + 1)
    }

    /// Where the line with a byte ends, behind its line break.
    pub(super) fn line_end(&self, at: usize) -> usize {
        self.text.get(at..).and_then(|rest| rest.find('\n')).map_or(self.text.len(), |found| at + found + 1)
    }

    /// Whether the line that begins at a byte is blank; there is none at the end of the text.
    pub(super) fn is_blank(&self, start: usize) -> bool {
        start < self.text.len() && self.part(start..self.line_end(start)).trim().is_empty()
    }

    /// Whether a blank line, or nothing, stands before the line that begins at a byte.
    pub(super) fn is_free_above(&self, start: usize) -> bool {
        start <= self.begin() || self.is_blank(self.line_start(start - 1))
    }

    /// Where the comment begins that stands on the lines directly above; the place itself if there is none.
    pub(super) fn comment_above(&self, start: usize) -> usize {
        let mut first = start;
        while first > self.begin() {
            let above = self.line_start(first - 1);
            if !self.part(above..first).trim_start().starts_with('#') {
                break;
            }
            first = above;
        }
        first
    }

    /// Where the table's own lines end that begin at a section, or at the top of the file: behind its last field.
    pub(super) fn body_end(&self, section: Option<&Section>) -> Option<usize> {
        let from = section.map_or(0, |section| section.start);
        let next = self.sections.iter().map(|other| other.start).find(|start| match section {
            Some(section) => *start > section.start,
            None => true,
        });
        let to = next.unwrap_or(self.text.len());
        let last = self.fields.iter().rfind(|field| field.lines.start >= from && field.lines.start < to);
        last.map(|field| field.lines.end).or_else(|| section.map(|section| section.header_end))
    }

    /// The lines of a section from its header to its last field.
    pub(super) fn lines_of(&self, section: &Section) -> Range<usize> {
        section.start..self.body_end(Some(section)).unwrap_or(section.header_end)
    }

    /// The sections of a table and everything in it.
    pub(super) fn sections_in<'b>(
        &'b self,
        path: &'b [Segment],
    ) -> impl DoubleEndedIterator<Item = &'b Section> {
        self.sections.iter().filter(move |section| section.path.starts_with(path))
    }

    /// White space before the first word of a line.
    pub(super) fn indent_at(&self, start: usize) -> &'a str {
        let line = self.part(start..self.line_end(start));
        let length = line.len() - line.trim_start_matches([' ', '\t']).len();
        self.part(start..start + length)
    }
}

/// Whether a table stands under a header of its own.
pub(super) fn has_header(table: &Table) -> bool {
    !table.is_implicit() && !table.is_dotted()
}
