//! `gainsay demo`.

use crate::exit::{Exit, Failure};
use crate::output::{self, STRONG, styled};
use std::path::{Path, PathBuf};

pub(crate) fn run(folder: &Path) -> Result<Exit, Failure> {
    let written = gainsay_folder::demo::write(folder).map_err(|error| {
        let mend = if error.kind() == std::io::ErrorKind::AlreadyExists {
            "name another folder, or move the files away"
        } else {
            "name a folder that can be written"
        };
        Failure::Output(format!("the demo is not written: {error}"), mend.to_owned())
    })?;
    let mut text = String::new();
    for path in &written {
        text.push_str(&format!("wrote {}\n", path.display()));
    }
    let case = folder.join(gainsay_folder::demo::MAIN);
    text.push_str(&format!("\nNow: {}\n", styled(STRONG, &format!("gainsay check {}", case.display()))));
    output::print(&text)?;
    Ok(Exit::Answered)
}

/// The demo in a folder of its own under the user's data folder; written there if it is not there yet.
pub(crate) fn own_folder() -> Result<PathBuf, Failure> {
    let Some(data) = dirs::data_dir() else {
        return Err(Failure::Input(
            "there is no folder for a user's data".to_owned(),
            "name a folder of cases".to_owned(),
        ));
    };
    let folder = data.join("gainsay");
    if !folder.join(gainsay_folder::demo::MAIN).is_file() {
        gainsay_folder::demo::write(&folder).map_err(|error| {
            Failure::Output(
                format!("the demo can't be written to {}: {error}", folder.display()),
                "name a folder of cases".to_owned(),
            )
        })?;
    }
    Ok(folder)
}
