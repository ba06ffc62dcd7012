//! What words deny: "no transformer", "not switchable individually", "no phantom power is passed on".

use super::{Element, Kind};
use crate::lexicon::{Atom, Atoms};

/// "Without input transformer": nothing of it is there.
pub(super) fn transformer(part: &mut [Element]) {
    const DENIED: Atoms = Atoms::of(&[Atom::Transformer]);
    for index in 0..part.len() {
        if !part.get(index).is_some_and(|e| e.atoms().any(DENIED)) {
            continue;
        }
        let from = index.saturating_sub(3);
        let Some(at) = part.get(from..index).and_then(|before| {
            before.iter().rposition(|e| e.atoms().any(Atoms::of(&[Atom::No, Atom::Without])))
        }) else {
            continue;
        };
        for place in [from + at, index] {
            if let Some(Kind::Words(atoms)) = part.get_mut(place).map(|e| &mut e.kind) {
                *atoms = atoms.without(DENIED.and(Atoms::of(&[Atom::No, Atom::Without, Atom::Balanced])));
            }
        }
    }
}

/// "No individual switching", "not switchable individually": together, as far as that says.
pub(super) fn separately(text: &str, offset: usize, part: &mut [Element]) {
    let said = Atoms::of(&[Atom::Separately]);
    for element in part.iter_mut().filter(|e| e.atoms().any(said)) {
        let start = element.span.start.saturating_sub(offset);
        let before = text.get(..start).unwrap_or_default();
        // As far as the sentence or bracket goes back.
        let piece = before.rsplit(['(', ',', ';', ':', '.', '–']).next().unwrap_or_default();
        let denied = words_back(piece).take(3).any(|word| denies(&word));
        if let Kind::Words(atoms) = &mut element.kind
            && denied
        {
            *atoms = atoms.without(said).and(Atoms::of(&[Atom::Together, Atom::Grouped]));
        }
    }
}

/// "No phantom power is passed on", "phantom is never passed": not passed, wherever in the sentence the denial stands.
pub(super) fn passing(text: &str, offset: usize, part: &mut [Element]) {
    let said = Atoms::of(&[Atom::Passes]);
    for element in part.iter_mut().filter(|e| e.atoms().any(said) && !e.atoms().has(Atom::No)) {
        let start = element.span.start.saturating_sub(offset);
        let before = text.get(..start).unwrap_or_default();
        let sentence = before.rsplit(['(', ',', ';', ':', '.']).next().unwrap_or_default();
        let written = text.get(start..element.span.end.saturating_sub(offset)).unwrap_or_default();
        let denied = words_back(sentence).chain(words_back(written)).any(|word| denies(&word));
        if let Kind::Words(atoms) = &mut element.kind
            && denied
        {
            atoms.add(Atoms::of(&[Atom::No]));
        }
    }
}

/// The words of a text from its end, in small letters.
fn words_back(text: &str) -> impl Iterator<Item = String> {
    text.split(|c: char| !c.is_alphanumeric()).rev().filter(|word| !word.is_empty()).map(str::to_lowercase)
}

/// Whether a word denies what follows it; "t" is what "can't" and "doesn't" end in.
fn denies(word: &str) -> bool {
    const DENIALS: &[&str] = &[
        "no",
        "not",
        "never",
        "nothing",
        "without",
        "cannot",
        "nicht",
        "nie",
        "niemals",
        "kein",
        "keine",
        "keinen",
        "keinerlei",
        "ohne",
        "pas",
        "non",
        "sans",
        "aucun",
        "aucune",
        "jamais",
        "t",
    ];
    DENIALS.contains(&word)
}
