//! Which words stand directly beside a figure.

use crate::lexicon::Atoms;
use crate::scan::{Element, Kind};

/// So many words away a word still names what a number counts: "2 rear-panel balanced line inputs".
const NEAR: usize = 4;

/// The meaning of the words on both sides of a figure, up to a comma, another figure or the like. A number that fills a
/// bracket stands beside what is before the bracket, and one before a bracket beside what is in it.
pub(super) fn words(elements: &[Element], at: usize) -> Atoms {
    let kind = |index: Option<usize>| index.and_then(|index| elements.get(index)).map(|e| &e.kind);
    let alone = kind(at.checked_sub(1)) == Some(&Kind::Open) && kind(Some(at + 1)) == Some(&Kind::Close);
    let before = if alone { at.saturating_sub(1) } else { at };
    let back = elements.get(..before).unwrap_or_default().iter().rev();
    let behind = match kind(Some(at + 1)) {
        Some(Kind::Open | Kind::Slash) => at + 2,
        _ => at + 1,
    };
    let ahead = elements.get(behind..).unwrap_or_default().iter();
    run(back).and(run(ahead))
}

fn run<'a>(elements: impl Iterator<Item = &'a Element>) -> Atoms {
    elements
        .take_while(|e| matches!(e.kind, Kind::Words(_) | Kind::Unknown | Kind::Slash))
        .take(NEAR)
        .fold(Atoms::NONE, |all, e| all.and(e.atoms()))
}
