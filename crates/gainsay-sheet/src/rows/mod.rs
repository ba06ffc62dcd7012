//! Rows: a label, its values, and what the headings above say about them.

mod counts;
mod heading;
mod label;
mod pairs;
mod reader;
mod table;

use crate::grammar::Convention;
use crate::lexicon::{Atom, Atoms, CHANNELS, SIDES};
use crate::scan::{Element, Kind, atoms_of, scan};
use crate::text::{Footnotes, are_pairs, lines};
pub(crate) use label::{fits, surely_fits};
use reader::Reader;
use std::ops::Range;
pub(crate) use table::{Column, Role};

/// A label with its values.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    /// Line, counted from one.
    pub(crate) line: usize,
    /// Bytes of the line.
    pub(crate) span: Range<usize>,
    /// What the headings above say.
    pub(crate) section: Atoms,
    /// A label above that still holds: "Gain" over "Mic: 60 dB".
    pub(crate) open: Vec<Element>,
    pub(crate) label: Vec<Element>,
    pub(crate) values: Vec<Value>,
    /// What footnotes say about the whole row.
    pub(crate) notes: Vec<Element>,
    /// Bytes of the footnotes to which the row refers.
    pub(crate) footnotes: Vec<Range<usize>>,
}

/// One value of a row.
#[derive(Debug, Clone)]
pub(crate) struct Value {
    pub(crate) elements: Vec<Element>,
    /// Index of the column in [`Sheet::columns`].
    pub(crate) column: Option<usize>,
}

/// A sheet as rows.
#[derive(Debug, Default)]
pub(crate) struct Sheet {
    pub(crate) rows: Vec<Row>,
    pub(crate) columns: Vec<Column>,
    /// The first line, if it reads like a title.
    pub(crate) title: Option<String>,
    /// Meaning of the title.
    pub(crate) title_atoms: Atoms,
    pub(crate) convention: Convention,
    /// Every figure with a unit: its line, counted from one, the bytes of that line, and its own.
    pub(crate) figures: Vec<(usize, Range<usize>, Range<usize>)>,
}

/// Reads the rows of a sheet.
pub(crate) fn rows(text: &str) -> Sheet {
    let convention = Convention::of(text);
    let lines = lines(text);
    let scanned: Vec<Vec<Vec<Element>>> = lines
        .iter()
        .map(|line| line.cells.iter().map(|cell| scan(cell.text, cell.start, convention)).collect())
        .collect();
    let flat: Vec<Vec<Element>> = scanned.iter().map(|cells| cells.concat()).collect();
    let footnotes = Footnotes::find(&lines, &flat, convention);
    let mut scanned = scanned;
    for element in scanned.iter_mut().flatten().flatten() {
        counts::number_in_brackets(text, &footnotes, element, convention);
    }
    let figures = counts::figures(&lines, &scanned);
    let mut reader = Reader::new(
        text,
        Sheet { convention, figures, ..Sheet::default() },
        are_pairs(&lines),
        counts::repeat(&scanned),
    );
    for (index, (line, cells)) in lines.iter().zip(&scanned).enumerate() {
        if footnotes.is_footnote(index) {
            continue;
        }
        let next = lines.get(index + 1).zip(scanned.get(index + 1));
        reader.deeper_below = next.is_some_and(|(next, _)| next.indent > line.indent);
        reader.line(line, cells, next, index == 0);
    }
    for row in &mut reader.sheet.rows {
        row.notes = footnotes.of(&row.label);
        row.notes.extend(footnotes.of(&row.open));
        // "Gain range¹", and below "¹ in steps of 1 dB": a figure of its own.
        let states = atoms_of(&row.notes).any(Atoms::of(&[Atom::Step, Atom::Pad]));
        if states
            && let Some(value) = row.values.first_mut()
            && let Some(place) = value.elements.last().cloned()
        {
            bracketed(&mut value.elements, row.notes.clone(), &place);
        }
        row.footnotes.extend(span_of(&row.notes));
        // A heading with figures says under which conditions the lines below hold.
        if row.open.iter().any(|e| e.figure().is_some_and(|figure| !figure.is_bare())) {
            row.footnotes.extend(span_of(&row.open));
        }
        // So does the head of a column.
        for column in row.values.iter().filter_map(|value| reader.sheet.columns.get(value.column?)) {
            if column.elements.iter().any(|e| e.figure().is_some_and(|figure| !figure.is_bare())) {
                row.footnotes.extend(span_of(&column.elements));
            }
        }
        for value in &mut row.values {
            // A note on a value speaks of the figure before its mark.
            let mut with_notes = Vec::with_capacity(value.elements.len());
            for element in value.elements.drain(..) {
                let said = footnotes.of(std::slice::from_ref(&element));
                let place = element.clone();
                with_notes.push(element);
                if !said.is_empty() {
                    row.footnotes.extend(span_of(&said));
                    bracketed(&mut with_notes, said, &place);
                }
            }
            value.elements = with_notes;
        }
    }
    reader.sheet
}

/// Bytes from the first element to the last.
fn span_of(elements: &[Element]) -> Option<Range<usize>> {
    Some(elements.first()?.span.start..elements.last()?.span.end)
}

/// Adds elements as if they stood in brackets.
pub(super) fn bracketed(to: &mut Vec<Element>, inside: Vec<Element>, place: &Element) {
    let depth = place.depth.saturating_add(1);
    let mark = |kind: Kind| Element { kind, span: place.span.clone(), depth };
    to.push(mark(Kind::Open));
    to.extend(inside.into_iter().map(|e| Element { depth: depth.saturating_add(e.depth), ..e }));
    to.push(mark(Kind::Close));
}

/// The inner heading's channel and side take the place of the outer's.
pub(crate) fn merge_context(outer: Atoms, inner: Atoms) -> Atoms {
    let mut kept = outer;
    if inner.any(CHANNELS) {
        kept = kept.without(CHANNELS);
    }
    if inner.any(SIDES) {
        kept = kept.without(SIDES);
    }
    kept.and(inner)
}
