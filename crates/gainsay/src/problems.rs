//! Problems in files as they are shown: file, line, column, the place itself, and the mend.

use crate::output::{WARNING, columns, styled};
use gainsay_folder::{FileReport, LoadError};
use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, SourceCode};
use std::fmt;

/// One problem in one file.
#[derive(Debug)]
struct Shown {
    message: String,
    mend: String,
    source: Option<NamedSource<String>>,
    span: std::ops::Range<usize>,
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Shown {}

impl Diagnostic for Shown {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(&self.mend))
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.source.as_ref().map(|source| source as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        self.source.as_ref()?;
        let label = LabeledSpan::new_with_span(None, self.span.clone());
        Some(Box::new(std::iter::once(label)))
    }
}

/// All problems of a case.
pub(crate) fn render(error: &LoadError) -> String {
    let mut text = String::new();
    for file in &error.files {
        for problem in &file.problems {
            text.push_str(&one(file, problem));
        }
    }
    let count: usize = error.files.iter().map(|file| file.problems.len()).sum();
    if count > 1 {
        text.push_str(&format!("{count} problems"));
    }
    text.trim_end().to_owned()
}

fn one(file: &FileReport, problem: &gainsay_units::Problem) -> String {
    let has_place = !problem.span.is_empty() && problem.span.end <= file.text.len();
    let shown = Shown {
        message: problem.message.clone(),
        mend: problem.mend.clone(),
        source: has_place.then(|| NamedSource::new(file.path.display().to_string(), file.text.clone())),
        span: problem.span.clone(),
    };
    if !has_place {
        // What can't be read at all names the file in its message.
        let path = file.path.display().to_string();
        let place = if problem.message.contains(&path) {
            String::new()
        } else if problem.span == (0..0) {
            format!("{path}: ")
        } else {
            let (line, column) = file.line_and_column(problem);
            format!("{path}:{line}:{column}: ")
        };
        return format!("{}\n\n", plain(&format!("{place}{}", problem.message), &problem.mend));
    }
    let handler = GraphicalReportHandler::new_themed(GraphicalTheme::unicode())
        .with_width(columns().min(100))
        .with_context_lines(1)
        .with_cause_chain();
    let mut text = String::new();
    if handler.render_report(&mut text, &shown).is_err() {
        text = plain(&problem.message, &problem.mend);
    }
    text.push('\n');
    text
}

/// A problem that has no place in a file.
pub(crate) fn plain(message: &str, mend: &str) -> String {
    format!("{}: {message}\n  mend: {mend}", styled(WARNING, "error"))
}
