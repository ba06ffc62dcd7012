//! Exit codes and failures.

use crate::output;
use crate::problems;
use gainsay_folder::LoadError;
use std::process::ExitCode;

/// How the program ends; documented in the help.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Exit {
    /// It answered, whatever the verdict.
    Answered,
    /// A case or device file is wrong or missing.
    BadInput,
    /// Something could not be written.
    NotWritten,
    /// With --strict: a verdict is short.
    Short,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        // 2 is what the argument parser ends with.
        Self::from(match exit {
            Exit::Answered => 0,
            Exit::BadInput => 1,
            Exit::NotWritten => 3,
            Exit::Short => 4,
        })
    }
}

/// Why a command could not do its work.
#[derive(Debug)]
pub(crate) enum Failure {
    /// Files are wrong.
    Load(LoadError),
    /// Something else is wrong with what was asked for: message and mend.
    Input(String, String),
    /// Something could not be written: message and mend.
    Output(String, String),
    /// Standard output was closed by whoever read it; that is their right.
    Closed,
}

impl Failure {
    /// Tells what is wrong on standard error.
    pub(crate) fn report(self) -> Exit {
        match self {
            Self::Load(error) => {
                output::error(&problems::render(&error));
                Exit::BadInput
            }
            Self::Input(message, mend) => {
                output::error(&problems::plain(&message, &mend));
                Exit::BadInput
            }
            Self::Output(message, mend) => {
                output::error(&problems::plain(&message, &mend));
                Exit::NotWritten
            }
            Self::Closed => Exit::Answered,
        }
    }
}

impl From<LoadError> for Failure {
    fn from(error: LoadError) -> Self {
        Self::Load(error)
    }
}

impl From<gainsay_plan::chain::MissingFigure> for Failure {
    fn from(missing: gainsay_plan::chain::MissingFigure) -> Self {
        Self::Input(missing.to_string(), "add the figure to the device's file".to_owned())
    }
}
