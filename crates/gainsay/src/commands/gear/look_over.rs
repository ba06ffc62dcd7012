//! `gainsay gear check`: every file looked over.

use super::{Shelf, doubts_of};
use crate::exit::{Exit, Failure};
use crate::output::{self, STRONG, styled};
use gainsay_folder::library::Held;
use gainsay_folder::{FileReport, LoadError};
use gainsay_gear::{Catalogue, DeviceType};
use gainsay_plan::Draws;
use gainsay_plan::footing::footing;
use serde::Serialize;

pub(super) fn run(shelf: Shelf, json: bool) -> Result<Exit, Failure> {
    let held = &shelf.library.held;
    let reports = shelf.library.wrong();
    let doubts: Vec<(&Held, Vec<String>)> =
        held.iter().map(|entry| (entry, doubts(entry))).filter(|(_, doubts)| !doubts.is_empty()).collect();
    let files = held.len() + shelf.library.broken.len();
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

/// What is doubtful in a device, and what keeps it from being compared.
fn doubts(entry: &Held) -> Vec<String> {
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

fn as_json(files: usize, reports: &[FileReport], doubts: &[(&Held, Vec<String>)]) -> Result<String, Failure> {
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
