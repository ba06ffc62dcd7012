//! A folder as a tree of files, out of which no path leads.

use super::{FileName, Folder, Place};
use crate::tree::{Disk, Tree, TreeError, normal};
use std::fs;
use std::path::{Component, Path, PathBuf};

impl Folder {
    /// The folder with another text in the place of one of its files, which need not be there: to look at a change before it is
    /// saved.
    #[must_use]
    pub fn with_draft<'a>(&'a self, place: Place, name: &FileName, text: &'a str) -> Draft<'a> {
        let path = match place {
            Place::Case => PathBuf::from(name.as_str()),
            Place::Gear => Path::new("gear").join(name.as_str()),
        };
        Draft { folder: self, path, text }
    }

    /// A path in the folder, without links.
    fn inside(&self, path: &Path) -> Result<PathBuf, TreeError> {
        let shown = path.display();
        let outside = || TreeError {
            message: format!("{shown} is not in this folder"),
            mend: "copy the file into the folder and name it from there".to_owned(),
        };
        let wanted = normal(path);
        let is_plain = wanted.components().all(|component| {
            matches!(component, Component::Normal(name) if !name.to_string_lossy().starts_with('.'))
        });
        if !is_plain {
            return Err(outside());
        }
        let found = fs::canonicalize(self.root().join(&wanted)).map_err(|error| TreeError {
            message: format!("{shown} can't be opened: {error}"),
            mend: "check the path".to_owned(),
        })?;
        if found.starts_with(self.root()) { Ok(found) } else { Err(outside()) }
    }
}

/// Paths count from the folder.
impl Tree for Folder {
    fn read(&self, path: &Path) -> Result<String, TreeError> {
        let full = self.inside(path)?;
        Disk.read(&full).map_err(|mut error| {
            error.message = error.message.replace(&full.display().to_string(), &path.display().to_string());
            error
        })
    }

    fn toml_files(&self, folder: &Path) -> Result<Vec<PathBuf>, TreeError> {
        let is_there = fs::symlink_metadata(self.root().join(normal(folder))).is_ok();
        if !is_there {
            return Ok(Vec::new());
        }
        let names = Disk.toml_files(&self.inside(folder)?)?;
        Ok(names.iter().filter_map(|path| path.file_name()).map(|name| folder.join(name)).collect())
    }

    fn canonical(&self, path: &Path) -> PathBuf {
        self.inside(path).unwrap_or_else(|_| normal(path))
    }
}

/// A folder with another text in the place of one of its files.
#[derive(Debug, Clone)]
pub struct Draft<'a> {
    folder: &'a Folder,
    path: PathBuf,
    text: &'a str,
}

impl Tree for Draft<'_> {
    fn read(&self, path: &Path) -> Result<String, TreeError> {
        if normal(path) == self.path { Ok(self.text.to_owned()) } else { Tree::read(self.folder, path) }
    }

    fn toml_files(&self, folder: &Path) -> Result<Vec<PathBuf>, TreeError> {
        let mut files = self.folder.toml_files(folder)?;
        if self.path.parent() == Some(&normal(folder)) && !files.iter().any(|file| normal(file) == self.path)
        {
            files.push(self.path.clone());
            files.sort();
        }
        Ok(files)
    }

    fn canonical(&self, path: &Path) -> PathBuf {
        if normal(path) == self.path {
            self.folder.root().join(&self.path)
        } else {
            self.folder.canonical(path)
        }
    }
}
