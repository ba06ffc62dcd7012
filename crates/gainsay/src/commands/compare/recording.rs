//! Each device in the same recording: a case of one source, as a file would have it.

use super::Compare;
use super::devices::{Class, Named, one};
use crate::commands::quick::{of_arguments, quoted};
use crate::exit::Failure;
use gainsay_folder::Memory;
use gainsay_gear::{Catalogue, Device, DeviceType, SourceKind};
use gainsay_plan::footing::{Recordings, recordings};
use gainsay_plan::{Case, Options};
use std::path::Path;

const CASE: &str = "case.toml";

/// What microphones and boosters are plugged into unless something else is named.
const USUAL: &str = "usual-interface";

/// A built-in interface with line and digital inputs, for boxes that don't reach the computer by themselves.
const TAKES_OUTPUTS: &str = "desk-interface-four-inputs";

/// Checks every device in its case and ranks them.
pub(super) fn compare(
    arguments: &Compare,
    source: &str,
    devices: &[Named],
    class: Class,
) -> Result<Recordings, Failure> {
    if class == Class::Microphones && arguments.microphone.is_some() {
        return Err(Failure::Input(
            "--microphone names a microphone, and microphones are what is compared".to_owned(),
            "leave --microphone out, or put it among the devices".to_owned(),
        ));
    }
    if class == Class::Inputs && arguments.into.is_some() {
        return Err(Failure::Input(
            "--into names a box with inputs, and such boxes are what is compared".to_owned(),
            "leave --into out, or put it among the devices".to_owned(),
        ));
    }
    let microphone = arguments.microphone.as_deref().map(one).transpose()?;
    expect(microphone.as_ref(), "--microphone", |t| t == DeviceType::Microphone, "a microphone")?;
    let into = one(arguments.into.as_deref().unwrap_or(USUAL))?;
    let has_inputs = |t| matches!(t, DeviceType::Preamp | DeviceType::Interface | DeviceType::Converter);
    expect(Some(&into), "--into", has_inputs, "a box with inputs")?;
    let cases: Vec<(String, Case)> = devices
        .iter()
        .map(|named| {
            let (microphone, booster, into) = match class {
                Class::Inputs => (microphone.as_ref(), None, named),
                Class::Microphones => (Some(named), None, &into),
                Class::Boosters => (microphone.as_ref(), Some(named), &into),
            };
            let case = case(arguments, source, microphone, booster, into)?;
            Ok((named.device.name.clone(), case))
        })
        .collect::<Result<_, Failure>>()?;
    let options = Options { draws: arguments.draws.draws(), stage_intervals: false };
    Ok(recordings(&cases, options)?)
}

fn expect(
    named: Option<&Named>,
    argument: &str,
    fits: impl Fn(DeviceType) -> bool,
    what: &str,
) -> Result<(), Failure> {
    match named {
        Some(named) if !fits(named.device.device_type()) => Err(Failure::Input(
            format!("{argument}: \"{}\" is {}", named.argument, named.device.device_type().with_article()),
            format!("name {what}"),
        )),
        _ => Ok(()),
    }
}

/// The case of one device.
fn case(
    arguments: &Compare,
    source: &str,
    microphone: Option<&Named>,
    booster: Option<&Named>,
    into: &Named,
) -> Result<Case, Failure> {
    // Lines of the case, each with the argument that it comes from.
    let mut lines: Vec<(&str, String)> = vec![("--source", format!("title = {}", quoted(source)))];
    if let Some(room) = &arguments.room {
        lines.push(("", "[room]".to_owned()));
        lines.push(("--room", format!("noise = {}", quoted(room))));
    }
    lines.push(("", "[[source]]".to_owned()));
    lines.push(("--source", format!("name = {}", quoted(source))));
    lines.push(("--source", format!("kind = {}", quoted(source))));
    let mut gear: Vec<(String, &str)> = Vec::new();
    let call = |named: &Named| -> String {
        let Some(_) = &named.text else { return quoted(&named.argument) };
        quoted(&named.device.name)
    };
    if let Some(named) = microphone {
        lines.push(("--microphone", format!("microphone = {}", call(named))));
    }
    if let Some(named) = booster {
        lines.push(("DEVICE", format!("booster = {}", call(named))));
    }
    if let Some(distance) = &arguments.distance {
        lines.push(("--distance", format!("distance = {}", quoted(distance))));
    }
    // Its own inputs are what is compared, not those of the box behind it.
    let takes = takes(&into.device, source);
    if takes {
        lines.push(("DEVICE", format!("input = {{ device = {} }}", call(into))));
    }
    lines.push(("", "[[owned]]".to_owned()));
    lines.push(("DEVICE", format!("device = {}", call(into))));
    if takes && matches!(into.device.device_type(), DeviceType::Preamp | DeviceType::Converter) {
        lines.push(("", "[[owned]]".to_owned()));
        lines.push(("", format!("device = {}", quoted(TAKES_OUTPUTS))));
    }
    for (index, named) in [microphone, booster, Some(into)].into_iter().flatten().enumerate() {
        if let Some(text) = &named.text {
            gear.push((format!("gear/{index}.toml"), text));
        }
    }
    let text: String = lines.iter().map(|(_, line)| format!("{line}\n")).collect();
    let mut files = vec![(CASE, text.as_str())];
    files.extend(gear.iter().map(|(path, text)| (path.as_str(), *text)));
    gainsay_folder::load(&Memory::new(&files), Path::new(CASE)).map_err(|error| of_arguments(&error, &lines))
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
