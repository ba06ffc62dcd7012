//! What can go wrong with a folder, in words.

use super::{Read, Version};
use std::fmt;
use std::io;
use std::path::Path;

/// What kind of thing went wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Fault {
    /// The folder is not there, or no longer.
    Gone,
    /// The file is not there.
    Missing,
    /// There is a file of this name already.
    Exists,
    /// The name can't be one of a file here.
    BadName,
    /// What stands under the name is no plain file or folder but a link, a folder or a device.
    NotPlain,
    /// The file is no text, or too large to be one of ours.
    NotText,
    /// The disk, or what may be used of it, is full.
    Full,
    /// The folder can't be written, because what it lies on can only be read.
    ReadOnly,
    /// The folder or file may not be read or written.
    Denied,
    /// Another program has been writing in the folder for too long.
    Busy,
    /// Anything else that the system says.
    Other,
}

/// What went wrong with a folder. Nothing that was in it is lost.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FolderError {
    /// What kind of thing.
    pub fault: Fault,
    /// What is wrong.
    pub message: String,
    /// How to mend it.
    pub mend: String,
}

impl FolderError {
    pub(super) fn new(fault: Fault, message: impl Into<String>, mend: impl Into<String>) -> Self {
        Self { fault, message: message.into(), mend: mend.into() }
    }

    /// From what the system says about something that can't be done: "read", "written".
    pub(super) fn of_io(error: &io::Error, path: &Path, done: &str) -> Self {
        let shown = path.display();
        let (fault, why, mend) = match error.kind() {
            io::ErrorKind::NotFound => {
                (Fault::Missing, "it is not there", "look whether it has been moved or deleted")
            }
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded | io::ErrorKind::FileTooLarge => {
                (Fault::Full, "the disk is full", "make room")
            }
            io::ErrorKind::ReadOnlyFilesystem => (
                Fault::ReadOnly,
                "the disk that it lies on can only be read",
                "make the disk writable, or copy the folder to one that is",
            ),
            io::ErrorKind::PermissionDenied => {
                (Fault::Denied, "it may not be", "change the permissions of the folder")
            }
            io::ErrorKind::NotADirectory | io::ErrorKind::IsADirectory => {
                (Fault::NotPlain, "something else is in its way", "move away what has its name")
            }
            _ => (Fault::Other, "", "look at the disk and the folder"),
        };
        // The system's own number for it says nothing more.
        let own = error.to_string();
        let own = own.split(" (os error").next().unwrap_or_default();
        let why = if why.is_empty() { own } else { why };
        Self::new(fault, format!("{shown} can't be {done}: {why}"), format!("{mend}, and try again"))
    }
}

/// What follows how to mend it, where something was to be changed: that nothing is lost by it.
const KEPT: &str = "; the file is as it was, and its earlier texts are kept";

impl fmt::Display for FolderError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.message, self.mend)
    }
}

impl std::error::Error for FolderError {}

/// Why a file was not saved. It is as it was, unless the error says that only its being durable is in doubt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SaveError {
    /// The file is no longer what the change was made to.
    ChangedMeanwhile {
        /// What stands there now; nothing if the file has been deleted.
        theirs: Option<Read>,
    },
    /// It could not be written.
    Folder(FolderError),
}

impl SaveError {
    /// The version of what stands there now, to save again on top of it.
    #[must_use]
    pub fn their_version(&self) -> Option<Version> {
        match self {
            Self::ChangedMeanwhile { theirs } => theirs.as_ref().map(|theirs| theirs.version),
            Self::Folder(_) => None,
        }
    }
}

/// From what went wrong before anything was changed.
impl From<FolderError> for SaveError {
    fn from(mut error: FolderError) -> Self {
        // Of a folder that is no longer there nobody can say it.
        if error.fault != Fault::Gone {
            error.mend.push_str(KEPT);
        }
        Self::Folder(error)
    }
}

impl fmt::Display for SaveError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ChangedMeanwhile { theirs: Some(_) } => {
                f.write_str("the file has been changed elsewhere meanwhile; look at both texts and choose")
            }
            Self::ChangedMeanwhile { theirs: None } => f.write_str(
                "the file has been deleted elsewhere meanwhile; save it as a new one, or let it go",
            ),
            Self::Folder(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for SaveError {}
