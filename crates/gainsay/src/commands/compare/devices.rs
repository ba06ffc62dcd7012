//! The devices that the command line names.

use crate::exit::Failure;
use gainsay_folder::{Disk, LoadError, Tree};
use gainsay_gear::{Catalogue, Device};
use gainsay_units::Problem;
use std::path::Path;

/// A device, by what the command line calls it.
pub(crate) struct Named {
    pub(super) argument: String,
    pub(crate) device: Device,
    /// Text of its file; none of a built-in kind.
    pub(super) text: Option<String>,
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
