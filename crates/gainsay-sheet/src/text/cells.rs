//! Cells of a line: between tabs, bars, wide gaps, dot leaders, or the separators of a comma-separated file.

use super::Line;
use crate::grammar::is_space;

/// What separates the cells of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Separator {
    /// It is one cell.
    None,
    /// Tabs.
    Tab,
    /// Bars.
    Bar,
    /// Two spaces or more.
    Gap,
    /// A row of dots.
    Leader,
    /// Semicolons or commas of a separated file.
    Separated(char),
}

/// One cell.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Cell<'a> {
    /// Byte of the sheet at which it begins.
    pub(crate) start: usize,
    /// Column in the line, for tables that are aligned by spaces.
    pub(crate) column: usize,
    pub(crate) text: &'a str,
}

/// Splits all lines.
pub(super) fn split_all(lines: &mut [Line<'_>]) {
    let separators = separated_files(lines);
    for (line, separator) in lines.iter_mut().zip(separators) {
        let (found, ranges) = match separator {
            Some(c) => (Separator::Separated(c), separated(line.text, c)),
            None => split(line.text),
        };
        let all: Vec<Cell<'_>> = ranges
            .into_iter()
            .filter_map(|(from, to)| cell(line.text, line.start, line.indent, from, to))
            .collect();
        line.separator = if all.len() > 1 { found } else { Separator::None };
        line.cells = all;
    }
}

fn cell(text: &str, start: usize, indent: usize, from: usize, to: usize) -> Option<Cell<'_>> {
    let piece = text.get(from..to)?;
    let trim = |c: char| is_space(c) || c == '"';
    let left = piece.trim_start_matches(trim);
    let lead = piece.len() - left.len();
    let inner = left.trim_end_matches(is_space);
    // Quotes go in pairs; a single one is an inch.
    let inner = if piece.trim_start_matches(is_space).starts_with('"') {
        inner.trim_end_matches(trim)
    } else {
        inner
    };
    let column = indent + text.get(..from + lead)?.chars().count();
    Some(Cell { start: start + from + lead, column, text: inner })
}

type Ranges = Vec<(usize, usize)>;

fn split(text: &str) -> (Separator, Ranges) {
    let listed = text.contains(": ") && text.match_indices('|').all(|(at, _)| between(text, at));
    if text.starts_with('|') || !listed && text.matches('|').count() >= 1 && text.contains(" | ") {
        let inner = text.strip_prefix('|').unwrap_or(text);
        let from = text.len() - inner.len();
        let inner = inner.strip_suffix('|').unwrap_or(inner);
        return (Separator::Bar, by_char(inner, from, '|'));
    }
    if text.contains('\t') {
        return (Separator::Tab, by_char(text, 0, '\t'));
    }
    if let Some(ranges) = leaders(text) {
        return (Separator::Leader, ranges);
    }
    (Separator::Gap, gaps(text))
}

/// "44.1 | 48 | 96 kHz": whether a bar stands between the numbers of a list.
fn between(text: &str, bar: usize) -> bool {
    let digit = |c: char| c.is_ascii_digit();
    let before = text.get(..bar).unwrap_or_default().trim_end();
    let behind = text.get(bar + 1..).unwrap_or_default().trim_start();
    before.ends_with(digit) && behind.starts_with(digit)
}

fn by_char(text: &str, from: usize, separator: char) -> Ranges {
    let mut ranges = Vec::new();
    let mut start = 0;
    for (at, found) in text.match_indices(separator) {
        ranges.push((from + start, from + at));
        start = at + found.len();
    }
    ranges.push((from + start, from + text.len()));
    ranges
}

/// "Label ......... value": four dots or more, with or without spaces between them.
fn leaders(text: &str) -> Option<Ranges> {
    let mut run: Option<(usize, usize, u32)> = None;
    for (at, c) in text.char_indices() {
        let weight = match c {
            '.' | '_' | '·' | '‥' => 1,
            '…' => 3,
            ' ' if run.is_some() => 0,
            _ => {
                if let Some((from, to, dots)) = run.take()
                    && dots >= 4
                    && from > 0
                {
                    return Some(vec![(0, from), (to, text.len())]);
                }
                continue;
            }
        };
        let (from, _, dots) = run.unwrap_or((at, at, 0));
        run = Some((from, at + c.len_utf8(), dots + weight));
    }
    None
}

/// Two spaces or more, and no-break spaces count only in threes, since they group digits.
fn gaps(text: &str) -> Ranges {
    let mut ranges = Vec::new();
    let mut start = 0;
    let mut gap: Option<(usize, u32)> = None;
    for (at, c) in text.char_indices() {
        if is_space(c) {
            let (from, count) = gap.unwrap_or((at, 0));
            gap = Some((from, count + 1));
            continue;
        }
        if let Some((from, count)) = gap.take()
            && count >= 2
            && !text.get(from..at).unwrap_or_default().contains('\n')
        {
            let before = text.get(start..from).unwrap_or_default();
            // A sign that stands apart from its number does not end a cell.
            let sign = before.trim_start().chars().count() == 1
                && before.trim_start().starts_with(['-', '+', '−', '–', '±']);
            if !sign || count > 2 {
                ranges.push((start, from));
                start = at;
            }
        }
    }
    ranges.push((start, text.len()));
    ranges
}

/// For each line the separator of the file that it is a line of: three lines or more with equally many.
fn separated_files(lines: &[Line<'_>]) -> Vec<Option<char>> {
    let mut found = vec![None; lines.len()];
    for separator in [';', ','] {
        let counts: Vec<usize> = lines.iter().map(|line| separated(line.text, separator).len()).collect();
        let mut from = 0;
        while from < counts.len() {
            let count = counts.get(from).copied().unwrap_or(1);
            let length = counts.iter().skip(from).take_while(|c| **c == count).count().max(1);
            let labelled = lines.iter().skip(from).take(length).all(|line| {
                line.text.starts_with(|c: char| c.is_alphabetic() || c == '"' || c == separator)
                    && !line.text.contains(": ")
                    && !line.text.contains("  ")
            });
            if count > 1 && length >= 3 && labelled {
                found
                    .iter_mut()
                    .skip(from)
                    .take(length)
                    .filter(|f| f.is_none())
                    .for_each(|f| *f = Some(separator));
            }
            from += length;
        }
    }
    found
}

/// Cells between separators outside of quotes and brackets; a comma with a space or between digits separates nothing.
fn separated(text: &str, separator: char) -> Ranges {
    let mut ranges = Vec::new();
    let (mut start, mut quoted, mut depth) = (0, false, 0_u32);
    let bytes = text.as_bytes();
    for (at, c) in text.char_indices() {
        match c {
            '"' => quoted = !quoted,
            '(' | '[' => depth += 1,
            ')' | ']' => depth = depth.saturating_sub(1),
            c if c == separator && !quoted && depth == 0 => {
                let next = bytes.get(at + 1).copied();
                let previous = at.checked_sub(1).and_then(|p| bytes.get(p)).copied();
                let digits =
                    previous.is_some_and(|b| b.is_ascii_digit()) && next.is_some_and(|b| b.is_ascii_digit());
                if separator == ',' && (next == Some(b' ') || digits) {
                    continue;
                }
                ranges.push((start, at));
                start = at + 1;
            }
            _ => {}
        }
    }
    ranges.push((start, text.len()));
    ranges
}
