//! Paragraphs whose sentences run on over the ends of lines.

use super::Line;
use crate::grammar::is_space;

/// A line shorter than this ends because its text ends.
const FULL_WIDTH: usize = 48;

/// Paragraphs that are longer are left in lines, so that reading one takes no longer than reading a long line.
const LONGEST: usize = 4 * 1024;

/// Puts together lines that go on in the middle of a sentence.
pub(super) fn join<'a>(text: &'a str, lines: &mut Vec<Line<'a>>) {
    let mut joined: Vec<Line<'a>> = Vec::with_capacity(lines.len());
    for line in lines.drain(..) {
        if let Some(above) = joined.last_mut()
            && goes_on(above, &line)
        {
            let end = line.start + line.text.len();
            if end - above.start <= LONGEST
                && let Some(whole) = text.get(above.start..end)
            {
                above.text = whole;
                continue;
            }
        }
        joined.push(line);
    }
    *lines = joined;
}

/// Whether `line` goes on with the sentence in which `above` ends.
fn goes_on(above: &Line<'_>, line: &Line<'_>) -> bool {
    let last = above.text.rsplit('\n').next().unwrap_or_default();
    let plain = |text: &str| !text.contains(['\t', '|']) && !text.trim().contains("  ");
    if line.after_blank
        || line.bullet
        || line.heading.is_some()
        || above.heading.is_some()
        || last.chars().count() < FULL_WIDTH
        || !plain(last)
        || !plain(line.text)
    {
        return false;
    }
    let ended = above.text.ends_with(['.', ':', ';', '!', '?', '…', ')']);
    let small = line.text.starts_with(|c: char| c.is_lowercase());
    let words = line.text.split(is_space).filter(|word| word.chars().any(char::is_alphabetic)).count();
    // A line that begins with a small letter goes on with a sentence, and so does one behind a comma or a short word.
    let comma = above.text.ends_with(',') && !above.text.contains(": ");
    let open = comma || above.text.ends_with(['-', '–']) || last_word_joins(last);
    !ended && (small || open && words >= 2 && !line.text.contains(": "))
}

/// Articles, prepositions and conjunctions end no line of their own.
const JOINING: &[&str] = &[
    "the", "a", "an", "of", "and", "or", "with", "for", "to", "at", "by", "from", "is", "are", "its", "that",
    "der", "die", "das", "und", "oder", "mit", "von", "für", "bei", "auf", "im", "am", "zu", "zur", "ist",
    "sind", "ein", "eine", "einen", "de", "du", "des", "le", "la", "les", "et", "ou", "avec", "pour", "par",
    "est", "sont", "un", "une", "au", "aux", "à", "sich", "dem", "den",
];

fn last_word_joins(text: &str) -> bool {
    let word = text.rsplit(is_space).next().unwrap_or_default();
    JOINING.contains(&word)
}
