//! Words and sizes that stand for figures or connectors, and where sentences end.

use super::{Element, Kind};
use crate::grammar::{Measure, SheetUnit, UnitText, is_space};
use crate::lexicon::{Atom, Atoms, CONNECTORS, SIDES, longest_term};
use gainsay_units::Unit;

/// Whether a point ends a sentence: a capital follows, and what it stands behind is no abbreviation.
pub(super) fn ends_sentence(after: &str, before: &str, elements: &[Element]) -> bool {
    let next = after.trim_start_matches(is_space);
    let capital = after.starts_with(is_space) && next.chars().next().is_some_and(char::is_uppercase);
    let behind = before.chars().next_back().is_some_and(|p| !is_space(p));
    capital
        && behind
        && elements.last().is_some_and(|last| match last.kind {
            Kind::Figure(_) | Kind::Close => true,
            Kind::Words(_) | Kind::Unknown => ends_in_a_word(before, elements.len()),
            _ => false,
        })
}

/// Words that are shortened with a point.
const ABBREVIATIONS: &[&str] = &[
    "approx", "attn", "bal", "bez", "bzw", "dist", "dyn", "eff", "eing", "ausg", "equiv", "excl", "ext",
    "freq", "ggf", "imp", "incl", "inkl", "inst", "instr", "int", "max", "maxi", "mic", "mik", "mikr", "min",
    "mini", "nom", "pond", "bew", "ref", "rel", "resp", "sens", "temp", "typ", "unbal", "unwtd", "verst",
    "wtd", "env", "niv", "réf", "äquiv", "ca", "vgl", "evtl", "zul",
];

/// Whether the last word before a point may end a sentence.
fn ends_in_a_word(before: &str, elements: usize) -> bool {
    let word = before.rsplit(|c: char| !c.is_alphanumeric()).next().unwrap_or_default();
    let lower = word.to_lowercase();
    let letters = word.chars().count();
    letters >= 3
        && !ABBREVIATIONS.contains(&lower.as_str())
        && (letters >= 5 || elements >= 3 || word.chars().all(|c| c.is_uppercase() || c.is_ascii_digit()))
}

/// How many a word says, where connections follow: "four XLR sockets". Articles do not count.
pub(super) fn number_word(rest: &str) -> Option<(f64, usize)> {
    const NUMBERS: &[(&str, f64)] = &[
        ("one", 1.0),
        ("two", 2.0),
        ("three", 3.0),
        ("four", 4.0),
        ("six", 6.0),
        ("eight", 8.0),
        ("sixteen", 16.0),
        ("zwei", 2.0),
        ("drei", 3.0),
        ("vier", 4.0),
        ("sechs", 6.0),
        ("acht", 8.0),
        ("sechzehn", 16.0),
        ("deux", 2.0),
        ("trois", 3.0),
        ("quatre", 4.0),
        ("huit", 8.0),
        ("seize", 16.0),
    ];
    let length = rest.find(|c: char| !c.is_alphabetic())?;
    let word = rest.get(..length)?;
    let (_, number) = NUMBERS.iter().find(|(known, _)| known.eq_ignore_ascii_case(word))?;
    let mut behind = rest.get(length..)?.strip_prefix([' ', '\n'])?;
    let connections = CONNECTORS.and(Atoms::of(&[Atom::Microphone, Atom::Line, Atom::Instrument])).and(SIDES);
    // Up to two words may stand between: "four balanced analogue inputs".
    for _ in 0..3 {
        let term = longest_term(behind);
        if term.is_some_and(|(_, atoms)| atoms.any(connections)) {
            return Some((*number, length));
        }
        let word = behind.find(|c: char| !(c.is_alphabetic() || c == '-'))?;
        behind = behind.get(word..)?.strip_prefix([' ', '\n'])?;
    }
    None
}

/// "Jack 6.35 mm": the size of a plug is no figure, where a word for a plug stands on the same line.
pub(super) fn jack_size(found: &Measure, rest: &str, length: usize, elements: &[Element]) -> Option<Atoms> {
    if !matches!(found.unit.map(|u| u.unit), Some(SheetUnit::Other))
        || !rest.get(..length)?.trim_end().ends_with("mm")
        || found.signed
    {
        return None;
    }
    let plugs =
        Atoms::of(&[Atom::Jack, Atom::JackBalanced, Atom::JackUnbalanced, Atom::MiniJack, Atom::Combo]);
    let before = elements.iter().rev().take(4).any(|e| e.atoms().any(plugs));
    let behind = || {
        let mut words = rest.get(length..).unwrap_or_default().split([' ', ',', ';', '(', ')', '-', '‑']);
        words.by_ref().filter(|w| !w.is_empty()).take(3).any(|word| {
            longest_term(word).is_some_and(|(_, atoms)| atoms.any(plugs)) || SOCKETS.contains(&word)
        })
    };
    let size = found.first();
    let atom = if (6.2..=6.4).contains(&size) {
        Atom::Jack
    } else if (size - 3.5).abs() < 0.01 {
        Atom::MiniJack
    } else {
        return None;
    };
    (before || behind()).then_some(Atoms::of(&[atom]))
}

/// "20-20k", "22–22k": an audible band without its units, written out; and how many bytes it takes.
pub(super) fn short_band(rest: &str) -> Option<(String, usize)> {
    let digits = |text: &str| text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let low = digits(rest);
    let behind = rest.get(low..)?;
    let second = behind.strip_prefix(['-', '–', '…'])?;
    let high = digits(second);
    let end = second.get(high..)?.strip_prefix(['k', 'K'])?;
    let (from, to): (u32, u32) = (rest.get(..low)?.parse().ok()?, second.get(..high)?.parse().ok()?);
    let audible = (5..=100).contains(&from) && (15..=50).contains(&to);
    let ends = end.chars().next().is_none_or(|c| !c.is_alphanumeric() && c != 'Ω');
    (audible && ends).then(|| (format!("{from} Hz - {to} kHz"), rest.len() - end.len()))
}

/// "1:5", "1:1.2", "19:30": two numbers around a colon without spaces, and no unit behind them; how many bytes they take.
pub(super) fn ratio(rest: &str) -> Option<usize> {
    let number = |text: &str| {
        let length = text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.').len();
        (1..=4).contains(&length).then_some(length)
    };
    let first = number(rest)?;
    let behind = rest.get(first..)?.strip_prefix(':')?;
    let length = first + 1 + number(behind)?;
    let after = rest.get(length..)?;
    let unit = after.trim_start_matches(is_space).chars().next().is_some_and(char::is_alphabetic)
        && crate::grammar::lone_unit(after.trim_start_matches(is_space)).is_some();
    (!unit && !after.starts_with(['/', '-', '–', ':'])).then_some(length)
}

/// What a plug of so many millimetres goes into.
const SOCKETS: &[&str] =
    &["socket", "sockets", "plug", "plugs", "Buchse", "Buchsen", "prise", "prises", "embase"];

/// "Input impedance 2 k": the unit without its ohms, where an impedance is spoken of.
pub(super) fn lone_prefix(found: &Measure, ahead: &str, elements: &[Element]) -> Option<(UnitText, usize)> {
    if !found.is_bare() || found.times {
        return None;
    }
    let spaces = ahead.len() - ahead.trim_start_matches(is_space).len();
    let mut chars = ahead.get(spaces..)?.chars();
    let unit = match chars.next()? {
        'k' | 'K' => Unit::Kilohm,
        'M' => Unit::Megohm,
        'R' => Unit::Ohm,
        _ => return None,
    };
    let ends = chars.next().is_none_or(|c| !c.is_alphanumeric() && c != '/');
    let impedance = Atoms::of(&[Atom::Impedance, Atom::Load, Atom::Ein, Atom::Source]);
    let spoken = elements.iter().rev().take(6).any(|e| e.atoms().any(impedance));
    (spaces <= 2 && ends && spoken)
        .then_some((UnitText { unit: SheetUnit::Known(unit), weighting: None }, spaces + 1))
}

/// A jack by its size in inches: 1/4", ¼".
pub(super) fn inches(rest: &str) -> Option<(Atoms, usize)> {
    const SIZES: &[(&str, Atom)] =
        &[("1/4", Atom::Jack), ("¼", Atom::Jack), ("1/8", Atom::MiniJack), ("⅛", Atom::MiniJack)];
    const SIGNS: &[&str] = &["\"", "″", "”", "''", "′′", "-inch", " inch", "-Zoll", " Zoll", " pouce"];
    SIZES.iter().find_map(|(size, atom)| {
        let behind = rest.strip_prefix(size)?;
        let sign = SIGNS.iter().find(|sign| behind.starts_with(**sign))?;
        // The words behind say more: 1/4" TRS.
        let term = longest_term(rest).filter(|(length, _)| *length > size.len() + sign.len());
        Some(match term {
            Some((length, atoms)) => (atoms, length),
            None => (Atoms::of(&[*atom]), size.len() + sign.len()),
        })
    })
}
