//! `gainsay gear`: the devices of a gear folder.

mod find;
mod list;
mod look_over;
mod show;

use crate::exit::{Exit, Failure};
use clap::{Args, Subcommand, ValueHint};
use gainsay_folder::Disk;
use gainsay_folder::library::Library;
use gainsay_gear::Device;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(crate) struct Gear {
    /// What to do
    #[command(subcommand)]
    what: What,
    /// The gear folder: device files, as beside a case
    #[arg(long, global = true, default_value = "gear", value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    folder: PathBuf,
    /// Print as JSON
    #[arg(long, global = true)]
    json: bool,
}

#[derive(Debug, Subcommand)]
enum What {
    /// List the devices, with how many of their figures are stated, measured and typical
    List,
    /// Find devices by words and conditions
    #[command(after_help = "\
Words are looked for in names, short names, notes and types, and may be misspelt a little. Conditions: a fact, such as \
type=microphone, phantom=no, transducer=ribbon or computer=usb, or a number, such as 'price<300' or 'inputs>4', in quotes so that the shell leaves them alone.")]
    Find {
        /// Words and conditions, all of which must hold
        #[arg(required = true)]
        words: Vec<String>,
    },
    /// Show a device: every figure with its origin, and the device on one footing
    Show {
        /// Its name, its short name or its file; a built-in kind if the folder has none of that name
        device: String,
    },
    /// Look every device file over: what is wrong in it, and what is doubtful
    Check,
}

pub(crate) fn run(arguments: &Gear) -> Result<Exit, Failure> {
    match &arguments.what {
        What::List => list::run(&Shelf::of(&arguments.folder)?, arguments.json),
        What::Find { words } => find::run(&Shelf::of(&arguments.folder)?, words, arguments.json),
        What::Show { device } => show::run(&arguments.folder, device, arguments.json),
        What::Check => look_over::run(Shelf::of(&arguments.folder)?, arguments.json),
    }
}

/// A gear folder as far as it can be read.
struct Shelf {
    folder: PathBuf,
    library: Library,
}

impl Shelf {
    fn of(folder: &Path) -> Result<Self, Failure> {
        if !folder.is_dir() {
            return Err(Failure::Input(
                format!("there is no folder {}", folder.display()),
                "name one with --folder; `gainsay demo my-studio` writes one to start from".to_owned(),
            ));
        }
        let library =
            Library::read(&Disk, folder).map_err(|error| Failure::Input(error.message, error.mend))?;
        Ok(Self { folder: folder.to_owned(), library })
    }

    /// What to say of files that can't be read; nothing where all can.
    fn broken_words(&self) -> Option<String> {
        let count = self.library.broken.len();
        let files = if count == 1 { "One file" } else { "Some files" };
        (count > 0)
            .then(|| format!("{files} can't be read: gainsay gear check --folder {}", self.folder.display()))
    }
}

/// What a careful reader of sheets doubts about a device, each with its field and the standard behind it.
fn doubts_of(device: &Device) -> Vec<String> {
    gainsay_sheet::doubts_of(device)
        .into_iter()
        .map(|doubt| {
            doubt.field.as_ref().map_or_else(|| doubt.to_string(), |field| format!("{field}: {doubt}"))
        })
        .collect()
}
