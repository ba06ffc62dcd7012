//! Words that no lexicon holds, beside a figure that was read all the same.
//!
//! A label is understood when all its words are. Where one is not, what the others say may be about something else: "vocal booth
//! input" is no input of the device. Such a reading stands, with a doubt that quotes the words.

use super::Placed;
use crate::doubts::DoubtKind;
use crate::facts::Fact;
use crate::lexicon::in_word;
use crate::reading::Value;
use crate::words;
use std::ops::Range;

/// So many words are quoted.
const QUOTED: usize = 3;

/// Words that leave the meaning of a label as it is.
const PLAIN: &[&str] = &[
    // Words between others.
    "from",
    "with",
    "their",
    "this",
    "that",
    "these",
    "each",
    "both",
    "have",
    "over",
    "into",
    "upon",
    "when",
    "from",
    "eine",
    "einer",
    "einem",
    "einen",
    "beim",
    "dieser",
    "dieses",
    "sein",
    "seine",
    "ihre",
    "wird",
    "werden",
    "sind",
    "dans",
    "leur",
    "leurs",
    "cette",
    "elle",
    "elles",
    "sont",
    "dont",
    "entre",
    // Verbs of stating a value.
    "goes",
    "reaches",
    "sees",
    "deliver",
    "delivers",
    "lies",
    "stands",
    "measures",
    "amounts",
    "runs",
    "powered",
    "reicht",
    "geht",
    "liegt",
    "liefert",
    "liefern",
    "beträgt",
    "betragen",
    "lässt",
    "misst",
    "règle",
    "atteint",
    "vaut",
    "délivre",
    "délivrent",
    "mesure",
    "s'étend",
    "étend",
    "fournit",
    // What kind of thing the label is.
    "referred",
    "model",
    "format",
    "subject",
    "open",
    "ouvert",
    "offen",
];

/// Marks what a fact was placed as, where words of its label, or of a list that it states, are not understood.
pub(super) fn mark(text: &str, fact: &Fact, placed: &mut [Placed]) {
    let label = said(text, &fact.strange);
    let value = said(text, &fact.strange_in_value);
    for one in placed {
        let list = matches!(one.candidate.value, Value::Words(_));
        let strange = if label.is_empty() && list { &value } else { &label };
        let figure = matches!(one.candidate.value, Value::Figure(_) | Value::Count(_) | Value::Words(_));
        if figure && !strange.is_empty() {
            one.doubts.push((DoubtKind::TakenFromContext, words::strange_label(strange)));
        }
    }
}

/// Those words that could change what a label means, each once.
fn said<'a>(text: &'a str, spans: &[Range<usize>]) -> Vec<&'a str> {
    let mut all: Vec<&str> = Vec::new();
    for word in spans.iter().filter_map(|span| text.get(span.clone())) {
        let letters = word.chars().filter(|c| c.is_alphabetic()).count();
        let plain = PLAIN.contains(&word.to_lowercase().as_str());
        if letters >= 4 && word.chars().all(in_word) && !plain && !all.contains(&word) && all.len() < QUOTED {
            all.push(word);
        }
    }
    all
}
