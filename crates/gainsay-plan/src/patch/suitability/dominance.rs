//! Which other ways of taking a line are worth having: those that no other beats which takes nothing more.
//!
//! At a place, one way beats another if it takes no device that the other doesn't take, draws no more phantom current there, and
//! comes to no more, short before tight before changes before penalty. Costs of lines add up in that order, so that whatever
//! patch holds the beaten way can hold the other instead and comes to no more. Behind a preamp this has to hold with every line
//! input that there could be.
//!
//! What has to be bought has to mend something: a price counts before changes and penalty. Where another way takes less of what
//! costs money and is neither short nor tight more often, the same plan is cheaper with it.

use super::{PlaceKey, Scales, Weighing, each_landing, key, steps};
use crate::chain::MissingFigure;
use crate::check::Judge;
use crate::draws::Draws;
use crate::patch::studio::{Place, PlaceOfLine, Studio};
use std::collections::{HashMap, HashSet};

/// A way of taking a line at a place.
struct Way {
    /// The variant; none for the line as it is.
    variant: Option<usize>,
    takes: Vec<usize>,
    buys: Vec<usize>,
    current: u32,
    /// What it comes to with each line input behind the preamp; one where there is no preamp.
    comes_to: Vec<[u32; 4]>,
}

impl Way {
    fn takes_no_more_than(&self, takes: &[usize], current: u32) -> bool {
        self.current <= current && self.takes.iter().all(|taken| takes.contains(taken))
    }

    /// Whether it goes without something that a way buys.
    fn saves(&self, buys: &[usize]) -> bool {
        buys.iter().any(|bought| !self.takes.contains(bought))
    }

    fn beats(&self, other: &Self) -> bool {
        let cheaper = self.saves(&other.buys);
        let no_worse = |(own, other): (&[u32; 4], &[u32; 4])| {
            own <= other || cheaper && verdicts(own) <= verdicts(other)
        };
        self.takes_no_more_than(&other.takes, other.current)
            && self.comes_to.iter().zip(&other.comes_to).all(no_worse)
    }

    /// Whether it beats whatever could come of a way with these changes.
    fn beats_any(&self, takes: &[usize], buys: &[usize], current: u32, changes: u32) -> bool {
        let cheaper = self.saves(buys);
        let no_worse = |own: &[u32; 4]| *own <= [0, 0, changes, 0] || cheaper && verdicts(own) == [0, 0];
        self.takes_no_more_than(takes, current) && self.comes_to.iter().all(no_worse)
    }
}

/// How many sources are short and tight.
const fn verdicts(comes_to: &[u32; 4]) -> [u32; 2] {
    let [short, tight, ..] = *comes_to;
    [short, tight]
}

impl Scales<'_> {
    /// For each variant the places where it is worth having. Not all are weighed: what could not be better than a way that is
    /// known is passed over.
    pub(in crate::patch) fn worth_having(
        &mut self,
        studio: &Studio<'_>,
        draws: Draws,
    ) -> Result<HashMap<usize, HashSet<PlaceOfLine>>, MissingFigure> {
        let judge = Judge::new(self.case, crate::check::Options { draws, stage_intervals: false });
        let mut weighing = Weighing { scales: self, judge, before: usize::MAX };
        let mut currents: HashMap<usize, u32> = HashMap::new();
        for (supply, of) in studio.allocation.supplies.iter().zip(&studio.limits_of) {
            if matches!(of, crate::patch::studio::LimitOf::Supply(_)) {
                currents.extend(supply.draws.iter().copied());
            }
        }
        let variant_of = |choice: usize| {
            let variant = studio.variant_of.get(choice).copied().flatten();
            variant.and_then(|v| studio.variants().get(v))
        };
        let takes = |choice: usize| variant_of(choice).map_or(&[][..], |variant| &variant.takes);
        let buys = |choice: usize| variant_of(choice).map_or(&[][..], |variant| &variant.buys);
        // Those that take least come first, and all places of one variant together.
        let mut order: Vec<usize> = (0..studio.allocation.choices.len()).collect();
        order.sort_by_key(|index| {
            let choice = studio.allocation.choices.get(*index);
            (choice.map(|c| (c.line, takes(*index).len(), c.changes)), studio.variant_of.get(*index).copied())
        });
        let mut ways: HashMap<PlaceOfLine, Vec<Way>> = HashMap::new();
        let mut seen: HashSet<(PlaceOfLine, Option<usize>)> = HashSet::new();
        let theres: Vec<Vec<Place>> =
            studio.places.iter().map(|place| with_each_landing(studio, place)).collect();
        for index in order {
            let (Some(choice), Some(place)) =
                (studio.allocation.choices.get(index), studio.place_of.get(index))
            else {
                continue;
            };
            let (Some(place), Some(theres)) = (studio.places.get(*place), theres.get(*place)) else {
                continue;
            };
            let variant = studio.variant_of.get(index).copied().flatten();
            let at = studio.place_of_line(choice.line, place);
            // One of several equal boxes is enough.
            if !seen.insert((at, variant)) {
                continue;
            }
            let current = currents.get(&index).copied().unwrap_or(0);
            let known = ways.entry(at).or_default();
            if known.iter().any(|way| way.beats_any(takes(index), buys(index), current, choice.changes)) {
                continue;
            }
            let weights = weighing.weigh(studio, index, choice.line, theres)?;
            let comes_to = weights
                .iter()
                .map(|weight| [weight.short, weight.tight, choice.changes, steps(weight.penalty_db)])
                .collect();
            let way =
                Way { variant, takes: takes(index).to_vec(), buys: buys(index).to_vec(), current, comes_to };
            if known.iter().all(|other| !other.beats(&way)) {
                // The line as it is stays in any case.
                known.retain(|other| other.variant.is_none() || !way.beats(other));
                known.push(way);
            }
        }
        let mut wanted: HashMap<usize, HashSet<PlaceOfLine>> = HashMap::new();
        for (at, ways) in ways {
            for variant in ways.iter().filter_map(|way| way.variant) {
                wanted.entry(variant).or_default().insert(at);
            }
        }
        Ok(wanted)
    }
}

/// A place with each kind of line input behind it; the place alone where there is none.
fn with_each_landing(studio: &Studio<'_>, place: &Place) -> Vec<Place> {
    let mut known: Vec<PlaceKey> = Vec::new();
    let mut all = Vec::new();
    for there in each_landing(place) {
        let key = key(studio, &there);
        if !known.contains(&key) {
            known.push(key);
            all.push(there);
        }
    }
    if all.is_empty() {
        all.push(place.clone());
    }
    all
}
