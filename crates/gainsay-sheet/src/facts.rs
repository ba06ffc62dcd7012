//! Facts: every clause of the sheet with all that headings, labels and columns say about it.

use crate::clause::{Clause, clauses, dimension};
use crate::grammar::{Measure, Numbers};
use crate::lexicon::{Atom, Atoms, CHANNELS, QUANTITIES, SIDES};
use crate::rows::{Role, Row, Sheet, Value, merge_context};
use crate::scan::{Element, Kind, atoms_of};
use crate::terms::Terms;
use gainsay_units::Dimension;
use std::ops::Range;

/// One thing that the sheet says.
#[derive(Debug, Clone)]
pub(crate) struct Fact {
    /// Line, counted from one.
    pub(crate) line: usize,
    /// Bytes of the clause.
    pub(crate) span: Range<usize>,
    /// Bytes of the whole line.
    pub(crate) line_span: Range<usize>,
    /// Bytes of the footnotes to which the line refers.
    pub(crate) footnotes: Vec<Range<usize>>,
    /// All that its words mean, without where on the device.
    pub(crate) atoms: Atoms,
    /// The channel: microphone, line, digital …
    pub(crate) channel: Atoms,
    /// Input or output.
    pub(crate) side: Atoms,
    /// What label and heading name together, apart from the value's own words.
    pub(crate) label: Atoms,
    pub(crate) clause: Clause,
    /// Index of the column and what it holds.
    pub(crate) column: Option<(usize, Role)>,
    /// The channels that the column is for, where its head names them by number.
    pub(crate) channels: Option<String>,
}

impl Fact {
    /// The label of the group of inputs that a column of single channels makes.
    pub(crate) fn column_label(&self) -> Option<String> {
        self.channels.clone()
    }

    /// Whether its words mean this, wherever they stand.
    pub(crate) fn has(&self, atom: Atom) -> bool {
        self.atoms.has(atom) || self.channel.has(atom) || self.side.has(atom)
    }
}

/// A figure without unit takes the one that its label or the head of its column names: "Gain (dB): 60".
fn with_unit<'a>(value: &[Element], mut named: impl Iterator<Item = &'a Element>) -> Vec<Element> {
    let unit = named.find_map(|element| match element.kind {
        Kind::Unit(unit) => Some(unit),
        _ => None,
    });
    let mut value = value.to_vec();
    if let Some(unit) = unit {
        for element in &mut value {
            if let Kind::Figure(measure) = &mut element.kind
                && measure.is_bare()
                && !measure.times
                && element.depth == 0
            {
                measure.unit = Some(unit);
            }
        }
    }
    value
}

/// Whether a figure of this unit can't be below zero.
fn never_negative(measure: &Measure) -> bool {
    match dimension(measure) {
        Some(Dimension::Voltage) => measure.known().is_some_and(|unit| !unit.is_logarithmic()),
        Some(Dimension::Ratio | Dimension::Sensitivity | Dimension::DigitalLevel) => false,
        _ => true,
    }
}

/// What a label means, without the conditions that it carries: "Full-scale level at minimum gain", "Highest level (1 % THD)".
fn label_atoms(label: &[Element]) -> Atoms {
    let names = QUANTITIES.without(Atoms::of(&[Atom::Gain, Atom::Distortion]));
    let mut all = Atoms::NONE;
    let mut conditions = false;
    let last = label.iter().rposition(|e| e.atoms().any(Atoms::of(&[Atom::Gain, Atom::Distortion])));
    for (index, element) in label.iter().enumerate() {
        let atoms = element.atoms();
        if matches!(element.kind, Kind::Comma | Kind::At | Kind::Open) || atoms.has(Atom::At) {
            conditions = all.any(names);
        }
        let condition = atoms.any(Atoms::of(&[Atom::Gain, Atom::Distortion, Atom::Minimum, Atom::Maximum]));
        if conditions && condition && last.is_some_and(|last| index <= last) {
            all.add(atoms.without(CONDITIONS));
            continue;
        }
        all.add(atoms);
    }
    all
}

const PHANTOM: Atoms = Atoms::of(&[Atom::Phantom]);

/// Words of a condition of gain or distortion.
const CONDITIONS: Atoms =
    Atoms::of(&[Atom::Gain, Atom::Distortion, Atom::Minimum, Atom::Maximum, Atom::Range]);

/// All facts of a sheet.
pub(crate) fn facts(sheet: &Sheet) -> Vec<Fact> {
    let mut all = Vec::new();
    for row in &sheet.rows {
        for value in &row.values {
            row_facts(sheet, row, value, &mut all);
        }
    }
    all
}

fn row_facts(sheet: &Sheet, row: &Row, value: &Value, all: &mut Vec<Fact>) {
    let label = label_atoms(&row.label);
    let column = value.column.and_then(|index| sheet.columns.get(index).map(|column| (index, column)));
    let column_elements: &[Element] = column.map_or(&[], |(_, column)| &column.elements);
    let column_atoms = atoms_of(column_elements);
    let open = label_atoms(&row.open);
    // "Mic: 60 dB" under the label "Gain".
    let own_names = label.any(QUANTITIES);
    let inherited = if own_names { Atoms::NONE } else { open };
    let named = label.and(column_atoms).and(inherited);
    let base = Terms::of(&row.label).or(Terms::of(column_elements)).or(Terms::of(&row.notes));
    let base = if own_names { base } else { base.or(Terms::of(&row.open)) };
    let mut phantom = Atoms::NONE;
    let elements = with_unit(&value.elements, row.label.iter().chain(column_elements).chain(&row.open));
    for clause in clauses(&elements, named) {
        let mut clause = clause;
        // "Phantom power 48 V, 3.2 mA": the current is phantom power's too.
        if clause.measure.as_ref().and_then(dimension) == Some(Dimension::Current) {
            clause.own.add(phantom);
        }
        phantom.add(clause.own.both(Atoms::of(&[Atom::Phantom])));
        clause.terms = clause.terms.or(base);
        // "Phantom – 48 V": what can't be negative has a dash before it.
        if let Some(measure) = &mut clause.measure
            && measure.loose_sign
            && measure.first() < 0.0
            && (never_negative(measure)
                || named.any(Atoms::of(&[Atom::Gain, Atom::Dynamic, Atom::SignalToNoise, Atom::Spl])))
            && let Numbers::One(value) = &mut measure.numbers
        {
            *value = -*value;
        }
        // From the outermost heading to the words beside the figure: the nearest that names a channel or side counts.
        let outer = [row.section, open, label, column_atoms, clause.sub, clause.own];
        let place = outer
            .iter()
            .fold(Atoms::NONE, |place, words| merge_context(place, words.both(CHANNELS.and(SIDES))));
        // "Phantom power" over a column for microphone inputs.
        let place = if column.is_some() { place.and(label.both(PHANTOM)) } else { place };
        let strong = label.and(clause.sub).and(clause.own).and(column_atoms).any(QUANTITIES);
        let inherited = if strong { Atoms::NONE } else { open };
        let words = label.and(column_atoms).and(clause.sub).and(clause.own).and(inherited);
        // A clause that takes in a footnote does not hold the lines between.
        if clause.span.start < row.span.end && clause.span.end > row.span.start {
            clause.span = clause.span.start.max(row.span.start)..clause.span.end.min(row.span.end);
        }
        all.push(Fact {
            line: row.line,
            span: clause.span.clone(),
            line_span: row.span.clone(),
            footnotes: row.footnotes.clone(),
            atoms: words.without(CHANNELS.and(SIDES)),
            channel: place.both(CHANNELS),
            side: place.both(SIDES),
            label: named.and(row.section),
            clause,
            column: column.map(|(index, column)| (index, column.role)),
            channels: column.filter(|(_, c)| c.names_channels()).map(|(_, c)| c.title.clone()),
        });
    }
}
