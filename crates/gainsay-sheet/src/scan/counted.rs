//! Numbers that count no connection: "pin 2", "11 positions", "2 years".

use super::{Element, Kind, atoms_of};
use crate::grammar::Numbers;
use crate::lexicon::{Atom, Atoms, CONNECTORS, FORMATS, PLACES};

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
pub(super) fn something_else(text: &str, offset: usize, part: &[Element], index: usize) -> bool {
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
    part.get(index + 1).is_some_and(|e| e.kind == Kind::Unknown) && !atoms_of(part).any(connections)
}

fn last_word(text: &str) -> &str {
    text.rsplit(|c: char| !c.is_alphanumeric()).next().unwrap_or_default()
}

fn first_word(text: &str) -> &str {
    let word = text.trim_start_matches([' ', '-', '\u{a0}', '‑']);
    word.split(|c: char| !c.is_alphanumeric()).next().unwrap_or_default()
}
