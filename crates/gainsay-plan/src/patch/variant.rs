//! Other ways of taking a source.

use super::studio::PlaceOfLine;
use crate::case::Source;
use std::collections::{HashMap, HashSet};

/// What is up for change in a studio.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Changeable<'a> {
    /// Other ways of taking sources.
    pub(crate) variants: &'a [Variant],
    /// For each owned device how many the sources use as they stand; what is bought is free for variants.
    pub(crate) in_use: &'a [u32],
    /// Which variants there are.
    pub(super) wanted: Wanted,
}

/// Variants that a studio has.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) enum Wanted {
    /// All of them, everywhere.
    #[default]
    Everywhere,
    /// All of them, but not where the line is enough as it is.
    Unless(HashSet<PlaceOfLine>),
    /// For each variant the places where no other way does as well that takes nothing more.
    Only(HashMap<usize, HashSet<PlaceOfLine>>),
}

impl Wanted {
    /// Whether a variant is wanted anywhere.
    pub(super) fn has(&self, variant: usize) -> bool {
        match self {
            Self::Everywhere | Self::Unless(_) => true,
            Self::Only(places) => places.contains_key(&variant),
        }
    }

    pub(super) fn has_at(&self, variant: usize, place: &PlaceOfLine) -> bool {
        match self {
            Self::Everywhere => true,
            Self::Unless(settled) => !settled.contains(place),
            Self::Only(places) => places.get(&variant).is_some_and(|places| places.contains(place)),
        }
    }
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
    /// Which of those would have to be bought, and not for nothing.
    pub(crate) buys: Vec<usize>,
}
