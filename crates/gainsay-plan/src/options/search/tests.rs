//! The search against all sets of additions, one by one.

#[path = "../../../tests/options/dice.rs"]
mod dice;
#[path = "../../../tests/options/random.rs"]
mod random;

use super::{Found, Frontier, Search, SearchError};
use crate::Draws;
use crate::case::{Case, CaseFile, FilePart, assemble};
use crate::options::extension::{Extension, Scenario};
use crate::options::score::Score;
use crate::patch::Extended;
use crate::price::Price;
use gainsay_gear::{Catalogue, Device};
use gainsay_units::Origin;
use random::Size;
use std::ops::ControlFlow;

/// The draws of costs matter here only in being the same for both ways of searching.
const DRAWS: Draws = Draws { count: 256, seed: 1 };

const SMALL: Size = Size { sources: (3, 9), owned: (1, 3), candidates: (3, 6), sets: 96 };

#[track_caller]
fn case_of(text: &str) -> Case {
    let gear: Vec<Device> = random::GEAR
        .iter()
        .map(|(id, text)| {
            Device::from_toml(text, id, Origin::Sheet).unwrap_or_else(|e| panic!("{id}: {e:?}"))
        })
        .collect();
    let file = CaseFile::from_toml(text).unwrap_or_else(|problems| panic!("{problems:?}\n{text}"));
    assemble(&[FilePart { file }], &gear, Catalogue::embedded())
        .unwrap_or_else(|problems| panic!("{problems:?}\n{text}"))
}

/// What counts of a set of additions, beyond its price and score: changes, penalty, devices.
type Rest = (u32, u64, u32);

/// A set of additions with what it comes to.
#[derive(Debug, Clone)]
struct Set {
    counts: Vec<u32>,
    price: Price,
    score: Score,
    rest: Rest,
}

fn devices(extension: &Extension, counts: &[u32]) -> u32 {
    counts.iter().zip(&extension.base).map(|(count, base)| count - base).sum()
}

/// Every set of additions within the budget. What costs nothing is always there.
fn all_sets(extension: &Extension, extended: &mut Extended<'_>, off: &mut Vec<String>) -> Vec<Set> {
    let mut all = vec![extension.base.clone()];
    for (index, offer) in extension.offers.iter().enumerate() {
        let Some((price, most)) = offer else { continue };
        let first = if *price == Price::NOTHING { *most } else { 0 };
        let more = |counts: &Vec<u32>| {
            let counts = counts.clone();
            (first..=*most).map(move |n| {
                let mut counts = counts.clone();
                counts[index] += n;
                counts
            })
        };
        all = all.iter().flat_map(more).collect();
    }
    let mut sets = Vec::new();
    for counts in all {
        let price = extension.price(&counts);
        if extension.case.additions.budget.is_some_and(|budget| price > budget) {
            continue;
        }
        let solved = extended.solve(&counts).unwrap();
        if !solved.proven {
            off.push(format!("the patch of {counts:?} is not proven"));
        }
        let cost = solved.cost;
        let score = Score { left_out: cost.left_out, short: cost.short, tight: cost.tight };
        let rest = (cost.changes, cost.penalty, devices(extension, &counts));
        sets.push(Set { counts, price, score, rest });
    }
    sets
}

/// At every price at which the best score improves: the best of equal price and score.
fn frontier_of(sets: &[Set]) -> Vec<Set> {
    let mut sets = sets.to_vec();
    sets.sort_by_key(|set| (set.price, set.score, set.rest));
    let mut frontier: Vec<Set> = Vec::new();
    for set in sets {
        if frontier.last().is_none_or(|last| set.score < last.score) {
            frontier.push(set);
        }
    }
    frontier
}

/// Sets that come to a worse score than a smaller one.
fn not_monotone(sets: &[Set]) -> Vec<String> {
    let smaller =
        |one: &Set, other: &Set| one.counts.iter().zip(&other.counts).all(|(one, other)| one <= other);
    let pairs = sets.iter().flat_map(|one| sets.iter().map(move |other| (one, other)));
    pairs
        .filter(|(one, other)| smaller(one, other) && one.score < other.score)
        .map(|(one, other)| {
            format!(
                "more is worse: {:?} comes to {:?}, {:?} to {:?}",
                one.counts, one.score, other.counts, other.score
            )
        })
        .take(2)
        .collect()
}

fn searched(extension: &Extension) -> Result<(Frontier, Vec<Set>, Vec<String>), SearchError> {
    let (extended, market) =
        Extended::new(&extension.case, &extension.variants, &extension.in_use, DRAWS).unwrap();
    let search = Search::new(extension, &market, extended, |_: &Found| ControlFlow::Continue(()));
    let (frontier, mut extended) = search.run()?;
    let mut off = Vec::new();
    let sets = all_sets(extension, &mut extended, &mut off);
    Ok((frontier, sets, off))
}

/// All that is wrong with the search of a case; how many points the frontier has, and of how many sets.
fn wrong(text: &str) -> (Vec<String>, usize, usize) {
    let case = case_of(text);
    let extension = Extension::of(&case, &Scenario { free_changes: true, ..Scenario::default() });
    let (found, sets, mut off) = match searched(&extension) {
        Ok(searched) => searched,
        Err(error) => return (vec![format!("{error:?}")], 0, 0),
    };
    let truth = frontier_of(&sets);
    off.extend(not_monotone(&sets));
    if found.all.len() != truth.len() {
        off.push(format!("{} points are found, there are {}", found.all.len(), truth.len()));
    }
    for (index, (ours, theirs)) in found.all.iter().zip(&truth).enumerate() {
        let cost = ours.solved.cost;
        let rest: Rest = (cost.changes, cost.penalty, devices(&extension, &ours.counts));
        for (what, ours, theirs) in [
            ("left out", u64::from(ours.score.left_out), u64::from(theirs.score.left_out)),
            ("short", u64::from(ours.score.short), u64::from(theirs.score.short)),
            ("tight", u64::from(ours.score.tight), u64::from(theirs.score.tight)),
            ("price in hundredths", ours.price.hundredths(), theirs.price.hundredths()),
            ("changes", u64::from(rest.0), u64::from(theirs.rest.0)),
            ("penalty", rest.1, theirs.rest.1),
            ("devices", u64::from(rest.2), u64::from(theirs.rest.2)),
        ] {
            if ours != theirs {
                let by = i128::from(ours) - i128::from(theirs);
                off.push(format!("point {index}: {what} {ours}, there is {theirs}, off by {by:+}"));
            }
        }
        // Another set that is equal in everything that counts is right too.
        if sets.iter().all(|set| set.counts != ours.counts) {
            off.push(format!("point {index}: {:?} are not within the budget", ours.counts));
        }
    }
    if !found.proven {
        off.push("not proven".to_owned());
    }
    if let Some(best) = truth.last() {
        if found.best_score != best.score {
            off.push(format!("bound {:?}, best {:?}", found.best_score, best.score));
        }
        if found.least_price != best.price {
            off.push(format!("bound of the price {}, best {}", found.least_price, best.price));
        }
    }
    if !off.is_empty() {
        off.extend(truth.iter().map(|set| format!("there is {set:?}")));
        let ours = found.all.iter();
        off.extend(ours.map(|f| format!("found {:?} for {}, {:?}", f.counts, f.price, f.solved.cost)));
    }
    (off, truth.len(), sets.len())
}

#[track_caller]
fn check(seeds: &[u64]) {
    let (mut off, mut several, mut all) = (Vec::new(), 0, 0);
    let n = seeds.len();
    for seed in seeds.iter().copied() {
        let text = random::case(seed, SMALL);
        let (wrong, points, sets) = wrong(&text);
        several += usize::from(points > 1);
        all += sets;
        if !wrong.is_empty() {
            off.push(format!("case {seed}:\n  {}\n{text}", wrong.join("\n  ")));
        }
    }
    assert!(2 * several > n, "only {several} of {n} cases have anything to choose");
    assert!(
        off.is_empty(),
        "{} of {n} cases are wrong ({all} sets of additions):\n{}",
        off.len(),
        off.join("\n")
    );
}

#[test]
fn small_cases_have_the_frontier_of_all_sets_of_additions() {
    check(&(0..200).collect::<Vec<u64>>());
}

/// Cases in which one of these went wrong: boxes that share a clock only with the help of others; a preamp that has line inputs
/// of several kinds to go into; pairs whose lines could be taken in several ways.
#[test]
fn cases_that_have_gone_wrong_have_the_frontier_of_all_sets_of_additions() {
    check(&[1085, 1156, 1170, 1260, 2125, 2828, 3496, 3592, 4363, 5075, 5844, 6789, 6990]);
}
