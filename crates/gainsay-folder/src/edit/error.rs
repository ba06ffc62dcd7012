//! Why an edit can't be made, in words.

use std::fmt;

/// Why an edit can't be made; the text is left as it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EditError {
    /// The text is no TOML, so that nothing in it can be found.
    NotToml {
        /// What is wrong.
        message: String,
        /// From which byte.
        at: usize,
    },
    /// The path can't be read.
    BadPath {
        /// The path as it was given.
        path: String,
    },
    /// A key that would need quotes, or stands twice.
    BadKey {
        /// The key as it was given.
        key: String,
    },
    /// A number that no figure has: infinite, or none.
    BadNumber,
    /// There is nothing at the path.
    Missing {
        /// The path up to what is missing.
        path: String,
    },
    /// A list, or the tables of one name, are fewer than the place asks for.
    TooFew {
        /// Path of the list.
        path: String,
        /// How many there are.
        count: usize,
    },
    /// A table stands where a single value was to be set or gone through.
    IsTable {
        /// Its path.
        path: String,
    },
    /// A single value stands where a table was expected.
    NotTable {
        /// Its path.
        path: String,
    },
    /// Something else stands where a list, or tables of one name, were expected.
    NotList {
        /// Its path.
        path: String,
    },
    /// The file says it in a way that this program doesn't change without losing a comment or the order.
    Unusual {
        /// The path.
        path: String,
    },
}

impl EditError {
    /// What is wrong.
    #[must_use]
    pub fn message(&self) -> String {
        match self {
            Self::NotToml { message, .. } => format!("the text can't be read: {message}"),
            Self::BadPath { path } => format!("\"{path}\" is not the path of a field"),
            Self::BadKey { key } => format!("\"{key}\" can't be a key here"),
            Self::BadNumber => "this number is infinite or none at all".to_owned(),
            Self::Missing { path } => format!("there is no {path}"),
            Self::TooFew { path, count: 0 } => format!("{path} is empty"),
            Self::TooFew { path, count: 1 } => format!("there is only one of {path}"),
            Self::TooFew { path, count } => format!("there are only {count} of {path}"),
            Self::IsTable { path } => format!("{path} is a table"),
            Self::NotTable { path } => format!("{path} is a single value"),
            Self::NotList { path } => format!("{path} is not a list"),
            Self::Unusual { path } => format!("{path} is written in an unusual way"),
        }
    }

    /// How to mend it.
    #[must_use]
    pub const fn mend(&self) -> &'static str {
        match self {
            Self::NotToml { .. } => "mend the text first",
            Self::BadPath { .. } => "write it like source[2].distance, places from 0",
            Self::BadKey { .. } => "use letters without accents, digits, _ and -, and each key once",
            Self::BadNumber => "give a finite number",
            Self::Missing { .. } => "look whether it has been removed meanwhile",
            Self::TooFew { .. } => "count from 0, and look whether one has been removed meanwhile",
            Self::IsTable { .. } => "name one of its fields",
            Self::NotTable { .. } => "leave out what follows it in the path",
            Self::NotList { .. } => "name a list, or tables of one name",
            Self::Unusual { .. } => "change it in the text itself",
        }
    }
}

impl fmt::Display for EditError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.message(), self.mend())
    }
}

impl std::error::Error for EditError {}
