//! Numbers that follow each other behind a word are a span of connections.

use super::Element;
use super::Kind;
use crate::grammar::Numbers;
use crate::lexicon::{Atom, Atoms, PLACES};

/// "Mic 1/2", "Line 3 & 4": numbers that follow each other behind a word are a span of connections.
pub(super) fn of_numbers(text: &str, offset: usize, elements: &mut Vec<Element>) {
    let mut index = 1;
    while index < elements.len() {
        let named =
            elements.get(index - 1).is_some_and(|e| e.atoms().any(PLACES.and(Atoms::of(&[Atom::Channels]))));
        let mut last = index;
        while named && let Some(next) = next_number(text, offset, elements, last) {
            last = next;
        }
        if last > index {
            merge(elements, index, last);
        }
        index += 1;
    }
}

fn whole(element: &Element) -> Option<f64> {
    let measure = element.figure()?;
    match measure.numbers {
        Numbers::One(value)
            if measure.is_bare() && !measure.signed && !measure.times && value.fract() == 0.0 =>
        {
            Some(value)
        }
        _ => None,
    }
}

/// The place of the number that is greater by one, behind a slash or "&".
fn next_number(text: &str, offset: usize, elements: &[Element], at: usize) -> Option<usize> {
    let here = elements.get(at)?;
    let number = whole(here)?;
    let slash = elements.get(at + 1)?.kind == Kind::Slash;
    let listed = elements.get(at + 1)?.kind == Kind::Comma;
    let next = if slash || listed { at + 2 } else { at + 1 };
    let there = elements.get(next)?;
    let between = text.get(here.span.end.checked_sub(offset)?..there.span.start.checked_sub(offset)?)?;
    let comma = listed && elements.get(at + 3).is_none_or(|e| matches!(e.kind, Kind::Comma | Kind::Close));
    let joined = slash || comma || matches!(between.trim(), "&" | "+");
    (joined && (whole(there)? - number - 1.0).abs() < 1e-9).then_some(next)
}

fn merge(elements: &mut Vec<Element>, from: usize, to: usize) {
    let (Some(low), Some(high)) = (elements.get(from).and_then(whole), elements.get(to).and_then(whole))
    else {
        return;
    };
    let end = elements.get(to).map_or(0, |e| e.span.end);
    if let Some(element) = elements.get_mut(from) {
        element.span.end = end;
        if let Kind::Figure(measure) = &mut element.kind {
            measure.numbers = Numbers::Range(low, high);
        }
    }
    elements.drain(from + 1..=to);
}
