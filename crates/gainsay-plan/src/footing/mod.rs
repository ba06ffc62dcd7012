//! Devices on one footing.
//!
//! Sheets hide the same facts behind different units, references, weightings and conditions. Here every device is put on one
//! footing: levels in dBu, noise unweighted from 20 Hz to 20 kHz with a source of 150 Ω at 293.15 K, sound in dB SPL. What a
//! sheet does not state is typical for its kind and marked so; what it leaves unclear widens the result.
//!
//! ```text
//! Device ─ Figures (draws of what it states) ─ inputs, boosters, microphones ─ DeviceFooting
//! Case per device ─ check and draws ─ recordings: which would record better, and whether anyone would hear it
//! ```

mod amplifier;
mod booster;
mod class;
mod figures;
mod inputs;
mod known;
mod measure;
mod microphone;
mod recording;
mod rows;
mod shown;
mod spreadsheet;
mod written;

pub use class::{Class, Incomparable};
pub use figures::{Basis, Rests};
pub use known::Known;
pub use measure::Measure;
pub use recording::{Apart, Recording, Recordings, recordings};
pub use rows::{GroupRows, figure_rows};
pub use shown::{Compared, Shown};
pub use spreadsheet::spreadsheet;
pub use written::Written;

use crate::answer::Estimate;
use crate::chain::MissingFigure;
use crate::draws::Draws;
use crate::draws::order::Quantiles;
use gainsay_gear::{Catalogue, Device, DeviceType};
use gainsay_units::{Dbu, Hertz, Kelvin, Ohms, Origin, noise};
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

/// The source impedance of the footing.
pub const SOURCE: Ohms = gainsay_gear::USUAL_SOURCE;

/// Its temperature.
pub const TEMPERATURE: Kelvin = Kelvin::ROOM;

/// Its band, without weighting.
pub const BANDWIDTH: Hertz = noise::AUDIO_BANDWIDTH;

/// The temperature to which a noise figure refers (Friis 1944; IRE standard of 1957).
pub const NOISE_FIGURE_TEMPERATURE: Kelvin = Kelvin::new(290.0);

/// The lowest EIN that an amplifier can have on this footing: the thermal noise of the source itself, −130.9 dBu.
#[must_use]
pub fn thermal_limit() -> Dbu {
    noise::thermal_noise(SOURCE, TEMPERATURE, BANDWIDTH)
}

/// A figure on the footing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Footed {
    /// Median and 95 % interval, in the unit of its [`Measure`].
    #[serde(flatten)]
    pub estimate: Estimate,
    /// The weakest origin among the figures that it rests on.
    pub from: Origin,
    /// Which of the group's figures these are.
    #[serde(skip)]
    pub rests: Rests,
}

/// What a group of equal inputs, or a device without inputs, is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum GroupKind {
    /// Microphone inputs.
    MicrophoneInput,
    /// Line or instrument inputs.
    LineInput,
    /// A booster.
    Booster,
    /// A microphone.
    Microphone,
}

/// The usable window at a setting of the gain: what is loud enough to rise above the noise and quiet enough to stay below the
/// ceiling, both at the input. dBu; of a microphone dB SPL, and its noise in dBA.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindowPoint {
    /// The gain on the control, in dB.
    pub gain_db: f64,
    /// Highest level of a sine.
    pub ceiling: Estimate,
    /// Noise.
    pub noise: Estimate,
}

/// Equal inputs of a device on one footing, or the device itself where it has none.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupFooting {
    /// The group's label, where the device has more than one of its kind.
    pub label: Option<String>,
    /// How many there are.
    pub count: u32,
    /// What they are.
    pub kind: GroupKind,
    /// The figures, in the order in which they are shown.
    pub figures: Vec<(Measure, Footed)>,
    /// The usable window from the least gain to the most.
    pub window: Vec<WindowPoint>,
    /// What the sheet leaves unclear, and what that does to the figures.
    pub doubts: Vec<String>,
    /// What the figures rest on.
    pub basis: Vec<Basis>,
}

impl GroupFooting {
    /// The stated figures that a result rests on.
    pub fn basis_of(&self, footed: &Footed) -> impl Iterator<Item = &Basis> {
        let rests = footed.rests;
        self.basis.iter().enumerate().filter(move |(index, _)| rests.has(*index)).map(|(_, basis)| basis)
    }

    /// A figure; none where it has no meaning for this group.
    #[must_use]
    pub fn get(&self, measure: Measure) -> Option<Footed> {
        self.figures.iter().find(|(known, _)| *known == measure).map(|(_, footed)| *footed)
    }
}

/// A device on one footing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DeviceFooting {
    /// Its name.
    pub name: String,
    /// Its short name.
    pub id: String,
    /// What it is.
    #[serde(rename = "type")]
    pub device_type: DeviceType,
    /// Its price, in whatever currency its file has it.
    pub price: Option<f64>,
    /// Its groups of inputs; one group where it is a microphone or a booster.
    pub groups: Vec<GroupFooting>,
}

impl DeviceFooting {
    /// The groups that are compared: microphone inputs where there are any, else line inputs; a microphone or booster itself.
    pub fn compared(&self) -> impl Iterator<Item = &GroupFooting> {
        let any = self.groups.iter().any(|group| group.kind != GroupKind::LineInput);
        self.groups.iter().filter(move |group| !any || group.kind != GroupKind::LineInput)
    }

    /// The device's name, with the group's label where there is one.
    #[must_use]
    pub fn name_of(&self, group: &GroupFooting) -> String {
        group.label.as_ref().map_or_else(|| self.name.clone(), |label| format!("{}, {label}", self.name))
    }
}

/// Puts a device on the footing. What its file does not state is taken from the kind that it is like.
///
/// # Errors
/// When a figure is missing that neither the device nor the kind that it is like states.
pub fn footing(device: &Device, catalogue: &Catalogue, draws: Draws) -> Result<DeviceFooting, MissingFigure> {
    let mut device = device.clone();
    catalogue.fill(&mut device);
    let groups = if let Some(microphone) = device.microphone() {
        vec![microphone::footing(&device, microphone, draws)?]
    } else if let Some(model) = device.booster() {
        vec![booster::footing(&device, model, draws)?]
    } else if let Some(front_end) = device.front_end() {
        inputs::footing(&device, front_end, draws)?
    } else {
        Vec::new()
    };
    Ok(DeviceFooting {
        name: device.name.clone(),
        id: device.id.clone(),
        device_type: device.device_type(),
        price: device.price,
        groups,
    })
}

/// Median and interval of draws.
fn estimate(values: &[f64]) -> Estimate {
    let Quantiles { low, median, high } = Quantiles::of(values);
    Estimate { median, low, high }
}

impl Serialize for GroupFooting {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Point {
            gain_db: f64,
            ceiling_dbu: Estimate,
            noise_dbu: Estimate,
        }
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("label", &self.label)?;
        map.serialize_entry("count", &self.count)?;
        map.serialize_entry("kind", &self.kind)?;
        for (measure, footed) in &self.figures {
            map.serialize_entry(measure.key(), footed)?;
        }
        // A microphone's window is its own noise and its maximum, which are among the figures already.
        if self.kind != GroupKind::Microphone {
            let points: Vec<Point> = self
                .window
                .iter()
                .map(|p| Point { gain_db: p.gain_db, ceiling_dbu: p.ceiling, noise_dbu: p.noise })
                .collect();
            map.serialize_entry("window", &points)?;
        }
        map.serialize_entry("doubts", &self.doubts)?;
        map.serialize_entry("basis", &self.basis)?;
        map.end()
    }
}
