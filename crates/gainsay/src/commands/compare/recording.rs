//! Each device in the same recording.

use super::Compare;
use super::devices::{Named, one};
use crate::exit::Failure;
use gainsay_folder::question::Asked;
use gainsay_folder::trial::{Part, Trial, TrialError, USUAL_INPUT};
use gainsay_gear::DeviceType;
use gainsay_plan::footing::{Class, Recordings, recordings};
use gainsay_plan::{Case, Options};

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
    let into = one(arguments.into.as_deref().unwrap_or(USUAL_INPUT))?;
    let has_inputs = |t| matches!(t, DeviceType::Preamp | DeviceType::Interface | DeviceType::Converter);
    expect(Some(&into), "--into", has_inputs, "a box with inputs")?;
    let trial = Trial {
        source,
        microphone: microphone.as_ref().map(Named::part),
        into: into.part(),
        distance: arguments.distance.as_deref(),
        room: arguments.room.as_deref(),
    };
    let cases: Vec<(String, Case)> = devices
        .iter()
        .map(|named| Ok((named.device.name.clone(), trial.case(class, named.part()).map_err(of_arguments)?)))
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

impl Named {
    fn part(&self) -> Part<'_> {
        Part { device: &self.device, text: self.text.as_deref() }
    }
}

/// What is wrong, told of the arguments.
fn of_arguments(error: TrialError) -> Failure {
    let argument = |asked| match asked {
        Asked::Kind => "--source: ",
        Asked::Microphone => "--microphone: ",
        Asked::Booster | Asked::Into => "DEVICE: ",
        Asked::Distance => "--distance: ",
        Asked::Room => "--room: ",
        Asked::Quiet | Asked::Loud | Asked::Other => "",
    };
    let messages: Vec<String> =
        error.0.iter().map(|(asked, problem)| format!("{}{}", argument(*asked), problem.message)).collect();
    let mend = error.0.into_iter().next().map(|(_, problem)| problem.mend).unwrap_or_default();
    Failure::Input(messages.join("\n       "), mend)
}
