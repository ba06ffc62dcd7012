//! The patch as somebody plugs it: rows, connections, clocks, what to have at hand, and in which order.

mod connections;
mod joints;
mod levels;
mod rows;
mod steps;
mod timing;
mod warnings;

pub use connections::{ClockRow, Connection, Item};
pub use levels::{JointLevel, LevelFit};
pub use rows::Row;
pub use steps::Step;
pub use timing::{PathTiming, Timing, TrackShift};

use crate::answer::{Answer, Verdict};
use crate::case::Case;
use crate::words;
use serde::Serialize;

/// Everything that is needed at the session.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PatchSheet {
    /// Title of the case.
    pub title: String,
    /// What the patch comes to, in a few plain sentences.
    pub answer: Vec<String>,
    /// Whether every source has an input.
    pub verdict: Verdict,
    /// Sample rate in hertz.
    pub sample_rate_hz: f64,
    /// Inputs needed at once.
    pub inputs_needed: u32,
    /// Microphone inputs that can be used at this rate.
    pub microphone_inputs: u32,
    /// The channels, in the order of the case.
    pub rows: Vec<Row>,
    /// Sources without an input, and why.
    pub without_input: Vec<WithoutInput>,
    /// What would make room for them.
    pub reliefs: Vec<String>,
    /// Connections between boxes, and to the computer.
    pub connections: Vec<Connection>,
    /// Whose clock every box runs on.
    pub clocks: Vec<ClockRow>,
    /// How the paths line up in time.
    pub timing: Timing,
    /// Cables and adapters to have at hand.
    pub items: Vec<Item>,
    /// The session in a safe order.
    pub steps: Vec<Step>,
    /// What could do damage, or go wrong.
    pub warnings: Vec<String>,
    /// Whether it is proven that no patch is better.
    pub proven: bool,
}

/// A source that has no input.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WithoutInput {
    /// Its name.
    pub source: String,
    /// Why.
    pub why: String,
}

/// The patch sheet of a case that has been checked.
#[must_use]
pub fn patch_sheet(case: &Case, answer: &Answer) -> PatchSheet {
    let patch = &answer.patch;
    let rows = rows::rows(case, answer);
    let joints = connections::microphone_joints(case, answer, &rows);
    let (connections, between) = connections::connections(case, patch, &rows);
    let clocks = connections::clocks(patch);
    let timing = timing::timing(case, patch, &rows);
    let items = connections::items(&rows, &connections, &joints, &between);
    let warnings = warnings::warnings(case, answer, &rows, &joints, &between, &timing);
    let steps = steps::steps(case, answer, &rows, &joints, &clocks, &timing);
    let without_input = case
        .sources
        .iter()
        .zip(&answer.sources)
        .filter(|(_, source)| source.input.is_none())
        .map(|(source, answer)| WithoutInput { source: source.name.clone(), why: answer.sentence.clone() })
        .collect();
    let reliefs =
        patch.missing.as_ref().map(|missing| words::patch::reliefs(case, patch, missing)).unwrap_or_default();
    let mut sheet = PatchSheet {
        title: case.title.clone(),
        answer: Vec::new(),
        verdict: answer.inputs.verdict,
        sample_rate_hz: case.session.sample_rate.value.hertz(),
        inputs_needed: patch.needed,
        microphone_inputs: patch.microphone_inputs,
        rows,
        without_input,
        reliefs,
        connections,
        clocks,
        timing,
        items,
        steps,
        warnings,
        proven: patch.proven,
    };
    sheet.answer = words::patch::answer(case, patch, &sheet);
    sheet
}
