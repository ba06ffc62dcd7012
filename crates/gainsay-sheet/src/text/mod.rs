//! Lines and their cells.

mod cells;
mod footnote;
mod layout;
mod numbering;
mod prose;

pub(crate) use cells::{Cell, Separator};
pub(crate) use footnote::Footnotes;
pub(crate) use layout::are_pairs;

use crate::grammar::is_space;

/// One line that is not empty.
#[derive(Debug, Clone)]
pub(crate) struct Line<'a> {
    /// Counted from one.
    pub(crate) number: usize,
    /// Byte at which the text begins, behind indent and bullet.
    pub(crate) start: usize,
    /// The text without indent, bullet and what stands for a heading.
    pub(crate) text: &'a str,
    /// Columns before the text.
    pub(crate) indent: usize,
    /// Whether an empty line stands before it.
    pub(crate) after_blank: bool,
    /// How it is marked as a heading: 1 outermost; none if it is not.
    pub(crate) heading: Option<u8>,
    /// Whether it begins with a bullet.
    pub(crate) bullet: bool,
    /// Cells of the line.
    pub(crate) cells: Vec<Cell<'a>>,
    /// What separates them.
    pub(crate) separator: Separator,
}

/// Splits a sheet into lines.
pub(crate) fn lines(text: &str) -> Vec<Line<'_>> {
    let mut lines: Vec<Line<'_>> = Vec::new();
    let mut after_blank = true;
    let mut start = 0;
    let dashed = dash_list(text);
    let numbered = numbered_sections(text);
    let outlined = numbering::outlined(text);
    let counted = numbering::plainly_counted(text);
    for (index, raw) in text.split('\n').enumerate() {
        let begin = start;
        start += raw.len() + 1;
        let whole = raw.trim_end_matches(|c: char| is_space(c) || c == '\r');
        let body = whole.trim_start_matches(is_space);
        if body.is_empty() {
            after_blank = true;
            continue;
        }
        if is_rule(body) {
            // An underline makes a heading of the line above, unless that is a row of a table.
            if let Some(above) = lines.last_mut().filter(|_| !after_blank && !body.contains(['|', '+']))
                && !has_gap(above.text)
            {
                above.heading = Some(if body.starts_with('=') { 1 } else { 2 });
            }
            continue;
        }
        let indent = columns(whole.get(..whole.len() - body.len()).unwrap_or_default());
        let section = if numbered { without_number(body) } else { None };
        let outline = if outlined { numbering::without(body) } else { None };
        let plain = if counted { numbering::plain(whole).map(|(_, title)| title) } else { None };
        let (body, heading, bullet) = match (outline, section.or(plain)) {
            (Some((title, heading)), _) => (title, heading, false),
            (None, Some(title)) => (title, Some(4), false),
            (None, None) => unmark(body, dashed),
        };
        let offset = begin + whole.len() - body.len() - trailing(whole, body);
        lines.push(Line {
            number: index + 1,
            start: offset,
            text: body,
            indent,
            after_blank,
            heading,
            bullet,
            cells: Vec::new(),
            separator: Separator::None,
        });
        after_blank = false;
    }
    prose::join(text, &mut lines);
    cells::split_all(&mut lines);
    layout::label_columns(text, &mut lines);
    lines
}

/// Whether dashes before a space begin the items of a list: two lines or more have one before a word or before a count, and
/// one of them before a word.
fn dash_list(text: &str) -> bool {
    let behind = |line: &str| {
        let mut chars = line.trim_start_matches(is_space).chars();
        let dashed = chars.next().is_some_and(crate::grammar::is_dash) && chars.next().is_some_and(is_space);
        dashed.then(|| chars.as_str().trim_start_matches(is_space).to_owned())
    };
    let worded = |rest: &str| rest.starts_with(char::is_alphabetic);
    let counted = |rest: &str| {
        let words = rest.trim_start_matches(|c: char| c.is_ascii_digit());
        let next = words.strip_prefix(' ').unwrap_or_default();
        let letters = next.chars().take_while(|c| c.is_alphabetic()).count();
        words.len() < rest.len()
            && (next.starts_with(['x', '×']) || letters >= 3 && crate::grammar::lone_unit(next).is_none())
    };
    let (mut items, mut words) = (0, 0);
    for rest in text.split('\n').filter_map(behind) {
        words += usize::from(worded(&rest));
        items += usize::from(worded(&rest) || counted(&rest));
        if items >= 2 && words >= 1 {
            return true;
        }
    }
    false
}

/// "2. Line inputs", "B) Line inputs", "III. Line inputs" without what counts it.
fn without_number(body: &str) -> Option<&str> {
    let rest = body.trim_start_matches(|c: char| c.is_ascii_digit());
    let digits = body.len() - rest.len();
    let (counted, title) = if digits == 0 {
        let rest = body.trim_start_matches(['I', 'V', 'X']);
        let roman = body.len() - rest.len();
        let rest = if roman == 0 { body.get(1..).filter(|_| body.starts_with(CAPITALS))? } else { rest };
        let counted = body.len() - rest.len();
        let apart = rest.strip_prefix(['.', ')']).filter(|title| title.starts_with(is_space))?;
        // "V. max" and "D. Müller" are no sections: a title has a word of some length.
        let word = apart.trim_start_matches(is_space).chars().take_while(|c| c.is_alphabetic()).count();
        (counted <= 4 && word >= 3, apart)
    } else {
        ((1..=2).contains(&digits), rest.strip_prefix('.')?)
    };
    let title = title.trim_start_matches(is_space);
    (counted && title.starts_with(char::is_alphabetic) && !title.contains(": ")).then_some(title)
}

/// Letters that count sections.
const CAPITALS: [char; 12] = ['A', 'B', 'C', 'D', 'E', 'F', 'G', 'H', 'J', 'K', 'L', 'M'];

/// Whether numbers before a point count sections: other lines stand between them. Footnotes follow each other.
fn numbered_sections(text: &str) -> bool {
    let mut lines = text.split('\n').map(str::trim).filter(|line| !line.is_empty()).enumerate();
    let mut found = lines.by_ref().filter(|(_, line)| without_number(line).is_some()).map(|(index, _)| index);
    match (found.next(), found.next()) {
        (Some(first), Some(second)) => second > first + 1,
        _ => false,
    }
}

/// Bytes of `whole` behind `body`, which is a part of it.
fn trailing(whole: &str, body: &str) -> usize {
    let from = body.as_ptr() as usize - whole.as_ptr() as usize;
    whole.len() - from - body.len()
}

/// Whether cells of a table seem to stand in it.
fn has_gap(text: &str) -> bool {
    text.contains("   ") || text.contains(['\t', '|'])
}

fn columns(indent: &str) -> usize {
    indent.chars().map(|c| if c == '\t' { 4 } else { 1 }).sum()
}

/// A line that only draws: "----", "====", "|---|---|", "+----+".
fn is_rule(body: &str) -> bool {
    body.chars().count() >= 3
        && body.chars().all(|c| {
            matches!(
                c,
                '-' | '=' | '_' | '*' | '~' | '|' | '+' | ':' | '─' | '═' | '—' | '–' | ' ' | '┼' | '│'
            )
        })
        && body.chars().any(|c| matches!(c, '-' | '=' | '_' | '~' | '*' | '─' | '═' | '—' | '–'))
}

/// Takes off what marks a heading or a bullet.
fn unmark(body: &str, dashed: bool) -> (&str, Option<u8>, bool) {
    let hashes = body.chars().take_while(|c| *c == '#').count();
    if (1..=6).contains(&hashes) && body.get(hashes..).is_some_and(|r| r.starts_with(is_space)) {
        let title = body.get(hashes..).unwrap_or_default();
        let title = title.trim_matches(|c: char| is_space(c) || c == '#' || c == '*');
        return (title, u8::try_from(hashes).ok(), false);
    }
    let bold = body.strip_prefix("**").and_then(|b| b.strip_suffix("**").or_else(|| b.strip_suffix("**:")));
    if let Some(title) = bold.filter(|b| !b.contains("**")) {
        return (title.trim_matches(is_space), Some(3), false);
    }
    let mut chars = body.chars();
    let first = chars.next();
    let rest = chars.as_str();
    let bullet = match first {
        Some('•' | '·' | '▪' | '◦' | '●' | '■' | '►' | '▸' | '‣' | '○' | '»' | '›' | '✓' | '✔') => {
            true
        }
        // A dash is a bullet only with a space behind it and no figure there.
        Some('-' | '–' | '—' | '*' | '+' | 'o') => {
            rest.starts_with(is_space) && (dashed || first == Some('*'))
                || rest.starts_with(is_space)
                    && !(first != Some('*')
                        && rest.trim_start_matches(is_space).starts_with(|c: char| c.is_ascii_digit()))
                || (matches!(first, Some('-' | '*')) && rest.starts_with(is_space) && rest.contains(" x "))
        }
        _ => false,
    };
    if bullet {
        return (rest.trim_start_matches(is_space), None, true);
    }
    let letters = body.chars().filter(|c| c.is_alphabetic()).count();
    let capitals =
        letters >= 4 && !body.chars().any(char::is_lowercase) && !body.chars().any(|c| c.is_ascii_digit());
    let boxed = body.strip_prefix('[').and_then(|b| b.strip_suffix(']')).filter(|b| b.len() > 2);
    if let Some(title) = boxed {
        return (title, Some(1), false);
    }
    (body, capitals.then_some(1), false)
}
