//! Cells that each hold a label with its value.

use super::label;
use crate::lexicon::{Atom, Atoms, QUANTITIES, SIDES};
use crate::scan::{Element, Kind, atoms_of};
use crate::text::{Line, Separator};

/// A label and its value.
pub(super) type Pair = (Vec<Element>, Vec<Element>);

/// "Sensitivity: -36 dB | Output impedance = 150 Ω": a pair in each cell, or in the first and some that follow; a cell without
/// a label goes on with the one before it.
pub(super) fn pairs(line: &Line<'_>, cells: &[Vec<Element>]) -> Option<Vec<Pair>> {
    let marked =
        |cell: &[Element]| cell.iter().any(|e| e.depth == 0 && matches!(e.kind, Kind::Colon | Kind::Equals));
    let known = |label: &[Element]| atoms_of(label).any(QUANTITIES.and(SIDES));
    let colon = |cell: &[Element]| cell.iter().any(|e| e.depth == 0 && e.kind == Kind::Colon);
    // Bars, and cells that all have a figure with its name.
    let bar = line.separator == Separator::Bar;
    let named = cells.len() > 1
        && cells.iter().all(|cell| {
            let (label, value) = label::split(cell);
            atoms_of(&label).any(QUANTITIES.and(Atoms::of(&[Atom::Maximum])))
                && value.first().is_some_and(|e| e.figure().is_some())
        });
    if !named && !cells.first().is_some_and(|cell| marked(cell)) {
        return None;
    }
    let mut found: Vec<Pair> = Vec::new();
    for cell in cells.iter().filter(|cell| !cell.is_empty()) {
        let (label, value) =
            if marked(cell) || named { label::split(cell) } else { (Vec::new(), Vec::new()) };
        let several = found.len() > 1;
        match found.last_mut() {
            // Between bars a colon makes a pair, whether its label is known or not.
            _ if !value.is_empty()
                && (known(&label) || atoms_of(&label) != Atoms::NONE || bar && colon(cell)) =>
            {
                found.push((label, value));
            }
            Some((_, before)) if bar || several => {
                let span = before.last()?.span.clone();
                before.push(Element { kind: Kind::Comma, span, depth: 0 });
                before.extend(label::sure_sign(cell));
            }
            _ => return None,
        }
    }
    let several = found.len() > 1 || bar && cells.len() > 1;
    several.then_some(found)
}
