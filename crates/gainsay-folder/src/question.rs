//! A question that needs no file: the few things that it says, and the case file that says them.

use crate::edit::quoted;
use crate::{FileReport, LoadError};
use gainsay_gear::DeviceType;
use gainsay_plan::words::capital;
use gainsay_units::Problem;
use std::path::Path;

/// A built-in interface with line and digital inputs, for boxes that do not reach the computer by themselves.
const TAKES_OUTPUTS: &str = "desk-interface-four-inputs";

/// What a question says, each thing as a case file writes it; devices by their name or short name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Question<'a> {
    /// The case's title; the kind's where there is none.
    pub title: Option<&'a str>,
    /// Kind of the source, whose name it becomes.
    pub kind: &'a str,
    /// The microphone; the usual one of the source if none is named.
    pub microphone: Option<&'a str>,
    /// A booster in its line.
    pub booster: Option<&'a str>,
    /// From source to microphone; as usual if it is not given.
    pub distance: Option<&'a str>,
    /// Level of the quietest passage; as usual if it is not given.
    pub quiet: Option<&'a str>,
    /// Level of the loudest passage; as usual if it is not given.
    pub loud: Option<&'a str>,
    /// Noise of the room; as usual if it is not given.
    pub room: Option<&'a str>,
    /// What is plugged into.
    pub into: &'a str,
    /// The type of that, where it is known: the output of a preamp or a converter is taken by a usual interface.
    pub into_type: Option<DeviceType>,
    /// Whether the source has to be on an input of `into` itself.
    pub on_its_input: bool,
}

/// What of a question something is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// The kind of source.
    Kind,
    /// The microphone.
    Microphone,
    /// The booster.
    Booster,
    /// The distance.
    Distance,
    /// The quietest passage.
    Quiet,
    /// The loudest passage.
    Loud,
    /// The noise of the room.
    Room,
    /// What is plugged into.
    Into,
    /// None of these.
    Other,
}

/// The case file of a question, each line with what it comes from.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct QuestionFile {
    lines: Vec<(Asked, String)>,
}

impl Question<'_> {
    /// The case that it makes.
    #[must_use]
    pub fn file(&self) -> QuestionFile {
        let name = capital(self.kind.trim());
        let mut file = QuestionFile::default();
        file.state(Asked::Kind, "title", Some(self.title.unwrap_or(&name)));
        if self.room.is_some() {
            file.table("[room]");
            file.state(Asked::Room, "noise", self.room);
        }
        file.table("[[source]]");
        file.state(Asked::Kind, "name", Some(&name));
        file.state(Asked::Kind, "kind", Some(self.kind));
        file.state(Asked::Microphone, "microphone", self.microphone);
        file.state(Asked::Booster, "booster", self.booster);
        file.state(Asked::Distance, "distance", self.distance);
        file.state(Asked::Quiet, "quiet", self.quiet);
        file.state(Asked::Loud, "loud", self.loud);
        if self.on_its_input {
            file.table("[source.input]");
            file.state(Asked::Into, "device", Some(self.into));
        }
        let outputs = matches!(self.into_type, Some(DeviceType::Preamp | DeviceType::Converter));
        for device in [Some(self.into), outputs.then_some(TAKES_OUTPUTS)].into_iter().flatten() {
            file.table("[[owned]]");
            file.state(Asked::Into, "device", Some(device));
        }
        file
    }
}

impl QuestionFile {
    fn table(&mut self, head: &str) {
        self.lines.extend([String::new(), head.to_owned()].map(|line| (Asked::Other, line)));
    }

    fn state(&mut self, asked: Asked, field: &str, value: Option<&str>) {
        self.lines.extend(value.map(|value| (asked, format!("{field} = {}", quoted(value)))));
    }

    /// Its text.
    #[must_use]
    pub fn text(&self) -> String {
        self.lines.iter().map(|(_, line)| format!("{line}\n")).collect()
    }

    /// The problems of the case that was made, told of what was asked; `path` is the path under which it was read.
    #[must_use]
    pub fn asked(&self, error: &LoadError, path: &Path) -> Vec<(Asked, Problem)> {
        let of = |file: &FileReport, problem: &Problem| {
            let (line, _) = file.line_and_column(problem);
            let line = self.lines.get(line.saturating_sub(1)).filter(|_| file.path == path);
            line.map_or(Asked::Other, |(asked, _)| *asked)
        };
        let files = error.files.iter();
        files
            .flat_map(|file| file.problems.iter().map(move |problem| (of(file, problem), problem.clone())))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Memory, load};

    const QUESTION: Question<'static> = Question {
        title: None,
        kind: "whisper",
        microphone: None,
        booster: None,
        distance: None,
        quiet: None,
        loud: None,
        room: None,
        into: "usual-preamp",
        into_type: Some(DeviceType::Preamp),
        on_its_input: true,
    };
    const PATH: &str = "case.toml";

    fn wrong(question: Question<'_>) -> Vec<Asked> {
        let file = question.file();
        let error = load(&Memory::new(&[(PATH, &file.text())]), Path::new(PATH)).unwrap_err();
        file.asked(&error, Path::new(PATH)).into_iter().map(|(asked, _)| asked).collect()
    }

    #[test]
    fn a_box_without_a_way_to_the_computer_has_one_behind_it() {
        let case = load(&Memory::new(&[(PATH, &QUESTION.file().text())]), Path::new(PATH)).unwrap();
        assert_eq!(case.title, "Whisper");
        assert_eq!(case.owned.len(), 2);
        assert_eq!(case.sources[0].pin.as_ref().map(|pin| pin.owned), Some(0));
    }

    #[test]
    fn what_is_wrong_is_told_of_what_was_asked() {
        assert_eq!(wrong(Question { kind: "no such \"source\"", ..QUESTION }), [Asked::Kind]);
        assert_eq!(wrong(Question { distance: Some("far away"), ..QUESTION }), [Asked::Distance]);
        assert_eq!(wrong(Question { room: Some("loud\n"), ..QUESTION }), [Asked::Room]);
        assert_eq!(wrong(Question { booster: Some("none such"), ..QUESTION }), [Asked::Booster]);
        assert_eq!(
            wrong(Question { quiet: Some("?"), loud: Some("!"), ..QUESTION }),
            [Asked::Quiet, Asked::Loud]
        );
    }
}
