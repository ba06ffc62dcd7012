//! Where in a text something was written, and what is wrong there.

use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::{Deserialize, Deserializer};
use serde_spanned::Spanned;
use std::borrow::Cow;
use std::ops::Range;

/// A value with the place in its file where it was written, as a range of bytes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct At<T> {
    /// The value.
    pub value: T,
    /// Bytes of the file; empty where the value was not written in one.
    pub span: Range<usize>,
}

impl<T> At<T> {
    /// A value that stands in no file.
    pub const fn nowhere(value: T) -> Self {
        Self { value, span: 0..0 }
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for At<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let spanned = Spanned::<T>::deserialize(deserializer)?;
        Ok(Self { span: spanned.span(), value: spanned.into_inner() })
    }
}

impl<T: JsonSchema> JsonSchema for At<T> {
    fn inline_schema() -> bool {
        T::inline_schema()
    }
    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }
    fn schema_id() -> Cow<'static, str> {
        T::schema_id()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        T::json_schema(generator)
    }
}

/// Something wrong in a file: where, what, and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Bytes of the file.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// How to mend it.
    pub mend: String,
}

impl Problem {
    /// A problem at a place.
    pub fn new(span: Range<usize>, message: impl Into<String>, mend: impl Into<String>) -> Self {
        Self { span, message: message.into(), mend: mend.into() }
    }

    /// The nearest of `names` to what was written, as the words of a mend; the list itself where none is near.
    #[must_use]
    pub fn nearest<'a>(written: &str, names: impl IntoIterator<Item = &'a str>) -> String {
        let written = written.to_lowercase();
        let mut names: Vec<&str> = names.into_iter().collect();
        names.sort_by_cached_key(|name| strsim::osa_distance(&name.to_lowercase(), &written));
        let limit = 1 + written.chars().count() / 3;
        match names.first() {
            None => "there is none to choose from".to_owned(),
            Some(name) if strsim::osa_distance(&name.to_lowercase(), &written) <= limit => {
                format!("did you mean \"{name}\"?")
            }
            Some(_) => {
                let containing: Vec<&str> =
                    names.iter().copied().filter(|n| n.to_lowercase().contains(&written)).collect();
                let shown = if containing.is_empty() { names } else { containing };
                let list: Vec<String> = shown.iter().take(8).map(|n| format!("\"{n}\"")).collect();
                let more = if shown.len() > 8 { ", …" } else { "" };
                format!("choose one of {}{more}", list.join(", "))
            }
        }
    }
}
