//! `gainsay gear show`.

use super::{Shelf, doubts_of};
use crate::commands::compare::{device_of, group_text};
use crate::exit::{Exit, Failure};
use crate::output::{self, QUIET, STRONG, styled};
use gainsay_gear::{Catalogue, Device, DeviceType};
use gainsay_plan::Draws;
use gainsay_plan::footing::{DeviceFooting, GroupRows, Shown, figure_rows, footing};
use gainsay_plan::words::{beside, capital, price_words};
use gainsay_units::{FigureRow, Problem};
use std::path::Path;

pub(super) fn run(folder: &Path, name: &str, json: bool) -> Result<Exit, Failure> {
    let device = find(folder, name)?;
    let mut filled = device.clone();
    Catalogue::embedded().fill(&mut filled);
    let groups = figure_rows(&filled);
    let on_footing = match device.device_type() {
        DeviceType::Cable => None,
        _ => Some(footing(&device, Catalogue::embedded(), Draws::default())?),
    };
    if json {
        let doubts = doubts_of(&device);
        let shown = Shown::new(&device, &groups, on_footing.as_ref(), &doubts);
        output::print(&crate::commands::check::json(&shown)?)?;
    } else {
        output::print(&text(&device, &groups, on_footing.as_ref()))?;
    }
    Ok(Exit::Answered)
}

/// The device of that name in the folder, that file, or the built-in kind.
fn find(folder: &Path, name: &str) -> Result<Device, Failure> {
    if Path::new(name).extension().is_some_and(|extension| extension == "toml") {
        return Ok(device_of(name)?.device);
    }
    let shelf = if folder.is_dir() { Some(Shelf::of(folder)?) } else { None };
    if let Some(entry) = shelf.as_ref().and_then(|shelf| shelf.library.find(name)) {
        return Ok(entry.device.clone());
    }
    // The file is there, and wrong: say so before a built-in kind takes its place.
    let wanted = name.trim().to_lowercase();
    let broken = shelf.as_ref().and_then(|shelf| {
        shelf.library.broken.iter().find(|report| {
            report.path.file_stem().is_some_and(|stem| stem.to_string_lossy().to_lowercase() == wanted)
        })
    });
    if let Some(report) = broken {
        return Err(Failure::Load(gainsay_folder::LoadError { files: vec![report.clone()] }));
    }
    if let Some(device) = Catalogue::embedded().device(name) {
        return Ok(device);
    }
    let mut names: Vec<&str> = Catalogue::embedded().device_names().collect();
    for entry in shelf.iter().flat_map(|shelf| &shelf.library.held) {
        names.extend([entry.device.id.as_str(), entry.device.name.as_str()]);
    }
    Err(Failure::Input(
        format!("there is no device \"{name}\" in {}, nor built in", folder.display()),
        Problem::nearest(name, names),
    ))
}

fn text(device: &Device, groups: &[GroupRows], on_footing: Option<&DeviceFooting>) -> String {
    let mut head = vec![styled(STRONG, &device.name)];
    let mut about = vec![device.device_type().word().to_owned(), device.id.clone()];
    about.extend(device.price.map(|price| format!("price {}", price_words(price))));
    about.extend(device.like.as_ref().map(|like| format!("like {}", like.value)));
    head.push(output::paragraph(&about.join(", "), ""));
    if let Some(note) = &device.note {
        let note = note.split_whitespace().collect::<Vec<_>>().join(" ");
        head.push(styled(QUIET, &output::paragraph(&note, "")));
    }
    let mut blocks = vec![head.join("\n")];
    for group in groups {
        let mut lines = vec![styled(STRONG, &capital(&group.title))];
        lines.extend(group.rows.iter().map(row));
        blocks.push(lines.join("\n"));
    }
    for group in on_footing.iter().flat_map(|footing| &footing.groups) {
        let title = match &group.label {
            Some(label) => format!("On one footing: {label}"),
            None => "On one footing".to_owned(),
        };
        let mut lines = vec![styled(STRONG, &title), group_text(group, "  ")];
        lines.extend(
            group.doubts.iter().map(|doubt| output::hanging(&format!("unclear: {doubt}"), "  ", "    ")),
        );
        blocks.push(lines.join("\n"));
    }
    let doubts = doubts_of(device);
    if !doubts.is_empty() {
        let lines: Vec<String> = doubts.iter().map(|doubt| output::hanging(doubt, "  ", "    ")).collect();
        blocks.push(format!("{}\n{}", styled(STRONG, "Doubtful"), lines.join("\n")));
    }
    blocks.join("\n\n")
}

/// A figure in a line: what is used, where it comes from, and what a measurement has replaced.
fn row(row: &FigureRow) -> String {
    let field = row.field.replace('_', " ");
    let mut words = format!("{field}: {} ({})", row.written, row.origin.word());
    if let Some((written, origin)) = &row.replaced {
        words.push_str(&format!("; {} {written}", beside(*origin)));
    }
    if let Some(note) = &row.note {
        words.push_str(&format!("; {note}"));
    }
    output::hanging(&words, "  ", "    ")
}
