//! Footnotes: lines that begin with a mark to which figures refer.

use super::Line;
use crate::grammar::{Convention, is_space};
use crate::scan::{Element, Kind, Mark, mark, raised, scan};
use std::collections::HashMap;

/// What each mark says, and which lines are footnotes.
#[derive(Debug, Default)]
pub(crate) struct Footnotes {
    texts: HashMap<Mark, Vec<Element>>,
    /// Index of the lines that are footnotes.
    lines: Vec<bool>,
}

impl Footnotes {
    /// Finds them. A line is a footnote if its mark stands behind a word or figure above.
    pub(crate) fn find(lines: &[Line<'_>], scanned: &[Vec<Element>], convention: Convention) -> Self {
        let mut found = Self { texts: HashMap::new(), lines: vec![false; lines.len()] };
        let mut referred: HashMap<Mark, usize> = HashMap::new();
        for (index, line) in lines.iter().enumerate() {
            let starred = line.bullet && line.start > 0;
            if let Some((mark, text, offset)) = definition(line, starred) {
                let known = referred.contains_key(&mark);
                if known && !found.texts.contains_key(&mark) {
                    found.define(mark, scan(text, offset, convention), &referred);
                    if let Some(place) = found.lines.get_mut(index) {
                        *place = true;
                    }
                    continue;
                }
            }
            for element in scanned.get(index).into_iter().flatten() {
                if let Kind::Mark(mark) = element.kind {
                    *referred.entry(mark).or_default() += 1;
                }
            }
        }
        found
    }

    /// Keeps what a footnote says; where another one begins on the same line, that one too.
    fn define(&mut self, mark: Mark, text: Vec<Element>, referred: &HashMap<Mark, usize>) {
        let mut mark = mark;
        let mut said: Vec<Element> = Vec::new();
        for element in text {
            match element.kind {
                Kind::Mark(next) if next != mark && referred.contains_key(&next) && !said.is_empty() => {
                    self.texts.entry(mark).or_insert(std::mem::take(&mut said));
                    mark = next;
                }
                _ => said.push(element),
            }
        }
        self.texts.entry(mark).or_insert(said);
    }

    /// Whether this line is a footnote.
    pub(crate) fn is_footnote(&self, line: usize) -> bool {
        self.lines.get(line).copied().unwrap_or(false)
    }

    /// Whether a footnote has this mark.
    pub(crate) fn knows(&self, mark: Mark) -> bool {
        self.texts.contains_key(&mark)
    }

    /// What the marks among these elements say.
    pub(crate) fn of(&self, elements: &[Element]) -> Vec<Element> {
        elements
            .iter()
            .filter_map(|element| match element.kind {
                Kind::Mark(mark) => self.texts.get(&mark),
                _ => None,
            })
            .flatten()
            .cloned()
            .collect()
    }
}

/// Mark, text and its place, if the line begins like a footnote.
fn definition<'a>(line: &Line<'a>, starred: bool) -> Option<(Mark, &'a str, usize)> {
    let text = line.text;
    if starred {
        // The star was taken for a bullet.
        return Some((Mark::Sign('*', 1), text, line.start));
    }
    let c = text.chars().next()?;
    let at = |length: usize| {
        let rest = text.get(length..)?;
        let body = rest.trim_start_matches(|c: char| is_space(c) || matches!(c, ':' | '.' | '=' | '-' | '–'));
        (!body.is_empty()).then(|| (body, line.start + text.len() - body.len()))
    };
    if let Some(number) = raised(c) {
        let (body, offset) = at(c.len_utf8())?;
        return Some((Mark::Number(number), body, offset));
    }
    if c.is_ascii_digit() {
        // "1) …", "1 …"
        let second = text.chars().nth(1)?;
        let length = if second == ')' { 2 } else { 1 };
        (second == ')' || second == ':' || second == '.' || is_space(second)).then_some(())?;
        let (body, offset) = at(length)?;
        // "1 MΩ" is a figure.
        let unit =
            second == ' ' && crate::grammar::lone_unit(body).is_some_and(|(_, length)| length == body.len());
        let worded = !unit && body.starts_with(char::is_alphabetic) || body.starts_with('(');
        return (second == ')' || worded).then_some((Mark::Number(c as u8 - b'0'), body, offset));
    }
    if matches!(c, 'a'..='f') {
        // "a A-weighted", "b) 150 Ω"
        let second = text.chars().nth(1)?;
        let length = if matches!(second, ')' | ':' | '.') { 2 } else { 1 };
        (length == 2 || is_space(second)).then_some(())?;
        let (body, offset) = at(length)?;
        return Some((Mark::Number(c as u8), body, offset));
    }
    if matches!(c, '*' | '†' | '‡' | '§') {
        let (found, length) = mark(text, true, Some('x'))?;
        let (body, offset) = at(length)?;
        return Some((found, body, offset));
    }
    if matches!(c, '(' | '[') {
        let (found, length) = mark(text, true, Some(' '))?;
        let (body, offset) = at(length)?;
        return Some((found, body, offset));
    }
    // "Note 1: …"
    let rest = text.strip_prefix("Note ").or_else(|| text.strip_prefix("Anm. "))?;
    let digit = rest.chars().next().filter(char::is_ascii_digit)?;
    let (body, offset) = at(text.len() - rest.len() + 1)?;
    Some((Mark::Number(digit as u8 - b'0'), body, offset))
}
