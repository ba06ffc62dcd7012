//! How many inputs or outputs a label speaks of, and where figures stand.

use crate::grammar::{Convention, Measure, Numbers, measure};
use crate::lexicon::{Atom, Atoms, CONNECTORS, PLACES, QUANTITIES, SIDES};
use crate::scan::{Element, Kind, Mark, atoms_of};
use crate::text::{Footnotes, Line};
use std::ops::Range;

/// "Microphone inputs (8)": a number in brackets that refers to no footnote is a count.
pub(super) fn number_in_brackets(
    text: &str,
    footnotes: &Footnotes,
    element: &mut Element,
    convention: Convention,
) {
    let Kind::Mark(mark @ Mark::Number(number)) = element.kind else { return };
    let bracketed = text.get(element.span.clone()).is_some_and(|written| written.starts_with('('));
    if !bracketed || !(1..=9).contains(&number) || footnotes.knows(mark) {
        return;
    }
    let written = number.to_string();
    if let Ok(found) = measure(&mut written.as_str(), convention) {
        element.kind = Kind::Figure(Box::new(found));
    }
}

/// Whether a label says how many connections there are, or which: "Line outputs 1–4", "Mic input x 1 (XLR)".
pub(super) fn speaks(text: &str, label: &[Element]) -> bool {
    let atoms = atoms_of(label);
    let channels = Atoms::of(&[Atom::Microphone, Atom::Line, Atom::Instrument]);
    let elsewhere =
        Atoms::of(&[Atom::Headphones, Atom::Digital, Atom::Monitor, Atom::Phantom, Atom::Optical]);
    if !atoms.any(SIDES.and(channels)) || atoms.any(QUANTITIES.and(elsewhere)) {
        return false;
    }
    let times = |element: &Element| {
        let before = text.get(..element.span.start).unwrap_or_default().trim_end();
        before.ends_with(['x', '×', '('])
    };
    label.iter().enumerate().any(|(index, element)| {
        element.figure().is_some_and(|figure| {
            let whole = matches!(figure.numbers, Numbers::Range(..)) || figure.times || index == 0;
            figure.is_bare() && !figure.signed && (whole || times(element))
        })
    }) || (atoms.any(channels) && atoms.any(CONNECTORS))
}

/// Every figure with a unit: its line, the bytes of that line, and its own.
pub(super) fn figures(
    lines: &[Line<'_>],
    scanned: &[Vec<Vec<Element>>],
) -> Vec<(usize, Range<usize>, Range<usize>)> {
    let mut all = Vec::new();
    for (line, cells) in lines.iter().zip(scanned) {
        let whole = line.start..line.start + line.text.len();
        for element in cells.iter().flatten() {
            if element.figure().is_some_and(|figure: &Measure| !figure.is_bare() || figure.only_tolerance) {
                all.push((line.number, whole.clone(), element.span.clone()));
            }
        }
    }
    all
}

/// Whether labels of quantities that name no place occur more than once: "Maximum level" of the inputs, and of the outputs.
pub(super) fn repeat(scanned: &[Vec<Vec<Element>>]) -> bool {
    let mut seen: Vec<Atoms> = Vec::new();
    let mut places = 0;
    for cells in scanned {
        let Some(first) = cells.first() else { continue };
        let end = first.iter().position(|e| e.kind == Kind::Colon && e.depth == 0);
        let label = first.get(..end.unwrap_or(first.len())).unwrap_or_default();
        let atoms = atoms_of(label);
        if end.is_none() && cells.len() < 2 || label.iter().any(|e| e.figure().is_some()) {
            continue;
        }
        let place = atoms.any(PLACES);
        let named = atoms.without(Atoms::of(&[Atom::CountOf, Atom::ConnectorOf])).any(QUANTITIES);
        places += usize::from(place && !named);
        let levels = Atoms::of(&[Atom::Level, Atom::FullScale, Atom::Impedance, Atom::Dynamic]);
        if named && !place && atoms.any(levels) {
            // The second of its kind below another place.
            if places > 1 && seen.contains(&atoms) {
                return true;
            }
            seen.push(atoms);
        }
    }
    false
}
