//! The devices that the command line names.

use crate::exit::Failure;
use gainsay_folder::{Disk, LoadError, Tree};
use gainsay_gear::{Catalogue, Device, DeviceType};
use gainsay_units::Problem;
use std::path::Path;

/// A device, by what the command line calls it.
pub(crate) struct Named {
    pub(super) argument: String,
    pub(crate) device: Device,
    /// Text of its file; none of a built-in kind.
    pub(super) text: Option<String>,
}

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Class {
    Inputs,
    Microphones,
    Boosters,
}

impl Class {
    const fn of(device_type: DeviceType) -> Option<Self> {
        match device_type {
            DeviceType::Preamp | DeviceType::Interface | DeviceType::Converter => Some(Self::Inputs),
            DeviceType::Microphone => Some(Self::Microphones),
            DeviceType::Booster => Some(Self::Boosters),
            DeviceType::Cable => None,
        }
    }
}

/// Reads every device.
pub(super) fn read(arguments: &[String]) -> Result<Vec<Named>, Failure> {
    arguments.iter().map(|argument| one(argument)).collect()
}

/// A built-in kind, or the device of a file.
pub(crate) fn one(argument: &str) -> Result<Named, Failure> {
    let path = Path::new(argument);
    if path.extension().is_none_or(|extension| extension != "toml") {
        let catalogue = Catalogue::embedded();
        let device = catalogue.device(argument).ok_or_else(|| {
            Failure::Input(
                format!("there is no built-in device \"{argument}\""),
                format!(
                    "{}; the name of a device file ends in .toml",
                    Problem::nearest(argument, catalogue.device_names())
                ),
            )
        })?;
        return Ok(Named { argument: argument.to_owned(), device, text: None });
    }
    let text = Disk.read(path).map_err(|error| Failure::Input(error.message, error.mend))?;
    let device = gainsay_folder::parse_device(path, &text)
        .map_err(|report| Failure::Load(LoadError { files: vec![report] }))?;
    Ok(Named { argument: argument.to_owned(), device, text: Some(text) })
}

/// What all of them are.
pub(super) fn class(devices: &[Named]) -> Result<Class, Failure> {
    let mut found: Option<(Class, &Named)> = None;
    for named in devices {
        let device = &named.device;
        let Some(class) = Class::of(device.device_type()) else {
            return Err(Failure::Input(
                format!("\"{}\" is a cable, which has neither noise nor ceiling to compare", device.name),
                "take it out; compare boxes with inputs, microphones or boosters".to_owned(),
            ));
        };
        if device.front_end().is_some_and(|f| f.microphone_inputs.is_empty() && f.line_inputs.is_empty()) {
            return Err(Failure::Input(
                format!("\"{}\" states no input that could be compared", device.name),
                "add its inputs to its file as [[microphone_inputs]] or [[line_inputs]]".to_owned(),
            ));
        }
        match found {
            Some((known, first)) if known != class => {
                let mend = if known == Class::Microphones || class == Class::Microphones {
                    "compare microphones with microphones; to see what one records through each box, name it with --microphone \
                     and say with --source what is to be recorded"
                } else {
                    "compare boosters with boosters, and boxes that have inputs with each other"
                };
                return Err(Failure::Input(
                    format!(
                        "\"{}\" is {} and \"{}\" is {}: they have nothing in common to compare",
                        first.device.name,
                        first.device.device_type().with_article(),
                        device.name,
                        device.device_type().with_article()
                    ),
                    mend.to_owned(),
                ));
            }
            Some(_) => {}
            None => found = Some((class, named)),
        }
    }
    found.map(|(class, _)| class).ok_or_else(|| {
        Failure::Input("there is nothing to compare".to_owned(), "name one or more devices".to_owned())
    })
}
