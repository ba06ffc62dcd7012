#![cfg(test)]
//! What everyone in the trade knows. Every fact here is common practice, no source, unless it says otherwise; the arithmetic
//! beside it stands on its own.

#![allow(clippy::disallowed_methods, reason = "the check must not lean on the mathematics of what it checks")]

mod independent;

use gainsay_folder::demo;
use gainsay_gear::{Catalogue, DeviceType};
use gainsay_plan::stages::{Contributor, Setting, Stage};
use gainsay_plan::{Answer, Case, Draws, LevelAnswer, Limit, Options, Verdict, chain_of, check};
use gainsay_units::Decibels;
use independent::{at, case, db, near, power};
use std::path::Path;

const OPTIONS: Options = Options { draws: Draws { count: 2_000, seed: 1 }, stage_intervals: false };

fn answer(case: &Case) -> Answer {
    check(case, OPTIONS).unwrap()
}

fn of<'a>(answer: &'a Answer, source: &str) -> &'a LevelAnswer {
    let source = answer.sources.iter().find(|s| s.name == source).unwrap();
    source.result.as_ref().unwrap()
}

/// Speech of 40 dB range before a moving-coil microphone, into an input whose gain and converter are the test's.
fn speech(
    room: &str,
    gain_range: f64,
    maximum_input: f64,
    ein: &str,
    dynamic_range: f64,
    booster: &str,
) -> Case {
    let text = format!(
        "[session]\npeak_target = \"-3 dBFS\"\n[room]\nnoise = \"{room}\"\n[[source]]\nname = \"Speech\"\nkind = \"speech normal\"\n\
         microphone = \"coil\"\ncable = \"5 m\"\nloud = \"70 dB SPL\"\nquiet = \"30 dB SPL\"\ncrest = \"12 dB\"\n{booster}\n\
         [[owned]]\ndevice = \"box\"\n"
    );
    let coil = "name = \"Coil\"\ntype = \"microphone\"\n[microphone]\ntransducer = \"moving-coil\"\npattern = \"cardioid\"\n\
                phantom = \"ignored\"\nsensitivity = \"1.6 mV/Pa\"\nimpedance = \"200 ohm\"\ninductance = \"0 mH\"\n\
                maximum_spl = \"150 dB SPL\"\n";
    let input = format!(
        "name = \"Box\"\ntype = \"interface\"\n[[microphone_inputs]]\ncount = 2\nphantom = true\ngain_range = \"{gain_range} dB\"\n\
         gain_accuracy = \"0 dB\"\nmaximum_input = \"{maximum_input} dBu\"\nein = \"{ein}\"\ninput_noise_current = \"1.5 pA/√Hz\"\n\
         input_impedance = \"3 kΩ\"\ndynamic_range = \"{dynamic_range} dB (A-weighted)\"\n"
    );
    case(&[("case.toml", &text), ("gear/coil.toml", coil), ("gear/box.toml", &input)])
}

const QUIET_EIN: &str = "-128 dBu (A-weighted, 150 ohm)";

// The same speech recorded with peaks at −10, −20 and −40 dBFS has the same noise floor once it is turned up to equal level,
// where the noise comes from ahead of the converter. How nearly so follows from the converter's share: for peaks at −40 dBFS
// with a converter of 100 dB in a room of 40 dBA, 0.12 dB; with one of 118 dB, in a room of 25 dBA, 0.05 dB.
#[test]
fn a_low_recorded_peak_is_no_fault() {
    for (room, dynamic_range, allowed) in
        [("40 dBA", 100.0, 0.15), ("25 dBA", 118.0, 0.05), ("30 dBA", 112.0, 0.1)]
    {
        // The peak before the gain, from the control's own end; gain ranges then land the peak where it should be.
        let probe = answer(&speech(room, 60.0, 10.0, QUIET_EIN, dynamic_range, ""));
        let peak_at_60 = of(&probe, "Speech").peak_dbfs.median;
        let mut reference: Option<f64> = None;
        for wanted in [-10.0, -20.0, -40.0] {
            let range = 60.0 + wanted - peak_at_60;
            let answer = answer(&speech(room, range, 10.0, QUIET_EIN, dynamic_range, ""));
            let speech = of(&answer, "Speech");
            let what = |which: &str| {
                format!("room {room}, converter {dynamic_range} dB, peak at {wanted} dBFS: {which}")
            };
            near(what("peak in dBFS"), speech.peak_dbfs.median, wanted, 0.01);
            // The range of the speech is what it was.
            let peak_to_quiet = speech.peak_dbfs.median - speech.quiet_dbfs.median;
            near(
                what("peak over quietest passage in dB"),
                peak_to_quiet,
                40.0 + 12.0 - independent::sine_crest(),
                1e-6,
            );
            // Turned up by as much as is missing, noise and speech go up together.
            let turned_up = speech.noise_dbfs_a.median - wanted;
            let first = *reference.get_or_insert(turned_up);
            near(what("noise re the first, turned up to the same peak, dB"), turned_up, first, allowed);
            // And the first itself is not ruled by the converter.
            let converter: f64 = speech
                .noise_shares
                .iter()
                .filter(|s| s.contributor == Contributor::Converter)
                .map(|s| s.mean)
                .sum();
            assert!(converter < 0.05, "{}", what(&format!("the converter makes {converter} of the noise")));
            let reach = if wanted < -3.0 - 12.0 { Verdict::Tight } else { Verdict::Enough };
            assert_eq!(speech.reach, reach, "{}", what("reach"));
            assert_ne!(
                speech.verdict.max(speech.reach),
                Verdict::Short,
                "{}",
                what("reach alone is never short")
            );
        }
    }
}

// And where the converter does make the noise, a low peak does cost: this check could find the difference above.
#[test]
fn a_low_recorded_peak_costs_with_a_noisy_converter() {
    let turned_up = |range: f64| {
        let answer = answer(&speech("20 dBA", range, 10.0, QUIET_EIN, 80.0, ""));
        let speech = of(&answer, "Speech");
        speech.noise_dbfs_a.median - speech.peak_dbfs.median
    };
    let cost = turned_up(30.0) - turned_up(60.0);
    assert!(
        cost > 10.0,
        "a converter of 80 dB should cost over 10 dB with 30 dB less gain, and costs {cost} dB"
    );
}

// Full-scale sensitivity: 50 dB of gain with +10 dBu reaches full scale at −40 dBu, 60 dB with +24 dBu only at −36 dBu.
#[test]
fn full_scale_sensitivity() {
    for (range, maximum, want) in
        [(50.0, 10.0, -40.0), (60.0, 24.0, -36.0), (70.0, 16.0, -54.0), (40.0, 4.0, -36.0)]
    {
        let case = speech("25 dBA", range, maximum, QUIET_EIN, 110.0, "");
        let answer = answer(&case);
        let got = of(&answer, "Speech").full_scale_sensitivity_dbu.unwrap();
        near(format!("{range} dB and {maximum} dBu: full scale at, dBu"), got, want, 1e-9);
        // A sine at that level at the terminals is one at 0 dBFS in the file.
        let (chain, _) = chain_of(&case, 0).unwrap().unwrap();
        let stages =
            chain.stages(Setting { above_least: Decibels::new(range), pad: false, microphone_pad: false });
        let (input, file) = (at(&stages, Stage::PreampIn), at(&stages, Stage::File));
        near(
            format!("{range} dB and {maximum} dBu: dBu that read 0 dBFS"),
            input.peak - file.peak,
            want,
            1e-9,
        );
    }
}

// Boosters of the catalogue raise the recorded level by about what they call themselves: their gain, less what the line
// loads. Closed form: input divider of the booster for that of the preamp, and its output into preamp and feeds.
#[test]
fn boosters_raise_the_level_by_their_gain() {
    let catalogue = Catalogue::embedded();
    let file_level = |booster: &str| {
        let case = speech("25 dBA", 30.0, 10.0, QUIET_EIN, 110.0, booster);
        let (chain, _) = chain_of(&case, 0).unwrap().unwrap();
        at(
            &chain.stages(Setting { above_least: Decibels::new(30.0), pad: false, microphone_pad: false }),
            Stage::File,
        )
        .loud
    };
    let without = file_level("");
    let mut seen = 0;
    for device in catalogue.devices(DeviceType::Booster) {
        let model = device.booster().unwrap();
        let figure = |stated: Option<f64>| stated.unwrap_or_else(|| panic!("{} lacks a figure", device.name));
        let gain = figure(model.gain.as_ref().and_then(|s| s.figure()).map(|f| f.value.db()));
        let input = figure(model.input_impedance.as_ref().and_then(|s| s.figure()).map(|f| f.value.ohms()));
        let output = figure(model.output_impedance.as_ref().and_then(|s| s.figure()).map(|f| f.value.ohms()));
        let raised = file_level(&format!("booster = \"{}\"", device.id)) - without;
        let loaded = 3_000.0 * 13_620.0 / 16_620.0;
        let divider = |source: f64, load: f64| 2.0 * db(load / (source + load));
        let want = gain + divider(200.0, input) + divider(output, loaded) - divider(200.0, 3_000.0);
        near(format!("{} raises the level by, dB", device.name), raised, want, 0.005);
        near(format!("{} against its own {gain} dB", device.name), raised, gain, 1.5);
        // Those that have 20 or 25 dB in their name.
        for named in [20.0, 25.0] {
            if device.name.contains(&format!("{named} dB")) {
                seen += 1;
                near(format!("{} against its name", device.name), raised, named, 1.5);
            }
        }
    }
    assert!(seen >= 4, "only {seen} boosters call themselves 20 or 25 dB");
}

// A booster ahead of a noisy preamp lowers the noise a lot, ahead of a quiet one little.
#[test]
fn a_booster_helps_a_noisy_preamp() {
    let equivalent = |ein: &str, booster: &str| {
        let answer = answer(&speech("10 dBA", 60.0, 10.0, ein, 112.0, booster));
        of(&answer, "Speech").noise_equivalent_dba.unwrap().median
    };
    let booster = "booster = \"booster-fet-25-db\"";
    let gained = |ein: &str| equivalent(ein, "") - equivalent(ein, booster);
    let noisy = gained("-118 dBu (A-weighted, 150 ohm)");
    let quiet = gained("-131.5 dBu (A-weighted, 150 ohm)");
    // By the EINs alone: −118 dBu A-weighted against the booster's −129 dBu unweighted, which is −131.05 dBu A-weighted.
    assert!(noisy > 6.0 && noisy < 13.05, "ahead of a noisy preamp it lowers the noise by {noisy} dB");
    assert!(quiet.abs() < 1.0, "ahead of a quiet preamp it lowers the noise by {quiet} dB");
}

fn demo_answer(name: &str) -> Answer {
    let case = gainsay_folder::load(&demo::tree(), Path::new(name)).unwrap();
    check(&case, Options::default()).unwrap()
}

// The quintet: an interface with four inputs and a borrowed box of eight take five microphones, the singers in turns at one.
#[test]
fn the_quintet_needs_nothing() {
    let answer = demo_answer("quintet.toml");
    assert_eq!(answer.inputs.needed, 5, "inputs needed");
    assert_eq!(answer.inputs.used, 5, "inputs used");
    assert_eq!(answer.inputs.microphone_inputs, 12, "microphone inputs");
    assert_eq!(answer.inputs.verdict, Verdict::Enough);
    assert_eq!(answer.verdict, Verdict::Enough, "{:?}", answer.answer);
    assert!(answer.answer[0].starts_with("Buy nothing"), "{:?}", answer.answer[0]);
    let inputs: Vec<_> = answer.sources.iter().map(|s| s.input.clone().unwrap()).collect();
    assert_eq!(inputs[4], inputs[5], "the singers share an input");
    let mut distinct = inputs.clone();
    distinct.dedup();
    let on_the_box = distinct.iter().filter(|input| input.starts_with("Borrowed")).count();
    assert_eq!((distinct.len(), on_the_box), (5, 1), "one of five is on the borrowed box: {inputs:?}");
}

// The storyteller: a whisper before an insensitive microphone stays far below the target, and no preamp would gain much: the
// noise is that of room and coil.
#[test]
fn the_storyteller_needs_no_preamp() {
    let answer = demo_answer("storyteller.toml");
    let story = of(&answer, "Storyteller");
    assert!(story.peak_dbfs.median < -12.0 - 12.0, "peak at {} dBFS", story.peak_dbfs.median);
    assert_eq!(story.reach, Verdict::Tight);
    assert_eq!((story.noise, story.verdict), (Verdict::Enough, Verdict::Enough));
    assert!((story.turn_up_afterwards_db - (-12.0 - story.peak_dbfs.median)).abs() < 1e-9);
    assert!((0.0..=1.0).contains(&story.penalty_db.median), "penalty {} dB", story.penalty_db.median);
    let spoken = answer.answer.join(" ");
    let penalty = gainsay_plan::words::interval_in(&story.penalty_db, "dB");
    assert!(spoken.contains(&penalty), "the penalty of {penalty} is not in: {spoken}");
    assert!(spoken.contains("Buy nothing"), "{spoken}");
}

// The same whisper into an old recorder: its preamp is what one hears, and a booster is the cure.
#[test]
fn the_pocket_recorder_is_short() {
    let answer = demo_answer("storyteller-pocket-recorder.toml");
    let story = of(&answer, "Storyteller");
    assert_eq!((story.noise, story.verdict), (Verdict::Short, Verdict::Short));
    assert_eq!(story.limit, Limit::Noise(Contributor::Preamp));
    assert!(story.penalty_db.median > 3.0, "penalty {} dB", story.penalty_db.median);
    let booster = story.with_booster.as_ref().unwrap();
    assert!(booster.noise_change_db < -3.0, "a booster changes the noise by {} dB", booster.noise_change_db);
    assert!(booster.penalty_db.median < story.penalty_db.median - 3.0);
}

// Adding equal powers gives 3 dB, ten times the power 10 dB: what the other facts rest on.
#[test]
fn decibels() {
    near("two equal noises, dB", db(power(-60.0) + power(-60.0)), -56.99, 0.001);
    near("ten, dB", db(10.0 * power(-60.0)), -50.0, 1e-9);
}
