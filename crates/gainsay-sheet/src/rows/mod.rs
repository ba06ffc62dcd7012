//! Rows: a label, its values, and what the headings above say about them.

mod counts;
mod label;
mod table;

use crate::grammar::Convention;
use crate::lexicon::{Atom, Atoms, CHANNELS, CONNECTORS, KINDS, PATTERNS, QUANTITIES, SIDES, TRANSDUCERS};
use crate::scan::{Element, Kind, atoms_of, scan};
use crate::text::{Footnotes, Line, Separator, lines};
pub(crate) use label::fits;
use std::ops::Range;
use table::Table;
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
    let mut reader = Reader {
        text,
        sheet: Sheet { convention, figures, ..Sheet::default() },
        sections: Vec::new(),
        open: Vec::new(),
        table: None,
        category: Vec::new(),
        heading_before: false,
        deeper_below: false,
        indent_before: 0,
    };
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

struct Reader<'a> {
    text: &'a str,
    sheet: Sheet,
    /// Level and meaning of the headings that hold.
    sections: Vec<(u8, Atoms)>,
    open: Vec<Element>,
    table: Option<Table>,
    /// First column of a table that groups its rows.
    category: Vec<Element>,
    heading_before: bool,
    /// Whether the next line stands deeper than this one.
    deeper_below: bool,
    /// Indent of the last line that had a label.
    indent_before: usize,
}

impl Reader<'_> {
    fn line(
        &mut self,
        line: &Line<'_>,
        cells: &[Vec<Element>],
        next: Option<(&Line<'_>, &Vec<Vec<Element>>)>,
        first: bool,
    ) {
        let colon = cells.iter().flatten().any(|e| e.kind == Kind::Colon);
        if first && cells.len() == 1 && !colon {
            self.sheet.title = Some(line.text.to_owned());
            self.sheet.title_atoms = atoms_of(&cells.concat());
        }
        if first
            && cells.len() == 1
            && !colon
            && !cells.iter().flatten().any(|e| e.figure().is_some_and(|m| !m.is_bare()))
        {
            // The title speaks of the device, not of the rows below; its features count.
            self.push(line, Vec::new(), vec![Value { elements: cells.concat(), column: None }]);
            return;
        }
        if line.cells.len() > 1 {
            if let Some(table) =
                Table::from_header(line, cells, next, self.table.as_ref(), &mut self.sheet.columns)
            {
                for value in table.counts(self.text) {
                    self.push(line, Vec::new(), vec![value]);
                }
                self.table = Some(table);
                self.category.clear();
                return;
            }
            if self.table.as_ref().is_some_and(|table| !table.holds(line)) {
                self.table = None;
            }
            self.cells(line, cells);
            return;
        }
        let Some(elements) = cells.first() else { return };
        let sentences: Vec<&[Element]> =
            elements.split(|e| e.kind == Kind::Stop && e.depth == 0).filter(|s| !s.is_empty()).collect();
        if sentences.len() > 1 && !elements.iter().any(|e| e.kind == Kind::Colon) {
            // Prose: what each sentence says about itself counts.
            for sentence in sentences {
                let (label, value) = label::split(sentence);
                if !value.is_empty() {
                    self.labelled(line, label, Value { elements: value, column: None });
                } else if says(&label) {
                    self.push(line, Vec::new(), vec![Value { elements: label, column: None }]);
                }
            }
            return;
        }
        self.cell(line, elements);
    }

    /// A line of one cell, or a sentence.
    fn cell(&mut self, line: &Line<'_>, elements: &[Element]) {
        let (label, value) = label::split(elements);
        if value.is_empty() {
            self.label_only(line, label);
        } else {
            self.labelled(line, label, Value { elements: value, column: None });
        }
    }

    /// A line of several cells.
    fn cells(&mut self, line: &Line<'_>, cells: &[Vec<Element>]) {
        if let Some(table) = &self.table
            && table.has_columns()
        {
            let (group, label, values) = table.row(self.text, line, cells, self.sheet.convention);
            let grouped = table.is_grouped();
            if let Some(group) = group {
                self.category = group;
            }
            let label = match (grouped, label.is_empty()) {
                (true, _) => [self.category.clone(), label].concat(),
                (false, true) => self.category.clone(),
                (false, false) => label,
            };
            if values.is_empty() {
                self.label_only(line, label);
                return;
            }
            if !grouped {
                self.category.clone_from(&label);
            }
            self.add(line, label, values);
            return;
        }
        // "Sensitivity: -36 dB | Output impedance: 150 Ω": a pair in each cell.
        let pairs: Vec<_> = cells.iter().map(|cell| label::split_at_colon(cell)).collect();
        if pairs.len() > 1
            && pairs.iter().all(|(label, value)| !value.is_empty() && atoms_of(label) != Atoms::NONE)
        {
            for (label, value) in pairs {
                self.labelled(line, label, Value { elements: value, column: None });
            }
            return;
        }
        let (mut label, mut rest): (Vec<Element>, Vec<Vec<Element>>) = (Vec::new(), Vec::new());
        for (index, cell) in cells.iter().enumerate() {
            if index == 0 {
                let (before, after) = label::split_at_colon(cell);
                label = before;
                if !after.is_empty() {
                    rest.push(after);
                }
            } else {
                rest.push(label::sure_sign(cell));
            }
        }
        let quantity = |elements: &[Element]| atoms_of(elements).any(QUANTITIES);
        let figure = |elements: &[Element]| elements.iter().any(|e| e.figure().is_some());
        // A value with its name behind it.
        if label.first().is_some_and(|e| e.figure().is_some_and(|m| !m.is_bare()))
            && rest.first().is_some_and(|second| quantity(second) && !figure(second))
        {
            let name = rest.remove(0);
            rest.insert(0, std::mem::replace(&mut label, name));
        }
        // The first column may group the rows: "Mic in | Gain range | 60 dB".
        if label.is_empty()
            && matches!(line.separator, Separator::Tab | Separator::Bar | Separator::Separated(_))
        {
            label = self.category.clone();
        } else if !quantity(&label)
            && rest.len() >= 2
            && rest.first().is_some_and(|second| quantity(second) && !figure(second))
        {
            self.category.clone_from(&label);
        }
        while rest.len() >= 2
            && rest.first().is_some_and(|second| quantity(second) && !figure(second))
            && !quantity(&label)
        {
            label.extend(rest.remove(0));
        }
        let mut joined: Vec<Element> = Vec::new();
        for cell in rest.into_iter().filter(|cell| !cell.is_empty()) {
            if let Some(last) = joined.last() {
                let comma = Element { kind: Kind::Comma, span: last.span.clone(), depth: 0 };
                joined.push(comma);
            }
            joined.extend(cell);
        }
        if joined.is_empty() {
            self.label_only(line, label);
        } else {
            self.labelled(line, label, Value { elements: joined, column: None });
        }
    }

    /// A line with a value, whose label may be missing.
    fn labelled(&mut self, line: &Line<'_>, label: Vec<Element>, value: Value) {
        let words = label.iter().any(|e| matches!(e.kind, Kind::Words(_) | Kind::Unknown));
        // Without a label the line goes on where the line above ended, or gives the value of a label above.
        let opens = value.elements.first().is_some_and(|e| e.kind == Kind::Open);
        let deeper = line.indent >= self.indent_before + 2 || opens;
        if !words
            && deeper
            && self.open.is_empty()
            && !line.after_blank
            && !line.bullet
            && !self.heading_before
            && let Some(last) = self.sheet.rows.last_mut()
            && let Some(place) = last.values.last_mut()
        {
            let in_brackets = value.elements.first().is_some_and(|e| e.kind == Kind::Open)
                || !value.elements.iter().any(|e| e.figure().is_some());
            if !in_brackets && let Some(end) = place.elements.last() {
                let span = end.span.clone();
                place.elements.push(Element { kind: Kind::Semicolon, span, depth: 0 });
            }
            place.elements.extend(value.elements);
            last.span.end = line.start + line.text.len();
            return;
        }
        self.add(line, label, vec![value]);
    }

    fn add(&mut self, line: &Line<'_>, label: Vec<Element>, values: Vec<Value>) {
        let own = atoms_of(&label);
        let pseudo = label.is_empty() && values.iter().any(|v| own_quantity(&v.elements));
        if own.any(QUANTITIES) || pseudo {
            self.open.clear();
        }
        // "Mic input x 1 (XLR): …": the label says how many and what they are.
        if counts::speaks(self.text, &label) {
            self.push(line, Vec::new(), vec![Value { elements: label.clone(), column: None }]);
        }
        self.push(line, label, values);
        self.heading_before = false;
        self.indent_before = line.indent;
    }

    fn push(&mut self, line: &Line<'_>, label: Vec<Element>, values: Vec<Value>) {
        let section = self.sections.iter().fold(Atoms::NONE, |all, (_, atoms)| merge_context(all, *atoms));
        self.sheet.rows.push(Row {
            line: line.number,
            span: line.start..line.start + line.text.len(),
            section,
            open: self.open.clone(),
            label,
            values,
            notes: Vec::new(),
            footnotes: Vec::new(),
        });
    }

    /// A line that is a label or heading, or says a thing by words alone.
    fn label_only(&mut self, line: &Line<'_>, label: Vec<Element>) {
        let atoms = atoms_of(&label);
        let counts = label.iter().any(|e| e.figure().is_some_and(crate::grammar::Measure::is_bare));
        let words = label.iter().filter(|e| matches!(e.kind, Kind::Words(_) | Kind::Unknown)).count();
        let sides = atoms.any(SIDES) && atoms.any(CONNECTORS);
        let told = sides || atoms.any(Atoms::of(&[Atom::LevelControl, Atom::Passes]));
        let sentence = line.text.ends_with('.');
        let prose = words > 9 || (sentence && !told);
        let features = features();
        let says = counts || atoms.any(features) || line.bullet;
        let starts_with_count = label.first().is_some_and(|e| e.figure().is_some());
        if !prose
            && !sentence
            && !line.bullet
            && !starts_with_count
            && self.heading(line, atoms, &label, words)
        {
            if counts || atoms.any(features) {
                self.push(line, Vec::new(), vec![Value { elements: label, column: None }]);
            }
            self.heading_before = true;
            return;
        }
        if says && !prose {
            let value = Value { elements: label, column: None };
            self.push(line, Vec::new(), vec![value]);
            self.heading_before = false;
        }
    }

    /// Takes a line as a heading; whether it is one.
    fn heading(&mut self, line: &Line<'_>, atoms: Atoms, label: &[Element], words: usize) -> bool {
        let nested = self.heading_before && line.heading.is_none();
        let level = line.heading.unwrap_or(10)
            + u8::from(line.indent >= 2 && line.heading.is_none())
            + 2 * u8::from(nested);
        let context = atoms.both(CHANNELS.and(SIDES));
        // "Phantom power" is a heading that rows below fill.
        if atoms.without(Atoms::of(&[Atom::Supply])).any(QUANTITIES) {
            self.open = label.to_vec();
            // A heading at the margin over lines that stand deeper ends the section above.
            if line.indent == 0 && self.deeper_below {
                self.sections.retain(|(of, _)| *of < 10);
            }
            if line.heading.is_some() {
                self.sections.retain(|(of, _)| *of < level);
                if !context.is_empty() {
                    self.sections.push((level, context));
                }
            }
            return true;
        }
        if !context.is_empty() {
            self.sections.retain(|(of, _)| *of < level);
            self.sections.push((level, context));
            self.open.clear();
            return true;
        }
        if atoms.has(Atom::Neutral) {
            self.open.clear();
            return true;
        }
        let is_heading = line.heading.is_some()
            || atoms.has(Atom::General)
            || line.text.ends_with(':')
            || (line.after_blank && words <= 5 && !atoms.any(CONNECTORS.and(PATTERNS).and(TRANSDUCERS)));
        if is_heading {
            self.sections.retain(|(of, _)| *of < level.min(10));
            self.open.clear();
        }
        is_heading
    }
}

/// Words that say a thing without a figure.
const fn features() -> Atoms {
    let links = Atoms::of(&[Atom::Usb, Atom::PciExpress, Atom::Recorder, Atom::LevelControl, Atom::Passes]);
    CONNECTORS.and(PATTERNS).and(TRANSDUCERS).and(KINDS).and(links)
}

/// Whether a sentence without a value says a thing.
fn says(sentence: &[Element]) -> bool {
    atoms_of(sentence).any(features()) || sentence.iter().any(|e| e.figure().is_some())
}

/// Whether a value without label names its own quantity.
fn own_quantity(elements: &[Element]) -> bool {
    atoms_of(elements).any(QUANTITIES)
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
