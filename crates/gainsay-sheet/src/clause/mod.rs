//! Clauses of a value: one figure each, with the words and conditions that go with it.

mod beside;
mod builder;
mod condition;

use crate::grammar::{Measure, SheetUnit};
use crate::lexicon::{Atom, Atoms, CONNECTORS, FORMATS, SIDES};
use crate::scan::{Element, Kind, atoms_of};
use crate::terms::Terms;
use builder::Builder;
use gainsay_units::Dimension;
use std::ops::Range;

/// One figure of a value, or words without a figure.
#[derive(Debug, Clone)]
pub(crate) struct Clause {
    pub(crate) measure: Option<Measure>,
    /// The same said in another unit: "−38 dB (12.6 mV/Pa)".
    pub(crate) also: Vec<Measure>,
    /// Words that go with it.
    pub(crate) own: Atoms,
    /// A label inside the value: "Mic: +12 dBu, Line: +22 dBu".
    pub(crate) sub: Atoms,
    pub(crate) terms: Terms,
    pub(crate) span: Range<usize>,
    /// Words that stand directly beside the figure, without a comma or another figure between.
    pub(crate) beside: Atoms,
    /// Whether the figure is the first thing in its value.
    pub(crate) first: bool,
    /// Whether the figure stands in brackets.
    pub(crate) bracketed: bool,
}

impl Clause {
    /// A clause of words without a figure.
    fn wordy(span: Range<usize>, sub: Atoms) -> Self {
        Self {
            measure: None,
            also: Vec::new(),
            own: Atoms::NONE,
            sub,
            terms: Terms::default(),
            span,
            beside: Atoms::NONE,
            first: false,
            bracketed: false,
        }
    }

    fn new(element: &Element, measure: Option<Measure>, sub: Atoms) -> Self {
        Self {
            measure,
            also: Vec::new(),
            own: Atoms::NONE,
            sub,
            terms: Terms::default(),
            span: element.span.clone(),
            beside: Atoms::NONE,
            first: false,
            bracketed: false,
        }
    }
}

/// The clauses of a value whose label has this meaning.
pub(crate) fn clauses(elements: &[Element], label: Atoms) -> Vec<Clause> {
    if let Some(pieces) = sides(elements).or_else(|| formats(elements, label)) {
        return pieces.into_iter().flat_map(|piece| clauses(piece, label)).collect();
    }
    let inside = brackets(elements);
    let mut builder = Builder::new(label);
    let mut rate_before = false;
    for (index, element) in elements.iter().enumerate() {
        let colon = elements.get(index + 1).is_some_and(|next| next.kind == Kind::Colon && next.depth == 0);
        let rate = element.figure().filter(|m| colon && dimension(m) == Some(Dimension::Frequency));
        if let Some(measure) = rate.filter(|_| element.depth == 0) {
            builder.rate(element, measure);
        }
        if std::mem::replace(&mut rate_before, rate.is_some()) || rate_before {
            continue;
        }
        let behind = elements.get(index + 1).map_or(Atoms::NONE, Element::atoms);
        let bracket = inside.get(index).copied().unwrap_or_default();
        let before = builder.clauses.len();
        builder.element(element, behind, bracket);
        if builder.clauses.len() > before
            && let Some(clause) = builder.clauses.last_mut()
        {
            clause.beside = beside::words(elements, index);
            clause.first = index == 0;
            clause.bracketed = element.depth > 0;
        }
    }
    let mut all = builder.finish(elements);
    for clause in &mut all {
        // "at minimum gain" says when a level was measured, not that it is the lowest.
        let level = clause.measure.as_ref().and_then(dimension) == Some(Dimension::Voltage);
        if level && clause.own.has(Atom::Gain) {
            clause.own =
                clause.own.without(Atoms::of(&[Atom::Gain, Atom::Minimum, Atom::Maximum, Atom::Range]));
        }
        // "+6 dBu at 1 % THD": the limit of distortion, not a distortion.
        let limited = matches!(
            clause.measure.as_ref().and_then(dimension),
            Some(Dimension::Voltage | Dimension::SoundLevel)
        );
        if limited && clause.terms.distortion.is_some() && !label.has(Atom::Distortion) {
            clause.own = clause.own.without(Atoms::of(&[Atom::Distortion]));
        }
    }
    drop_sum(&mut all);
    share_connectors(&mut all);
    share_conditions(&mut all, label);
    all
}

/// "8 (4 microphone, 4 line)": the parts say more than their sum.
fn drop_sum(clauses: &mut Vec<Clause>) {
    let number = |clause: &Clause| match &clause.measure {
        Some(measure) if measure.is_bare() => Some(measure.first()),
        _ => None,
    };
    let numbers: Option<Vec<f64>> = clauses.iter().map(number).collect();
    let Some([sum, parts @ ..]) = numbers.as_deref() else { return };
    if parts.len() > 1 && (parts.iter().sum::<f64>() - sum).abs() < 1e-9 {
        let whole = clauses.remove(0);
        // What is said of all, such as the side, holds for the parts.
        let said = whole.own.without(crate::lexicon::CHANNELS);
        clauses.iter_mut().for_each(|part| part.own.add(said.both(SIDES)));
    }
}

/// "Two microphone inputs on XLR, one instrument input and four outputs on jacks": pieces that each speak of one side.
fn sides(elements: &[Element]) -> Option<Vec<&[Element]>> {
    if elements.iter().any(|e| e.figure().is_some_and(|m| !m.is_bare())) {
        return None;
    }
    let pieces: Vec<&[Element]> = elements
        .split(|e| {
            e.depth == 0 && (matches!(e.kind, Kind::Comma | Kind::Semicolon) || e.atoms().has(Atom::And))
        })
        .filter(|piece| !piece.is_empty())
        .collect();
    let one_side = |piece: &&[Element]| {
        let atoms = atoms_of(piece);
        let figures = piece.iter().filter(|e| e.figure().is_some()).count();
        atoms.any(SIDES) && !atoms.all(SIDES) && atoms.any(CONNECTORS) && figures <= 1
    };
    (pieces.len() > 1 && pieces.iter().all(one_side)).then_some(pieces)
}

/// "Optical 8-channel in and out, coaxial in and out": pieces that each speak of one digital format.
fn formats(elements: &[Element], label: Atoms) -> Option<Vec<&[Element]>> {
    if elements.iter().any(|e| e.figure().is_some()) || label.has(Atom::ClockOf) || !label.has(Atom::Digital)
    {
        return None;
    }
    let pieces: Vec<&[Element]> = elements
        .split(|e| e.depth == 0 && matches!(e.kind, Kind::Comma | Kind::Semicolon))
        .filter(|piece| !piece.is_empty())
        .collect();
    let known = |piece: &&[Element]| atoms_of(piece).any(FORMATS.and(Atoms::of(&[Atom::WordClock])));
    (pieces.len() > 1 && pieces.iter().all(known)).then_some(pieces)
}

/// Words of a bracket: of all of it, and of the piece between commas.
#[derive(Debug, Clone, Copy, Default)]
struct Bracket {
    all: Atoms,
    piece: Atoms,
    /// Whether a figure with a unit stands in it.
    figure: bool,
}

/// For each element the words of the outermost bracket around it.
fn brackets(elements: &[Element]) -> Vec<Bracket> {
    let mut found = vec![Bracket::default(); elements.len()];
    let mut from = 0;
    while from < elements.len() {
        let inside = elements.iter().skip(from).take_while(|e| e.depth > 0).count();
        let within = elements.get(from..from + inside).unwrap_or_default();
        let all = atoms_of(within);
        let figure = within.iter().any(|e| e.figure().is_some_and(|m| !m.is_bare()));
        let mut at = from;
        while at < from + inside {
            let comma = |e: &&Element| !matches!(e.kind, Kind::Comma | Kind::Semicolon);
            let length = elements.iter().skip(at).take(from + inside - at).take_while(comma).count();
            let piece = elements.get(at..at + length).map_or(Atoms::NONE, atoms_of);
            found.iter_mut().skip(at).take(length).for_each(|f| *f = Bracket { all, piece, figure });
            at += length + 1;
        }
        from += inside.max(1);
    }
    found
}

/// "−128 dBu unweighted, −130 dBu A-weighted (150 Ω, 20 Hz – 20 kHz)": source and band hold for both.
fn share_conditions(clauses: &mut [Clause], label: Atoms) {
    // "A/D 0.25 ms, D/A 0.25 ms (at 48 kHz)"
    if label.has(Atom::Latency) {
        let spot = clauses.last().and_then(|last| last.terms.spot);
        clauses.iter_mut().for_each(|clause| clause.terms.spot = clause.terms.spot.or(spot));
        return;
    }
    let voltage = |clause: &Clause| clause.measure.as_ref().and_then(dimension) == Some(Dimension::Voltage);
    if !label.has(Atom::Ein) || !clauses.iter().all(voltage) {
        return;
    }
    let Some(last) = clauses.last().map(|last| last.terms) else { return };
    let earlier = clauses.split_last().map_or(&[][..], |(_, earlier)| earlier);
    let source = !earlier.iter().any(|c| c.terms.source.is_some() || c.terms.shorted);
    let band = !earlier.iter().any(|c| c.terms.band.is_some());
    // "… and …, both unweighted"
    let joined =
        earlier.len() == 1 && earlier.iter().all(|c| c.own.has(Atom::And) && c.terms.weighting.is_none());
    let first = clauses.first().map(|first| first.terms);
    for clause in clauses {
        // "−128 dBu unweighted, 20 Hz – 20 kHz, 150 Ω (−124 dBu with 600 Ω)": what the bracket does not change holds in it.
        if clause.bracketed
            && let Some(first) = first
        {
            clause.terms.weighting = clause.terms.weighting.or(first.weighting);
            clause.terms.band = clause.terms.band.or(first.band);
        }
        if source {
            clause.terms.source = clause.terms.source.or(last.source);
            clause.terms.shorted |= last.shorted;
        }
        if band {
            clause.terms.band = clause.terms.band.or(last.band);
        }
        if joined {
            clause.terms.weighting = clause.terms.weighting.or(last.weighting);
            clause.terms.gain = clause.terms.gain.or(last.gain);
        }
    }
}

/// "1 input, 1 output, XLR": what is said behind the last holds for each.
fn share_connectors(clauses: &mut [Clause]) {
    let connectors = CONNECTORS.and(Atoms::of(&[
        Atom::Bnc,
        Atom::Ethernet,
        Atom::Optical,
        Atom::Coaxial,
        Atom::Iec60958,
        Atom::TwoChannel,
    ]));
    let one_side = |clause: &Clause| {
        clause.measure.as_ref().is_some_and(Measure::is_bare)
            && clause.own.any(SIDES)
            && !clause.own.all(SIDES)
            && !clause.own.any(Atoms::of(&[Atom::Microphone, Atom::Line, Atom::Instrument]))
    };
    if clauses.len() < 2 || !clauses.iter().all(one_side) {
        return;
    }
    let Some(said) = clauses.last().map(|last| last.own.both(connectors)) else { return };
    for clause in clauses.iter_mut().filter(|clause| !clause.own.any(connectors.without(FORMATS))) {
        let format = if clause.own.any(FORMATS) { FORMATS } else { Atoms::NONE };
        clause.own.add(said.without(format));
    }
    // "24 in, 24 out at 44.1/48 kHz": the rate holds for both.
    for index in (1..clauses.len()).rev() {
        let Some((spot, own)) = clauses.get(index).map(|next| (next.terms.spot, next.own)) else { continue };
        if let Some(before) = clauses.get_mut(index - 1)
            && before.terms.spot.is_none()
            && before.own.both(SIDES) != own.both(SIDES)
        {
            before.terms.spot = spot;
        }
    }
}

/// What a figure measures.
pub(crate) fn dimension(measure: &Measure) -> Option<Dimension> {
    match measure.unit?.unit {
        SheetUnit::Known(unit) => Some(unit.dimension()),
        SheetUnit::Dbm | SheetUnit::Peak(_) | SheetUnit::PeakToPeak(_) => Some(Dimension::Voltage),
        SheetUnit::Other => None,
    }
}

/// Whether a figure in brackets says the same as the one before in another unit.
fn same_quantity(clause: &Clause, measure: &Measure) -> bool {
    let last = clause.measure.as_ref().and_then(dimension);
    let this = dimension(measure);
    // A sensitivity in plain decibels, and one in mV/Pa.
    let loose = |d: Option<Dimension>| {
        matches!(d, Some(Dimension::Sensitivity | Dimension::Ratio | Dimension::Voltage))
    };
    let sensitivity = this == Some(Dimension::Sensitivity) || last == Some(Dimension::Sensitivity);
    (this.is_some() && this == last) || (sensitivity && loose(last) && loose(this))
}
