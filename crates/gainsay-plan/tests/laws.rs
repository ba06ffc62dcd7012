#![cfg(test)]
//! Laws that hold for every chain, tried on random cases. Arithmetic of levels and powers; no source.

#![allow(clippy::disallowed_methods, reason = "the check must not lean on the mathematics of what it checks")]

mod independent;
mod networks;

use gainsay_plan::case::Pickup;
use gainsay_plan::stages::{Setting, Stage};
use gainsay_plan::{Answer, Case, Chain, Draws, Estimate, LevelAnswer, Options, chain_of, check};
use gainsay_units::{Decibels, Spread};
use independent::{at, case, db, near, not_above};
use networks::{End, Network, Noise, PLAIN, PREAMP, Preamp, coil, networks};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

const OPTIONS: Options = Options { draws: Draws { count: 400, seed: 1 }, stage_intervals: true };

/// Numbers between 0 and 1 from which a case is made; each figure takes the one that is its own.
type Dice = [f64; 32];

fn dice() -> impl Strategy<Value = Dice> {
    prop::array::uniform32(0.0..1.0_f64)
}

/// What is changed of a case to see what follows.
#[derive(Clone, Copy)]
struct Change {
    /// Whether all tolerances are left out.
    exact: bool,
    /// dB by which the preamp's EIN, and the booster's, are lower.
    quieter_preamp: f64,
    quieter_booster: f64,
    /// Factor on the distance.
    distance: f64,
    /// The order of the sources.
    order: [usize; 3],
}

const AS_IT_IS: Change =
    Change { exact: false, quieter_preamp: 0.0, quieter_booster: 0.0, distance: 1.0, order: [0, 1, 2] };
const EXACT: Change = Change { exact: true, ..AS_IT_IS };

const ACOUSTIC: [&str; 8] = [
    "whisper",
    "storytelling",
    "sung voice",
    "fiddle",
    "upright bass plucked",
    "snare drum",
    "trumpet",
    "acoustic guitar fingerpicked",
];
const ELECTRICAL: [&str; 3] = ["keyboard line output", "electric guitar direct", "active bass direct"];

struct Figures<'a> {
    dice: &'a Dice,
    exact: bool,
}

impl Figures<'_> {
    fn between(&self, die: usize, low: f64, high: f64) -> f64 {
        low + (high - low) * self.dice[die]
    }

    /// The same on a logarithmic scale.
    fn spanning(&self, die: usize, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.dice[die])
    }

    fn pick<'b, T: ?Sized>(&self, die: usize, from: &[&'b T]) -> &'b T {
        from[((self.dice[die] * from.len() as f64) as usize).min(from.len() - 1)]
    }

    fn chance(&self, die: usize, of: f64) -> bool {
        self.dice[die] < of
    }

    /// A figure with its unit, and a tolerance where there are any.
    fn write(&self, value: f64, unit: &str, tolerance: &str) -> String {
        if self.exact { format!("{value} {unit}") } else { format!("{value} {unit} ± {tolerance}") }
    }
}

/// A random case: three sources (the first with the microphone, booster and preamp that the dice chose, the others typical), an
/// interface, perhaps a preamp before it.
fn random(dice: &Dice, change: Change) -> Case {
    let f = Figures { dice, exact: change.exact };
    let passive = f.chance(0, 0.5);
    let electrical = f.chance(1, 0.15);
    let external = !electrical && f.chance(2, 0.3);
    let mut sources: Vec<String> = Vec::new();
    let mut first = "[[source]]\nname = \"First\"\n".to_owned();
    if electrical {
        first += &format!("kind = \"{}\"\n", f.pick(3, &ELECTRICAL));
        first += &format!("crest = \"{}\"\n", f.write(f.between(4, 6.0, 20.0), "dB", "3 dB"));
    } else {
        let distance = f.spanning(5, 0.05, 3.0) * change.distance;
        first += &format!(
            "kind = \"{}\"\nmicrophone = \"microphone\"\ndistance = \"{}\"\ncrest = \"{}\"\n",
            f.pick(3, &ACOUSTIC),
            f.write(distance, "m", "20 %"),
            f.write(f.between(4, 6.0, 20.0), "dB", "3 dB"),
        );
        if f.chance(6, 0.5) || change.exact {
            let loud = f.between(7, 50.0, 120.0);
            first += &format!(
                "loud = \"{}\"\nquiet = \"{}\"\nlevels_at = \"1 m\"\n",
                f.write(loud, "dB SPL", "5 dB"),
                f.write(loud - f.between(8, 0.0, 50.0), "dB SPL", "5 dB"),
            );
        }
        if f.chance(9, 0.35) {
            first += "booster = \"booster\"\n";
        }
    }
    first +=
        &format!("cable = \"{}\"\ncable_kind = \"cable\"\n", f.write(f.between(10, 0.0, 50.0), "m", "10 %"));
    sources.push(first);
    sources.push("[[source]]\nname = \"Second\"\nkind = \"fiddle\"\n".to_owned());
    sources.push(
        "[[source]]\nname = \"Third\"\nkind = \"sung voice\"\nmicrophone = \"moving-coil-vocal\"\n"
            .to_owned(),
    );

    let rates = ["44100", "48000", "96000"];
    let mut text = format!(
        "[session]\nsample_rate = \"{} Hz\"\nbit_depth = \"{} bit\"\npeak_target = \"{} dBFS\"\n[room]\nnoise = \"{}\"\n\
         temperature = \"{} °C\"\n",
        f.pick(11, &rates),
        f.pick(12, &["16", "24", "32"]),
        f.between(13, -24.0, -3.0),
        f.write(f.between(14, 5.0, 50.0), "dBA", "3 dB"),
        f.between(15, 0.0, 40.0),
    );
    for index in change.order {
        text += &sources[index];
    }

    let (transducer, phantom) = if passive { ("moving-coil", "ignored") } else { ("condenser", "required") };
    let resistance = f.spanning(18, 30.0, 10_000.0);
    // A coil's inductance goes with its resistance: microphones reach some 10 µH for each ohm, instrument pickups 0.3 mH, and
    // those are plugged into inputs of high impedance. In mH for each ohm.
    let into_high_impedance = f.spanning(29, 1_000.0, 1e6) > 1e5 && !f.chance(9, 0.35);
    let inductive = match (resistance < 2_000.0, into_high_impedance) {
        (true, _) => 1e-2,
        (false, true) => 0.32,
        (false, false) => 0.0,
    };
    let mut microphone = format!(
        "name = \"Microphone\"\ntype = \"microphone\"\n[microphone]\ntransducer = \"{transducer}\"\nphantom = \"{phantom}\"\n\
         pattern = \"{}\"\nsensitivity = \"{}\"\nimpedance = \"{}\"\ninductance = \"{}\"\nmaximum_spl = \"{}\"\n",
        f.pick(16, &["omnidirectional", "cardioid", "figure-of-eight"]),
        f.write(f.spanning(17, 0.5, 50.0), "mV/Pa", "2 dB"),
        f.write(resistance, "ohm", "20 %"),
        f.write(f.between(19, 0.0, inductive) * resistance, "mH", "20 %"),
        f.write(f.between(20, 110.0, 160.0), "dB SPL", "3 dB"),
    );
    if !passive {
        microphone += &format!("self_noise = \"{}\"\n", f.write(f.between(21, 4.0, 30.0), "dBA", "2 dB"));
    }
    if f.chance(21, 0.3) {
        microphone += "pad = \"10 dB\"\n";
    }
    let booster = format!(
        "name = \"Booster\"\ntype = \"booster\"\n[booster]\ninput_stage = \"fet\"\ngain = \"{}\"\nein = \"{} (unweighted, 150 ohm)\"\n\
         input_noise_current = \"{}\"\ninput_impedance = \"{}\"\noutput_impedance = \"{}\"\nmaximum_output = \"{}\"\n",
        f.write(f.between(22, 10.0, 30.0), "dB", "1 dB"),
        f.write(f.between(23, -128.0, -118.0) - change.quieter_booster, "dBu", "0.5 dB"),
        f.write(f.between(23, 0.1, 2.0), "pA/√Hz", "30 %"),
        f.write(f.spanning(22, 1_000.0, 100_000.0), "ohm", "20 %"),
        f.write(f.spanning(23, 30.0, 600.0), "ohm", "20 %"),
        f.write(f.between(23, 0.0, 12.0), "dBu", "2 dB"),
    );
    let microphone_inputs = |count: u32| {
        let mut text = format!(
            "[[microphone_inputs]]\ncount = {count}\nphantom = true\nleast_gain = \"{} dB\"\ngain_range = \"{}\"\n\
             gain_accuracy = \"{}\"\nmaximum_input = \"{}\"\nein = \"{} ({}, 150 ohm)\"\ninput_noise_current = \"{}\"\n\
             input_impedance = \"{}\"\ndynamic_range = \"{} (A-weighted)\"\n",
            f.between(24, 0.0, 12.0),
            f.write(f.between(25, 20.0, 75.0), "dB", "2 dB"),
            f.write(0.0, "dB", "1 dB"),
            f.write(f.between(26, 0.0, 24.0), "dBu", "2 dB"),
            f.write(f.between(27, -128.0, -105.0) - change.quieter_preamp, "dBu", "0.5 dB"),
            if f.chance(28, 0.5) { "A-weighted" } else { "unweighted" },
            f.write(f.between(28, 0.02, 3.0), "pA/√Hz", "30 %"),
            f.write(f.spanning(29, 1_000.0, 1e6), "ohm", "20 %"),
            f.write(f.between(30, 90.0, 120.0), "dB", "2 dB"),
        );
        if f.chance(31, 0.4) {
            text += "pad = \"20 dB\"\n";
        }
        if f.chance(31, 0.2) || f.chance(31, 0.8) && !f.chance(31, 0.6) {
            text += "gain_step = \"1 dB\"\n";
        }
        if external {
            text += &format!(
                "output_impedance = \"{}\"\nmaximum_output = \"{}\"\n",
                f.write(f.spanning(31, 30.0, 600.0), "ohm", "20 %"),
                f.write(f.between(31, 12.0, 28.0), "dBu", "2 dB"),
            );
        }
        text
    };
    let line_inputs = |instrument: bool| {
        format!(
            "[[line_inputs]]\ncount = 4\ninstrument = {instrument}\nfull_scale = \"{}\"\ndynamic_range = \"{} (A-weighted)\"\n\
             input_impedance = \"{}\"\n",
            f.write(f.between(26, 8.0, 24.0), "dBu", "2 dB"),
            f.write(f.between(30, 90.0, 120.0), "dB", "2 dB"),
            f.write(if instrument { 1e6 } else { 10_000.0 }, "ohm", "20 %"),
        )
    };
    let lines = line_inputs(false) + &line_inputs(true);
    let mut files = vec![
        ("gear/microphone.toml", microphone),
        ("gear/booster.toml", booster),
        (
            "gear/cable.toml",
            format!(
                "name = \"Cable\"\ntype = \"cable\"\n[cable]\ncapacitance = \"{}\"\n",
                f.write(f.between(10, 60.0, 200.0), "pF/m", "20 %")
            ),
        ),
    ];
    if external {
        files.push((
            "gear/preamp.toml",
            format!("name = \"Preamp\"\ntype = \"preamp\"\n{}", microphone_inputs(4)),
        ));
        files.push(("gear/box.toml", format!("name = \"Box\"\ntype = \"interface\"\n{lines}")));
        text += "[[owned]]\ndevice = \"preamp\"\n";
    } else {
        files.push((
            "gear/box.toml",
            format!("name = \"Box\"\ntype = \"interface\"\n{}{lines}", microphone_inputs(4)),
        ));
    }
    text += "[[owned]]\ndevice = \"box\"\n";
    files.insert(0, ("case.toml", text));
    let files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (*path, text.as_str())).collect();
    let mut case = case(&files);
    if change.exact {
        // The levels of electrical sources can't be stated in a case.
        for source in &mut case.sources {
            if let Pickup::Electrical { quiet, loud, noise, impedance } = &mut source.pickup {
                quiet.spread = Spread::Exact;
                loud.spread = Spread::Exact;
                noise.spread = Spread::Exact;
                impedance.spread = Spread::Exact;
            }
        }
    }
    case
}

/// The chain of the first source, however the sources are ordered.
fn first_chain(case: &Case) -> Chain {
    let index = case.sources.iter().position(|s| s.name == "First").unwrap();
    chain_of(case, index).unwrap().unwrap().0
}

fn result<'a>(answer: &'a Answer, name: &str) -> &'a LevelAnswer {
    let source = answer.sources.iter().find(|s| s.name == name).unwrap();
    source.result.as_ref().unwrap_or_else(|| panic!("{name} has no input"))
}

fn estimates(level: &LevelAnswer) -> Vec<(String, Estimate)> {
    let mut all = vec![
        ("peak".to_owned(), level.peak_dbfs),
        ("quietest passage".to_owned(), level.quiet_dbfs),
        ("noise".to_owned(), level.noise_dbfs_a),
        ("quietest passage over noise".to_owned(), level.quiet_above_noise_db),
        ("penalty".to_owned(), level.penalty_db),
        ("rise at replay".to_owned(), level.replay_rise_db),
    ];
    all.extend(level.noise_equivalent_dba.map(|e| ("noise as a sound level".to_owned(), e)));
    all.extend(level.noise_shares.iter().map(|s| (format!("share of {}", s.contributor.words()), s.share)));
    for interval in &level.stage_intervals {
        all.push((format!("peak at {}", interval.stage.words()), interval.peak));
        all.push((format!("quietest passage at {}", interval.stage.words()), interval.quiet));
    }
    all
}

fn setting(above: f64, pad: bool) -> Setting {
    Setting { above_least: Decibels::new(above), pad, microphone_pad: false }
}

/// The same cases on every machine, unless the environment asks for others: `PROPTEST_CASES=5000 PROPTEST_RNG_SEED=7`.
fn config() -> ProptestConfig {
    let mut config = ProptestConfig { failure_persistence: None, ..ProptestConfig::default() };
    if std::env::var_os("PROPTEST_CASES").is_none() {
        config.cases = 64;
    }
    if std::env::var_os("PROPTEST_RNG_SEED").is_none() {
        config.rng_seed = RngSeed::Fixed(1);
    }
    config
}

proptest! {
    #![proptest_config(config())]

    // What the noise is made of adds up to all of it; the best estimate exactly, the means of the draws as well.
    #[test]
    fn shares_sum_to_one(dice in dice()) {
        let case = random(&dice, AS_IT_IS);
        let chain = first_chain(&case);
        for stage in chain.stages(setting(10.0, true)) {
            if stage.noise.is_empty() { continue; }
            let sum: f64 = stage.noise.iter().map(|c| stage.share_a(c.contributor)).sum();
            near(format!("sum of the shares at {}", stage.stage.words()), sum, 1.0, 1e-12);
            let all: f64 = stage.noise.iter().map(|c| c.flat).sum();
            near(format!("noise at {}", stage.stage.words()), stage.noise_flat(), db(all), 1e-9);
            for part in &stage.noise {
                prop_assert!(part.flat >= 0.0 && part.a_weighted >= 0.0, "{part:?}");
            }
        }
        let answer = check(&case, OPTIONS).unwrap();
        for source in &answer.sources {
            let level = source.result.as_ref().unwrap();
            let sum: f64 = level.noise_shares.iter().map(|s| s.mean).sum();
            near(format!("{}: sum of the mean shares", source.name), sum, 1.0, 1e-9);
        }
    }

    // Every probability is one, the verdicts' add up, every median lies in its interval, and no penalty is negative.
    #[test]
    fn results_are_in_order(dice in dice(), seed in 0_u64..1000) {
        let case = random(&dice, AS_IT_IS);
        let answer = check(&case, Options { draws: Draws { count: 400, seed }, ..OPTIONS }).unwrap();
        for source in &answer.sources {
            let level = source.result.as_ref().unwrap();
            let sum: f64 = level.verdict_probabilities.iter().sum();
            near(format!("{}: sum of the verdicts' probabilities", source.name), sum, 1.0, 1e-12);
            let mut probabilities = level.verdict_probabilities.to_vec();
            probabilities.extend([level.audible_probability, level.clipping_probability]);
            probabilities.extend(level.ceilings.iter().map(|c| c.probability));
            for probability in probabilities {
                prop_assert!((0.0..=1.0).contains(&probability), "{}: a probability of {probability}", source.name);
            }
            // Passing any ceiling is at least as likely as passing one, and at most as the sum.
            let any = level.clipping_probability;
            let each: Vec<f64> = level.ceilings.iter().map(|c| c.probability).collect();
            not_above("the likeliest ceiling", each.iter().copied().fold(0.0, f64::max), any, 1e-12);
            not_above("any ceiling", any, each.iter().sum(), 1e-12);
            for (what, estimate) in estimates(level) {
                prop_assert!(
                    estimate.low <= estimate.median && estimate.median <= estimate.high,
                    "{}: {what}: median {} outside {} to {}", source.name, estimate.median, estimate.low, estimate.high
                );
            }
            not_above(format!("{}: no penalty", source.name), 0.0, level.penalty_db.low, 1e-9);
            not_above(format!("{}: no rise", source.name), 0.0, level.replay_rise_db.low, 1e-9);
            prop_assert!(level.gain_db <= level.most_gain_db.map(|g| g + 1e-9), "{:?} of {:?}", level.gain_db, level.most_gain_db);
        }
    }

    // More gain never lowers anything behind it, and changes nothing before it.
    #[test]
    fn more_gain_never_lowers_a_level(dice in dice(), less in 0.0..40.0_f64, more in 0.0..40.0_f64, pad in any::<bool>()) {
        let chain = first_chain(&random(&dice, AS_IT_IS));
        let (low, high) = (chain.stages(setting(less, pad)), chain.stages(setting(less + more, pad)));
        for (low, high) in low.iter().zip(&high) {
            let behind = matches!(low.stage, Stage::PreampOut | Stage::LineIn | Stage::File);
            let what = |which: &str| format!("{more} dB more than {less} dB: {which} at {}", low.stage.words());
            let mut levels = vec![
                ("peak", low.peak, high.peak),
                ("loudest passage", low.loud, high.loud),
                ("quietest passage", low.quiet, high.quiet),
                ("noise", low.noise_flat(), high.noise_flat()),
                ("A-weighted noise", low.noise_a(), high.noise_a()),
            ];
            for (a, b) in low.noise.iter().zip(&high.noise) {
                prop_assert_eq!(a.contributor, b.contributor);
                levels.push((a.contributor.words(), db(a.a_weighted), db(b.a_weighted)));
            }
            for (which, less, more) in levels {
                not_above(what(which), less, more, 1e-9);
                if !behind {
                    near(what(which), less, more, if less.is_finite() { 1e-9 } else { f64::NAN });
                }
            }
        }
    }

    // A quieter amplifier never makes more noise, at any setting of the control.
    #[test]
    fn a_quieter_amplifier_never_raises_the_noise(
        dice in dice(), preamp in 0.0..2.0_f64, booster in 0.0..2.0_f64, above in 0.0..70.0_f64, pad in any::<bool>(),
    ) {
        let change = |quieter_preamp, quieter_booster| Change { quieter_preamp, quieter_booster, ..EXACT };
        let noisy = random(&dice, change(0.0, 0.0));
        let noise = first_chain(&noisy).stages(setting(above, pad));
        for (which, quieter) in [("preamp", change(preamp, 0.0)), ("booster", change(0.0, booster))] {
            let quiet = random(&dice, quieter);
            let stages = first_chain(&quiet).stages(setting(above, pad));
            let file = |stages: &[gainsay_plan::stages::StageLevels]| {
                let file = at(stages, Stage::File);
                (file.noise_flat(), file.noise_a(), file.loud)
            };
            let ((flat, a, loud), (flat_before, a_before, loud_before)) = (file(&stages), file(&noise));
            near("its level stays", loud, loud_before, 1e-9);
            not_above(format!("{which} quieter: noise"), flat, flat_before, 1e-9);
            not_above(format!("{which} quieter: A-weighted noise"), a, a_before, 1e-9);
            let (before, after) = (check(&noisy, OPTIONS).unwrap(), check(&quiet, OPTIONS).unwrap());
            let (before, after) = (result(&before, "First"), result(&after, "First"));
            not_above(format!("{which} quieter: noise in the answer"), after.noise_dbfs_a.median, before.noise_dbfs_a.median, 1e-9);
            not_above(format!("{which} quieter: penalty"), after.penalty_db.median, before.penalty_db.median, 1e-9);
        }
    }

    // A closer microphone never lowers the level (inverse distance law, not closer than the source's size).
    #[test]
    fn a_closer_microphone_never_lowers_the_level(dice in dice(), closer in 0.1..1.0_f64) {
        let far = first_chain(&random(&dice, AS_IT_IS));
        let near_by = first_chain(&random(&dice, Change { distance: closer, ..AS_IT_IS }));
        for (far, near_by) in far.stages(setting(20.0, false)).iter().zip(&near_by.stages(setting(20.0, false))) {
            let what = |which: &str| format!("at {closer} of the distance: {which} at {}", far.stage.words());
            not_above(what("peak"), far.peak, near_by.peak, 1e-9);
            not_above(what("quietest passage"), far.quiet, near_by.quiet, 1e-9);
            // Not by more than the law gives, and the noise is what it was.
            not_above(what("level"), near_by.loud - far.loud, -20.0 * closer.log10(), 1e-9);
            if !far.noise.is_empty() {
                near(what("noise"), near_by.noise_a(), far.noise_a(), 1e-9);
            }
        }
    }

    // The same seed gives the same bytes.
    #[test]
    fn the_same_seed_gives_the_same_bytes(dice in dice(), seed in any::<u64>()) {
        let options = Options { draws: Draws { count: 400, seed }, ..OPTIONS };
        let bytes = |options: Options| serde_json::to_string(&check(&random(&dice, AS_IT_IS), options).unwrap()).unwrap();
        let first = bytes(options);
        prop_assert_eq!(&first, &bytes(options));
        // Another seed gives others.
        let other = Options { draws: Draws { count: 400, seed: seed.wrapping_add(1) }, ..OPTIONS };
        prop_assert_ne!(&first, &bytes(other));
    }

    // A source's result does not depend on where it stands among the others.
    #[test]
    fn the_order_of_sources_changes_no_result(dice in dice()) {
        let answer = check(&random(&dice, AS_IT_IS), OPTIONS).unwrap();
        for order in [[2, 1, 0], [1, 2, 0], [0, 2, 1]] {
            let other = check(&random(&dice, Change { order, ..AS_IT_IS }), OPTIONS).unwrap();
            prop_assert_eq!(answer.verdict, other.verdict);
            for name in ["First", "Second", "Third"] {
                prop_assert!(
                    result(&answer, name) == result(&other, name),
                    "{} differs in order {:?}:\n{:?}\n{:?}", name, order, result(&answer, name), result(&other, name)
                );
            }
        }
    }

    // Without tolerances every draw is the best estimate: the Monte Carlo engine and the stages come to the same.
    #[test]
    fn exact_figures_give_the_best_estimate(dice in dice()) {
        let case = random(&dice, EXACT);
        let answer = check(&case, OPTIONS).unwrap();
        let level = result(&answer, "First");
        let stages = first_chain(&case).stages(level.setting);
        prop_assert!(stages == level.stages);
        let file = at(&stages, Stage::File);
        near("peak", level.peak_dbfs.median, file.peak, 0.01);
        near("quietest passage", level.quiet_dbfs.median, file.quiet, 0.01);
        near("A-weighted noise", level.noise_dbfs_a.median, file.noise_a(), 0.03);
        near("quietest passage over noise", level.quiet_above_noise_db.median, file.quiet - file.noise_a(), 0.03);
        for (what, estimate) in estimates(level) {
            near(format!("{what}: width of the interval"), estimate.high - estimate.low, 0.0, 1e-9);
        }
        for share in &level.noise_shares {
            near(format!("share of {}", share.contributor.words()), share.mean, file.share_a(share.contributor), 0.005);
        }
        let sum = |ahead: bool| -> f64 {
            file.noise.iter().filter(|c| !ahead || c.contributor.is_ahead_of_chain()).map(|c| c.a_weighted).sum()
        };
        // A difference of two noise levels, each within 0.03 dB.
        near("penalty", level.penalty_db.median, db(sum(false) / sum(true)), 0.06);
        if let Some(equivalent) = level.noise_equivalent_dba {
            let air = at(&stages, Stage::Air);
            near("noise as a sound level", equivalent.median, file.noise_a() + air.loud - file.loud, 0.03);
        }
        // Stages on the way.
        for interval in &level.stage_intervals {
            let stage = at(&stages, interval.stage);
            near(format!("peak at {}", interval.stage.words()), interval.peak.median, stage.peak, 0.01);
            near(format!("quietest passage at {}", interval.stage.words()), interval.quiet.median, stage.quiet, 0.01);
        }
        // Where a ceiling is passed in the stages the draws say so as well.
        let passed = stages.iter().any(|s| s.ceiling.is_some_and(|ceiling| s.peak > ceiling + 0.02));
        let clear = stages.iter().all(|s| s.ceiling.is_none_or(|ceiling| s.peak < ceiling - 0.02));
        if passed {
            near("probability of clipping where the stages clip", level.clipping_probability, 1.0, 1e-12);
        }
        if clear {
            near("probability of clipping where the stages are clear", level.clipping_probability, 0.0, 1e-12);
        }
    }
}

// The same for the networks that the circuit simulator checks, and where current noise meets an impedance that rises with
// frequency through the band: a third of an octave is then not as flat as it looks.
#[test]
fn the_networks_give_the_best_estimate() {
    let rising = Network {
        name: "coil of 2.3 kilohms and 0.38 H into transistors",
        start: coil(2_300.0, 0.38),
        end: End::Preamp(Preamp {
            noise: Noise::Densities { nanovolts: 3.0, picoamperes: 3.0 },
            ohms: 400_000.0,
            ..PREAMP
        }),
        ..PLAIN
    };
    for network in networks().into_iter().chain([rising]) {
        let case = network.case();
        let answer = check(&case, OPTIONS).unwrap();
        let level = answer.sources[0].result.as_ref().unwrap();
        let (chain, _) = chain_of(&case, 0).unwrap().unwrap();
        let stages = chain.stages(level.setting);
        let file = at(&stages, Stage::File);
        let what = |which: &str| format!("{}: {which}", network.name);
        near(what("peak"), level.peak_dbfs.median, file.peak, 0.01);
        near(what("A-weighted noise"), level.noise_dbfs_a.median, file.noise_a(), 0.03);
    }
}

// The dice reach what they should: every kind of chain appears among a few hundred.
#[test]
fn random_cases_are_varied() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut seen = std::collections::BTreeMap::new();
    for _ in 0..400 {
        let dice = proptest::strategy::ValueTree::current(&dice().new_tree(&mut runner).unwrap());
        let chain = first_chain(&random(&dice, AS_IT_IS));
        let preamp = match &chain.ending {
            gainsay_plan::chain::Ending::Line(_) => "line input",
            gainsay_plan::chain::Ending::Preamp(p) => match p.output {
                gainsay_plan::chain::OutputStage::Converter { .. } => "interface",
                gainsay_plan::chain::OutputStage::Line { .. } => "external preamp",
            },
        };
        let booster = if chain.booster.is_some() { "booster" } else { "no booster" };
        let coil = if chain.source_inductance.is_some() { "coil" } else { "no coil" };
        for what in [preamp, booster, coil, if chain.phantom { "phantom" } else { "no phantom" }] {
            *seen.entry(what).or_insert(0) += 1;
        }
    }
    for what in [
        "line input",
        "interface",
        "external preamp",
        "booster",
        "no booster",
        "coil",
        "phantom",
        "no phantom",
    ] {
        assert!(seen.get(what).is_some_and(|n| *n >= 20), "{what}: {seen:?}");
    }
}
