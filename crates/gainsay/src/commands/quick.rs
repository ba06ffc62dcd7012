//! `gainsay quick`: a case from one line.

use crate::arguments::Quick;
use crate::exit::{Exit, Failure};
use crate::output;
use gainsay_folder::{Disk, LoadError, Memory, Tree};
use gainsay_gear::{Catalogue, DeviceType};
use gainsay_plan::Options;
use std::path::Path;

const CASE: &str = "case.toml";

/// A built-in interface with line inputs and digital inputs, for what has only an output.
const TAKES_OUTPUTS: &str = "desk-interface-four-inputs";

pub(crate) fn run(arguments: &Quick) -> Result<Exit, Failure> {
    let mut gear = Gear::default();
    let lines = case(arguments, &mut gear)?;
    let text: String = lines.iter().map(|(_, line)| format!("{line}\n")).collect();
    if arguments.as_case {
        output::print(&text)?;
        return Ok(Exit::Answered);
    }
    let mut files = vec![(CASE, text.as_str())];
    files.extend(gear.files.iter().map(|(path, text)| (path.as_str(), text.as_str())));
    let case = gainsay_folder::load(&Memory::new(&files), Path::new(CASE))
        .map_err(|error| of_arguments(&error, &lines))?;
    let options = Options { draws: arguments.draws.draws(), stage_intervals: arguments.diagram.is_some() };
    let answer = super::check::answer(&case, options)?;
    if let Some(path) = &arguments.diagram {
        super::check::diagram(&case, &answer, path)?;
    }
    let printed = if arguments.json {
        super::check::json(&answer)?
    } else {
        super::check::text(&answer, false, " …")
    };
    output::print(&printed)?;
    Ok(Exit::Answered)
}

/// Device files that the command line names.
#[derive(Default)]
struct Gear {
    /// Path in memory and text.
    files: Vec<(String, String)>,
}

impl Gear {
    /// The name by which a case calls a device, and its type if it is known: the argument itself, or what the file says that
    /// it names.
    fn device(&mut self, argument: &str) -> Result<(String, Option<DeviceType>), Failure> {
        let path = Path::new(argument);
        if path.extension().is_none_or(|extension| extension != "toml") {
            let known = Catalogue::embedded().device(argument).map(|device| device.device_type());
            return Ok((argument.to_owned(), known));
        }
        let text = Disk.read(path).map_err(|error| Failure::Input(error.message, error.mend))?;
        let device = gainsay_folder::parse_device(path, &text)
            .map_err(|report| Failure::Load(LoadError { files: vec![report] }))?;
        self.files.push((format!("gear/{}.toml", self.files.len()), text));
        let device_type = device.device_type();
        Ok((device.name, Some(device_type)))
    }
}

/// The lines of the case, each with the argument that it comes from.
fn case(arguments: &Quick, gear: &mut Gear) -> Result<Vec<(&'static str, String)>, Failure> {
    let mut lines = vec![("KIND", format!("title = {}", quoted(&capital(&arguments.kind))))];
    if let Some(room) = &arguments.room {
        lines.push(("", "[room]".to_owned()));
        lines.push(("--room", format!("noise = {}", quoted(room))));
    }
    lines.push(("", "[[source]]".to_owned()));
    lines.push(("KIND", format!("name = {}", quoted(&capital(&arguments.kind)))));
    lines.push(("KIND", format!("kind = {}", quoted(&arguments.kind))));
    if let Some(microphone) = &arguments.microphone {
        lines.push(("--microphone", format!("microphone = {}", quoted(&gear.device(microphone)?.0))));
    }
    if let Some(booster) = &arguments.booster {
        lines.push(("--booster", format!("booster = {}", quoted(&gear.device(booster)?.0))));
    }
    for (argument, field, value) in [
        ("--distance", "distance", &arguments.distance),
        ("--quiet", "quiet", &arguments.quiet),
        ("--loud", "loud", &arguments.loud),
    ] {
        if let Some(value) = value {
            lines.push((argument, format!("{field} = {}", quoted(value))));
        }
    }
    lines.push(("", "[[owned]]".to_owned()));
    let (into, device_type) = gear.device(&arguments.into)?;
    lines.push(("--into", format!("device = {}", quoted(&into))));
    // A preamp or a converter alone does not reach the computer: a usual interface takes its output.
    if matches!(device_type, Some(DeviceType::Preamp | DeviceType::Converter)) {
        lines.push(("", "[[owned]]".to_owned()));
        lines.push(("--into", format!("device = {}", quoted(TAKES_OUTPUTS))));
    }
    Ok(lines)
}

/// A kind as the name of a source.
fn capital(text: &str) -> String {
    let mut chars = text.trim().chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// A TOML string.
pub(super) fn quoted(text: &str) -> String {
    let escaped: String = text
        .chars()
        .map(|c| match c {
            '"' => "\\\"".to_owned(),
            '\\' => "\\\\".to_owned(),
            c if c.is_control() => format!("\\u{:04X}", u32::from(c)),
            c => c.to_string(),
        })
        .collect();
    format!("\"{escaped}\"")
}

/// Problems of the case that was made, told of the arguments.
pub(super) fn of_arguments(error: &LoadError, lines: &[(&str, String)]) -> Failure {
    let mut messages = Vec::new();
    let mut mend = String::new();
    for file in &error.files {
        for problem in &file.problems {
            let (line, _) = file.line_and_column(problem);
            let argument = lines.get(line.saturating_sub(1)).map_or("", |(argument, _)| argument);
            messages.push(if argument.is_empty() {
                problem.message.clone()
            } else {
                format!("{argument}: {}", problem.message)
            });
            if mend.is_empty() {
                mend.clone_from(&problem.mend);
            }
        }
    }
    Failure::Input(messages.join("\n       "), mend)
}
