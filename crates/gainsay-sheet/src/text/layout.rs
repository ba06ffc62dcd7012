//! Columns that lost their rows in copying: a block of labels, and behind it a block of as many values.

use super::Line;
use super::cells::{Cell, Separator};
use crate::lexicon::{QUANTITIES, longest_term};

/// Fewer labels than this in a row are headings.
const ENOUGH: usize = 4;

/// Puts each value beside its label, where blocks of labels and of values are equally long.
pub(super) fn label_columns<'a>(text: &'a str, lines: &mut Vec<Line<'a>>) {
    let mut from = 0;
    while from < lines.len() {
        let labels = most(lines, from, is_short, is_label);
        if labels < ENOUGH {
            from += labels.max(1);
            continue;
        }
        let values = from + labels;
        // A head of its own may stand over the values; what it says holds for the rows that come out.
        let head = usize::from(lines.get(values).is_some_and(|line| is_head(line)));
        let count = most(lines, values + head, is_one_cell, is_value);
        // The title may stand right over the labels.
        let title = usize::from(from == 0 && count + 1 == labels);
        if count < ENOUGH || count + title != labels {
            from = values;
            continue;
        }
        let first = values - count;
        for index in 0..count {
            let Some(value) = lines.get(values + head + index).cloned() else { continue };
            if let Some(label) = lines.get_mut(first + index)
                && let Some(cell) = label.cells.first().copied()
            {
                label.cells = vec![cell, Cell { start: value.start, column: cell.column, text: value.text }];
                label.separator = Separator::Leader;
                label.after_blank = index == 0;
            }
        }
        lines.drain(values + head..values + head + count);
        if head == 1 {
            let line = lines.remove(values);
            lines.insert(first, line);
        }
        from = values;
    }
    debug_assert!(lines.iter().all(|line| line.start <= text.len()), "every line stands in the text");
}

fn run(lines: &[Line<'_>], from: usize, is: fn(&Line<'_>) -> bool) -> usize {
    let mut lines = lines.iter().skip(from);
    let first = usize::from(lines.next().is_some_and(is));
    if first == 0 { 0 } else { 1 + lines.take_while(|line| !line.after_blank && is(line)).count() }
}

/// So many lines of a block for each that is no more than shaped like the others.
const KNOWN: usize = 3;

/// Length of a block of lines of one shape, the first and the better part of which are known for what they are.
fn most(
    lines: &[Line<'_>],
    from: usize,
    shaped: fn(&Line<'_>) -> bool,
    known: fn(&Line<'_>) -> bool,
) -> usize {
    let sure = run(lines, from, known);
    let shaped = if sure == 0 { 0 } else { run(lines, from, shaped) };
    let unknown = lines.iter().skip(from).take(shaped).filter(|line| !known(line)).count();
    if unknown * KNOWN <= shaped { shaped } else { sure }
}

/// A line of words that name a quantity.
fn is_label(line: &Line<'_>) -> bool {
    is_short(line) && names(line.text)
}

/// A line of a few words without a figure.
fn is_short(line: &Line<'_>) -> bool {
    let words = line.text.split_whitespace().count();
    is_one_cell(line)
        && !line.bullet
        && line.heading.is_none()
        && words <= 7
        && line.text.starts_with(char::is_alphabetic)
        && !figures(line.text)
}

fn is_one_cell(line: &Line<'_>) -> bool {
    line.cells.len() == 1 && !line.text.contains(": ")
}

/// Whether one of its words begins a term for a quantity.
fn names(text: &str) -> bool {
    text.char_indices().any(|(at, c)| {
        let begins =
            c.is_alphabetic() && text.get(..at).is_none_or(|before| !before.ends_with(char::is_alphanumeric));
        begins
            && text
                .get(at..)
                .and_then(longest_term)
                .is_some_and(|(_, atoms)| atoms.any(QUANTITIES.and(crate::lexicon::PLACES)))
    })
}

/// A line that holds a value and no label.
fn is_value(line: &Line<'_>) -> bool {
    let text = line.text;
    let sign = text.trim_start_matches(['+', '-', '−', '–', '±', '<', '>', '≤', '≥', '≈', '~', ' ']);
    line.cells.len() == 1
        && !text.contains(": ")
        && (sign.starts_with(|c: char| c.is_ascii_digit()) || !names(text) || is_word_value(text))
}

/// "XLR, balanced": a value in words.
fn is_word_value(text: &str) -> bool {
    let known = crate::lexicon::CONNECTORS.and(crate::lexicon::PATTERNS).and(crate::lexicon::TRANSDUCERS);
    longest_term(text).is_some_and(|(_, atoms)| atoms.any(known))
}

/// A line without figures over a block of values.
fn is_head(line: &Line<'_>) -> bool {
    line.cells.len() == 1 && !figures(line.text) && !line.text.contains(": ") && !is_word_value(line.text)
}

/// Whether a figure with a unit may stand in it; "48 V" in "48 V phantom power" is part of a label too rarely.
fn figures(text: &str) -> bool {
    text.split(|c: char| !(c.is_alphanumeric() || c == '.' || c == ','))
        .any(|word| word.starts_with(|c: char| c.is_ascii_digit()) && word != "1" && word != "0")
}

/// Whether a sheet is made of pairs of lines: a label, below it its value, and an empty line.
pub(crate) fn are_pairs(lines: &[Line<'_>]) -> bool {
    let (mut pairs, mut others) = (0_usize, 0_usize);
    let mut from = 0;
    while from < lines.len() {
        let block = 1 + lines.iter().skip(from + 1).take_while(|line| !line.after_blank).count();
        let label = lines.get(from).is_some_and(|line| {
            line.cells.len() == 1 && !line.bullet && !line.text.contains(": ") && !figures(line.text)
        });
        match block {
            2 | 3 if label => pairs += 1,
            1 => {}
            _ => others += 1,
        }
        from += block;
    }
    pairs >= 4 && pairs > 2 * others
}
