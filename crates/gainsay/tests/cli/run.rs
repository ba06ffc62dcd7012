//! Runs the program as a user does.

use std::path::Path;
use std::process::{Command, Output};

/// What a run came to.
pub(crate) struct Run {
    pub(crate) code: Option<i32>,
    pub(crate) stdout: String,
    pub(crate) stderr: String,
}

impl From<Output> for Run {
    fn from(output: Output) -> Self {
        Self {
            code: output.status.code(),
            stdout: String::from_utf8_lossy(&output.stdout).into_owned(),
            stderr: String::from_utf8_lossy(&output.stderr).into_owned(),
        }
    }
}

/// The program with a terminal of so many columns.
pub(crate) fn command(columns: u32, folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_gainsay"));
    command.current_dir(folder).env_clear().env("COLUMNS", columns.to_string());
    command
}

/// Runs it in a folder, 100 columns wide.
pub(crate) fn gainsay_in(folder: &Path, arguments: &[&str]) -> Run {
    command(100, folder).args(arguments).output().expect("the program runs").into()
}

/// Runs it where there are no files.
pub(crate) fn gainsay(arguments: &[&str]) -> Run {
    gainsay_in(&std::env::temp_dir(), arguments)
}

/// A folder with files.
pub(crate) fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for (path, text) in files {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
        std::fs::write(path, text).expect("a file");
    }
    folder
}
