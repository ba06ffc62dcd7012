//! Devices tried in the same recording: for each of them a case of one source, as a file would have it.

use crate::question::{Asked, Question};
use crate::{Memory, load};
use gainsay_gear::{Catalogue, Device, SourceKind};
use gainsay_plan::Case;
use gainsay_plan::footing::Class;
use gainsay_units::Problem;
use std::path::Path;

const CASE: &str = "case.toml";

/// The built-in kind that microphones and boosters are plugged into unless something else is named.
pub const USUAL_INPUT: &str = "usual-interface";

/// A device that takes part.
#[derive(Debug, Clone, Copy)]
pub struct Part<'a> {
    /// The device.
    pub device: &'a Device,
    /// Text of its file; none of a built-in kind.
    pub text: Option<&'a str>,
}

/// The recording in which devices are tried.
#[derive(Debug, Clone, Copy)]
pub struct Trial<'a> {
    /// Kind of the source.
    pub source: &'a str,
    /// The microphone; the usual one of the source if none is named.
    pub microphone: Option<Part<'a>>,
    /// What microphones and boosters are plugged into.
    pub into: Part<'a>,
    /// From source to microphone; as usual if it is not given.
    pub distance: Option<&'a str>,
    /// Noise of the room; as usual if it is not given.
    pub room: Option<&'a str>,
}

/// Why a case can't be made of a trial.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TrialError(pub Vec<(Asked, Problem)>);

impl Trial<'_> {
    /// The case in which a device of a class is tried.
    ///
    /// # Errors
    /// Everything that is wrong with what was asked for.
    pub fn case(&self, class: Class, device: Part<'_>) -> Result<Case, TrialError> {
        let (microphone, booster, into) = match class {
            Class::Inputs => (self.microphone, None, device),
            Class::Microphones => (Some(device), None, self.into),
            Class::Boosters => (self.microphone, Some(device), self.into),
        };
        // Its own inputs are what is compared, not those of the box behind it.
        let takes = takes(into.device, self.source);
        let question = Question {
            title: None,
            kind: self.source,
            microphone: microphone.map(Part::call),
            booster: booster.map(Part::call),
            distance: self.distance,
            quiet: None,
            loud: None,
            room: self.room,
            into: into.call(),
            into_type: takes.then(|| into.device.device_type()),
            on_its_input: takes,
        };
        let file = question.file();
        let gear: Vec<(String, &str)> = [microphone, booster, Some(into)]
            .into_iter()
            .flatten()
            .enumerate()
            .filter_map(|(index, part)| Some((format!("gear/{index}.toml"), part.text?)))
            .collect();
        let text = file.text();
        let mut files = vec![(CASE, text.as_str())];
        files.extend(gear.iter().map(|(path, text)| (path.as_str(), *text)));
        load(&Memory::new(&files), Path::new(CASE))
            .map_err(|error| TrialError(file.asked(&error, Path::new(CASE))))
    }
}

impl<'a> Part<'a> {
    /// How the case names it.
    fn call(self) -> &'a str {
        if self.text.is_some() { &self.device.name } else { &self.device.id }
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    fn trial<'a>(into: &'a Device, source: &'a str) -> Trial<'a> {
        let into = Part { device: into, text: None };
        Trial { source, microphone: None, into, distance: None, room: None }
    }

    #[test]
    fn a_preamp_is_tried_at_its_own_input() {
        let device = Catalogue::embedded().device("usual-preamp").unwrap();
        let case =
            trial(&device, "whisper").case(Class::Inputs, Part { device: &device, text: None }).unwrap();
        assert_eq!(case.sources.len(), 1);
    }

    #[test]
    fn what_is_wrong_is_told_of_what_was_asked() {
        let device = Catalogue::embedded().device("usual-preamp").unwrap();
        let part = Part { device: &device, text: None };
        let about = |trial: Trial<'_>| trial.case(Class::Inputs, part).map(|_| ()).unwrap_err().0[0].0;
        assert_eq!(about(trial(&device, "no such source")), Asked::Kind);
        assert_eq!(about(Trial { distance: Some("far away"), ..trial(&device, "whisper") }), Asked::Distance);
        assert_eq!(about(Trial { room: Some("loud"), ..trial(&device, "whisper") }), Asked::Room);
    }
}
