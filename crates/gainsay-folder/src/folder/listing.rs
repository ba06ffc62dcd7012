//! What is in a folder.

use super::{FileName, Folder, FolderError, Place, Version, disk};
use std::fmt::Write as _;
use std::fs;
use std::time::UNIX_EPOCH;
use toml_edit::Document;

/// A case of a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseEntry {
    /// Its file.
    pub name: FileName,
    /// What it is called, if it says so.
    pub title: Option<String>,
    /// Its question, if it says so.
    pub question: Option<String>,
    /// Why it can't be read, if it can't. That it can be read doesn't mean that all in it is right.
    pub problem: Option<String>,
}

/// A device of a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GearEntry {
    /// Its file.
    pub name: FileName,
    /// What it is called, if it says so.
    pub title: Option<String>,
    /// Its type as it is written, if it is.
    pub device_type: Option<String>,
    /// Why it can't be read, if it can't. That it can be read doesn't mean that all in it is right.
    pub problem: Option<String>,
}

/// A `.toml` file that can't be opened by its name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unusable {
    /// Where it lies.
    pub place: Place,
    /// Its name.
    pub name: String,
    /// Why, and how to mend it.
    pub why: FolderError,
}

/// The first words of a file.
struct Head {
    words: [Option<String>; 2],
    problem: Option<String>,
}

impl Folder {
    /// The cases, by name.
    ///
    /// # Errors
    /// When the folder can't be listed. A case that can't be read is in the list, with its problem.
    pub fn cases(&self) -> Result<Vec<CaseEntry>, FolderError> {
        let names = self.names(Place::Case)?.0;
        Ok(names
            .into_iter()
            .map(|name| {
                let Head { words: [title, question], problem } =
                    self.head(Place::Case, &name, ["title", "question"]);
                CaseEntry { name, title, question, problem }
            })
            .collect())
    }

    /// The devices, by name of their files.
    ///
    /// # Errors
    /// When the folder can't be listed. A device that can't be read is in the list, with its problem.
    pub fn gear(&self) -> Result<Vec<GearEntry>, FolderError> {
        let names = self.names(Place::Gear)?.0;
        Ok(names
            .into_iter()
            .map(|name| {
                let Head { words: [title, device_type], problem } =
                    self.head(Place::Gear, &name, ["name", "type"]);
                GearEntry { name, title, device_type, problem }
            })
            .collect())
    }

    /// The `.toml` files that are in neither list because of their names or because they are links.
    ///
    /// # Errors
    /// When the folder can't be listed.
    pub fn unusable(&self) -> Result<Vec<Unusable>, FolderError> {
        let mut found = Vec::new();
        for place in Place::ALL {
            found.extend(self.names(place)?.1);
        }
        Ok(found)
    }

    /// Changes whenever a file of the folder is made, changed, renamed or deleted, by whomever. It looks at names, lengths, times
    /// and numbers of the files, not at their texts: cheap enough to ask every second. Only who changes a file in place, within the
    /// same tick of the file system's clock (some milliseconds) and to the same length, goes unnoticed.
    ///
    /// # Errors
    /// When the folder can't be listed.
    pub fn revision(&self) -> Result<Version, FolderError> {
        let mut seen = String::new();
        for place in Place::ALL {
            let folder = self.folder_of(place);
            let names = disk::names(&folder).map_err(|error| self.fail(&error, &folder, "read"))?;
            if place == Place::Case && names.is_empty() && !self.root().is_dir() {
                return Err(self.fail(&std::io::ErrorKind::NotFound.into(), &folder, "read"));
            }
            for name in names.iter().filter(|name| is_listed(name)) {
                let Ok(metadata) = fs::symlink_metadata(folder.join(name)) else { continue };
                let modified = metadata.modified().ok().and_then(|time| time.duration_since(UNIX_EPOCH).ok());
                let modified = modified.unwrap_or_default().as_nanos();
                // Writing to text can't fail.
                let _ = writeln!(
                    seen,
                    "{} {name} {} {modified} {}",
                    place.word(),
                    metadata.len(),
                    number(&metadata)
                );
            }
        }
        Ok(Version::of(seen.as_bytes()))
    }

    fn names(&self, place: Place) -> Result<(Vec<FileName>, Vec<Unusable>), FolderError> {
        let folder = self.folder_of(place);
        let fail = |error: std::io::Error| self.fail(&error, &folder, "read");
        if place == Place::Case && !self.root().is_dir() {
            return Err(fail(std::io::ErrorKind::NotFound.into()));
        }
        let (mut usable, mut unusable) = (Vec::new(), Vec::new());
        for name in disk::names(&folder).map_err(fail)?.into_iter().filter(|name| is_listed(name)) {
            let Ok(metadata) = fs::symlink_metadata(folder.join(&name)) else { continue };
            match FileName::parse(&name) {
                Ok(name) if metadata.is_file() => usable.push(name),
                Ok(_) => {
                    let why =
                        self.fail(&std::io::ErrorKind::NotADirectory.into(), &folder.join(&name), "read");
                    unusable.push(Unusable { place, name, why });
                }
                Err(why) => unusable.push(Unusable { place, name, why }),
            }
        }
        Ok((usable, unusable))
    }

    fn head(&self, place: Place, name: &FileName, keys: [&str; 2]) -> Head {
        let read = match self.read(place, name) {
            Ok(read) => read,
            Err(error) => return Head { words: [None, None], problem: Some(error.to_string()) },
        };
        match Document::parse(read.text.as_str()) {
            Ok(document) => {
                let words =
                    keys.map(|key| document.get(key).and_then(|item| item.as_str()).map(str::to_owned));
                Head { words, problem: None }
            }
            Err(error) => {
                let at = error.span().map_or(0, |span| span.start);
                let line = 1 + read.text.bytes().take(at).filter(|byte| *byte == b'\n').count();
                Head { words: [None, None], problem: Some(format!("line {line}: {}", error.message())) }
            }
        }
    }
}

fn is_listed(name: &str) -> bool {
    name.ends_with(".toml") && !name.starts_with('.')
}

/// The number of a file, which another that takes its name doesn't have.
fn number(metadata: &fs::Metadata) -> u64 {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        metadata.ino()
    }
    #[cfg(not(unix))]
    {
        let _ = metadata;
        0
    }
}
