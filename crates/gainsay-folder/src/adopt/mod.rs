//! What a plan or a what-if has found, written into the text of a case file: comments and order stay.
//!
//! A plan speaks of the case, which several files may make up; a text is one of them. What stands in another file is not changed
//! from here, since other cases may include it.

mod draft;

use crate::edit::{EditError, Value};
use draft::{Draft, length};
use gainsay_plan::WhatIf;
use gainsay_plan::case::Case;
use gainsay_plan::options::Change;
use gainsay_plan::patch::Input;
use std::fmt;

/// Why something that was found can't be written into a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AdoptError {
    /// The source stands in another file, which this one includes.
    Elsewhere {
        /// The source.
        source: String,
    },
    /// There are several sources of that name.
    Ambiguous {
        /// The name.
        source: String,
    },
    /// The levels of an electrical source can't be written.
    Electrical {
        /// The source.
        source: String,
    },
    /// The text can't be changed so.
    Edit(EditError),
}

impl AdoptError {
    /// What is wrong.
    #[must_use]
    pub fn message(&self) -> String {
        match self {
            Self::Elsewhere { source } => {
                format!("{source} stands in another file, which this case includes")
            }
            Self::Ambiguous { source } => format!("there are several sources named \"{source}\""),
            Self::Electrical { source } => {
                format!("{source} comes from an output, whose level a case can't hold")
            }
            Self::Edit(error) => error.message(),
        }
    }

    /// How to mend it.
    #[must_use]
    pub const fn mend(&self) -> &'static str {
        match self {
            Self::Elsewhere { .. } => {
                "change it in the case to which it belongs; that holds for every case that includes it"
            }
            Self::Ambiguous { .. } => "give each source its own name first",
            Self::Electrical { .. } => "set the louder level back and keep the rest",
            Self::Edit(error) => error.mend(),
        }
    }
}

impl fmt::Display for AdoptError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.message(), self.mend())
    }
}

impl std::error::Error for AdoptError {}

impl From<EditError> for AdoptError {
    fn from(error: EditError) -> Self {
        Self::Edit(error)
    }
}

/// The text of a case file with the changes of a plan in it. What could be had and what may be spent stay as they are.
///
/// # Errors
/// When a change concerns a source of another file, or the text can't be changed.
pub fn adopt_changes(text: &str, case: &Case, changes: &[Change]) -> Result<String, AdoptError> {
    let mut draft = Draft::new(text, case)?;
    // A source that is left out shifts those behind it.
    let is_last = |change: &&Change| matches!(change, Change::LeaveOut { .. });
    let (last, first): (Vec<&Change>, Vec<&Change>) = changes.iter().partition(is_last);
    for change in first.into_iter().chain(last) {
        draft.change(change)?;
    }
    Ok(draft.finish())
}

/// The text of a case file with a what-if for one of its sources in it. `source` is its index in the case.
///
/// # Errors
/// When the source stands in another file or is electrical and louder, or the text can't be changed.
pub fn adopt_what_if(
    text: &str,
    case: &Case,
    source: usize,
    what_if: &WhatIf,
    input: Option<&Input>,
) -> Result<String, AdoptError> {
    let mut draft = Draft::new(text, case)?;
    let name = case.sources.get(source).map(|source| source.name.clone()).unwrap_or_default();
    let at = draft.of_index(source, &name)?;
    if let Some(louder) = what_if.louder {
        draft.louder(&at, source, louder)?;
    }
    if let Some(distance) = what_if.distance {
        draft.distance(&at, source, &length(distance))?;
    }
    if let Some(cable) = what_if.cable {
        draft.figure(&format!("{at}.cable"), &length(cable))?;
    }
    if let Some(gain) = what_if.gain {
        draft.figure(&format!("{at}.gain"), &format!("{} dB", gain.db()))?;
    }
    if let Some(microphone) = &what_if.microphone {
        draft.set(&format!("{at}.microphone"), microphone.id.as_str())?;
    }
    match &what_if.booster {
        Some(Some(booster)) => draft.set(&format!("{at}.booster"), booster.id.as_str())?,
        Some(None) => draft.remove(&format!("{at}.booster"))?,
        None => {}
    }
    if let Some(input) = input {
        draft.remove(&format!("{at}.input"))?;
        draft.set(&format!("{at}.input.device"), input.device.id.as_str())?;
        draft.set(&format!("{at}.input.number"), Value::Whole(i64::from(input.number)))?;
        if let Some(copy) = input.copy {
            draft.set(&format!("{at}.input.copy"), Value::Whole(i64::from(copy)))?;
        }
    }
    Ok(draft.finish())
}
