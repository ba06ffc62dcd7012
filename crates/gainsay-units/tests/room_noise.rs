//! Room noise curves against ISO/R 1996:1971.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]
#![allow(clippy::disallowed_methods, reason = "the check must not lean on the mathematics of what it checks")]

mod reference;

use gainsay_units::bands::{BandPowers, N_BANDS, bands, thirds_from_octaves};
use gainsay_units::{DbSpl, NoiseRating, room};
use proptest::prelude::*;
use reference::{Table, near};

const OCTAVES: [&str; 9] = ["31.5", "63", "125", "250", "500", "1000", "2000", "4000", "8000"];

fn level_of(power: f64) -> f64 {
    10.0 * power.log10()
}

fn power_of(level: f64) -> f64 {
    10_f64.powf(level / 10.0)
}

/// Rows of the NR curves.
fn nr_rows(table: &Table) -> Vec<usize> {
    let rows: Vec<usize> = (0..table.len()).filter(|&row| table.text(row, "curve") == "NR").collect();
    assert_eq!(rows.len(), 9, "NR 0 to NR 40 in steps of five");
    rows
}

// ISO/R 1996:1971, L = a + b·N; the same numbers stand in AS 1469.
#[test]
fn octave_levels_follow_the_coefficients() {
    let table = reference::nr_coefficients();
    assert_eq!(table.len(), 9);
    for number in [-20.0, 0.0, 7.5, 10.0, 15.0, 25.0, 60.0, 130.0] {
        for (row, level) in NoiseRating::new(number).octave_levels().into_iter().enumerate() {
            let want = table.number(row, "a") + table.number(row, "b") * number;
            near(format!("NR {number} at {} Hz", table.text(row, "octave_hz")), level, want, 1e-9);
        }
    }
}

// ISO/R 1996:1971, the curves NR 0 to NR 40. Rounded to 0.1 dB.
#[test]
fn octave_levels_keep_to_the_published_curves() {
    let table = reference::room_noise_curves();
    for row in nr_rows(&table) {
        let number = table.number(row, "number");
        for (octave, level) in OCTAVES.iter().zip(NoiseRating::new(number).octave_levels()) {
            near(format!("NR {number} at {octave} Hz"), level, table.number(row, octave), 0.06);
        }
    }
}

// IEC 61260-1:2014: the power in an octave is the sum of its three thirds.
#[test]
fn thirds_add_up_to_their_octaves() {
    for number in [-10.0, 0.0, 10.0, 15.0, 30.0, 60.0, 110.0] {
        let rating = NoiseRating::new(number);
        let thirds = rating.band_levels();
        for (index, (name, octave)) in OCTAVES.iter().zip(rating.octave_levels()).enumerate() {
            // The 25 Hz band is the second, so the 31.5 Hz octave begins there.
            let sum: f64 = thirds[1 + 3 * index..4 + 3 * index].iter().copied().map(power_of).sum();
            near(format!("NR {number}, thirds of the {name} Hz octave"), level_of(sum), octave, 1e-9);
        }
        for (third, power) in thirds.iter().zip(rating.band_powers().0) {
            near(format!("NR {number}, power of a third"), level_of(power), *third, 1e-9);
        }
    }
}

// "dBA of full curve" as the table has it: octave levels with the A-weighting of IEC 61672-1 at the octave centres, rounded
// to 0.1 dB as in its table 3.
#[test]
fn a_weighted_level_the_way_of_the_table() {
    let curves = reference::room_noise_curves();
    for row in nr_rows(&curves) {
        let number = curves.number(row, "number");
        near(
            format!("NR {number} in dBA from octaves"),
            a_weighted_from_octaves(number),
            curves.number(row, "dBA_all_bands(computed)"),
            0.06,
        );
    }
}

fn a_weighted_from_octaves(number: f64) -> f64 {
    let weights = reference::weighting_a_c();
    let sum: f64 = OCTAVES
        .iter()
        .zip(NoiseRating::new(number).octave_levels())
        .map(|(octave, level)| {
            let row = weights.row_where("nominal_hz", octave.parse().unwrap());
            power_of(level + weights.number(row, "A_table_db"))
        })
        .sum();
    level_of(sum)
}

// This crate differs from that column on purpose. It spreads the octaves over thirds on a slope, weighs inside each third,
// and goes on below 22 Hz and above 11 kHz, where no curve is published. On a curve that falls by up to 20 dB an octave
// most of the power of the 31.5 Hz octave lies in its lowest third, which A weighs 5 dB less than the centre: that takes off
// 0.7 (NR 40) to 2.1 dB (NR 0) of the whole. The bands beyond the curves, nearly all of it the 20 Hz third, give 0.3 to
// 1.7 dB back. Worked out with a separate program (thirds by the same rule, A by 4000 midpoints a band), what remains is
// between −0.49 dB (NR 20) and −0.38 dB (NR 40) re the octave sum with A at exact centres, so −0.44 ± 0.06 dB; the rounding
// of A and of the column adds 0.08 dB at most.
#[test]
fn a_weighted_level_against_the_table() {
    let curves = reference::room_noise_curves();
    for row in nr_rows(&curves) {
        let number = curves.number(row, "number");
        let column = curves.number(row, "dBA_all_bands(computed)");
        let ours = NoiseRating::new(number).a_weighted().db_spl();
        near(format!("NR {number} in dBA, re the column less 0.44 dB"), ours, column - 0.44, 0.06 + 0.08);
    }
}

// What that separate program reads for this crate's own definition, in dBA.
#[test]
fn a_weighted_level_against_a_separate_program() {
    for (number, want) in [
        (0.0, 17.193),
        (5.0, 20.868),
        (10.0, 24.620),
        (15.0, 28.457),
        (20.0, 32.389),
        (25.0, 36.424),
        (30.0, 40.565),
        (35.0, 44.812),
        (40.0, 49.160),
    ] {
        near(format!("NR {number} in dBA"), NoiseRating::new(number).a_weighted().db_spl(), want, 0.001);
    }
}

// Outside the published octaves the curve goes on with the slope of the nearest two.
#[test]
fn octaves_beyond_the_curves_keep_the_slope() {
    for number in [0.0, 20.0, 40.0] {
        let octaves = NoiseRating::new(number).octave_levels();
        let thirds = NoiseRating::new(number).band_levels();
        let top: f64 = thirds[28..31].iter().copied().map(power_of).sum();
        let want = octaves[8] + (octaves[8] - octaves[7]);
        near(format!("NR {number}, 16 kHz octave"), level_of(top), want, 1e-9);
        assert!(
            thirds[0] > thirds[1],
            "NR {number}: 20 Hz {} dB is not above 25 Hz {} dB, though the curve falls",
            thirds[0],
            thirds[1]
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn with_a_weighted_undoes_a_weighted(number in -60.0..130.0_f64) {
        let rating = NoiseRating::new(number);
        let back = NoiseRating::with_a_weighted(rating.a_weighted());
        let off = back.number() - number;
        prop_assert!(off.abs() < 1e-6, "NR {number} came back as {}: off by {off}", back.number());
    }

    #[test]
    fn a_weighted_undoes_with_a_weighted(level in -60.0..130.0_f64) {
        let back = NoiseRating::with_a_weighted(DbSpl::new(level)).a_weighted();
        let off = back.db_spl() - level;
        prop_assert!(off.abs() < 1e-6, "{level} dBA came back as {}: off by {off} dB", back.db_spl());
    }

    #[test]
    fn a_louder_curve_reads_more(number in -60.0..129.0_f64, more in 0.01..1.0_f64) {
        let (low, high) = (NoiseRating::new(number).a_weighted(), NoiseRating::new(number + more).a_weighted());
        prop_assert!(low < high, "NR {number} reads {low:?}, NR {} reads {high:?}", number + more);
    }

    #[test]
    fn band_powers_read_the_level_they_were_made_for(level in -60.0..130.0_f64) {
        let powers = room::band_powers_of_a_weighted(DbSpl::new(level));
        let got = gainsay_units::weighting::weighted_level_db(&powers.0, gainsay_units::Weighting::A);
        prop_assert!((got - level).abs() < 1e-9, "{level} dBA reads {got}: off by {}", got - level);
    }

    /// The three thirds of every octave add up to it, whatever the octaves are.
    #[test]
    fn thirds_of_any_octaves_add_up(octaves in proptest::array::uniform9(-40.0..120.0_f64)) {
        let thirds = thirds_from_octaves(&octaves);
        for (index, octave) in octaves.iter().enumerate() {
            let sum: f64 = thirds[1 + 3 * index..4 + 3 * index].iter().copied().map(power_of).sum();
            let off = level_of(sum) - octave;
            prop_assert!(off.abs() < 1e-9, "octave {index} of {octaves:?} is off by {off} dB");
        }
    }
}

// Pink noise has the same power in every octave and every third (definition; IEC 60268-1), so equal octaves give equal thirds,
// 10 lg 3 = 4.771 dB lower.
#[test]
fn equal_octaves_give_equal_thirds() {
    let thirds = thirds_from_octaves(&[60.0; 9]);
    for (band, level) in bands().iter().zip(thirds) {
        near(format!("{} Hz third of pink noise", band.nominal_hz), level, 60.0 - 4.771_213, 1e-6);
    }
    let total = BandPowers::from_levels(&thirds).total();
    near("31 thirds of pink noise", level_of(total), 60.0 - 4.771_213 + level_of(N_BANDS as f64), 1e-6);
}
