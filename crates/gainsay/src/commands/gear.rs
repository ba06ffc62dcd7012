//! `gainsay gear`: the devices of a gear folder.

mod find;
mod list;
mod look_over;
mod show;

use crate::exit::{Exit, Failure};
use clap::{Args, Subcommand, ValueHint};
use gainsay_folder::{Disk, FileReport, Tree, parse_device};
use gainsay_gear::Device;
use gainsay_units::Problem;
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

/// A device and its file.
struct Entry {
    path: PathBuf,
    text: String,
    device: Device,
}

/// A gear folder as far as it can be read.
struct Shelf {
    folder: PathBuf,
    /// In the order of their names.
    entries: Vec<Entry>,
    /// Files that can't be read.
    broken: Vec<FileReport>,
}

impl Shelf {
    fn of(folder: &Path) -> Result<Self, Failure> {
        if !folder.is_dir() {
            return Err(Failure::Input(
                format!("there is no folder {}", folder.display()),
                "name one with --folder; `gainsay demo my-studio` writes one to start from".to_owned(),
            ));
        }
        let paths = Disk.toml_files(folder).map_err(|error| Failure::Input(error.message, error.mend))?;
        let mut shelf = Self { folder: folder.to_owned(), entries: Vec::new(), broken: Vec::new() };
        for path in paths {
            let text = match Disk.read(&path) {
                Ok(text) => text,
                Err(error) => {
                    let problem = Problem::new(0..0, error.message, error.mend);
                    shelf.broken.push(FileReport { path, text: String::new(), problems: vec![problem] });
                    continue;
                }
            };
            match parse_device(&path, &text) {
                Ok(device) => shelf.entries.push(Entry { path, text, device }),
                Err(report) => shelf.broken.push(report),
            }
        }
        shelf.entries.sort_by_cached_key(|entry| entry.device.name.to_lowercase());
        Ok(shelf)
    }

    /// The device with this name or short name; capitals do not matter.
    fn find(&self, name: &str) -> Option<&Entry> {
        let wanted = name.trim().to_lowercase();
        let named = |entry: &&Entry| entry.device.name.to_lowercase() == wanted;
        let called = |entry: &&Entry| entry.device.id.to_lowercase() == wanted;
        self.entries.iter().find(named).or_else(|| self.entries.iter().find(called))
    }

    /// What to say of files that can't be read; nothing where all can.
    fn broken_words(&self) -> Option<String> {
        let count = self.broken.len();
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
