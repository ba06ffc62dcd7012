//! `gainsay gear list`.

use super::Shelf;
use crate::exit::{Exit, Failure};
use crate::output::{self, QUIET, styled};
use gainsay_folder::library::Held;
use gainsay_gear::{Catalogue, Device};
use gainsay_plan::footing::Known;
use gainsay_plan::words::price_words;
use serde::Serialize;

pub(super) fn run(shelf: &Shelf, json_wanted: bool) -> Result<Exit, Failure> {
    let entries: Vec<&Held> = shelf.library.held.iter().collect();
    if json_wanted {
        output::print(&json(&entries)?)?;
        return Ok(Exit::Answered);
    }
    let mut blocks = vec![if entries.is_empty() {
        format!("no device in {}", shelf.folder.display())
    } else {
        table(&entries)
    }];
    blocks.extend(shelf.broken_words());
    output::print(&blocks.join("\n\n"))?;
    Ok(Exit::Answered)
}

/// The devices as a table, or as a list where that does not fit.
pub(super) fn table(entries: &[&Held]) -> String {
    let rows = entries
        .iter()
        .map(|entry| {
            let device = &entry.device;
            let counts = Known::of(device, Catalogue::embedded());
            vec![
                textwrap::fill(&device.name, 20),
                device.id.clone(),
                device.device_type().word().to_owned(),
                device.price.map_or_else(|| "–".to_owned(), price_words),
                counts.stated.to_string(),
                counts.measured.to_string(),
                counts.typical.to_string(),
            ]
        })
        .collect();
    let table = output::table(
        &["Name", "Short name", "Type", "Price", "Stated", "Measured", "Typical"],
        rows,
        &[3, 4, 5, 6],
        &[0, 1, 2, 3, 4, 5, 6],
    );
    if output::fits(&table) {
        let note = "Figures: stated by the sheet or given, measured, and typical for the kind.";
        return format!("{table}\n{}", styled(QUIET, &output::paragraph(note, "")));
    }
    let entries: Vec<String> = entries.iter().map(|entry| in_lines(&entry.device)).collect();
    entries.join("\n")
}

fn in_lines(device: &Device) -> String {
    let counts = Known::of(device, Catalogue::embedded());
    let mut parts = vec![device.device_type().word().to_owned(), device.id.clone()];
    parts.extend(device.price.map(|p| format!("price {}", price_words(p))));
    parts.push(format!(
        "figures: {} stated, {} measured, {} typical",
        counts.stated, counts.measured, counts.typical
    ));
    format!(
        "{}\n{}",
        styled(output::STRONG, &output::hanging(&device.name, "", "  ")),
        output::paragraph(&parts.join(", "), "  ")
    )
}

pub(super) fn json(entries: &[&Held]) -> Result<String, Failure> {
    #[derive(Serialize)]
    struct Listed<'a> {
        name: &'a str,
        id: &'a str,
        #[serde(rename = "type")]
        device_type: gainsay_gear::DeviceType,
        price: Option<f64>,
        file: String,
        figures: Known,
    }
    let listed: Vec<Listed<'_>> = entries
        .iter()
        .map(|entry| Listed {
            name: &entry.device.name,
            id: &entry.device.id,
            device_type: entry.device.device_type(),
            price: entry.device.price,
            file: entry.path.display().to_string(),
            figures: Known::of(&entry.device, Catalogue::embedded()),
        })
        .collect();
    crate::commands::check::json(&listed)
}
