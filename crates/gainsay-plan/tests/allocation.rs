#![cfg(test)]
//! The allocation of lines to places against mixed-integer programs that scipy's HiGHS solves (`allocation/model.py`), plain
//! assignments also against scipy's `linear_sum_assignment` (a shortest augmenting path algorithm, Crouse 2016). HiGHS: Huangfu
//! and Hall, "Parallelizing the dual revised simplex method", 2018.

mod independent;

#[path = "allocation/feasible.rs"]
mod feasible;
#[path = "allocation/joined.rs"]
mod joined;
#[path = "allocation/json.rs"]
mod json;
#[path = "allocation/laws.rs"]
mod laws;
#[path = "allocation/outside.rs"]
mod outside;
#[path = "allocation/patched.rs"]
mod patched;
#[path = "allocation/problems.rs"]
mod problems;
#[path = "allocation/studios.rs"]
mod studios;

use gainsay_plan::patch::allocation::{Allocated, Cost, solve};
use problems::{Problem, STUDIOS, assignment, studio};

/// Solves a problem, and fails where the result does not keep to it, or does not come to what it says.
#[track_caller]
fn solved(problem: &Problem) -> Allocated {
    let allocated = solve(&problem.allocation, &mut |channels| problem.conflict(channels));
    let broken = feasible::broken(problem, &allocated);
    assert!(broken.is_empty(), "{}: {broken:#?}", problem.name);
    let counted = feasible::cost(problem, &allocated);
    assert_eq!(allocated.cost, counted, "{}: what it says it comes to, and what it does", problem.name);
    assert!(allocated.cost <= nobody_placed(problem), "{}: worse than to leave everyone out", problem.name);
    allocated
}

/// What it comes to if everyone is left out.
fn nobody_placed(problem: &Problem) -> Cost {
    let lines = &problem.allocation.lines;
    Cost {
        left_out: lines.iter().map(|line| line.sources).sum(),
        short: 0,
        tight: 0,
        changes: lines.iter().map(|line| line.changes).sum(),
        penalty: 0,
        cables: 0,
        rank: lines.iter().map(|line| u64::from(line.rank)).sum(),
    }
}

/// What counts; ranks only choose between equals where that is easy.
fn numbers(cost: &Cost) -> [u64; 6] {
    let [left_out, short, tight, changes, cables] =
        [cost.left_out, cost.short, cost.tight, cost.changes, cost.cables].map(u64::from);
    [left_out, short, tight, changes, cost.penalty, cables]
}

/// Compares every problem's cost with the optimum, and tells all that differ.
#[track_caller]
fn compare(problems: &[Problem], test: &str) {
    let optima = outside::optima(problems, test);
    let mut off = Vec::new();
    for (problem, optimum) in problems.iter().zip(&optima) {
        let allocated = solved(problem);
        let ours = numbers(&allocated.cost);
        for (what, ours, theirs) in std::iter::zip(
            ["left out", "short", "tight", "changes", "penalty", "cables"],
            std::iter::zip(ours, optimum.cost),
        )
        .map(|(what, (ours, theirs))| (what, ours, theirs))
        {
            if ours != theirs {
                let by = i128::from(ours) - i128::from(theirs);
                off.push(format!("{}: {what} {ours}, HiGHS {theirs}, off by {by:+}", problem.name));
            }
        }
        if !allocated.proven {
            off.push(format!("{}: not proven", problem.name));
        }
        if let Some(penalty) = optimum.assignment
            && allocated.cost.penalty != penalty
        {
            let by = i128::from(allocated.cost.penalty) - i128::from(penalty);
            off.push(format!(
                "{}: penalty {}, linear_sum_assignment {penalty}, off by {by:+}",
                problem.name, allocated.cost.penalty
            ));
        }
    }
    assert!(
        off.is_empty(),
        "{} numbers of {} problems are off:\n{}",
        off.len(),
        problems.len(),
        off.join("\n")
    );
}

#[test]
fn plain_assignments_cost_what_two_other_solvers_say() {
    let problems: Vec<Problem> = (0..120).map(assignment).collect();
    compare(&problems, "assignments");
}

#[test]
fn studios_cost_what_a_mixed_integer_program_says() {
    let problems: Vec<Problem> =
        STUDIOS.iter().flat_map(|recipe| (0..30).map(move |seed| studio(recipe, seed))).collect();
    compare(&problems, "studios");
}
