//! The check: every source of a case through its input, judged.

use crate::answer::{
    Answer, Ask, Assumption, BoosterAnswer, CeilingAnswer, Estimate, InputsAnswer, LevelAnswer, Limit, Share,
    SourceAnswer, StageInterval, Verdict,
};
use crate::case::{Case, Pickup, Source};
use crate::chain::{Chain, Ending, MissingFigure, Parameter};
use crate::draws::order::{Quantiles, median};
use crate::draws::{BINS, Classes, Draws};
use crate::kernel::{Ahead, Aim, Library, Outcome, run};
use crate::patch::{Input, LineEnd, Patch, Socket, best};
use crate::stages::{Contributor, Stage};
use crate::thresholds::Thresholds;
use crate::words;
use gainsay_gear::microphone::Transducer;
use gainsay_units::math::log10;
use gainsay_units::{Decibels, Origin};
use std::cell::Cell;
use std::collections::BTreeMap;
use std::sync::Arc;

/// How much to compute.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Options {
    /// Monte Carlo draws.
    pub draws: Draws,
    /// Whether the intervals at the stages between air and file are wanted, for a picture.
    pub stage_intervals: bool,
}

/// Works out whether inputs, level, noise and headroom suffice for every source.
///
/// # Errors
/// When a figure is missing that neither a device nor the kind that it is like states.
pub fn check(case: &Case, options: Options) -> Result<Answer, MissingFigure> {
    Ok(examine(case, options)?.answer)
}

/// A check with what it rests on.
pub(crate) struct Examined {
    pub(crate) answer: Answer,
    /// For each source its chain and the verdict of each draw: 0 enough, 1 tight, 2 short; none without an input.
    pub(crate) chains: Vec<Option<(Chain, Vec<u8>)>>,
}

/// The same as [`check`], with what it rests on.
pub(crate) fn examine(case: &Case, options: Options) -> Result<Examined, MissingFigure> {
    let patch = best(case)?;
    let mut judge = Judge::new(case, options);
    let mut sources = Vec::with_capacity(case.sources.len());
    for (source, input) in case.sources.iter().zip(&patch.inputs) {
        sources.push(judge.source(source, input.as_ref())?);
        judge.library.forget_sources();
    }
    let chains = std::mem::take(&mut judge.chains);
    let inputs = inputs(case, &patch);
    let level = sources.iter().filter_map(|s| s.result.as_ref()).map(|r| r.verdict).max();
    let mut answer = Answer {
        title: case.title.clone(),
        question: case.question.clone(),
        answer: Vec::new(),
        verdict: inputs.verdict.max(level.unwrap_or(Verdict::Enough)),
        inputs,
        level,
        colour_wanted: case.sources.iter().filter(|s| s.colour).map(|s| s.name.clone()).collect(),
        ask: judge.ask(),
        assumed: judge.assumed(case),
        cautions: words::cautions(case, &sources),
        remarks: words::remarks(case, &patch),
        sources,
        patch,
        draws: options.draws.rounded(),
        seed: options.draws.seed,
    };
    answer.answer = words::answer(&answer);
    Ok(Examined { answer, chains })
}

/// Works out one source of a case through an input, for a what-if: nothing else of the case is looked at, and the patch stays as it
/// is.
///
/// # Errors
/// As [`check`].
pub fn check_one(
    case: &Case,
    source: &Source,
    input: &Input,
    options: Options,
) -> Result<SourceAnswer, MissingFigure> {
    // What-ifs follow each other, and the devices stay the same from one to the next.
    thread_local! {
        static LAST: Cell<Option<Library>> = const { Cell::new(None) };
    }
    let mut judge = Judge::new(case, options);
    if let Some(library) = LAST.take().filter(|library| library.is_of(options.draws)) {
        judge.library = library;
    }
    let answer = judge.source(source, Ok(input));
    judge.library.forget_sources();
    LAST.set(Some(judge.library));
    answer
}

/// The chain of one source of a case through the input that it gets; none where inputs have run out.
///
/// # Errors
/// As [`check`].
pub fn chain_of(case: &Case, source: usize) -> Result<Option<(Chain, Input)>, MissingFigure> {
    let patch = best(case)?;
    let (Some(source), Some(Ok(input))) = (case.sources.get(source), patch.inputs.get(source)) else {
        return Ok(None);
    };
    Ok(Some((Chain::new(case, source, input)?, input.clone())))
}

fn inputs(case: &Case, patch: &Patch) -> InputsAnswer {
    let without_input: Vec<String> = case
        .sources
        .iter()
        .zip(&patch.inputs)
        .filter(|(_, input)| input.is_err())
        .map(|(source, _)| source.name.clone())
        .collect();
    InputsAnswer {
        verdict: if without_input.is_empty() { Verdict::Enough } else { Verdict::Short },
        needed: patch.needed,
        used: patch.used,
        microphone_inputs: patch.microphone_inputs,
        without_input,
    }
}

pub(crate) use crate::kernel::Swing;

/// Judges chains, one after the other.
pub(crate) struct Judge<'a> {
    case: &'a Case,
    options: Options,
    aim: Aim,
    library: Library,
    /// For each figure what knowing it would be worth, summed over sources, with the source to which it is worth most.
    worth: BTreeMap<String, Worth>,
    /// Every figure that was used, by its key.
    used: BTreeMap<String, Parameter>,
    /// The chains that were judged, source by source.
    chains: Vec<Option<(Chain, Vec<u8>)>>,
}

struct Worth {
    total: f64,
    best: f64,
    source: String,
    parameter: Parameter,
    role: words::Role,
}

impl<'a> Judge<'a> {
    pub(crate) fn new(case: &'a Case, options: Options) -> Self {
        Self {
            case,
            options,
            aim: Aim::of(case),
            library: Library::new(options.draws),
            worth: BTreeMap::new(),
            used: BTreeMap::new(),
            chains: Vec::new(),
        }
    }

    /// Verdict and penalty of a chain, and nothing else.
    pub(crate) fn suitability(&mut self, chain: &Chain) -> (Verdict, Decibels) {
        let ahead = Ahead::of(chain, &mut self.library, &self.aim);
        self.suitability_behind(&ahead, chain)
    }

    /// The same with each of some line inputs behind the chain's preamp.
    ///
    /// # Errors
    /// When a line input does not state a figure that has to be known.
    pub(crate) fn suitabilities(
        &mut self,
        mut chain: Chain,
        landings: &[LineEnd],
    ) -> Result<Vec<(Verdict, Decibels)>, MissingFigure> {
        let ahead = Ahead::of(&chain, &mut self.library, &self.aim);
        let mut all = Vec::with_capacity(landings.len());
        for landing in landings {
            chain.land(self.case, landing)?;
            all.push(self.suitability_behind(&ahead, &chain));
        }
        Ok(all)
    }

    fn suitability_behind(&mut self, ahead: &Ahead, chain: &Chain) -> (Verdict, Decibels) {
        let outcome = ahead.verdict_of(chain, &mut self.library, &self.aim);
        let penalty = 10.0 * log10(median(&outcome.penalty));
        let (noise, _) = noise_of(&outcome, penalty, &self.case.thresholds);
        (noise.max(headroom_of(&outcome, &self.case.thresholds).0), Decibels::new(penalty))
    }

    /// What each uncertain figure of a chain does to it: means over the draws in the figure's lowest and highest tenth.
    pub(crate) fn swings(&mut self, chain: &Chain) -> Vec<Swing> {
        let outcome = run(chain, &mut self.library, &self.aim);
        let classes = classes(&outcome, &self.case.thresholds);
        self.library.swings(chain, &outcome.penalty, &classes)
    }

    /// Drops the draws that belong to one source alone.
    pub(crate) fn forget_source(&mut self) {
        self.library.forget_sources();
    }

    fn source(
        &mut self,
        source: &Source,
        input: Result<&Input, &crate::patch::NoInput>,
    ) -> Result<SourceAnswer, MissingFigure> {
        let result = match input {
            Ok(input) => {
                let mut result = self.level(source, input)?;
                result.with_booster = self.with_booster(source, input, &result)?;
                Some(result)
            }
            Err(_) => {
                self.chains.push(None);
                None
            }
        };
        let mut answer = SourceAnswer {
            name: source.name.clone(),
            kind: source.kind.name.clone(),
            microphone: source.microphone().map(|m| m.name.clone()),
            distance_m: match &source.pickup {
                Pickup::Acoustic { distance, .. } => Some(distance.value.metres()),
                Pickup::Electrical { .. } => None,
            },
            booster: source.booster.as_ref().map(|b| b.name.clone()),
            input: input.ok().map(Input::words),
            no_input: input.err().copied(),
            route: input.ok().and_then(words::route),
            sentence: String::new(),
            result,
        };
        answer.sentence = words::source(&answer);
        Ok(answer)
    }

    /// What the usual booster would change, where gain or noise leave something to wish for, the microphone is passive and
    /// the input has the phantom power that a booster needs.
    fn with_booster(
        &mut self,
        source: &Source,
        input: &Input,
        without: &LevelAnswer,
    ) -> Result<Option<BoosterAnswer>, MissingFigure> {
        let passive = source
            .microphone()
            .and_then(gainsay_gear::Device::microphone)
            .is_some_and(|m| m.transducer.is_some_and(Transducer::is_passive));
        let phantom = matches!(&input.socket, Socket::Microphone(group) if group.phantom == Some(true));
        let wanting = without.reach.max(without.noise) != Verdict::Enough;
        let (Some(booster), true) =
            (&self.case.usual_booster, passive && phantom && source.booster.is_none() && wanting)
        else {
            return Ok(None);
        };
        let boosted = Source { booster: Some(Arc::clone(booster)), ..source.clone() };
        let chain = Chain::new(self.case, &boosted, input)?;
        let with = self.judged(source, &chain);
        let noise = |answer: &LevelAnswer| answer.noise_equivalent_dba.map_or(f64::NAN, |e| e.median);
        Ok(Some(BoosterAnswer {
            booster: booster.name.clone(),
            gain_db: with.gain_db,
            peak_dbfs: with.peak_dbfs,
            noise_change_db: noise(&with) - noise(without),
            penalty_db: with.penalty_db,
        }))
    }

    fn level(&mut self, source: &Source, input: &Input) -> Result<LevelAnswer, MissingFigure> {
        let chain = Chain::new(self.case, source, input)?;
        for parameter in chain.parameters() {
            self.used.entry(parameter.key.clone()).or_insert_with(|| parameter.clone());
        }
        let (answer, classes) = self.judge(source, &chain);
        self.weigh(&chain, &classes);
        self.chains.push(Some((chain, classes)));
        Ok(answer)
    }

    fn judged(&mut self, source: &Source, chain: &Chain) -> LevelAnswer {
        self.judge(source, chain).0
    }

    /// Levels, noise and verdicts of a chain, and the verdict of each draw.
    fn judge(&mut self, source: &Source, chain: &Chain) -> (LevelAnswer, Vec<u8>) {
        let outcome = run(chain, &mut self.library, &self.aim);
        let thresholds = self.case.thresholds;
        let classes = classes(&outcome, &thresholds);

        let n = classes.len() as f64;
        let share_of = |class: u8| classes.iter().filter(|c| **c == class).count() as f64 / n;
        let penalty = to_db(Quantiles::of(&outcome.penalty));
        let (noise, audible_probability) = noise_of(&outcome, penalty.median, &thresholds);
        let (headroom, clipping_probability) = headroom_of(&outcome, &thresholds);
        let target = self.aim.peak_target;
        let reach = if outcome.peak_at_most_gain < target - thresholds.reach.db() {
            Verdict::Tight
        } else {
            Verdict::Enough
        };

        let noise_equivalent =
            source.microphone().is_some().then(|| estimate(Quantiles::of(&outcome.noise_at_source)));
        let quiet_above_noise_db = estimate(Quantiles::of(&outcome.quiet_above_noise));
        let noise_shares: Vec<Share> = outcome
            .shares
            .iter()
            .map(|(contributor, shares)| {
                let mean = shares.iter().sum::<f64>() / shares.len() as f64;
                Share { contributor: *contributor, mean, share: estimate(Quantiles::of(shares)) }
            })
            .collect();
        let stage_intervals =
            if self.options.stage_intervals { stage_intervals(chain, &outcome) } else { Vec::new() };
        let noise_dbfs_a = estimate(Quantiles::of(&outcome.noise_dbfs_a));
        let ceilings: Vec<CeilingAnswer> = outcome
            .ceilings
            .iter()
            .zip(&outcome.margins)
            .map(|((ceiling, probability), (_, margin))| CeilingAnswer {
                ceiling: *ceiling,
                probability: *probability,
                margin_db: *margin,
            })
            .collect();
        let limit = limit(headroom, noise, &ceilings, &noise_shares);
        let peak_dbfs = estimate(Quantiles::of(&outcome.peak_dbfs));
        let quiet_dbfs = estimate(Quantiles::of(&outcome.quiet_dbfs));
        let rise = Quantiles::of(&outcome.rise).map(|r| 10.0 * log10(1.0 + r));
        let (gain_db, most_gain_db, pad_db) = match &chain.ending {
            Ending::Preamp(preamp) => (
                Some((preamp.least_gain + outcome.setting.above_least).db()),
                Some(preamp.least_gain.db() + chain.value(preamp.gain_range)),
                if outcome.setting.pad { preamp.pad.map_or(0.0, Decibels::db) } else { 0.0 },
            ),
            Ending::Line(_) => (None, None, 0.0),
        };
        let answer = LevelAnswer {
            verdict: noise.max(headroom),
            reach,
            noise,
            headroom,
            verdict_probabilities: [share_of(0), share_of(1), share_of(2)],
            limit,
            limit_words: words::limit(limit, noise),
            gain_db,
            most_gain_db,
            pad_db,
            microphone_pad: outcome.setting.microphone_pad,
            phantom: chain.phantom,
            turn_up_afterwards_db: (target - peak_dbfs.median).max(0.0),
            full_scale_sensitivity_dbu: outcome.full_scale_sensitivity,
            peak_dbfs,
            quiet_dbfs,
            noise_dbfs_a,
            noise_equivalent_dba: noise_equivalent,
            quiet_above_noise_db,
            penalty_db: penalty,
            replay_rise_db: estimate(rise),
            audible_probability,
            clipping_probability,
            ceilings,
            noise_shares,
            with_booster: None,
            stages: chain.stages(outcome.setting),
            stage_intervals,
            setting: outcome.setting,
        };
        (answer, classes)
    }

    /// What knowing each figure of a chain would be worth: the expected rise of the probability of stating the right verdict
    /// (partial perfect information, by bins of equal probability), above what a figure without influence would seem to be
    /// worth by chance.
    fn weigh(&mut self, chain: &Chain, classes: &[u8]) {
        let classes = Classes::of(classes);
        let by_bin = self.library.classes_by_bin(chain, &classes);
        let chance = worth(&self.library.classes_by_chance(&classes));
        for (id, counts) in by_bin {
            let Some(parameter) = chain.parameter(id) else { continue };
            let worth = worth(&counts) - chance;
            let entry = self.worth.entry(parameter.key.clone()).or_insert_with(|| Worth {
                total: 0.0,
                best: f64::NEG_INFINITY,
                source: chain.source.clone(),
                parameter: parameter.clone(),
                role: words::Role::of(chain, id),
            });
            entry.total += worth;
            if worth > entry.best {
                entry.best = worth;
                entry.source.clone_from(&chain.source);
            }
        }
    }

    /// The figure that is worth most, if any is worth asking.
    fn ask(&self) -> Option<Ask> {
        /// Below this, knowing a figure changes next to nothing.
        const WORTH_ASKING: f64 = 0.01;
        let best = self.worth.values().max_by(|a, b| a.total.total_cmp(&b.total))?;
        (best.total >= WORTH_ASKING).then(|| Ask {
            figure: best.parameter.label.clone(),
            question: words::question(best.role, &best.parameter, &best.source),
            source: best.source.clone(),
            expected_gain: best.total.min(1.0),
        })
    }

    /// Everything that was not given, once each.
    fn assumed(&self, case: &Case) -> Vec<Assumption> {
        let mut assumed: Vec<Assumption> = Vec::new();
        let session = &case.session;
        let mut of_session = |figure: &str, written: &str, origin: Origin, note: &Option<String>| {
            if origin == Origin::Assumed {
                assumed.push(Assumption {
                    figure: figure.to_owned(),
                    value: words::figure(written),
                    from: origin,
                    note: note.clone(),
                });
            }
        };
        of_session(
            "sample rate",
            &session.sample_rate.written,
            session.sample_rate.origin,
            &session.sample_rate.note,
        );
        of_session(
            "bit depth",
            &session.bit_depth.written,
            session.bit_depth.origin,
            &session.bit_depth.note,
        );
        of_session(
            "peak target",
            &session.peak_target.written,
            session.peak_target.origin,
            &session.peak_target.note,
        );
        of_session(
            "replay level",
            &session.replay_level.written,
            session.replay_level.origin,
            &session.replay_level.note,
        );
        of_session(
            "listening room",
            &session.listening_room.written,
            session.listening_room.origin,
            &session.listening_room.note,
        );
        let mut figures: Vec<&Parameter> =
            self.used.values().filter(|p| p.origin >= Origin::Typical).collect();
        figures.sort_by(|a, b| {
            let worth = |p: &Parameter| self.worth.get(&p.key).map_or(0.0, |w| w.total.max(0.0));
            worth(b).total_cmp(&worth(a)).then_with(|| a.key.cmp(&b.key))
        });
        assumed.extend(figures.into_iter().map(|p| Assumption {
            figure: p.label.clone(),
            value: words::figure(&p.written),
            from: p.origin,
            note: p.note.clone(),
        }));
        assumed
    }
}

/// Σ over bins of the most frequent class in the bin, less the most frequent class overall, as a share of all draws.
fn worth(counts: &[[u32; 3]; BINS]) -> f64 {
    let mut total = [0_u32; 3];
    let mut informed = 0_u32;
    for row in counts {
        informed += row.iter().max().copied().unwrap_or(0);
        for (sum, count) in total.iter_mut().zip(row) {
            *sum += count;
        }
    }
    let all: u32 = total.iter().sum();
    let blind = total.iter().max().copied().unwrap_or(0);
    (f64::from(informed) - f64::from(blind)) / f64::from(all.max(1))
}

/// Verdict on the noise, and the probability that it is heard at replay.
fn noise_of(outcome: &Outcome, penalty_db: f64, thresholds: &Thresholds) -> (Verdict, f64) {
    let least_rise = thresholds.audible_rise.power_ratio() - 1.0;
    let audible =
        outcome.rise.iter().filter(|r| **r >= least_rise).count() as f64 / outcome.rise.len() as f64;
    (noise_verdict(penalty_db, audible >= 0.5, thresholds), audible)
}

/// Verdict on the headroom, and the probability of passing any ceiling.
fn headroom_of(outcome: &Outcome, thresholds: &Thresholds) -> (Verdict, f64) {
    let clipping = outcome.clips.iter().filter(|c| **c).count() as f64 / outcome.clips.len() as f64;
    let verdict = if clipping < thresholds.clipping_enough.fraction() {
        Verdict::Enough
    } else if clipping < thresholds.clipping_short.fraction() {
        Verdict::Tight
    } else {
        Verdict::Short
    };
    (verdict, clipping)
}

fn noise_verdict(penalty_db: f64, audible: bool, thresholds: &Thresholds) -> Verdict {
    if penalty_db <= thresholds.penalty_enough.db() || !audible {
        Verdict::Enough
    } else if penalty_db > thresholds.penalty_short.db() {
        Verdict::Short
    } else {
        Verdict::Tight
    }
}

/// The verdict of every draw: 0 enough, 1 tight, 2 short. A draw that clips is short.
fn classes(outcome: &Outcome, thresholds: &Thresholds) -> Vec<u8> {
    let enough = thresholds.penalty_enough.power_ratio();
    let short = thresholds.penalty_short.power_ratio();
    let audible = thresholds.audible_rise.power_ratio() - 1.0;
    outcome
        .penalty
        .iter()
        .zip(&outcome.rise)
        .zip(&outcome.clips)
        .map(|((penalty, rise), clips)| {
            if *clips {
                2
            } else if *penalty <= enough || *rise < audible {
                0
            } else if *penalty > short {
                2
            } else {
                1
            }
        })
        .collect()
}

/// The ceiling that is passed most likely, where headroom is not enough; else the largest part of the noise: of all of it where
/// the chain is good enough, of what the chain adds where it is not.
fn limit(headroom: Verdict, noise: Verdict, ceilings: &[CeilingAnswer], shares: &[Share]) -> Limit {
    if headroom != Verdict::Enough
        && let Some(worst) = ceilings.iter().max_by(|a, b| a.probability.total_cmp(&b.probability))
    {
        return Limit::Ceiling(worst.ceiling);
    }
    let largest = shares
        .iter()
        .filter(|share| noise == Verdict::Enough || !share.contributor.is_ahead_of_chain())
        .max_by(|a, b| a.mean.total_cmp(&b.mean));
    Limit::Noise(largest.map_or(Contributor::Room, |share| share.contributor))
}

fn estimate(quantiles: Quantiles) -> Estimate {
    Estimate { median: quantiles.median, low: quantiles.low, high: quantiles.high }
}

fn to_db(quantiles: Quantiles) -> Estimate {
    estimate(quantiles.map(|ratio| 10.0 * log10(ratio)))
}

/// Intervals of peak and quietest passage where they can be seen in a picture.
fn stage_intervals(chain: &Chain, outcome: &Outcome) -> Vec<StageInterval> {
    let over_sine: Vec<f64> =
        outcome.peak_dbfs.iter().zip(&outcome.loud_dbfs).map(|(peak, loud)| peak - loud).collect();
    let range: Vec<f64> =
        outcome.loud_dbfs.iter().zip(&outcome.quiet_dbfs).map(|(loud, quiet)| quiet - loud).collect();
    let mut intervals = Vec::new();
    let mut push = |stage: Stage, loud: &[f64]| {
        let peak: Vec<f64> = loud.iter().zip(&over_sine).map(|(l, o)| l + o).collect();
        let quiet: Vec<f64> = loud.iter().zip(&range).map(|(l, r)| l + r).collect();
        intervals.push(StageInterval {
            stage,
            peak: estimate(Quantiles::of(&peak)),
            quiet: estimate(Quantiles::of(&quiet)),
        });
    };
    if matches!(chain.origin, crate::chain::Origination::Microphone(_)) {
        push(Stage::Air, &outcome.loud_source);
    }
    push(Stage::Microphone, &outcome.loud_emf);
    if let Ending::Preamp(preamp) = &chain.ending {
        // The stage lies behind the input's pad.
        let pad = preamp.pad.filter(|_| outcome.setting.pad).map_or(0.0, Decibels::db);
        let behind: Vec<f64> = outcome.loud_in.iter().map(|level| level - pad).collect();
        push(Stage::PreampIn, &behind);
    } else {
        push(Stage::LineIn, &outcome.loud_in);
    }
    push(Stage::File, &outcome.loud_dbfs);
    intervals
}
