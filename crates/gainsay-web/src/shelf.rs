//! The folder's cases and gear, read and checked once for each version of the files.

use gainsay_folder::folder::{Fault, FileName, Folder, FolderError, Place, Version};
use gainsay_folder::library::Library;
use gainsay_folder::{LoadError, load};
use gainsay_gear::{Catalogue, Device, DeviceType};
use gainsay_plan::case::Pickup;
use gainsay_plan::options::{OptionsAnswer, options};
use gainsay_plan::{Answer, Case, Draws, Options, check};
use std::collections::HashMap;
use std::ops::ControlFlow;
use std::path::Path;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::time::{Duration, Instant};

/// A page waits no longer than this for options; then it shows the best so far, and says so.
const PATIENCE: Duration = Duration::from_secs(20);

/// Cases that are kept checked.
const KEPT: usize = 128;

/// How much is computed for a page.
pub(crate) const THOROUGH: Options =
    Options { draws: Draws { count: 10_000, seed: 1 }, stage_intervals: true };

/// How much is computed while something moves: enough for the picture, not for the last digit.
pub(crate) const QUICK: Options = Options { draws: Draws { count: 512, seed: 1 }, stage_intervals: true };

pub(crate) struct Shelf {
    folder: Folder,
    opened: Mutex<HashMap<String, (String, Arc<Opened>)>>,
}

/// A case with its answer.
pub(crate) struct Opened {
    /// The file's name without its ending.
    pub(crate) name: String,
    /// The text of its own file, and its version.
    pub(crate) text: String,
    pub(crate) version: Version,
    pub(crate) case: Case,
    pub(crate) answer: Answer,
    options: OnceLock<Result<OptionsAnswer, String>>,
    folder: Folder,
    own: OnceLock<Vec<Arc<Device>>>,
}

/// A case of the folder.
pub(crate) struct Listed {
    pub(crate) name: String,
    /// Its title and question, or what is wrong with its file.
    pub(crate) what: Result<(String, Option<String>), LoadError>,
}

/// Why a case can't be opened.
pub(crate) enum OpenError {
    /// There is none of that name.
    None,
    /// Its files are wrong.
    Wrong(LoadError),
    /// A figure is missing, or the file can't be had: why.
    Missing(String),
}

impl Shelf {
    /// # Errors
    /// When there is no such folder.
    pub(crate) fn open_folder(folder: &Path) -> Result<Self, FolderError> {
        Ok(Self { folder: Folder::open(folder)?, opened: Mutex::new(HashMap::new()) })
    }

    pub(crate) const fn folder(&self) -> &Folder {
        &self.folder
    }

    /// What the folder is like now: another text after any change.
    pub(crate) fn revision(&self) -> String {
        self.folder.revision().map_or_else(|error| error.message, |version| version.to_string())
    }

    pub(crate) fn cases(&self) -> Result<Vec<Listed>, FolderError> {
        let listed = |entry: gainsay_folder::folder::CaseEntry| {
            let what =
                load(&self.folder, Path::new(entry.name.as_str())).map(|case| (case.title, case.question));
            Listed { name: entry.name.stem().to_owned(), what }
        };
        Ok(self.folder.cases()?.into_iter().map(listed).collect())
    }

    /// A case that has been checked since anything was changed.
    pub(crate) fn opened(&self, name: &str) -> Option<Arc<Opened>> {
        self.known(name, &self.revision())
    }

    fn known(&self, name: &str, revision: &str) -> Option<Arc<Opened>> {
        let opened = self.opened.lock().unwrap_or_else(PoisonError::into_inner);
        opened.get(name).filter(|(of, _)| of == revision).map(|(_, opened)| Arc::clone(opened))
    }

    /// A case, checked.
    pub(crate) fn open(&self, name: &str) -> Result<Arc<Opened>, OpenError> {
        let revision = self.revision();
        if let Some(opened) = self.known(name, &revision) {
            return Ok(opened);
        }
        let file = FileName::parse(&format!("{name}.toml")).map_err(|_| OpenError::None)?;
        let read = self.folder.read(Place::Case, &file).map_err(|error| match error.fault {
            Fault::Missing => OpenError::None,
            _ => OpenError::Missing(error.to_string()),
        })?;
        let case = load(&self.folder, Path::new(file.as_str())).map_err(OpenError::Wrong)?;
        let answer = check(&case, THOROUGH).map_err(|missing| OpenError::Missing(missing.to_string()))?;
        let opened = Arc::new(Opened {
            name: name.to_owned(),
            text: read.text,
            version: read.version,
            case,
            answer,
            options: OnceLock::new(),
            folder: self.folder.clone(),
            own: OnceLock::new(),
        });
        let mut all = self.opened.lock().unwrap_or_else(PoisonError::into_inner);
        if all.len() >= KEPT {
            all.clear();
        }
        all.insert(name.to_owned(), (revision, Arc::clone(&opened)));
        Ok(opened)
    }

    /// What a case would come to with another text, if it can be read.
    pub(crate) fn answer_with(&self, name: &FileName, text: &str) -> Option<Answer> {
        let draft = self.folder.with_draft(Place::Case, name, text);
        let case = load(&draft, Path::new(name.as_str())).ok()?;
        check(&case, THOROUGH).ok()
    }
}

impl Opened {
    /// The microphones and boosters that are there to be tried without being built in: the folder's, and those that the case
    /// holds itself; completed with what is typical.
    pub(crate) fn own(&self) -> &[Arc<Device>] {
        self.own.get_or_init(|| {
            let catalogue = Catalogue::embedded();
            let held = Library::read(&self.folder, Path::new("gear")).unwrap_or_default().held;
            let mut own: Vec<Arc<Device>> = held
                .into_iter()
                .map(|held| {
                    let mut device = held.device;
                    catalogue.fill(&mut device);
                    Arc::new(device)
                })
                .collect();
            for source in &self.case.sources {
                let microphone = match &source.pickup {
                    Pickup::Acoustic { microphone, .. } => Some(microphone),
                    Pickup::Electrical { .. } => None,
                };
                for device in microphone.into_iter().chain(&source.booster) {
                    if catalogue.device_text(&device.id).is_none()
                        && own.iter().all(|own| own.id != device.id)
                    {
                        own.push(Arc::clone(device));
                    }
                }
            }
            own.retain(|device| matches!(device.device_type(), DeviceType::Microphone | DeviceType::Booster));
            own
        })
    }

    /// The options of the case, searched once.
    pub(crate) fn options(&self) -> Result<&OptionsAnswer, &str> {
        let searched = self.options.get_or_init(|| {
            let start = Instant::now();
            let with = Options { draws: Draws::default(), stage_intervals: false };
            let mut watch = |_: &_| {
                if start.elapsed() > PATIENCE { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
            };
            options(&self.case, with, &mut watch).map_err(|error| error.to_string())
        });
        searched.as_ref().map_err(String::as_str)
    }
}
