//! Nothing with a figure gets lost: what came to no field, and to no remark, is listed.

use crate::facts::Fact;
use crate::lexicon::{Atom, Atoms, FORMATS};
use crate::place::{LONGEST, LONGEST_NOTE, QUOTED_NOTES, quoted, words_of};
use crate::reading::{Entry, Path, Unplaced, Value, Why};
use crate::rows::Sheet;
use crate::scan::Element;
use std::collections::HashSet;
use std::ops::Range;

/// Stretches of the text, in order and without overlaps.
pub(crate) struct Stretches(Vec<Range<usize>>);

impl Stretches {
    fn new(mut all: Vec<Range<usize>>) -> Self {
        all.sort_by_key(|range| range.start);
        let mut merged: Vec<Range<usize>> = Vec::with_capacity(all.len());
        for next in all {
            match merged.last_mut() {
                Some(last) if next.start <= last.end => last.end = last.end.max(next.end),
                _ => merged.push(next),
            }
        }
        Self(merged)
    }

    fn holds(&self, range: &Range<usize>) -> bool {
        let behind = self.0.partition_point(|known| known.start <= range.start);
        behind.checked_sub(1).and_then(|at| self.0.get(at)).is_some_and(|known| known.end >= range.end)
    }
}

/// What was read at all: figures with the conditions in their clauses. Each of them is stated by an entry, or listed.
pub(crate) fn figures(facts: &[Fact]) -> Vec<(usize, Range<usize>)> {
    facts.iter().filter(|fact| figure(fact)).map(|fact| (fact.line, within(fact))).collect()
}

/// The bytes of a clause, as far as they are quoted.
fn within(fact: &Fact) -> Range<usize> {
    let (line, span) = (&fact.line_span, &fact.span);
    if line.len() <= LONGEST || span.len() <= LONGEST {
        return span.clone();
    }
    // Of a long line whose clause is long, too, its beginning is quoted.
    line.start..span.end.min(line.start + LONGEST)
}

fn figure(fact: &Fact) -> bool {
    fact.clause.measure.as_ref().is_some_and(|m| !m.is_bare() && !m.only_tolerance)
}

/// Those, with labels over them and footnotes to which they refer.
fn read(
    sheet: &Sheet,
    facts: &[Fact],
    figures: Vec<(usize, Range<usize>)>,
    stated: &HashSet<usize>,
) -> Stretches {
    let words = facts
        .iter()
        .enumerate()
        .filter(|(index, fact)| stated.contains(index) && fact.line_span.len() <= LONGEST);
    let read: Vec<(usize, Range<usize>)> =
        figures.into_iter().chain(words.map(|(_, fact)| (fact.line, within(fact)))).collect();
    let lines: HashSet<usize> = read.iter().map(|(line, _)| *line).collect();
    let mut all: Vec<Range<usize>> = read.into_iter().map(|(_, span)| span).collect();
    let spans =
        |elements: &[Element]| -> Vec<Range<usize>> { elements.iter().map(|e| e.span.clone()).collect() };
    for row in sheet.rows.iter().filter(|row| lines.contains(&row.line)) {
        if row.span.len() <= LONGEST {
            all.extend(spans(&row.label));
        }
        // As many as an entry quotes.
        all.extend(
            row.footnotes.iter().take(QUOTED_NOTES).filter(|note| note.len() <= LONGEST_NOTE).cloned(),
        );
    }
    Stretches::new(all)
}

/// The facts that an entry states: as its value, as another reading of it, or as a part of its list.
pub(crate) fn stated(facts: &[Fact], fields: &[(usize, Path)], entries: &[Entry]) -> HashSet<usize> {
    let lists: HashSet<(&Path, usize)> = entries
        .iter()
        .filter(|entry| matches!(entry.reading.value, Value::RatesHz(_) | Value::Words(_)))
        .map(|entry| (&entry.path, entry.reading.line))
        .collect();
    let told: HashSet<(usize, usize)> = entries
        .iter()
        .flat_map(|entry| std::iter::once(&entry.reading).chain(&entry.others))
        .map(|reading| (reading.span.start, reading.span.end))
        .collect();
    let line = |fact: usize| facts.get(fact).map_or(0, |fact| fact.line);
    let parts =
        fields.iter().filter(|(fact, path)| lists.contains(&(path, line(*fact)))).map(|(fact, _)| *fact);
    let whole = facts.iter().enumerate().filter(|(_, fact)| told.contains(&(fact.span.start, fact.span.end)));
    parts.chain(whole.map(|(index, _)| index)).collect()
}

/// Lists every line in words alone that speaks of a digital format or of phantom power and came to nothing: "Network: AES67".
fn list_words(
    text: &str,
    facts: &[Fact],
    stated: &HashSet<usize>,
    listed: &mut HashSet<(usize, String)>,
    unplaced: &mut Vec<Unplaced>,
) {
    let lines = |index: &usize| facts.get(*index).map(|fact| fact.line);
    let told: HashSet<usize> =
        stated.iter().filter_map(lines).chain(unplaced.iter().map(|one| one.line)).collect();
    let spoken = FORMATS.and(Atoms::of(&[Atom::Phantom]));
    for fact in facts.iter().filter(|fact| fact.clause.measure.is_none() && !told.contains(&fact.line)) {
        let words = words_of(text, fact);
        if fact.clause.own.and(fact.named).any(spoken) && listed.insert((fact.line, words.clone())) {
            let why = Why::NotUnderstood("what this says of a connection or of phantom power");
            unplaced.push(Unplaced { line: fact.line, span: fact.span.clone(), words, why });
        }
    }
}

/// Lists every figure with a unit that is in no entry and has not been listed.
pub(crate) fn list(
    text: &str,
    sheet: &Sheet,
    facts: &[Fact],
    read_figures: Vec<(usize, Range<usize>)>,
    stated: &HashSet<usize>,
    unplaced: &mut Vec<Unplaced>,
) {
    let unplaced_at: HashSet<(usize, usize)> =
        unplaced.iter().map(|one| (one.line, one.span.start)).collect();
    // A line that is quoted whole is listed once.
    let mut listed: HashSet<(usize, String)> =
        unplaced.iter().map(|one| (one.line, one.words.clone())).collect();
    for (index, fact) in facts.iter().enumerate() {
        if !figure(fact) || stated.contains(&index) || unplaced_at.contains(&(fact.line, fact.span.start)) {
            continue;
        }
        let words = words_of(text, fact);
        if listed.insert((fact.line, words.clone())) {
            let why = Why::NoField("a figure that the sheet states elsewhere too");
            unplaced.push(Unplaced { line: fact.line, span: fact.span.clone(), words, why });
        }
    }
    list_words(text, facts, stated, &mut listed, unplaced);
    let read = read(sheet, facts, read_figures, stated);
    for (line, whole, span) in &sheet.figures {
        if read.holds(span) {
            continue;
        }
        let words = quoted(text, whole, span);
        if listed.insert((*line, words.clone())) {
            let why = Why::NotUnderstood("where this figure belongs");
            unplaced.push(Unplaced { line: *line, span: span.clone(), words, why });
        }
    }
}
