//! Conditions under which a figure holds: weighting, source, band, distortion, gain.

use crate::grammar::{Measure, Numbers, SheetUnit};
use crate::lexicon::{Atom, Atoms};
use crate::scan::{Element, Kind};
use gainsay_units::{Dimension, Unit, Weighting};

/// Conditions under which a figure holds.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct Terms {
    pub(crate) weighting: Option<Weighting>,
    /// Ohms of the source.
    pub(crate) source: Option<f64>,
    /// Hertz, lower and upper.
    pub(crate) band: Option<(f64, f64)>,
    /// An upper limit alone.
    pub(crate) upper: bool,
    /// Measured with the input shorted.
    pub(crate) shorted: bool,
    /// Limit of distortion in percent.
    pub(crate) distortion: Option<f64>,
    /// A level at which something was measured.
    pub(crate) level: bool,
    /// Gain in dB at which it was measured.
    pub(crate) gain: Option<f64>,
    /// Hertz at which it was measured.
    pub(crate) spot: Option<f64>,
    /// Sound pressure to which it refers: 1 Pa or 94 dB SPL.
    pub(crate) pressure: bool,
    /// A tolerance that stands apart.
    pub(crate) tolerance: bool,
}

impl Terms {
    /// What is not said here is taken from `other`.
    pub(crate) fn or(self, other: Self) -> Self {
        Self {
            weighting: self.weighting.or(other.weighting),
            source: self.source.or(other.source),
            band: self.band.or(other.band),
            upper: self.upper || other.upper,
            shorted: self.shorted || (other.shorted && self.source.is_none()),
            distortion: self.distortion.or(other.distortion),
            level: self.level || other.level,
            gain: self.gain.or(other.gain),
            spot: self.spot.or(other.spot),
            pressure: self.pressure || other.pressure,
            tolerance: self.tolerance || other.tolerance,
        }
    }

    pub(crate) fn words(&mut self, atoms: Atoms) {
        for (atom, weighting) in [
            (Atom::WeightA, Weighting::A),
            (Atom::WeightC, Weighting::C),
            (Atom::Flat, Weighting::Flat),
            (Atom::CcirRms, Weighting::Itu468Rms),
            (Atom::Itu468, Weighting::Itu468QuasiPeak),
        ] {
            if atoms.has(atom) && self.weighting.is_none() {
                self.weighting = Some(weighting);
            }
        }
        self.shorted |= atoms.has(Atom::Shorted);
    }

    /// A figure that is a condition; `words` stand before or behind it.
    pub(crate) fn figure(&mut self, measure: &Measure, words: Atoms) {
        if measure.only_tolerance {
            self.tolerance = true;
            return;
        }
        let Some(unit) = measure.known() else {
            if matches!(measure.unit.map(|u| u.unit), Some(SheetUnit::Dbm)) {
                self.level = true;
            }
            return;
        };
        let base = unit.to_base(measure.first());
        if unit == Unit::Pascal {
            self.pressure |= (measure.first() - 1.0).abs() < 0.01;
            return;
        }
        match unit.dimension() {
            Dimension::Resistance if words.has(Atom::Load) => {}
            Dimension::Resistance => {
                self.shorted |= base <= 0.0;
                self.source = self.source.or(Some(base));
            }
            Dimension::Frequency => match &measure.numbers {
                Numbers::Range(low, high) => {
                    let first = measure.first_unit.map_or(Some(unit), |u| match u.unit {
                        SheetUnit::Known(unit) => Some(unit),
                        _ => None,
                    });
                    let (low, high) = (first.unwrap_or(unit).to_base(*low), unit.to_base(*high));
                    if low >= 0.0 && low < high {
                        self.band = self.band.or(Some((low, high)));
                    }
                }
                _ if words.has(Atom::Frequency) => self.upper = true,
                _ => self.spot = self.spot.or(Some(base)),
            },
            Dimension::Share => self.distortion = self.distortion.or(Some(measure.first())),
            Dimension::Ratio => self.gain = self.gain.or(Some(base)),
            Dimension::SoundLevel => {
                self.pressure |= (base - 94.0).abs() < 0.5;
                self.level = true;
            }
            Dimension::Voltage | Dimension::DigitalLevel => self.level = true,
            _ => {}
        }
        self.tolerance |= measure.tolerance.is_some();
    }

    /// All that elements say as conditions: of a label, a footnote, the head of a column.
    pub(crate) fn of(elements: &[Element]) -> Self {
        let mut terms = Self::default();
        let mut before = Atoms::NONE;
        for (index, element) in elements.iter().enumerate() {
            match &element.kind {
                Kind::Figure(measure) => {
                    let behind = elements.get(index + 1).map_or(Atoms::NONE, Element::atoms);
                    terms.figure(measure, before.and(behind));
                    before = Atoms::NONE;
                }
                Kind::Words(atoms) => {
                    terms.words(*atoms);
                    before = before.and(*atoms);
                }
                Kind::Comma | Kind::Semicolon => before = Atoms::NONE,
                _ => {}
            }
        }
        terms
    }
}
