//! What a case comes to. Field names carry their units; intervals are probabilistically symmetric 95 % intervals.

use crate::kernel::Ceiling;
use crate::patch::{NoInput, Patch};
use crate::stages::{Contributor, Setting, Stage, StageLevels};
use gainsay_units::Origin;
use serde::Serialize;

/// Whether something suffices.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// It suffices.
    Enough,
    /// It suffices only just, or with a cost that someone may notice.
    Tight,
    /// It does not suffice.
    Short,
}

impl Verdict {
    /// As one word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Enough => "enough",
            Self::Tight => "tight",
            Self::Short => "short",
        }
    }
}

/// An uncertain figure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Estimate {
    /// Median of the draws.
    pub median: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
}

/// Share of a contributor in the A-weighted noise.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Share {
    /// What makes it.
    pub contributor: Contributor,
    /// Mean of the draws; the means of all contributors add up to one.
    pub mean: f64,
    /// Median and interval.
    #[serde(flatten)]
    pub share: Estimate,
}

/// The whole answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// Title of the case.
    pub title: String,
    /// The asker's question.
    pub question: Option<String>,
    /// The answer in a few plain sentences.
    pub answer: Vec<String>,
    /// The worst of inputs and level.
    pub verdict: Verdict,
    /// Whether there are enough inputs.
    pub inputs: InputsAnswer,
    /// Whether level, noise and headroom suffice for every source that has an input: the worst of them.
    pub level: Option<Verdict>,
    /// Sources for which a driven sound is wanted. Whether the devices can give it is not worked out yet.
    pub colour_wanted: Vec<String>,
    /// Each source.
    pub sources: Vec<SourceAnswer>,
    /// Figures that were not given, with what was taken instead.
    pub assumed: Vec<Assumption>,
    /// The figure whose knowledge would most likely change a verdict.
    pub ask: Option<Ask>,
    /// Cautions that apply to this case.
    pub cautions: Vec<String>,
    /// Remarks on devices and microphones of the case.
    pub remarks: Vec<String>,
    /// Which source is on which input, and how everything is connected.
    #[serde(skip)]
    pub patch: Patch,
    /// Draws behind each interval.
    pub draws: usize,
    /// Seed of the draws.
    pub seed: u64,
}

/// Whether there are enough inputs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InputsAnswer {
    /// Enough, or short.
    pub verdict: Verdict,
    /// Inputs needed at once.
    pub needed: u32,
    /// Inputs used.
    pub used: u32,
    /// Microphone inputs that can be used at this sample rate.
    pub microphone_inputs: u32,
    /// Sources without an input.
    pub without_input: Vec<String>,
}

/// One source.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SourceAnswer {
    /// Its name.
    pub name: String,
    /// Its kind.
    pub kind: String,
    /// The microphone; none of an electrical source.
    pub microphone: Option<String>,
    /// From source to microphone, best estimate.
    pub distance_m: Option<f64>,
    /// A booster in its line.
    pub booster: Option<String>,
    /// The input, in words; none where inputs have run out.
    pub input: Option<String>,
    /// Why there is no input.
    #[serde(skip)]
    pub no_input: Option<NoInput>,
    /// How the device reaches the computer, in words, if not by itself.
    pub route: Option<String>,
    /// What one sentence says of it.
    pub sentence: String,
    /// Levels, noise and verdicts; none without an input.
    #[serde(flatten)]
    pub result: Option<LevelAnswer>,
}

/// Levels, noise and verdicts of one source.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LevelAnswer {
    /// The worst of noise and headroom. A low peak alone is no fault: see `reach`.
    pub verdict: Verdict,
    /// Whether the gain reaches far enough: tight, never short by itself.
    pub reach: Verdict,
    /// Whether the chain's noise matters.
    pub noise: Verdict,
    /// Whether loud passages stay clear of every ceiling.
    pub headroom: Verdict,
    /// Share of the draws that give each verdict: enough, tight, short.
    pub verdict_probabilities: [f64; 3],
    /// What limits it.
    pub limit: Limit,
    /// What limits it, in words.
    pub limit_words: String,
    /// Gain on the control; none of a line input.
    pub gain_db: Option<f64>,
    /// Most gain that the control has.
    pub most_gain_db: Option<f64>,
    /// Loss of the input's pad where it is on, else 0.
    pub pad_db: f64,
    /// Whether the microphone's own pad is on.
    pub microphone_pad: bool,
    /// Whether phantom power is on at the input.
    pub phantom: bool,
    /// What has to be added afterwards to bring the peak to the target.
    pub turn_up_afterwards_db: f64,
    /// Level at the input that reaches full scale at the most gain.
    pub full_scale_sensitivity_dbu: Option<f64>,
    /// Peak of the loudest passage in the file.
    pub peak_dbfs: Estimate,
    /// RMS of the quietest passage in the file.
    pub quiet_dbfs: Estimate,
    /// Noise in the file, A-weighted.
    pub noise_dbfs_a: Estimate,
    /// The same noise as a sound level at the microphone; none of an electrical source.
    pub noise_equivalent_dba: Option<Estimate>,
    /// From the noise, A-weighted, up to the quietest passage.
    pub quiet_above_noise_db: Estimate,
    /// All noise over what room and microphone alone would leave: what a perfect preamp would gain.
    pub penalty_db: Estimate,
    /// By how much the noise raises the listener's floor in the worst band when loud passages are replayed at the stated level.
    pub replay_rise_db: Estimate,
    /// Probability that the noise is heard there.
    pub audible_probability: f64,
    /// Probability of passing any ceiling.
    pub clipping_probability: f64,
    /// Probability of passing each ceiling.
    pub ceilings: Vec<CeilingAnswer>,
    /// What the noise is made of.
    #[serde(serialize_with = "shares_by_name")]
    pub noise_shares: Vec<Share>,
    /// What a booster would change, where gain or noise leave something to wish for and the microphone is passive.
    pub with_booster: Option<BoosterAnswer>,
    /// The best estimate, stage by stage.
    #[serde(skip)]
    pub stages: Vec<StageLevels>,
    /// Intervals of peak and quietest passage at some stages, where they were asked for.
    #[serde(skip)]
    pub stage_intervals: Vec<StageInterval>,
    /// How the chain is set.
    #[serde(skip)]
    pub setting: Setting,
}

/// What an inline booster would change.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoosterAnswer {
    /// The booster.
    pub booster: String,
    /// Gain on the control with it.
    pub gain_db: Option<f64>,
    /// Peak in the file with it.
    pub peak_dbfs: Estimate,
    /// How much it changes the noise against the signal; negative is quieter.
    pub noise_change_db: f64,
    /// What a perfect front end would still gain with it.
    pub penalty_db: Estimate,
}

/// Interval of the levels at a stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StageInterval {
    /// Which stage.
    pub stage: Stage,
    /// Peak of the loudest passage.
    pub peak: Estimate,
    /// RMS of the quietest passage.
    pub quiet: Estimate,
}

/// A ceiling and how likely it is passed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CeilingAnswer {
    /// Which ceiling.
    pub ceiling: Ceiling,
    /// Probability that the loudest peak passes it.
    pub probability: f64,
    /// Median distance of the loudest peak below it.
    pub margin_db: f64,
}

/// What limits a source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Limit {
    /// The largest part of the noise.
    Noise(Contributor),
    /// The ceiling that is passed most likely.
    Ceiling(Ceiling),
}

/// A figure that was not given.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Assumption {
    /// What it is.
    pub figure: String,
    /// What was taken.
    pub value: String,
    /// Typical for its kind, or assumed.
    pub from: Origin,
    /// Why.
    pub note: Option<String>,
}

/// The one thing to ask or measure next.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ask {
    /// The figure.
    pub figure: String,
    /// The question in plain words.
    pub question: String,
    /// The source that it matters most to.
    pub source: String,
    /// By how much knowing it would raise the probability of stating the right verdict (expected value of partial perfect
    /// information).
    pub expected_gain: f64,
}

impl Serialize for Contributor {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.key())
    }
}

impl Serialize for Ceiling {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.words())
    }
}

/// An object with a field for each contributor.
fn shares_by_name<S: serde::Serializer>(shares: &[Share], serializer: S) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct Named {
        mean: f64,
        #[serde(flatten)]
        share: Estimate,
    }
    serializer
        .collect_map(shares.iter().map(|s| (s.contributor.key(), Named { mean: s.mean, share: s.share })))
}
