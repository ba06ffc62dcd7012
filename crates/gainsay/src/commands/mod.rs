//! One module for each command.

pub(crate) mod check;
pub(crate) mod compare;
pub(crate) mod completions;
pub(crate) mod demo;
pub(crate) mod explain;
pub(crate) mod gear;
pub(crate) mod kinds;
pub(crate) mod options;
pub(crate) mod patch;
pub(crate) mod quick;
pub(crate) mod schema;
pub(crate) mod serve;
pub(crate) mod sheet;

use crate::exit::Failure;
use gainsay_plan::Case;
use std::path::{Path, PathBuf};

/// Loads a case from disk, or the embedded demo.
pub(crate) fn load(path: Option<&PathBuf>) -> Result<Case, Failure> {
    let case = match path {
        Some(path) => gainsay_folder::load(&gainsay_folder::Disk, path),
        None => gainsay_folder::load(&gainsay_folder::demo::tree(), Path::new(gainsay_folder::demo::MAIN)),
    };
    Ok(case?)
}
