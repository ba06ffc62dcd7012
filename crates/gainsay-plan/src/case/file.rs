//! The case file as it is written.

use super::additions::Keep;
use crate::thresholds::ThresholdsFile;
use gainsay_gear::connection::DigitalFormat;
use gainsay_units::{
    At, Bits, DbFs, DbSpl, Decibels, FileStruct, Hertz, Kelvin, Metres, Origin, Problem, file_struct,
};
use schemars::JsonSchema;
use serde::Deserialize;

/// A case: a studio, a session and a question.
#[derive(Debug, Clone, PartialEq, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(title = "Case file")]
pub struct CaseFile {
    /// What the case is called.
    pub title: Option<At<String>>,
    /// The question in the asker's own words.
    pub question: Option<String>,
    /// Remarks.
    pub note: Option<String>,
    /// Other case files to begin with, such as a studio that several cases share; paths from this file's folder. What stands
    /// here goes before what stands there; sources and owned devices add up.
    pub include: Vec<At<String>>,
    /// How it is recorded and replayed.
    pub session: SessionFile,
    /// The room in which it is recorded.
    pub room: RoomFile,
    /// Thresholds of the verdicts, where this case needs its own.
    pub thresholds: ThresholdsFile,
    /// Everything that is to be recorded at once.
    #[serde(rename = "source")]
    pub sources: Vec<SourceFile>,
    /// The devices that are there already.
    pub owned: Vec<OwnedFile>,
    /// Connections between devices that are as they are; the rest is worked out.
    #[serde(rename = "link")]
    pub links: Vec<LinkFile>,
    /// What may be spent when something is added, and what stays as it is.
    pub options: OptionsFile,
    /// What could be added or changed. Where no device is named, those of the gear folder that have a price are looked at.
    pub option: Vec<OptionFile>,
}

file_struct! {
    /// How it is recorded and replayed.
    pub struct SessionFile {
        figures {
            /// Sample rate; 48 kHz if not given.
            sample_rate: Hertz,
            /// Bit depth of the file; 24 bit if not given.
            bit_depth: Bits,
            /// Where the loudest peak should land; -12 dBFS if not given.
            peak_target: DbFs,
            /// Level of loud passages when the recording is replayed; 80 dB SPL if not given.
            replay_level: DbSpl,
            /// Noise of the room in which it is replayed; NR 15 if not given.
            listening_room: DbSpl,
        }
        fields {
            /// The device that has to lead the clock; worked out if not given.
            clock: At<String>,
        }
    }
}

file_struct! {
    /// The room in which it is recorded.
    pub struct RoomFile {
        figures {
            /// Its noise: a noise rating such as "NR 20", or an A-weighted level such as "28 dBA".
            noise: DbSpl,
            /// Its temperature; 20 °C if not given.
            temperature: Kelvin,
        }
        fields {
        }
    }
}

file_struct! {
    /// Something to be recorded.
    pub struct SourceFile {
        figures {
            /// From source to microphone; usual for the kind if not given.
            distance: Metres,
            /// RMS level of the quietest passage that matters, at the microphone (or at `levels_at`).
            quiet: DbSpl,
            /// RMS level of the loudest passage, at the microphone (or at `levels_at`).
            loud: DbSpl,
            /// Distance at which `quiet` and `loud` hold, if that is not the microphone's.
            levels_at: Metres,
            /// From RMS to peak in loud passages.
            crest: Decibels,
            /// Length of the cable from the microphone.
            cable: Metres,
            /// Gain on the input's control, if it is set already; chosen for the loudest passage if not given.
            gain: Decibels,
        }
        fields {
            /// Its name.
            name: At<String>,
            /// Which kind it is: see `gainsay kinds sources`.
            kind: At<String>,
            /// The microphone before it: a device of the gear folder or a built-in kind.
            microphone: At<String>,
            /// A booster in its line.
            booster: At<String>,
            /// The kind of cable, if not the usual microphone cable.
            cable_kind: At<String>,
            /// Sources with the same word here take turns: never at once, so that they may share a microphone and its input.
            turns: String,
            /// Two sources with the same word here are the two sides of a stereo pair, which belongs on equal inputs.
            pair: At<String>,
            /// Sources with the same word here are picked up together: several microphones on one instrument.
            together: String,
            /// The input that it has to be on; worked out if not given.
            input: PinFile,
            /// Whether a driven, coloured sound is wanted.
            colour: bool,
            /// Remarks.
            note: String,
        }
    }
}

file_struct! {
    /// The input that a source has to be on.
    pub struct PinFile {
        figures {
        }
        fields {
            /// The device with the input; may be left out if only one has inputs.
            device: At<String>,
            /// Which of several equal devices, from 1; any if not given.
            copy: At<u32>,
            /// Number of the input among the device's inputs of its kind, from 1; any if not given.
            number: At<u32>,
        }
    }
}

file_struct! {
    /// A connection between two devices that is as it is. A device with one is connected to nothing else in that direction.
    pub struct LinkFile {
        figures {
        }
        fields {
            /// The device that sends.
            from: At<String>,
            /// The device that receives.
            to: At<String>,
            /// The digital format; any that both have if not given. A preamp's analogue outputs have none.
            format: At<DigitalFormat>,
        }
    }
}

file_struct! {
    /// A device that is there already.
    pub struct OwnedFile {
        figures {
        }
        fields {
            /// A device of the gear folder or a built-in kind.
            device: At<String>,
            /// How many; one if not given.
            count: At<u32>,
        }
    }
}

file_struct! {
    /// What may be spent when something is added, and what stays as it is.
    pub struct OptionsFile {
        figures {
        }
        fields {
            /// The most that may be spent, in the currency of the prices; no limit if not given.
            budget: At<f64>,
            /// What stays as it is: `distances`, `microphones`, `sample-rate`. What is not named here may change where that
            /// helps: microphones go closer, spare ones are tried, a high sample rate is lowered.
            keep: Vec<Keep>,
        }
    }
}

file_struct! {
    /// Something that could be added or changed: one thing each.
    pub struct OptionFile {
        figures {
            /// With `source`: the nearest that its microphone may go; half the distance if not given.
            distance: Metres,
            /// A sample rate that would do as well; for a session above 50 kHz, 48 kHz if not given.
            sample_rate: Hertz,
        }
        fields {
            /// A device that could be added: of the gear folder, or a built-in kind.
            device: At<String>,
            /// What one of it costs; what its file says if not given.
            price: At<f64>,
            /// How many of it could be added; one if not given.
            count: At<u32>,
            /// The source that would be changed.
            source: At<String>,
            /// With `source`: a microphone that it could have instead of its own, owned or one of the options. Any if no option
            /// names one.
            microphone: At<String>,
            /// With `source`: whether it could be done without.
            leave_out: bool,
            /// Sources that could take turns at one microphone, although they are planned to be at once.
            turns: Vec<At<String>>,
            /// Remarks.
            note: At<String>,
        }
    }
}

impl CaseFile {
    /// Reads a case from the text of its file. Its figures are resolved; nothing is looked up yet.
    ///
    /// # Errors
    /// Everything that is wrong in the file, each with its place.
    pub fn from_toml(text: &str) -> Result<Self, Vec<Problem>> {
        let mut file: Self = gainsay_gear::read_table(text).map_err(|problem| vec![problem])?;
        let mut problems = Vec::new();
        let origin = Origin::Given;
        file.session.resolve(origin, &mut problems);
        file.room.resolve(origin, &mut problems);
        file.thresholds.resolve(origin, &mut problems);
        file.sources.iter_mut().for_each(|source| source.resolve(origin, &mut problems));
        file.option.iter_mut().for_each(|option| option.resolve(origin, &mut problems));
        if problems.is_empty() { Ok(file) } else { Err(problems) }
    }
}

/// The JSON Schema of a case file.
#[must_use]
pub fn schema() -> schemars::Schema {
    schemars::schema_for!(CaseFile)
}
