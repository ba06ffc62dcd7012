//! Threshold of hearing against ISO 389-7.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]

mod reference;

use gainsay_units::bands::bands;
use gainsay_units::hearing::{threshold_levels, threshold_powers};
use gainsay_units::{DbSpl, Decibels};
use reference::near;

// ISO 389-7:2019, free field, frontal incidence. Every nominal frequency of the bands up to 16 kHz has a row of its own;
// nothing is published for 20 kHz.
#[test]
fn free_field_threshold_at_every_band() {
    let table = reference::iso389_7_thresholds();
    assert_eq!(table.len(), 38);
    let mut checked = 0;
    for (band, level) in bands().iter().zip(threshold_levels()) {
        if band.nominal_hz > 19_000.0 {
            continue;
        }
        let row = table.row_where("hz", band.nominal_hz);
        let want = table.number(row, "free_field_frontal_2019_db");
        near(format!("threshold at {} Hz", band.nominal_hz), level, want, 1e-9);
        checked += 1;
    }
    assert_eq!(checked, 30, "bands from 20 Hz to 16 kHz");
}

// ISO 389-7:2019 ends at 18 kHz. The 20 kHz band holds that value: a choice of this project, nothing is published there.
#[test]
fn beyond_the_last_row_the_threshold_does_not_fall() {
    let table = reference::iso389_7_thresholds();
    let last = table.number(table.row_where("hz", 18_000.0), "free_field_frontal_2019_db");
    near("threshold at 20 kHz", threshold_levels()[30], last, 1e-9);
}

// 0 dB is 20 µPa (ISO 1683), a power of 1 in these units.
#[test]
fn powers_are_the_levels() {
    for ((band, level), power) in bands().iter().zip(threshold_levels()).zip(threshold_powers().0) {
        let pressure = DbSpl::new(level).pascals().pascals() / 20e-6;
        let got = Decibels::from_power_ratio(power).db();
        let want = Decibels::from_power_ratio(pressure * pressure).db();
        near(format!("power of the threshold at {} Hz", band.nominal_hz), got, want, 1e-9);
    }
}
