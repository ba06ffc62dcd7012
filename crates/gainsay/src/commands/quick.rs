//! `gainsay quick`: a case from one line.

use crate::arguments::Quick;
use crate::exit::{Exit, Failure};
use crate::output;
use gainsay_folder::question::{Asked, Question};
use gainsay_folder::{Disk, LoadError, Memory, Tree};
use gainsay_gear::{Catalogue, DeviceType};
use gainsay_plan::Options;
use gainsay_units::Problem;
use std::path::Path;

const CASE: &str = "case.toml";

pub(crate) fn run(arguments: &Quick) -> Result<Exit, Failure> {
    let mut gear = Gear::default();
    let device = |argument: &Option<String>, gear: &mut Gear| {
        argument.as_ref().map(|argument| Ok::<_, Failure>(gear.device(argument)?.0)).transpose()
    };
    let microphone = device(&arguments.microphone, &mut gear)?;
    let booster = device(&arguments.booster, &mut gear)?;
    let (into, into_type) = gear.device(&arguments.into)?;
    let file = Question {
        title: None,
        kind: &arguments.kind,
        microphone: microphone.as_deref(),
        booster: booster.as_deref(),
        distance: arguments.distance.as_deref(),
        quiet: arguments.quiet.as_deref(),
        loud: arguments.loud.as_deref(),
        room: arguments.room.as_deref(),
        into: &into,
        into_type,
        on_its_input: false,
    }
    .file();
    let text = file.text();
    if arguments.as_case {
        output::print(&text)?;
        return Ok(Exit::Answered);
    }
    let mut files = vec![(CASE, text.as_str())];
    files.extend(gear.files.iter().map(|(path, text)| (path.as_str(), text.as_str())));
    let case = gainsay_folder::load(&Memory::new(&files), Path::new(CASE))
        .map_err(|error| of_arguments(file.asked(&error, Path::new(CASE))))?;
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

/// Problems of the case that was made, told of the arguments.
fn of_arguments(problems: Vec<(Asked, Problem)>) -> Failure {
    let argument = |asked| match asked {
        Asked::Kind => "KIND: ",
        Asked::Microphone => "--microphone: ",
        Asked::Booster => "--booster: ",
        Asked::Distance => "--distance: ",
        Asked::Quiet => "--quiet: ",
        Asked::Loud => "--loud: ",
        Asked::Room => "--room: ",
        Asked::Into => "--into: ",
        Asked::Other => "",
    };
    let messages: Vec<String> =
        problems.iter().map(|(asked, problem)| format!("{}{}", argument(*asked), problem.message)).collect();
    let mend = problems.into_iter().next().map(|(_, problem)| problem.mend).unwrap_or_default();
    Failure::Input(messages.join("\n       "), mend)
}
