//! What can be compared with what.

use crate::words::footing as words;
use gainsay_gear::{Device, DeviceType};

/// A sort of devices that have something in common to compare.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Class {
    /// Boxes with inputs.
    Inputs,
    /// Microphones and pickups.
    Microphones,
    /// Boosters.
    Boosters,
}

/// Why devices can't be compared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Incomparable {
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub mend: &'static str,
}

impl Class {
    /// That of a type of devices; none of cables.
    #[must_use]
    pub const fn of(device_type: DeviceType) -> Option<Self> {
        match device_type {
            DeviceType::Preamp | DeviceType::Interface | DeviceType::Converter => Some(Self::Inputs),
            DeviceType::Microphone => Some(Self::Microphones),
            DeviceType::Booster => Some(Self::Boosters),
            DeviceType::Cable => None,
        }
    }

    /// What all of the devices are.
    ///
    /// # Errors
    /// When there are none, one is a cable or has no inputs, or they are of different sorts.
    pub fn of_all<'a>(devices: impl IntoIterator<Item = &'a Device>) -> Result<Self, Incomparable> {
        let mut found: Option<(Self, &Device)> = None;
        for device in devices {
            let Some(class) = Self::of(device.device_type()) else { return Err(words::cable(device)) };
            if device.front_end().is_some_and(|f| f.microphone_inputs.is_empty() && f.line_inputs.is_empty())
            {
                return Err(words::no_inputs(device));
            }
            match found {
                Some((known, first)) if known != class => {
                    let microphones = known == Self::Microphones || class == Self::Microphones;
                    return Err(words::nothing_in_common(first, device, microphones));
                }
                Some(_) => {}
                None => found = Some((class, device)),
            }
        }
        found.map(|(class, _)| class).ok_or_else(words::nothing_to_compare)
    }
}
