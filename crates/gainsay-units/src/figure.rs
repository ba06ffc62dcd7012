//! A value with its tolerance and where it came from.

use crate::math::{exp10, log10};
use crate::quantity::{Conditions, Coverage, Dimension, Quantity, QuantityError, Unit};
use crate::{
    Amperes, Bits, CurrentNoiseDensity, DbFs, DbSpl, Dbu, Decibels, Farads, FaradsPerMetre, Henries, Hertz,
    Kelvin, Metres, NoiseRating, Ohms, Samples, Seconds, Sensitivity, Share, VoltageNoiseDensity, Volts,
};
use schemars::JsonSchema;
use serde::de::{Error, MapAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize};
use std::fmt;

/// Where a figure came from, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Origin {
    /// Measured on the device or in the room itself.
    Measured,
    /// From the maker's specification.
    Sheet,
    /// Given by the user.
    Given,
    /// Typical for its kind, from a table.
    Typical,
    /// Assumed, with nothing behind it but experience.
    Assumed,
}

impl Origin {
    /// As one word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Measured => "measured",
            Self::Sheet => "sheet",
            Self::Given => "given",
            Self::Typical => "typical",
            Self::Assumed => "assumed",
        }
    }
}

/// How far off a value may be, in the value's own unit (decibels for levels and sensitivities).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// Taken as exact.
    Exact,
    /// Anywhere between the two limits with equal probability; a tolerance without a stated confidence (JCGM 100:2008, 4.3.7).
    Rectangular {
        /// How far below the value the lower limit lies, not negative.
        below: f64,
        /// How far above it the upper limit lies, not negative.
        above: f64,
    },
    /// A normal distribution.
    Normal {
        /// Its standard deviation.
        standard_deviation: f64,
    },
}

impl Spread {
    /// Distance from the value to the ends of an interval with 95 % probability, below and above.
    #[must_use]
    pub fn half_widths_95(self) -> (f64, f64) {
        match self {
            Self::Exact => (0.0, 0.0),
            Self::Rectangular { below, above } => (0.95 * below, 0.95 * above),
            Self::Normal { standard_deviation } => {
                (NORMAL_95 * standard_deviation, NORMAL_95 * standard_deviation)
            }
        }
    }

    /// Whether there is any doubt about the value.
    #[must_use]
    pub fn is_exact(self) -> bool {
        self.half_widths_95() == (0.0, 0.0)
    }
}

/// Half-width of the central 95 % of a normal distribution in standard deviations.
pub(crate) const NORMAL_95: f64 = 1.959_963_984_540_054;

/// A type that a [`Quantity`] converts to. The base unit of its dimension is dB, dBu, dB SPL, dBFS or dBV/Pa, and an SI unit
/// for the rest; spreads are in the base unit.
pub trait Measurable: Copy + PartialEq + fmt::Debug {
    /// What it measures.
    const DIMENSION: Dimension;
    /// From a number in the base unit of the dimension.
    fn from_base(base: f64) -> Self;
    /// As a number in the base unit of the dimension.
    fn to_base(self) -> f64;
}

macro_rules! measurable {
    ($($type:ident: $dimension:ident, $accessor:ident);+ $(;)?) => {
        $(impl Measurable for $type {
            const DIMENSION: Dimension = Dimension::$dimension;
            fn from_base(base: f64) -> Self {
                Self::new(base)
            }
            fn to_base(self) -> f64 {
                self.$accessor()
            }
        })+
    };
}

measurable! {
    Decibels: Ratio, db;
    Dbu: Voltage, dbu;
    DbSpl: SoundLevel, db_spl;
    DbFs: DigitalLevel, dbfs;
    Ohms: Resistance, ohms;
    Henries: Inductance, henries;
    Farads: Capacitance, farads;
    FaradsPerMetre: CapacitancePerLength, farads_per_metre;
    Hertz: Frequency, hertz;
    Metres: Length, metres;
    Seconds: Time, seconds;
    Kelvin: Temperature, kelvin;
    VoltageNoiseDensity: VoltageNoise, volts_per_root_hertz;
    CurrentNoiseDensity: CurrentNoise, amperes_per_root_hertz;
    Amperes: Current, amperes;
    Bits: Width, bits;
    Samples: Samples, samples;
    Share: Share, fraction;
    NoiseRating: NoiseRating, number;
}

impl Measurable for Volts {
    const DIMENSION: Dimension = Dimension::Voltage;
    fn from_base(base: f64) -> Self {
        Dbu::new(base).volts()
    }
    fn to_base(self) -> f64 {
        Dbu::from_volts(self).dbu()
    }
}

impl Measurable for Sensitivity {
    const DIMENSION: Dimension = Dimension::Sensitivity;
    fn from_base(base: f64) -> Self {
        Self::new(exp10(base / 20.0))
    }
    fn to_base(self) -> f64 {
        20.0 * log10(self.volts_per_pascal())
    }
}

impl Quantity {
    /// The number in the base unit of `dimension`.
    ///
    /// # Errors
    /// When the unit measures something else, or a voltage, pressure or sensitivity is not positive.
    fn base(&self, dimension: Dimension) -> Result<f64, QuantityError> {
        // "110 dBA" is how sheets write an A-weighted range.
        let range_in_dba = dimension == Dimension::Ratio && self.unit == Unit::DecibelA;
        // A room's noise may be given as a noise rating: the A-weighted level of noise that fills the curve.
        let rating = dimension == Dimension::SoundLevel && self.unit == Unit::NoiseRating;
        if self.unit.dimension() != dimension && !range_in_dba && !rating {
            return Err(QuantityError::new(
                format!("{} is {}, where {} belongs", self, self.unit.dimension().words(), dimension.words()),
                format!("write for example {}", dimension.example()),
            ));
        }
        let base = Self::number_in_base(self.unit, self.number, dimension);
        if base.is_finite() {
            Ok(base)
        } else {
            Err(QuantityError::new(
                format!("{} {} is not possible", self.number, self.unit.symbol()),
                "write a number above zero",
            ))
        }
    }

    /// The quantity as a typed value.
    ///
    /// # Errors
    /// When its unit measures something else, or the number is impossible in that unit.
    pub fn to<T: Measurable>(&self) -> Result<T, QuantityError> {
        self.base(T::DIMENSION).map(T::from_base)
    }

    fn number_in_base(unit: Unit, number: f64, dimension: Dimension) -> f64 {
        if unit == Unit::NoiseRating && dimension == Dimension::SoundLevel {
            NoiseRating::new(number).a_weighted().db_spl()
        } else {
            unit.to_base(number)
        }
    }

    /// The tolerance as a spread in the base unit of the dimension.
    fn spread(&self, dimension: Dimension, typical: bool) -> Spread {
        let Some(tolerance) = self.tolerance else { return Spread::Exact };
        let base = Self::number_in_base(self.unit, self.number, dimension);
        let in_base = |amount: f64, sign: f64| -> f64 {
            let distance = match tolerance.unit {
                Unit::Decibel => amount,
                // A percentage on a level is one of its amplitude; below −100 % there is nothing.
                Unit::Percent if dimension.is_logarithmic() => {
                    Dimension::percent_in_db((sign * amount).max(-99.0)).abs()
                }
                Unit::Percent => (base * amount / 100.0).abs(),
                Unit::NoiseRating => {
                    let edge =
                        Self::number_in_base(Unit::NoiseRating, self.number + sign * amount, dimension);
                    (edge - base).abs()
                }
                unit if dimension.is_logarithmic() => {
                    let edge = unit.to_base(unit_number(self, unit) + sign * amount);
                    if edge.is_finite() {
                        (edge - base).abs()
                    } else {
                        (unit.to_base(amount) - base).abs().max(20.0)
                    }
                }
                unit => (unit.to_base(amount) - unit.to_base(0.0)).abs(),
            };
            if distance.is_finite() { distance } else { 0.0 }
        };
        let (below, above) = (in_base(tolerance.below, -1.0), in_base(tolerance.above, 1.0));
        let larger = below.max(above);
        let spread = match tolerance.coverage {
            Some(Coverage::Factor(k)) => Spread::Normal { standard_deviation: larger / k },
            Some(Coverage::Probability(p)) => {
                Spread::Normal { standard_deviation: larger / normal_half_width(p) }
            }
            None if typical => Spread::Normal { standard_deviation: larger / NORMAL_95 },
            None => Spread::Rectangular { below, above },
        };
        if spread.is_exact() { Spread::Exact } else { spread }
    }
}

/// The number of `quantity` in another linear unit of its dimension.
fn unit_number(quantity: &Quantity, unit: Unit) -> f64 {
    let one = unit.to_base(1.0);
    let base = quantity.unit.to_base(quantity.number);
    exp10((base - one) / 20.0)
}

/// Half-width in standard deviations of the central part `probability` of a normal distribution, by bisection.
fn normal_half_width(probability: f64) -> f64 {
    let (mut low, mut high) = (0.0, 40.0);
    for _ in 0..80 {
        let middle: f64 = (low + high) / 2.0;
        let inside = 1.0 - crate::math::erfc(middle / std::f64::consts::SQRT_2);
        if inside < probability { low = middle } else { high = middle }
    }
    ((low + high) / 2.0_f64).max(1e-6)
}

/// A value with its tolerance and where it came from.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure<T> {
    /// The best estimate.
    pub value: T,
    /// How far off it may be.
    pub spread: Spread,
    /// Where it came from.
    pub origin: Origin,
    /// Conditions stated with it.
    pub conditions: Conditions,
    /// As it was written.
    pub written: String,
    /// A source or remark.
    pub note: Option<String>,
}

impl<T: Measurable> Figure<T> {
    /// From a quantity.
    ///
    /// # Errors
    /// As [`Quantity::to`].
    pub fn from_quantity(quantity: &Quantity, origin: Origin) -> Result<Self, QuantityError> {
        Ok(Self {
            value: quantity.to()?,
            spread: quantity.spread(T::DIMENSION, origin == Origin::Typical),
            origin,
            conditions: Conditions { weighting: quantity.weighting(), ..quantity.conditions },
            written: quantity.to_string(),
            note: None,
        })
    }

    /// An exact value that the user or a definition gave.
    #[must_use]
    pub fn exact(value: T, written: impl Into<String>) -> Self {
        Self {
            value,
            spread: Spread::Exact,
            origin: Origin::Given,
            conditions: Conditions::default(),
            written: written.into(),
            note: None,
        }
    }

    /// The same figure marked as typical for its kind, whatever its own origin was.
    #[must_use]
    pub fn as_typical(&self) -> Self {
        let origin = self.origin.max(Origin::Typical);
        Self { origin, ..self.clone() }
    }
}

/// A figure as it stands in a file: a plain string, or a table that also says where it came from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RawFigure {
    /// Number, unit, conditions and tolerance.
    pub value: String,
    /// A tolerance, if it does not stand in the value already.
    pub tolerance: Option<String>,
    /// Where it came from.
    pub from: Option<Origin>,
    /// What was measured of the same thing: it is used in place of the value, and the value is kept beside it.
    pub measured: Option<String>,
    /// A source or remark.
    pub note: Option<String>,
}

impl RawFigure {
    /// Reads the quantity, with the tolerance that stands apart from it.
    ///
    /// # Errors
    /// When the text is no quantity or there are two tolerances.
    pub fn quantity(&self) -> Result<Quantity, QuantityError> {
        let quantity: Quantity = self.value.parse()?;
        let Some(text) = &self.tolerance else { return Ok(quantity) };
        if quantity.tolerance.is_some() {
            return Err(QuantityError::new(
                "there are two tolerances",
                "keep the one in `value` or the one in `tolerance`",
            ));
        }
        let text = text.trim();
        let signed = if text.starts_with(['±', '+']) { text.to_owned() } else { format!("± {text}") };
        let with: Quantity = format!("{quantity} {signed}").parse()?;
        Ok(with)
    }

    /// Reads what was measured, if anything was. Conditions that it does not state are those of the value beside it.
    ///
    /// # Errors
    /// When either text is no quantity, or the value itself is said to be measured.
    pub fn measured_quantity(&self) -> Result<Option<Quantity>, QuantityError> {
        let Some(text) = &self.measured else { return Ok(None) };
        if self.from == Some(Origin::Measured) {
            return Err(QuantityError::new(
                "there are two measured figures",
                "`from` is where `value` comes from: write \"sheet\" there, or take `measured` out",
            ));
        }
        let mut measured: Quantity = text.parse()?;
        let beside = self.quantity()?;
        let conditions = &mut measured.conditions;
        conditions.source_impedance = conditions.source_impedance.or(beside.conditions.source_impedance);
        conditions.band = conditions.band.or(beside.conditions.band);
        if measured.weighting().is_none() {
            measured.conditions.weighting = beside.weighting();
        }
        Ok(Some(measured))
    }
}

impl<'de> Deserialize<'de> for RawFigure {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields)]
        struct Table {
            value: String,
            tolerance: Option<String>,
            from: Option<Origin>,
            measured: Option<String>,
            note: Option<String>,
        }
        struct Either;
        impl<'de> Visitor<'de> for Either {
            type Value = RawFigure;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(
                    "a figure with its unit in quotes, such as \"-56 dBV/Pa\", or a table { value = \"…\" }",
                )
            }
            fn visit_str<E: Error>(self, text: &str) -> Result<RawFigure, E> {
                Ok(RawFigure { value: text.to_owned(), ..RawFigure::default() })
            }
            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<RawFigure, A::Error> {
                let table = Table::deserialize(serde::de::value::MapAccessDeserializer::new(map))?;
                Ok(RawFigure {
                    value: table.value,
                    tolerance: table.tolerance,
                    from: table.from,
                    measured: table.measured,
                    note: table.note,
                })
            }
        }
        deserializer.deserialize_any(Either)
    }
}

impl JsonSchema for RawFigure {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Figure".into()
    }
    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let origin = generator.subschema_for::<Origin>();
        schemars::json_schema!({
            "description": "A number with its unit, and where stated conditions and tolerance; or a table that also says where the figure came from.",
            "anyOf": [
                { "type": "string", "examples": ["-56 dBV/Pa ± 2 dB", "-128 dBu (A-weighted, 150 ohm)"] },
                {
                    "type": "object",
                    "properties": {
                        "value": { "type": "string", "description": "Number, unit, conditions and tolerance." },
                        "tolerance": { "type": "string", "description": "How far off the figure may be, such as \"2 dB\", \"10 %\" or \"2 dB (k=2)\"." },
                        "from": origin,
                        "measured": {
                            "type": "string",
                            "description": "What was measured of the same thing, such as \"-127.2 dBu ± 0.3 dB\": it is used in place of the value, which is kept beside it. Conditions that it does not state are those of the value."
                        },
                        "note": { "type": "string", "description": "A source or remark." }
                    },
                    "required": ["value"],
                    "additionalProperties": false
                }
            ]
        })
    }
}
