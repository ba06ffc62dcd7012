//! From facts to the fields of a device file.

mod computer;
mod digital;
mod evidence;
mod features;
mod figures;
mod front_end;
mod levels;
mod merge;
mod microphone;
mod strange;
mod whole;

use crate::doubts::DoubtKind;
use crate::facts::Fact;
use crate::lexicon::{Atom, Atoms};
use crate::reading::{Candidate, Path, Table, Unplaced, Value, Why};
pub(crate) use features::channels_in_words;
use gainsay_gear::DeviceType;
pub(crate) use merge::{base, merge};
use std::ops::Range;

/// Something placed: where, what, and what to doubt about it.
#[derive(Debug, Clone)]
pub(crate) struct Placed {
    pub(crate) path: Path,
    pub(crate) candidate: Candidate,
    /// Another value that the same words may have.
    pub(crate) or: Option<Value>,
    pub(crate) doubts: Vec<(DoubtKind, String)>,
    /// Whether a pad was in when it was measured.
    pub(crate) with_pad: bool,
    /// Index of the fact.
    pub(crate) fact: usize,
}

/// What a fact came to.
#[derive(Debug, Clone)]
pub(crate) enum Outcome {
    /// It has no place.
    Nowhere(Why),
    /// It was placed, or says nothing of use, and nothing is missed.
    Nothing,
}

impl Outcome {
    pub(crate) const fn no_field(what: &'static str) -> Self {
        Self::Nowhere(Why::NoField(what))
    }

    pub(crate) const fn unclear(what: &'static str) -> Self {
        Self::Nowhere(Why::NotUnderstood(what))
    }
}

/// What the whole sheet shows, which helps where a single line does not say it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Overview {
    pub(crate) kind: DeviceType,
    /// Whether any line speaks of microphone inputs.
    pub(crate) microphone: bool,
    /// Whether any line speaks of line or instrument inputs.
    pub(crate) other_inputs: bool,
    /// Line of the title.
    pub(crate) title: Option<usize>,
}

/// Places all facts.
pub(crate) fn place(text: &str, facts: &[Fact], overview: Overview) -> (Vec<Placed>, Vec<Unplaced>) {
    let mut placed = Vec::new();
    let mut unplaced: Vec<Unplaced> = Vec::new();
    for (index, fact) in facts.iter().enumerate() {
        let words = words_of(text, fact);
        let before = placed.len();
        let mut work = Work { fact, index, overview, words: &words, placed: &mut placed };
        let featured = match overview.kind {
            DeviceType::Microphone => microphone::features(&mut work),
            DeviceType::Booster => features::booster(&mut work),
            _ => {
                let digital = digital::digital(&mut work);
                features::front_end(&mut work) || digital
            }
        };
        let outcome = match overview.kind {
            DeviceType::Microphone => microphone::figure(&mut work),
            _ => front_end::figure(&mut work),
        };
        strange::mark(text, fact, placed.get_mut(before..).unwrap_or_default());
        match outcome {
            Outcome::Nothing => {
                let nothing = placed.len() == before;
                if nothing && fact.clause.measure.as_ref().is_some_and(|m| !m.is_bare() && !m.only_tolerance)
                {
                    let why = Why::NotUnderstood("where this figure belongs");
                    unplaced.push(Unplaced { line: fact.line, span: fact.span.clone(), words, why });
                }
            }
            Outcome::Nowhere(why) => {
                let again =
                    unplaced.last().is_some_and(|u| u.line == fact.line && u.why == why && u.words == words);
                let figure = fact.clause.measure.as_ref().is_some_and(|m| !m.is_bare());
                let missed = !featured || figure || matches!(why, Why::NoField(_));
                if missed && !again {
                    unplaced.push(Unplaced { line: fact.line, span: fact.span.clone(), words, why });
                }
            }
        }
    }
    (placed, unplaced)
}

/// One fact that is being placed.
pub(crate) struct Work<'a> {
    pub(crate) fact: &'a Fact,
    index: usize,
    pub(crate) overview: Overview,
    pub(super) words: &'a str,
    placed: &'a mut Vec<Placed>,
}

impl Work<'_> {
    /// Puts a value into a field.
    pub(crate) fn put(&mut self, table: Table, group: &str, field: &'static str, value: Value) {
        self.put_with(table, group, field, value, None, Vec::new());
    }

    /// The same with the way in which it came about, and doubts.
    pub(crate) fn put_with(
        &mut self,
        table: Table,
        group: &str,
        field: &'static str,
        value: Value,
        how: Option<String>,
        doubts: Vec<(DoubtKind, String)>,
    ) {
        // Each kind of device has its own tables.
        let fits = match self.overview.kind {
            DeviceType::Microphone => table == Table::Microphone,
            DeviceType::Booster => table == Table::Booster,
            _ => !matches!(table, Table::Microphone | Table::Booster),
        };
        if !fits {
            return;
        }
        let group = self.group(table, group);
        self.placed.push(Placed {
            path: Path { table, group, field },
            candidate: Candidate {
                value,
                span: self.fact.span.clone(),
                line: self.fact.line,
                words: self.words.to_owned(),
                how,
            },
            or: None,
            doubts,
            with_pad: self.pad_in(),
            fact: self.index,
        });
    }

    /// Adds what to doubt to the last thing that was put.
    pub(crate) fn doubt(&mut self, kind: DoubtKind, sentence: String) {
        if let Some(last) = self.placed.last_mut().filter(|p| p.fact == self.index) {
            last.doubts.push((kind, sentence));
        }
    }

    /// Another value that the last thing may have.
    pub(crate) fn or(&mut self, value: Value) {
        if let Some(last) = self.placed.last_mut().filter(|p| p.fact == self.index) {
            last.or = Some(value);
        }
    }

    /// Columns of single channels make groups of their own.
    fn group(&self, table: Table, group: &str) -> String {
        if table != Table::MicrophoneInputs {
            return group.to_owned();
        }
        self.fact.column_label().unwrap_or_else(|| group.to_owned())
    }

    /// Whether the words say that the pad is in.
    pub(crate) fn pad_in(&self) -> bool {
        let clause = &self.fact.clause;
        let here = clause.own.and(clause.sub).and(self.fact.atoms);
        here.has(Atom::Pad)
            && !here.has(Atom::Without)
            && (here.has(Atom::With) || clause.own.has(Atom::Pad) || clause.sub.has(Atom::Pad))
    }

    /// All that words beside the figure, its label and its headings mean.
    pub(crate) fn any(&self, atoms: &[Atom]) -> bool {
        let all = self.fact.atoms.and(self.fact.channel).and(self.fact.side);
        all.any(Atoms::of(atoms))
    }
}

/// More of a line than this is not quoted.
pub(crate) const LONGEST: usize = 140;

/// More of a footnote than this is not quoted.
pub(crate) const LONGEST_NOTE: usize = 600;

/// So many footnotes and headings with conditions are quoted beside a figure.
pub(crate) const QUOTED_NOTES: usize = 3;

/// A line, or the piece in question where the line is long.
pub(crate) fn quoted(text: &str, line: &Range<usize>, piece: &Range<usize>) -> String {
    let line = text.get(line.clone()).unwrap_or_default();
    // The beginning of a very long line is enough to see that it is long.
    let end = line.char_indices().nth(8 * LONGEST).map_or(line.len(), |(at, _)| at);
    let line = line.get(..end).unwrap_or_default();
    let clause = text.get(piece.clone()).unwrap_or_default();
    // Every clause of a long line asks, so that the whole line is not put together for each.
    if is_long(line) && !clause.is_empty() && clause.len() <= LONGEST {
        let mut words = clause.split_whitespace().collect::<Vec<_>>().join(" ");
        words.push('…');
        return words;
    }
    let mut words: String = line.split_whitespace().collect::<Vec<_>>().join(" ");
    if words.chars().count() > LONGEST {
        words = words.chars().take(LONGEST).collect();
        words.push('…');
    }
    words
}

/// Whether a line has more letters than are quoted, spaces in a row counted once.
fn is_long(line: &str) -> bool {
    let mut count = 0;
    let mut space = true;
    for c in line.chars() {
        count += usize::from(!(c.is_whitespace() && space));
        space = c.is_whitespace();
        // The space at the end is not quoted.
        if count > LONGEST + 1 {
            return true;
        }
    }
    count - usize::from(space && count > 0) > LONGEST
}

/// The line of a fact, shortened, with the footnotes to which it refers.
pub(crate) fn words_of(text: &str, fact: &Fact) -> String {
    let mut words = quoted(text, &fact.line_span, &fact.span);
    // A value that lost its row in copying stands elsewhere.
    let (line, piece) = (&fact.line_span, &fact.span);
    if piece.start >= line.end || piece.end <= line.start {
        let value = quoted(text, piece, piece);
        words.push_str(&format!(" … {value}"));
    }
    // The words of a footnote are words behind the figure, too.
    for footnote in fact.footnotes.iter().take(QUOTED_NOTES) {
        let said = text.get(footnote.clone()).unwrap_or_default();
        let said: String =
            said.split_whitespace().collect::<Vec<_>>().join(" ").chars().take(LONGEST_NOTE).collect();
        if !said.is_empty() {
            words.push_str(&format!(" [{said}]"));
        }
    }
    words
}
