//! What an option comes to.

use serde::Serialize;

/// Sources that an option does not serve well. Less is better, in the order of the fields.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize)]
pub struct Score {
    /// Sources without an input.
    pub left_out: u32,
    /// Sources that are short.
    pub short: u32,
    /// Sources that are tight.
    pub tight: u32,
}

impl Score {
    /// Everything has an input, and everything is enough.
    pub const ENOUGH: Self = Self { left_out: 0, short: 0, tight: 0 };
}
