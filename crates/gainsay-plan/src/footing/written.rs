//! How a figure of the footing is written.

use super::{Footed, GroupKind, Measure};
use crate::words::{decimals, number};

/// A figure with the unit and the decimals that suit its size and interval.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// The median.
    pub value: String,
    /// Its unit: that of the [`Measure`], or kΩ or MΩ.
    pub unit: &'static str,
    /// The ends of the interval, `a to b`; none where it vanishes in the rounding.
    pub interval: Option<String>,
}

impl Written {
    /// In the unit that suits its size.
    #[must_use]
    pub fn of(measure: Measure, footed: &Footed) -> Self {
        let e = &footed.estimate;
        match measure.unit() {
            "Ω" if e.median >= 0.95e6 => Self::with(footed, 1e-6, "MΩ", 1),
            "Ω" if e.median >= 1000.0 => Self::with(footed, 1e-3, "kΩ", usize::from(e.median < 10_000.0)),
            _ => Self::in_own_unit(measure, footed),
        }
    }

    /// In the measure's own unit, as in a column that has it at its head.
    #[must_use]
    pub fn in_own_unit(measure: Measure, footed: &Footed) -> Self {
        let e = &footed.estimate;
        let kilo = measure.unit() == "Ω" && e.median >= 1000.0;
        let decimals = match () {
            () if kilo => usize::from(e.median < 10_000.0),
            () if e.low >= 0.0 && e.high < 1.0 => 2,
            () => decimals(e),
        };
        Self::with(footed, 1.0, measure.unit(), decimals)
    }

    fn with(footed: &Footed, factor: f64, unit: &'static str, decimals: usize) -> Self {
        let write = |value: f64| number(value * factor, decimals);
        let e = &footed.estimate;
        let (low, high) = (write(e.low), write(e.high));
        let interval = (low != high).then(|| format!("{low} to {high}"));
        Self { value: write(e.median), unit, interval }
    }
}

impl GroupKind {
    /// Every kind, in the order in which tables stand.
    pub const ALL: [Self; 4] = [Self::MicrophoneInput, Self::LineInput, Self::Booster, Self::Microphone];

    /// The figures that a table of this kind shows; [`super::GroupFooting::figures`] has all.
    #[must_use]
    pub const fn columns(self) -> &'static [Measure] {
        match self {
            Self::MicrophoneInput => &[
                Measure::FullScaleSensitivity,
                Measure::MaximumInput,
                Measure::Ein,
                Measure::AboveThermalLimit,
                Measure::DynamicRangeLeastGain,
                Measure::DynamicRangeMostGain,
            ],
            Self::LineInput => &[Measure::FullScale, Measure::InputNoise, Measure::DynamicRange],
            Self::Booster => {
                &[Measure::Gain, Measure::MaximumInput, Measure::Ein, Measure::AboveThermalLimit]
            }
            Self::Microphone => &[
                Measure::SensitivityMillivolts,
                Measure::OutputAt94,
                Measure::EquivalentNoise,
                Measure::MaximumSpl,
                Measure::OutputNoise,
                Measure::EinAddingOneDb,
            ],
        }
    }
}
