//! A line as a row of figures, words that mean something, and marks between them.

mod counted;
mod denial;
mod marks;
mod phrase;
mod span;
mod words;

use crate::grammar::{Convention, Measure, UnitText, between, is_dash, is_space, lone_unit, measure};
use crate::lexicon::{Atom, Atoms, in_word, longest_term};
pub(crate) use marks::{mark, raised};
use std::ops::Range;
use words::{ends_sentence, inches, jack_size, lone_prefix, number_word};

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
        let before = text.get(..at).unwrap_or_default();
        let (kind, length) = next(rest, c, after, joined, before, &elements, convention);
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
    span::of_numbers(text, offset, &mut elements);
    phrase::read(text, offset, &mut elements);
    elements
}

/// So many signs and spaces may stand between the sign of a number and its first digit.
const FARTHEST_DIGIT: usize = 16;

/// The next element and how many bytes it takes.
fn next(
    rest: &str,
    c: char,
    after: &str,
    joined: bool,
    before: &str,
    elements: &[Element],
    convention: Convention,
) -> (Option<Kind>, usize) {
    let previous = before.chars().next_back();
    let one = |kind: Kind| (Some(kind), c.len_utf8());
    if let Some((mark, length)) = mark(rest, joined, previous) {
        return (Some(Kind::Mark(mark)), length);
    }
    if let Some(mark) = marks::bare_letter(c, after, previous, elements) {
        return one(Kind::Mark(mark));
    }
    if let Some((atoms, length)) = inches(rest) {
        return (Some(Kind::Words(atoms)), length);
    }
    // "1:5" of a transformer, "19:30" of a letter.
    if c.is_ascii_digit()
        && !joined
        && let Some(length) = words::ratio(rest)
    {
        return (Some(Kind::Unknown), length);
    }
    // "20-20k": the band without its units.
    if c.is_ascii_digit()
        && !joined
        && let Some((written, length)) = words::short_band(rest)
        && let Ok(found) = measure(&mut written.as_str(), convention)
    {
        return (Some(Kind::Figure(Box::new(found))), length);
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
                .chars()
                .take(FARTHEST_DIGIT)
                .find(|c| !(is_space(*c) || matches!(c, '/' | '-' | '.' | ',' | '−' | '–')))
                .is_some_and(|d| d.is_ascii_digit()));
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
            // "AES3 × 4"
            found.times |= found.is_bare() && before.trim_end().ends_with(['×', 'x']) && !joined;
            return (Some(Kind::Figure(Box::new(found))), rest.len() - ahead.len());
        }
    }
    match c {
        '(' | '[' | '{' => return one(Kind::Open),
        ')' | ']' | '}' => return one(Kind::Close),
        '.' | '!' | '?' if ends_sentence(after, before, elements) => return one(Kind::Stop),
        ',' => return one(Kind::Comma),
        ';' | '|' | '•' | '·' => return one(Kind::Semicolon),
        '/' => return one(Kind::Slash),
        ':' | '：' => return one(Kind::Colon),
        '=' => return one(Kind::Equals),
        '@' => return one(Kind::At),
        c if is_dash(c) => return one(Kind::Dash),
        _ => {}
    }
    if !in_word(c) {
        return (None, c.len_utf8());
    }
    let named = matches!(elements.last().map(|e| &e.kind), Some(Kind::Open))
        || elements.last().is_some_and(|e| e.atoms().has(Atom::Input));
    if named && let Some((unit, length)) = lone_unit(rest) {
        return (Some(Kind::Unit(unit)), length);
    }
    // "+24 dBu an 600 Ω": what the figure is loaded with.
    if let Some(behind) = rest.strip_prefix("an ")
        && behind.starts_with(|c: char| c.is_ascii_digit())
    {
        return (Some(Kind::Words(Atoms::of(&[Atom::Load, Atom::At]))), 2);
    }
    if matches!(c, 'b' | 'B' | 'z' | 'Z' | 'e' | 'E') {
        let mut ahead = rest;
        if let Ok(found) = between(&mut ahead, convention) {
            return (Some(Kind::Figure(Box::new(found))), rest.len() - ahead.len());
        }
    }
    let term = longest_term(rest);
    // "Acht" is a pattern, and "acht Mikrofoneingänge" are eight.
    if let Some((number, length)) = number_word(rest)
        && term.is_none_or(|(longest, _)| longest <= length)
    {
        return (Some(Kind::Figure(Box::new(Measure::counted(number)))), length);
    }
    if let Some((length, atoms)) = term {
        // A single A is a weighting behind a figure or in brackets, and an article or preposition elsewhere.
        let written = rest.get(..length).unwrap_or_default();
        // "Ein" is an article, and EIN a noise.
        if length == 3 && written.eq_ignore_ascii_case("ein") && written != "EIN" && !labels(rest, length) {
            return (Some(Kind::Words(Atoms::NONE)), length);
        }
        let single = written == "A";
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
        .find(|(_, c)| !(in_word(*c) || matches!(c, '_' | '\'' | '’')))
        .map_or(rest.len(), |(at, _)| at);
    (Some(Kind::Unknown), length.max(c.len_utf8()))
}

/// Whether a word stands before the sign of a label: "ein = −128 dBu".
fn labels(rest: &str, length: usize) -> bool {
    rest.get(length..).unwrap_or_default().trim_start_matches(is_space).starts_with(['=', ':', '('])
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
