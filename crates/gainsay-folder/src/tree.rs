//! Where files are read from.

use std::fs;
use std::io::Read;
use std::path::{Component, Path, PathBuf};

/// Largest file that is read. A case or device file has a few kilobytes.
pub(crate) const MAX_BYTES: u64 = 1 << 20;

/// Why a file can't be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TreeError {
    /// What is wrong.
    pub message: String,
    /// How to mend it.
    pub mend: String,
}

impl TreeError {
    fn new(message: impl Into<String>, mend: impl Into<String>) -> Self {
        Self { message: message.into(), mend: mend.into() }
    }
}

/// Files by path.
pub trait Tree {
    /// The text of a file.
    ///
    /// # Errors
    /// When it is not there, can't be read, is too large or is not text.
    fn read(&self, path: &Path) -> Result<String, TreeError>;

    /// Paths of the `.toml` files of a folder, sorted; none if there is no such folder.
    ///
    /// # Errors
    /// When the folder is there and can't be read.
    fn toml_files(&self, folder: &Path) -> Result<Vec<PathBuf>, TreeError>;

    /// One spelling for each file, to notice when it is met again.
    fn canonical(&self, path: &Path) -> PathBuf;
}

/// The file system.
#[derive(Debug, Clone, Copy, Default)]
pub struct Disk;

impl Tree for Disk {
    fn read(&self, path: &Path) -> Result<String, TreeError> {
        let shown = path.display();
        let file = fs::File::open(path).map_err(|error| match error.kind() {
            std::io::ErrorKind::NotFound => TreeError::new(
                format!("there is no file {shown}"),
                "check the path; `gainsay demo FOLDER` writes a case to start from",
            ),
            std::io::ErrorKind::PermissionDenied => {
                TreeError::new(format!("{shown} may not be read"), "change its permissions")
            }
            _ => TreeError::new(format!("{shown} can't be opened: {error}"), "check the path"),
        })?;
        let is_file = file.metadata().map(|m| m.is_file()).unwrap_or(false);
        if !is_file {
            return Err(TreeError::new(format!("{shown} is not a file"), "name the case's .toml file"));
        }
        let mut bytes = Vec::new();
        // One byte more than is allowed shows that there are more, however large the file says that it is.
        file.take(MAX_BYTES + 1)
            .read_to_end(&mut bytes)
            .map_err(|error| TreeError::new(format!("{shown} can't be read: {error}"), "check the file"))?;
        text_of(bytes, &shown.to_string())
    }

    fn toml_files(&self, folder: &Path) -> Result<Vec<PathBuf>, TreeError> {
        let entries = match fs::read_dir(folder) {
            Ok(entries) => entries,
            Err(error)
                if matches!(
                    error.kind(),
                    std::io::ErrorKind::NotFound | std::io::ErrorKind::NotADirectory
                ) =>
            {
                return Ok(Vec::new());
            }
            Err(error) => {
                return Err(TreeError::new(
                    format!("the folder {} can't be read: {error}", folder.display()),
                    "change its permissions",
                ));
            }
        };
        let mut files: Vec<PathBuf> = entries
            .filter_map(|entry| entry.ok().map(|entry| entry.path()))
            .filter(|path| path.extension().is_some_and(|extension| extension == "toml") && path.is_file())
            .collect();
        files.sort();
        Ok(files)
    }

    fn canonical(&self, path: &Path) -> PathBuf {
        fs::canonicalize(path).unwrap_or_else(|_| normal(path))
    }
}

pub(crate) fn text_of(bytes: Vec<u8>, shown: &str) -> Result<String, TreeError> {
    if bytes.len() as u64 > MAX_BYTES {
        return Err(TreeError::new(
            format!("{shown} is larger than {} KiB", MAX_BYTES >> 10),
            "a case or device file has a few kilobytes: name the right file",
        ));
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let line = 1 + error.as_bytes().iter().take(at).filter(|b| **b == b'\n').count();
        TreeError::new(
            format!("{shown} is not text: line {line} holds bytes that are not UTF-8"),
            "name a case's .toml file, or save it as UTF-8",
        )
    })?;
    if let Some(at) = text.find('\0') {
        let line = 1 + text.bytes().take(at).filter(|b| *b == b'\n').count();
        return Err(TreeError::new(
            format!("{shown} is not text: line {line} holds a zero byte"),
            "name a case's .toml file",
        ));
    }
    Ok(text)
}

/// A path without `.` and, where they can be taken back, `..`.
pub(crate) fn normal(path: &Path) -> PathBuf {
    let mut result = PathBuf::new();
    for component in path.components() {
        match component {
            Component::CurDir => {}
            Component::ParentDir if matches!(result.components().next_back(), Some(Component::Normal(_))) => {
                result.pop();
            }
            other => result.push(other),
        }
    }
    result
}

/// Files in memory.
#[derive(Debug, Clone, Default)]
pub struct Memory {
    files: Vec<(PathBuf, String)>,
}

impl Memory {
    /// From paths and texts.
    #[must_use]
    pub fn new(files: &[(&str, &str)]) -> Self {
        Self {
            files: files.iter().map(|(path, text)| (normal(Path::new(path)), (*text).to_owned())).collect(),
        }
    }
}

impl Tree for Memory {
    fn read(&self, path: &Path) -> Result<String, TreeError> {
        let wanted = normal(path);
        let found = self.files.iter().find(|(known, _)| *known == wanted);
        let (_, text) = found.ok_or_else(|| {
            TreeError::new(format!("there is no file {}", path.display()), "check the path")
        })?;
        text_of(text.clone().into_bytes(), &path.display().to_string())
    }

    fn toml_files(&self, folder: &Path) -> Result<Vec<PathBuf>, TreeError> {
        let folder = normal(folder);
        let mut files: Vec<PathBuf> = self
            .files
            .iter()
            .map(|(path, _)| path.clone())
            .filter(|path| path.parent() == Some(&folder) && path.extension().is_some_and(|e| e == "toml"))
            .collect();
        files.sort();
        Ok(files)
    }

    fn canonical(&self, path: &Path) -> PathBuf {
        normal(path)
    }
}
