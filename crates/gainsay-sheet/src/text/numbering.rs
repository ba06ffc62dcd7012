//! Numbers of an outline before headings and rows: "2 PERFORMANCE", "2.1 Gain", "3.1.4 Pad", "C.2 Line inputs", "§ 4.1 Noise".

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

/// "2.10 Words", "A-3.1 Words": the numbers, with the letter of an appendix as the first, and the words behind them.
fn number(line: &str) -> Option<(Vec<u32>, &str)> {
    let line = line.strip_prefix('§').map_or(line, |rest| rest.trim_start_matches(is_space));
    let (letter, line) = match appendix(line) {
        Some((letter, rest)) => (Some(letter), rest),
        None => (None, line),
    };
    let end = line.find(|c: char| !c.is_ascii_digit() && c != '.')?;
    let (digits, rest) = line.split_at_checked(end)?;
    let digits: Vec<u32> =
        digits.trim_end_matches('.').split('.').map(str::parse).collect::<Result<_, _>>().ok()?;
    let numbers: Vec<u32> = letter.into_iter().chain(digits).collect();
    let rest = rest.trim_start_matches([')', ':']);
    let words = rest.trim_start_matches(is_space);
    let apart = words.len() < rest.len();
    (apart && words.starts_with(char::is_alphabetic) && !starts_like_a_unit(words))
        .then_some((numbers, words))
}

/// "C.2", "A-3": the letter of an appendix before the number, as a number.
fn appendix(line: &str) -> Option<(u32, &str)> {
    let mut chars = line.chars();
    let letter = chars.next().filter(char::is_ascii_uppercase)?;
    let rest = chars.as_str().strip_prefix(['.', '-', '–'])?;
    rest.starts_with(|c: char| c.is_ascii_digit()).then_some((u32::from(letter), rest))
}

/// "2.5 kg": a figure, not a number of the outline.
fn starts_like_a_unit(words: &str) -> bool {
    let word = words.split(|c: char| !c.is_alphanumeric()).next().unwrap_or_default();
    word.chars().count() <= 2 || crate::grammar::lone_unit(words).is_some()
}

/// Whether plain numbers count sections: "1  Line inputs", "2  Line outputs", "3  Clock", from one on, with lines between them.
pub(super) fn plainly_counted(text: &str) -> bool {
    let (mut next, mut last) = (1, None);
    for (index, line) in text.split('\n').enumerate() {
        let Some((number, _)) = plain(line.trim_end()) else { continue };
        if number != next || last.is_some_and(|last| index <= last + 1) {
            return false;
        }
        (next, last) = (number + 1, Some(index));
    }
    next > 3
}

/// "3  Clock" at the margin, without its number; nothing else stands on the line.
pub(super) fn plain(line: &str) -> Option<(u32, &str)> {
    let end = line.find(|c: char| !c.is_ascii_digit())?;
    let (digits, rest) = line.split_at_checked(end)?;
    let words = rest.trim_start_matches(is_space);
    // One space stands between a count and what it counts, "2 outputs".
    let apart = rest.chars().take_while(|c| is_space(*c)).count() >= 2;
    let single = !words.contains("  ") && !words.contains(['\t', '|']) && !words.contains(": ");
    (apart
        && single
        && digits.len() <= 2
        && words.starts_with(char::is_alphabetic)
        && !starts_like_a_unit(words))
    .then_some((digits.parse().ok()?, words))
}
