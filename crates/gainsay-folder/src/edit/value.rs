//! Values that can be set.

use super::EditError;
use toml_edit::Value as Toml;

/// A value that is set in a file.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Text; figures with units are text.
    Text(String),
    /// A number with a fraction; written with a decimal point. Finite.
    Number(f64),
    /// A whole number.
    Whole(i64),
    /// True or false.
    Flag(bool),
    /// A list of values.
    List(Vec<Self>),
}

impl Value {
    /// As it is written in a file.
    ///
    /// # Errors
    /// [`EditError::BadNumber`].
    pub(super) fn written(&self) -> Result<String, EditError> {
        Ok(match self {
            Self::Text(text) => quoted(text),
            Self::Number(number) if !number.is_finite() => return Err(EditError::BadNumber),
            Self::Number(number) => Toml::from(*number).to_string(),
            Self::Whole(number) => number.to_string(),
            Self::Flag(flag) => flag.to_string(),
            Self::List(values) => {
                let values: Vec<String> = values.iter().map(Self::written).collect::<Result<_, _>>()?;
                format!("[{}]", values.join(", "))
            }
        })
    }

    /// Whether a file's value says the same.
    pub(super) fn is_said_by(&self, toml: &Toml) -> bool {
        match (self, toml) {
            (Self::Text(mine), Toml::String(theirs)) => mine == theirs.value(),
            (Self::Number(mine), Toml::Float(theirs)) => mine.to_bits() == theirs.value().to_bits(),
            (Self::Whole(mine), Toml::Integer(theirs)) => mine == theirs.value(),
            (Self::Flag(mine), Toml::Boolean(theirs)) => mine == theirs.value(),
            (Self::List(mine), Toml::Array(theirs)) => {
                mine.len() == theirs.len() && mine.iter().zip(theirs).all(|(a, b)| a.is_said_by(b))
            }
            _ => false,
        }
    }
}

/// A TOML string on one line: a string over several would take on the line breaks of the file.
#[must_use]
pub fn quoted(text: &str) -> String {
    let mut result = String::with_capacity(text.len() + 2);
    result.push('"');
    for char in text.chars() {
        match char {
            '"' => result.push_str("\\\""),
            '\\' => result.push_str("\\\\"),
            '\n' => result.push_str("\\n"),
            '\r' => result.push_str("\\r"),
            '\t' => result.push_str("\\t"),
            char if char.is_control() => result.push_str(&format!("\\u{:04X}", u32::from(char))),
            char => result.push(char),
        }
    }
    result.push('"');
    result
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}
