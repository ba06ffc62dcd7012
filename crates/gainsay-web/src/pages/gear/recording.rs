//! Each of the compared devices in the same recording: a case of one source, as a file would have it.

use super::super::question::quoted;
use crate::Site;
use gainsay_folder::folder::{FileName, Place};
use gainsay_folder::load;
use gainsay_gear::{Catalogue, Device, DeviceType, SourceKind};
use gainsay_plan::footing::{Recordings, recordings};
use gainsay_plan::{Case, Draws, Options};
use std::path::Path;

/// What microphones and boosters are plugged into.
const USUAL: &str = "usual-interface";

/// A built-in interface with line and digital inputs, for boxes that don't reach the computer by themselves.
const TAKES_OUTPUTS: &str = "desk-interface-four-inputs";

/// Name of a case that is nowhere kept.
const CASE: &str = "compared-devices.toml";

/// Draws for a page: the sentences don't change with the last digit.
const OPTIONS: Options = Options { draws: Draws { count: 2_000, seed: 1 }, stage_intervals: false };

/// Checks every device in its case and ranks them. The microphone is the usual one where none is named.
///
/// # Errors
/// Why they can't be compared, in a sentence.
pub(super) fn compare(
    site: &Site,
    source: &str,
    microphone: &str,
    devices: &[Device],
) -> Result<Recordings, String> {
    let cases: Vec<(String, Case)> = devices
        .iter()
        .map(|device| Ok((device.name.clone(), case(site, source, microphone, device)?)))
        .collect::<Result<_, String>>()?;
    recordings(&cases, OPTIONS).map_err(|missing| missing.to_string())
}

fn case(site: &Site, source: &str, microphone: &str, device: &Device) -> Result<Case, String> {
    let text = case_text(source, microphone, device);
    let name = FileName::parse(CASE).map_err(|error| error.to_string())?;
    let draft = site.shelf.folder().with_draft(Place::Case, &name, &text);
    load(&draft, Path::new(CASE)).map_err(|error| {
        let problems = error.files.iter().flat_map(|file| &file.problems);
        let said: Vec<String> = problems.map(|p| format!("{}; {}", p.message, p.mend)).collect();
        said.join(". ")
    })
}

/// The case of one device.
fn case_text(source: &str, microphone: &str, device: &Device) -> String {
    let device_type = device.device_type();
    let into = match device_type {
        DeviceType::Microphone | DeviceType::Booster => USUAL,
        _ => device.id.as_str(),
    };
    let mut lines = vec![
        format!("title = {}", quoted(source)),
        "[[source]]".to_owned(),
        format!("name = {}", quoted(source)),
        format!("kind = {}", quoted(source)),
    ];
    let before = if device_type == DeviceType::Microphone { device.id.as_str() } else { microphone };
    if !before.is_empty() {
        lines.push(format!("microphone = {}", quoted(before)));
    }
    if device_type == DeviceType::Booster {
        lines.push(format!("booster = {}", quoted(&device.id)));
    }
    // Its own inputs are what is compared, not those of the box behind it.
    let takes = takes(device, source);
    if takes {
        lines.push(format!("input = {{ device = {} }}", quoted(into)));
    }
    lines.extend(["[[owned]]".to_owned(), format!("device = {}", quoted(into))]);
    if takes && matches!(device_type, DeviceType::Preamp | DeviceType::Converter) {
        lines.extend(["[[owned]]".to_owned(), format!("device = {}", quoted(TAKES_OUTPUTS))]);
    }
    lines.join("\n") + "\n"
}

/// Whether a box has an input of its own for a kind of source. An instrument input alone is left to the case to judge.
fn takes(device: &Device, source: &str) -> bool {
    let electrical = Catalogue::embedded().source(source).is_some_and(SourceKind::is_electrical);
    device.front_end().is_some_and(|front_end| {
        if electrical {
            front_end.line_inputs.iter().any(|group| group.instrument != Some(true))
        } else {
            !front_end.microphone_inputs.is_empty()
        }
    })
}
