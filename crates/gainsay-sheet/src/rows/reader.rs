//! Reads lines one after the other: what is a label, what its value, and what still holds from above.

use super::heading::Section;
use super::pairs::pairs;
use super::table::Table;
use super::{Row, Sheet, Value, counts, heading, label, merge_context};
use crate::lexicon::{Atom, Atoms, PLACES, QUANTITIES, SIDES};
use crate::scan::{Element, Kind, atoms_of};
use crate::text::{Line, Separator};

/// Reads the lines of a sheet.
pub(super) struct Reader<'a> {
    pub(super) text: &'a str,
    pub(super) sheet: Sheet,
    /// The headings that hold.
    pub(super) sections: Vec<Section>,
    pub(super) open: Vec<Element>,
    pub(super) table: Option<Table>,
    /// First column of a table that groups its rows.
    category: Vec<Element>,
    pub(super) heading_before: bool,
    /// Whether the next line stands deeper than this one.
    pub(super) deeper_below: bool,
    /// Whether empty lines stand over and below this line.
    pub(super) alone: bool,
    /// Indent of the last line that had a label.
    indent_before: usize,
    /// What separated the cells of the line before, and how many they were.
    shape_before: Option<(Separator, usize)>,
    /// Whether the sheet is made of pairs of lines, a label and below it its value, with empty lines between them.
    pub(super) pairs: bool,
    /// Whether rows without a place repeat below rows that name one, so that these are headings.
    pub(super) blocks: bool,
}

impl<'a> Reader<'a> {
    pub(super) fn new(text: &'a str, sheet: Sheet, pairs: bool, blocks: bool) -> Self {
        Self {
            text,
            sheet,
            sections: Vec::new(),
            open: Vec::new(),
            table: None,
            category: Vec::new(),
            heading_before: false,
            deeper_below: false,
            alone: false,
            indent_before: 0,
            shape_before: None,
            pairs,
            blocks,
        }
    }

    pub(super) fn line(
        &mut self,
        line: &Line<'_>,
        cells: &[Vec<Element>],
        next: Option<(&Line<'_>, &Vec<Vec<Element>>)>,
        first: bool,
    ) {
        self.leave_sections(line, self.pairs);
        self.alone = line.after_blank && next.is_some_and(|(below, _)| below.after_blank);
        if self.table.as_ref().is_some_and(|table| table.ends_at(line)) {
            self.table = None;
        }
        let colon = cells.iter().flatten().any(|e| e.kind == Kind::Colon);
        if first && cells.len() == 1 && !colon {
            self.sheet.title = Some(line.text.split_whitespace().collect::<Vec<_>>().join(" "));
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
            let shape = (line.separator, line.cells.len());
            let alike = self.shape_before.replace(shape) == Some(shape);
            let columns = &mut self.sheet.columns;
            if let Some(table) = Table::from_header(line, cells, next, self.table.as_ref(), alike, columns) {
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
        self.shape_before = None;
        let Some(elements) = cells.first() else { return };
        let halves = elements.iter().any(|e| e.kind == Kind::Semicolon && e.depth == 0) && labels(elements);
        if halves || elements.iter().any(|e| e.kind == Kind::Stop && e.depth == 0) {
            self.sentences(line, elements);
            return;
        }
        self.cell(line, elements);
    }

    /// Prose: what each sentence says about itself counts.
    fn sentences(&mut self, line: &Line<'_>, elements: &[Element]) {
        let mut labelled = false;
        for sentence in elements.split(|e| e.kind == Kind::Stop && e.depth == 0).filter(|s| !s.is_empty()) {
            let colon = sentence.iter().any(|e| e.kind == Kind::Colon && e.depth == 0);
            // Half-sentences stand for themselves, unless they are the parts of a value.
            let halves: Vec<&[Element]> = sentence
                .split(|e| e.kind == Kind::Semicolon && e.depth == 0 && (!colon || labels(sentence)))
                .filter(|half| !half.is_empty())
                .collect();
            let mut place: Vec<Element> = Vec::new();
            for half in halves {
                // "The outputs deliver +24 dBu; their impedance is 100 Ω."
                let own = half.iter().any(|e| e.atoms().any(PLACES));
                let inherited = if own || colon { Vec::new() } else { place.clone() };
                self.sentence(line, &[inherited, half.to_vec()].concat(), &mut labelled);
                if own {
                    place = half.iter().filter(|e| e.atoms().any(PLACES)).take(1).cloned().collect();
                }
            }
        }
    }

    fn sentence(&mut self, line: &Line<'_>, sentence: &[Element], labelled: &mut bool) {
        let span = match (sentence.first(), sentence.last()) {
            (Some(first), Some(last)) => first.span.start.min(last.span.start)..last.span.end,
            _ => return,
        };
        let rows = self.sheet.rows.len();
        let (label, value) = label::split(sentence);
        let colon = sentence.iter().any(|e| e.kind == Kind::Colon && e.depth == 0);
        let features = heading::features().without(Atoms::of(&[Atom::Separately, Atom::Together]));
        let answers = Atoms::of(&[Atom::Harmful, Atom::NotRequired, Atom::Required]);
        let answer =
            *labelled && atoms_of(sentence).any(answers) && !sentence.iter().any(|e| e.figure().is_some());
        let names = colon || !answer && atoms_of(sentence).any(QUANTITIES.and(PLACES).and(features));
        if !value.is_empty() {
            // "Gain: 60 dB. Steps of 1 dB."
            if !names && *labelled && self.goes_on(sentence) {
                return;
            }
            let said = label.iter().filter(|e| e.figure().is_none()).cloned().collect::<Vec<_>>();
            self.labelled(line, label, Value { elements: value, column: None });
            // What the words before the figure say by themselves: "The input is an XLR with an impedance of 2 kΩ."
            let told = atoms_of(&said);
            if told.any(heading::features()) && !told.any(QUANTITIES) {
                self.push(line, Vec::new(), vec![Value { elements: said, column: None }]);
            }
            *labelled = true;
        } else if colon {
            self.label_only(line, label);
            *labelled = false;
            return;
        } else if !names && *labelled && self.goes_on(sentence) {
            return;
        } else if heading::says(&label) {
            self.push(line, Vec::new(), vec![Value { elements: label, column: None }]);
        }
        for row in self.sheet.rows.iter_mut().skip(rows) {
            row.span = span.clone();
        }
    }

    /// Adds a sentence without a name of its own to the value before it.
    fn goes_on(&mut self, sentence: &[Element]) -> bool {
        let Some(row) = self.sheet.rows.last_mut() else { return false };
        let Some(value) = row.values.last_mut() else { return false };
        let Some(end) = value.elements.last().map(|e| e.span.clone()) else { return false };
        value.elements.push(Element { kind: Kind::Semicolon, span: end, depth: 0 });
        value.elements.extend(sentence.iter().cloned());
        if let Some(last) = sentence.last() {
            row.span.end = row.span.end.max(last.span.end);
        }
        true
    }

    /// A line of one cell.
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
        // "One microphone input (XLR) | One output (XLR)": cells that each say how many of what there are.
        if line.separator == Separator::Bar
            && cells.first().is_some_and(|cell| counts::speaks(self.text, cell))
        {
            for cell in cells {
                self.push(line, Vec::new(), vec![Value { elements: cell.clone(), column: None }]);
            }
            return;
        }
        if let Some(pairs) = pairs(line, cells) {
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
        let pseudo = label.is_empty() && values.iter().any(|v| label::own_quantity(&v.elements));
        if own.any(QUANTITIES) || pseudo {
            self.open.clear();
        }
        // "Mic input x 1 (XLR): …": the label says how many and what they are. "Phantom power (48 V): …"
        let phantom = own.has(Atom::Phantom)
            && label.iter().any(|e| e.figure().is_some_and(|m| m.known() == Some(gainsay_units::Unit::Volt)));
        if phantom || counts::speaks(self.text, &label) {
            self.push(line, Vec::new(), vec![Value { elements: label.clone(), column: None }]);
        }
        self.push(line, label, values);
        self.heading_before = false;
        self.indent_before = line.indent;
        self.section_of_row(line, own);
    }

    pub(super) fn push(&mut self, line: &Line<'_>, label: Vec<Element>, values: Vec<Value>) {
        let section =
            self.sections.iter().fold(Atoms::NONE, |all, section| merge_context(all, section.atoms));
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
}

/// Whether the half-sentences of a sentence have labels of their own: "Output impedance: 100 Ω; minimum load: 1 kΩ".
fn labels(sentence: &[Element]) -> bool {
    let colon = |e: &Element| e.kind == Kind::Colon && e.depth == 0;
    let mut halves = sentence.split(|e| e.kind == Kind::Semicolon && e.depth == 0);
    // "Impedance: mic: 3 kΩ; line: 20 kΩ" has one label for both.
    let one = halves.next().is_some_and(|first| first.iter().filter(|e| colon(e)).count() == 1);
    one && halves.all(|half| {
        let label = half.iter().position(colon).and_then(|at| half.get(..at));
        label.is_some_and(|label| atoms_of(label).any(QUANTITIES.and(SIDES)))
    })
}
