//! `gainsay demo`.

use crate::exit::{Exit, Failure};
use crate::output::{self, STRONG, styled};
use std::path::Path;

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
