//! Figures: tolerances as distributions, and units in the wrong place.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "tests")]

mod reference;

use gainsay_units::{
    DbSpl, Dbu, Decibels, Figure, Hertz, Kelvin, Measurable, NoiseRating, Ohms, Origin, Quantity, RawFigure,
    Sensitivity, Spread, Volts, Weighting,
};
use reference::near;

fn figure<T: Measurable>(text: &str, origin: Origin) -> Figure<T> {
    let quantity: Quantity = text.parse().unwrap_or_else(|error| panic!("{text:?}: {error}"));
    Figure::from_quantity(&quantity, origin).unwrap_or_else(|error| panic!("{text:?}: {error}"))
}

#[track_caller]
fn rectangular<T: Measurable>(text: &str, below: f64, above: f64, tolerance: f64) {
    match figure::<T>(text, Origin::Sheet).spread {
        Spread::Rectangular { below: got_below, above: got_above } => {
            near(format!("{text}: limit below"), got_below, below, tolerance);
            near(format!("{text}: limit above"), got_above, above, tolerance);
        }
        other => panic!("{text}: {other:?}, not rectangular"),
    }
}

#[track_caller]
fn normal<T: Measurable>(text: &str, origin: Origin, want: f64, tolerance: f64) {
    match figure::<T>(text, origin).spread {
        Spread::Normal { standard_deviation } => {
            near(
                format!("{text} ({}): standard deviation", origin.word()),
                standard_deviation,
                want,
                tolerance,
            );
        }
        other => panic!("{text} ({}): {other:?}, not normal", origin.word()),
    }
}

// JCGM 100:2008, 4.3.7: limits without a stated confidence are a rectangular distribution between them.
#[test]
fn a_tolerance_without_confidence_is_rectangular() {
    rectangular::<Dbu>("12 dBu ± 0.5 dB", 0.5, 0.5, 1e-12);
    rectangular::<Decibels>("60 dB ± 1", 1.0, 1.0, 1e-12);
    rectangular::<Decibels>("60 dB +1/-3 dB", 3.0, 1.0, 1e-12);
    rectangular::<DbSpl>("28 dBA ± 2 dB", 2.0, 2.0, 1e-12);
    rectangular::<Sensitivity>("1.6 mV/Pa ± 2 dB", 2.0, 2.0, 1e-12);
    rectangular::<Ohms>("2.4 kΩ ± 100 Ω", 100.0, 100.0, 1e-9);
    rectangular::<Hertz>("48 kHz ± 50 Hz", 50.0, 50.0, 1e-9);
    // A difference of temperatures is the same in degrees and kelvins (SI brochure).
    rectangular::<Kelvin>("20 °C ± 2 °C", 2.0, 2.0, 1e-12);
    rectangular::<Kelvin>("20 °C ± 2 K", 2.0, 2.0, 1e-12);
    rectangular::<NoiseRating>("NR 20 ± 5", 5.0, 5.0, 1e-12);
    for origin in [Origin::Measured, Origin::Given, Origin::Assumed] {
        let spread = figure::<Decibels>("60 dB ± 1 dB", origin).spread;
        assert_eq!(spread, Spread::Rectangular { below: 1.0, above: 1.0 }, "{}", origin.word());
    }
}

// JCGM 100:2008, 4.3.3: a stated multiple of the standard deviation is divided by it. Table G.1 (and 4.3.4): the interval with
// 95 % is 1.960, with 90 % 1.645, with 99 % 2.576 and with 68.27 % one standard deviation to either side.
#[test]
fn a_stated_confidence_is_normal() {
    let sheet = Origin::Sheet;
    normal::<DbSpl>("62 dBA ± 6 dB (k=2)", sheet, 3.0, 1e-12);
    normal::<DbSpl>("62 dBA ± 6 dB (k=3)", sheet, 2.0, 1e-12);
    normal::<DbSpl>("62 dBA ± 6 dB (95 %)", sheet, 6.0 / 1.960, 6.0 / 1.960 * 0.0003);
    normal::<DbSpl>("62 dBA ± 6 dB (90 %)", sheet, 6.0 / 1.645, 6.0 / 1.645 * 0.0003);
    normal::<DbSpl>("62 dBA ± 6 dB (99 %)", sheet, 6.0 / 2.576, 6.0 / 2.576 * 0.0003);
    normal::<DbSpl>("62 dBA ± 6 dB (99.73 %)", sheet, 6.0 / 3.0, 6.0 / 3.0 * 0.0003);
    normal::<DbSpl>("62 dBA ± 6 dB (68.27 %)", sheet, 6.0, 6.0 * 0.0003);
    normal::<Ohms>("150 Ω ± 30 Ω (k=2)", sheet, 15.0, 1e-12);
    normal::<Ohms>("150 Ω ± 20 % (k=2)", sheet, 15.0, 1e-12);
    // Of two sides the larger, so that neither is understated.
    normal::<Decibels>("60 dB +1/-3 dB (k=2)", sheet, 1.5, 1e-12);
}

// A table of typical values gives a spread that most of its kind keep within; read as the interval with 95 % (this project's
// definition; the factor is JCGM 100:2008, table G.1).
#[test]
fn a_typical_tolerance_is_95_percent_of_a_normal_distribution() {
    normal::<DbSpl>("62 dBA ± 6 dB", Origin::Typical, 6.0 / 1.960, 6.0 / 1.960 * 0.0003);
    normal::<Ohms>("150 Ω ± 30 %", Origin::Typical, 45.0 / 1.960, 45.0 / 1.960 * 0.0003);
    // A coverage that is stated holds.
    normal::<DbSpl>("62 dBA ± 6 dB (k=3)", Origin::Typical, 2.0, 1e-12);
    let (below, above) = figure::<DbSpl>("62 dBA ± 6 dB", Origin::Typical).spread.half_widths_95();
    near("lower half-width with 95 %", below, 6.0, 1e-9);
    near("upper half-width with 95 %", above, 6.0, 1e-9);
}

// Percent on a resistance is of its value; on a sensitivity, a voltage or a pressure of the amplitude, so 20 lg(1 ± p) as a
// level (definition of the level, ISO 80000-3): +20 % is +1.5836 dB, −20 % is −1.9382 dB.
#[test]
fn percentages() {
    rectangular::<Ohms>("150 Ω ± 20 %", 30.0, 30.0, 1e-9);
    rectangular::<Ohms>("2.4 kΩ +10/-5 %", 120.0, 240.0, 1e-9);
    rectangular::<Sensitivity>("10 mV/Pa ± 20 %", 1.9382, 1.5836, 0.000_05);
    rectangular::<Sensitivity>("-40 dBV/Pa ± 20 %", 1.9382, 1.5836, 0.000_05);
    rectangular::<Volts>("0.775 V ± 10 %", 0.9151, 0.8279, 0.000_05);
    // The same limits in volts.
    rectangular::<Volts>("0.775 V ± 0.0775 V", 0.9151, 0.8279, 0.000_05);
    rectangular::<Volts>("1 V ± 100 mV", 0.9151, 0.8279, 0.000_05);
    rectangular::<Sensitivity>("10 mV/Pa ± 2 mV/Pa", 1.9382, 1.5836, 0.000_05);
    // 20 lg(2): +100 % doubles the voltage.
    match figure::<Sensitivity>("10 mV/Pa ± 100 %", Origin::Sheet).spread {
        Spread::Rectangular { below, above } => {
            near("+100 % in dB", above, 6.0206, 0.000_05);
            assert!(
                below.is_finite() && below >= 20.0,
                "−100 % must stay a number and be far below: {below} dB"
            );
        }
        other => panic!("{other:?}"),
    }
}

// JCGM 101:2008, 6.4.2 (rectangular) and 6.4.7 (normal): central 95 %.
#[test]
fn intervals_with_95_percent() {
    let (below, above) = figure::<Decibels>("60 dB ± 2 dB", Origin::Sheet).spread.half_widths_95();
    near("rectangular ± 2 dB, below", below, 1.9, 1e-12);
    near("rectangular ± 2 dB, above", above, 1.9, 1e-12);
    let (below, above) = figure::<Decibels>("60 dB ± 2 dB (k=2)", Origin::Sheet).spread.half_widths_95();
    near("normal with one dB, below", below, 1.960, 0.0005);
    near("normal with one dB, above", above, 1.960, 0.0005);
    let exact = figure::<Decibels>("60 dB", Origin::Sheet).spread;
    assert_eq!(exact, Spread::Exact);
    assert!(exact.is_exact());
    // No width is no doubt, whatever it is called.
    assert!(figure::<Decibels>("60 dB ± 0 dB (k=2)", Origin::Sheet).spread.is_exact());
}

// The value is the same whatever unit it is written in. Levels re √0.6 V (usage of IEC 60268-2), as in levels.rs.
#[test]
fn values_and_conditions() {
    near("0.775 V in dBu", figure::<Dbu>("0.775 V", Origin::Sheet).value.dbu(), 0.0045, 0.000_05);
    near("−10 dBV in volts", figure::<Volts>("-10 dBV", Origin::Sheet).value.volts(), 0.316_228, 0.000_000_5);
    near("NR 20", figure::<NoiseRating>("NR 20", Origin::Given).value.number(), 20.0, 0.0);
    let noise = figure::<Dbu>("-128 dBu (150 ohm, A-weighted, 20 Hz to 20 kHz)", Origin::Sheet);
    assert_eq!(noise.conditions.weighting, Some(Weighting::A));
    assert_eq!(noise.conditions.source_impedance, Some(Ohms::new(150.0)));
    assert_eq!(noise.conditions.band, Some((Hertz::new(20.0), Hertz::new(20_000.0))));
    // dBA says the weighting itself; a range in dBA is how sheets write an A-weighted range (common practice, no source).
    assert_eq!(figure::<DbSpl>("28 dBA", Origin::Sheet).conditions.weighting, Some(Weighting::A));
    let range = figure::<Decibels>("110 dBA", Origin::Sheet);
    assert_eq!((range.value.db(), range.conditions.weighting), (110.0, Some(Weighting::A)));
    assert_eq!(range.written, "110 dBA");
}

#[test]
fn a_unit_in_the_wrong_place_is_named_with_the_right_one() {
    fn check<T: Measurable>(text: &str, is: &str, belongs: &str) {
        let quantity: Quantity = text.parse().unwrap();
        let error = quantity.to::<T>().unwrap_err();
        for part in [is, belongs, &quantity.to_string()] {
            assert!(error.message().contains(part), "{text}: {:?} does not say {part:?}", error.message());
        }
        let example = T::DIMENSION.example();
        assert!(error.mend().contains(example), "{text}: {:?} gives no example", error.mend());
        let from_figure = Figure::<T>::from_quantity(&quantity, Origin::Sheet).unwrap_err();
        assert_eq!(from_figure, error, "{text}");
    }
    check::<Dbu>("150 Ω", "a resistance", "a voltage level");
    check::<Ohms>("-128 dBu", "a voltage level", "a resistance");
    check::<Sensitivity>("-56 dBV", "a voltage level", "a microphone sensitivity");
    check::<Dbu>("-56 dBV/Pa", "a microphone sensitivity", "a voltage level");
    check::<Decibels>("94 dB SPL", "a sound level", "a gain or range");
    check::<DbSpl>("60 dB", "a gain or range", "a sound level");
    check::<Dbu>("-12 dBFS", "a level in the file", "a voltage level");
    check::<Hertz>("1.5 ms", "a time", "a frequency");
    check::<NoiseRating>("28 dBA", "a sound level", "a noise rating");
    check::<Kelvin>("48 kHz", "a frequency", "a temperature");
    check::<Decibels>("5 %", "a percentage", "a gain or range");
}

#[test]
fn what_has_no_level_is_refused() {
    for text in ["0 V", "-1 V", "0 mV/Pa", "0 Pa", "-3 µV"] {
        let quantity: Quantity = text.parse().unwrap();
        let error = match quantity.unit.dimension() {
            gainsay_units::Dimension::Voltage => quantity.to::<Dbu>().unwrap_err(),
            gainsay_units::Dimension::Sensitivity => quantity.to::<Sensitivity>().unwrap_err(),
            _ => quantity.to::<DbSpl>().unwrap_err(),
        };
        assert!(error.message().contains("not possible"), "{text}: {error}");
        assert!(error.mend().contains("above zero"), "{text}: {error}");
    }
}

#[test]
fn a_tolerance_apart_from_its_value() {
    let raw = |value: &str, tolerance: &str| RawFigure {
        value: value.to_owned(),
        tolerance: Some(tolerance.to_owned()),
        ..RawFigure::default()
    };
    for (value, tolerance, together) in [
        ("-56 dBV/Pa", "2 dB", "-56 dBV/Pa ± 2 dB"),
        ("-56 dBV/Pa", "± 2 dB", "-56 dBV/Pa ± 2 dB"),
        ("150 ohm", "10 %", "150 ohm ± 10 %"),
        ("60 dB", "+1/-3 dB", "60 dB +1/-3 dB"),
        ("60 dB", "+/- 3 dB", "60 dB ± 3 dB"),
        ("62 dBA", "6 dB (k=2)", "62 dBA ± 6 dB (k=2)"),
        ("NR 20", "5", "NR 20 ± 5"),
        ("-128 dBu (A-weighted, 150 ohm)", "1 dB", "-128 dBu (A-weighted, 150 ohm) ± 1 dB"),
    ] {
        let got = raw(value, tolerance)
            .quantity()
            .unwrap_or_else(|error| panic!("{value} with {tolerance}: {error}"));
        assert_eq!(got, together.parse().unwrap(), "{value} with {tolerance}");
    }
    let error = raw("60 dB ± 1 dB", "2 dB").quantity().unwrap_err();
    assert!(error.message().contains("two tolerances"), "{error}");
}

#[test]
fn typical_figures_are_marked_and_never_upgraded() {
    let sheet = figure::<Decibels>("60 dB ± 1 dB", Origin::Sheet);
    assert_eq!(sheet.as_typical().origin, Origin::Typical);
    assert_eq!(figure::<Decibels>("60 dB", Origin::Assumed).as_typical().origin, Origin::Assumed);
    assert_eq!((sheet.as_typical().value, sheet.as_typical().written), (sheet.value, sheet.written.clone()));
}
