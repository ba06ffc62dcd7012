//! Names of files in a folder.

use super::fault::{Fault, FolderError};
use std::fmt;

/// Longest name without its ending.
const LONGEST: usize = 64;

/// Names that some systems keep for devices, whatever their ending.
const DEVICES: &[&str] = &["con", "prn", "aux", "nul"];

/// Where in a folder a file lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// At its top: a case, or a part that cases include.
    Case,
    /// In `gear`: a device.
    Gear,
}

impl Place {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Case, Self::Gear];

    /// As one word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Case => "case",
            Self::Gear => "gear",
        }
    }

    /// The place that a word of [`Self::word`] names.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|place| place.word() == word)
    }
}

/// A plain name that leads nowhere else: small letters without accents, digits and hyphens, and `.toml` behind them.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FileName(String);

impl FileName {
    /// Takes a name as it is.
    ///
    /// # Errors
    /// [`Fault::BadName`] when it isn't plain, is longer than 64 characters without its ending, or is kept for a device.
    pub fn parse(name: &str) -> Result<Self, FolderError> {
        let bad = |mend: &str| {
            let shown: String = name.chars().take(80).collect();
            FolderError::new(Fault::BadName, format!("{shown:?} can't be the name of a file here"), mend)
        };
        let stem = name.strip_suffix(".toml").ok_or_else(|| bad("let it end in .toml"))?;
        if stem.is_empty() || !stem.bytes().all(|byte| matches!(byte, b'a'..=b'z' | b'0'..=b'9' | b'-')) {
            return Err(bad(
                "use small letters without accents, digits and hyphens, such as our-quintet.toml",
            ));
        }
        if stem.len() > LONGEST {
            return Err(bad("make it shorter: 64 characters and .toml"));
        }
        let is_port = (stem.starts_with("com") || stem.starts_with("lpt"))
            && stem.len() == 4
            && stem.ends_with(|end: char| end.is_ascii_digit());
        if DEVICES.contains(&stem) || is_port {
            return Err(bad("choose another name: some systems keep this one for a device"));
        }
        Ok(Self(name.to_owned()))
    }

    /// A name made from a title: its letters and digits, with hyphens between words.
    ///
    /// # Errors
    /// [`Fault::BadName`] when no letter or digit without accents is in it, or the name is kept for a device.
    pub fn from_title(title: &str) -> Result<Self, FolderError> {
        let mut stem = String::new();
        for char in title.chars().flat_map(char::to_lowercase) {
            match char {
                'a'..='z' | '0'..='9' => stem.push(char),
                // An apostrophe parts no words.
                '\'' | '’' => {}
                _ if stem.is_empty() || stem.ends_with('-') => {}
                _ => stem.push('-'),
            }
        }
        // All of it is ASCII.
        stem.truncate(LONGEST);
        Self::parse(&format!("{}.toml", stem.trim_end_matches('-')))
    }

    /// With its ending.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Without its ending.
    #[must_use]
    pub fn stem(&self) -> &str {
        self.0.strip_suffix(".toml").unwrap_or(&self.0)
    }
}

impl fmt::Display for FileName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::str::FromStr for FileName {
    type Err = FolderError;

    fn from_str(name: &str) -> Result<Self, FolderError> {
        Self::parse(name)
    }
}
