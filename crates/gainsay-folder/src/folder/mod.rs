//! A folder of cases and gear that is read and written: safely against a power cut, a full disk, and other programs that write in
//! it at the same time.
//!
//! ```text
//! quintet.toml        cases, and parts that they include
//! gear/*.toml         devices
//! .history/           earlier texts, and the lock by which programs take turns
//! ```

mod disk;
mod fault;
mod history;
mod listing;
mod name;
mod store;
mod tree;
mod version;

pub use fault::{Fault, FolderError, SaveError};
pub use history::Earlier;
pub use listing::{CaseEntry, GearEntry, Unusable};
pub use name::{FileName, Place};
pub use tree::Draft;
pub use version::Version;

use crate::demo;
use crate::tree::text_of;
use disk::Temporary;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// A file that has been read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Read {
    /// Its text.
    pub text: String,
    /// Its version, to save a change to it.
    pub version: Version,
}

/// A folder of cases and gear.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Folder {
    /// Without links in it.
    root: PathBuf,
}

impl Folder {
    /// Opens a folder, and tidies up what a program that was stopped in the middle of saving has left there. A folder in which
    /// nothing has been saved yet is not changed; one that can't be written can be read.
    ///
    /// # Errors
    /// When there is no such folder, or it may not be read.
    pub fn open(path: &Path) -> Result<Self, FolderError> {
        let gone = |error: io::Error| match error.kind() {
            io::ErrorKind::NotFound => {
                let message = format!("there is no folder {}", path.display());
                FolderError::new(Fault::Gone, message, "check the path")
            }
            _ => FolderError::of_io(&error, path, "opened"),
        };
        let root = fs::canonicalize(path).map_err(gone)?;
        fs::read_dir(&root).map_err(gone)?;
        let folder = Self { root };
        if disk::plain_folder(&folder.history_folder()).unwrap_or(false)
            && let Ok(lock) = folder.lock()
        {
            // What can't be tidied up, such as on a full disk, is not in the way of reading.
            let _ = folder.sweep(&lock);
        }
        Ok(folder)
    }

    /// Opens a folder for the demo, and writes the demo there if it has not been written there before. A file that is there is
    /// never overwritten, and one that has been deleted does not come back.
    ///
    /// # Errors
    /// When the folder can't be made or written.
    pub fn demo(path: &Path) -> Result<Self, FolderError> {
        fs::create_dir_all(path).map_err(|error| FolderError::of_io(&error, path, "made"))?;
        let folder = Self::open(path)?;
        let mark = folder.history_folder().join("demo");
        if fs::symlink_metadata(&mark).is_ok() {
            return Ok(folder);
        }
        let lock = folder.lock()?;
        folder.sweep(&lock)?;
        for (file, text) in demo::FILES {
            let to = folder.root.join(file);
            folder.write_new(&to, text).map_err(|error| folder.fail(&error, &to, "written"))?;
        }
        // The mark comes last: if this is stopped before, the rest is written the next time.
        folder.write_new(&mark, "written\n").map_err(|error| folder.fail(&error, &mark, "written"))?;
        Ok(folder)
    }

    /// Writes a file that is not there yet.
    fn write_new(&self, to: &Path, text: &str) -> io::Result<()> {
        let (Some(parent), Some(stem)) = (to.parent(), to.file_stem()) else { return Ok(()) };
        if parent != self.root {
            disk::make_folder(parent)?;
        }
        let version = Version::of(text.as_bytes());
        let path = Temporary::path_for(parent, &stem.to_string_lossy(), version);
        let temporary = Temporary::write(path, text.as_bytes(), None)?;
        match disk::rename_new(temporary.path(), to) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Ok(()),
            Err(error) => Err(error),
            Ok(()) => disk::sync_folder(parent),
        }
    }

    /// Where it is, without links in the path.
    #[must_use]
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Where a file lies, whether there is one or not.
    #[must_use]
    pub fn path_of(&self, place: Place, name: &FileName) -> PathBuf {
        self.folder_of(place).join(name.as_str())
    }

    /// Reads a file.
    ///
    /// # Errors
    /// When it is not there, is no plain file (a link is none), may not be read, or is not text.
    pub fn read(&self, place: Place, name: &FileName) -> Result<Read, FolderError> {
        let folder = self.folder_of(place);
        disk::plain_folder(&folder).map_err(|error| self.fail(&error, &folder, "read"))?;
        let path = folder.join(name.as_str());
        let bytes = disk::read_plain(&path).map_err(|error| self.fail(&error, &path, "read"))?;
        let bytes = bytes.ok_or_else(|| self.fail(&io::ErrorKind::NotFound.into(), &path, "read"))?;
        read_of(bytes, name)
    }

    fn folder_of(&self, place: Place) -> PathBuf {
        match place {
            Place::Case => self.root.clone(),
            Place::Gear => self.root.join("gear"),
        }
    }

    /// What the system says, in words; that the folder itself is gone, if so.
    fn fail(&self, error: &io::Error, path: &Path, done: &str) -> FolderError {
        if self.root.is_dir() {
            return FolderError::of_io(error, path, done);
        }
        let message = format!("the folder {} is no longer there", self.root.display());
        FolderError::new(Fault::Gone, message, "bring it back, or keep your text by copying it elsewhere")
    }
}

fn read_of(bytes: Vec<u8>, name: &FileName) -> Result<Read, FolderError> {
    let version = Version::of(&bytes);
    let text = text_of(bytes, name.as_str())
        .map_err(|error| FolderError::new(Fault::NotText, error.message, error.mend))?;
    Ok(Read { text, version })
}
