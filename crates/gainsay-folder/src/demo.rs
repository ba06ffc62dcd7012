//! The embedded demo: our own scenario, as files.

use crate::tree::Memory;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The case that is checked when none is named.
pub const MAIN: &str = "quintet.toml";

/// The second, smaller case.
pub const SECOND: &str = "storyteller.toml";

/// Paths and texts of the demo's files.
pub const FILES: &[(&str, &str)] = &[
    ("quintet.toml", include_str!("../demo/quintet.toml")),
    ("quintet-96-khz.toml", include_str!("../demo/quintet-96-khz.toml")),
    ("storyteller.toml", include_str!("../demo/storyteller.toml")),
    ("storyteller-pocket-recorder.toml", include_str!("../demo/storyteller-pocket-recorder.toml")),
    ("gear/boathouse-interface.toml", include_str!("../demo/gear/boathouse-interface.toml")),
    ("gear/borrowed-converter-box.toml", include_str!("../demo/gear/borrowed-converter-box.toml")),
    ("gear/kitchen-interface.toml", include_str!("../demo/gear/kitchen-interface.toml")),
    ("gear/pocket-recorder.toml", include_str!("../demo/gear/pocket-recorder.toml")),
];

/// The demo's files in memory.
#[must_use]
pub fn tree() -> Memory {
    Memory::new(FILES)
}

/// Writes the demo's files into a folder, which is made if it is not there. Nothing is overwritten: if any of the files is
/// there already, none is written.
///
/// # Errors
/// When a file is there already, or one can't be written.
pub fn write(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let paths: Vec<PathBuf> = FILES.iter().map(|(path, _)| folder.join(path)).collect();
    if let Some(there) = paths.iter().find(|path| path.exists()) {
        let message = format!("{} is there already, and nothing is overwritten", there.display());
        return Err(io::Error::new(io::ErrorKind::AlreadyExists, message));
    }
    for (path, (_, text)) in paths.iter().zip(FILES) {
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent)?;
        }
        // `create_new` also refuses a file that has appeared since.
        let mut file = fs::OpenOptions::new().write(true).create_new(true).open(path)?;
        io::Write::write_all(&mut file, text.as_bytes())?;
    }
    Ok(paths)
}
