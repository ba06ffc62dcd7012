//! The Monte Carlo engine: the formulas of [`crate::stages`] for ten thousand draws at once.
//!
//! ```text
//! library  draws of the figures ──┐
//! engine   a chain with its draws ┴─ network  sums over the bands ──┐
//!                                  └ levels   up to the input, gain ─┴─ noise ─ Outcome
//! ```
//!
//! A band is one sum instead of four nodes; what the divider does inside the band is kept by a factor per band, taken from the
//! nodes at the best estimate. Draws go eight at a time through plain arithmetic, so that it vectorises and gives the same
//! bits on every platform.

mod band_sum;
mod engine;
mod junction;
mod levels;
mod library;
mod network;
mod noise;

pub(crate) use library::{Library, Swing};

use crate::case::Case;
use crate::chain::{Chain, Ending};
use crate::draws::decibels::{levels_to_powers, powers_to_levels};
use crate::draws::lane::{LANES, Lane, View};
use crate::draws::order::median;
use crate::stages::{Contributor, SINE_CREST, Setting};
use engine::{Draw, Engine};
use gainsay_units::bands::BandPowers;
use gainsay_units::hearing::threshold_powers;
use gainsay_units::room::band_powers_of_a_weighted;
use gainsay_units::{DbSpl, Decibels};
use levels::{Choice, InputLevels, SourceDraws, choose_gain, median_peak};
use multiversion::multiversion;
use network::{Network, Sums};
use noise::{N_PARTS, NoiseDraws};
use std::cell::Cell;

/// Everything that the draws of one chain give, as columns; levels in dB.
#[derive(Debug, Clone, Default)]
pub(crate) struct Outcome {
    /// How the chain was set.
    pub(crate) setting: Setting,
    /// Peak in the file, dBFS.
    pub(crate) peak_dbfs: Vec<f64>,
    /// RMS of the loudest passage at the microphone: dB SPL, or dBu of an electrical source.
    pub(crate) loud_source: Vec<f64>,
    /// RMS of the loudest passage in the file, dBFS.
    pub(crate) loud_dbfs: Vec<f64>,
    /// RMS of the quietest passage in the file, dBFS.
    pub(crate) quiet_dbfs: Vec<f64>,
    /// Whether any ceiling is passed.
    pub(crate) clips: Vec<bool>,
    /// Probabilities of passing each ceiling.
    pub(crate) ceilings: Vec<(Ceiling, f64)>,
    /// Median margin below each ceiling, dB.
    pub(crate) margins: Vec<(Ceiling, f64)>,
    /// A-weighted noise in the file, dBFS.
    pub(crate) noise_dbfs_a: Vec<f64>,
    /// The same as a level at the source.
    pub(crate) noise_at_source: Vec<f64>,
    /// From that noise up to the quietest passage, dB.
    pub(crate) quiet_above_noise: Vec<f64>,
    /// All noise over what room and microphone alone would leave, as a ratio of powers.
    pub(crate) penalty: Vec<f64>,
    /// By how much the noise raises the listener's floor in the worst band, as a ratio of powers less one.
    pub(crate) rise: Vec<f64>,
    /// For each contributor its share of the A-weighted noise.
    pub(crate) shares: Vec<(Contributor, Vec<f64>)>,
    /// RMS of the loudest passage as the source's open-circuit voltage, dBu.
    pub(crate) loud_emf: Vec<f64>,
    /// The same at the terminals of the last input, dBu.
    pub(crate) loud_in: Vec<f64>,
    /// Peak in the file at the most gain, best estimate, dBFS.
    pub(crate) peak_at_most_gain: f64,
    /// Level at the input that reaches full scale at the most gain, dBu; none of a line input.
    pub(crate) full_scale_sensitivity: Option<f64>,
}

/// What a peak can run into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ceiling {
    /// The microphone's maximum sound level.
    Microphone,
    /// The booster's output.
    Booster,
    /// The preamp, or full scale behind it.
    Input,
}

impl Ceiling {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Microphone => "microphone",
            Self::Booster => "booster",
            Self::Input => "input",
        }
    }
}

/// What the engine needs to know beside the chain.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Aim {
    /// dBFS.
    pub(crate) peak_target: f64,
    /// dB SPL of loud passages at replay.
    pub(crate) replay_level: f64,
    /// Highest probability of clipping that the choice of gain allows.
    pub(crate) clipping: f64,
    /// What the listener hears without the recording, in each band re 20 µPa squared.
    pub(crate) listener_floor: BandPowers,
}

impl Aim {
    /// What a case aims at.
    pub(crate) fn of(case: &Case) -> Self {
        // The same rooms are asked for over and over.
        thread_local! {
            static LAST: Cell<Option<(DbSpl, BandPowers)>> = const { Cell::new(None) };
        }
        let room = case.session.listening_room.value;
        let listening_room = match LAST.get() {
            Some((known, powers)) if known == room => powers,
            _ => {
                let powers = band_powers_of_a_weighted(room);
                LAST.set(Some((room, powers)));
                powers
            }
        };
        Self {
            peak_target: case.session.peak_target.value.dbfs(),
            replay_level: case.session.replay_level.value.db_spl(),
            clipping: case.thresholds.clipping_enough.fraction(),
            listener_floor: listening_room.plus(&threshold_powers()),
        }
    }
}

/// How much of an outcome is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Extent {
    /// All of it.
    Whole,
    /// What a verdict rests on: penalty, rise and clips. The other columns stay empty.
    Verdict,
}

/// Runs a chain: chooses its setting, then draws levels and noise.
pub(crate) fn run(chain: &Chain, library: &mut Library, aim: &Aim) -> Outcome {
    let draw = Draw::new(chain, library);
    let engine = Engine::new(chain, &draw);
    let ahead = AheadOfGain::of(&engine, aim);
    let mut outcome = ahead.behind(&engine, aim, Extent::Whole);
    outcome.loud_emf = ahead.source.emf;
    outcome.loud_source = ahead.source.loud;
    outcome.loud_in = ahead.loud_in;
    outcome
}

/// What the draws of a chain give ahead of its gain: the same whatever line input follows its preamp.
pub(crate) struct Ahead {
    draw: Draw,
    of: AheadOfGain,
    /// The first parameter of the line input behind the preamp; without one, of nothing.
    converter: usize,
}

struct AheadOfGain {
    network: Network,
    sums: Sums,
    source: SourceDraws,
    booster_margin: Option<Vec<f64>>,
    loud_in: Vec<f64>,
}

impl Ahead {
    pub(crate) fn of(chain: &Chain, library: &mut Library, aim: &Aim) -> Self {
        let draw = Draw::new(chain, library);
        let of = AheadOfGain::of(&Engine::new(chain, &draw), aim);
        let converter = chain.converter().map_or(chain.parameters().len(), |line| line.full_scale.index());
        Self { draw, of, converter }
    }

    /// What a verdict on a chain rests on (penalty, rise and clips) that is the same up to the line input behind its preamp.
    pub(crate) fn verdict_of(&self, chain: &Chain, library: &mut Library, aim: &Aim) -> Outcome {
        let draw = self.draw.alike_up_to(self.converter, chain, library);
        self.of.behind(&Engine::new(chain, &draw), aim, Extent::Verdict)
    }
}

impl AheadOfGain {
    fn of(engine: &Engine<'_>, aim: &Aim) -> Self {
        let network = Network::new(engine, &aim.listener_floor);
        let sums = network::sums(&network, engine.lanes);
        let source = SourceDraws::of(engine, aim);
        let booster_margin = booster_margin(engine, &source, &sums);
        let loud_in = loud_in(engine, &source, &sums);
        Self { network, sums, source, booster_margin, loud_in }
    }

    /// Chooses the setting, then draws levels and noise in the file.
    fn behind(&self, engine: &Engine<'_>, aim: &Aim, extent: Extent) -> Outcome {
        let Self { network, sums, source, booster_margin, loud_in } = self;
        let chain = engine.chain;
        let loud_in = View::of(loud_in);
        let levels = InputLevels::of(engine);
        let (limit, crest) = (View::of(&levels.limit), engine.figure(chain.crest));
        // Margin below the input's ceiling at the lowest gain; it falls dB for dB as the gain rises.
        let mut margin = engine.column(|i| limit.at(i) - loud_in.at(i) - (crest.at(i) - SINE_CREST.db()));
        let peak = median_peak(engine, &levels, loud_in, &margin);
        let choice = choose_gain(engine, aim, &margin, peak);
        // At the end of its range the control gives what it gives: the range is a figure with a tolerance of its own.
        let range = match &chain.ending {
            Ending::Preamp(preamp) if choice.at_most => Some(engine.figure(preamp.gain_range)),
            _ => None,
        };
        let above = |index: usize| range.map_or(Lane::all(choice.above_least), |range| range.at(index));
        for (index, margin) in margin.as_chunks_mut().0.iter_mut().enumerate() {
            *margin = (Lane(*margin) + (Lane::all(choice.pad_db) - above(index))).0;
        }

        let mut outcome = Outcome {
            setting: Setting {
                above_least: Decibels::new(choice.above_least),
                pad: choice.pad_db > 0.0,
                microphone_pad: source.pad.is_some(),
            },
            peak_at_most_gain: choice.peak_at_most,
            full_scale_sensitivity: levels.sensitivity,
            clips: vec![false; engine.lanes * LANES],
            ..Outcome::default()
        };
        for (ceiling, margin) in [
            (Ceiling::Microphone, source.margin.as_ref()),
            (Ceiling::Booster, booster_margin.as_ref()),
            (Ceiling::Input, Some(&margin)),
        ] {
            let Some(margin) = margin else { continue };
            if extent == Extent::Whole {
                outcome.ceilings.push((ceiling, probability_negative(margin)));
                outcome.margins.push((ceiling, median(margin)));
            }
            for (clip, m) in outcome.clips.iter_mut().zip(margin) {
                *clip |= *m < 0.0;
            }
        }
        let noise = NoiseDraws::new(engine, network, sums, &choice, source.pad);
        let full_scale = levels.full_scale();
        let in_file =
            InFile { engine, aim, choice: &choice, source, loud_in, full_scale, noise: &noise, extent };
        in_file.add_to(&mut outcome, &above);
        outcome
    }
}

/// Margin of the loudest peak below the booster's ceiling.
fn booster_margin(engine: &Engine<'_>, source: &SourceDraws, sums: &Sums) -> Option<Vec<f64>> {
    let booster = engine.chain.booster.as_ref()?;
    let signal = View::of(&sums.signal_first);
    let through = engine.levels(|i| signal.at(i));
    let (emf, through) = (View::of(&source.emf), View::of(&through));
    let (gain, maximum) = (engine.figure(booster.gain), engine.figure(booster.maximum_output));
    let crest = engine.figure(engine.chain.crest);
    Some(engine.column(|i| {
        let output = emf.at(i) + through.at(i) + gain.at(i);
        maximum.at(i) - output - (crest.at(i) - SINE_CREST.db())
    }))
}

/// RMS level of the loudest passage at the terminals of the last input.
fn loud_in(engine: &Engine<'_>, source: &SourceDraws, sums: &Sums) -> Vec<f64> {
    let signal = View::of(&sums.signal);
    let through = engine.levels(|i| signal.at(i));
    let (emf, through) = (View::of(&source.emf), View::of(&through));
    let gain = engine.chain.booster.as_ref().map(|booster| engine.figure(booster.gain));
    engine.column(|i| {
        let level = emf.at(i) + through.at(i);
        gain.map_or(level, |gain| level + gain.at(i))
    })
}

/// All that levels and noise in the file come from.
struct InFile<'a, 'b> {
    engine: &'b Engine<'a>,
    aim: &'b Aim,
    choice: &'b Choice,
    source: &'b SourceDraws,
    loud_in: View<'b>,
    full_scale: View<'b>,
    noise: &'b NoiseDraws<'b>,
    extent: Extent,
}

impl InFile<'_, '_> {
    /// Adds levels and noise in the file; `above` is the gain above the lowest.
    fn add_to(&self, outcome: &mut Outcome, above: &impl Fn(usize) -> Lane) {
        let Self { engine, aim, choice, source, loud_in, full_scale, noise, extent } = self;
        let crest = engine.figure(engine.chain.crest);
        let at_gain = |index: usize| loud_in.at(index) - choice.pad_db;
        // What reads 0 dBFS at the gain's input.
        let digital = engine.column(|i| full_scale.at(i) - above(i));
        let mut digital_powers = digital.clone();
        levels_to_powers(&mut digital_powers);
        let (digital, digital_powers) = (View::of(&digital), View::of(&digital_powers));
        let mut replay = engine.column(|i| Lane::all(aim.replay_level) - at_gain(i));
        levels_to_powers(&mut replay);

        let contributors = noise.contributors();
        let column = || Vec::with_capacity(engine.lanes * LANES);
        let whole = *extent == Extent::Whole;
        let mut shares = contributors.map(|contributor| contributor.filter(|_| whole).map(|_| column()));
        (outcome.penalty, outcome.rise, outcome.noise_dbfs_a) = (column(), column(), column());
        add_up(noise, digital_powers, View::of(&replay), engine.lanes, outcome, &mut shares);
        if !whole {
            outcome.noise_dbfs_a = Vec::new();
            return;
        }
        powers_to_levels(&mut outcome.noise_dbfs_a);

        outcome.loud_dbfs = engine.column(|i| at_gain(i) - digital.at(i));
        let (loud, quiet) = (View::of(&source.loud), View::of(&source.quiet));
        let (loud_dbfs, noise_dbfs) = (View::of(&outcome.loud_dbfs), View::of(&outcome.noise_dbfs_a));
        outcome.peak_dbfs = engine.column(|i| loud_dbfs.at(i) + (crest.at(i) - SINE_CREST.db()));
        outcome.quiet_dbfs = engine.column(|i| loud_dbfs.at(i) + quiet.at(i) - loud.at(i));
        outcome.noise_at_source = engine.column(|i| noise_dbfs.at(i) + loud.at(i) - loud_dbfs.at(i));
        let quiet_dbfs = View::of(&outcome.quiet_dbfs);
        outcome.quiet_above_noise = engine.column(|i| quiet_dbfs.at(i) - noise_dbfs.at(i));
        // A preamp whose range its input already explains adds nothing behind its gain.
        let adds_something = |contributor: &Contributor, shares: &[f64]| {
            *contributor != Contributor::AfterGain || shares.iter().any(|share| *share > 0.0)
        };
        outcome.shares = contributors
            .into_iter()
            .zip(shares)
            .filter_map(|(contributor, shares)| contributor.zip(shares))
            .filter(|(contributor, shares)| adds_something(contributor, shares))
            .collect();
    }
}

/// Noise of every draw: totals, what the listener hears, shares.
#[multiversion(targets("x86_64+avx2"))]
fn add_up(
    noise: &NoiseDraws<'_>,
    digital: View<'_>,
    replay: View<'_>,
    lanes: usize,
    outcome: &mut Outcome,
    shares: &mut [Option<Vec<f64>>; N_PARTS],
) {
    for index in 0..lanes {
        let full_scale = digital.at(index);
        let noise = noise.at(index, full_scale);
        outcome.penalty.extend_from_slice(&(noise.total / noise.ahead).0);
        outcome.rise.extend_from_slice(&(noise.worst * replay.at(index)).0);
        outcome.noise_dbfs_a.extend_from_slice(&(noise.total / full_scale).0);
        let inverse = Lane::all(1.0) / noise.total;
        for (share, part) in shares.iter_mut().zip(noise.parts) {
            if let Some(share) = share {
                share.extend_from_slice(&(part * inverse).0);
            }
        }
    }
}

fn probability_negative(margins: &[f64]) -> f64 {
    margins.iter().filter(|m| **m < 0.0).count() as f64 / margins.len().max(1) as f64
}
