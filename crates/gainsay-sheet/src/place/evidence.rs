//! How well a count or an answer is supported by the words that it was read from.

use super::Work;
use crate::doubts::DoubtKind;
use crate::grammar::Numbers;
use crate::lexicon::{Atom as A, Atoms, CONNECTORS, FORMATS, PLACES};
use crate::words;
use gainsay_gear::DeviceType;

/// Words for what a number of connections counts.
const COUNTED: Atoms = CONNECTORS.and(PLACES.without(Atoms::of(&[A::Phantom]))).and(Atoms::of(&[
    A::Channels,
    A::CountOf,
    A::Bnc,
    A::Ethernet,
    A::Usb,
    A::Fibre,
    A::Balanced,
    A::Unbalanced,
    A::Location,
    A::ConnectorOf,
]));

/// Words of somebody who tells a story, in whose sentences a number may count anything.
const PERSONAL: &[&str] =
    &["we", "my", "our", "ich", "wir", "mein", "meine", "meinen", "unser", "unsere", "nous", "notre"];

impl Work<'_> {
    /// Marks the count that was just put, unless it stands directly with the word for what it counts.
    pub(super) fn mark_count(&mut self, count: u32) {
        if !self.is_counted() {
            let sentence = words::count_from_context(count, self.words);
            self.doubt(DoubtKind::TakenFromContext, sentence);
        }
    }

    fn is_counted(&self) -> bool {
        let fact = self.fact;
        let clause = &fact.clause;
        let Some(measure) = &clause.measure else { return true };
        let labels = fact.named.any(COUNTED);
        let range = matches!(measure.numbers, Numbers::Range(..));
        let beside = measure.times || clause.beside.any(COUNTED);
        // "Line outputs: 8, XLR", but not "Line outputs: XLR, 8".
        // A line of nothing but the number stands below its label.
        let below = fact.label.any(COUNTED) && self.words.trim().parse::<u32>().is_ok();
        let stands = beside || below || labels && (clause.first || range);
        stands && !self.is_personal()
    }

    /// Marks the count that was just put where the words say "in" or "out" and not of which kind.
    pub(super) fn mark_kind(&mut self, count: u32) {
        let kinds =
            [A::Microphone, A::Preamp, A::Line, A::Instrument, A::Return, A::Send, A::Insert, A::Monitor];
        let told =
            self.any(&kinds) || self.fact.label.any(Atoms::of(&[A::Analogue, A::CountOf]).and(CONNECTORS));
        let own = self.fact.clause.own.and(self.fact.clause.sub);
        let told = told || own.any(CONNECTORS.and(Atoms::of(&[A::Analogue])));
        let inputs = self.any(&[A::Input]);
        if inputs && !told && self.overview.kind == DeviceType::Interface {
            let sentence = words::kind_from_context(count, self.words);
            self.doubt(DoubtKind::TakenFromContext, sentence);
        }
    }

    /// Marks what was just put where a person tells it, or where the words speak of each and of all at once.
    pub(super) fn mark_switch(&mut self) {
        let fact = self.fact;
        let own = fact.clause.own.and(fact.clause.sub);
        let named = own.and(fact.named).has(A::Phantom)
            || fact.clause.measure.as_ref().is_some_and(super::features::is_48_volts);
        let both = own.all(Atoms::of(&[A::Separately, A::Together])) || own.has(A::Grouped);
        if both || !named || self.is_personal() {
            let sentence = words::switch_from_context(self.words);
            self.doubt(DoubtKind::TakenFromContext, sentence);
        }
    }

    /// Marks a digital port whose format the label names otherwise than the words beside the count.
    pub(super) fn mark_format(&mut self, format: &str, label: Atoms, taken: Atoms) {
        let other = label.both(FORMATS).without(taken);
        let known = Atoms::of(&[A::Aes3, A::Aes10, A::Aes67, A::Iec60958]);
        if other.any(known) {
            let sentence = words::format_from_context(format, self.words);
            self.doubt(DoubtKind::TakenFromContext, sentence);
        }
    }

    fn is_personal(&self) -> bool {
        let said = self.words;
        let mut words = said.split(|c: char| !c.is_alphanumeric());
        // "I/O" is no person, and neither is a section "I".
        let first =
            ["I ", "I'", "I’"].into_iter().any(|i| said.starts_with(i) || said.contains(&format!(" {i}")));
        let french = said.split([' ', '\'', '’']).zip(said.split([' ', '\'', '’']).skip(1));
        let verbs = ["ai", "suis", "vais", "viens", "pense", "crois", "vous", "te", "l", "les", "en"];
        first
            || words.any(|word| PERSONAL.contains(&word.to_lowercase().as_str()))
            || french.into_iter().any(|(a, b)| matches!(a, "je" | "Je" | "j" | "J") && verbs.contains(&b))
    }
}
