//! Physics written out a second time, from the published formulas and not from the crates that are checked, and cases built
//! from the text of their files.

#![allow(dead_code, reason = "each test program uses a part")]
#![allow(clippy::disallowed_methods, reason = "the check must not lean on the mathematics of what it checks")]

use gainsay_folder::Memory;
use gainsay_plan::Case;
use gainsay_plan::stages::{Stage, StageLevels};
use std::path::Path;
use std::sync::LazyLock;

/// k in J/K, exact since the SI of 2019.
pub(crate) const BOLTZMANN: f64 = 1.380_649e-23;

/// 20 °C in kelvins.
pub(crate) const ROOM_KELVIN: f64 = 293.15;

/// 20 Hz to 20 kHz.
pub(crate) const BAND_HZ: f64 = 19_980.0;

/// 0 dBu squared: the voltage of 1 mW in 600 Ω, in V².
pub(crate) const DBU_SQUARED: f64 = 0.6;

/// 20 µPa (ISO 1683).
pub(crate) const REFERENCE_PASCALS: f64 = 20e-6;

/// Crest factor of a sine, 20 lg √2.
pub(crate) fn sine_crest() -> f64 {
    10.0 * 2.0_f64.log10()
}

/// A ratio of powers as decibels.
pub(crate) fn db(power: f64) -> f64 {
    10.0 * power.log10()
}

/// Decibels as a ratio of powers.
pub(crate) fn power(db: f64) -> f64 {
    10.0_f64.powf(db / 10.0)
}

/// dBu of a squared voltage.
pub(crate) fn dbu(volts_squared: f64) -> f64 {
    db(volts_squared / DBU_SQUARED)
}

/// The squared voltage of a level in dBu.
pub(crate) fn volts_squared(dbu: f64) -> f64 {
    DBU_SQUARED * power(dbu)
}

/// 4kTR (Johnson 1928, Nyquist 1928), V²/Hz.
pub(crate) fn thermal(ohms: f64, kelvin: f64) -> f64 {
    4.0 * BOLTZMANN * kelvin * ohms
}

/// A-weighting as a ratio of powers: the formula of IEC 61672-1:2013, annex E, with its rounded constants.
pub(crate) fn a_weighting(hz: f64) -> f64 {
    let f = hz * hz;
    let (f1, f2, f3, f4) = (20.598_997_f64, 107.652_65_f64, 737.862_23_f64, 12_194.217_f64);
    let shape = (f4.powi(2) * f * f)
        / ((f + f1.powi(2)) * (f + f2.powi(2)).sqrt() * (f + f3.powi(2)).sqrt() * (f + f4.powi(2)));
    power(20.0 * shape.log10() + 2.000)
}

/// ∫ f dν from 20 Hz to 20 kHz by Simpson's rule on a logarithmic grid of `3·per_decade` steps.
pub(crate) fn integral(per_decade: usize, f: impl Fn(f64) -> f64) -> f64 {
    let frequencies: Vec<f64> =
        (0..=3 * per_decade).map(|i| 20.0 * 10.0_f64.powf(i as f64 / per_decade as f64)).collect();
    let values: Vec<f64> = frequencies.iter().map(|hz| f(*hz)).collect();
    simpson(&frequencies, &values)
}

/// ∫ values dν over frequencies that stand apart by equal ratios, an even number of steps.
pub(crate) fn simpson(frequencies: &[f64], values: &[f64]) -> f64 {
    assert!(frequencies.len() == values.len() && frequencies.len() % 2 == 1, "an even number of steps");
    let step = (frequencies[1] / frequencies[0]).ln();
    let last = frequencies.len() - 1;
    let sum: f64 = (0..=last)
        .map(|i| {
            let weight = if i == 0 || i == last {
                1.0
            } else if i % 2 == 1 {
                4.0
            } else {
                2.0
            };
            // dν = ν d(ln ν)
            weight * values[i] * frequencies[i]
        })
        .sum();
    sum * step / 3.0
}

/// Bandwidth in which unweighted white noise has the power that the whole audio band leaves A-weighted.
pub(crate) fn a_bandwidth() -> f64 {
    static BANDWIDTH: LazyLock<f64> = LazyLock::new(|| integral(2000, a_weighting));
    *BANDWIDTH
}

/// Fails with the number and how far it is off.
#[track_caller]
pub(crate) fn near(what: impl AsRef<str>, got: f64, want: f64, tolerance: f64) {
    let off = got - want;
    let what = what.as_ref();
    assert!(
        off.abs() <= tolerance,
        "{what}: got {got}, want {want}, off by {off:+.6} (allowed ±{tolerance})"
    );
}

/// Fails unless `smaller` ≤ `larger`, but for a rounding error.
#[track_caller]
pub(crate) fn not_above(what: impl AsRef<str>, smaller: f64, larger: f64, rounding: f64) {
    let what = what.as_ref();
    assert!(
        smaller <= larger + rounding,
        "{what}: {smaller} should not lie above {larger}, and does by {:.3e}",
        smaller - larger
    );
}

/// Loads a case from the texts of its files; the first is the case.
#[track_caller]
pub(crate) fn case(files: &[(&str, &str)]) -> Case {
    let (path, _) = files[0];
    match gainsay_folder::load(&Memory::new(files), Path::new(path)) {
        Ok(case) => case,
        Err(error) => panic!("the case can't be loaded:\n{error}"),
    }
}

/// The levels at a stage.
#[track_caller]
pub(crate) fn at(stages: &[StageLevels], stage: Stage) -> &StageLevels {
    stages.iter().find(|s| s.stage == stage).unwrap_or_else(|| panic!("there is no stage {stage:?}"))
}

/// Third-octave bands of IEC 61260-1:2014: base-10 centres 1000·10^(x/10), edges a twentieth of a decade to either side, the
/// first and the last clipped to 20 Hz and 20 kHz. Lower edge, centre, upper edge.
pub(crate) fn third_octaves() -> Vec<(f64, f64, f64)> {
    (-17..=13)
        .map(|x| {
            let at = |tenths: f64| 1000.0 * 10.0_f64.powf(tenths / 10.0);
            let x = f64::from(x);
            (at(x - 0.5).max(20.0), at(x), at(x + 0.5).min(20_000.0))
        })
        .collect()
}
