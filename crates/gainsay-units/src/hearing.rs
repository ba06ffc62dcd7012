//! Threshold of hearing, ISO 389-7:2019, free field and frontal incidence.

use crate::bands::{BandPowers, bands, interpolate_levels};
use crate::math::exp10;

/// Frequency in hertz and threshold in dB SPL at the preferred frequencies of the bands; the 20 kHz row is not published and
/// continues the 18 kHz one, where nothing that a microphone chain adds is heard any more.
const FREE_FIELD: [(f64, f64); 32] = [
    (20.0, 78.1),
    (25.0, 68.7),
    (31.5, 59.5),
    (40.0, 51.1),
    (50.0, 44.0),
    (63.0, 37.5),
    (80.0, 31.5),
    (100.0, 26.5),
    (125.0, 22.1),
    (160.0, 17.9),
    (200.0, 14.4),
    (250.0, 11.4),
    (315.0, 8.6),
    (400.0, 6.2),
    (500.0, 4.4),
    (630.0, 3.0),
    (800.0, 2.2),
    (1000.0, 2.4),
    (1250.0, 3.5),
    (1600.0, 1.7),
    (2000.0, -1.3),
    (2500.0, -4.2),
    (3150.0, -6.0),
    (4000.0, -5.4),
    (5000.0, -1.5),
    (6300.0, 6.0),
    (8000.0, 12.6),
    (10_000.0, 13.9),
    (12_500.0, 12.3),
    (16_000.0, 40.2),
    (18_000.0, 70.4),
    (20_000.0, 70.4),
];

/// The threshold in each band in dB SPL.
#[must_use]
pub fn threshold_levels() -> [f64; crate::bands::N_BANDS] {
    bands().map(|band| interpolate_levels(&FREE_FIELD, band.nominal_hz))
}

/// The threshold in each band as a power re 20 µPa squared. A band of noise is taken as audible where a tone of its level
/// would be; above 500 Hz a third-octave is about as wide as the ear's own filters.
#[must_use]
pub fn threshold_powers() -> BandPowers {
    BandPowers(threshold_levels().map(|level| exp10(level / 10.0)))
}
