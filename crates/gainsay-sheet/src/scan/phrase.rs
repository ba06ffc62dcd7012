//! What words mean together: "no transformer", "switched on each channel", "XLR / jack", "pin 2".

use super::{Element, Kind};
use crate::grammar::Numbers;
use crate::lexicon::{Atom, Atoms, CONNECTORS, FORMATS, PLACES};
use std::ops::Range;

/// Adds what the words of each piece between commas mean together, and takes off what they deny.
pub(super) fn read(text: &str, offset: usize, elements: &mut [Element]) {
    for piece in pieces(elements) {
        let Some(part) = elements.get_mut(piece) else { continue };
        deny(part);
        not_separately(text, offset, part);
        switches(part);
        level_control(part);
        combination(part);
        for index in 0..part.len() {
            if counts_something_else(text, offset, part, index)
                && let Some(element) = part.get_mut(index)
            {
                element.kind = Kind::Unknown;
            }
        }
    }
}

/// "Mic 1/2", "Line 3 & 4": numbers that follow each other behind a word are a span of connections.
pub(super) fn spans_of_numbers(text: &str, offset: usize, elements: &mut Vec<Element>) {
    let mut index = 1;
    while index < elements.len() {
        let named =
            elements.get(index - 1).is_some_and(|e| e.atoms().any(PLACES.and(Atoms::of(&[Atom::Channels]))));
        let mut last = index;
        while named && let Some(next) = next_number(text, offset, elements, last) {
            last = next;
        }
        if last > index {
            merge(elements, index, last);
        }
        index += 1;
    }
}

fn whole(element: &Element) -> Option<f64> {
    let measure = element.figure()?;
    match measure.numbers {
        Numbers::One(value)
            if measure.is_bare() && !measure.signed && !measure.times && value.fract() == 0.0 =>
        {
            Some(value)
        }
        _ => None,
    }
}

/// The place of the number that is greater by one, behind a slash or "&".
fn next_number(text: &str, offset: usize, elements: &[Element], at: usize) -> Option<usize> {
    let here = elements.get(at)?;
    let number = whole(here)?;
    let slash = elements.get(at + 1)?.kind == Kind::Slash;
    let listed = elements.get(at + 1)?.kind == Kind::Comma;
    let next = if slash || listed { at + 2 } else { at + 1 };
    let there = elements.get(next)?;
    let between = text.get(here.span.end.checked_sub(offset)?..there.span.start.checked_sub(offset)?)?;
    let comma = listed && elements.get(at + 3).is_none_or(|e| matches!(e.kind, Kind::Comma | Kind::Close));
    let joined = slash || comma || matches!(between.trim(), "&" | "+");
    (joined && (whole(there)? - number - 1.0).abs() < 1e-9).then_some(next)
}

fn merge(elements: &mut Vec<Element>, from: usize, to: usize) {
    let (Some(low), Some(high)) = (elements.get(from).and_then(whole), elements.get(to).and_then(whole))
    else {
        return;
    };
    let end = elements.get(to).map_or(0, |e| e.span.end);
    if let Some(element) = elements.get_mut(from) {
        element.span.end = end;
        if let Kind::Figure(measure) = &mut element.kind {
            measure.numbers = Numbers::Range(low, high);
        }
    }
    elements.drain(from + 1..=to);
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

/// "Without input transformer": nothing of it is there.
fn deny(part: &mut [Element]) {
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
fn not_separately(text: &str, offset: usize, part: &mut [Element]) {
    let said = Atoms::of(&[Atom::Separately]);
    for element in part.iter_mut().filter(|e| e.atoms().any(said)) {
        let start = element.span.start.saturating_sub(offset);
        let before = text.get(..start).unwrap_or_default();
        // As far as the sentence or bracket goes back.
        let piece = before.rsplit(['(', ',', ';', ':', '.', '–']).next().unwrap_or_default();
        let denied =
            piece.split(|c: char| !c.is_alphanumeric()).rev().filter(|w| !w.is_empty()).take(3).any(|word| {
                let word = word.to_lowercase();
                matches!(
                    word.as_str(),
                    "no" | "not"
                        | "without"
                        | "cannot"
                        | "nicht"
                        | "kein"
                        | "keine"
                        | "ohne"
                        | "pas"
                        | "non"
                        | "sans"
                        | "t"
                )
            });
        if let Kind::Words(atoms) = &mut element.kind
            && denied
        {
            *atoms = atoms.without(said).and(Atoms::of(&[Atom::Together, Atom::Grouped]));
        }
    }
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

/// Words before a number that it numbers, and words behind it that it counts, none of them a connection.
const BEFORE: &[&str] = &[
    "section",
    "abschnitt",
    "kapitel",
    "chapitre",
    "partie",
    "part",
    "teil",
    "appendix",
    "annex",
    "anhang",
    "annexe",
    "item",
    "lot",
    "ticket",
    "room",
    "raum",
    "salle",
    "studio",
    "job",
    "order",
    "auftrag",
    "zimmer",
    "halle",
    "shelf",
    "regal",
    "pin",
    "pins",
    "stift",
    "pol",
    "kontakt",
    "broche",
    "point",
    "class",
    "klasse",
    "classe",
    "rev",
    "revision",
    "page",
    "seite",
    "version",
    "fig",
    "figure",
    "bild",
    "abb",
    "type",
    "typ",
    "mode",
    "modell",
    "chapter",
    "table",
    "tabelle",
    "tableau",
    "slot",
    "no",
    "nr",
    "nummer",
    "issue",
    "grade",
    "category",
    "kategorie",
    "cat",
];
const BEHIND: &[&str] = &[
    "pin",
    "pins",
    "pole",
    "poles",
    "polig",
    "polige",
    "poligen",
    "pol",
    "broches",
    "broche",
    "points",
    "point",
    "contacts",
    "way",
    "years",
    "year",
    "jahre",
    "jahr",
    "ans",
    "position",
    "positions",
    "stufen",
    "stellungen",
    "presets",
    "leds",
    "segment",
    "segments",
    "rack",
    "bands",
    "band",
    "times",
    "mal",
    "fois",
    "units",
    "minutes",
    "minuten",
    "people",
    "pages",
    "hp",
    "te",
    "he",
    "ru",
    "hu",
];

/// Words for one connection, and words before them that say something happens there.
const ONE_OF: &[&str] = &[
    "channel", "kanal", "canal", "voie", "input", "eingang", "entrée", "output", "ausgang", "sortie", "ch",
    "mic", "preamp", "socket", "buchse", "prise", "port",
];
const AT: &[&str] = &[
    "on", "of", "at", "in", "from", "to", "for", "an", "am", "auf", "von", "bei", "im", "aus", "für", "sur",
    "de", "du", "l", "la", "le", "à", "au", "only", "that", "auch", "only", "nur", "and", "und", "et",
];

/// Whether a number without unit counts something that is no connection: "pin 2", "11 positions", "2 years".
fn counts_something_else(text: &str, offset: usize, part: &[Element], index: usize) -> bool {
    let Some(element) = part.get(index) else { return false };
    let Some(measure) = element.figure() else { return false };
    if !measure.is_bare()
        || measure.only_tolerance
        || measure.times
        || measure.signed
        || !matches!(measure.numbers, Numbers::One(_))
    {
        return false;
    }
    let start = element.span.start.saturating_sub(offset);
    let end = element.span.end.saturating_sub(offset);
    let last = text.get(..start).map(|before| last_word(before.trim_end())).unwrap_or_default();
    let next = text.get(end..).map(first_word).unwrap_or_default();
    let known = |list: &[&str], word: &str| {
        let lower = word.to_lowercase();
        !lower.is_empty() && list.contains(&lower.as_str())
    };
    if known(BEFORE, last) || known(BEHIND, next) {
        return true;
    }
    // "The lamp on channel 2": one of several, named by its number.
    let before = text.get(..start).unwrap_or_default().trim_end();
    let named = before.get(..before.len() - last.len()).map(|before| last_word(before.trim_end()));
    if known(ONE_OF, last) && named.is_some_and(|word| known(AT, word)) {
        return true;
    }
    let connections = CONNECTORS.and(PLACES).and(FORMATS).and(Atoms::of(&[
        Atom::Channels,
        Atom::CountOf,
        Atom::Each,
        Atom::Usb,
        Atom::Ethernet,
        Atom::Bnc,
        Atom::Converter,
    ]));
    // "2 of the things in stock"
    part.get(index + 1).is_some_and(|e| e.kind == Kind::Unknown) && !meaning(part).any(connections)
}

fn last_word(text: &str) -> &str {
    text.rsplit(|c: char| !c.is_alphanumeric()).next().unwrap_or_default()
}

fn first_word(text: &str) -> &str {
    let word = text.trim_start_matches([' ', '-', '\u{a0}', '‑']);
    word.split(|c: char| !c.is_alphanumeric()).next().unwrap_or_default()
}
