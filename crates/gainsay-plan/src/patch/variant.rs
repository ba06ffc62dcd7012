//! Other ways of taking a source.

use super::studio::Settled;
use crate::case::Source;
use std::collections::HashSet;

/// What is up for change in a studio.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Changeable<'a> {
    /// Other ways of taking sources.
    pub(crate) variants: &'a [Variant],
    /// For each owned device how many the sources use as they stand; what is bought is free for variants.
    pub(crate) in_use: &'a [u32],
    /// Where variants are not wanted.
    pub(super) settled: HashSet<Settled>,
}

/// Another way of taking the sources of a line: from closer by, with another microphone, through a booster.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Variant {
    /// Index of the line.
    pub(crate) line: usize,
    /// The line's sources as they would be, in the order of the line.
    pub(crate) sources: Vec<Source>,
    /// How many changes it is.
    pub(crate) changes: u32,
    /// Indices among the owned devices of the microphone or booster that it takes beyond what the case uses.
    pub(crate) takes: Vec<usize>,
}
