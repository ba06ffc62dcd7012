//! One row a channel.

use super::levels::{JointLevel, joint_level};
use crate::answer::Answer;
use crate::case::Case;
use crate::patch::{Socket, Unit};
use crate::words;
use gainsay_gear::front_end::MicrophoneInputs;
use serde::Serialize;

/// A channel of the recording.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Number of the channel, from 1.
    pub channel: u32,
    /// Name of its track.
    pub track: String,
    /// What is recorded on it; several where they take turns.
    pub sources: Vec<String>,
    /// The microphone; none of an electrical source.
    pub microphone: Option<String>,
    /// Whether the microphone's own pad is on.
    pub microphone_pad: bool,
    /// A booster in its line.
    pub booster: Option<String>,
    /// Cable from the microphone, in metres.
    pub cable_m: f64,
    /// The box that it goes into.
    pub into: String,
    /// The input's printed name, if the device file gives one.
    pub label: Option<String>,
    /// Which sort of input, in words.
    pub input_sort: String,
    /// Number of the input among those of its sort, from 1.
    pub input: u32,
    /// How it goes on from there, in words; none where the box is the interface itself.
    pub then: Option<String>,
    /// Gain on the control; none of a line input.
    pub gain_db: Option<f64>,
    /// Loss of the input's pad where it is on, else 0.
    pub pad_db: f64,
    /// Whether phantom power is on.
    pub phantom: bool,
    /// The other side of its stereo pair.
    pub pair_with: Option<String>,
    /// Levels between a preamp and the line input behind it.
    pub joint: Option<JointLevel>,
    /// Index of the box, for pictures.
    #[serde(skip)]
    pub at: usize,
    /// Index of the first source.
    #[serde(skip)]
    pub source: usize,
}

impl Row {
    /// The box and which input of it.
    #[must_use]
    pub fn input_words(&self) -> String {
        format!("{}, {} {}", self.into, self.input_sort, self.input)
    }

    /// Names of the sources in a row.
    #[must_use]
    pub fn source_words(&self) -> String {
        let names: Vec<&str> = self.sources.iter().map(String::as_str).collect();
        words::list(&names)
    }
}

/// A row for every line that has an input. Sources that take turns stand in one, with the settings of the loudest.
pub(super) fn rows(case: &Case, answer: &Answer) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    let microphones: Vec<&str> =
        case.sources.iter().filter_map(|s| s.microphone()).map(|m| m.name.as_str()).collect();
    for (index, (source, input)) in case.sources.iter().zip(&answer.patch.inputs).enumerate() {
        let Ok(input) = input else { continue };
        let result = answer.sources.get(index).and_then(|s| s.result.as_ref());
        let shares = |row: &&mut Row| {
            case.sources.get(row.source).is_some_and(|other| crate::patch::needs::take_turns(source, other))
        };
        if let Some(row) = rows.iter_mut().find(shares) {
            row.sources.push(source.name.clone());
            row.track = format!("{} {}", number_words(row.channel), row.source_words());
            if let (Some(gain), Some(own)) = (&mut row.gain_db, result.and_then(|r| r.gain_db)) {
                // One setting has to do for both: the one that keeps the louder clear.
                *gain = gain.min(own);
            }
            row.pad_db = row.pad_db.max(result.map_or(0.0, |r| r.pad_db));
            row.microphone_pad |= result.is_some_and(|r| r.microphone_pad);
            continue;
        }
        let channel = rows.len() as u32 + 1;
        let partner = case
            .sources
            .iter()
            .enumerate()
            .find(|(other, s)| *other != index && source.pair.is_some() && s.pair == source.pair);
        rows.push(Row {
            channel,
            track: format!("{} {}", number_words(channel), source.name),
            sources: vec![source.name.clone()],
            microphone: source.microphone().map(|m| words::short(&m.name, microphones.iter().copied())),
            microphone_pad: result.is_some_and(|r| r.microphone_pad),
            booster: source.booster.as_ref().map(|b| b.name.clone()),
            cable_m: source.cable_length.value.metres(),
            into: answer.patch.boxes.get(input.at).map_or_else(|| input.device.name.clone(), Unit::words),
            label: label(&input.socket),
            input_sort: input.socket.words().to_owned(),
            input: input.number,
            then: words::patch::route(&answer.patch, input),
            gain_db: result.and_then(|r| r.gain_db),
            pad_db: result.map_or(0.0, |r| r.pad_db),
            phantom: result.is_some_and(|r| r.phantom),
            pair_with: partner.map(|(_, s)| s.name.clone()),
            joint: result.and_then(|result| joint_level(input, result)),
            at: input.at,
            source: index,
        });
    }
    rows
}

/// Two digits, so that tracks sort by channel.
fn number_words(channel: u32) -> String {
    format!("{channel:02}")
}

fn label(socket: &Socket) -> Option<String> {
    match socket {
        Socket::Microphone(group) => group.label.clone(),
        Socket::Line(group) => group.label.clone(),
    }
}

/// The group of a row's microphone input, if it is one.
pub(super) fn microphone_inputs<'a>(answer: &'a Answer, row: &Row) -> Option<&'a MicrophoneInputs> {
    match &answer.patch.inputs.get(row.source)?.as_ref().ok()?.socket {
        Socket::Microphone(group) => Some(group),
        Socket::Line(_) => None,
    }
}
