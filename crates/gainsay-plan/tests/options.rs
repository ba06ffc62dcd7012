#![cfg(test)]
//! The search for options against a mixed-integer program of the whole problem at once, box by box, that scipy's HiGHS solves
//! (`options/model.py`). HiGHS: Huangfu and Hall, "Parallelizing the dual revised simplex method", 2018.

mod independent;

#[path = "options/dice.rs"]
mod dice;
#[path = "allocation/json.rs"]
mod json;
#[path = "options/outside.rs"]
mod outside;
#[path = "options/problem.rs"]
mod problem;
#[path = "options/random.rs"]
mod random;

use gainsay_plan::options::{ModelPoint, Ways, found, model_of};
use gainsay_plan::{Case, Draws};
use outside::STAGES;
use random::Size;
use std::ops::Range;

/// The draws of costs matter here only in being the same for both.
const DRAWS: Draws = Draws { count: 256, seed: 1 };

fn case_of(text: &str) -> Case {
    let gear: Vec<(String, &str)> =
        random::GEAR.iter().map(|(id, text)| (format!("gear/{id}.toml"), *text)).collect();
    let mut files: Vec<(&str, &str)> = vec![("case.toml", text)];
    files.extend(gear.iter().map(|(path, text)| (path.as_str(), *text)));
    independent::case(&files)
}

/// In the order of the stages.
fn values(point: &ModelPoint) -> [u64; 7] {
    let score = point.score;
    [
        u64::from(score.left_out),
        u64::from(score.short),
        u64::from(score.tight),
        point.price.hundredths(),
        u64::from(point.changes),
        point.penalty,
        u64::from(point.devices),
    ]
}

/// Compares the best of each case; of every so manieth the whole frontier.
#[track_caller]
fn compare(seeds: Range<u64>, size: Size, frontier_of_every: u64, test: &str) {
    let texts: Vec<String> = seeds.clone().map(|seed| random::case(seed, size)).collect();
    let mut models = Vec::new();
    for (seed, text) in seeds.clone().zip(&texts) {
        let model = model_of(&case_of(text), DRAWS, Ways::All).unwrap();
        models.push((format!("case {seed}"), model, seed % frontier_of_every == 0));
    }
    let optima = outside::optima(&models, test);
    let (mut off, mut dear) = (Vec::new(), 0);
    for ((text, (name, model, whole)), theirs) in texts.iter().zip(&models).zip(&optima) {
        let found = found(&case_of(text), DRAWS).unwrap();
        let mut wrong = Vec::new();
        if !found.proven {
            wrong.push("not proven".to_owned());
        }
        let mut ours: Vec<&ModelPoint> = found.frontier.iter().rev().collect();
        if !whole {
            ours.truncate(1);
        }
        dear += usize::from(found.frontier.len() > 1);
        if ours.len() != theirs.len() {
            wrong.push(format!("{} points are found, HiGHS finds {}", ours.len(), theirs.len()));
        }
        for (index, (ours, theirs)) in ours.iter().zip(theirs).enumerate() {
            for (what, (ours, theirs)) in STAGES.iter().zip(values(ours).into_iter().zip(theirs.values)) {
                let counts_from_the_best = *what == "penalty" && !model.one_landing;
                if ours != theirs && !counts_from_the_best {
                    let by = i128::from(ours) - i128::from(theirs);
                    wrong.push(format!("point {index}: {what} {ours}, HiGHS {theirs}, off by {by:+}"));
                }
            }
            if ours.counts != theirs.counts && !wrong.is_empty() {
                wrong.push(format!("devices {:?}, HiGHS {:?}", ours.counts, theirs.counts));
            }
        }
        if !wrong.is_empty() {
            off.push(format!("{name}:\n  {}\n{text}", wrong.join("\n  ")));
        }
    }
    let n = models.len();
    assert!(2 * dear > n, "only {dear} of {n} cases have anything to choose");
    assert!(off.is_empty(), "{} of {n} cases are off:\n{}", off.len(), off.join("\n"));
}

#[test]
fn the_search_finds_what_one_mixed_integer_program_of_everything_finds() {
    let size = Size { sources: (4, 11), owned: (1, 3), candidates: (4, 8), sets: 1 << 16 };
    compare(0..110, size, 5, "everything");
}
