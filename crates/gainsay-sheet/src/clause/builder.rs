//! Builds clauses element by element.

use super::{Bracket, Clause, dimension, same_quantity};
use crate::grammar::{Measure, implied_weighting};
use crate::lexicon::{Atom, Atoms, CHANNELS, FORMATS, QUANTITIES, SIDES};
use crate::rows::surely_fits;
use crate::scan::{Element, Kind};
use crate::terms::Terms;
use gainsay_units::{Dimension, Unit};

/// What waits for a figure: words and conditions before it.
#[derive(Default)]
pub(super) struct Waiting {
    pub(super) atoms: Atoms,
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

pub(super) struct Builder {
    pub(super) label: Atoms,
    pub(super) clauses: Vec<Clause>,
    /// Words before the first figure, which wait for it.
    pub(super) lead: Waiting,
    /// Words since the last separator.
    pub(super) buffer: Waiting,
    pub(super) sub: Atoms,
    /// Words before the next figure that make it a condition, and whether a sign such as @ did.
    cue: Atoms,
    cued: bool,
    pub(super) separated: bool,
    /// Words since the last figure or separator.
    pub(super) recent: Atoms,
    /// What the last figure was called before the words behind it.
    named: Atoms,
}

/// Whether words behind a count are of another place than what it counts.
fn apart(last: &Clause, words: Atoms) -> bool {
    let places = CHANNELS.without(FORMATS).without(Atoms::of(&[Atom::Phantom]));
    let (counted, other) = (last.own.both(places), words.both(places));
    last.measure.as_ref().is_some_and(Measure::is_bare)
        && last.own.any(SIDES)
        && words.any(SIDES.and(Atoms::of(&[Atom::Headphones])))
        && !other.is_empty()
        && counted.both(other).is_empty()
        && !counted.is_empty()
}

pub(super) const CUES: Atoms = Atoms::of(&[Atom::At, Atom::Source, Atom::Load]);

impl Builder {
    pub(super) fn new(label: Atoms) -> Self {
        Self {
            label,
            clauses: Vec::new(),
            lead: Waiting::default(),
            buffer: Waiting::default(),
            sub: Atoms::NONE,
            cue: Atoms::NONE,
            cued: false,
            separated: false,
            recent: Atoms::NONE,
            named: Atoms::NONE,
        }
    }

    /// All clauses; what waits still goes to the last, or makes one of its own.
    pub(super) fn finish(mut self, elements: &[Element]) -> Vec<Clause> {
        self.flush();
        if !self.lead.is_empty() {
            let span = elements.first().map_or(0..0, |first| {
                first.span.start..elements.last().map_or(first.span.end, |last| last.span.end)
            });
            let mut clause = Clause::wordy(span, self.sub);
            self.lead.take_into(&mut clause);
            self.clauses.push(clause);
        }
        self.clauses
    }

    pub(super) fn element(&mut self, element: &Element, behind: Atoms, bracket: Bracket) {
        match &element.kind {
            Kind::Figure(measure) => self.figure(element, measure, behind, bracket),
            Kind::Words(atoms) => self.words(element, *atoms, bracket),
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
            // "1 × optical, 8 channels (44.1/48 kHz)": the words before a bracket belong to the count before them.
            Kind::Open
                if element.depth <= 1
                    && self.separated
                    && self.counted()
                    && !self.buffer.atoms.any(QUANTITIES) =>
            {
                self.flush();
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

    /// "44.1/48 kHz: 26, 88.2/96 kHz: 22": a rate that says when the count behind its colon holds.
    pub(super) fn rate(&mut self, element: &Element, measure: &Measure) {
        self.flush();
        self.separated = true;
        self.buffer.terms.figure(measure, Atoms::NONE);
        self.buffer.from = Some(element.span.start);
        self.buffer.to = Some(element.span.end);
    }

    /// Whether the last figure is a count.
    fn counted(&self) -> bool {
        self.clauses.last().and_then(|last| last.measure.as_ref()).is_some_and(Measure::is_bare)
    }

    pub(super) fn label_and_sub(&self) -> Atoms {
        self.label.and(self.sub)
    }

    /// Gives what waits to the figure before it, or keeps it for the first.
    fn flush(&mut self) {
        let mut buffer = std::mem::take(&mut self.buffer);
        if buffer.is_empty() {
            return;
        }
        match self.clauses.last_mut() {
            // "Four line outputs on jacks, a headphone output": what has no figure and is of another place stands for itself.
            Some(last) if apart(last, buffer.atoms) => {
                let from = buffer.from.unwrap_or(last.span.end);
                let mut clause = Clause::wordy(from..from, self.sub);
                buffer.take_into(&mut clause);
                self.clauses.push(clause);
            }
            Some(last) => buffer.take_into(last),
            None => {
                self.lead.atoms.add(buffer.atoms);
                self.lead.terms = buffer.terms.or(self.lead.terms);
                self.lead.from = self.lead.from.or(buffer.from);
                self.lead.to = buffer.to.or(self.lead.to);
            }
        }
    }

    fn words(&mut self, element: &Element, atoms: Atoms, bracket: Bracket) {
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
                // "300 Ω (recommended load: 1.5 kΩ)": the load is the figure in the bracket.
                let load = element.depth > 0 && bracket.figure;
                last.own.add(if load { atoms.without(Atoms::of(&[Atom::Load])) } else { atoms });
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

    fn figure(&mut self, element: &Element, measure: &Measure, behind: Atoms, bracket: Bracket) {
        // "−128 dBu with a 150 Ω source and −124 dBu with a 600 Ω source": the second figure is one of its own.
        let joined = self.recent.has(Atom::And)
            && element.depth == 0
            && self.clauses.last().and_then(|last| last.measure.as_ref()).is_some_and(|last| {
                dimension(last).is_some() && dimension(last) == dimension(measure) && !last.is_bare()
            });
        if joined {
            self.cue = Atoms::NONE;
            self.cued = false;
        }
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
        let recent = std::mem::take(&mut self.recent);
        let names = recent.both(Atoms::of(&[Atom::Step, Atom::Pad, Atom::Accuracy]));
        // "+27 dBu and the output impedance is 70 Ω": the words between are the second figure's.
        let between = names.is_empty() && !self.separated && surely_fits(recent, measure);
        if between && let Some(last) = self.clauses.last_mut() {
            last.own = self.named;
            clause.own.add(recent);
        }
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
            && bracket.all.any(Atoms::of(&[Atom::Pad, Atom::Step]))
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
        self.named = clause.own;
        self.clauses.push(clause);
        self.separated = false;
    }
}
