//! The devices of a gear folder: all of its files, those that can't be read among them.

use crate::{FileReport, Tree, TreeError, parse_device};
use gainsay_gear::{Catalogue, Device, Search};
use gainsay_units::Problem;
use std::path::{Path, PathBuf};

/// A device with its file.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The file.
    pub path: PathBuf,
    /// Its text.
    pub text: String,
    /// The device as its file has it: what the file does not state is not filled in.
    pub device: Device,
}

/// A gear folder as far as it can be read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Library {
    /// In the order of their names.
    pub held: Vec<Held>,
    /// Files that can't be read, by path.
    pub broken: Vec<FileReport>,
}

impl Library {
    /// Reads every device file of a folder; there is none where there is no such folder.
    ///
    /// # Errors
    /// When the folder can't be listed.
    pub fn read(tree: &dyn Tree, folder: &Path) -> Result<Self, TreeError> {
        let mut library = Self::default();
        for path in tree.toml_files(folder)? {
            match tree.read(&path) {
                Err(error) => library.broken.push(FileReport::unreadable(&path, error)),
                Ok(text) => match parse_device(&path, &text) {
                    Ok(device) => library.held.push(Held { path, text, device }),
                    Err(report) => library.broken.push(report),
                },
            }
        }
        library.held.sort_by_cached_key(|held| held.device.name.to_lowercase());
        Ok(library)
    }

    /// The device with this name or short name; capitals do not matter.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<&Held> {
        let wanted = name.trim().to_lowercase();
        let named = |held: &&Held| held.device.name.to_lowercase() == wanted;
        let called = |held: &&Held| held.device.id.to_lowercase() == wanted;
        self.held.iter().find(named).or_else(|| self.held.iter().find(called))
    }

    /// What fits a search, nearest first; those as near keep the order of their names.
    #[must_use]
    pub fn found(&self, search: &Search) -> Vec<&Held> {
        let mut found: Vec<(usize, &Held)> =
            self.held.iter().filter_map(|held| Some((search.distance(&held.device)?, held))).collect();
        found.sort_by_key(|(distance, _)| *distance);
        found.into_iter().map(|(_, held)| held).collect()
    }

    /// Everything that is wrong in any of the files, by path: also what only shows beside the others and the built-in kinds, a name
    /// that another has and a kind that there is not.
    #[must_use]
    pub fn wrong(&self) -> Vec<FileReport> {
        let mut reports = self.broken.clone();
        for (index, held) in self.held.iter().enumerate() {
            let problems = problems(held, self.held.get(..index).unwrap_or_default());
            if !problems.is_empty() {
                reports.push(FileReport { path: held.path.clone(), text: held.text.clone(), problems });
            }
        }
        reports.sort_by(|a, b| a.path.cmp(&b.path));
        reports
    }
}

fn problems(held: &Held, before: &[Held]) -> Vec<Problem> {
    let mut problems = Vec::new();
    let device = &held.device;
    let same = |other: &&Held| other.device.name.to_lowercase() == device.name.to_lowercase();
    if let Some(other) = before.iter().find(same) {
        let span = held.text.find(&device.name).map_or(0..0, |at| at..at + device.name.len());
        let message = format!("{} has the same name", other.path.display());
        problems.push(Problem::new(span, message, "give each device its own name"));
    }
    if let Some(like) = &device.like {
        let catalogue = Catalogue::embedded();
        match catalogue.device(&like.value) {
            None => problems.push(Problem::new(
                like.span.clone(),
                format!("there is no built-in kind \"{}\"", like.value),
                Problem::nearest(&like.value, catalogue.device_names()),
            )),
            Some(kind) if kind.device_type() != device.device_type() => problems.push(Problem::new(
                like.span.clone(),
                format!(
                    "\"{}\" is {}, and this is {}",
                    like.value,
                    kind.device_type().with_article(),
                    device.device_type().with_article()
                ),
                "name a kind of the same type",
            )),
            Some(_) => {}
        }
    }
    problems
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Memory;

    const PREAMP: &str = "name = \"Desk preamp\"\ntype = \"preamp\"\n[[microphone_inputs]]\ncount = 1\n";

    fn library(files: &[(&str, &str)]) -> Library {
        Library::read(&Memory::new(files), Path::new("gear")).unwrap()
    }

    #[test]
    fn what_cannot_be_read_stands_beside_what_can() {
        let library = library(&[("gear/b.toml", PREAMP), ("gear/a.toml", "type = \"preamp\"\nname = 3\n")]);
        assert_eq!(library.held.len(), 1);
        assert_eq!(library.broken.len(), 1);
        assert_eq!(library.find("desk PREAMP").map(|held| held.device.id.as_str()), Some("b"));
        assert_eq!(library.find("B").map(|held| held.device.name.as_str()), Some("Desk preamp"));
    }

    #[test]
    fn a_name_that_another_has_and_a_kind_that_there_is_not_are_wrong() {
        let other = PREAMP.replace("type =", "like = \"no-such-kind\"\ntype =");
        let library = library(&[("gear/a.toml", PREAMP), ("gear/b.toml", &other)]);
        let wrong = library.wrong();
        assert_eq!(wrong.len(), 1);
        assert_eq!(wrong[0].path, Path::new("gear/b.toml"));
        assert_eq!(wrong[0].problems.len(), 2);
    }

    #[test]
    fn the_nearest_is_found_first() {
        let named = |name: &str| PREAMP.replace("Desk preamp", name);
        let (far, near) = (named("A box with a desk's preamps"), named("Desk preamp"));
        let library = library(&[("gear/a.toml", &far), ("gear/b.toml", &near)]);
        let found = library.found(&Search::parse("desc preamp").unwrap());
        assert_eq!(found.len(), 2);
        assert!(library.found(&Search::parse("price<3").unwrap()).is_empty());
    }
}
