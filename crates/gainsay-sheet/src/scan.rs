//! A line as a row of figures, words that mean something, and marks between them.

use crate::grammar::{Convention, Measure, SheetUnit, UnitText, is_dash, is_space, lone_unit, measure};
use crate::lexicon::{Atom, Atoms, CONNECTORS, longest_term};
use gainsay_units::Unit;
use std::ops::Range;

/// What an element is.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Kind {
    /// A figure.
    Figure(Box<Measure>),
    /// Words of the lexicon.
    Words(Atoms),
    /// A unit without a number: "Gain (dB)".
    Unit(UnitText),
    /// A word that the lexicon does not know.
    Unknown,
    /// A bracket opens.
    Open,
    /// A bracket closes.
    Close,
    /// The end of a sentence.
    Stop,
    /// A comma.
    Comma,
    /// A semicolon, a bullet in the line, or a bar.
    Semicolon,
    /// A slash.
    Slash,
    /// A colon.
    Colon,
    /// A dash that is no sign.
    Dash,
    /// An equals sign.
    Equals,
    /// "@"
    At,
    /// A mark that refers to a footnote.
    Mark(Mark),
}

/// The mark of a footnote.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Mark {
    /// ¹, (1), [1], 1); a letter by its code: (a), ᵃ
    Number(u8),
    /// *, **, †, ‡, § as a sign and how often it stands.
    Sign(char, u8),
}

/// One element of a line.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Element {
    pub(crate) kind: Kind,
    /// Bytes of the sheet.
    pub(crate) span: Range<usize>,
    /// How many brackets are open around it.
    pub(crate) depth: u8,
}

impl Element {
    /// The figure, if it is one.
    pub(crate) fn figure(&self) -> Option<&Measure> {
        match &self.kind {
            Kind::Figure(measure) => Some(measure),
            _ => None,
        }
    }

    /// The meaning of its words.
    pub(crate) fn atoms(&self) -> Atoms {
        match self.kind {
            Kind::Words(atoms) => atoms,
            _ => Atoms::NONE,
        }
    }
}

/// The meaning of all words in a row of elements.
pub(crate) fn atoms_of(elements: &[Element]) -> Atoms {
    elements.iter().fold(Atoms::NONE, |all, element| all.and(element.atoms()))
}

/// Reads a piece of the sheet that begins at byte `offset`.
pub(crate) fn scan(text: &str, offset: usize, convention: Convention) -> Vec<Element> {
    let mut elements: Vec<Element> = Vec::new();
    let mut rest = text;
    let mut depth = 0_u8;
    let mut previous: Option<char> = None;
    while let Some(c) = rest.chars().next() {
        let at = text.len() - rest.len();
        let after = rest.get(c.len_utf8()..).unwrap_or_default();
        if is_space(c) {
            previous = Some(c);
            rest = after;
            continue;
        }
        let joined = previous.is_some_and(|p| p.is_alphanumeric() || matches!(p, ')' | ']' | '%' | 'Ω'));
        let (kind, length) = next(rest, c, after, joined, previous, &elements, convention);
        let kind = match kind {
            Some(Kind::Open) => {
                depth = depth.saturating_add(1);
                Some(Kind::Open)
            }
            other => other,
        };
        let end = at + length;
        if let Some(kind) = kind {
            let closes = kind == Kind::Close;
            elements.push(Element { kind, span: offset + at..offset + end, depth });
            if closes {
                depth = depth.saturating_sub(1);
            }
        }
        previous = text.get(..end).and_then(|t| t.chars().next_back());
        rest = text.get(end..).unwrap_or_default();
    }
    elements
}

/// The next element and how many bytes it takes.
fn next(
    rest: &str,
    c: char,
    after: &str,
    joined: bool,
    previous: Option<char>,
    elements: &[Element],
    convention: Convention,
) -> (Option<Kind>, usize) {
    let one = |kind: Kind| (Some(kind), c.len_utf8());
    if let Some((mark, length)) = mark(rest, joined, previous) {
        return (Some(Kind::Mark(mark)), length);
    }
    // Some terms begin with a figure: "8-channel optical", "1/4 inch jack", "3.5 mm".
    if c.is_ascii_digit()
        && !joined
        && let Some((length, atoms)) = longest_term(rest)
        && rest.get(..length).is_some_and(|term| term.contains(char::is_alphabetic))
    {
        return (Some(Kind::Words(atoms)), length);
    }
    let starts = c.is_ascii_digit()
        || c == '±'
        || ((is_dash(c) || matches!(c, '+' | '.'))
            && !joined
            && after
                .trim_start_matches(|c: char| is_space(c) || matches!(c, '/' | '-' | '.' | ',' | '−' | '–'))
                .starts_with(|d: char| d.is_ascii_digit()));
    // A dash between words and figures is a sign only where nothing is joined to its left.
    let figure_allowed = starts && !(c.is_ascii_digit() && previous.is_some_and(char::is_alphabetic));
    if figure_allowed {
        let mut ahead = rest;
        if let Ok(mut found) = measure(&mut ahead, convention) {
            let length = rest.len() - ahead.len();
            if let Some(atoms) = jack_size(&found, rest, length, elements) {
                return (Some(Kind::Words(atoms)), length);
            }
            if let Some((unit, more)) = lone_prefix(&found, ahead, elements) {
                found.unit = Some(unit);
                return (Some(Kind::Figure(Box::new(found))), length + more);
            }
            return (Some(Kind::Figure(Box::new(found))), rest.len() - ahead.len());
        }
    }
    match c {
        '(' | '[' | '{' => return one(Kind::Open),
        ')' | ']' | '}' => return one(Kind::Close),
        '.' if ends_sentence(after, previous, elements) => return one(Kind::Stop),
        ',' => return one(Kind::Comma),
        ';' | '|' | '•' | '·' => return one(Kind::Semicolon),
        '/' => return one(Kind::Slash),
        ':' | '：' => return one(Kind::Colon),
        '=' => return one(Kind::Equals),
        '@' => return one(Kind::At),
        c if is_dash(c) => return one(Kind::Dash),
        _ => {}
    }
    if !c.is_alphanumeric() {
        return (None, c.len_utf8());
    }
    let named = matches!(elements.last().map(|e| &e.kind), Some(Kind::Open))
        || elements.last().is_some_and(|e| e.atoms().has(Atom::Input));
    if named && let Some((unit, length)) = lone_unit(rest) {
        return (Some(Kind::Unit(unit)), length);
    }
    let term = longest_term(rest);
    if term.is_none()
        && let Some((number, length)) = number_word(rest)
    {
        return (Some(Kind::Figure(Box::new(Measure::counted(number)))), length);
    }
    if let Some((length, atoms)) = term {
        // A single A is a weighting behind a figure or in brackets, and an article or preposition elsewhere.
        let single = rest.get(..length) == Some("A");
        let weighting = single
            && elements.last().is_some_and(|e| {
                matches!(e.kind, Kind::Open | Kind::Comma | Kind::Semicolon | Kind::Figure(_) | Kind::Slash)
            });
        let atoms = if weighting { Atoms::of(&[Atom::WeightA]) } else { atoms };
        return (Some(Kind::Words(atoms)), length);
    }
    // "l’entrée", "d'un"
    let elided = matches!(c, 'l' | 'd' | 'L' | 'D') && after.starts_with(['\'', '’']);
    if elided {
        return (None, c.len_utf8() + after.chars().next().map_or(0, char::len_utf8));
    }
    let length = rest
        .char_indices()
        .find(|(_, c)| !(c.is_alphanumeric() || matches!(c, '_' | '\'' | '’')))
        .map_or(rest.len(), |(at, _)| at);
    (Some(Kind::Unknown), length.max(c.len_utf8()))
}

/// Whether a point ends a sentence: a capital follows, and what it stands behind is no abbreviation.
fn ends_sentence(after: &str, previous: Option<char>, elements: &[Element]) -> bool {
    let next = after.trim_start_matches(is_space);
    let capital = after.starts_with(is_space) && next.chars().next().is_some_and(char::is_uppercase);
    capital
        && previous.is_some_and(|p| !is_space(p))
        && elements.last().is_some_and(|last| match last.kind {
            Kind::Figure(_) | Kind::Close => true,
            Kind::Words(_) | Kind::Unknown => {
                last.span.len() >= 6 || elements.len() >= 6 && last.span.len() >= 4
            }
            _ => false,
        })
}

/// How many a word says, where connections follow: "four XLR sockets". Articles do not count.
fn number_word(rest: &str) -> Option<(f64, usize)> {
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
    let behind = rest.get(length..)?.strip_prefix(' ')?;
    let connections = CONNECTORS.and(Atoms::of(&[Atom::Microphone, Atom::Line, Atom::Instrument]));
    longest_term(behind).filter(|(_, atoms)| atoms.any(connections)).map(|_| (*number, length))
}

/// "Jack 6.35 mm": the size of a plug is no figure, where a word for a plug stands on the same line.
fn jack_size(found: &Measure, rest: &str, length: usize, elements: &[Element]) -> Option<Atoms> {
    if !matches!(found.unit.map(|u| u.unit), Some(SheetUnit::Other))
        || !rest.get(..length)?.trim_end().ends_with("mm")
        || found.signed
    {
        return None;
    }
    let plugs = Atoms::of(&[Atom::Jack, Atom::JackBalanced, Atom::JackUnbalanced, Atom::MiniJack]);
    let before = elements.iter().rev().take(4).any(|e| e.atoms().any(plugs));
    let behind = || {
        let mut words = rest.get(length..).unwrap_or_default().split([' ', ',', ';', '(', ')']);
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

/// What a plug of so many millimetres goes into.
const SOCKETS: &[&str] =
    &["socket", "sockets", "plug", "plugs", "Buchse", "Buchsen", "prise", "prises", "embase"];

/// "Input impedance 2 k": the unit without its ohms, where an impedance is spoken of.
fn lone_prefix(found: &Measure, ahead: &str, elements: &[Element]) -> Option<(UnitText, usize)> {
    if !found.is_bare() || found.times {
        return None;
    }
    let spaces = ahead.len() - ahead.trim_start_matches(is_space).len();
    let mut chars = ahead.get(spaces..)?.chars();
    let unit = match chars.next()? {
        'k' | 'K' => Unit::Kilohm,
        'M' => Unit::Megohm,
        _ => return None,
    };
    let ends = chars.next().is_none_or(|c| !c.is_alphanumeric() && c != '/');
    let impedance = Atoms::of(&[Atom::Impedance, Atom::Load]);
    let spoken = elements.iter().rev().take(6).any(|e| e.atoms().any(impedance));
    (spaces <= 2 && ends && spoken)
        .then_some((UnitText { unit: SheetUnit::Known(unit), weighting: None }, spaces + 1))
}

/// The mark of a footnote at the beginning of `rest`: a raised digit, a sign behind a word, a number in brackets.
pub(crate) fn mark(rest: &str, joined: bool, previous: Option<char>) -> Option<(Mark, usize)> {
    let mut chars = rest.chars();
    let c = chars.next()?;
    if let Some(number) = raised(c) {
        return Some((Mark::Number(number), c.len_utf8()));
    }
    let behind = |length: usize| rest.get(length..).and_then(|r| r.chars().next());
    match c {
        '*' | '†' | '‡' | '§' => {
            let count = rest.chars().take_while(|next| *next == c).count();
            let length = count * c.len_utf8();
            let ends = behind(length).is_none_or(|next| !next.is_alphanumeric());
            // Behind a space a star may be a bullet or a times sign; at the end of a cell it is a mark.
            let apart = previous.is_some() && (c != '*' || behind(length).is_none());
            (joined || previous == Some('*') || apart).then_some(())?;
            ends.then_some((Mark::Sign(c, u8::try_from(count).unwrap_or(1)), length))
        }
        '(' | '[' => {
            let sign = chars.next().filter(|s| s.is_ascii_digit() || matches!(s, 'a'..='j'))?;
            let close = chars.next()?;
            let fits = (c == '(' && close == ')') || (c == '[' && close == ']');
            let behind_word = joined || previous.is_some_and(|p| is_space(p) || p == '.');
            let number = if sign.is_ascii_digit() { sign as u8 - b'0' } else { sign as u8 };
            (fits && behind_word).then_some((Mark::Number(number), 3))
        }
        // "dBu 1)" and "dBu1)".
        d if d.is_ascii_digit() && chars.next() == Some(')') => {
            previous.is_some().then_some((Mark::Number(d as u8 - b'0'), 2))
        }
        // "dBu1", with the raising lost: only directly behind a letter.
        d if d.is_ascii_digit() && joined && previous.is_some_and(char::is_alphabetic) => {
            behind(1).is_none_or(|next| !next.is_alphanumeric()).then_some((Mark::Number(d as u8 - b'0'), 1))
        }
        _ => None,
    }
}

/// A raised digit, or a raised letter by its code.
pub(crate) const fn raised(c: char) -> Option<u8> {
    Some(match c {
        '¹' => 1,
        '²' => 2,
        '³' => 3,
        '⁴' => 4,
        '⁵' => 5,
        '⁶' => 6,
        '⁷' => 7,
        '⁸' => 8,
        '⁹' => 9,
        'ᵃ' => b'a',
        'ᵇ' => b'b',
        'ᶜ' => b'c',
        'ᵈ' => b'd',
        'ᵉ' => b'e',
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grammar::Numbers;

    fn figures(text: &str) -> Vec<Measure> {
        scan(text, 0, Convention::Unknown).iter().filter_map(|e| e.figure().cloned()).collect()
    }

    #[test]
    fn a_line_of_figures() {
        let all = figures("EIN: -128 dBu (150 Ω, A-wtd), −126 dBu (150 Ω, unweighted)");
        assert_eq!(all.len(), 4, "{all:?}");
        assert_eq!(all[0].numbers, Numbers::One(-128.0));
        assert_eq!(all[1].numbers, Numbers::One(150.0));
        assert_eq!(all[2].numbers, Numbers::One(-126.0));
        let all = figures("+10 to +65 dB in 1 dB steps, 20 Hz – 20 kHz (±0.5 dB)");
        assert_eq!(all[0].numbers, Numbers::Range(10.0, 65.0));
        assert_eq!(all[1].numbers, Numbers::One(1.0));
        assert_eq!(all[2].numbers, Numbers::Range(20.0, 20.0));
        assert!(all[3].only_tolerance, "{all:?}");
        let all = figures("44.1, 48, 88.2, 96 kHz; 1k5; 2M2");
        assert_eq!(all[0].numbers, Numbers::List(vec![44.1, 48.0, 88.2, 96.0]));
        assert_eq!(all[1].numbers, Numbers::One(1.5));
        assert_eq!(all[2].numbers, Numbers::One(2.2));
    }

    #[test]
    fn marks_of_footnotes() {
        for (text, want) in [
            ("-129 dBu¹", Mark::Number(1)),
            ("-129 dBu [2]", Mark::Number(2)),
            ("-129 dBu (3)", Mark::Number(3)),
            ("-129 dBu*", Mark::Sign('*', 1)),
            ("-129 dBu**", Mark::Sign('*', 2)),
            ("-129 dBu†", Mark::Sign('†', 1)),
            ("-129 dBu 1)", Mark::Number(1)),
        ] {
            let elements = scan(text, 0, Convention::Unknown);
            let found = elements.iter().find_map(|e| match e.kind {
                Kind::Mark(mark) => Some(mark),
                _ => None,
            });
            assert_eq!(found, Some(want), "in {text:?}: {elements:?}");
        }
    }
}
