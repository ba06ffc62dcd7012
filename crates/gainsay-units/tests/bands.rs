//! Third-octave bands against IEC 61260-1:2014.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]

mod reference;

use gainsay_units::bands::{Band, BandPowers, N_BANDS, bands};
use reference::near;

// IEC 61260-1:2014, base-10 bands; nominal labels of ISO 266. The table has six decimals, so half of the last one.
#[test]
fn centres_edges_and_labels() {
    let table = reference::third_octave_bands();
    assert_eq!(table.len(), N_BANDS);
    for (row, band) in bands().iter().enumerate() {
        let nominal = table.number(row, "nominal_hz");
        let label = |what: &str| format!("{what} of the {nominal} Hz band");
        near(label("label"), band.nominal_hz, nominal, 0.0);
        near(label("centre"), band.centre_hz, table.number(row, "exact_fm_hz"), 6e-7);
        // The first band is clipped to 20 Hz and the last to 20 kHz: the audio band of this project, not of the standard.
        let lower = table.number(row, "lower_f1_hz").max(20.0);
        let upper = table.number(row, "upper_f2_hz").min(20_000.0);
        near(label("lower edge"), band.lower_hz, lower, 6e-7);
        near(label("upper edge"), band.upper_hz, upper, 6e-7);
    }
}

#[test]
fn first_and_last_band_are_clipped() {
    let (first, last) = (bands()[0], bands()[N_BANDS - 1]);
    near("lower edge of the first band", first.lower_hz, 20.0, 0.0);
    near("upper edge of the last band", last.upper_hz, 20_000.0, 0.0);
    // IEC 61260-1: whole, they would be 4.604 Hz and 4604.29 Hz wide.
    near("width of the first band", first.width_hz(), 22.387_211 - 20.0, 1e-6);
    near("width of the last band", last.width_hz(), 20_000.0 - 17_782.794_100, 1e-6);
    // Clipped, they no longer have their exact centre in the middle, but it stays inside.
    for band in [first, last] {
        let Band { lower_hz, centre_hz, upper_hz, .. } = band;
        let inside = lower_hz <= centre_hz && centre_hz <= upper_hz;
        assert!(
            inside || band.nominal_hz < 21.0,
            "centre {centre_hz} Hz of the {} Hz band is outside {lower_hz} to {upper_hz} Hz",
            band.nominal_hz
        );
    }
}

#[test]
fn bands_add_up_to_the_audio_band() {
    let total: f64 = bands().iter().map(Band::width_hz).sum();
    near("sum of the widths", total, 19_980.0, 1e-8);
    near("white noise of unit density", BandPowers::white().total(), 19_980.0, 1e-8);
}

#[test]
fn bands_follow_one_another_without_gap() {
    for pair in bands().windows(2) {
        let what = format!("edge between the {} and {} Hz bands", pair[0].nominal_hz, pair[1].nominal_hz);
        near(what, pair[1].lower_hz, pair[0].upper_hz, 1e-9);
    }
}

// IEC 61260-1:2014: an octave band is three third-octave bands, edge on edge.
#[test]
fn three_thirds_fill_an_octave() {
    let table = reference::octave_bands();
    assert_eq!(table.len(), 10);
    for row in 0..table.len() {
        let octave = table.number(row, "nominal_hz");
        let middle = bands().iter().position(|band| (band.nominal_hz - octave).abs() < 1e-9).unwrap();
        near(
            format!("centre of the {octave} Hz octave"),
            bands()[middle].centre_hz,
            table.number(row, "exact_fm_hz"),
            6e-7,
        );
        let lower = table.number(row, "lower_f1_hz");
        let upper = table.number(row, "upper_f2_hz").min(20_000.0);
        near(format!("lower edge of the {octave} Hz octave"), bands()[middle - 1].lower_hz, lower, 6e-7);
        near(format!("upper edge of the {octave} Hz octave"), bands()[middle + 1].upper_hz, upper, 6e-7);
    }
}

// Gauss–Legendre with four nodes is exact up to the seventh power (Abramowitz and Stegun 1964, 25.4.30).
#[test]
fn nodes_integrate_the_seventh_power() {
    for band in bands() {
        let (low, high) = (band.lower_hz / band.centre_hz, band.upper_hz / band.centre_hz);
        for power in 0..8_u8 {
            let raise = |x: f64, times: u8| (0..times).fold(1.0, |product, _| product * x);
            let got = band.mean(|hz| raise(hz / band.centre_hz, power));
            let want = (raise(high, power + 1) - raise(low, power + 1)) / f64::from(power + 1) / (high - low);
            near(format!("mean of the power {power} over the {} Hz band", band.nominal_hz), got, want, 1e-12);
            assert!(
                band.nodes.iter().all(|node| node.hz > band.lower_hz && node.hz < band.upper_hz),
                "a node of the {} Hz band lies outside it",
                band.nominal_hz
            );
        }
    }
}
