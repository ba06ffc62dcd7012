//! Plugging it in: which source into which input, through which ports, on whose clock.
//!
//! ```text
//! needs       what a source needs of an input
//! studio      boxes, places, wires: the case as an allocation problem ── allocation  the best of all
//! suitability what the check says of a line at a place ───────────────┘
//! clock       who leads, who follows                                   (asked by the allocation, too)
//! numbering   numbers of inputs and channels ── Patch
//! missing     what would make room for those left out
//! joining, levels, alignment, sheet: what the patch comes to in cables, levels, time and words
//! ```

pub mod alignment;
pub mod allocation;
pub mod clock;
pub mod joining;
mod market;
mod missing;
pub(crate) mod needs;
mod numbering;
pub mod sheet;
mod studio;
mod suitability;
mod synchronise;
mod variant;
mod ways_out;

pub use market::possible_inputs;
pub(crate) use market::whole::{Whole, clash_of_whole, lasting_clashes};
pub(crate) use market::{Extended, Market, Offer, Solved, inputs_of};
pub use missing::{Missing, Relief};
pub(crate) use studio::{in_use, lines};
pub(crate) use variant::Variant;

use crate::case::Case;
use crate::chain::MissingFigure;
use gainsay_gear::connection::{ClockSource, DigitalFormat};
use gainsay_gear::front_end::{LineInputs, MicrophoneInputs};
use gainsay_gear::{Device, FrontEnd};
use std::sync::Arc;
use studio::{Ease, Studio};

/// What the inputs come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Patch {
    /// The boxes that are there, in the order of the case; equal devices one by one.
    pub boxes: Vec<Unit>,
    /// For each source of the case its input, or why there is none.
    pub inputs: Vec<Result<Input, NoInput>>,
    /// Digital connections that carry sound.
    pub links: Vec<Link>,
    /// For each box whose clock it runs on; none for boxes that are not used or have no clock.
    pub clocks: Vec<Option<Clock>>,
    /// Links whose ends run on different clocks, because the receiving input converts the sample rate.
    pub converted: Vec<usize>,
    /// Microphone inputs that can be used at this sample rate, all at once.
    pub microphone_inputs: u32,
    /// Inputs that are used.
    pub used: u32,
    /// Inputs that are needed: sources that take turns at one microphone need one.
    pub needed: u32,
    /// Devices that can't be used, and why.
    pub unusable: Vec<Unusable>,
    /// What would make room for the sources that have no input.
    pub missing: Option<Missing>,
    /// Whether it is proven that no patch is better.
    pub proven: bool,
}

/// One physical box.
#[derive(Debug, Clone, PartialEq)]
pub struct Unit {
    /// The device.
    pub device: Arc<Device>,
    /// Which of several equal devices, from 1; none if there is only one.
    pub copy: Option<u32>,
    /// Its name as far as it is needed to tell it from the others: up to the first comma if that will do.
    pub short: String,
    /// Whether it reaches the computer, or records, by itself.
    pub is_interface: bool,
}

/// An input that a source uses.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// The device.
    pub device: Arc<Device>,
    /// Which of several equal devices, from 1; none if there is only one.
    pub copy: Option<u32>,
    /// Index of the box.
    pub at: usize,
    /// Number of the input on the device among those of its kind, from 1.
    pub number: u32,
    /// What kind of input it is.
    pub socket: Socket,
    /// The line input that an analogue preamp's output goes into.
    pub line: Option<LineEnd>,
    /// Digital connections on its way to the computer, in order.
    pub hops: Vec<Hop>,
}

/// A group of equal inputs on a front end.
#[derive(Debug, Clone, PartialEq)]
pub enum Socket {
    /// A microphone input.
    Microphone(Arc<MicrophoneInputs>),
    /// A line or instrument input.
    Line(Arc<LineInputs>),
}

/// A line input behind a preamp.
#[derive(Debug, Clone, PartialEq)]
pub struct LineEnd {
    /// The device with the line input.
    pub device: Arc<Device>,
    /// Index of the box.
    pub at: usize,
    /// The line input's group.
    pub inputs: Arc<LineInputs>,
    /// Number of the line input, from 1.
    pub number: u32,
}

/// A channel of a digital connection.
#[derive(Debug, Clone, PartialEq)]
pub struct Hop {
    /// Index of the link in the patch.
    pub link: usize,
    /// The device with the digital input.
    pub into: Arc<Device>,
    /// The format.
    pub format: DigitalFormat,
    /// Which of the link's cables, from 1.
    pub cable: u32,
    /// Channel on that cable, from 1.
    pub channel: u32,
}

/// A digital connection between two boxes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// Index of the sending box.
    pub from: usize,
    /// Index of its group of digital outputs.
    pub output_group: usize,
    /// Index of the receiving box.
    pub to: usize,
    /// Index of its group of digital inputs.
    pub input_group: usize,
    /// The format.
    pub format: DigitalFormat,
    /// Channels that one cable carries at the session's sample rate.
    pub channels_per_cable: u32,
    /// Channels that are used.
    pub channels: u32,
    /// Whether the input converts its sample rate.
    pub converts_rate: bool,
}

impl Link {
    /// How many cables it takes.
    #[must_use]
    pub fn cables(&self) -> u32 {
        self.channels.div_ceil(self.channels_per_cable.max(1))
    }
}

/// Whose clock a box runs on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Clock {
    /// Its own, and others follow it.
    Leads,
    /// Another box's.
    Follows {
        /// Index of the box that it follows.
        from: usize,
        /// What it is set to.
        source: ClockSource,
        /// How the clock gets there.
        by: ClockCable,
    },
}

/// How a clock gets from box to box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockCable {
    /// With the sound, over a link of the patch.
    Link(usize),
    /// A word clock cable.
    WordClock,
    /// The network.
    Network,
    /// A cable of its own between digital ports.
    Own {
        /// Its format.
        format: DigitalFormat,
        /// Group of digital outputs where it begins.
        output_group: usize,
        /// Group of digital inputs where it ends.
        input_group: usize,
    },
}

/// Why a source has no input.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoInput {
    /// All suitable inputs are taken.
    RunOut,
    /// There is none that supplies the phantom power that it needs.
    NoPhantom,
    /// There is no input of the kind that it needs at all.
    NoneOfItsKind,
}

/// A device that can't be used.
#[derive(Debug, Clone, PartialEq)]
pub struct Unusable {
    /// The device.
    pub device: Arc<Device>,
    /// Why.
    pub why: UnusableBecause,
}

/// Why a device can't be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnusableBecause {
    /// It does not run at the session's sample rate.
    SampleRate,
    /// It has no way into the computer: no interface has a digital input of its format.
    NoDigitalInput,
    /// It is analogue, and no line input is there to take it.
    NoLineInput,
}

impl Unit {
    /// Its name, with its number among equal ones.
    #[must_use]
    pub fn words(&self) -> String {
        match self.copy {
            Some(copy) => format!("{} no. {copy}", self.short),
            None => self.short.clone(),
        }
    }

    /// What its file says; every box is a front end.
    #[must_use]
    pub fn front_end(&self) -> Option<&FrontEnd> {
        self.device.front_end()
    }
}

impl Input {
    /// The device's name and which input of it.
    #[must_use]
    pub fn words(&self) -> String {
        let copy = self.copy.map(|n| format!(" no. {n}")).unwrap_or_default();
        format!("{}{copy}, {} {}", self.device.name, self.socket.words(), self.number)
    }
}

impl Socket {
    /// What kind of input it is.
    #[must_use]
    pub fn words(&self) -> &'static str {
        match self {
            Self::Microphone(_) => "input",
            Self::Line(group) if group.instrument == Some(true) => "instrument input",
            Self::Line(_) => "line input",
        }
    }
}

/// Gives every source the input that is best for all of them together: as many sources as possible; then the fewest
/// that are short; then the fewest that are tight; then the least penalty in all, in steps of
/// [`crate::thresholds::PENALTY_STEP`]; then the fewest cables; then the order of the case.
///
/// # Errors
/// When a figure is missing that neither a device nor the kind that it is like states.
pub fn best(case: &Case) -> Result<Patch, MissingFigure> {
    let mut studio = Studio::new(case, Ease::default());
    suitability::weigh(case, &mut studio)?;
    let (allocated, clocking) = studio.solve();
    let mut patch = numbering::patch(case, &studio, &allocated, clocking);
    patch.microphone_inputs = studio::usable_microphone_inputs(&studio);
    if patch.inputs.iter().any(Result::is_err) {
        patch.missing = Some(missing::find(case, &studio, &patch));
    }
    Ok(patch)
}

/// The allocation problem behind [`best`], with its costs, for comparison with other solvers. Clocks are not part of it.
///
/// # Errors
/// As [`best`].
pub fn allocation_of(case: &Case) -> Result<allocation::Allocation, MissingFigure> {
    let mut studio = Studio::new(case, Ease::default());
    suitability::weigh(case, &mut studio)?;
    Ok(studio.allocation)
}
