//! Quantities as people write them: a number, a unit, and where they were stated a weighting, a source impedance, a bandwidth
//! and a tolerance.

mod parse;
mod print;
mod unit;

pub use parse::QuantityError;
pub use unit::{Dimension, Unit};

use crate::{Hertz, Ohms, Weighting};

/// A quantity as it was written.
///
/// ```
/// use gainsay_units::{Quantity, Sensitivity, Unit, Weighting};
///
/// let sheet: Quantity = "-56 dBV/Pa ± 2 dB".parse().unwrap();
/// assert_eq!(sheet.unit, Unit::DecibelVoltPerPascal);
/// let sensitivity: Sensitivity = sheet.to().unwrap();
/// assert_eq!(format!("{:.2} mV/Pa", 1e3 * sensitivity.volts_per_pascal()), "1.58 mV/Pa");
///
/// let noise: Quantity = "−128 dBu (A-weighted, 150 ohm)".parse().unwrap();
/// assert_eq!(noise.conditions.weighting, Some(Weighting::A));
/// assert_eq!(noise.to_string(), "−128 dBu (A-weighted, 150 Ω)");
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// The number in front of the unit.
    pub number: f64,
    /// The unit.
    pub unit: Unit,
    /// Under which conditions it holds.
    pub conditions: Conditions,
    /// How far off it may be.
    pub tolerance: Option<Tolerance>,
}

/// Conditions stated with a figure.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Conditions {
    /// Frequency weighting.
    pub weighting: Option<Weighting>,
    /// Impedance of the source that fed the input.
    pub source_impedance: Option<Ohms>,
    /// Lower and upper limit of the band that was measured.
    pub band: Option<(Hertz, Hertz)>,
}

/// How far a figure may be off, below and above.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// How far the true value may lie below, a positive number in `unit`.
    pub below: f64,
    /// How far it may lie above, a positive number in `unit`.
    pub above: f64,
    /// Decibels, percent, or the unit of the figure itself.
    pub unit: Unit,
    /// What the tolerance covers, where that was stated.
    pub coverage: Option<Coverage>,
}

/// What a stated tolerance covers (JCGM 100:2008, 4.3.3 to 4.3.4).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Coverage {
    /// So many standard deviations: `k=2`.
    Factor(f64),
    /// A level of confidence of a normal distribution, as a fraction: `95 %`.
    Probability(f64),
}

impl Quantity {
    /// A bare number with a unit.
    #[must_use]
    pub const fn new(number: f64, unit: Unit) -> Self {
        Self {
            number,
            unit,
            conditions: Conditions { weighting: None, source_impedance: None, band: None },
            tolerance: None,
        }
    }

    /// The same quantity with a tolerance.
    #[must_use]
    pub const fn with_tolerance(mut self, tolerance: Tolerance) -> Self {
        self.tolerance = Some(tolerance);
        self
    }

    /// Another value of the same sort, given in the base unit of its dimension: in this quantity's unit, under its conditions,
    /// without a tolerance, rounded to what one would write. A noise rating becomes the A-weighted level that it is carried as.
    #[must_use]
    pub fn with_value(&self, base: f64) -> Self {
        let unit = if self.unit == Unit::NoiseRating { Unit::DecibelA } else { self.unit };
        let number = if unit.dimension().is_logarithmic() && !unit.is_logarithmic() {
            // A voltage, a pressure or a sensitivity, of which the base unit is a level.
            crate::math::exp10((base - unit.to_base(1.0)) / 20.0)
        } else {
            (base - unit.to_base(0.0)) / (unit.to_base(1.0) - unit.to_base(0.0))
        };
        let decimals = if unit.is_logarithmic() {
            1
        } else {
            2 - crate::math::log10(number.abs().max(1e-30)).floor() as i32
        };
        let scale = crate::math::exp10(f64::from(decimals.clamp(-12, 30)));
        Self { number: (number * scale).round() / scale, unit, conditions: self.conditions, tolerance: None }
    }

    /// The weighting: as stated, or as the unit implies (dBA, and NR, which is carried as the A-weighted level of its curve).
    #[must_use]
    pub fn weighting(&self) -> Option<Weighting> {
        let implied = matches!(self.unit, Unit::DecibelA | Unit::NoiseRating);
        self.conditions.weighting.or(implied.then_some(Weighting::A))
    }
}
