//! Earlier texts of files.
//!
//! Before a text is saved, it is put here as well as the one that it replaces: what another program overwrites later is not lost.
//!
//! They lie in `.history` inside the folder, one file each, under the place and the stem of the file that they were. Their names
//! say when (milliseconds since 1970) and what (the version), so that a listing needs no reading and a damaged one is known.

use super::disk::{self, Temporary};
use super::fault::{Fault, FolderError};
use super::store::Locked;
use super::{FileName, Folder, Place, Read, SaveError, Version};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// How many earlier texts of a file are kept.
const KEPT: usize = 100;

/// A text that a file has had, or has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Earlier {
    /// Its version.
    pub version: Version,
    /// When it was saved last; where another program wrote it, when that was. To the millisecond, and later than that of all before
    /// it, even if a clock was set back.
    pub time: SystemTime,
}

impl Folder {
    /// The texts that a file has had, latest first; the present one, once it has been saved, is among them. Also of a file that has
    /// been deleted. Each text once, even if it stood there often.
    ///
    /// # Errors
    /// When they can't be listed.
    pub fn history(&self, place: Place, name: &FileName) -> Result<Vec<Earlier>, FolderError> {
        let folder = self.history_of(place, name);
        let mut entries = entries(&folder).map_err(|error| self.fail(&error, &folder, "read"))?;
        entries.reverse();
        Ok(entries)
    }

    /// An earlier text.
    ///
    /// # Errors
    /// [`Fault::Missing`] when it is not there (or no longer: the last hundred are kept), [`Fault::NotText`] when it is damaged.
    pub fn earlier(&self, place: Place, name: &FileName, version: Version) -> Result<Read, FolderError> {
        let folder = self.history_of(place, name);
        let missing = || {
            let message = format!("there is no such earlier text of {name}");
            FolderError::new(Fault::Missing, message, "choose another of those that are listed")
        };
        let found = self.history(place, name)?.into_iter().find(|earlier| earlier.version == version);
        let path = path_of(&folder, found.ok_or_else(missing)?);
        let bytes = disk::read_plain(&path).map_err(|error| self.fail(&error, &path, "read"))?;
        let bytes = bytes.ok_or_else(missing)?;
        if Version::of(&bytes) != version {
            let message = format!("this earlier text of {name} is damaged");
            return Err(FolderError::new(Fault::NotText, message, "choose another of those that are listed"));
        }
        super::read_of(bytes, name)
    }

    /// Makes an earlier text the present one. It is a save like any other: what stands there goes into the history.
    ///
    /// # Errors
    /// As [`Folder::earlier`] and [`Folder::save`].
    pub fn restore(
        &self,
        place: Place,
        name: &FileName,
        version: Version,
        base: Option<Version>,
        now: SystemTime,
    ) -> Result<Version, SaveError> {
        let earlier = self.earlier(place, name, version)?;
        self.save(place, name, &earlier.text, base, now)
    }

    /// Files that have been deleted and of which there are earlier texts, each with the last.
    ///
    /// # Errors
    /// When they can't be listed.
    pub fn deleted(&self) -> Result<Vec<(Place, FileName, Earlier)>, FolderError> {
        let mut found = Vec::new();
        for place in Place::ALL {
            let folder = self.history_folder().join(place.word());
            for stem in disk::names(&folder).map_err(|error| self.fail(&error, &folder, "read"))? {
                let Ok(name) = FileName::parse(&format!("{stem}.toml")) else { continue };
                if fs::symlink_metadata(self.path_of(place, &name)).is_ok() {
                    continue;
                }
                if let Some(last) = self.history(place, &name)?.first() {
                    found.push((place, name, *last));
                }
            }
        }
        Ok(found)
    }

    pub(super) fn history_folder(&self) -> PathBuf {
        self.root().join(".history")
    }

    fn history_of(&self, place: Place, name: &FileName) -> PathBuf {
        self.history_folder().join(place.word()).join(name.stem())
    }

    /// Puts a text that stands in a file into its history, if it is not there: another program wrote it.
    pub(super) fn remember_found(
        &self,
        lock: &Locked,
        place: Place,
        name: &FileName,
        bytes: &[u8],
        metadata: &fs::Metadata,
    ) -> Result<(), FolderError> {
        let folder = self.history_of(place, name);
        let version = Version::of(bytes);
        let known = entries(&folder).map_err(|error| self.fail(&error, &folder, "read"))?;
        let known = known.into_iter().find(|earlier| earlier.version == version);
        if known.is_some_and(|known| disk::version_at(&path_of(&folder, known)) == Some(version)) {
            return Ok(());
        }
        self.remember(lock, place, name, bytes, metadata.modified().unwrap_or(UNIX_EPOCH))
    }

    /// Puts a text into the history of a file. What is there is not written again but counts as the latest.
    pub(super) fn remember(
        &self,
        _lock: &Locked,
        place: Place,
        name: &FileName,
        bytes: &[u8],
        now: SystemTime,
    ) -> Result<(), FolderError> {
        let folder = self.history_of(place, name);
        self.remember_in(place, &folder, bytes, now).map_err(|error| self.fail(&error, &folder, "written"))
    }

    fn remember_in(&self, place: Place, folder: &Path, bytes: &[u8], now: SystemTime) -> io::Result<()> {
        disk::make_folder(&self.history_folder().join(place.word()))?;
        disk::make_folder(folder)?;
        let mut entries = entries(folder)?;
        let version = Version::of(bytes);
        let after = entries.last().map_or(0, |last| millis(last.time) + 1);
        let entry = Earlier { version, time: time_of(millis(now).max(after)) };
        let path = path_of(folder, entry);
        match entries.iter().position(|there| there.version == version) {
            // Unless it has been damaged.
            Some(index)
                if entries
                    .get(index)
                    .is_some_and(|there| disk::version_at(&path_of(folder, *there)) == Some(version)) =>
            {
                let there = entries.remove(index);
                fs::rename(path_of(folder, there), &path)?;
            }
            _ => {
                let temporary = Temporary::path_for(folder, "text", version);
                // Left by a program that was stopped, since nobody else writes now.
                let _ = fs::remove_file(&temporary);
                let temporary = Temporary::write(temporary, bytes, None)?;
                fs::rename(temporary.path(), &path)?;
            }
        }
        disk::sync_folder(folder)?;
        entries.push(entry);
        for old in entries.iter().rev().skip(KEPT) {
            // What can't be removed now is removed another time.
            let _ = fs::remove_file(path_of(folder, *old));
        }
        Ok(())
    }

    /// Hands the earlier texts of a file on to another name.
    pub(super) fn hand_on(
        &self,
        lock: &Locked,
        place: Place,
        from: &FileName,
        to: &FileName,
    ) -> Result<(), FolderError> {
        let folder = self.history_of(place, from);
        let fail = |error: io::Error| self.fail(&error, &folder, "read");
        for entry in entries(&folder).map_err(fail)? {
            let path = path_of(&folder, entry);
            if let Some(bytes) = disk::read_plain(&path).map_err(fail)? {
                self.remember(lock, place, to, &bytes, entry.time)?;
            }
            let _ = fs::remove_file(&path);
        }
        let _ = fs::remove_dir(&folder);
        Ok(())
    }
}

/// Earlier texts in a folder of the history, oldest first.
fn entries(folder: &Path) -> io::Result<Vec<Earlier>> {
    let mut entries: Vec<Earlier> = disk::names(folder)?.iter().filter_map(|name| entry_of(name)).collect();
    entries.sort_by_key(|entry| (entry.time, entry.version));
    Ok(entries)
}

fn entry_of(name: &str) -> Option<Earlier> {
    let (time, version) = name.strip_suffix(".toml")?.split_once('-')?;
    Some(Earlier { version: Version::parse(version)?, time: time_of(time.parse().ok()?) })
}

fn path_of(folder: &Path, entry: Earlier) -> PathBuf {
    folder.join(format!("{:015}-{}.toml", millis(entry.time), entry.version))
}

fn millis(time: SystemTime) -> u64 {
    let since = time.duration_since(UNIX_EPOCH).unwrap_or_default();
    u64::try_from(since.as_millis()).unwrap_or(u64::MAX)
}

fn time_of(millis: u64) -> SystemTime {
    UNIX_EPOCH.checked_add(Duration::from_millis(millis)).unwrap_or(UNIX_EPOCH)
}
