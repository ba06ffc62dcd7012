//! A case, assembled from its files and completed with what is typical.

mod additions;
mod assemble;
mod file;
mod wishes;

pub use additions::{Additions, Allowed, Candidate, Keep};
pub(crate) use assemble::carried;
pub use assemble::{FilePart, FileProblem, assemble};
pub use file::{
    CaseFile, LinkFile, OptionFile, OptionsFile, OwnedFile, PinFile, RoomFile, SessionFile, SourceFile,
    schema,
};
pub(crate) use wishes::formats;

use crate::thresholds::Thresholds;
use gainsay_gear::connection::DigitalFormat;
use gainsay_gear::{Device, SourceKind};
use gainsay_units::bands::BandPowers;
use gainsay_units::{Bits, DbFs, DbSpl, Dbu, Decibels, FaradsPerMetre, Figure, Hertz, Kelvin, Metres, Ohms};
use std::sync::Arc;

/// A studio, a session and a question, complete: what the files do not state is filled with typical values and marked so.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// What the case is called.
    pub title: String,
    /// The question in the asker's own words.
    pub question: Option<String>,
    /// How it is recorded and replayed.
    pub session: Session,
    /// The room.
    pub room: Room,
    /// Thresholds of the verdicts.
    pub thresholds: Thresholds,
    /// What is to be recorded.
    pub sources: Vec<Source>,
    /// What is there already.
    pub owned: Vec<Owned>,
    /// Connections between devices that are as they are.
    pub links: Vec<StatedLink>,
    /// Index among the owned devices of the one that has to lead the clock.
    pub clock: Option<usize>,
    /// What could be added or changed.
    pub additions: Additions,
    /// Figures that are held at a value, whatever the files say, for what-ifs.
    pub fixed: Vec<Fixed>,
    /// The usual booster, for what it would change.
    pub usual_booster: Option<Arc<Device>>,
}

/// A figure that is held at a value.
#[derive(Debug, Clone, PartialEq)]
pub struct Fixed {
    /// Its key, see [`crate::chain::Parameter::key`].
    pub key: String,
    /// Its value in its base unit.
    pub value: f64,
}

/// How it is recorded and replayed.
#[derive(Debug, Clone, PartialEq)]
pub struct Session {
    /// Sample rate.
    pub sample_rate: Figure<Hertz>,
    /// Bit depth of the file.
    pub bit_depth: Figure<Bits>,
    /// Where the loudest peak should land (sine-equivalent).
    pub peak_target: Figure<DbFs>,
    /// Level of loud passages at replay.
    pub replay_level: Figure<DbSpl>,
    /// Noise of the room of replay, as the A-weighted level of its NR curve.
    pub listening_room: Figure<DbSpl>,
}

/// The room in which it is recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Room {
    /// Its noise as an A-weighted level, with the spectrum of the NR curve that has it.
    pub noise: Figure<DbSpl>,
    /// The shape of that noise: powers in the bands whose A-weighted sum is one.
    pub shape: BandPowers,
    /// Its temperature.
    pub temperature: Kelvin,
}

/// Something to be recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// Its name.
    pub name: String,
    /// Its kind.
    pub kind: SourceKind,
    /// Share of its power in each band.
    pub spectrum: BandPowers,
    /// From RMS to peak in loud passages.
    pub crest: Figure<Decibels>,
    /// How its sound or signal is taken.
    pub pickup: Pickup,
    /// A booster in its line.
    pub booster: Option<Arc<Device>>,
    /// Length of its cable.
    pub cable_length: Figure<Metres>,
    /// Capacitance of its cable for each metre.
    pub cable_capacitance: Figure<FaradsPerMetre>,
    /// Gain on its input's control, where that is set already.
    pub gain: Option<Decibels>,
    /// Sources with the same word take turns.
    pub turns: Option<String>,
    /// Two sources with the same word are a stereo pair.
    pub pair: Option<String>,
    /// Sources with the same word are picked up together.
    pub together: Option<String>,
    /// The input that it has to be on.
    pub pin: Option<Pin>,
    /// Whether a driven sound is wanted.
    pub colour: bool,
    /// Whether it could be done without.
    pub dispensable: bool,
    /// Remarks.
    pub note: Option<String>,
}

/// The input that a source has to be on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pin {
    /// Index of the device among the owned ones.
    pub owned: usize,
    /// Which of several equal devices, from 1.
    pub copy: Option<u32>,
    /// Number of the input among the device's inputs of its kind, from 1.
    pub number: Option<u32>,
}

/// A connection that is as it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StatedLink {
    /// Index of the sending device among the owned ones.
    pub from: usize,
    /// Index of the receiving device among the owned ones.
    pub to: usize,
    /// The digital format; none of a preamp's analogue outputs, or where any will do.
    pub format: Option<DigitalFormat>,
}

/// How a source is taken.
#[derive(Debug, Clone, PartialEq)]
pub enum Pickup {
    /// Through the air, by a microphone.
    Acoustic {
        /// The microphone, completed with what is typical.
        microphone: Arc<Device>,
        /// Whether the case names it; otherwise it is the usual one for the kind of source.
        microphone_given: bool,
        /// From source to microphone.
        distance: Figure<Metres>,
        /// Distance at which `quiet` and `loud` hold.
        levels_at: LevelsAt,
        /// RMS level of the quietest passage that matters, unweighted.
        quiet: Figure<DbSpl>,
        /// RMS level of the loudest passage, unweighted.
        loud: Figure<DbSpl>,
        /// Size of what radiates.
        size: Metres,
    },
    /// By a cable, from an electrical output.
    Electrical {
        /// RMS level of the quietest passage.
        quiet: Figure<Dbu>,
        /// RMS level of the loudest passage.
        loud: Figure<Dbu>,
        /// The output's own noise, unweighted.
        noise: Figure<Dbu>,
        /// Output resistance.
        impedance: Figure<Ohms>,
    },
}

/// Where a source's levels hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LevelsAt {
    /// At the microphone itself.
    Microphone,
    /// At a distance, from which they are carried to the microphone by the inverse distance law.
    Distance(Metres),
}

/// A device that is there, completed with what is typical.
#[derive(Debug, Clone, PartialEq)]
pub struct Owned {
    /// The device.
    pub device: Arc<Device>,
    /// How many.
    pub count: u32,
}

impl Source {
    /// The microphone, if it is taken by one.
    #[must_use]
    pub fn microphone(&self) -> Option<&Device> {
        match &self.pickup {
            Pickup::Acoustic { microphone, .. } => Some(microphone),
            Pickup::Electrical { .. } => None,
        }
    }
}
