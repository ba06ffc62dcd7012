#![cfg(test)]
//! Resistive networks in closed form: dividers and sums of squares, worked out in `networks` with plain algebra, against the
//! engine. Sources: Ohm's law; Nyquist 1928 for thermal noise; IEC 61672-1:2013 for A; Lipshitz, Wannamaker and Vanderkooy 1992
//! for dither; Motchenbacher and Connelly 1993 for en and in (formulas from memory).

#![allow(clippy::disallowed_methods, reason = "the check must not lean on the mathematics of what it checks")]

mod independent;
mod networks;

use gainsay_plan::network::{AmplifierNoise, Junction};
use gainsay_units::{Farads, Henries, Hertz, Ohms};
use independent::{ROOM_KELVIN, at, near, thermal, volts_squared};
use networks::{closed_form, networks};

/// How far engine and closed form may differ, in dB.
const TOLERANCE: f64 = 0.004;

#[test]
fn every_stage_of_every_resistive_network() {
    let resistive: Vec<_> = networks().into_iter().filter(networks::Network::is_resistive).collect();
    assert!(resistive.len() >= 9, "only {} networks are resistive", resistive.len());
    for network in resistive {
        let name = network.name;
        let stages = network.chain().stages(network.setting());
        for closed in closed_form(&network) {
            let stage = at(&stages, closed.stage);
            let what = |which: &str| format!("{name}, {}, {which}", closed.stage.words());
            near(what("loud level"), stage.loud, closed.loud, TOLERANCE);
            near(what("quiet level"), stage.quiet, closed.loud - 30.0, TOLERANCE);
            let crest = if network.chain().origin_is_output() { 14.0 } else { 12.0 };
            near(what("peak"), stage.peak, closed.loud + crest - independent::sine_crest(), TOLERANCE);
            near(what("noise"), stage.noise_flat(), closed.flat(), TOLERANCE);
            near(what("noise A-weighted"), stage.noise_a(), closed.a_weighted(), TOLERANCE);
            // Every contributor by itself, however small, and no others.
            for contribution in &stage.noise {
                let density: f64 = closed
                    .noise
                    .iter()
                    .filter(|(contributor, _)| *contributor == contribution.contributor)
                    .map(|(_, density)| density)
                    .sum();
                let part = |which: &str| what(&format!("{} of {}", which, contribution.contributor.words()));
                near(
                    part("noise"),
                    independent::db(contribution.flat),
                    independent::db(density * 19_980.0),
                    TOLERANCE,
                );
                near(
                    part("A-weighted noise"),
                    independent::db(contribution.a_weighted),
                    independent::db(density * independent::a_bandwidth()),
                    TOLERANCE,
                );
            }
            let known = |c| stage.noise.iter().any(|contribution| contribution.contributor == c);
            for (contributor, _) in &closed.noise {
                assert!(known(*contributor), "{}", what(&format!("no noise of {}", contributor.words())));
            }
        }
    }
}

trait Ends {
    fn origin_is_output(&self) -> bool;
}

impl Ends for gainsay_plan::Chain {
    fn origin_is_output(&self) -> bool {
        matches!(self.origin, gainsay_plan::chain::Origination::Output { .. })
    }
}

// The resonance of a pickup's inductance with its cable: f = 1/(2π√(LC)), where |H|² is 1/((R·G)² + …) by the formula of a
// loaded series circuit (any textbook of alternating currents; from memory). 10 kΩ, 3 H, 500 pF into 1 MΩ: 4109 Hz.
#[test]
fn resonance_of_a_pickup() {
    let (r, l, c, load) = (10_000.0_f64, 3.0_f64, 500e-12_f64, 1e6_f64);
    let junction = Junction {
        source_resistance: Ohms::new(r),
        source_inductance: Henries::new(l),
        capacitance: Farads::new(c),
        input_resistance: Ohms::new(load),
        phantom_feeds: false,
    };
    let resonance = 1.0 / (2.0 * std::f64::consts::PI * (l * c).sqrt());
    near("resonance in hertz", resonance, 4_109.4, 0.1);
    for hz in [20.0, 1_000.0, resonance, 10_000.0, 20_000.0] {
        // Complex arithmetic instead: Z of the load in parallel with C, over the sum with R + jωL.
        let w = 2.0 * std::f64::consts::PI * hz;
        let (a, b) = (1.0 / load, w * c);
        let (load_re, load_im) = (a / (a * a + b * b), -b / (a * a + b * b));
        let (sum_re, sum_im) = (r + load_re, w * l + load_im);
        let norm = |re: f64, im: f64| re * re + im * im;
        let h = norm(load_re, load_im) / norm(sum_re, sum_im);
        let z = norm(r, w * l) * norm(load_re, load_im) / norm(sum_re, sum_im);
        let got = junction.at(Hertz::new(hz));
        near(format!("|H|² at {hz:.0} Hz, in dB"), independent::db(got.power), independent::db(h), 1e-6);
        near(
            format!("|Z|² at {hz:.0} Hz, in dB"),
            independent::db(got.impedance_squared),
            independent::db(z),
            1e-6,
        );
    }
}

// Two EINs at two sources give back the densities from which they were made, exactly.
#[test]
fn two_eins_give_back_their_densities() {
    for (nanovolts, picoamperes) in [(1.0, 2.0), (3.0, 1.0), (0.8, 0.5), (10.0, 4.0)] {
        let (voltage, current) = ((nanovolts * 1e-9_f64).powi(2), (picoamperes * 1e-12_f64).powi(2));
        let density = |source: f64| voltage + current * source * source + thermal(source, ROOM_KELVIN);
        for (first, second) in [(150.0, 600.0), (0.0, 1_000.0), (600.0, 50.0), (150.0, 10_000.0)] {
            let noise = AmplifierNoise::from_two_ein(
                (density(first), Ohms::new(first)),
                (density(second), Ohms::new(second)),
            );
            let what = |which: &str| {
                format!("{nanovolts} nV, {picoamperes} pA at {first} and {second} ohm: {which}")
            };
            near(what("voltage"), noise.voltage.sqrt() * 1e9, nanovolts, 1e-6);
            near(what("current"), noise.current.sqrt() * 1e12, picoamperes, 1e-6);
        }
    }
}

// One EIN and its current noise give back the EIN with the source at which it was stated.
#[test]
fn one_ein_gives_back_itself() {
    for ein in [-130.5, -128.0, -124.0, -118.0] {
        for source in [0.0, 50.0, 150.0] {
            for picoamperes in [0.02, 1.5, 2.0, 50.0] {
                let density = volts_squared(ein) / 19_980.0;
                let current = (picoamperes * 1e-12_f64).powi(2);
                let noise = AmplifierNoise::from_one_ein(density, Ohms::new(source), current);
                let back = noise.voltage + noise.current * source * source + thermal(source, ROOM_KELVIN);
                let what = format!("EIN {ein} dBu, {source} ohm, {picoamperes} pA");
                near(&what, independent::db(back / density), 0.0, 1e-9);
                assert!(noise.voltage >= 0.0 && noise.current >= 0.0, "{what}: {noise:?}");
            }
        }
    }
}

// The built-in electrical sources state their own noise A-weighted; it reads that, A-weighted, and 2.05 dB more without
// (white noise in 20 Hz to 20 kHz, IEC 61672-1:2013).
#[test]
fn an_outputs_own_noise_reads_what_is_stated() {
    for (kind, a_weighted) in [
        ("keyboard line output", -88.0),
        ("electric guitar direct", -100.0),
        ("active bass direct", -90.0),
        ("electro-acoustic instrument direct", -90.0),
    ] {
        let text = format!(
            "[[source]]\nname = \"A\"\nkind = \"{kind}\"\n[[owned]]\ndevice = \"desk-interface-two-inputs\"\n"
        );
        let case = independent::case(&[("case.toml", &text)]);
        let (chain, _) = gainsay_plan::chain_of(&case, 0).unwrap().unwrap();
        let stages = chain.stages(gainsay_plan::stages::Setting::default());
        let output = at(&stages, gainsay_plan::stages::Stage::Microphone);
        near(format!("{kind}: noise in dBu A-weighted"), output.noise_a(), a_weighted, 0.001);
        near(format!("{kind}: noise in dBu"), output.noise_flat(), a_weighted + 2.05, 0.005);
    }
}
