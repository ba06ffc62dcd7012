//! Levels, units, tolerances, bands, weightings and the physics of noise.
//!
//! Everything here is pure computation and knows neither devices nor cases. Absolute levels and differences are different
//! types ([`Dbu`] and [`Decibels`]); quantities as people write them are [`Quantity`]; a value with its tolerance and origin
//! is a [`Figure`].

pub mod bands;
mod figure;
pub mod hearing;
mod level;
mod linear;
pub mod math;
pub mod noise;
mod place;
mod quantity;
pub mod room;
pub mod sound;
mod stated;
pub mod weighting;

pub use figure::{Figure, Measurable, Origin, RawFigure, Spread};
pub use level::{DBU_REFERENCE_VOLTS, DbFs, DbSpl, Dbu, Dbv, Decibels, SPL_REFERENCE_PASCALS};
pub use linear::{
    Amperes, Bits, CurrentNoiseDensity, Farads, FaradsPerMetre, Henries, Hertz, Kelvin, Metres, Ohms,
    Pascals, Samples, Seconds, Sensitivity, Share, VoltageNoiseDensity, Volts,
};
pub use place::{At, Problem};
pub use quantity::{Conditions, Coverage, Dimension, Quantity, QuantityError, Tolerance, Unit};
pub use room::NoiseRating;
pub use stated::{FigureRow, FigureRows, FileStruct, Stated};
pub use weighting::Weighting;
