//! What words mean together: "no transformer", "switched on each channel", "XLR / jack", "pin 2".

use super::{Element, Kind, counted, denial};
use crate::lexicon::{Atom, Atoms};
use std::ops::Range;

/// Adds what the words of each piece between commas mean together, and takes off what they deny.
pub(super) fn read(text: &str, offset: usize, elements: &mut [Element]) {
    for piece in pieces(elements) {
        let Some(part) = elements.get_mut(piece) else { continue };
        denial::transformer(part);
        denial::separately(text, offset, part);
        denial::passing(text, offset, part);
        switches(part);
        level_control(part);
        combination(part);
        for index in 0..part.len() {
            if counted::something_else(text, offset, part, index)
                && let Some(element) = part.get_mut(index)
            {
                element.kind = Kind::Unknown;
            }
        }
    }
}

/// The pieces between commas, brackets and the like.
fn pieces(elements: &[Element]) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    let mut from = 0;
    for (index, element) in elements.iter().enumerate() {
        let parts = matches!(
            element.kind,
            Kind::Comma | Kind::Semicolon | Kind::Stop | Kind::Open | Kind::Close | Kind::Colon | Kind::Dash
        );
        if parts {
            if index > from {
                found.push(from..index);
            }
            from = index + 1;
        }
    }
    if elements.len() > from {
        found.push(from..elements.len());
    }
    found
}

fn meaning(part: &[Element]) -> Atoms {
    super::atoms_of(part)
}

/// "Switched on each channel", "one switch for all inputs"; "per channel" alone says the same.
fn switches(part: &mut [Element]) {
    let all = meaning(part);
    let each = all.has(Atom::Each);
    // "One switch per channel", "a common switch for each": so many switches as channels.
    if each && all.has(Atom::Together) && !all.has(Atom::All) {
        for element in part.iter_mut() {
            if let Kind::Words(atoms) = &mut element.kind {
                *atoms = atoms.without(Atoms::of(&[Atom::Together]));
            }
        }
        add(part, Atoms::of(&[Atom::Each]), Atoms::of(&[Atom::Separately]));
        return;
    }
    let alone =
        each && part.iter().all(|e| e.atoms().has(Atom::Each) || e.atoms() == Atoms::NONE && !figure(e));
    let separately = alone || (all.has(Atom::Switched) && each);
    let together = all.has(Atom::Switched) && all.any(Atoms::of(&[Atom::All, Atom::Total, Atom::Together]));
    let said = match (separately, together && !all.has(Atom::Separately)) {
        (true, _) => Atom::Separately,
        (false, true) => Atom::Together,
        _ => return,
    };
    add(part, Atoms::of(&[Atom::Switched, Atom::Each]), Atoms::of(&[said]));
}

/// "A knob sets the output level".
fn level_control(part: &mut [Element]) {
    let all = meaning(part);
    let there =
        all.has(Atom::Control) && all.has(Atom::Output) && all.any(Atoms::of(&[Atom::Level, Atom::Gain]));
    if there && !all.any(Atoms::of(&[Atom::Headphones, Atom::Monitor])) && !part.iter().any(figure) {
        add(part, Atoms::of(&[Atom::Control]), Atoms::of(&[Atom::LevelControl]));
    }
}

/// "XLR / 6.35 mm jack", "XLR and jack combined": one socket for both.
fn combination(part: &mut [Element]) {
    const JACKS: Atoms = Atoms::of(&[Atom::Jack, Atom::JackBalanced, Atom::JackUnbalanced]);
    let all = meaning(part);
    if !all.has(Atom::Xlr) || !all.any(JACKS) {
        return;
    }
    let slash = part.iter().position(|e| e.kind == Kind::Slash).is_some_and(|at| {
        let side = |from: usize, to: usize| part.get(from..to).map_or(Atoms::NONE, meaning);
        let (before, behind) = (side(at.saturating_sub(1), at), side(at + 1, (at + 3).min(part.len())));
        before.has(Atom::Xlr) && behind.any(JACKS) || before.any(JACKS) && behind.has(Atom::Xlr)
    });
    if slash || all.has(Atom::Combined) {
        add(part, Atoms::of(&[Atom::Xlr]), Atoms::of(&[Atom::Combo]));
    }
}

fn figure(element: &Element) -> bool {
    element.figure().is_some()
}

/// Adds a meaning to the first element that has one of these.
fn add(part: &mut [Element], to: Atoms, meaning: Atoms) {
    if let Some(element) = part.iter_mut().find(|e| e.atoms().any(to))
        && let Kind::Words(atoms) = &mut element.kind
    {
        atoms.add(meaning);
    }
}
