//! Room noise: NR curves (ISO/R 1996:1971), and a dBA figure given the shape of the NR curve that has it.

use crate::DbSpl;
use crate::bands::{BandPowers, N_BANDS, thirds_from_octaves};
use crate::math::exp10;
use crate::weighting::{Weighting, weighted_level_db};

/// Octave bands 31.5 Hz to 8 kHz: L = a + b·N (ISO/R 1996:1971; same numbers in AS 1469).
const NR_COEFFICIENTS: [(f64, f64); 9] = [
    (55.4, 0.681),
    (35.5, 0.790),
    (22.0, 0.870),
    (12.0, 0.930),
    (4.8, 0.974),
    (0.0, 1.0),
    (-3.5, 1.015),
    (-6.1, 1.025),
    (-8.0, 1.030),
];

/// A noise rating number.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct NoiseRating(f64);

impl NoiseRating {
    /// The curve with this number. The published curves run from NR 0 to NR 130; the formula goes on below, for rooms quieter
    /// than the lowest curve.
    #[must_use]
    pub const fn new(number: f64) -> Self {
        Self(number)
    }

    /// Its number.
    #[must_use]
    pub const fn number(self) -> f64 {
        self.0
    }

    /// Levels of the octave bands 31.5 Hz to 8 kHz in dB SPL.
    #[must_use]
    pub fn octave_levels(self) -> [f64; 9] {
        NR_COEFFICIENTS.map(|(a, b)| a + b * self.0)
    }

    /// Levels of the third-octave bands in dB SPL of noise that fills the curve.
    #[must_use]
    pub fn band_levels(self) -> [f64; N_BANDS] {
        thirds_from_octaves(&self.octave_levels())
    }

    /// Powers in the third-octave bands re 20 µPa squared.
    #[must_use]
    pub fn band_powers(self) -> BandPowers {
        BandPowers::from_levels(&self.band_levels())
    }

    /// A-weighted level of noise that fills the curve.
    #[must_use]
    pub fn a_weighted(self) -> DbSpl {
        DbSpl::new(weighted_level_db(&self.band_powers().0, Weighting::A))
    }

    /// The curve whose A-weighted level is `level`, found by bisection to a millionth of a decibel.
    #[must_use]
    pub fn with_a_weighted(level: DbSpl) -> Self {
        let (mut low, mut high) = (-200.0, 200.0);
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if Self(middle).a_weighted() < level { low = middle } else { high = middle }
        }
        Self((low + high) / 2.0)
    }
}

/// Powers in the bands re 20 µPa squared, shaped like the NR curve of that A-weighted level.
#[must_use]
pub fn band_powers_of_a_weighted(level: DbSpl) -> BandPowers {
    let rating = NoiseRating::with_a_weighted(level);
    let powers = rating.band_powers();
    // The bisection leaves a remainder below what anyone could hear; the stated level is kept exactly.
    powers.scaled(exp10((level - rating.a_weighted()).db() / 10.0))
}
