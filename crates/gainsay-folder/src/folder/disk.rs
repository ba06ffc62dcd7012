//! Single steps on the file system, each of which happens or doesn't.

use super::Version;
use crate::tree::MAX_BYTES;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};

/// Options that don't go through a link, and don't wait for the other end of a pipe.
#[cfg(unix)]
pub(super) fn plain_options() -> OpenOptions {
    use std::os::unix::fs::OpenOptionsExt;
    let flags = rustix::fs::OFlags::NOFOLLOW | rustix::fs::OFlags::NONBLOCK;
    let mut options = OpenOptions::new();
    options.custom_flags(flags.bits().cast_signed());
    options
}

/// Options for a file that has been seen to be no link.
#[cfg(not(unix))]
pub(super) fn plain_options() -> OpenOptions {
    OpenOptions::new()
}

/// Opens what is no link; a link is an error of the kind `NotADirectory`.
fn open_plain(options: &OpenOptions, path: &Path) -> io::Result<File> {
    options.open(path).map_err(|error| {
        #[cfg(unix)]
        if rustix::io::Errno::from_io_error(&error) == Some(rustix::io::Errno::LOOP) {
            return io::ErrorKind::NotADirectory.into();
        }
        error
    })
}

/// The bytes of a plain file, one more than is allowed at most; nothing if there is none. A link, a folder or a device is an
/// error of the kind `NotADirectory`.
pub(super) fn read_plain(path: &Path) -> io::Result<Option<Vec<u8>>> {
    match fs::symlink_metadata(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error),
        Ok(metadata) if !metadata.is_file() => return Err(io::ErrorKind::NotADirectory.into()),
        Ok(_) => {}
    }
    let file = match open_plain(plain_options().read(true), path) {
        Ok(file) => file,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error),
    };
    if !file.metadata()?.is_file() {
        return Err(io::ErrorKind::NotADirectory.into());
    }
    let mut bytes = Vec::new();
    file.take(MAX_BYTES + 1).read_to_end(&mut bytes)?;
    Ok(Some(bytes))
}

/// The version of what stands at a path; nothing if it is no plain file that can be read.
pub(super) fn version_at(path: &Path) -> Option<Version> {
    read_plain(path).ok().flatten().map(|bytes| Version::of(&bytes))
}

/// A file beside another that takes its place when it is written to the end. It is removed when it goes out of use.
pub(super) struct Temporary {
    path: PathBuf,
    is_kept: bool,
}

impl Temporary {
    /// Its ending.
    const ENDING: &str = ".tmp";

    /// The path of a temporary file: it says what should be in it, so that whoever finds it knows whether it is whole.
    pub(super) fn path_for(folder: &Path, stem: &str, version: Version) -> PathBuf {
        folder.join(format!(".{stem}.{version}{}", Self::ENDING))
    }

    /// What the name of a temporary file says: the stem of the file that it is for, and its version.
    pub(super) fn of_name(name: &str) -> Option<(&str, Version)> {
        let (stem, version) = name.strip_prefix('.')?.strip_suffix(Self::ENDING)?.rsplit_once('.')?;
        Some((stem, Version::parse(version)?))
    }

    /// Writes one through to the disk.
    pub(super) fn write(path: PathBuf, bytes: &[u8], like: Option<fs::Permissions>) -> io::Result<Self> {
        let mut file = plain_options().write(true).create_new(true).open(&path)?;
        // From here on it is removed whatever happens.
        let temporary = Self { path, is_kept: false };
        file.write_all(bytes)?;
        if let Some(permissions) = like {
            file.set_permissions(permissions)?;
        }
        file.sync_all()?;
        Ok(temporary)
    }

    /// Takes one over that is there.
    pub(super) const fn taken(path: PathBuf) -> Self {
        Self { path, is_kept: false }
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Leaves it where it is, for the next that opens the folder to find.
    pub(super) const fn keep(&mut self) {
        self.is_kept = true;
    }
}

impl Drop for Temporary {
    fn drop(&mut self) {
        if !self.is_kept {
            // Where that fails, the next that opens the folder does it.
            let _ = fs::remove_file(&self.path);
        }
    }
}

/// Makes what has been done in a folder durable.
pub(super) fn sync_folder(folder: &Path) -> io::Result<()> {
    #[cfg(unix)]
    {
        match File::open(folder)?.sync_all() {
            // Some file systems can't do it for a folder.
            Err(error) if error.kind() == io::ErrorKind::InvalidInput => {}
            done => return done,
        }
    }
    #[cfg(not(unix))]
    let _ = folder;
    Ok(())
}

/// Renames where there is nothing under the new name; an error of the kind `AlreadyExists` otherwise.
pub(super) fn rename_new(from: &Path, to: &Path) -> io::Result<()> {
    #[cfg(target_os = "linux")]
    {
        use rustix::fs::{CWD, RenameFlags, renameat_with};
        match renameat_with(CWD, from, CWD, to, RenameFlags::NOREPLACE) {
            Ok(()) => return Ok(()),
            Err(error) if is_unknown(error) => {}
            Err(error) => return Err(error.into()),
        }
    }
    // A second name for the same file is never put in the place of another.
    match fs::hard_link(from, to) {
        Ok(()) => fs::remove_file(from),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Err(error),
        // File systems without hard links: all that is left.
        Err(_) if fs::symlink_metadata(to).is_ok() => Err(io::ErrorKind::AlreadyExists.into()),
        Err(_) => fs::rename(from, to),
    }
}

/// Exchanges two names; `false` where the system can't.
pub(super) fn exchange(one: &Path, other: &Path) -> io::Result<bool> {
    #[cfg(target_os = "linux")]
    {
        use rustix::fs::{CWD, RenameFlags, renameat_with};
        match renameat_with(CWD, one, CWD, other, RenameFlags::EXCHANGE) {
            Ok(()) => Ok(true),
            Err(error) if is_unknown(error) => Ok(false),
            Err(error) => Err(error.into()),
        }
    }
    #[cfg(not(target_os = "linux"))]
    {
        let _ = (one, other);
        Ok(false)
    }
}

#[cfg(target_os = "linux")]
fn is_unknown(error: rustix::io::Errno) -> bool {
    use rustix::io::Errno;
    [Errno::INVAL, Errno::NOSYS, Errno::OPNOTSUPP].contains(&error)
}

/// A folder that is there, or is made; an error of the kind `NotADirectory` where a link or something else stands in its way.
pub(super) fn make_folder(path: &Path) -> io::Result<()> {
    match fs::create_dir(path) {
        Ok(()) => path.parent().map_or(Ok(()), sync_folder),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => plain_folder(path).map(|_| ()),
        Err(error) => Err(error),
    }
}

/// Whether there is a folder; an error of the kind `NotADirectory` where a link or something else stands in its way.
pub(super) fn plain_folder(path: &Path) -> io::Result<bool> {
    match fs::symlink_metadata(path) {
        Ok(metadata) if metadata.is_dir() => Ok(true),
        Ok(_) => Err(io::ErrorKind::NotADirectory.into()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(false),
        Err(error) => Err(error),
    }
}

/// Names in a folder that are text, sorted; none if there is no folder.
pub(super) fn names(folder: &Path) -> io::Result<Vec<String>> {
    if !plain_folder(folder)? {
        return Ok(Vec::new());
    }
    let mut names = Vec::new();
    for entry in fs::read_dir(folder)? {
        if let Ok(name) = entry?.file_name().into_string() {
            names.push(name);
        }
    }
    names.sort();
    Ok(names)
}

/// The file by which programs take turns at writing.
pub(super) struct Lock {
    _file: File,
}

impl Lock {
    /// Tries to take it; nothing if another has it.
    pub(super) fn try_take(path: &Path) -> io::Result<Option<Self>> {
        let mut options = plain_options();
        options.read(true).write(true).create(true).truncate(false);
        #[cfg(windows)]
        {
            use std::os::windows::fs::OpenOptionsExt;
            const SHARING_VIOLATION: i32 = 32;
            options.share_mode(0);
            match options.open(path) {
                Ok(file) => return Ok(Some(Self { _file: file })),
                Err(error) if error.raw_os_error() == Some(SHARING_VIOLATION) => return Ok(None),
                Err(error) => return Err(error),
            }
        }
        #[cfg(unix)]
        {
            use rustix::fs::{FlockOperation, flock};
            use std::os::unix::fs::MetadataExt;
            let file = open_plain(&options, path)?;
            if !file.metadata()?.is_file() {
                return Err(io::ErrorKind::NotADirectory.into());
            }
            match flock(&file, FlockOperation::NonBlockingLockExclusive) {
                Ok(()) => {}
                Err(rustix::io::Errno::WOULDBLOCK | rustix::io::Errno::INTR) => return Ok(None),
                Err(error) => return Err(error.into()),
            }
            // Somebody may have deleted the file between opening and locking; then another could lock a new one.
            let mine = file.metadata()?;
            let is_there = fs::symlink_metadata(path)
                .is_ok_and(|there| (there.dev(), there.ino()) == (mine.dev(), mine.ino()));
            Ok(is_there.then_some(Self { _file: file }))
        }
    }
}
