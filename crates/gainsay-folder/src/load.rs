//! From files to a case.

use crate::tree::{Tree, TreeError};
use gainsay_gear::{Catalogue, Device};
use gainsay_plan::Case;
use gainsay_plan::case::{CaseFile, FilePart, assemble};
use gainsay_units::{Origin, Problem};
use std::path::{Path, PathBuf};

/// How deep files may include each other, and how many there may be; a studio and a session need two.
const MAX_FILES: usize = 32;

/// Why a case can't be loaded.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadError {
    /// What is wrong, file by file.
    pub files: Vec<FileReport>,
}

/// What is wrong with a file.
#[derive(Debug, Clone, PartialEq)]
pub struct FileReport {
    /// Its path.
    pub path: PathBuf,
    /// Its text, as far as it could be read.
    pub text: String,
    /// Each problem with its place in the text.
    pub problems: Vec<Problem>,
}

impl FileReport {
    pub(crate) fn unreadable(path: &Path, error: TreeError) -> Self {
        let problem = Problem::new(0..0, error.message, error.mend);
        Self { path: path.to_owned(), text: String::new(), problems: vec![problem] }
    }

    /// Line and column, from 1, where a problem begins; columns count characters.
    #[must_use]
    pub fn line_and_column(&self, problem: &Problem) -> (usize, usize) {
        let before = self.text.get(..problem.span.start).unwrap_or(&self.text);
        let line = 1 + before.matches('\n').count();
        let column = 1 + before.rsplit('\n').next().map_or(0, |last| last.chars().count());
        (line, column)
    }
}

impl std::fmt::Display for LoadError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for file in &self.files {
            for problem in &file.problems {
                let (line, column) = file.line_and_column(problem);
                let path = file.path.display();
                writeln!(f, "{path}:{line}:{column}: {}; {}", problem.message, problem.mend)?;
            }
        }
        Ok(())
    }
}

impl std::error::Error for LoadError {}

/// Loads a case with everything it includes and the gear folder beside it.
///
/// # Errors
/// Everything that is wrong in any of the files.
pub fn load(tree: &dyn Tree, path: &Path) -> Result<Case, LoadError> {
    let mut loader = Loader { tree, parts: Vec::new(), reports: Vec::new(), open: Vec::new() };
    loader.case_file(path, None);
    let gear = loader.gear(path);
    if !loader.reports.is_empty() {
        return Err(LoadError { files: loader.reports });
    }
    let parts: Vec<FilePart> = loader.parts.iter().map(|part| FilePart { file: part.file.clone() }).collect();
    assemble(&parts, &gear, Catalogue::embedded()).map_err(|problems| {
        let mut files: Vec<FileReport> = Vec::new();
        for (index, part) in loader.parts.iter().enumerate() {
            let of_part: Vec<Problem> =
                problems.iter().filter(|p| p.part == index).map(|p| p.problem.clone()).collect();
            if !of_part.is_empty() {
                files.push(FileReport {
                    path: part.path.clone(),
                    text: part.text.clone(),
                    problems: of_part,
                });
            }
        }
        LoadError { files }
    })
}

/// Reads one device from the text of its file.
///
/// # Errors
/// Everything that is wrong in it.
pub fn parse_device(path: &Path, text: &str) -> Result<Device, FileReport> {
    let id = path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned());
    Device::from_toml(text, &id, Origin::Sheet).map_err(|problems| FileReport {
        path: path.to_owned(),
        text: text.to_owned(),
        problems,
    })
}

struct Part {
    path: PathBuf,
    text: String,
    file: CaseFile,
}

struct Loader<'a> {
    tree: &'a dyn Tree,
    parts: Vec<Part>,
    reports: Vec<FileReport>,
    /// Files that are being included, outermost first.
    open: Vec<PathBuf>,
}

impl Loader<'_> {
    /// Reads a case file and what it includes. `from` is where it is included: the index of the part and the place in it.
    fn case_file(&mut self, path: &Path, from: Option<(usize, std::ops::Range<usize>)>) {
        let canonical = self.tree.canonical(path);
        if let Some((part, span)) = &from
            && self.open.contains(&canonical)
        {
            let problem = Problem::new(
                span.clone(),
                format!("{} includes itself, directly or through others", path.display()),
                "take one of the `include` lines out",
            );
            return self.report_in(*part, problem);
        }
        if self.parts.len() >= MAX_FILES {
            if let Some((part, span)) = from {
                let message = format!("more than {MAX_FILES} files are included");
                self.report_in(part, Problem::new(span, message, "put some of them together"));
            }
            return;
        }
        let text = match self.tree.read(path) {
            Ok(text) => text,
            Err(error) => {
                match from {
                    Some((part, span)) => {
                        let mend = "check the path; it counts from the folder of this file";
                        self.report_in(part, Problem::new(span, error.message, mend));
                    }
                    None => self.reports.push(FileReport::unreadable(path, error)),
                }
                return;
            }
        };
        let file = match CaseFile::from_toml(&text) {
            Ok(file) => file,
            Err(problems) => {
                self.reports.push(FileReport { path: path.to_owned(), text, problems });
                return;
            }
        };
        let index = self.parts.len();
        let includes = file.include.clone();
        self.parts.push(Part { path: path.to_owned(), text, file });
        self.open.push(canonical);
        let folder = path.parent().unwrap_or(Path::new(""));
        for include in includes {
            self.case_file(&folder.join(&include.value), Some((index, include.span)));
        }
        self.open.pop();
    }

    fn report_in(&mut self, part: usize, problem: Problem) {
        if let Some(part) = self.parts.get(part) {
            self.reports.push(FileReport {
                path: part.path.clone(),
                text: part.text.clone(),
                problems: vec![problem],
            });
        }
    }

    /// The devices of the folder `gear` beside the case.
    fn gear(&mut self, case: &Path) -> Vec<Device> {
        let folder = case.parent().unwrap_or(Path::new("")).join("gear");
        let paths = match self.tree.toml_files(&folder) {
            Ok(paths) => paths,
            Err(error) => {
                self.reports.push(FileReport::unreadable(&folder, error));
                return Vec::new();
            }
        };
        let mut devices: Vec<(PathBuf, Device)> = Vec::new();
        for path in paths {
            let text = match self.tree.read(&path) {
                Ok(text) => text,
                Err(error) => {
                    self.reports.push(FileReport::unreadable(&path, error));
                    continue;
                }
            };
            match parse_device(&path, &text) {
                Ok(device) => {
                    if let Some((other, _)) =
                        devices.iter().find(|(_, d)| d.name.to_lowercase() == device.name.to_lowercase())
                    {
                        let span = text.find(&device.name).map_or(0..0, |at| at..at + device.name.len());
                        let problem = Problem::new(
                            span,
                            format!("{} has the same name", other.display()),
                            "give each device its own name",
                        );
                        self.reports.push(FileReport { path, text, problems: vec![problem] });
                        continue;
                    }
                    devices.push((path, device));
                }
                Err(report) => self.reports.push(report),
            }
        }
        devices.into_iter().map(|(_, device)| device).collect()
    }
}
