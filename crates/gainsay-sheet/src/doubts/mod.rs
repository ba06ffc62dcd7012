//! What a careful reader doubts on a sheet, and the standard behind each doubt.

mod converter;
mod levels;
mod microphone;
mod noise;
mod phantom;
pub(crate) mod sheet;

pub(crate) use noise::usual_limit as thermal_limit_of_file;

use crate::reading::{Path, Table};
use gainsay_gear::{Device, FrontEnd, Model};
use std::fmt::{self, Display, Formatter};

macro_rules! kinds {
    ($($(#[$doc:meta])* $name:ident = $slug:literal, $standard:literal;)+) => {
        /// What kind of doubt it is.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum DoubtKind {
            $($(#[$doc])* $name),+
        }

        impl DoubtKind {
            /// Every kind.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// A short name for files and tests.
            #[must_use]
            pub const fn slug(self) -> &'static str {
                match self { $(Self::$name => $slug),+ }
            }

            /// The standard or fact behind it.
            #[must_use]
            pub const fn standard(self) -> &'static str {
                match self { $(Self::$name => $standard),+ }
            }
        }
    };
}

kinds! {
    /// Less noise than the source alone makes.
    EinBelowThermal = "ein-below-thermal", "thermal noise: Johnson 1928, Nyquist 1928";
    /// An equivalent input noise without its source impedance.
    EinNoSource = "ein-no-source", "IEC 60268-3";
    /// An equivalent input noise without its weighting.
    EinNoWeighting = "ein-no-weighting", "IEC 60268-3";
    /// An equivalent input noise without the band that was measured.
    EinNoBand = "ein-no-band", "IEC 60268-3";
    /// An equivalent input noise with the input shorted.
    EinShorted = "ein-shorted", "IEC 60268-3";
    /// More dynamic range than the bits hold.
    DynamicRangeBeyondBits = "dynamic-range-beyond-bits", "AES17, IEC 61606; 6.02 N + 1.76 dB (Bennett 1948)";
    /// More dynamic range than noise and highest level allow.
    DynamicRangeBeyondNoise = "dynamic-range-beyond-noise", "AES17, IEC 60268-3";
    /// A dynamic range without its weighting.
    DynamicRangeNoWeighting = "dynamic-range-no-weighting", "AES17, IEC 61606";
    /// A gain range that does not follow from its ends or from the input levels.
    GainRange = "gain-range", "IEC 60268-3";
    /// A distortion without the level at which it was measured.
    DistortionNoLevel = "distortion-no-level", "IEC 60268-3, AES17";
    /// A frequency response without a tolerance.
    ResponseNoTolerance = "response-no-tolerance", "IEC 60268-3, IEC 60268-4";
    /// A highest sound level without its limit of distortion.
    MaximumSplNoLimit = "maximum-spl-no-limit", "IEC 60268-4";
    /// A noise figure without weighting.
    NoWeighting = "noise-no-weighting", "IEC 60268-4, IEC 61672";
    /// A self-noise in another weighting than A.
    NoiseNotA = "noise-not-a-weighted", "IEC 60268-4, IEC 61672, ITU-R BS.468";
    /// A sensitivity re 1 V/µbar.
    OldSensitivity = "old-sensitivity-unit", "IEC 60268-4";
    /// Two statements of the sensitivity that differ.
    SensitivityMismatch = "sensitivity-mismatch", "IEC 60268-4";
    /// dBu, dBV and dBm: 2.2 dB lie between the first two.
    LevelReference = "level-reference", "IEC 60268-3; 0 dBV is 2.2 dBu";
    /// More phantom current than the standard provides.
    PhantomCurrent = "phantom-current", "IEC 61938";
    /// The sheet says two different things.
    Contradiction = "contradiction", "the sheet itself";
    /// It can be read in more than one way.
    Ambiguous = "ambiguous", "the sheet itself";
    /// It was taken from words around it, not from a plain statement.
    TakenFromContext = "taken-from-context", "the sheet itself";
    /// It can't be true.
    Impossible = "impossible", "what the device file takes";
}

/// One doubt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Doubt {
    /// What kind of doubt it is.
    pub kind: DoubtKind,
    /// The field that it is about, as [`Path`] prints it.
    pub field: Option<String>,
    /// Line of the sheet, counted from one; none where it is about a device file.
    pub line: Option<usize>,
    /// What is doubtful and why it matters.
    pub sentence: String,
}

impl Doubt {
    /// The standard behind it.
    #[must_use]
    pub const fn standard(&self) -> &'static str {
        self.kind.standard()
    }
}

impl Display for Doubt {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", self.sentence, self.standard())
    }
}

/// Doubts on one table of a device, before they are collected.
pub(crate) struct Found<'a> {
    table: Table,
    group: &'a str,
    doubts: &'a mut Vec<Doubt>,
}

impl Found<'_> {
    pub(crate) fn add(&mut self, kind: DoubtKind, field: &'static str, sentence: String) {
        let path = Path { table: self.table, group: self.group.to_owned(), field };
        self.doubts.push(Doubt { kind, field: Some(path.to_string()), line: None, sentence });
    }
}

/// What to doubt about the figures of a device.
///
/// Every doubt is one that the figures themselves raise: a missing condition, two figures that can't both hold, a limit of
/// physics or of a standard.
#[must_use]
pub fn doubts_of(device: &Device) -> Vec<Doubt> {
    let mut doubts = Vec::new();
    match &device.model {
        Model::Microphone(found) => {
            let mut to = Found { table: Table::Microphone, group: "", doubts: &mut doubts };
            microphone::doubts(found, &mut to);
        }
        Model::Booster(booster) => {
            let mut to = Found { table: Table::Booster, group: "", doubts: &mut doubts };
            noise::ein(booster.ein.as_ref(), "ein", &mut to);
            phantom::drawn(booster.phantom_current.as_ref(), &mut to);
            levels::booster(booster, &mut to);
        }
        Model::Preamp(front_end) => of_front_end(front_end, false, &mut doubts),
        Model::Interface(front_end) | Model::Converter(front_end) => {
            of_front_end(front_end, true, &mut doubts)
        }
        Model::Cable(_) => {}
    }
    doubts
}

fn of_front_end(front_end: &FrontEnd, digital: bool, doubts: &mut Vec<Doubt>) {
    let bits = front_end.whole.bit_depth.as_ref().filter(|_| digital);
    let several = front_end.microphone_inputs.len() > 1;
    for group in &front_end.microphone_inputs {
        let label = group.label.as_deref().filter(|_| several).unwrap_or_default();
        let mut to = Found { table: Table::MicrophoneInputs, group: label, doubts };
        noise::ein(group.ein.as_ref(), "ein", &mut to);
        noise::ein(group.ein_second.as_ref(), "ein_second", &mut to);
        converter::dynamic_range(group.dynamic_range.as_ref(), bits, &mut to);
        converter::against_noise(group, &mut to);
        phantom::supplied(group.phantom_current.as_ref(), &mut to);
        levels::microphone_inputs(group, &mut to);
    }
    for group in &front_end.line_inputs {
        let label = if group.instrument == Some(true) {
            "instrument"
        } else if group.insert == Some(true) {
            "return"
        } else {
            "line"
        };
        let mut to = Found { table: Table::LineInputs, group: label, doubts };
        converter::dynamic_range(group.dynamic_range.as_ref(), bits, &mut to);
    }
}
