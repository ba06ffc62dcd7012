//! What scipy's HiGHS makes of them.

use crate::json::as_json;
use crate::problems::Problem;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What the mixed-integer model finds.
#[derive(Debug, Clone)]
pub(crate) struct Optimum {
    /// Left out, short, tight, changes, penalty, cables.
    pub(crate) cost: [u64; 6],
    /// Penalty of a plain assignment, by another algorithm.
    pub(crate) assignment: Option<u64>,
}

/// The optimum of each problem. `test` keeps the files of tests that run at the same time apart.
#[track_caller]
pub(crate) fn optima(problems: &[Problem], test: &str) -> Vec<Optimum> {
    let file = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("allocation-{test}.json"));
    let all: Vec<Value> = problems
        .iter()
        .map(|problem| as_json(&problem.name, problem.is_assignment, &problem.allocation, &problem.forbidden))
        .collect();
    std::fs::write(&file, Value::from(all).to_string()).unwrap();
    let model = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/allocation/model.py");
    let output = Command::new(python()).arg(&model).arg(&file).output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "the mixed-integer model ends with {}:\n{said}", output.status);
    let answers: Vec<Value> = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(answers.len(), problems.len(), "answers of the mixed-integer model");
    problems.iter().zip(answers).map(|(problem, answer)| optimum(problem, &answer)).collect()
}

#[track_caller]
fn optimum(problem: &Problem, answer: &Value) -> Optimum {
    let number = |key: &str| {
        let number = answer[key].as_u64();
        number.unwrap_or_else(|| panic!("{}: the mixed-integer model gives no {key}: {answer}", problem.name))
    };
    Optimum {
        cost: ["left_out", "short", "tight", "changes", "penalty", "cables"].map(number),
        assignment: problem.is_assignment.then(|| number("assignment")),
    }
}

/// A Python that has scipy.
#[track_caller]
fn python() -> PathBuf {
    let installed = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.test-tools/python/bin/python");
    let stated = std::env::var_os("GAINSAY_PYTHON").map(PathBuf::from);
    let candidates: Vec<PathBuf> = match stated {
        Some(stated) => vec![stated],
        None => vec![installed, PathBuf::from("python3")],
    };
    let has_scipy = |python: &&PathBuf| {
        let asked = Command::new(python).args(["-c", "from scipy.optimize import milp"]).output();
        asked.is_ok_and(|output| output.status.success())
    };
    candidates.iter().find(has_scipy).cloned().unwrap_or_else(|| {
        panic!(
            "none of {candidates:?} is a Python with scipy, which this check needs: run `./test`, which installs it, or set \
             GAINSAY_PYTHON"
        )
    })
}
