//! A plan: additions and changes, as a case and as a list.

use super::extension::{Difference, Extension, Scenario, changed, in_scenario};
use super::score::Score;
use super::search::Found;
use crate::answer::{Answer, Verdict};
use crate::case::{Case, Owned, Pickup, Source};
use crate::patch::lines;
use crate::price::Price;
use gainsay_gear::Device;
use gainsay_units::{Figure, Hertz, Metres};
use serde::Serialize;
use std::sync::Arc;

/// One thing that a plan does.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// A device is bought, or borrowed.
    Add {
        /// The device.
        device: Arc<Device>,
        /// How many of it.
        count: u32,
        /// What one of it costs.
        each: Price,
    },
    /// A microphone goes closer.
    Closer {
        /// The source.
        source: String,
        /// How far it was.
        from: Figure<Metres>,
        /// How far it is now.
        to: Figure<Metres>,
    },
    /// A source gets another microphone.
    Microphone {
        /// The source.
        source: String,
        /// Its microphone before.
        from: Arc<Device>,
        /// Its microphone now.
        to: Arc<Device>,
    },
    /// A source gets a booster.
    Booster {
        /// The source.
        source: String,
        /// The booster.
        booster: Arc<Device>,
    },
    /// Another sample rate.
    SampleRate {
        /// What it was.
        from: Figure<Hertz>,
        /// What it is now.
        to: Figure<Hertz>,
    },
    /// Sources take turns at one microphone.
    Turns {
        /// The sources.
        sources: Vec<String>,
    },
    /// A source is left out that could be done without.
    LeaveOut {
        /// The source.
        source: String,
    },
}

impl Change {
    /// Whether it changes how something is recorded, rather than what there is to record with.
    fn is_of_recording(&self, all: &[Self]) -> bool {
        let bought = |of: &Device| {
            all.iter().any(|other| matches!(other, Self::Add { device, .. } if device.name == of.name))
        };
        match self {
            Self::Add { .. } => false,
            Self::Microphone { to: of, .. } | Self::Booster { booster: of, .. } => !bought(of),
            Self::Closer { .. } | Self::SampleRate { .. } | Self::Turns { .. } | Self::LeaveOut { .. } => {
                true
            }
        }
    }
}

/// A way of going about it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan {
    /// What it costs.
    pub price: Price,
    /// What it does, in words.
    #[serde(rename = "changes")]
    pub words: Vec<String>,
    /// What it does.
    #[serde(skip)]
    pub changes: Vec<Change>,
    /// What it comes to.
    pub result: Score,
    /// The same in one word.
    pub verdict: Verdict,
    /// Probability that every source is enough, given what is uncertain; at a clip or an audible noise in any source it is not.
    pub chance_enough: f64,
    /// What perfect preamps would still gain, in decibels, summed over the sources.
    pub penalty_db: f64,
    /// For each source of the case its verdict; those that are left out because they can be done without have none.
    pub sources: Vec<PlanSource>,
    /// The case as it would be.
    #[serde(skip)]
    pub case: Case,
    /// Its check.
    #[serde(skip)]
    pub answer: Answer,
}

/// What a plan comes to for one source.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanSource {
    /// The source.
    pub source: String,
    /// Its verdict; short without an input.
    pub verdict: Verdict,
    /// Where it goes.
    pub input: Option<String>,
    /// What limits it.
    pub limit: Option<String>,
    /// What a perfect preamp would gain.
    pub penalty_db: Option<f64>,
    /// Probability that it is enough.
    pub chance_enough: f64,
}

impl Plan {
    /// Whether it changes how anything is recorded.
    pub(super) fn changes_the_recording(&self) -> bool {
        self.changes.iter().any(|change| change.is_of_recording(&self.changes))
    }
}

/// The case as it would be with what was found, and what that changes.
pub(super) fn what_if(
    case: &Case,
    scenario: &Scenario,
    extension: &Extension,
    found: &Found,
) -> (Case, Vec<Change>) {
    let mut after = in_scenario(case, scenario);
    let mut changes = Vec::new();
    for ((index, owned), offer) in extension.case.owned.iter().enumerate().zip(&extension.offers) {
        let Some((each, _)) = offer else { continue };
        // Of what is bought all, of what costs nothing only what is used.
        let had = if *each == Price::NOTHING { &found.solved.used } else { &found.counts };
        let count = had.get(index).copied().unwrap_or(0);
        if count > 0 {
            after.owned.push(Owned { device: Arc::clone(&owned.device), count });
            changes.push(Change::Add { device: Arc::clone(&owned.device), count, each: *each });
        }
    }
    if let Some(rate) = &scenario.rate {
        changes.push(Change::SampleRate { from: case.session.sample_rate.clone(), to: rate.clone() });
    }
    for turns in &scenario.turns {
        let names = turns.iter().filter_map(|source| case.sources.get(*source));
        changes.push(Change::Turns { sources: names.map(|source| source.name.clone()).collect() });
    }
    let mut gone: Vec<usize> = Vec::new();
    for (sources, taken) in lines(&after).into_iter().zip(&found.solved.lines) {
        let sources: Vec<(usize, Source)> = sources
            .into_iter()
            .filter_map(|index| Some((index, after.sources.get(index)?.clone())))
            .collect();
        match taken {
            None => {
                for (index, source) in sources.iter().filter(|(_, source)| source.dispensable) {
                    gone.push(*index);
                    changes.push(Change::LeaveOut { source: source.name.clone() });
                }
            }
            Some(None) => {}
            Some(Some(variant)) => {
                let Some(difference) = extension.differences.get(*variant) else { continue };
                changes.extend(changes_of(&sources, difference));
                for ((index, _), source) in sources.iter().zip(changed(&sources, difference)) {
                    if let Some(place) = after.sources.get_mut(*index) {
                        *place = source;
                    }
                }
            }
        }
    }
    let mut index = 0;
    after.sources.retain(|_| {
        index += 1;
        !gone.contains(&(index - 1))
    });
    (after, changes)
}

fn changes_of(sources: &[(usize, Source)], difference: &Difference) -> Vec<Change> {
    let mut changes = Vec::new();
    for (at, (_, source)) in sources.iter().enumerate() {
        let Pickup::Acoustic { distance, microphone, .. } = &source.pickup else { continue };
        if let Some(to) = difference.closer.as_ref().and_then(|closer| closer.get(at))
            && to.value < distance.value
        {
            let (from, to) = (distance.clone(), to.clone());
            changes.push(Change::Closer { source: source.name.clone(), from, to });
        }
        if let Some(to) = &difference.microphone {
            let (from, to) = (Arc::clone(microphone), Arc::clone(to));
            changes.push(Change::Microphone { source: source.name.clone(), from, to });
        }
        if let Some(booster) = &difference.booster {
            changes.push(Change::Booster { source: source.name.clone(), booster: Arc::clone(booster) });
        }
    }
    changes
}
