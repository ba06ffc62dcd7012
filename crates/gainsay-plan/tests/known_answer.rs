#![cfg(test)]
//! Cases worked out by hand, and the rules by which gain and verdicts are chosen.

#![allow(clippy::disallowed_methods, reason = "the check must not lean on the mathematics of what it checks")]

mod independent;

use gainsay_plan::stages::{Contributor, Stage};
use gainsay_plan::{Ceiling, Draws, LevelAnswer, Limit, Options, Verdict, check};
use independent::{
    BOLTZMANN, DBU_SQUARED, a_bandwidth, a_weighting, at, case, db, near, power, sine_crest, thermal,
    third_octaves, volts_squared,
};

/// A case of one source, from what differs from the usual.
#[derive(Clone)]
struct Setup {
    session: &'static str,
    thresholds: String,
    room: &'static str,
    loud: String,
    crest: &'static str,
    microphone: &'static str,
    input: String,
}

const COIL: &str = "transducer = \"moving-coil\"\nphantom = \"ignored\"\nsensitivity = \"1.6 mV/Pa\"\nimpedance = \"200 ohm\"\n\
                    maximum_spl = \"150 dB SPL\"\n";
const CONDENSER: &str = "transducer = \"condenser\"\nphantom = \"required\"\nsensitivity = \"20 mV/Pa\"\nimpedance = \"200 ohm\"\n\
                         self_noise = \"14 dBA\"\nmaximum_spl = \"134 dB SPL\"\n";

fn input(range: f64, maximum: f64, ein: f64, dynamic_range: f64, more: &str) -> String {
    format!(
        "gain_range = \"{range} dB\"\nmaximum_input = \"{maximum} dBu\"\nein = \"{ein} dBu (A-weighted, 150 ohm)\"\n\
         input_impedance = \"3 kΩ\"\ndynamic_range = \"{dynamic_range} dB (A-weighted)\"\n{more}"
    )
}

fn setup() -> Setup {
    Setup {
        session: "",
        thresholds: String::new(),
        room: "25 dBA",
        loud: "64 dB SPL".to_owned(),
        crest: "12 dB",
        microphone: COIL,
        input: input(60.0, 4.0, -118.0, 96.0, ""),
    }
}

fn result(setup: &Setup, draws: usize) -> LevelAnswer {
    let text = format!(
        "[session]\n{}\n[thresholds]\n{}\n[room]\nnoise = \"{}\"\n[[source]]\nname = \"A\"\nkind = \"speech normal\"\n\
         microphone = \"microphone\"\ndistance = \"0.3 m\"\nloud = \"{}\"\nquiet = \"40 dB SPL\"\ncrest = \"{}\"\ncable = \"5 m\"\n\
         cable_kind = \"cable\"\n[[owned]]\ndevice = \"box\"\n",
        setup.session, setup.thresholds, setup.room, setup.loud, setup.crest
    );
    let microphone = format!(
        "name = \"Microphone\"\ntype = \"microphone\"\n[microphone]\npattern = \"cardioid\"\ninductance = \"0 mH\"\n{}",
        setup.microphone
    );
    let device = format!(
        "name = \"Box\"\ntype = \"interface\"\n[[microphone_inputs]]\ncount = 1\nphantom = true\nleast_gain = \"0 dB\"\n\
         gain_accuracy = \"0 dB\"\ninput_noise_current = \"1.5 pA/√Hz\"\n{}",
        setup.input
    );
    let cable = "name = \"Cable\"\ntype = \"cable\"\n[cable]\ncapacitance = \"0 pF/m\"\n";
    let case = case(&[
        ("case.toml", &text),
        ("gear/microphone.toml", &microphone),
        ("gear/box.toml", &device),
        ("gear/cable.toml", cable),
    ]);
    let options = Options { draws: Draws { count: draws, seed: 1 }, stage_intervals: false };
    check(&case, options).unwrap().sources.remove(0).result.unwrap()
}

/// Octave levels of NR curves, L = a + b·N at 31.5 Hz to 8 kHz (ISO/R 1996:1971).
const NR: [(f64, f64); 9] = [
    (55.4, 0.681),
    (35.5, 0.790),
    (22.0, 0.870),
    (12.0, 0.930),
    (4.8, 0.974),
    (0.0, 1.000),
    (-3.5, 1.015),
    (-6.1, 1.025),
    (-8.0, 1.030),
];

/// Powers re 20 µPa squared in third-octaves from 20 Hz: inside an octave the level falls towards the neighbouring octaves
/// along a straight line, and the three thirds have the octave's power; beyond the tabulated octaves the line goes on.
fn nr_powers(number: f64) -> Vec<f64> {
    let table: Vec<f64> = NR.iter().map(|(a, b)| a + b * number).collect();
    let octave = |index: i32| -> f64 {
        match index {
            0..=8 => table[index as usize],
            9.. => table[8] + f64::from(index - 8) * (table[8] - table[7]),
            _ => table[0] + f64::from(-index) * (table[0] - table[1]),
        }
    };
    (0..31)
        .map(|third| {
            // The 20 Hz band is the upper third of the octave of 16 Hz.
            let (index, place) = ((third + 2) / 3 - 1, (third + 2) % 3);
            let shape = [
                power((octave(index - 1) - octave(index)) / 3.0),
                1.0,
                power((octave(index + 1) - octave(index)) / 3.0),
            ];
            power(octave(index)) * shape[place as usize] / shape.iter().sum::<f64>()
        })
        .collect()
}

/// Mean of the A-weighting over a band, for white noise.
fn a_mean((lower, _, upper): (f64, f64, f64)) -> f64 {
    let steps = 200;
    (0..steps)
        .map(|i| a_weighting(lower + (upper - lower) * (f64::from(i) + 0.5) / f64::from(steps)))
        .sum::<f64>()
        / f64::from(steps)
}

/// Threshold of hearing, ISO 389-7:2019, free field, frontal, 20 Hz to 16 kHz; 20 kHz as 18 kHz.
const THRESHOLD: [f64; 31] = [
    78.1, 68.7, 59.5, 51.1, 44.0, 37.5, 31.5, 26.5, 22.1, 17.9, 14.4, 11.4, 8.6, 6.2, 4.4, 3.0, 2.2, 2.4,
    3.5, 1.7, -1.3, -4.2, -6.0, -5.4, -1.5, 6.0, 12.6, 13.9, 12.3, 40.2, 70.4,
];

/// The rise of the listener's own floor, hearing and NR 15, in the worst band by replayed noise: white with this power in each
/// hertz, and the room's in each band, both re 20 µPa squared.
fn worst_rise(white: f64, room: &[f64]) -> f64 {
    let floor = nr_powers(15.0);
    third_octaves()
        .iter()
        .zip(room)
        .zip(THRESHOLD.iter().zip(&floor))
        .map(|(((lower, _, upper), room), (threshold, floor))| {
            db(1.0 + (white * (upper - lower) + room) / (power(*threshold) + floor))
        })
        .fold(0.0, f64::max)
}

/// The room's noise of a dBA figure in each band: the NR curve that has it, found by halving.
fn room_powers(dba: f64) -> Vec<f64> {
    let a: Vec<f64> = third_octaves().into_iter().map(a_mean).collect();
    let level = |number: f64| db(nr_powers(number).iter().zip(&a).map(|(p, a)| p * a).sum());
    let (mut low, mut high) = (-100.0, 100.0);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if level(middle) < dba { low = middle } else { high = middle }
    }
    nr_powers(low)
}

// A whisper-like passage before a moving coil into an old recorder, all figures exact. 1 Pa is 93.979 dB SPL, 1 V 2.218 dBu.
//
//   loud                64 − 93.979 − 55.918 (1.6 mV/Pa) + 2.218        = −83.679 dBu open circuit
//   200 Ω into 3 kΩ     20 lg(3000/3200)                                =  −0.561 dB, so −84.239 dBu at the input
//   peak                12 − 3.010 above it                             = −75.249 dBu
//   gain                −12 − (−75.249 − 4) = 67.25 wanted, 60 there    =  60 dB
//   peak in the file    −75.249 − 4 + 60                                = −19.249 dBFS; 7.249 to turn up
//   room                25 − 4.771 (cardioid) − 93.979 − 55.918 + 2.218 − 0.561 = −128.011 dBu A-weighted
//   coil                −129.673 − 2.05 − 0.561                         = −132.28
//   preamp              −118 dBu in 12 460 Hz less 150 Ω and 1.5 pA: 8.59 nV/√Hz; with 1.5 pA in 187.5 Ω −118.14
//   converter           −96 dBFS less the EIN's −122: −96.011 dBFS      = −152.01
//   all                                                                 = −117.56 dBu, −61.56 dBFS; 30.68 dBA at the microphone
//   room and coil       −126.63; penalty                                =   9.07 dB
//   replay              loud at 80 dB SPL: 16 dB up; short, as that is audible and over 3 dB
#[test]
fn a_whisper_into_an_old_recorder() {
    let got = result(&setup(), 400);
    near("gain in dB", got.gain_db.unwrap(), 60.0, 1e-9);
    near("most gain in dB", got.most_gain_db.unwrap(), 60.0, 1e-9);
    near("full-scale sensitivity in dBu", got.full_scale_sensitivity_dbu.unwrap(), -56.0, 1e-9);
    near("peak in dBFS", got.peak_dbfs.median, -19.249, 0.002);
    near("to turn up in dB", got.turn_up_afterwards_db, 7.249, 0.002);
    near("noise in dBFS A-weighted", got.noise_dbfs_a.median, -61.56, 0.01);
    near("noise as a sound level in dBA", got.noise_equivalent_dba.unwrap().median, 30.68, 0.01);
    near("penalty in dB", got.penalty_db.median, 9.07, 0.01);
    let input = at(&got.stages, Stage::PreampIn);
    for (contributor, want) in
        [(Contributor::Room, -128.011), (Contributor::Microphone, -132.28), (Contributor::Preamp, -118.14)]
    {
        let part = input.noise.iter().find(|c| c.contributor == contributor).unwrap();
        near(format!("noise of {} in dBu A-weighted", contributor.words()), db(part.a_weighted), want, 0.01);
    }
    near("level at the microphone's end in dBu", at(&got.stages, Stage::Microphone).loud, -83.679, 0.001);
    near("level at the input in dBu", input.loud, -84.239, 0.001);

    // The same without rounding, and on to the listener.
    let white_a = |dbu: f64| power(dbu) / a_bandwidth();
    let h: f64 = (3000.0_f64 / 3200.0).powi(2);
    let to_input = db((1.6e-3 * 20e-6_f64).powi(2) / DBU_SQUARED * h);
    let coil = thermal(200.0, 293.15) * h / DBU_SQUARED;
    let current = (1.5e-12_f64).powi(2);
    let voltage = white_a(-118.0) * DBU_SQUARED - thermal(150.0, 293.15) - current * 150.0 * 150.0;
    let preamp = (voltage + current * (187.5_f64).powi(2)) / DBU_SQUARED;
    let full_scale = power(4.0 - 60.0);
    let converter = (power(-96.0) / a_bandwidth() - white_a(-118.0 - 4.0)) * full_scale;
    let dither = (2.0_f64 / 16_777_216.0).powi(2) / 4.0 / 0.5 / 24_000.0 * full_scale;
    // A cardioid takes up a third of diffuse sound (its directivity factor is 3).
    let room = power(25.0 + to_input) / 3.0;
    let ahead = room + coil * a_bandwidth();
    let all = ahead + (preamp + converter + dither) * a_bandwidth();
    near("noise in dBFS A-weighted, unrounded", got.noise_dbfs_a.median, db(all / full_scale), 0.003);
    near("penalty in dB, unrounded", got.penalty_db.median, db(all / ahead), 0.003);
    let share = |wanted: Contributor| got.noise_shares.iter().find(|s| s.contributor == wanted).unwrap().mean;
    near("share of the room", share(Contributor::Room), room / all, 0.0005);
    near("share of the coil", share(Contributor::Microphone), coil * a_bandwidth() / all, 0.0005);
    near("share of the preamp", share(Contributor::Preamp), preamp * a_bandwidth() / all, 0.0005);
    near("share of the converter", share(Contributor::Converter), converter * a_bandwidth() / all, 0.0005);
    near("quiet over noise in dB", got.quiet_above_noise_db.median, 40.0 + to_input - db(all), 0.003);

    // Replay: what is 64 dB SPL at the microphone is 80 at the listener.
    let replay = power(80.0 - (64.0 + to_input));
    let room_there: Vec<f64> = room_powers(25.0).iter().map(|p| p * power(to_input) / 3.0 * replay).collect();
    let rise = worst_rise((coil + preamp + converter + dither) * replay, &room_there);
    near("rise of the listener's floor in dB", got.replay_rise_db.median, rise, 0.02);
    assert!(rise > 1.0, "audible by {rise} dB");
    near("probability that it is heard", got.audible_probability, 1.0, 1e-12);
    assert_eq!((got.noise, got.verdict), (Verdict::Short, Verdict::Short));
    assert_eq!(got.limit, Limit::Noise(Contributor::Preamp));
    assert_eq!((got.reach, got.headroom), (Verdict::Enough, Verdict::Enough));
    near("probabilities of the verdicts", got.verdict_probabilities[2], 1.0, 1e-12);
}

// The same passage 10 dB louder before a condenser into a good interface with steps of 3 dB.
//
//   loud                74 − 93.979 − 33.979 (20 mV/Pa) + 2.218         = −51.740 dBu
//   200 Ω into 3 kΩ and 13.62 kΩ: 2458.5 Ω                              =  −0.679 dB, so −52.420 dBu
//   peak                +8.990                                          = −43.430 dBu
//   gain                −12 + 43.430 + 10 = 41.43, in steps of 3 dB     =  39 dB
//   peak in the file                                                    = −14.430 dBFS
//   room                25 − 4.771 − 93.979 − 33.979 + 2.218 − 0.679    = −106.190 dBu A-weighted
//   microphone          14 − 93.979 − 33.979 + 2.218 − 0.679            = −112.420
//   penalty             a preamp of −128 dBu and a converter of 106 dB add 0.02 dB: enough, whether it is heard or not
#[test]
fn speech_into_a_good_interface() {
    let setup = Setup {
        loud: "74 dB SPL".to_owned(),
        microphone: CONDENSER,
        input: input(50.0, 10.0, -128.0, 106.0, "gain_step = \"3 dB\"\n"),
        ..setup()
    };
    let got = result(&setup, 400);
    near("gain in dB", got.gain_db.unwrap(), 39.0, 1e-9);
    near("peak in dBFS", got.peak_dbfs.median, -14.430, 0.002);
    near("level at the input in dBu", at(&got.stages, Stage::PreampIn).loud, -52.420, 0.001);
    assert!(got.phantom);
    let across = 3_000.0 * 13_620.0 / 16_620.0;
    let h = (across / (200.0 + across)) * (across / (200.0 + across));
    let seen = 200.0 * across / (200.0 + across);
    let to_input = db((20e-3 * 20e-6_f64).powi(2) / DBU_SQUARED * h);
    let room = power(25.0 + to_input) / 3.0;
    let own = power(14.0 + to_input) / a_bandwidth();
    near("room in dBu A-weighted", db(room), -106.190, 0.002);
    near("microphone in dBu A-weighted", db(own * a_bandwidth()), -112.420, 0.002);
    let feeds = 4.0 * BOLTZMANN * 293.15 / 13_620.0 * seen * seen / DBU_SQUARED;
    let current = (1.5e-12_f64).powi(2);
    let voltage = volts_squared(-128.0) / a_bandwidth() - thermal(150.0, 293.15) - current * 150.0 * 150.0;
    let preamp = (voltage + current * seen * seen) / DBU_SQUARED;
    let full_scale = power(10.0 - 39.0);
    let converter = (power(-106.0) - power(-128.0 - 10.0)) / a_bandwidth() * full_scale;
    let ahead = room + own * a_bandwidth();
    let all = ahead + (feeds + preamp + converter) * a_bandwidth();
    near("penalty in dB", got.penalty_db.median, db(all / ahead), 0.003);
    near("penalty in dB, by hand", got.penalty_db.median, 0.02, 0.01);
    near("noise in dBFS A-weighted", got.noise_dbfs_a.median, db(all / full_scale), 0.003);
    let replay = power(80.0 - (74.0 + to_input));
    let room_there: Vec<f64> = room_powers(25.0).iter().map(|p| p * power(to_input) / 3.0 * replay).collect();
    let rise = worst_rise((own + feeds + preamp + converter) * replay, &room_there);
    near("rise of the listener's floor in dB", got.replay_rise_db.median, rise, 0.02);
    assert_eq!((got.noise, got.verdict), (Verdict::Enough, Verdict::Enough));
    assert_eq!(got.limit, Limit::Noise(Contributor::Room));
}

/// Peak in the file at the lowest gain, of the usual setup with this loud level and maximum input: 8.990 dB over
/// `loud − 93.979 − 55.918 + 2.218 − 0.561`.
fn peak_at_least(loud: f64, maximum: f64) -> f64 {
    loud + db((1.6e-3_f64 * 20e-6).powi(2) / DBU_SQUARED) + 2.0 * db(3000.0 / 3200.0) + 12.0
        - sine_crest()
        - maximum
}

// The gain lands the peak on the target where the control is continuous; in steps it does not pass it; at the ends of the range
// it stays there.
#[test]
fn gain_lands_the_peak_on_the_target() {
    for (target, loud) in [(-12.0, 94.0), (-18.0, 94.0), (-6.0, 100.0), (-12.0, 110.0)] {
        let wanted = target - peak_at_least(loud, 4.0);
        let with = |more: &str| Setup {
            session: match target {
                -18.0 => "peak_target = \"-18 dBFS\"",
                -6.0 => "peak_target = \"-6 dBFS\"",
                _ => "",
            },
            loud: format!("{loud} dB SPL"),
            input: input(60.0, 4.0, -128.0, 110.0, more),
            ..setup()
        };
        let what = |which: &str| format!("target {target} dBFS, {loud} dB SPL, {which}");
        let continuous = result(&with(""), 400);
        near(what("continuous: peak in dBFS"), continuous.peak_dbfs.median, target, 1e-6);
        near(what("continuous: gain in dB"), continuous.gain_db.unwrap(), wanted, 0.001);
        near(what("continuous: to turn up in dB"), continuous.turn_up_afterwards_db, 0.0, 1e-6);
        for step in [1.0, 2.5, 6.0] {
            let stepped = result(&with(&format!("gain_step = \"{step} dB\"\n")), 400);
            near(
                what(&format!("steps of {step} dB: gain")),
                stepped.gain_db.unwrap(),
                (wanted / step).floor() * step,
                1e-6,
            );
            assert!(stepped.peak_dbfs.median <= target + 1e-6 && stepped.peak_dbfs.median > target - step);
        }
    }
    // A step that the wanted gain meets exactly is taken: 94 dB SPL so chosen that 30 dB are wanted.
    let loud = 94.0 + (-12.0 - peak_at_least(94.0, 4.0) - 30.0);
    let exact = Setup {
        loud: format!("{loud:.9} dB SPL"),
        input: input(60.0, 4.0, -128.0, 110.0, "gain_step = \"1 dB\"\n"),
        ..setup()
    };
    near("exactly 30 dB in steps of 1 dB", result(&exact, 400).gain_db.unwrap(), 30.0, 1e-9);
    // The lowest gain, where even that is above the target.
    let hot = Setup { loud: "140 dB SPL".to_owned(), input: input(60.0, 10.0, -128.0, 110.0, ""), ..setup() };
    let hot = result(&hot, 400);
    near("gain of a hot source", hot.gain_db.unwrap(), 0.0, 1e-9);
    near("peak of a hot source in dBFS", hot.peak_dbfs.median, peak_at_least(140.0, 10.0), 0.001);
}

// With a level that may be anywhere within ±6 dB, the gain is the largest with under 1 % probability of passing full scale:
// the 99 % quantile, 5.88 dB above the middle, meets 0 dBFS, so that the median stays at −5.88 dBFS though −3 was wanted.
#[test]
fn gain_keeps_the_probability_of_clipping_under_one_percent() {
    let uncertain = Setup {
        session: "peak_target = \"-3 dBFS\"",
        loud: "94 dB SPL ± 6 dB".to_owned(),
        input: input(60.0, 4.0, -128.0, 110.0, ""),
        ..setup()
    };
    let got = result(&uncertain, 20_000);
    near("median of the peak in dBFS", got.peak_dbfs.median, -5.88, 0.15);
    assert!(got.clipping_probability < 0.01, "clips with {}", got.clipping_probability);
    assert!(
        got.clipping_probability > 0.009,
        "the gain could be higher: clips with {}",
        got.clipping_probability
    );
    assert_eq!(got.headroom, Verdict::Enough);
    // A case that allows 5 %: the 95 % quantile is 5.4 dB above the middle.
    let bolder = Setup { thresholds: "clipping_enough = \"5 %\"".to_owned(), ..uncertain.clone() };
    let bolder = result(&bolder, 20_000);
    near("median of the peak in dBFS with 5 %", bolder.peak_dbfs.median, -5.4, 0.15);
    assert!(
        (0.045..0.05).contains(&bolder.clipping_probability),
        "clips with {}",
        bolder.clipping_probability
    );
    assert_eq!(bolder.headroom, Verdict::Enough);
    // A target that is far enough down is met.
    let usual = Setup { session: "", ..uncertain };
    near("median of the peak in dBFS", result(&usual, 20_000).peak_dbfs.median, -12.0, 0.15);
}

// The pad comes in where even the lowest gain would clip too often, and the gain then lands the peak again.
#[test]
fn the_pad_comes_in_where_the_lowest_gain_clips() {
    let hot = |maximum: f64, pad: &str| Setup {
        loud: "140 dB SPL".to_owned(),
        input: input(60.0, maximum, -128.0, 110.0, pad),
        ..setup()
    };
    let peak = peak_at_least(140.0, 0.0);
    let pad = "pad = \"20 dB\"\n";
    let clipping = result(&hot(peak - 0.5, ""), 400);
    assert_eq!((clipping.headroom, clipping.verdict), (Verdict::Short, Verdict::Short));
    assert_eq!(clipping.limit, Limit::Ceiling(Ceiling::Input));
    near("clips with", clipping.clipping_probability, 1.0, 1e-12);
    let padded = result(&hot(peak - 0.5, pad), 400);
    near("pad in dB", padded.pad_db, 20.0, 1e-9);
    near("peak behind the pad in dBFS", padded.peak_dbfs.median, -12.0, 0.001);
    // 0.5 dB too much, 20 dB off, to −12: gain 7.5 dB.
    near("gain with the pad in dB", padded.gain_db.unwrap(), 7.5, 0.001);
    assert_eq!(padded.headroom, Verdict::Enough);
    assert!(at(&padded.stages, Stage::PreampIn).noise.iter().any(|c| c.contributor == Contributor::Pad));
    // Not where it is not needed.
    let unneeded = result(&hot(peak + 0.5, pad), 400);
    near("pad in dB", unneeded.pad_db, 0.0, 1e-9);
    assert_eq!(unneeded.headroom, Verdict::Enough);
}

// The microphone's own pad likewise, against its maximum sound level of a sine.
#[test]
fn the_microphone_has_a_ceiling_and_a_pad() {
    let loud = |maximum: f64, pad: &'static str| {
        let microphone = format!(
            "transducer = \"condenser\"\nphantom = \"required\"\nsensitivity = \"5 mV/Pa\"\nimpedance = \"200 ohm\"\nself_noise = \
             \"14 dBA\"\nmaximum_spl = \"{maximum} dB SPL\"\n{pad}"
        );
        let setup = Setup {
            loud: "120 dB SPL".to_owned(),
            microphone: Box::leak(microphone.into_boxed_str()),
            input: input(60.0, 20.0, -128.0, 118.0, ""),
            ..setup()
        };
        result(&setup, 400)
    };
    // A peak of 120 + 12 − 3.01 = 128.99 dB SPL as a sine.
    let fine = loud(129.1, "");
    assert_eq!((fine.headroom, fine.microphone_pad), (Verdict::Enough, false));
    let margin = fine.ceilings.iter().find(|c| c.ceiling == Ceiling::Microphone).unwrap().margin_db;
    near("margin of the microphone in dB", margin, 129.1 - 120.0 - 12.0 + sine_crest(), 1e-6);
    let over = loud(128.9, "");
    assert_eq!((over.headroom, over.limit), (Verdict::Short, Limit::Ceiling(Ceiling::Microphone)));
    let padded = loud(128.9, "pad = \"10 dB\"\n");
    assert_eq!((padded.headroom, padded.microphone_pad), (Verdict::Enough, true));
    near("peak with the microphone's pad in dBFS", padded.peak_dbfs.median, -12.0, 0.001);
    // Its own noise stays, its signal does not: 10 dB more as a sound level.
    let own = |answer: &LevelAnswer| {
        let end = at(&answer.stages, Stage::Microphone);
        let part = end.noise.iter().find(|c| c.contributor == Contributor::Microphone).unwrap();
        db(part.a_weighted) - end.loud
    };
    near("noise of the microphone against its signal in dB", own(&padded) - own(&fine), 10.0, 1e-6);
}

// Reach is tight where the peak at the most gain stays over 12 dB under the target (−24 dBFS), or over what a case sets.
#[test]
fn reach() {
    let peak = |range: f64, thresholds: &str| {
        let setup = Setup {
            thresholds: thresholds.to_owned(),
            loud: "80 dB SPL".to_owned(),
            input: input(range, 4.0, -128.0, 110.0, ""),
            ..setup()
        };
        result(&setup, 400)
    };
    let needed = -24.0 - peak_at_least(80.0, 4.0);
    let just = peak(needed + 0.01, "");
    near("peak in dBFS", just.peak_dbfs.median, -23.99, 0.001);
    assert_eq!(just.reach, Verdict::Enough);
    let not_quite = peak(needed - 0.01, "");
    assert_eq!(not_quite.reach, Verdict::Tight);
    // By itself it is no fault.
    assert_eq!(not_quite.verdict, just.verdict);
    assert_eq!(peak(needed - 30.0, "").reach, Verdict::Tight);
    // Its own threshold: 6 dB under the target is −18 dBFS.
    assert_eq!(peak(needed + 5.99, "reach = \"6 dB\"").reach, Verdict::Tight);
    assert_eq!(peak(needed + 6.01, "reach = \"6 dB\"").reach, Verdict::Enough);
    assert_eq!(peak(needed - 0.01, "reach = \"13 dB\"").reach, Verdict::Enough);
}

// Headroom: under 1 % probability of passing a ceiling is enough, under 10 % tight, else short. A level within ±5 dB passes a
// ceiling x dB above its middle with probability (5 − x)/10. The lowest gain leaves no choice.
#[test]
fn headroom() {
    let clipping = |probability: f64, thresholds: &str| {
        let maximum = peak_at_least(130.0, 0.0) + 5.0 - 10.0 * probability;
        let setup = Setup {
            thresholds: thresholds.to_owned(),
            loud: "130 dB SPL ± 5 dB".to_owned(),
            input: input(60.0, maximum, -128.0, 110.0, ""),
            ..setup()
        };
        let got = result(&setup, 20_000);
        // Four standard deviations of a share of 20 000 draws.
        let scatter = 4.0 * (probability * (1.0 - probability) / 20_000.0).sqrt();
        near(
            format!("probability of clipping, {probability} meant"),
            got.clipping_probability,
            probability,
            scatter,
        );
        let input = got.ceilings.iter().find(|c| c.ceiling == Ceiling::Input).unwrap();
        near(
            "probability of passing the input's ceiling",
            input.probability,
            got.clipping_probability,
            1e-12,
        );
        near("median margin in dB", input.margin_db, 5.0 - 10.0 * probability, 0.15);
        got.headroom
    };
    assert_eq!(clipping(0.005, ""), Verdict::Enough);
    assert_eq!(clipping(0.02, ""), Verdict::Tight);
    assert_eq!(clipping(0.08, ""), Verdict::Tight);
    assert_eq!(clipping(0.12, ""), Verdict::Short);
    let own = "clipping_enough = \"5 %\"\nclipping_short = \"30 %\"";
    assert_eq!(clipping(0.03, own), Verdict::Enough);
    assert_eq!(clipping(0.2, own), Verdict::Tight);
    assert_eq!(clipping(0.4, own), Verdict::Short);
}

// Noise: enough where the penalty is at most 1 dB or the noise is not heard, short over 3 dB and heard, tight between. The
// thresholds of a case shift it: set just beside what this case comes to.
#[test]
fn noise() {
    let verdict = |ein: f64, thresholds: &str| {
        let setup =
            Setup { thresholds: thresholds.to_owned(), input: input(60.0, 4.0, ein, 110.0, ""), ..setup() };
        result(&setup, 400)
    };
    let (short, tight, enough) = (verdict(-118.0, ""), verdict(-127.0, ""), verdict(-131.5, ""));
    assert_eq!((short.noise, tight.noise, enough.noise), (Verdict::Short, Verdict::Tight, Verdict::Enough));
    assert!(short.penalty_db.median > 3.0, "{} dB", short.penalty_db.median);
    assert!((1.0..3.0).contains(&tight.penalty_db.median), "{} dB", tight.penalty_db.median);
    assert!(enough.penalty_db.median <= 1.0, "{} dB", enough.penalty_db.median);
    let (penalty, rise) = (tight.penalty_db.median, tight.replay_rise_db.median);
    let of = |thresholds: String| verdict(-127.0, &thresholds).noise;
    assert_eq!(of(format!("penalty_enough = \"{} dB\"", penalty + 0.01)), Verdict::Enough);
    assert_eq!(of(format!("penalty_enough = \"{} dB\"", penalty - 0.01)), Verdict::Tight);
    assert_eq!(of(format!("penalty_short = \"{} dB\"", penalty - 0.01)), Verdict::Short);
    assert_eq!(of(format!("penalty_short = \"{} dB\"", penalty + 0.01)), Verdict::Tight);
    assert_eq!(of(format!("audible_rise = \"{} dB\"", rise + 0.01)), Verdict::Enough);
    assert_eq!(of(format!("audible_rise = \"{} dB\"", rise - 0.01)), Verdict::Tight);
    // Replayed 40 dB softer nobody hears it.
    let soft = Setup {
        session: "replay_level = \"40 dB SPL\"",
        input: input(60.0, 4.0, -118.0, 110.0, ""),
        ..setup()
    };
    let soft = result(&soft, 400);
    assert!(soft.replay_rise_db.median < 1.0, "{} dB", soft.replay_rise_db.median);
    assert_eq!((soft.noise, soft.audible_probability.to_bits()), (Verdict::Enough, 0.0_f64.to_bits()));
    assert!(soft.penalty_db.median > 3.0);
}
