//! Marks that refer to footnotes.

use super::{Element, Kind, Mark};
use crate::grammar::is_space;

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
            let inside: String = chars.clone().take_while(|s| matches!(s, '*' | '†' | '‡' | '§')).collect();
            let close = if c == '(' { ')' } else { ']' };
            if let Some(sign) = inside.chars().next()
                && inside.chars().all(|s| s == sign)
                && chars.as_str().get(inside.len()..).is_some_and(|rest| rest.starts_with(close))
            {
                let count = u8::try_from(inside.chars().count()).unwrap_or(1);
                return previous.is_some().then_some((Mark::Sign(sign, count), inside.len() + 2));
            }
            let sign = chars.next().filter(|s| s.is_ascii_digit() || matches!(s, 'a'..='j'))?;
            let fits = chars.next()? == close;
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

/// "−128 dBu a": a small letter alone behind a figure or at the end of a label.
pub(super) fn bare_letter(
    c: char,
    after: &str,
    previous: Option<char>,
    elements: &[Element],
) -> Option<Mark> {
    let apart = previous.is_some_and(is_space);
    let rest = after.trim_start_matches(is_space);
    let ends = after.is_empty()
        || rest.is_empty()
        || after.starts_with([',', ';', ':', '|', '\t', ')'])
        || after.starts_with("  ");
    let behind = match elements.last().map(|e| &e.kind) {
        Some(Kind::Figure(measure)) => !measure.is_bare(),
        Some(Kind::Words(_) | Kind::Close) => after.is_empty() || after.starts_with(':'),
        _ => false,
    };
    (matches!(c, 'a'..='f') && apart && ends && behind).then_some(Mark::Number(c as u8))
}
