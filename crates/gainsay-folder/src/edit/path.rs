//! Where in a file a field stands.

use super::EditError;
use std::fmt;

/// A step from a table or list to what it holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Segment {
    /// A key of a table.
    Key(String),
    /// A place in a list or among tables of one name, from 0.
    Index(usize),
}

/// The path of a field, such as `source[2].distance` or `session.sample_rate`. Places count from 0.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldPath(Vec<Segment>);

impl FieldPath {
    /// Reads a path. Keys are made of letters without accents, digits, `_` and `-`.
    ///
    /// # Errors
    /// [`EditError::BadPath`] when it isn't one.
    pub fn parse(text: &str) -> Result<Self, EditError> {
        let bad = || EditError::BadPath { path: text.to_owned() };
        let mut segments = Vec::new();
        for part in text.split('.') {
            let (key, places) = part.split_once('[').map_or((part, None), |(key, rest)| (key, Some(rest)));
            if !is_bare_key(key) {
                return Err(bad());
            }
            segments.push(Segment::Key(key.to_owned()));
            let Some(places) = places else { continue };
            let places = places.strip_suffix(']').ok_or_else(bad)?;
            for place in places.split("][") {
                // `parse` alone would also take a plus sign.
                if place.is_empty() || !place.bytes().all(|byte| byte.is_ascii_digit()) {
                    return Err(bad());
                }
                segments.push(Segment::Index(place.parse().map_err(|_| bad())?));
            }
        }
        Ok(Self(segments))
    }

    /// Its steps, outermost first; there is at least one.
    #[must_use]
    pub fn segments(&self) -> &[Segment] {
        &self.0
    }
}

/// Whether a key needs no quotes in a TOML file.
pub(super) fn is_bare_key(key: &str) -> bool {
    !key.is_empty() && key.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'_' || byte == b'-')
}

/// Steps in the notation of [`FieldPath::parse`].
pub(super) fn written(segments: &[Segment]) -> String {
    let mut text = String::new();
    for segment in segments {
        match segment {
            Segment::Key(key) => {
                if !text.is_empty() {
                    text.push('.');
                }
                text.push_str(key);
            }
            Segment::Index(index) => text.push_str(&format!("[{index}]")),
        }
    }
    text
}

impl fmt::Display for FieldPath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&written(&self.0))
    }
}

impl std::str::FromStr for FieldPath {
    type Err = EditError;

    fn from_str(text: &str) -> Result<Self, EditError> {
        Self::parse(text)
    }
}
