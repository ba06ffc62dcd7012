#![cfg(test)]
//! Thermal noise of passive microphones, and what phantom feeds do to level and noise.

#![allow(clippy::disallowed_methods, reason = "the check must not lean on the mathematics of what it checks")]

mod independent;
mod networks;

use gainsay_plan::network::PHANTOM_FEEDS;
use gainsay_plan::stages::{Contributor, Stage, StageLevels};
use independent::{BOLTZMANN, DBU_SQUARED, a_bandwidth, at, db, integral, near, thermal};
use networks::{BOOSTER, CONDENSER, End, Network, PLAIN, PREAMP, Preamp, Start, coil};

fn part(stage: &StageLevels, contributor: Contributor) -> (f64, f64) {
    stage
        .noise
        .iter()
        .find(|c| c.contributor == contributor)
        .map(|c| (db(c.flat), db(c.a_weighted)))
        .unwrap_or_else(|| panic!("{} has no noise of {}", stage.stage.words(), contributor.words()))
}

fn stages(network: &Network) -> Vec<StageLevels> {
    network.chain().stages(network.setting())
}

fn with_input(ohms: f64) -> End {
    End::Preamp(Preamp { ohms, ..PREAMP })
}

// IEC 61938:2018, P48: 6.8 kΩ in each leg, ±10 % and matched within 0.4 %; the nearest values of the E96 series are 6.81 kΩ.
#[test]
fn feeds_are_two_times_6k8() {
    near("feeds between the legs in ohm", PHANTOM_FEEDS.ohms(), 13_620.0, 1e-9);
    near("feeds re the standard's 2 × 6.8 kΩ, ratio", PHANTOM_FEEDS.ohms() / 13_600.0, 1.0, 0.004);
}

// Loss of level by a load, 20 lg(RL/(RS + RL)): 150 Ω into 1.5 kΩ −0.83 dB, 200 Ω into 1 kΩ −1.58 dB, 150 Ω into 1 kΩ
// −1.21 dB, a load of five times the source (IEC 61938's least for microphones) −1.58 dB; computed outside this project.
#[test]
fn loading_without_phantom() {
    for (ohms, load, loss) in
        [(150.0, 1_500.0, -0.83), (200.0, 1_000.0, -1.58), (150.0, 1_000.0, -1.21), (600.0, 3_000.0, -1.58)]
    {
        let stages = stages(&Network { start: coil(ohms, 0.0), end: with_input(load), ..PLAIN });
        let got = at(&stages, Stage::PreampIn).loud - at(&stages, Stage::Microphone).loud;
        near(format!("{ohms} ohm into {load} ohm, loss in dB"), got, loss, 0.005);
    }
}

// The same with 13.62 kΩ more across the legs. By hand, 200 Ω into 3 kΩ: 3000·13620/16620 = 2458.48 Ω, and
// 20 lg(2458.48/2658.48) = −0.6793 dB against 20 lg(3000/3200) = −0.5606 dB without.
#[test]
fn phantom_feeds_load_the_microphone() {
    let loss = |ohms: f64, load: f64, phantom: bool| {
        let stages = stages(&Network { start: coil(ohms, 0.0), end: with_input(load), phantom, ..PLAIN });
        at(&stages, Stage::PreampIn).loud - at(&stages, Stage::Microphone).loud
    };
    near("200 ohm into 3 kilohms without, dB", loss(200.0, 3_000.0, false), -0.5606, 0.0001);
    near("200 ohm into 3 kilohms with feeds, dB", loss(200.0, 3_000.0, true), -0.6793, 0.0001);
    for ohms in [50.0_f64, 150.0, 300.0, 600.0, 2_200.0] {
        for load in [1_200.0_f64, 3_000.0, 10_000.0] {
            let across = load * 13_620.0 / (load + 13_620.0);
            let want = db((across / (ohms + across)).powi(2));
            near(format!("{ohms} ohm into {load} ohm with feeds, dB"), loss(ohms, load, true), want, 0.001);
            let feeds_alone = loss(ohms, load, true) - loss(ohms, load, false);
            assert!(
                feeds_alone < 0.0,
                "{ohms} ohm into {load} ohm: feeds change the level by {feeds_alone:+} dB"
            );
        }
    }
}

// √(4kT/13.62 kΩ) is 1.090 pA/√Hz at 20 °C. In parallel with a source of R the feeds make R/13.62 kΩ of its own thermal noise
// power, whatever the load: both meet the same divider.
#[test]
fn noise_of_the_feeds() {
    near("current in pA/√Hz", (4.0 * BOLTZMANN * 293.15 / 13_620.0).sqrt() * 1e12, 1.090, 0.0005);
    for ohms in [50.0, 150.0, 200.0, 600.0, 10_000.0] {
        for load in [1_000.0, 3_000.0, 1e6] {
            let stages =
                stages(&Network { start: coil(ohms, 0.0), end: with_input(load), phantom: true, ..PLAIN });
            let input = at(&stages, Stage::PreampIn);
            let (feeds, feeds_a) = part(input, Contributor::PhantomFeeds);
            let (own, own_a) = part(input, Contributor::Microphone);
            let want = db(ohms / 13_620.0);
            near(
                format!("{ohms} ohm, {load} ohm: feeds over the source's own noise, dB"),
                feeds - own,
                want,
                1e-6,
            );
            near(format!("{ohms} ohm, {load} ohm: the same A-weighted, dB"), feeds_a - own_a, want, 1e-6);
        }
    }
}

// Nyquist 1928: everything at one temperature, the noise at any pair of terminals is 4kT·Re(Z). Source, coil, cable and feeds,
// with an input of 1 GΩ that takes next to nothing.
#[test]
fn noise_is_that_of_the_real_part() {
    let nyquist = |ohms: f64, henries: f64, nanofarads: f64, phantom: bool, hz: f64| {
        let w = 2.0 * std::f64::consts::PI * hz;
        // Admittance of the source branch, of the cable, of the feeds and of the input.
        let branch = ohms * ohms + (w * henries).powi(2);
        let re = ohms / branch + if phantom { 1.0 / 13_620.0 } else { 0.0 } + 1e-9;
        let im = -w * henries / branch + w * nanofarads * 1e-9;
        re / (re * re + im * im)
    };
    for (ohms, henries, nanofarads, phantom) in [
        (200.0, 0.0, 0.0, true),
        (150.0, 1e-3, 5.0, false),
        (300.0, 1e-3, 2.0, true),
        (10_000.0, 3.0, 0.5, false),
        (10_000.0, 0.0, 5.0, true),
    ] {
        let network =
            Network { start: coil(ohms, henries), nanofarads, phantom, end: with_input(1e9), ..PLAIN };
        let stages = stages(&network);
        let input = at(&stages, Stage::PreampIn);
        let sum: f64 = input
            .noise
            .iter()
            .filter(|c| matches!(c.contributor, Contributor::Microphone | Contributor::PhantomFeeds))
            .map(|c| c.flat)
            .sum();
        let real = integral(2000, |hz| nyquist(ohms, henries, nanofarads, phantom, hz));
        let want = thermal(1.0, network.kelvin()) * real / DBU_SQUARED;
        let what = format!("{ohms} ohm, {henries} H, {nanofarads} nF, feeds {phantom}: thermal noise in dBu");
        // The resonance of a pickup without load is sharp: four nodes in a third of an octave miss a little of it.
        near(what, db(sum), db(want), 0.02);
    }
}

// Nyquist 1928, √(4kTRB) in 19 980 Hz, in dBu at 290 K (16.85 °C), 293.15 K (20 °C) and 300 K (26.85 °C), computed outside
// this project to 0.001 dB.
#[test]
fn thermal_noise_of_passive_microphones() {
    for (ohms, at_290, at_293, at_300) in [
        (50.0, -135.740, -135.694, -135.593),
        (150.0, -130.969, -130.922, -130.822),
        (200.0, -129.720, -129.673, -129.573),
        (250.0, -128.751, -128.704, -128.604),
        (300.0, -127.959, -127.912, -127.812),
        (600.0, -124.949, -124.902, -124.801),
        (2_200.0, -119.306, -119.259, -119.159),
        (10_000.0, -112.730, -112.683, -112.583),
    ] {
        for (celsius, want) in [(16.85, at_290), (20.0, at_293), (26.85, at_300)] {
            let stages = stages(&Network { start: coil(ohms, 1e-3), celsius, ..PLAIN });
            let (flat, a) = part(at(&stages, Stage::Microphone), Contributor::Microphone);
            near(format!("{ohms} ohm at {celsius} °C in dBu"), flat, want, 0.001);
            let a_want = want + db(a_bandwidth() / 19_980.0);
            near(format!("{ohms} ohm at {celsius} °C in dBu A-weighted"), a, a_want, 0.002);
        }
    }
}

// As a sound level: 1.6 mV/Pa and 200 Ω at 20 °C. By hand: −129.673 dBu − 2.05 dB is −131.72 dBu A-weighted, −133.94 dBV; the
// sensitivity is −55.92 dBV/Pa; −78.02 dB re 1 Pa, and 1 Pa is 93.98 dB SPL: 15.96 dBA.
#[test]
fn equivalent_level_of_a_passive_microphone() {
    let network = Network { start: coil(200.0, 0.0), ..PLAIN };
    let stages = stages(&network);
    let end = at(&stages, Stage::Microphone);
    let air = at(&stages, Stage::Air);
    let (_, a) = part(end, Contributor::Microphone);
    near("equivalent level in dBA", a - (end.loud - air.loud), 15.96, 0.01);
}

// An active microphone's noise is what its sheet says and not that of its output resistance. By hand, 1 Pa being 93.979 dB SPL
// and 1 V 2.218 dBu: 20 mV/Pa (−33.979 dBV/Pa) and 14 dBA give 14 − 93.979 − 33.979 + 2.218 = −111.740 dBu A-weighted, 10 mV/Pa
// and 7 dBA 7 − 93.979 − 40 + 2.218 = −124.761 dBu. (With 94 dB for 1 Pa, as sheets round it, 0.02 dB less.)
#[test]
fn active_microphones_have_the_noise_of_their_sheet() {
    for (millivolts_per_pascal, level, want) in [(20.0, 14.0, -111.740), (10.0, 7.0, -124.761)] {
        for ohms in [50.0, 200.0, 1_000.0] {
            let start = Start::Microphone {
                millivolts_per_pascal,
                self_noise: Some(level),
                ohms,
                henries: 0.0,
                directivity: 0.0,
                loud: 80.0,
                room: 20.0,
            };
            let stages = stages(&Network { start, phantom: true, ..PLAIN });
            let (_, a) = part(at(&stages, Stage::Microphone), Contributor::Microphone);
            near(
                format!("{millivolts_per_pascal} mV/Pa, {level} dBA, {ohms} ohm, in dBu A-weighted"),
                a,
                want,
                0.006,
            );
        }
    }
}

// Phantom power is on where something needs it: a condenser, or a booster in the line; then its feeds are at the end of the
// cable and not at the microphone (common practice, no source).
#[test]
fn feeds_are_where_phantom_power_is() {
    let has_feeds = |network: &Network, stage: Stage| {
        let stages = stages(network);
        at(&stages, stage).noise.iter().any(|c| c.contributor == Contributor::PhantomFeeds)
    };
    assert!(has_feeds(&Network { start: CONDENSER, phantom: true, ..PLAIN }, Stage::PreampIn));
    assert!(!has_feeds(&Network { start: coil(200.0, 0.0), ..PLAIN }, Stage::File));
    let boosted = Network { start: coil(200.0, 0.0), phantom: true, booster: Some(BOOSTER), ..PLAIN };
    assert!(!has_feeds(&boosted, Stage::BoosterOut));
    assert!(has_feeds(&boosted, Stage::PreampIn));
    let stages = stages(&boosted);
    let loss = at(&stages, Stage::BoosterIn).loud - at(&stages, Stage::Microphone).loud;
    near(
        "200 ohm into the booster's 30 kilohms, no feeds, dB",
        loss,
        db((30_000.0_f64 / 30_200.0).powi(2)),
        1e-6,
    );
}
