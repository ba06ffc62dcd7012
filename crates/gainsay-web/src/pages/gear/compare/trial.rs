//! The compared devices in the same recording.

use super::super::{Chosen, chosen};
use super::Asked;
use crate::words;
use gainsay_folder::library::Library;
use gainsay_folder::question::Asked as About;
use gainsay_folder::trial::{Part, Trial, TrialError, USUAL_INPUT};
use gainsay_plan::footing::{Class, Recordings, recordings};
use gainsay_plan::{Case, Draws, Options};

/// Checks every device in its case and ranks them. What stands in the place of the compared devices is not looked at.
///
/// # Errors
/// Why they can't be, in sentences.
pub(super) fn recorded(
    library: &Library,
    asked: &Asked,
    class: Class,
    devices: &[Chosen],
    draws: Draws,
) -> Result<Recordings, Vec<String>> {
    let microphone = match class {
        Class::Microphones => None,
        _ => beside(library, &asked.microphone, Class::Microphones)?,
    };
    let into = match class {
        Class::Inputs => None,
        _ => beside(library, &asked.into, Class::Inputs)?,
    };
    let into =
        into.or_else(|| chosen(library, USUAL_INPUT)).ok_or_else(|| vec![words::no_device(USUAL_INPUT)])?;
    let given = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    let (distance, room) = (given(&asked.distance), given(&asked.room));
    let trial = Trial {
        source: &asked.source,
        microphone: microphone.as_ref().map(part),
        into: part(&into),
        distance: distance.as_deref(),
        room: room.as_deref(),
    };
    let cases: Vec<(String, Case)> = devices
        .iter()
        .map(|one| Ok((one.device.name.clone(), trial.case(class, part(one)).map_err(sentences)?)))
        .collect::<Result<_, Vec<String>>>()?;
    recordings(&cases, Options { draws, stage_intervals: false })
        .map_err(|missing| vec![format!("{}.", words::capital(&missing.to_string()))])
}

/// A device that stands beside the compared ones; none where none is named.
fn beside(library: &Library, id: &str, class: Class) -> Result<Option<Chosen>, Vec<String>> {
    if id.is_empty() {
        return Ok(None);
    }
    let Some(found) = chosen(library, id) else { return Err(vec![words::no_device(id)]) };
    let device_type = found.device.device_type();
    if Class::of(device_type) == Some(class) {
        Ok(Some(found))
    } else {
        Err(vec![words::not_fitting(&found.device.name, device_type.with_article(), class)])
    }
}

fn part(chosen: &Chosen) -> Part<'_> {
    Part { device: &chosen.device, text: chosen.text.as_deref() }
}

/// What is wrong, told of the fields.
fn sentences(error: TrialError) -> Vec<String> {
    let field = |asked| match asked {
        About::Kind => format!("{}: ", words::RECORDED),
        About::Microphone => format!("{}: ", words::WITH_MICROPHONE),
        About::Distance => format!("{}: ", words::DISTANCE),
        About::Room => format!("{}: ", words::ROOM),
        _ => String::new(),
    };
    let said = error.0.into_iter().map(|(asked, problem)| {
        words::capital(&format!("{}{}; {}.", field(asked), problem.message, problem.mend))
    });
    said.collect()
}
