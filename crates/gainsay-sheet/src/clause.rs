//! Clauses of a value: one figure each, with the words and conditions that go with it.

use crate::grammar::{Measure, SheetUnit, implied_weighting};
use crate::lexicon::{Atom, Atoms, CHANNELS, CONNECTORS, SIDES};
use crate::rows::fits;
use crate::scan::{Element, Kind, atoms_of};
use crate::terms::Terms;
use gainsay_units::{Dimension, Unit};
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
}

impl Clause {
    fn new(element: &Element, measure: Option<Measure>, sub: Atoms) -> Self {
        Self {
            measure,
            also: Vec::new(),
            own: Atoms::NONE,
            sub,
            terms: Terms::default(),
            span: element.span.clone(),
        }
    }
}

/// What waits for a figure: words and conditions before it.
#[derive(Default)]
struct Waiting {
    atoms: Atoms,
    terms: Terms,
    from: Option<usize>,
    to: Option<usize>,
}

impl Waiting {
    fn take_into(&mut self, clause: &mut Clause) {
        clause.own.add(self.atoms);
        clause.terms = clause.terms.or(self.terms);
        if let Some(from) = self.from {
            clause.span.start = clause.span.start.min(from);
        }
        if let Some(to) = self.to {
            clause.span.end = clause.span.end.max(to);
        }
        *self = Self::default();
    }

    fn is_empty(&self) -> bool {
        self.atoms.is_empty() && self.terms == Terms::default()
    }
}

struct Builder {
    label: Atoms,
    clauses: Vec<Clause>,
    /// Words before the first figure, which wait for it.
    lead: Waiting,
    /// Words since the last separator.
    buffer: Waiting,
    sub: Atoms,
    /// Words before the next figure that make it a condition, and whether a sign such as @ did.
    cue: Atoms,
    cued: bool,
    separated: bool,
    /// Words since the last figure or separator.
    recent: Atoms,
}

/// The clauses of a value whose label has this meaning.
pub(crate) fn clauses(elements: &[Element], label: Atoms) -> Vec<Clause> {
    if let Some(pieces) = sides(elements) {
        return pieces.into_iter().flat_map(|piece| clauses(piece, label)).collect();
    }
    let inside = bracket_atoms(elements);
    let mut builder = Builder {
        label,
        clauses: Vec::new(),
        lead: Waiting::default(),
        buffer: Waiting::default(),
        sub: Atoms::NONE,
        cue: Atoms::NONE,
        cued: false,
        separated: false,
        recent: Atoms::NONE,
    };
    for (index, element) in elements.iter().enumerate() {
        let behind = elements.get(index + 1).map_or(Atoms::NONE, Element::atoms);
        let bracket = inside.get(index).copied().unwrap_or_default();
        builder.element(element, behind, bracket);
    }
    builder.flush();
    if !builder.lead.is_empty() {
        let span = elements.first().map_or(0..0, |first| {
            first.span.start..elements.last().map_or(first.span.end, |last| last.span.end)
        });
        let mut clause = Clause {
            measure: None,
            also: Vec::new(),
            own: Atoms::NONE,
            sub: builder.sub,
            terms: Terms::default(),
            span,
        };
        builder.lead.take_into(&mut clause);
        builder.clauses.push(clause);
    }
    for clause in &mut builder.clauses {
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
    builder.clauses
}

/// "Microphone input on XLR, output on XLR": words without figures that speak of one side after the other.
fn sides(elements: &[Element]) -> Option<Vec<&[Element]>> {
    if elements.iter().any(|e| e.figure().is_some()) {
        return None;
    }
    let pieces: Vec<&[Element]> = elements
        .split(|e| e.depth == 0 && matches!(e.kind, Kind::Comma | Kind::Semicolon))
        .filter(|piece| !piece.is_empty())
        .collect();
    let one_side = |piece: &&[Element]| {
        let atoms = atoms_of(piece);
        atoms.any(SIDES) && !atoms.all(SIDES) && atoms.any(CONNECTORS)
    };
    (pieces.len() > 1 && pieces.iter().all(one_side)).then_some(pieces)
}

/// For each element the words of the outermost bracket around it.
fn bracket_atoms(elements: &[Element]) -> Vec<Atoms> {
    let mut found = vec![Atoms::NONE; elements.len()];
    let mut start = None;
    let mut all = Atoms::NONE;
    for (index, element) in elements.iter().enumerate() {
        if element.depth == 0 {
            if let Some(from) = start.take() {
                found.iter_mut().take(index).skip(from).for_each(|f| *f = all);
            }
            all = Atoms::NONE;
        } else {
            start = start.or(Some(index));
            all.add(element.atoms());
        }
    }
    if let Some(from) = start {
        found.iter_mut().skip(from).for_each(|f| *f = all);
    }
    found
}

const CUES: Atoms = Atoms::of(&[Atom::At, Atom::Source, Atom::Load]);

impl Builder {
    fn element(&mut self, element: &Element, behind: Atoms, bracket: Atoms) {
        match &element.kind {
            Kind::Figure(measure) => self.figure(element, measure, behind, bracket),
            Kind::Words(atoms) => self.words(element, *atoms),
            Kind::Colon
                if element.depth == 0 && !(self.buffer.atoms.is_empty() && self.lead.atoms.is_empty()) =>
            {
                self.sub = if self.buffer.atoms.is_empty() { self.lead.atoms } else { self.buffer.atoms };
                self.buffer = Waiting::default();
                self.lead = Waiting::default();
                self.separated = true;
            }
            // "with pad −12 dB: 138 dB"
            Kind::Colon
                if element.depth == 0 && self.clauses.last().is_some_and(|last| last.own.has(Atom::Pad)) =>
            {
                self.sub = Atoms::of(&[Atom::Pad, Atom::With]);
                self.separated = true;
            }
            Kind::Comma | Kind::Semicolon | Kind::Slash | Kind::Dash if element.depth == 0 => {
                self.flush();
                self.separated = true;
                self.recent = Atoms::NONE;
                self.cue = Atoms::NONE;
                self.cued = false;
            }
            Kind::Comma | Kind::Semicolon => {
                self.cue = Atoms::NONE;
                self.cued = false;
            }
            Kind::At => self.cued = true,
            // "Rs = 150 Ω", "Gain = 60 dB"; but "0 dBFS = +18 dBu" states what is looked for.
            Kind::Equals => {
                self.cued = !self.label_and_sub().has(Atom::FullScale)
                    && !self.lead.atoms.has(Atom::FullScale)
                    && !self.buffer.atoms.has(Atom::FullScale)
            }
            _ => {}
        }
    }

    fn label_and_sub(&self) -> Atoms {
        self.label.and(self.sub)
    }

    /// Gives what waits to the figure before it, or keeps it for the first.
    fn flush(&mut self) {
        let mut buffer = std::mem::take(&mut self.buffer);
        if buffer.is_empty() {
            return;
        }
        match self.clauses.last_mut() {
            Some(last) => buffer.take_into(last),
            None => {
                self.lead.atoms.add(buffer.atoms);
                self.lead.terms = buffer.terms.or(self.lead.terms);
                self.lead.from = self.lead.from.or(buffer.from);
                self.lead.to = buffer.to.or(self.lead.to);
            }
        }
    }

    fn words(&mut self, element: &Element, atoms: Atoms) {
        self.cue = if atoms.any(CUES) || self.cued { self.cue.and(atoms) } else { atoms };
        if atoms.any(CUES) {
            self.cued = true;
        }
        let direct = element.depth > 0 || !self.separated;
        if element.depth == 0 {
            self.recent.add(atoms);
        }
        match self.clauses.last_mut().filter(|_| direct) {
            Some(last) => {
                last.own.add(atoms);
                last.terms.words(atoms);
                last.span.start = last.span.start.min(element.span.start);
                last.span.end = last.span.end.max(element.span.end);
            }
            None => {
                let waiting = &mut self.buffer;
                waiting.atoms.add(atoms);
                waiting.terms.words(atoms);
                waiting.from = waiting.from.or(Some(element.span.start));
                waiting.to = Some(element.span.end);
            }
        }
    }

    fn figure(&mut self, element: &Element, measure: &Measure, behind: Atoms, bracket: Atoms) {
        let cued = std::mem::take(&mut self.cued);
        let cue = std::mem::take(&mut self.cue).and(behind.both(Atoms::of(&[
            Atom::Frequency,
            Atom::Load,
            Atom::Source,
        ])));
        // "0 dBFS" says what the level beside it is.
        if measure.known() == Some(Unit::DecibelFullScale)
            && measure.first().abs() < 0.05
            && !self.label.has(Atom::Distortion)
        {
            self.buffer.atoms.add(Atoms::of(&[Atom::FullScale]));
            self.buffer.from = self.buffer.from.or(Some(element.span.start));
            self.buffer.to = Some(element.span.end);
            if self.separated || self.clauses.is_empty() {
                return;
            }
            self.flush();
            return;
        }
        // "15 mV/Pa ≙ −36.5 dBV": the same in millivolts and in decibels.
        let sensitivity = self.label_and_sub().has(Atom::Sensitivity);
        if let Some(last) = self.clauses.last_mut().filter(|_| sensitivity)
            && let Some((before, unit)) = last.measure.as_ref().and_then(Measure::known).zip(measure.known())
            && before.dimension() == Dimension::Sensitivity
            && before.is_logarithmic() != unit.is_logarithmic()
            && same_quantity(last, measure)
        {
            last.also.push(measure.clone());
            last.span.end = last.span.end.max(element.span.end);
            return;
        }
        if self.is_condition(element, measure, cued, cue, bracket) {
            let direct = element.depth > 0 || !self.separated || self.buffer.atoms.is_empty();
            match self.clauses.last_mut().filter(|_| direct) {
                Some(last) => {
                    if same_quantity(last, measure) && element.depth > 0 {
                        last.also.push(measure.clone());
                    } else {
                        last.terms.figure(measure, cue.and(behind));
                    }
                    last.span.start = last.span.start.min(element.span.start);
                    last.span.end = last.span.end.max(element.span.end);
                }
                None => {
                    self.buffer.terms.figure(measure, cue.and(behind));
                    self.buffer.from = self.buffer.from.or(Some(element.span.start));
                    self.buffer.to = Some(element.span.end);
                }
            }
            return;
        }
        let mut clause = Clause::new(element, Some(measure.clone()), self.sub);
        clause.terms.weighting = implied_weighting(measure);
        // "0 to 60 dB in steps of 1 dB": the words before the second figure name it.
        let names = std::mem::take(&mut self.recent).both(Atoms::of(&[Atom::Step, Atom::Pad]));
        if let Some(last) = self.clauses.last_mut().filter(|_| !self.separated && !names.is_empty()) {
            // "+22 dBu with the pad of −20 dB" names both.
            if !last.own.has(Atom::With) {
                last.own = last.own.without(names);
            }
            clause.own.add(names);
        }
        // "+22 dBu (pad on: +42 dBu)"
        let pad = Atoms::of(&[Atom::Pad, Atom::With, Atom::Step]);
        if element.depth > 0
            && bracket.any(Atoms::of(&[Atom::Pad, Atom::Step]))
            && dimension(measure).is_some()
            && let Some(last) = self.clauses.last_mut()
            && last.measure.as_ref().and_then(dimension) == dimension(measure)
        {
            clause.own.add(last.own.both(pad));
            clause.own.add(last.own.both(Atoms::of(&[Atom::Level, Atom::Maximum, Atom::FullScale])));
            last.own = last.own.without(pad);
        }
        // Words before the first figure hold for it; words since the last separator for the one that follows.
        self.buffer.take_into(&mut clause);
        self.lead.take_into(&mut clause);
        self.clauses.push(clause);
        self.separated = false;
    }

    fn is_condition(
        &self,
        element: &Element,
        measure: &Measure,
        cued: bool,
        cue: Atoms,
        bracket: Atoms,
    ) -> bool {
        if measure.only_tolerance {
            return !self.label_and_sub().has(Atom::Accuracy) || self.clauses.last().is_some();
        }
        let label = self.label_and_sub();
        let own_words = CHANNELS.and(SIDES).and(Atoms::of(&[
            Atom::Pad,
            Atom::With,
            Atom::Without,
            Atom::Minimum,
            Atom::Step,
            Atom::Total,
            Atom::Each,
        ]));
        let Some(last) = self.clauses.last() else {
            // Before the first figure: what cannot be the label's value is a condition of it.
            let names = label.and(self.buffer.atoms).and(self.lead.atoms);
            return !measure.is_bare() && (cued && !(names.has(Atom::Load)) || !fits(names, measure));
        };
        if measure.is_bare() {
            return element.depth > 0 && !measure.times;
        }
        let dimension = dimension(measure);
        let last_dimension = last.measure.as_ref().and_then(self::dimension);
        if element.depth > 0 {
            if dimension == last_dimension && !cued {
                return !bracket.any(own_words) || last.measure.as_ref().is_some_and(Measure::is_bare);
            }
            // "48 V (10 mA)", "60 dB (1 dB steps)", "(20 dB pad)".
            let current = dimension == Some(Dimension::Current);
            let pad = dimension == Some(Dimension::Ratio) && bracket.any(Atoms::of(&[Atom::Pad, Atom::Step]));
            let bare_before = last.measure.as_ref().is_some_and(Measure::is_bare);
            return !(current || pad || bare_before && !cued);
        }
        // "270 Ω; recommended load > 1500 Ω"
        let other = self.separated && dimension == last_dimension && self.buffer.atoms.has(Atom::Load);
        if cued
            && !other
            && (dimension != last_dimension || cue.any(CUES.and(Atoms::of(&[Atom::Gain, Atom::Distortion]))))
        {
            return true;
        }
        let names = label.and(last.own);
        let noise = Atoms::of(&[
            Atom::Ein,
            Atom::Noise,
            Atom::SelfNoise,
            Atom::SignalToNoise,
            Atom::Dynamic,
            Atom::Spl,
            Atom::Sensitivity,
            Atom::Distortion,
        ]);
        match dimension {
            Some(Dimension::Resistance) => {
                let levels = Atoms::of(&[Atom::Level, Atom::Maximum, Atom::FullScale]);
                // "+28 dBu, 10 kΩ" under a label that names a level: the load.
                let loaded = last_dimension == Some(Dimension::Voltage) && label.any(levels);
                (names.any(noise) || loaded)
                    && !self.buffer.atoms.has(Atom::Impedance)
                    && !self.sub.has(Atom::Impedance)
            }
            Some(Dimension::Frequency) => {
                last_dimension != Some(Dimension::Frequency)
                    && !self.buffer.atoms.has(Atom::SampleRate)
                    && last_dimension != Some(Dimension::Width)
            }
            Some(Dimension::Share) => !label.has(Atom::Distortion),
            Some(Dimension::Ratio) => {
                (names.has(Atom::Ein)
                    && last_dimension == Some(Dimension::Voltage)
                    && !self.buffer.atoms.any(Atoms::of(&[Atom::Dynamic, Atom::Pad, Atom::Range])))
                    || (label.has(Atom::Distortion) && last_dimension != Some(Dimension::Ratio))
            }
            Some(Dimension::SoundLevel) => {
                names.any(Atoms::of(&[Atom::Sensitivity, Atom::SignalToNoise, Atom::Distortion]))
            }
            Some(Dimension::Voltage | Dimension::DigitalLevel) => {
                label.any(Atoms::of(&[
                    Atom::Distortion,
                    Atom::Dynamic,
                    Atom::SignalToNoise,
                    Atom::Crosstalk,
                    Atom::CommonMode,
                    Atom::Response,
                ])) && last_dimension != Some(Dimension::Voltage)
            }
            _ => false,
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
