//! `gainsay gear check`: every file looked over.

use super::{Entry, Shelf, doubts_of};
use crate::exit::{Exit, Failure};
use crate::output::{self, STRONG, styled};
use gainsay_folder::{FileReport, LoadError};
use gainsay_gear::{Catalogue, DeviceType};
use gainsay_plan::Draws;
use gainsay_plan::footing::footing;
use gainsay_units::Problem;
use serde::Serialize;

pub(super) fn run(mut shelf: Shelf, json: bool) -> Result<Exit, Failure> {
    let mut reports = std::mem::take(&mut shelf.broken);
    for (index, entry) in shelf.entries.iter().enumerate() {
        let problems = problems(entry, shelf.entries.get(..index).unwrap_or_default());
        if !problems.is_empty() {
            reports.push(FileReport { path: entry.path.clone(), text: entry.text.clone(), problems });
        }
    }
    reports.sort_by(|a, b| a.path.cmp(&b.path));
    let doubts: Vec<(&Entry, Vec<String>)> = shelf
        .entries
        .iter()
        .map(|entry| (entry, doubts(entry)))
        .filter(|(_, doubts)| !doubts.is_empty())
        .collect();
    let files = shelf.entries.len()
        + reports.iter().filter(|r| shelf.entries.iter().all(|e| e.path != r.path)).count();
    if json {
        output::print(&as_json(files, &reports, &doubts)?)?;
        return Ok(if reports.is_empty() { Exit::Answered } else { Exit::BadInput });
    }
    let mut lines = vec![styled(STRONG, &summary(&shelf, files, reports.len()))];
    for (entry, doubts) in &doubts {
        lines.push(String::new());
        lines.push(format!("{} ({})", entry.device.name, entry.path.display()));
        lines.extend(doubts.iter().map(|doubt| output::hanging(&format!("doubtful: {doubt}"), "  ", "    ")));
    }
    output::print(&lines.join("\n"))?;
    if reports.is_empty() { Ok(Exit::Answered) } else { Err(Failure::Load(LoadError { files: reports })) }
}

fn summary(shelf: &Shelf, files: usize, wrong: usize) -> String {
    let folder = shelf.folder.display();
    match (files, wrong) {
        (0, _) => format!("no device file in {folder}"),
        (1, 0) => format!("one device file in {folder}, and nothing is wrong in it"),
        (_, 0) => format!("{files} device files in {folder}, and nothing is wrong in them"),
        (_, 1) => format!("{files} device files in {folder}; in one something is wrong"),
        _ => format!("{files} device files in {folder}; in {wrong} of them something is wrong"),
    }
}

/// What is wrong beyond the file itself: a name that another has, a kind that there is not.
fn problems(entry: &Entry, before: &[Entry]) -> Vec<Problem> {
    let mut problems = Vec::new();
    let device = &entry.device;
    let same = |other: &&Entry| other.device.name.to_lowercase() == device.name.to_lowercase();
    if let Some(other) = before.iter().find(same) {
        let span = entry.text.find(&device.name).map_or(0..0, |at| at..at + device.name.len());
        let message = format!("{} has the same name", other.path.display());
        problems.push(Problem::new(span, message, "give each device its own name"));
    }
    if let Some(like) = &device.like {
        let catalogue = Catalogue::embedded();
        match catalogue.device(&like.value) {
            None => problems.push(Problem::new(
                like.span.clone(),
                format!("there is no built-in kind \"{}\"", like.value),
                Problem::nearest(&like.value, catalogue.device_names()),
            )),
            Some(kind) if kind.device_type() != device.device_type() => problems.push(Problem::new(
                like.span.clone(),
                format!(
                    "\"{}\" is {}, and this is {}",
                    like.value,
                    kind.device_type().with_article(),
                    device.device_type().with_article()
                ),
                "name a kind of the same type",
            )),
            Some(_) => {}
        }
    }
    problems
}

/// What is doubtful in a device, and what keeps it from being compared.
fn doubts(entry: &Entry) -> Vec<String> {
    /// Whether a figure is missing does not depend on how many are drawn.
    const FEW: Draws = Draws { count: 8, seed: 1 };
    let device = &entry.device;
    let mut doubts = doubts_of(device);
    if device.device_type() != DeviceType::Cable
        && let Err(missing) = footing(device, Catalogue::embedded(), FEW)
    {
        doubts.push(missing.to_string());
    }
    doubts
}

fn as_json(
    files: usize,
    reports: &[FileReport],
    doubts: &[(&Entry, Vec<String>)],
) -> Result<String, Failure> {
    #[derive(Serialize)]
    struct Checked {
        files: usize,
        problems: Vec<Found>,
        doubts: Vec<Doubt>,
    }
    #[derive(Serialize)]
    struct Found {
        file: String,
        line: usize,
        column: usize,
        message: String,
        mend: String,
    }
    #[derive(Serialize)]
    struct Doubt {
        file: String,
        device: String,
        doubt: String,
    }
    let found = reports.iter().flat_map(|report| {
        report.problems.iter().map(move |problem| {
            let (line, column) = report.line_and_column(problem);
            Found {
                file: report.path.display().to_string(),
                line,
                column,
                message: problem.message.clone(),
                mend: problem.mend.clone(),
            }
        })
    });
    let doubts = doubts.iter().flat_map(|(entry, doubts)| {
        doubts.iter().map(|doubt| Doubt {
            file: entry.path.display().to_string(),
            device: entry.device.name.clone(),
            doubt: doubt.clone(),
        })
    });
    crate::commands::check::json(&Checked { files, problems: found.collect(), doubts: doubts.collect() })
}
