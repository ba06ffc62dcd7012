//! What each of several devices would really record of one source, and whether anyone would hear the difference.

use super::estimate;
use crate::answer::{Estimate, LevelAnswer, Verdict};
use crate::case::Case;
use crate::chain::MissingFigure;
use crate::check::{Options, chain_of, check};
use crate::kernel::{Aim, Library, run};
use crate::words::footing as words;
use serde::Serialize;

/// Whether a device can be heard apart from the one that records most quietly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Apart {
    /// It is that one.
    First,
    /// The noise of neither is heard at replay.
    NeitherHeard,
    /// They differ by less than what is audible.
    TooSmall,
    /// The difference can be heard.
    Heard,
    /// It has no input for this source.
    NoInput,
}

/// What one device would record.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Recording {
    /// The device.
    pub name: String,
    /// Its place; devices that can't be heard apart from the first of a place share it.
    pub place: usize,
    /// How much more noise it records than the quietest, against the same signal, draw by draw.
    pub more_noise_db: Option<Estimate>,
    /// Whether that can be heard.
    pub apart: Apart,
    /// In words.
    pub sentence: String,
    /// The input, in words.
    pub input: Option<String>,
    /// Levels, noise and verdicts; none without an input.
    #[serde(flatten)]
    pub result: Option<LevelAnswer>,
}

/// The comparison, best first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Recordings {
    /// What is recorded.
    pub source: String,
    /// All in all, in a sentence.
    pub conclusion: String,
    /// Each device.
    pub recordings: Vec<Recording>,
}

/// A device with its answer and the draws of its noise at the source, in dB SPL(A) or dBu.
struct Candidate {
    name: String,
    input: Option<String>,
    result: Option<LevelAnswer>,
    noise: Vec<f64>,
}

impl Candidate {
    /// Devices without an input last, before them those that clip; then by noise, peak and probability of clipping.
    fn order(&self, other: &Self) -> std::cmp::Ordering {
        let key = |candidate: &Self| match &candidate.result {
            Some(result) => {
                let class = u8::from(result.headroom == Verdict::Short);
                // What differs by less than a tenth of a decibel is not told apart by its noise.
                let noise = (10.0 * estimate(&candidate.noise).median).round();
                (class, noise, -result.peak_dbfs.median, result.clipping_probability)
            }
            None => (2, 0.0, 0.0, 0.0),
        };
        let (a, b) = (key(self), key(other));
        a.0.cmp(&b.0)
            .then(a.1.total_cmp(&b.1))
            .then(a.2.total_cmp(&b.2))
            .then(a.3.total_cmp(&b.3))
            .then_with(|| self.name.cmp(&other.name))
    }
}

/// Checks cases that differ in one device only and ranks the devices. Each comes with the device's name; the first source of
/// each case is compared.
///
/// # Errors
/// When a figure is missing that neither a device nor the kind that it is like states.
pub fn recordings(cases: &[(String, Case)], options: Options) -> Result<Recordings, MissingFigure> {
    let mut candidates = Vec::with_capacity(cases.len());
    for (name, case) in cases {
        candidates.push(candidate(name, case, options)?);
    }
    candidates.sort_by(Candidate::order);
    let least_rise = cases.first().map_or(1.0, |(_, case)| case.thresholds.audible_rise.db());
    let source = cases.first().and_then(|(_, case)| case.sources.first());
    let mut recordings: Vec<Recording> = Vec::with_capacity(candidates.len());
    // The quietest, with which the others are compared, and the first of the current place.
    let best = candidates.first().filter(|candidate| candidate.result.is_some());
    let mut leader: Option<&Candidate> = None;
    let mut place = 0;
    for (index, candidate) in candidates.iter().enumerate() {
        let difference = |from: &Candidate| -> Estimate {
            let each: Vec<f64> = candidate.noise.iter().zip(&from.noise).map(|(a, b)| a - b).collect();
            estimate(&each)
        };
        let apart = |from: &Candidate| apart(candidate, from, &difference(from), least_rise);
        let clips = |candidate: &Candidate| {
            candidate.result.as_ref().is_some_and(|result| result.headroom == Verdict::Short)
        };
        let with_leader = leader.is_some_and(|l| apart(l) != Apart::Heard && clips(l) == clips(candidate));
        if !with_leader || candidate.result.is_none() {
            place = index + 1;
            leader = Some(candidate);
        }
        let (more_noise_db, apart) = match best {
            _ if candidate.result.is_none() => (None, Apart::NoInput),
            Some(_) if index == 0 => (None, Apart::First),
            Some(best) => (Some(difference(best)), apart(best)),
            None => (None, Apart::First),
        };
        let none = Estimate { median: 0.0, low: 0.0, high: 0.0 };
        let best_name = best.map_or("", |best| best.name.as_str());
        recordings.push(Recording {
            name: candidate.name.clone(),
            place,
            sentence: words::apart(best_name, &apart, &more_noise_db.unwrap_or(none)),
            more_noise_db,
            apart,
            input: candidate.input.clone(),
            result: candidate.result.clone(),
        });
    }
    Ok(Recordings {
        source: source.map_or_else(String::new, |source| source.name.clone()),
        conclusion: words::conclusion(&recordings),
        recordings,
    })
}

/// Whether two can be heard apart by their noise.
fn apart(candidate: &Candidate, best: &Candidate, more: &Estimate, least_db: f64) -> Apart {
    /// Heard more likely than not.
    const LIKELY: f64 = 0.5;
    let heard = |candidate: &Candidate| {
        candidate.result.as_ref().is_some_and(|result| result.audible_probability >= LIKELY)
    };
    if candidate.result.is_none() {
        Apart::NoInput
    } else if !heard(candidate) && !heard(best) {
        Apart::NeitherHeard
    } else if more.median.abs() < least_db {
        Apart::TooSmall
    } else {
        Apart::Heard
    }
}

fn candidate(name: &str, case: &Case, options: Options) -> Result<Candidate, MissingFigure> {
    let answer = check(case, options)?;
    let source = answer.sources.into_iter().next();
    let noise = match chain_of(case, 0)? {
        Some((chain, _)) => run(&chain, &mut Library::new(options.draws), &Aim::of(case)).noise_at_source,
        None => Vec::new(),
    };
    let (input, result) = source.map_or((None, None), |source| (source.input, source.result));
    Ok(Candidate { name: name.to_owned(), input, result, noise })
}
