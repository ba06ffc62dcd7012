//! What scipy's HiGHS makes of a model.

use crate::problem::{Clash, problem};
use gainsay_plan::options::Model;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Left out, short, tight, price, changes, penalty, devices: in the order in which they count.
pub(crate) const STAGES: [&str; 7] = ["left_out", "short", "tight", "price", "changes", "penalty", "devices"];

/// A point of the frontier.
#[derive(Debug, Clone)]
pub(crate) struct Point {
    /// In the order of [`STAGES`].
    pub(crate) values: [u64; 7],
    pub(crate) counts: Vec<u32>,
    pub(crate) channels: Vec<u32>,
}

/// What HiGHS finds for each model, from the best to the cheapest; of models whose whole frontier is not wanted, the best.
/// A solution that uses wires that can't be in use on one clock is not taken: the clash is added, and HiGHS asked again.
#[track_caller]
pub(crate) fn optima(models: &[(String, Model, bool)], test: &str) -> Vec<Vec<Point>> {
    /// More clashes than any small studio has.
    const MOST_ROUNDS: usize = 60;
    let python = python();
    let mut clashes: Vec<Vec<Clash>> = vec![Vec::new(); models.len()];
    let mut optima: Vec<Vec<Point>> = vec![Vec::new(); models.len()];
    let mut open: Vec<usize> = (0..models.len()).collect();
    for _ in 0..MOST_ROUNDS {
        if open.is_empty() {
            return optima;
        }
        let problems = open.iter().map(|index| {
            let (name, model, frontier) = &models[*index];
            problem(name, model, &clashes[*index], *frontier)
        });
        let answers = asked(&python, &problems.collect::<Vec<_>>(), test);
        let mut again = Vec::new();
        for (index, answer) in open.iter().zip(answers) {
            let (name, model, _) = &models[*index];
            let points = points(name, &answer);
            let met: Vec<Clash> = points.iter().filter_map(|point| clash(model, point)).collect();
            if met.is_empty() {
                optima[*index] = points;
            } else {
                clashes[*index].extend(met);
                again.push(*index);
            }
        }
        open = again;
    }
    let names: Vec<&str> = open.iter().map(|index| models[*index].0.as_str()).collect();
    panic!("after {MOST_ROUNDS} rounds there are still clashes of clocks in {names:?}");
}

/// The clash of a solution, if there is one, with as much else in use and as many devices there as leave it a clash of the same
/// wires.
fn clash(model: &Model, point: &Point) -> Option<Clash> {
    let wires = model.clash(&point.counts, &point.channels)?;
    let stays = |counts: &[u32], channels: &[u32]| {
        model.clash(counts, channels).is_some_and(|other| other.iter().all(|wire| wires.contains(wire)))
    };
    let (mut counts, mut channels) = (point.counts.clone(), point.channels.clone());
    for (index, device) in model.devices.iter().enumerate() {
        let before = std::mem::replace(&mut counts[index], device.base + device.most);
        if before != counts[index] && !stays(&counts, &channels) {
            counts[index] = before;
        }
    }
    for (wire, of) in model.allocation.wires.iter().enumerate() {
        if channels[wire] == 0 && (of.to == 0 || of.per_cable > 0) {
            channels[wire] = 1;
            if !stays(&counts, &channels) {
                channels[wire] = 0;
            }
        }
    }
    let in_use = channels.iter().enumerate().filter(|(_, channels)| **channels > 0).map(|(wire, _)| wire);
    Some(Clash { in_use: in_use.collect(), wires, counts })
}

#[track_caller]
fn asked(python: &Path, problems: &[Value], test: &str) -> Vec<Value> {
    let file = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("options-{test}.json"));
    std::fs::write(&file, Value::from(problems.to_vec()).to_string()).unwrap();
    let model = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/options/model.py");
    let output = Command::new(python).arg(&model).arg(&file).output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "the mixed-integer model ends with {}:\n{said}", output.status);
    let answers: Vec<Value> = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(answers.len(), problems.len(), "answers of the mixed-integer model");
    answers
}

#[track_caller]
fn points(name: &str, answer: &Value) -> Vec<Point> {
    let all = answer.as_array().unwrap_or_else(|| panic!("{name}: the mixed-integer model gives {answer}"));
    let numbers = |value: &Value| -> Vec<u32> {
        let all = value.as_array().into_iter().flatten();
        all.map(|number| number.as_u64().unwrap().try_into().unwrap()).collect()
    };
    let point = |point: &Value| Point {
        values: STAGES.map(|stage| {
            point[stage].as_u64().unwrap_or_else(|| panic!("{name}: the model gives no {stage}: {point}"))
        }),
        counts: numbers(&point["counts"]),
        channels: numbers(&point["channels"]),
    };
    all.iter().map(point).collect()
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
