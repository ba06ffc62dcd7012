//! Checks against published values. Each source is named beside its check.
#![cfg(test)]

use gainsay_gear::Device;
use gainsay_sheet::{DoubtKind, Reading, Table, Value, doubts_of, read};
use gainsay_units::math::{exp10, ln, log10};
use gainsay_units::{Dbu, Origin, Sensitivity, Weighting};

fn reading(text: &str) -> Reading {
    read(text, None).unwrap_or_else(|error| panic!("{text:?}: {error}"))
}

/// The sensitivity that a line gives, in mV/Pa.
fn millivolts(line: &str) -> f64 {
    let read =
        reading(&format!("Condenser microphone\nPolar pattern: cardioid\nMax SPL: 130 dB (1 % THD)\n{line}"));
    let entry = read
        .entry(Table::Microphone, "", "sensitivity")
        .unwrap_or_else(|| panic!("no sensitivity in {line:?}"));
    let Value::Figure(quantity) = &entry.reading.value else { panic!("no figure in {line:?}") };
    1e3 * quantity.to::<Sensitivity>().expect("a sensitivity").volts_per_pascal()
}

/// IEC 60268-4: the sensitivity is the open-circuit voltage for each pascal; its level refers to 1 V/Pa, and an older one to
/// 1 V/µbar, which is 20 dB lower in number. The millivolts are 10^(dB/20), computed by hand.
#[test]
fn sensitivities_on_three_footings_are_the_same() {
    for (decibels, want) in [(-40.0, 10.0), (-60.0, 1.0), (-34.0, 19.953), (-54.0, 1.9953), (-37.0, 14.125)] {
        for line in [
            format!("Sensitivity: {decibels} dBV/Pa"),
            format!("Sensitivity: {decibels} dB re 1 V/Pa"),
            format!("Sensitivity: {decibels} dB (0 dB = 1 V/Pa)"),
            format!("Sensitivity: {} dB re 1 V/µbar", decibels - 20.0),
            format!("Sensitivity: {} dB (0 dB = 1V/ubar)", decibels - 20.0),
            format!("Sensitivity: {want} mV/Pa"),
        ] {
            let got = millivolts(&line);
            assert!((got - want).abs() < 2e-4 * want, "{line:?} gives {got} mV/Pa, off by {}", got - want);
        }
    }
}

/// White noise from 20 Hz to 20 kHz, re unweighted: A −2.05 dB from the table of IEC 61672-1:2013, the 468 network read as RMS
/// +7.30 dB from the table of ITU-R BS.468-4, both integrated over the band by trapezoids on a logarithmic scale here. The
/// quasi-peak meter adds 4 to 5 dB to steady noise (common practice, no source).
#[test]
fn the_468_offset_follows_from_both_published_weightings() {
    const A: &[(f64, f64)] = &[
        (20.0, -50.5),
        (25.0, -44.7),
        (31.5, -39.4),
        (40.0, -34.6),
        (50.0, -30.2),
        (63.0, -26.2),
        (80.0, -22.5),
        (100.0, -19.1),
        (125.0, -16.1),
        (160.0, -13.4),
        (200.0, -10.9),
        (250.0, -8.6),
        (315.0, -6.6),
        (400.0, -4.8),
        (500.0, -3.2),
        (630.0, -1.9),
        (800.0, -0.8),
        (1000.0, 0.0),
        (1250.0, 0.6),
        (1600.0, 1.0),
        (2000.0, 1.2),
        (2500.0, 1.3),
        (3150.0, 1.2),
        (4000.0, 1.0),
        (5000.0, 0.5),
        (6300.0, -0.1),
        (8000.0, -1.1),
        (10_000.0, -2.5),
        (12_500.0, -4.3),
        (16_000.0, -6.6),
        (20_000.0, -9.3),
    ];
    const ITU_468: &[(f64, f64)] = &[
        (31.5, -29.9),
        (63.0, -23.9),
        (100.0, -19.8),
        (200.0, -13.8),
        (400.0, -7.8),
        (800.0, -1.9),
        (1000.0, 0.0),
        (2000.0, 5.6),
        (3150.0, 9.0),
        (4000.0, 10.5),
        (5000.0, 11.7),
        (6300.0, 12.2),
        (7100.0, 12.0),
        (8000.0, 11.4),
        (9000.0, 10.1),
        (10_000.0, 8.1),
        (12_500.0, 0.0),
        (14_000.0, -5.3),
        (16_000.0, -11.7),
        (20_000.0, -22.2),
    ];
    // The table is interpolated in decibels on a logarithmic scale of frequency, in fine steps.
    let white = |table: &[(f64, f64)]| {
        let (mut power, mut width) = (0.0, 0.0);
        for pair in table.windows(2) {
            let [(low, at_low), (high, at_high)] = pair else { continue };
            const STEPS: i32 = 200;
            for step in 0..STEPS {
                let share = (f64::from(step) + 0.5) / f64::from(STEPS);
                let hz = low + (high - low) * share;
                let place = ln(hz / low) / ln(high / low);
                let decibels = at_low + (at_high - at_low) * place;
                let step = (high - low) / f64::from(STEPS);
                power += step * exp10(decibels / 10.0);
                width += step;
            }
        }
        10.0 * log10(power / width)
    };
    let network = white(ITU_468) - white(A);
    let read = reading(
        "Condenser microphone\nPattern: cardioid\nSensitivity: 20 mV/Pa\nEquivalent noise level: 27 dB (CCIR 468)\nMax SPL: 130 dB (1 % THD)",
    );
    let doubt =
        read.doubts.iter().find(|d| d.kind == DoubtKind::NoiseNotA).expect("the doubt on the weighting");
    let told: f64 = doubt
        .sentence
        .split("white noise reads ")
        .nth(1)
        .and_then(|rest| rest.split(' ').next())
        .and_then(|number| number.parse().ok())
        .expect("a number of decibels");
    let quasi_peak = told - network;
    assert!(
        (4.0..=5.0).contains(&quasi_peak),
        "the sentence says {told} dB; the tables give {network:.2} dB, which leaves {quasi_peak:.2} dB for the quasi-peak meter"
    );
    let own = (Weighting::Itu468QuasiPeak.of_white_noise() - Weighting::A.of_white_noise()).db();
    assert!((told - own).abs() < 0.06, "told {told} dB, computed {own} dB");
}

/// √(4kTRB) at 293.15 K from 20 Hz to 20 kHz in dBu, k of the SI of 2019, from a table computed with a scientific library.
const THERMAL: &[(f64, f64)] =
    &[(50.0, -135.694), (150.0, -130.922), (200.0, -129.673), (600.0, -124.902), (1000.0, -122.683)];

#[test]
fn an_ein_is_refused_just_below_the_thermal_noise_of_its_source() {
    for &(ohms, limit) in THERMAL {
        for (offset, refused) in [(-0.05, true), (0.05, false)] {
            let ein = limit + offset;
            let text = format!(
                "Microphone preamp\nGain range: 60 dB\nEIN: {ein:.3} dBu ({ohms} Ω, unweighted, 20 Hz - 20 kHz)"
            );
            let read = reading(&text);
            let entry = read.entry(Table::MicrophoneInputs, "", "ein").expect("an EIN");
            assert_eq!(entry.withheld, refused, "{ein:.3} dBu at {ohms} Ω, where {limit} dBu is the limit");
            let told = read.doubts.iter().any(|d| d.kind == DoubtKind::EinBelowThermal);
            assert_eq!(told, refused, "the doubt for {ein:.3} dBu at {ohms} Ω");
        }
    }
}

/// 0 dBV is 20 lg(1/√0.6) = 2.2185 dBu (0 dBu is the voltage of 1 mW in 600 Ω).
#[test]
fn dbv_and_dbu_lie_2_2_db_apart() {
    let read = reading("Microphone preamp\nGain range: 50 dB\nEIN: -130 dBV (150 Ω, A-weighted)");
    let Value::Figure(quantity) =
        &read.entry(Table::MicrophoneInputs, "", "ein").expect("an EIN").reading.value
    else {
        panic!("no figure")
    };
    let dbu = quantity.to::<Dbu>().expect("a level").dbu();
    assert!((dbu + 130.0 - 2.2185).abs() < 1e-4, "−130 dBV is {dbu} dBu, off by {}", dbu + 130.0 - 2.2185);
    let doubt = read.doubts.iter().find(|d| d.kind == DoubtKind::LevelReference).expect("the doubt on dBV");
    assert!(doubt.sentence.contains("−127.8 dBu"), "{}", doubt.sentence);
}

/// 6.0206 N + 1.7609 dB (Bennett 1948): 98.09 dB for 16 bits, and 2.05 dB more A-weighted.
#[test]
fn sixteen_bits_hold_98_db() {
    let file = |range: f64, weighting: &str| {
        let text = format!(
            "name = \"Box\"\ntype = \"interface\"\n[[microphone_inputs]]\ncount = 1\ndynamic_range = \"{range} dB ({weighting})\"\n[device]\nbit_depth = \"16 bit\"\n"
        );
        let device = Device::from_toml(&text, "box", Origin::Sheet).expect("a device");
        doubts_of(&device).iter().any(|d| d.kind == DoubtKind::DynamicRangeBeyondBits)
    };
    assert!(!file(98.0, "unweighted"), "98.0 dB fit into 16 bits");
    assert!(file(98.2, "unweighted"), "98.2 dB do not");
    assert!(!file(100.1, "A-weighted"), "100.1 dB A-weighted fit");
    assert!(file(100.2, "A-weighted"), "100.2 dB A-weighted do not");
}

/// IEC 61938: P48 provides 10 mA.
#[test]
fn phantom_current_above_ten_milliamperes() {
    for (current, doubtful) in [("10 mA", false), ("10.5 mA", true)] {
        let read = reading(&format!(
            "Microphone preamp\nGain range: 50 dB\nPhantom power: 48 V, {current} per channel"
        ));
        let told = read.doubts.iter().any(|d| d.kind == DoubtKind::PhantomCurrent);
        assert_eq!(told, doubtful, "{current}");
    }
}
