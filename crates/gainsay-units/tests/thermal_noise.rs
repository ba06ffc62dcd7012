//! Thermal noise, noise figures and cascades against published values.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]

mod reference;

use gainsay_units::noise::{
    AUDIO_BANDWIDTH, BOLTZMANN, effective_bandwidth, thermal_limit, thermal_noise, thermal_noise_density,
    white_noise_density,
};
use gainsay_units::{
    CurrentNoiseDensity, Dbu, Dbv, Decibels, Hertz, Kelvin, Ohms, VoltageNoiseDensity, Volts, Weighting,
};
use reference::near;

/// Reference temperature of noise figures (Friis 1944; the IRE's standard).
const T0: Kelvin = Kelvin::new(290.0);

fn square(density: VoltageNoiseDensity) -> f64 {
    density.volts_per_root_hertz() * density.volts_per_root_hertz()
}

/// Level of white noise with this squared density in the audio band.
fn level(squared_density: f64) -> Dbu {
    Dbu::from_volts(Volts::new(squared_density.sqrt()) * AUDIO_BANDWIDTH.hertz().sqrt())
}

// k = 1.380649e-23 J/K exactly (SI 2019, CODATA).
#[test]
fn boltzmanns_constant() {
    near("k times 1e23", BOLTZMANN * 1e23, 1.380_649, 1e-15);
}

// Nyquist 1928, √(4kTRB) in 19 980 Hz: 24 resistances at 290 K and 293.15 K.
#[test]
fn resistances() {
    let table = reference::thermal_noise();
    assert_eq!(table.len(), 24);
    for row in 0..table.len() {
        let ohm = table.number(row, "ohm");
        for (name, temperature) in [("290K", T0), ("293.15K", Kelvin::ROOM)] {
            let what = |unit: &str| format!("{ohm} ohm at {name} in {unit}");
            let resistance = Ohms::new(ohm);
            let dbu = thermal_noise(resistance, temperature, AUDIO_BANDWIDTH);
            near(what("dBu"), dbu.dbu(), table.number(row, &format!("dBu_{name}")), 0.001);
            near(what("dBV"), Dbv::from(dbu).dbv(), table.number(row, &format!("dBV_{name}")), 0.001);
            let density = thermal_noise_density(resistance, temperature).volts_per_root_hertz() * 1e9;
            let want = table.number(row, &format!("en_nV_per_rtHz_{name}"));
            near(what("nV/√Hz, as a level"), Decibels::from_amplitude_ratio(density / want).db(), 0.0, 0.001);
            // The column has five decimals.
            near(what("nV/√Hz"), density, want, 6e-6);
            let microvolts = dbu.volts().volts() * 1e6;
            near(what("µV"), microvolts, table.number(row, &format!("V_20-20k_uV_{name}")), 6e-7);
        }
        let warm = thermal_noise(Ohms::new(ohm), Kelvin::new(300.0), AUDIO_BANDWIDTH).dbu();
        near(format!("{ohm} ohm at 300 K"), warm, table.number(row, "dBu_300K"), 0.001);
        let wide = thermal_noise(Ohms::new(ohm), T0, Hertz::new(20_000.0)).dbu();
        near(format!("{ohm} ohm in 20 kHz"), wide, table.number(row, "dBu_290K_BW20000"), 0.001);
    }
}

// The limit of every microphone input: 150 ohm in 19 980 Hz at 20 °C. ngspice 39 reads 2.202723e-7 V.
#[test]
fn the_limit_of_150_ohm() {
    let limit = thermal_noise(Ohms::new(150.0), Kelvin::ROOM, AUDIO_BANDWIDTH);
    near("150 ohm at 20 °C in dBu", limit.dbu(), -130.9, 0.05);
    near("150 ohm at 20 °C in µV", limit.volts().volts() * 1e6, 0.220_272_3, 1e-7);
    near("20 °C in kelvins", Kelvin::from_celsius(20.0).kelvin(), Kelvin::ROOM.kelvin(), 1e-12);
}

// −133.02 dBu A-weighted at 290 K: computed from Nyquist 1928 and IEC 61672-1 outside this project.
#[test]
fn the_a_weighted_limit_of_150_ohm() {
    let limit = thermal_limit(Ohms::new(150.0), T0, Weighting::A, None);
    near("150 ohm at 290 K A-weighted", limit.dbu(), -133.02, 0.006);
}

// Rounded forms of textbooks, from memory: 0.13 √R nV/√Hz, and 1.3 µV of 10 kilohms in 10 kHz (Horowitz and Hill).
#[test]
fn textbook_forms() {
    let density = thermal_noise_density(Ohms::new(100.0), Kelvin::ROOM).volts_per_root_hertz() * 1e9;
    near("100 ohm in nV/√Hz", density, 1.3, 0.05);
    let noise = thermal_noise(Ohms::new(10_000.0), Kelvin::ROOM, Hertz::new(10_000.0)).volts().volts() * 1e6;
    near("10 kilohms in 10 kHz in µV", noise, 1.3, 0.05);
}

// F = 1 + (en² + (in·Rs)²)/(4kT0·Rs) (Friis 1944; Motchenbacher and Connelly 1993, formula from memory). The values were
// computed from it outside this project, to 0.01 dB.
#[test]
fn noise_figures_and_equivalent_input_noise() {
    let rows = [
        (1.0, 1.0, [(3.53, -132.21), (1.54, -129.43), (1.22, -128.50), (0.57, -124.37), (2.12, -110.61)]),
        (1.0, 2.0, [(3.54, -132.20), (1.62, -129.34), (1.34, -128.38), (0.98, -123.97), (5.45, -107.28)]),
        (5.0, 0.4, [(15.08, -120.66), (10.57, -120.40), (9.45, -120.27), (5.57, -119.38), (0.99, -111.74)]),
    ];
    for (en, i_n, wanted) in rows {
        let voltage = VoltageNoiseDensity::new(en * 1e-9);
        let current = CurrentNoiseDensity::new(i_n * 1e-12);
        for (ohm, (figure, ein)) in [50.0, 150.0, 200.0, 600.0, 10_000.0].into_iter().zip(wanted) {
            let source = Ohms::new(ohm);
            let thermal = square(thermal_noise_density(source, T0));
            let across_source = VoltageNoiseDensity::new(current.amperes_per_root_hertz() * source.ohms());
            let total = thermal + square(voltage) + square(across_source);
            let noise_figure = Decibels::from_power_ratio(total / thermal);
            let what = format!("{en} nV, {i_n} pA, {ohm} ohm");
            near(format!("{what}: noise figure in dB"), noise_figure.db(), figure, 0.0055);
            near(format!("{what}: EIN in dBu"), level(total).dbu(), ein, 0.0055);
            // EIN is the thermal noise of the source and the noise figure.
            let sum = thermal_noise(source, T0, AUDIO_BANDWIDTH) + noise_figure;
            near(format!("{what}: EIN from the noise figure"), sum.dbu(), level(total).dbu(), 1e-9);
        }
    }
}

// −128 dBu with 150 ohm at 290 K: noise figure 2.969 dB, 2.1816 nV/√Hz in all; computed outside this project.
#[test]
fn noise_figure_of_an_equivalent_input_noise() {
    let ein = Dbu::new(-128.0);
    let thermal = thermal_limit(Ohms::new(150.0), T0, Weighting::Flat, None);
    near("noise figure of −128 dBu in dB", (ein - thermal).db(), 2.969, 0.0006);
    let density = white_noise_density(ein, Weighting::Flat, None).volts_per_root_hertz() * 1e9;
    near("density of −128 dBu in nV/√Hz", density, 2.1816, 0.000_06);
}

/// Stages in a row, each a gain and a noise figure in dB.
type Stages = &'static [(f64, f64)];

/// Noise figure and gain of stages in a row, from the densities along the way: the source is
/// 50 ohm at 290 K, every stage adds (F − 1) times the source's own at its input.
fn cascade(stages: Stages) -> (Decibels, Decibels) {
    let source = square(thermal_noise_density(Ohms::new(50.0), T0));
    let mut noise = source;
    let mut gain = Decibels::ZERO;
    for &(stage_gain, figure) in stages {
        let stage_gain = Decibels::new(stage_gain);
        noise = (noise + (Decibels::new(figure).power_ratio() - 1.0) * source) * stage_gain.power_ratio();
        gain += stage_gain;
    }
    // Read as levels, as one would on a bench: output noise less the gain, re the source's own.
    let input_referred = level(noise) - gain;
    (input_referred - thermal_noise(Ohms::new(50.0), T0, AUDIO_BANDWIDTH), gain)
}

// Friis 1944, F = F1 + (F2 − 1)/G1 + (F3 − 1)/(G1·G2). The first is the receiver of Pozar, Microwave Engineering
// (from memory: 1.80, 2.55 dB); the others computed outside this project.
#[test]
fn cascades() {
    let cases: [(&str, Stages, f64, f64); 5] = [
        ("amplifier, filter, mixer", &[(10.0, 2.0), (-1.0, 1.0), (-3.0, 4.0)], 2.555, 6.0),
        ("filter, amplifier, mixer", &[(-1.0, 1.0), (10.0, 2.0), (-3.0, 4.0)], 3.396, 6.0),
        ("two amplifiers", &[(20.0, 3.0), (20.0, 10.0)], 3.192, 40.0),
        ("pad before the amplifier", &[(-3.0, 3.0), (20.0, 2.0)], 5.000, 17.0),
        ("pad behind the amplifier", &[(20.0, 2.0), (-3.0, 3.0)], 2.027, 17.0),
    ];
    for (name, stages, figure, gain) in cases {
        let (got, total_gain) = cascade(stages);
        near(format!("{name}: noise figure in dB"), got.db(), figure, 0.0006);
        near(format!("{name}: gain in dB"), total_gain.db(), gain, 1e-12);
        // The formula of Friis on its own.
        let (mut factor, mut gain_before) = (1.0, 1.0);
        for &(stage_gain, stage_figure) in stages {
            factor += (Decibels::new(stage_figure).power_ratio() - 1.0) / gain_before;
            gain_before *= Decibels::new(stage_gain).power_ratio();
        }
        let formula = Decibels::from_power_ratio(factor);
        near(format!("{name}: against the formula"), got.db(), formula.db(), 1e-9);
    }
    near("Pozar's receiver as a factor", cascade(cases[0].1).0.power_ratio(), 1.8011, 0.000_06);
}

// Non-inverting stage, gain 100 (9.9 kilohms and 100 ohm), source 150 ohm, 5 nV/√Hz, 0.4 pA/√Hz at each input, 20 °C.
// Computed outside this project; ngspice 39 reads 0.7616758 µV at the input.
#[test]
fn an_operational_amplifier_stage() {
    let current = CurrentNoiseDensity::new(0.4e-12);
    let feedback = Ohms::new(9_900.0 * 100.0 / (9_900.0 + 100.0));
    let source = Ohms::new(150.0);
    let through =
        |resistance: Ohms| VoltageNoiseDensity::new(current.amperes_per_root_hertz() * resistance.ohms());
    let terms = [
        ("amplifier's voltage", VoltageNoiseDensity::new(5e-9), 5.000),
        ("current in the source", through(source), 0.060),
        ("current in the feedback", through(feedback), 0.040),
        ("source", thermal_noise_density(source, Kelvin::ROOM), 1.558),
        ("feedback", thermal_noise_density(feedback, Kelvin::ROOM), 1.266),
    ];
    let mut sum = 0.0;
    for (name, density, want) in terms {
        near(format!("{name} in nV/√Hz"), density.volts_per_root_hertz() * 1e9, want, 0.000_55);
        sum += square(density);
    }
    near("total in nV/√Hz", sum.sqrt() * 1e9, 5.3885, 0.000_06);
    near("total in dBu", level(sum).dbu(), -120.146, 0.0006);
    let microvolts = level(sum).volts().volts() * 1e6;
    near("total in µV", microvolts, 0.761_67, 0.000_005_5);
    near(
        "total re the simulation in dB",
        Decibels::from_amplitude_ratio(microvolts / 0.761_675_8).db(),
        0.0,
        0.0001,
    );
    let output = level(sum) + Decibels::from_amplitude_ratio(100.0);
    near("output in µV", output.volts().volts() * 1e6, 76.167, 0.0006);
    // And back: the density that reads this level.
    let back = white_noise_density(level(sum), Weighting::Flat, None).volts_per_root_hertz() * 1e9;
    near("density from the level in nV/√Hz", back, 5.3885, 0.000_06);
}

// Re flat in the same band, white noise reads −2.05 dB (A), +7.30 dB (BS.468, RMS): computed outside this project. In a
// narrower band the same weighting holds: an effective bandwidth is that of the flat band times the mean power gain.
#[test]
fn effective_bandwidths() {
    let band = |low: f64, high: f64| Some((Hertz::new(low), Hertz::new(high)));
    near("flat", effective_bandwidth(Weighting::Flat, None).hertz(), 19_980.0, 1e-8);
    near(
        "flat, 22 Hz to 22 kHz",
        effective_bandwidth(Weighting::Flat, band(22.0, 22_000.0)).hertz(),
        21_978.0,
        1e-6,
    );
    near(
        "flat, 0 Hz to 24 kHz",
        effective_bandwidth(Weighting::Flat, band(0.0, 24_000.0)).hertz(),
        24_000.0,
        1e-6,
    );
    // White noise in 0 to 24 kHz, re flat in the same band: A −2.72, 468 RMS +6.51, CCIR-RMS +0.88 dB, computed likewise.
    let quasi_peak_meter = 4.5; // From memory, as in the crate.
    for (weighting, want) in [
        (Weighting::A, -2.72),
        (Weighting::Itu468QuasiPeak, 6.51 + quasi_peak_meter),
        (Weighting::Itu468Rms, 0.88),
    ] {
        let ratio = effective_bandwidth(weighting, band(0.0, 24_000.0)) / Hertz::new(24_000.0);
        near(format!("{weighting:?}, 0 Hz to 24 kHz"), Decibels::from_power_ratio(ratio).db(), want, 0.006);
    }
    // Against 100 000 midpoints, for a band that begins and ends inside third-octaves.
    for weighting in [Weighting::A, Weighting::C, Weighting::Itu468Rms] {
        let (low, high, steps) = (400.0, 12_345.0, 100_000);
        let step = (high - low) / f64::from(steps);
        let sum: f64 = (0..steps)
            .map(|i| weighting.power_gain(Hertz::new(low + step * (f64::from(i) + 0.5))) * step)
            .sum();
        let got = effective_bandwidth(weighting, band(low, high)).hertz();
        near(format!("{weighting:?}, 400 Hz to 12.345 kHz, ratio"), got / sum, 1.0, 1e-6);
    }
}

// A density and the level it reads undo each other, whatever the weighting and band.
#[test]
fn density_and_level_undo_each_other() {
    for weighting in
        [Weighting::Flat, Weighting::A, Weighting::C, Weighting::Itu468QuasiPeak, Weighting::Itu468Rms]
    {
        for band in [None, Some((Hertz::new(22.0), Hertz::new(22_000.0)))] {
            let limit = thermal_limit(Ohms::new(200.0), Kelvin::ROOM, weighting, band);
            let got = white_noise_density(limit, weighting, band).volts_per_root_hertz() * 1e9;
            // thermal_noise.csv: 200 ohm at 293.15 K.
            near(format!("200 ohm, {weighting:?}, {band:?}, in nV/√Hz"), got, 1.79942, 6e-6);
        }
    }
}
