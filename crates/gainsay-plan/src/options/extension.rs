//! A case with everything that could be added, and everything that could be changed about how its sources are taken.

use crate::case::{Additions, Allowed, Case, Keep, Owned, Pickup, Source};
use crate::patch::{Variant, in_use, lines};
use crate::price::Price;
use crate::what_if::{at_distance, with_microphone};
use gainsay_gear::microphone::Transducer;
use gainsay_gear::{Device, DeviceType};
use gainsay_units::{Figure, Hertz, Metres, Origin};
use std::sync::Arc;

/// No microphone is moved closer than this by itself; a case can ask for it.
const NEAREST: Metres = Metres::new(0.05);

/// What is changed for all sources at once.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Scenario {
    /// Another sample rate.
    pub(super) rate: Option<Figure<Hertz>>,
    /// Sources that take turns, as far as the case allows it.
    pub(super) turns: Vec<Vec<usize>>,
    /// Whether sources may be taken in other ways.
    pub(super) free_changes: bool,
}

/// A way of taking one source: what is different.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Difference {
    /// For each source of the line its new distance, where it has one.
    pub(super) closer: Option<Vec<Figure<Metres>>>,
    pub(super) microphone: Option<Arc<Device>>,
    pub(super) booster: Option<Arc<Device>>,
}

/// A case with all its candidates among the owned devices.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Extension {
    pub(super) case: Case,
    pub(super) variants: Vec<Variant>,
    /// What is different in each variant.
    pub(super) differences: Vec<Difference>,
    /// For each owned device how many are there already.
    pub(super) base: Vec<u32>,
    /// For each owned device what one more of it costs, and how many there may be; none where there is none to be had.
    pub(super) offers: Vec<Option<(Price, u32)>>,
    /// Index of each candidate among the owned devices; none where it has no price.
    pub(super) candidates: Vec<Option<usize>>,
    /// For each owned device how many the sources use as they stand.
    pub(super) in_use: Vec<u32>,
    /// Changes that the scenario itself is.
    pub(super) changes: u32,
}

/// The case in a scenario, before anything is added.
pub(super) fn in_scenario(case: &Case, scenario: &Scenario) -> Case {
    let mut case = case.clone();
    if let Some(rate) = &scenario.rate {
        case.session.sample_rate = rate.clone();
    }
    for (index, turns) in scenario.turns.iter().enumerate() {
        let first = turns.first().and_then(|first| case.sources.get(*first)).cloned();
        let Some(first) = first else { continue };
        for source in turns {
            if let Some(source) = case.sources.get_mut(*source) {
                source.turns = Some(format!("turns that could be taken, {}", index + 1));
                source.booster.clone_from(&first.booster);
                source.pin.clone_from(&first.pin);
                source.pair = None;
                if let Some(microphone) = first_microphone(&first) {
                    *source = with_microphone(source, &microphone);
                }
            }
        }
    }
    case
}

impl Extension {
    pub(super) fn of(case: &Case, scenario: &Scenario) -> Self {
        let mut extended = in_scenario(case, scenario);
        let mut base: Vec<u32> = extended.owned.iter().map(|owned| owned.count).collect();
        let mut offers: Vec<Option<(Price, u32)>> = vec![None; base.len()];
        let mut candidates = Vec::with_capacity(case.additions.candidates.len());
        for candidate in &case.additions.candidates {
            let Some(price) = candidate.price else {
                candidates.push(None);
                continue;
            };
            candidates.push(Some(extended.owned.len()));
            base.push(0);
            offers.push(Some((price, candidate.most)));
            extended.owned.push(Owned { device: Arc::clone(&candidate.device), count: candidate.most });
        }
        let in_use = extended
            .owned
            .iter()
            .zip(&base)
            .map(|(owned, base)| in_use(&extended, &owned.device).min(*base))
            .collect();
        let mut extension = Self {
            in_use,
            case: extended,
            variants: Vec::new(),
            differences: Vec::new(),
            base,
            offers,
            candidates,
            changes: u32::from(scenario.rate.is_some())
                + scenario.turns.iter().map(|turns| turns.len() as u32 - 1).sum::<u32>(),
        };
        extension.add_variants(scenario.free_changes);
        extension
    }

    /// How many of each owned device there are with a set of additions.
    pub(super) fn price(&self, counts: &[u32]) -> Price {
        let bought = counts.iter().zip(&self.base).map(|(count, base)| count.saturating_sub(*base));
        bought.zip(&self.offers).fold(Price::NOTHING, |sum, (bought, offer)| {
            offer.map_or(sum, |(price, _)| sum.plus(price.times(bought)))
        })
    }

    fn add_variants(&mut self, free: bool) {
        for (line, sources) in lines(&self.case).into_iter().enumerate() {
            let sources: Vec<(usize, Source)> = sources
                .into_iter()
                .filter_map(|index| Some((index, self.case.sources.get(index)?.clone())))
                .collect();
            for difference in self.differences_of(&sources, free) {
                let takes = [&difference.microphone, &difference.booster];
                let takes: Option<Vec<usize>> =
                    takes.into_iter().flatten().map(|device| self.stock_of(device)).collect();
                let Some(takes) = takes else { continue };
                let bought = |index: &usize| self.base.get(*index) == Some(&0);
                let costs = |index: &usize| {
                    let offer = self.offers.get(*index).copied().flatten();
                    offer.is_some_and(|(price, _)| price > Price::NOTHING)
                };
                let buys = takes.iter().copied().filter(|index| bought(index) && costs(index)).collect();
                self.variants.push(Variant {
                    line,
                    sources: changed(&sources, &difference),
                    // A booster that is bought is an addition, not a change.
                    changes: u32::from(difference.closer.is_some())
                        + u32::from(difference.microphone.is_some())
                        + u32::from(difference.booster.is_some() && !takes.iter().any(bought)),
                    takes,
                    buys,
                });
                self.differences.push(difference);
            }
        }
    }

    /// The owned device, or candidate, of which one is to be had.
    fn stock_of(&self, device: &Device) -> Option<usize> {
        let of_name =
            self.case.owned.iter().enumerate().filter(|(_, owned)| owned.device.name == device.name);
        let spare = |index: usize, owned: &Owned| owned.count > self.in_use.get(index).copied().unwrap_or(0);
        of_name.filter(|(index, owned)| spare(*index, owned)).map(|(index, _)| index).next()
    }

    /// Everything that could be different about a line.
    fn differences_of(&self, sources: &[(usize, Source)], free: bool) -> Vec<Difference> {
        let additions = &self.case.additions;
        let Some((_, first)) = sources.first() else { return Vec::new() };
        let Some(own) = first_microphone(first) else { return Vec::new() };
        let is_pickup = |device: &Device| transducer(device) == Some(Transducer::Pickup);
        if is_pickup(&own) {
            return Vec::new();
        }
        let mut ways = vec![Difference::default()];
        if free && let Some(closer) = closer(sources, additions) {
            ways.push(Difference { closer: Some(closer), ..Difference::default() });
        }
        for microphone in self.alternatives(sources, &own, free) {
            ways.push(Difference { microphone: Some(microphone), ..Difference::default() });
        }
        let boosters: Vec<&Arc<Device>> = if sources.iter().any(|(_, source)| source.booster.is_some()) {
            Vec::new()
        } else {
            let boosters = self.case.owned.iter().map(|owned| &owned.device);
            let boosters = boosters.filter(|device| device.device_type() == DeviceType::Booster);
            boosters.filter(|device| free || self.is_candidate(device)).collect()
        };
        let boosted = ways.clone().into_iter().flat_map(|way| {
            let passive =
                transducer(way.microphone.as_ref().unwrap_or(&own)).is_some_and(Transducer::is_passive);
            let boosters = boosters.iter().filter(move |_| passive);
            boosters.map(move |booster| Difference { booster: Some(Arc::clone(booster)), ..way.clone() })
        });
        let boosted: Vec<Difference> = boosted.collect();
        ways.extend(boosted);
        ways.remove(0);
        ways
    }

    fn is_candidate(&self, device: &Device) -> bool {
        self.case.additions.candidates.iter().any(|candidate| candidate.device.name == device.name)
    }

    /// Microphones that a line could have instead of its own.
    fn alternatives(&self, sources: &[(usize, Source)], own: &Device, free: bool) -> Vec<Arc<Device>> {
        let additions = &self.case.additions;
        let is_of_line = |source: &usize| sources.iter().any(|(index, _)| index == source);
        let named = |allowed: &Allowed| match allowed {
            Allowed::Microphone { source, microphone } if is_of_line(source) => Some(Arc::clone(microphone)),
            _ => None,
        };
        let mut all: Vec<Arc<Device>> = additions.changes.iter().filter_map(named).collect();
        if all.is_empty() && !additions.keeps(Keep::Microphones) {
            let owned = self.case.owned.iter().map(|owned| &owned.device);
            let microphones = owned.filter(|device| device.device_type() == DeviceType::Microphone);
            all = microphones.filter(|m| transducer(m) != Some(Transducer::Pickup)).cloned().collect();
        }
        all.retain(|microphone| microphone.name != own.name && (free || self.is_candidate(microphone)));
        all.dedup_by(|a, b| a.name == b.name);
        all
    }
}

fn transducer(device: &Device) -> Option<Transducer> {
    device.microphone().and_then(|microphone| microphone.transducer)
}

fn first_microphone(source: &Source) -> Option<Arc<Device>> {
    match &source.pickup {
        Pickup::Acoustic { microphone, .. } => Some(Arc::clone(microphone)),
        Pickup::Electrical { .. } => None,
    }
}

/// How near the microphone of each source of a line may go, if nearer than it is.
fn closer(sources: &[(usize, Source)], additions: &Additions) -> Option<Vec<Figure<Metres>>> {
    let mut all = Vec::with_capacity(sources.len());
    let mut any = false;
    for (index, source) in sources {
        let Pickup::Acoustic { distance, .. } = &source.pickup else { return None };
        let named = additions.changes.iter().find_map(|allowed| match allowed {
            Allowed::Closer { source, distance } if source == index => Some(distance.clone()),
            _ => None,
        });
        let half = || {
            let metres = (distance.value.metres() / 2.0).max(NEAREST.metres());
            // A round number of centimetres, which can be measured.
            let metres = (metres * 100.0).round() / 100.0;
            let mut half =
                Figure::exact(Metres::new(metres), crate::words::options::metres(Metres::new(metres)));
            half.origin = Origin::Assumed;
            (!additions.keeps(Keep::Distances)).then_some(half)
        };
        let near = named.or_else(half).filter(|near| near.value.metres() < 0.95 * distance.value.metres());
        any |= near.is_some();
        all.push(near.unwrap_or_else(|| distance.clone()));
    }
    any.then_some(all)
}

/// The sources of a line, changed.
pub(super) fn changed(sources: &[(usize, Source)], difference: &Difference) -> Vec<Source> {
    let change = |(at, (_, source)): (usize, &(usize, Source))| {
        let mut source = source.clone();
        if let Some(near) = difference.closer.as_ref().and_then(|closer| closer.get(at)) {
            source = at_distance(&source, near);
        }
        if let Some(microphone) = &difference.microphone {
            source = with_microphone(&source, microphone);
        }
        if let Some(booster) = &difference.booster {
            source.booster = Some(Arc::clone(booster));
        }
        source
    };
    sources.iter().enumerate().map(change).collect()
}
