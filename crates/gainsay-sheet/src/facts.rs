//! Facts: every clause of the sheet with all that headings, labels and columns say about it.

use crate::clause::{Clause, clauses, dimension};
use crate::grammar::{Measure, Numbers, SheetUnit};
use crate::lexicon::{Atom, Atoms, CHANNELS, FORMATS, PLACES, QUANTITIES, SIDES};
use crate::rows::{Role, Row, Sheet, Value, merge_context};
use crate::scan::{Element, Kind, atoms_of};
use crate::terms::Terms;
use gainsay_units::{Dimension, Unit};
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
    /// What the label names without the headings.
    pub(crate) named: Atoms,
    pub(crate) clause: Clause,
    /// Index of the column and what it holds.
    pub(crate) column: Option<(usize, Role)>,
    /// The channels that the column is for, where its head names them by number.
    pub(crate) channels: Option<String>,
    /// Bytes of the words of its label and column that no lexicon holds.
    pub(crate) strange: Vec<Range<usize>>,
    /// Bytes of such words in its value.
    pub(crate) strange_in_value: Vec<Range<usize>>,
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

fn dimension_of(clause: &Clause) -> Option<Dimension> {
    clause.measure.as_ref().and_then(dimension)
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

/// "Impedance, mic / line: 2 kΩ / 10 kΩ": as many figures as the label names places belong to them one by one.
fn parallel(label: &[Element], clauses: &mut Vec<Clause>) {
    let inputs = Atoms::of(&[Atom::Microphone, Atom::Line, Atom::Instrument]);
    let places = |of: Atoms| -> Vec<Atoms> {
        label.iter().map(|e| e.atoms().both(of)).filter(|atoms| !atoms.is_empty()).collect()
    };
    let listed = |count: usize| match (places(inputs), places(SIDES)) {
        (channels, _) if channels.len() == count => Some(channels),
        (channels, sides) if channels.is_empty() && sides.len() == count => Some(sides),
        _ => None,
    };
    // "+10 / +22 dBu" is one list of figures.
    if let [only] = clauses.as_slice()
        && let Some(Measure { numbers: Numbers::List(values), .. }) = &only.measure
        && listed(values.len()).is_some()
        && !atoms_of(label).has(Atom::SampleRate)
        && let Some(measure) = only.measure.clone()
    {
        let one = |value: &f64| Clause {
            measure: Some(Measure { numbers: Numbers::One(*value), ..measure.clone() }),
            ..only.clone()
        };
        *clauses = values.iter().map(one).collect();
    }
    let alike = clauses.first().and_then(|c| c.measure.as_ref()).map(dimension);
    let all = clauses
        .iter()
        .all(|c| c.measure.as_ref().map(dimension) == alike && !c.own.any(PLACES) && !c.sub.any(PLACES));
    if clauses.len() < 2 || !all {
        return;
    }
    if let Some(places) = listed(clauses.len()) {
        clauses.iter_mut().zip(places).for_each(|(clause, place)| clause.sub.add(place));
    }
}

/// Quantities that one sentence may state one after the other.
const NAMED: Atoms = Atoms::of(&[
    Atom::SelfNoise,
    Atom::Spl,
    Atom::Sensitivity,
    Atom::SignalToNoise,
    Atom::Dynamic,
    Atom::Ein,
    Atom::Directivity,
]);

/// What goes with the quantity of a label.
const MODIFIERS: Atoms = Atoms::of(&[Atom::Maximum, Atom::Minimum, Atom::Noise]);

const PHANTOM: Atoms = Atoms::of(&[Atom::Phantom]);

/// Words of a condition of gain or distortion.
const CONDITIONS: Atoms =
    Atoms::of(&[Atom::Gain, Atom::Distortion, Atom::Minimum, Atom::Maximum, Atom::Range]);

/// So many unknown words are kept of a label or value.
const MOST_STRANGE: usize = 24;

/// Where the words stand that no lexicon holds.
fn unknown<'a>(elements: impl Iterator<Item = &'a Element>) -> Vec<Range<usize>> {
    let unknown = elements.filter(|e| e.kind == Kind::Unknown);
    unknown.take(MOST_STRANGE).map(|e| e.span.clone()).collect()
}

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
    let mut found = clauses(&elements, named);
    parallel(&row.label, &mut found);
    let (mut before, mut format, mut side, mut highest) =
        (Atoms::NONE, Atoms::NONE, Atoms::NONE, Atoms::NONE);
    let places = label.any(SIDES) && !own_names;
    let heads =
        row.label.iter().chain(column_elements).chain(if own_names { &[] } else { row.open.as_slice() });
    let strange = unknown(heads);
    let strange_in_value = unknown(elements.iter());
    for clause in found {
        let mut clause = clause;
        // "2 microphone inputs on XLR, input impedance 3 kΩ": without a label, the first words name the place of all.
        if row.label.is_empty() {
            let channel = clause.own.and(clause.sub).both(CHANNELS.without(PHANTOM));
            match channel.is_empty() {
                true if clause.own.any(QUANTITIES) => clause.sub.add(before),
                true => {}
                false => before = channel,
            }
        }
        // "Input 2 kΩ, output 60 Ω, max. +22 dBu": the level is that of the output.
        let own_side = clause.own.and(clause.sub).both(SIDES);
        match own_side.is_empty() {
            true if places && dimension_of(&clause).is_some() => clause.sub.add(side),
            true => {}
            false => side = own_side,
        }
        // "Max +22 dBu with pad, +2 dBu without": the second is a highest level like the first.
        let variant = Atoms::of(&[Atom::With, Atom::Without, Atom::Pad]);
        match dimension_of(&clause) {
            Some(Dimension::Voltage)
                if clause.own.any(variant) && !clause.own.any(QUANTITIES.without(variant)) =>
            {
                clause.sub.add(highest);
            }
            _ => {}
        }
        highest = match dimension_of(&clause) {
            Some(Dimension::Voltage) => {
                clause.own.and(clause.sub).both(Atoms::of(&[Atom::Maximum, Atom::FullScale]))
            }
            _ => highest,
        };
        // "AES67, 64 channels in, 64 channels out": the format is named once.
        let formats = clause.own.both(FORMATS);
        let counts = clause.measure.as_ref().is_some_and(Measure::is_bare) && clause.own.any(SIDES);
        match formats.is_empty() {
            true if counts && !named.any(FORMATS) => clause.sub.add(format),
            true => {}
            false => format = formats,
        }
        // "Phantom power 48 V, 3.2 mA": the current is phantom power's too.
        if clause.measure.as_ref().and_then(dimension) == Some(Dimension::Current) {
            clause.own.add(phantom);
        }
        phantom.add(clause.own.both(Atoms::of(&[Atom::Phantom])));
        clause.terms = clause.terms.or(base);
        // "Rates: 44.1–192k"
        if named.has(Atom::SampleRate)
            && let Some(unit) = clause.measure.as_mut().and_then(|measure| measure.unit.as_mut())
            && unit.unit == SheetUnit::Known(Unit::Kilohm)
        {
            unit.unit = SheetUnit::Known(Unit::Kilohertz);
        }
        // "Phantom – 48 V": what can't be negative has a dash before it.
        if let Some(measure) = &mut clause.measure
            && measure.loose_sign
            && measure.first() < 0.0
            && (never_negative(measure)
                || named.any(Atoms::of(&[Atom::Gain, Atom::Dynamic, Atom::SignalToNoise, Atom::Spl])))
        {
            match &mut measure.numbers {
                Numbers::One(value) => *value = -*value,
                // "Gain – 20 dB to 60 dB"
                Numbers::Range(low, high) if -*low < *high => *low = -*low,
                _ => {}
            }
        }
        // From the outermost heading to the words beside the figure: the nearest that names a channel or side counts.
        let outer = [row.section, open, label, column_atoms, clause.sub, clause.own];
        let place = outer
            .iter()
            .fold(Atoms::NONE, |place, words| merge_context(place, words.both(CHANNELS.and(SIDES))));
        // "Phantom power" over a column for microphone inputs;
        // "Phantom power: not needed by this microphone"
        let place = place.and(named.both(PHANTOM));
        let strong = label.and(clause.sub).and(clause.own).and(column_atoms).any(QUANTITIES);
        let inherited = if strong { Atoms::NONE } else { open };
        // "Sensitivity 22 mV/Pa, noise level 8 dB(A)": what names its own quantity is not the label's.
        let other = clause.own.both(NAMED);
        let of_label = label.and(inherited).both(NAMED);
        let apart = !other.is_empty() && other.both(of_label).is_empty() && !of_label.is_empty();
        let label_words = if apart { label.without(NAMED.and(MODIFIERS)) } else { label };
        let inherited = if apart { Atoms::NONE } else { inherited };
        let words = label_words.and(column_atoms).and(clause.sub).and(clause.own).and(inherited);
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
            named,
            clause,
            column: column.map(|(index, column)| (index, column.role)),
            channels: column.filter(|(_, c)| c.names_channels()).map(|(_, c)| c.title.clone()),
            strange: strange.clone(),
            strange_in_value: strange_in_value.clone(),
        });
    }
}
