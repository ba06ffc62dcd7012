//! Writing into a folder: saving, renaming, deleting.
//!
//! Whoever writes holds the lock of the folder, so that two programs of ours never check at once. A program that doesn't know the
//! lock can still write between the check and the exchange: therefore the new file and the old exchange their names, and what
//! came out is looked at before it is thrown away.

use super::disk::{self, Lock, Temporary};
use super::fault::{Fault, FolderError, SaveError};
use super::{FileName, Folder, Place, Version};
use crate::tree::text_of;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant, SystemTime};

/// How long another program may write before it is given up to wait for it. A save takes some milliseconds.
const LONGEST_WAIT: Duration = Duration::from_secs(10);

/// How often names are exchanged back with a program that writes all the time.
const MOST_EXCHANGES: usize = 64;

/// That this program may write.
pub(super) struct Locked {
    _lock: Lock,
}

impl Folder {
    /// Saves a file: a new one, if `base` is nothing; otherwise one that is still at `base`, the version that the change was made
    /// to. When it returns, the text is on the disk; until then the file is what it was. Both texts are in the history by then.
    ///
    /// # Errors
    /// [`SaveError::ChangedMeanwhile`] when the file is no longer at `base`; the file is then as it was. A text that stands there
    /// already is no error. [`SaveError::Folder`] when it can't be written.
    pub fn save(
        &self,
        place: Place,
        name: &FileName,
        text: &str,
        base: Option<Version>,
        now: SystemTime,
    ) -> Result<Version, SaveError> {
        text_of(text.as_bytes().to_vec(), name.as_str())
            .map_err(|error| FolderError::new(Fault::NotText, error.message, error.mend))?;
        let lock = self.lock()?;
        let folder = self.folder_to_write(place)?;
        let path = folder.join(name.as_str());
        let version = Version::of(text.as_bytes());
        let there = disk::read_plain(&path).map_err(|error| self.fail(&error, &path, "read"))?;
        let version_there = there.as_deref().map(Version::of);
        if version_there == Some(version) {
            self.sync(&folder)?;
            return Ok(version);
        }
        if version_there != base {
            return Err(changed(there));
        }
        let mut like = None;
        if let Some(bytes) = &there {
            let metadata = self.changeable(&path)?;
            self.remember_found(&lock, place, name, bytes, &metadata)?;
            like = Some(metadata.permissions());
        }
        self.remember(&lock, place, name, text.as_bytes(), now)?;
        let temporary = self.write_temporary(&lock, &folder, name, text.as_bytes(), version, like)?;
        match base {
            None => match disk::rename_new(temporary.path(), &path) {
                Ok(()) => {}
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                    return Err(self.changed_at(&path, None));
                }
                Err(error) => return Err(self.fail(&error, &path, "written").into()),
            },
            Some(base) => self.take_place(&lock, place, name, temporary, version, base, now)?,
        }
        self.sync(&folder)?;
        Ok(version)
    }

    /// Deletes a file that is still at `base`. Its text stays in the history.
    ///
    /// # Errors
    /// As [`Folder::save`].
    pub fn delete(
        &self,
        place: Place,
        name: &FileName,
        base: Version,
        now: SystemTime,
    ) -> Result<(), SaveError> {
        let lock = self.lock()?;
        let folder = self.folder_to_write(place)?;
        let path = folder.join(name.as_str());
        self.remember_base(&lock, place, name, base, now)?;
        let aside = Temporary::path_for(&folder, name.stem(), base);
        fs::rename(&path, &aside).map_err(|error| self.fail(&error, &path, "deleted"))?;
        let mut aside = Temporary::taken(aside);
        if disk::version_at(aside.path()) != Some(base) {
            if disk::rename_new(aside.path(), &path).is_err() {
                aside.keep();
            }
            return Err(self.changed_at(&path, Some(base)));
        }
        drop(aside);
        self.sync(&folder)
    }

    /// Gives a file that is still at `base` another name. Its history goes with it. Files that include it are not changed.
    ///
    /// # Errors
    /// As [`Folder::save`]; [`Fault::Exists`] when there is a file of the new name.
    pub fn rename(
        &self,
        place: Place,
        from: &FileName,
        to: &FileName,
        base: Version,
        now: SystemTime,
    ) -> Result<(), SaveError> {
        let lock = self.lock()?;
        let folder = self.folder_to_write(place)?;
        let (path, new) = (folder.join(from.as_str()), folder.join(to.as_str()));
        self.remember_base(&lock, place, from, base, now)?;
        disk::rename_new(&path, &new).map_err(|error| match error.kind() {
            io::ErrorKind::AlreadyExists => FolderError::new(
                Fault::Exists,
                format!("there is a file {to} already"),
                "choose another name",
            ),
            _ => self.fail(&error, &path, "renamed"),
        })?;
        self.hand_on(&lock, place, from, to).map_err(|mut error| {
            error.mend = format!(
                "it is done, but earlier texts are still those of {from}: bring them back from there"
            );
            SaveError::Folder(error)
        })?;
        self.sync(&folder)
    }

    /// Puts the text of a file into the history, if it is still at `base`.
    fn remember_base(
        &self,
        lock: &Locked,
        place: Place,
        name: &FileName,
        base: Version,
        now: SystemTime,
    ) -> Result<(), SaveError> {
        let path = self.path_of(place, name);
        match disk::read_plain(&path).map_err(|error| self.fail(&error, &path, "read"))? {
            Some(bytes) if Version::of(&bytes) == base => {
                self.changeable(&path)?;
                Ok(self.remember(lock, place, name, &bytes, now)?)
            }
            there => Err(changed(there)),
        }
    }

    /// Puts a temporary file in the place of a file at `base`, and it alone.
    #[expect(clippy::too_many_arguments, reason = "one step of saving, which knows all of this")]
    fn take_place(
        &self,
        lock: &Locked,
        place: Place,
        name: &FileName,
        mut temporary: Temporary,
        version: Version,
        base: Version,
        now: SystemTime,
    ) -> Result<(), SaveError> {
        let path = self.path_of(place, name);
        let (mut put, mut expected) = (Some(version), Some(base));
        for round in 0..MOST_EXCHANGES {
            match disk::exchange(temporary.path(), &path) {
                Ok(true) => {}
                Ok(false) => return self.rename_over(&temporary, &path, base),
                // It has been deleted. What came out before was not ours to take away.
                Err(error) if error.kind() == io::ErrorKind::NotFound && round > 0 => {
                    if disk::rename_new(temporary.path(), &path).is_err() {
                        temporary.keep();
                    }
                    return Err(self.changed_at(&path, Some(base)));
                }
                Err(error) if error.kind() == io::ErrorKind::NotFound => {
                    return Err(self.changed_at(&path, Some(base)));
                }
                Err(error) => {
                    if round > 0 {
                        temporary.keep();
                    }
                    return Err(self.fail(&error, &path, "written").into());
                }
            }
            let out = disk::version_at(temporary.path());
            if out == expected {
                return if round == 0 { Ok(()) } else { Err(self.changed_at(&path, Some(base))) };
            }
            // Somebody wrote in between: their text goes back, and ours should come out.
            (put, expected) = (out, put);
        }
        // Somebody writes faster than names can be exchanged. Their last text is in its place; the one before is remembered.
        if let Ok(Some(bytes)) = disk::read_plain(temporary.path()) {
            self.remember(lock, place, name, &bytes, now)?;
        }
        Err(self.changed_at(&path, Some(base)))
    }

    /// For systems that can't exchange names.
    fn rename_over(&self, temporary: &Temporary, path: &Path, base: Version) -> Result<(), SaveError> {
        if disk::version_at(path) != Some(base) {
            return Err(self.changed_at(path, Some(base)));
        }
        fs::rename(temporary.path(), path).map_err(|error| self.fail(&error, path, "written").into())
    }

    fn write_temporary(
        &self,
        lock: &Locked,
        folder: &Path,
        name: &FileName,
        bytes: &[u8],
        version: Version,
        like: Option<fs::Permissions>,
    ) -> Result<Temporary, FolderError> {
        let path = Temporary::path_for(folder, name.stem(), version);
        let mut written = Temporary::write(path.clone(), bytes, like.clone());
        if written.as_ref().is_err_and(|error| error.kind() == io::ErrorKind::AlreadyExists) {
            // Left by a program that was stopped, since nobody else writes now.
            self.sweep(lock)?;
            written = Temporary::write(path.clone(), bytes, like);
        }
        written.map_err(|error| self.fail(&error, &folder.join(name.as_str()), "written"))
    }

    /// Removes what a program that was stopped has left behind. A text that is not in its place goes into the history.
    pub(super) fn sweep(&self, lock: &Locked) -> Result<(), FolderError> {
        for place in Place::ALL {
            let folder = self.folder_of(place);
            for file in disk::names(&folder).map_err(|error| self.fail(&error, &folder, "read"))? {
                let Some((stem, version)) = Temporary::of_name(&file) else { continue };
                let path = folder.join(&file);
                let Ok(name) = FileName::parse(&format!("{stem}.toml")) else { continue };
                let Ok(Some(bytes)) = disk::read_plain(&path) else { continue };
                let found = Version::of(&bytes);
                // Either all of it was written and it never came to its place, or it is what came out of that place. What is
                // neither was not written to the end.
                let is_whole =
                    found == version || disk::version_at(&self.path_of(place, &name)) == Some(version);
                if is_whole {
                    let time = fs::metadata(&path).and_then(|metadata| metadata.modified());
                    self.remember(lock, place, &name, &bytes, time.unwrap_or(SystemTime::UNIX_EPOCH))?;
                }
                fs::remove_file(&path).map_err(|error| self.fail(&error, &path, "deleted"))?;
            }
        }
        self.sweep_history();
        Ok(())
    }

    /// Removes texts that were on their way into the history; what they were is still in its place.
    fn sweep_history(&self) {
        let root = self.history_folder();
        let mut folders = vec![root.clone()];
        for place in Place::ALL {
            let of_place = root.join(place.word());
            folders.extend(disk::names(&of_place).unwrap_or_default().iter().map(|stem| of_place.join(stem)));
        }
        for folder in folders {
            for file in disk::names(&folder).unwrap_or_default() {
                if Temporary::of_name(&file).is_some() {
                    // What can't be removed now is removed another time.
                    let _ = fs::remove_file(folder.join(file));
                }
            }
        }
    }

    /// Waits until this program may write.
    pub(super) fn lock(&self) -> Result<Locked, FolderError> {
        let folder = self.history_folder();
        let path = folder.join("lock");
        let began = Instant::now();
        loop {
            disk::make_folder(&folder).map_err(|error| self.fail(&error, &folder, "written"))?;
            match Lock::try_take(&path) {
                Ok(Some(lock)) => return Ok(Locked { _lock: lock }),
                // The folder of the lock has been deleted just now.
                Err(error) if error.kind() == io::ErrorKind::NotFound && began.elapsed() < LONGEST_WAIT => {}
                Err(error) => return Err(self.fail(&error, &path, "written")),
                Ok(None) if began.elapsed() > LONGEST_WAIT => {
                    let message =
                        format!("another program has been writing in {} for too long", self.root().display());
                    return Err(FolderError::new(
                        Fault::Busy,
                        message,
                        "close the other program, and try again",
                    ));
                }
                Ok(None) => sleep(Duration::from_millis(2)),
            }
        }
    }

    fn folder_to_write(&self, place: Place) -> Result<PathBuf, FolderError> {
        let folder = self.folder_of(place);
        if place == Place::Gear {
            disk::make_folder(&folder).map_err(|error| self.fail(&error, &folder, "written"))?;
        }
        Ok(folder)
    }

    /// Makes what has been done in a folder durable.
    fn sync(&self, folder: &Path) -> Result<(), SaveError> {
        disk::sync_folder(folder).map_err(|error| {
            let mut error = self.fail(&error, folder, "written through to the disk");
            error.mend =
                "look at the disk, and try again: it is done, but a power cut might undo it".to_owned();
            SaveError::Folder(error)
        })
    }

    /// What the system knows of a file that may be changed.
    fn changeable(&self, path: &Path) -> Result<fs::Metadata, FolderError> {
        let metadata = fs::symlink_metadata(path).map_err(|error| self.fail(&error, path, "read"))?;
        if metadata.permissions().readonly() {
            let message = format!("{} is marked as not to be changed", path.display());
            let mend = "change the file's permissions, and try again";
            return Err(FolderError::new(Fault::Denied, message, mend));
        }
        Ok(metadata)
    }

    /// That a file is no longer at the version that it was at.
    fn changed_at(&self, path: &Path, base: Option<Version>) -> SaveError {
        match disk::read_plain(path) {
            // Only that it could not be looked at, or it has been changed to and fro.
            Ok(there) if there.as_deref().map(Version::of) == base => {
                self.fail(&io::Error::other("something came in between"), path, "written").into()
            }
            Ok(there) => changed(there),
            Err(error) => self.fail(&error, path, "read").into(),
        }
    }
}

fn changed(there: Option<Vec<u8>>) -> SaveError {
    let theirs = there.map(|bytes| super::Read {
        version: Version::of(&bytes),
        text: String::from_utf8_lossy(&bytes).into_owned(),
    });
    SaveError::ChangedMeanwhile { theirs }
}
