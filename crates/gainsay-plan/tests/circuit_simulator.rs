#![cfg(test)]
//! The networks of `networks` in ngspice, a circuit simulator: levels, noise and its parts at every stage against the engine.
//! Every source of noise is a resistor of the simulator itself, whose thermal noise a controlled source scales to the wanted
//! density; feeds, coils and pads are plain resistors. Inputs are noiseless.

#![allow(clippy::disallowed_methods, reason = "the check must not lean on the mathematics of what it checks")]

mod independent;
mod networks;

use gainsay_plan::stages::{Contributor, Stage};
use gainsay_units::bands::BandPowers;
use independent::{at, db, near, power, simpson, thermal, third_octaves};
use networks::{End, Network, Preamp, Start, amplifier, closed_form, networks};
use std::fmt::Write;
use std::path::PathBuf;
use std::process::Command;

/// Points for each decade of frequency.
const PER_DECADE: usize = 400;

/// The resistor whose thermal noise stands behind each white source.
const NOISE_OHMS: f64 = 1_000.0;

/// A netlist, and which resistors make whose noise.
struct Netlist {
    text: String,
    kelvin: f64,
    parts: Vec<(String, Contributor)>,
    /// The node of each stage, and what its voltage is referred to, squared.
    nodes: Vec<(Stage, String, f64)>,
}

impl Netlist {
    fn line(&mut self, line: String) {
        self.text.push_str(&line);
        self.text.push('\n');
    }

    /// A resistor of its own from a fresh node to ground; returns the node, and its density.
    fn resistor(&mut self, name: &str, contributor: Contributor) -> (String, f64) {
        let node = format!("n_{name}");
        self.line(format!("r_{name} {node} 0 {NOISE_OHMS}"));
        self.parts.push((format!("r_{name}"), contributor));
        (node, thermal(NOISE_OHMS, self.kelvin).sqrt())
    }

    /// A white noise voltage in series, from node to node; its squared density in V²/Hz.
    fn series(&mut self, name: &str, contributor: Contributor, from: &str, to: &str, density: f64) {
        let (node, own) = self.resistor(name, contributor);
        self.line(format!("e_{name} {to} {from} {node} 0 {:e}", density.sqrt() / own));
    }

    /// A white noise current across two nodes; its squared density in A²/Hz.
    fn across(&mut self, name: &str, contributor: Contributor, nodes: (&str, &str), density: f64) {
        let (node, own) = self.resistor(name, contributor);
        self.line(format!("g_{name} {} {} {node} 0 {:e}", nodes.0, nodes.1, density.sqrt() / own));
    }

    fn own(&mut self, name: &str, contributor: Contributor, nodes: (&str, &str), ohms: f64) {
        self.line(format!("r_{name} {} {} {ohms:e}", nodes.0, nodes.1));
        self.parts.push((format!("r_{name}"), contributor));
    }

    fn noiseless(&mut self, name: &str, nodes: (&str, &str), ohms: f64) {
        self.line(format!("r_{name} {} {} {ohms:e} noisy=0", nodes.0, nodes.1));
    }

    fn gain(&mut self, name: &str, from: (&str, &str), to: &str, ratio: f64) {
        self.line(format!("e_{name} {to} 0 {} {} {ratio:e}", from.0, from.1));
    }

    fn stage(&mut self, stage: Stage, node: &str) {
        let reference = if stage == Stage::File { 1.0 } else { independent::DBU_SQUARED };
        self.nodes.push((stage, node.to_owned(), reference));
    }

    /// Cable, feeds and the next input across a line; returns the cold leg's node.
    fn load(&mut self, which: &str, nanofarads: f64, phantom: bool, ohms: f64) {
        let (hot, cold) = (format!("hot{which}"), format!("cold{which}"));
        if nanofarads > 0.0 {
            self.line(format!("c_cable{which} {hot} {cold} {:e}", nanofarads * 1e-9));
        }
        if phantom {
            // IEC 61938, P48: a feed in each leg, from a supply that is ground for sound. E96 gives 6.81 kΩ.
            self.own(&format!("feedhot{which}"), Contributor::PhantomFeeds, (&hot, "0"), 6_810.0);
            self.own(&format!("feedcold{which}"), Contributor::PhantomFeeds, (&cold, "0"), 6_810.0);
        } else {
            self.line(format!("v_cold{which} {cold} 0 0"));
        }
        self.noiseless(&format!("input{which}"), (&hot, &cold), ohms);
    }
}

/// The netlist of a network, from its plain numbers.
fn netlist(network: &Network) -> Netlist {
    let mut list = Netlist {
        text: format!("* {}\n.options temp={} tnom={}\n", network.name, network.celsius, network.celsius),
        kelvin: network.kelvin(),
        parts: Vec::new(),
        nodes: Vec::new(),
    };
    let (room, own) = network.ahead();
    list.line("v_source emf cold1 dc 0 ac 1".to_owned());
    match network.start {
        Start::Microphone { self_noise, ohms, henries, .. } => {
            list.series("room", Contributor::Room, "emf", "emf2", room);
            let resistor = if henries > 0.0 { "coil" } else { "hot1" };
            match self_noise {
                Some(_) => {
                    list.series("self", Contributor::Microphone, "emf2", "emf3", own);
                    list.noiseless("source", ("emf3", resistor), ohms);
                }
                None => list.own("source", Contributor::Microphone, ("emf2", resistor), ohms),
            }
            if henries > 0.0 {
                list.line(format!("l_source coil hot1 {henries:e}"));
            }
        }
        Start::Output { ohms, .. } => {
            list.series("output", Contributor::Output, "emf", "emf2", own);
            list.noiseless("source", ("emf2", "hot1"), ohms);
        }
    }
    let input_ohms = match network.end {
        End::Preamp(preamp) => preamp.ohms,
        End::Line(line) => line.ohms,
    };
    let line = match network.booster {
        None => {
            list.load("1", network.nanofarads, network.phantom, input_ohms);
            "1"
        }
        Some(booster) => {
            list.load("1", 0.0, false, booster.input_ohms);
            let (voltage, current) = amplifier(booster.noise);
            list.across("boostercurrent", Contributor::Booster, ("hot1", "cold1"), current);
            list.gain("boosterin", ("hot1", "cold1"), "boosterin", 1.0);
            list.stage(Stage::BoosterIn, "boosterin");
            list.series("boostervoltage", Contributor::Booster, "boosterin", "boosterin2", voltage);
            list.gain("booster", ("boosterin2", "0"), "boosterout", power(booster.gain).sqrt());
            list.stage(Stage::BoosterOut, "boosterout");
            list.line("e_boosterout drive2 cold2 boosterout 0 1".to_owned());
            list.noiseless("boosterout", ("drive2", "hot2"), booster.output_ohms);
            list.load("2", network.nanofarads, true, input_ohms);
            "2"
        }
    };
    let (hot, cold) = (format!("hot{line}"), format!("cold{line}"));
    let (after_gain, converter) = network.behind();
    let before_file = match network.end {
        End::Line(_) => {
            list.gain("linein", (&hot, &cold), "linein", 1.0);
            list.stage(Stage::LineIn, "linein");
            "linein"
        }
        End::Preamp(preamp) => {
            let (voltage, current) = amplifier(preamp.noise);
            match preamp.pad {
                None => {
                    list.across("preampcurrent", Contributor::Preamp, (&hot, &cold), current);
                    list.gain("preampin", (&hot, &cold), "amplifier", 1.0);
                }
                Some(pad) => {
                    list.gain("pad", (&hot, &cold), "padded", power(-pad).sqrt());
                    // 150 Ω behind a pad: common practice, no source.
                    list.own("pad", Contributor::Pad, ("padded", "amplifier"), 150.0);
                    list.across("preampcurrent", Contributor::Preamp, ("amplifier", "0"), current);
                }
            }
            list.series("preampvoltage", Contributor::Preamp, "amplifier", "preampin", voltage);
            list.stage(Stage::PreampIn, "preampin");
            let gain = power(preamp.least_gain + preamp.above).sqrt();
            match preamp.external {
                None => {
                    list.gain("preamp", ("preampin", "0"), "preampout", gain);
                    list.stage(Stage::PreampOut, "preampout");
                    "preampout"
                }
                Some((ohms, _, line)) => {
                    list.gain("preamp", ("preampin", "0"), "amplified", gain);
                    list.series("aftergain", Contributor::AfterGain, "amplified", "preampout", after_gain);
                    list.stage(Stage::PreampOut, "preampout");
                    list.noiseless("preampout", ("preampout", "linein"), ohms);
                    list.noiseless("linein", ("linein", "0"), line.ohms);
                    list.stage(Stage::LineIn, "linein");
                    "linein"
                }
            }
        }
    };
    list.gain("file", (before_file, "0"), "converter", 1.0 / network.full_scale().sqrt());
    list.series("converter", Contributor::Converter, "converter", "converted", converter);
    list.series("dither", Contributor::Dither, "converted", "file", network.dither());
    list.stage(Stage::File, "file");
    list
}

/// What the simulator found at a node.
struct Simulated {
    stage: Stage,
    /// Level of the loudest passage: at 1 kHz, and averaged over 20 Hz to 20 kHz.
    at_1_khz: f64,
    average: f64,
    /// For each contributor its power, and A-weighted, re the stage's reference.
    parts: Vec<(Contributor, f64, f64)>,
    /// The sum as the simulator has it.
    flat: f64,
    a_weighted: f64,
}

/// Runs ngspice; `test` keeps the files of tests that run at the same time apart.
fn simulate(network: &Network, test: &str) -> Vec<Simulated> {
    let list = netlist(network);
    let slug: String = format!("{test} {}", network.name)
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
        .collect();
    let path = |suffix: &str| PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("{slug}{suffix}"));
    let mut text = list.text.clone();
    text += ".control\nset numdgt=14\nset wr_singlescale\n";
    let magnitudes: String = list.nodes.iter().map(|(_, node, _)| format!(" vm({node})")).collect();
    let names: String = list.parts.iter().map(|(name, _)| format!(" onoise_{name}")).collect();
    for (index, (_, node, _)) in list.nodes.iter().enumerate() {
        writeln!(
            text,
            "noise v({node}) v_source dec {PER_DECADE} 20 20k 1\nsetplot noise{}\nwrdata {} onoise_spectrum{names}",
            // Plots are numbered, and each noise analysis makes two: densities and their integrals.
            2 * index + 1,
            path(&format!("-noise{index}.txt")).display()
        )
        .unwrap();
    }
    writeln!(text, "ac lin 1 1k 1k\nwrdata {}{magnitudes}", path("-1khz.txt").display()).unwrap();
    writeln!(text, "ac dec {PER_DECADE} 20 20k\nwrdata {}{magnitudes}", path("-ac.txt").display()).unwrap();
    text += "quit 0\n.endc\n.end\n";
    std::fs::write(path(".cir"), text).unwrap();
    let output = Command::new("ngspice").arg("-b").arg(path(".cir")).output().unwrap_or_else(|error| {
        panic!(
            "ngspice can't be run ({error}). It is the circuit simulator that this check needs: install the package \
             \"ngspice\" of your system"
        )
    });
    let read = |suffix: &str| -> Vec<Vec<f64>> {
        let file = path(suffix);
        let text = std::fs::read_to_string(&file).unwrap_or_else(|error| {
            panic!(
                "{}: ngspice left no result ({error}). It said:\n{}{}",
                network.name,
                String::from_utf8_lossy(&output.stdout),
                String::from_utf8_lossy(&output.stderr)
            )
        });
        std::fs::remove_file(&file).unwrap();
        text.lines()
            .filter(|line| !line.trim().is_empty())
            .map(|line| line.split_whitespace().map(|n| n.parse().unwrap()).collect())
            .collect()
    };
    let loud = db(network.emf().powi(2));
    let point = read("-1khz.txt");
    let sweep = read("-ac.txt");
    assert_eq!(sweep.len(), 3 * PER_DECADE + 1, "points of the sweep");
    let frequencies: Vec<f64> = sweep.iter().map(|row| row[0]).collect();
    near("first frequency", frequencies[0], 20.0, 1e-6);
    near("last frequency", frequencies[3 * PER_DECADE], 20_000.0, 1e-3);
    list.nodes
        .iter()
        .enumerate()
        .map(|(index, (stage, _, reference))| {
            let column = |rows: &[Vec<f64>], at: usize| -> Vec<f64> {
                rows.iter().map(|row| row[at] * row[at]).collect()
            };
            let average = simpson(&frequencies, &column(&sweep, index + 1)) / independent::BAND_HZ;
            let noise = read(&format!("-noise{index}.txt"));
            let (flat, a_weighted) = networks::powers(&frequencies, &column(&noise, 1));
            let parts = list
                .parts
                .iter()
                .enumerate()
                .map(|(part, (_, contributor))| {
                    let (flat, a) = networks::powers(&frequencies, &column(&noise, part + 2));
                    (*contributor, flat / reference, a / reference)
                })
                .collect();
            Simulated {
                stage: *stage,
                at_1_khz: loud + db(point[0][index + 1].powi(2) / reference),
                average: loud + db(average / reference),
                parts,
                flat: flat / reference,
                a_weighted: a_weighted / reference,
            }
        })
        .collect()
}

// Levels within 0.02 dB, noise within 0.05 dB unweighted and A-weighted, shares within 0.5 %, at every stage.
#[test]
fn engine_and_simulator_agree() {
    let all = networks();
    assert!(all.len() >= 12);
    for network in &all {
        let name = network.name;
        let mut chain = network.chain();
        let stages = chain.stages(network.setting());
        // The third-octave at 1 kHz stands for the tone.
        let tone = third_octaves().iter().position(|(_, centre, _)| (centre - 1000.0).abs() < 1.0).unwrap();
        let mut powers = BandPowers::ZERO;
        powers.0[tone] = 1.0;
        chain.spectrum = powers;
        let stages_1_khz = chain.stages(network.setting());
        for simulated in simulate(network, "engine") {
            let stage = at(&stages, simulated.stage);
            let what = |which: &str| format!("{name}, {}, {which}", stage.stage.words());
            near(what("level, white"), stage.loud, simulated.average, 0.02);
            near(what("level at 1 kHz"), at(&stages_1_khz, stage.stage).loud, simulated.at_1_khz, 0.02);
            let with_noise = network.stages().iter().any(|(known, noise)| *known == stage.stage && *noise);
            if !with_noise {
                continue;
            }
            near(what("noise"), stage.noise_flat(), db(simulated.flat), 0.05);
            near(what("noise A-weighted"), stage.noise_a(), db(simulated.a_weighted), 0.05);
            for contribution in &stage.noise {
                let (flat, a) = simulated
                    .parts
                    .iter()
                    .filter(|(contributor, ..)| *contributor == contribution.contributor)
                    .fold((0.0, 0.0), |(flat, a), (_, f, w)| (flat + f, a + w));
                let part = |which: &str| what(&format!("{which} of {}", contribution.contributor.words()));
                near(part("noise"), db(contribution.flat), db(flat), 0.05);
                near(part("noise A-weighted"), db(contribution.a_weighted), db(a), 0.05);
                let share = stage.share_a(contribution.contributor);
                near(part("share"), share, a / simulated.a_weighted, 0.005);
            }
            // Whatever makes noise in the circuit makes it in the engine.
            for (contributor, flat, _) in &simulated.parts {
                let known = stage.noise.iter().any(|c| c.contributor == *contributor);
                assert!(
                    known || *flat < 1e-9 * simulated.flat,
                    "{}",
                    what(&format!(
                        "the engine has no noise of {}, the circuit {:.1} dB",
                        contributor.words(),
                        db(*flat)
                    ))
                );
            }
        }
    }
}

// The closed form and the simulator agree on resistive networks within 0.004 dB, and the simulator's parts add up.
#[test]
fn closed_form_and_simulator_agree() {
    for network in networks().iter().filter(|network| network.is_resistive()) {
        let closed = closed_form(network);
        for simulated in simulate(network, "closed form") {
            let twin = closed.iter().find(|c| c.stage == simulated.stage).unwrap();
            let what = |which: &str| format!("{}, {}, {which}", network.name, twin.stage.words());
            near(what("level"), twin.loud, simulated.average, 0.004);
            near(what("level at 1 kHz"), twin.loud, simulated.at_1_khz, 0.004);
            if twin.stage == Stage::BoosterIn {
                continue;
            }
            near(what("noise"), twin.flat(), db(simulated.flat), 0.004);
            near(what("noise A-weighted"), twin.a_weighted(), db(simulated.a_weighted), 0.004);
            let sum: f64 = simulated.parts.iter().map(|(_, flat, _)| flat).sum();
            near(what("sum of the parts"), db(sum), db(simulated.flat), 0.0001);
        }
    }
}

// The networks cover what they are meant to cover.
#[test]
fn networks_span_the_trade() {
    let all = networks();
    let ohms: Vec<f64> = all.iter().map(Network::source_ohms).collect();
    assert!(ohms.contains(&50.0) && ohms.contains(&10_000.0), "source resistances {ohms:?}");
    let capacitances: Vec<f64> = all.iter().map(|n| n.nanofarads).collect();
    assert!(capacitances.contains(&0.0) && capacitances.contains(&5.0), "capacitances {capacitances:?} nF");
    assert!(all.iter().any(|n| n.phantom) && all.iter().any(|n| !n.phantom));
    let external = |n: &&Network| matches!(n.end, End::Preamp(Preamp { external: Some(_), .. }));
    assert!(all.iter().any(|n| n.booster.is_some()) && all.iter().filter(external).count() >= 3);
}
