//! Which figures are conditions of others.

use super::builder::{Builder, CUES};
use super::{Bracket, dimension};
use crate::grammar::Measure;
use crate::lexicon::{Atom, Atoms, CHANNELS, FORMATS, SIDES};
use crate::rows::fits;
use crate::scan::Element;
use gainsay_units::Dimension;

impl Builder {
    /// Whether a figure says under which conditions the one before it holds.
    pub(super) fn is_condition(
        &self,
        element: &Element,
        measure: &Measure,
        cued: bool,
        cue: Atoms,
        bracket: Bracket,
    ) -> bool {
        if measure.only_tolerance {
            let accuracy = Atoms::of(&[Atom::Accuracy]);
            if self.buffer.atoms.any(accuracy) || self.recent.any(accuracy) {
                return false;
            }
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
            // "150 Ω source −127 dBu": the source stands before.
            let behind = cue.has(Atom::Source) && dimension(measure) != Some(Dimension::Resistance);
            return !measure.is_bare()
                && (cued && !behind && !names.has(Atom::Load) || !fits(names, measure));
        };
        if measure.is_bare() {
            // "8 (4 microphone, 4 line)": the parts of a count.
            let parts = CHANNELS.without(FORMATS).without(Atoms::of(&[Atom::Phantom]));
            let part = bracket.piece.any(parts) && last.measure.as_ref().is_some_and(Measure::is_bare);
            return element.depth > 0 && !measure.times && !part;
        }
        let dimension = dimension(measure);
        let last_dimension = last.measure.as_ref().and_then(super::dimension);
        if element.depth > 0 {
            if dimension == last_dimension && !cued {
                return !bracket.piece.any(own_words) || last.measure.as_ref().is_some_and(Measure::is_bare);
            }
            // "48 V (10 mA)", "60 dB (1 dB steps)", "(20 dB pad)".
            let current = dimension == Some(Dimension::Current);
            let pad = dimension == Some(Dimension::Ratio)
                && (bracket.piece.has(Atom::Step)
                    || bracket.piece.has(Atom::Pad) && !bracket.piece.has(Atom::Gain));
            let bare_before = last.measure.as_ref().is_some_and(Measure::is_bare);
            // "8 channels (44.1/48 kHz)"
            let rate = bare_before && dimension == Some(Dimension::Frequency) && !label.has(Atom::SampleRate);
            return rate || !(current || pad || bare_before && !cued);
        }
        // "44.1 to 96 kHz at 24 bits"
        if dimension == Some(Dimension::Width) && last_dimension == Some(Dimension::Frequency) {
            return false;
        }
        // "24-bit conversion at 44.1 and 48 kHz"
        if last_dimension == Some(Dimension::Width) && dimension == Some(Dimension::Frequency) {
            return false;
        }
        // "48 V phantom power at 3.2 mA"
        if dimension == Some(Dimension::Current) && last_dimension == Some(Dimension::Voltage) {
            return false;
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
                (names.any(noise) && last.terms.source.is_none() || loaded)
                    && !self.buffer.atoms.has(Atom::Impedance)
                    && !self.recent.has(Atom::Impedance)
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
                let own = Atoms::of(&[Atom::SelfNoise, Atom::Spl, Atom::Noise]);
                !(self.separated && self.buffer.atoms.any(own))
                    && names.any(Atoms::of(&[Atom::Sensitivity, Atom::SignalToNoise, Atom::Distortion]))
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
