//! Numbers of an outline before headings and rows: "2 PERFORMANCE", "2.1 Gain", "3.1.4 Pad".

use crate::grammar::is_space;

/// How many numbers with a point inside make an outline.
const ENOUGH: usize = 3;

/// Whether the lines of a text are numbered as an outline: numbers with points stand before words, and rise.
pub(super) fn outlined(text: &str) -> bool {
    let mut last: Vec<u32> = Vec::new();
    let mut rising = 0;
    for line in text.split('\n') {
        let Some((number, _)) = number(line.trim()) else { continue };
        if number.len() < 2 {
            continue;
        }
        if number > last {
            rising += 1;
        }
        last = number;
    }
    rising >= ENOUGH
}

/// The line without its number, and its rank as a heading where the number is that of a section.
pub(super) fn without(body: &str) -> Option<(&str, Option<u8>)> {
    let (number, rest) = number(body)?;
    let heading = (number.len() == 1 && !rest.contains(": ")).then_some(4);
    Some((rest, heading))
}

/// "2.10 Words": the numbers, and the words behind them.
fn number(line: &str) -> Option<(Vec<u32>, &str)> {
    let end = line.find(|c: char| !c.is_ascii_digit() && c != '.')?;
    let (digits, rest) = line.split_at_checked(end)?;
    let numbers: Vec<u32> =
        digits.trim_end_matches('.').split('.').map(str::parse).collect::<Result<_, _>>().ok()?;
    let rest = rest.strip_prefix(')').unwrap_or(rest);
    let words = rest.trim_start_matches(is_space);
    let apart = words.len() < rest.len();
    (apart && words.starts_with(char::is_alphabetic) && !starts_like_a_unit(words))
        .then_some((numbers, words))
}

/// "2.5 kg": a figure, not a number of the outline.
fn starts_like_a_unit(words: &str) -> bool {
    let word = words.split(|c: char| !c.is_alphanumeric()).next().unwrap_or_default();
    word.chars().count() <= 2 || crate::grammar::lone_unit(words).is_some()
}
