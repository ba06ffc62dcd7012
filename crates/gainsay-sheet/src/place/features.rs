//! What inputs and outputs are: how many, with which connectors, balanced or not; and what the whole device is connected to.

use super::{Work, computer};
use crate::facts::Fact;
use crate::grammar::{Measure, Numbers};
use crate::lexicon::{Atom as A, Atoms, CONNECTORS, FORMATS, QUANTITIES};
use crate::reading::{Table, Value};
use gainsay_gear::DeviceType;
use gainsay_units::Unit;

/// The word for a connector among these meanings.
pub(super) fn connector(atoms: Atoms) -> Option<&'static str> {
    let has = |atom: A| atoms.has(atom);
    Some(if has(A::Combo) {
        "xlr-or-jack"
    } else if has(A::Xlr) {
        "xlr"
    } else if has(A::MiniJack) {
        "mini-jack"
    } else if has(A::JackBalanced) || (has(A::Jack) && has(A::Balanced)) {
        "jack-balanced"
    } else if has(A::JackUnbalanced) || (has(A::Jack) && has(A::Unbalanced)) {
        "jack-unbalanced"
    } else if has(A::Phono) {
        "phono"
    } else if has(A::D25) {
        "d25"
    } else if has(A::Captive) {
        "captive"
    } else {
        return None;
    })
}

/// A count in a clause: "4 x", "4 inputs", "1–8".
pub(super) fn count(measure: &Measure) -> Option<u32> {
    // The plus of "4 × XLR + 4 × jack" is no sign.
    if !measure.is_bare() || measure.signed && !(measure.times && measure.first() > 0.0) {
        return None;
    }
    let whole = |value: f64| {
        ((value - value.round()).abs() < 1e-9 && (1.0..=256.0).contains(&value))
            .then_some(value.round() as u32)
    };
    match measure.numbers {
        Numbers::One(value) => whole(value),
        // "Inputs 1–8"
        Numbers::Range(low, high) if high > low => Some(whole(high)?.checked_sub(whole(low)?)? + 1),
        _ => None,
    }
}

/// The count in a clause, which "8 channels" states by words.
pub(super) fn counted(fact: &Fact) -> Option<u32> {
    let own = fact.clause.own.and(fact.clause.sub);
    match &fact.clause.measure {
        Some(measure) => count(measure),
        None if !own.has(A::Channels) || own.has(A::Optical) => None,
        None if own.has(A::EightChannel) => Some(8),
        None if own.has(A::TwoChannel) => Some(2),
        None => None,
    }
}

/// Whether a figure is the voltage of phantom power (IEC 61938).
pub(super) fn is_48_volts(measure: &Measure) -> bool {
    measure.known() == Some(Unit::Volt)
        && (measure.first() - 48.0).abs() < 1e-9
        && matches!(measure.numbers, Numbers::One(_))
}

/// Features of a booster; whether anything was found.
pub(super) fn booster(work: &mut Work<'_>) -> bool {
    let fact = work.fact;
    let own = fact.clause.own.and(fact.clause.sub);
    let mut found = stage(work, Table::Booster);
    // "Phantom power at the microphone: no"
    let there = fact.label.has(A::Phantom) && fact.label.any(Atoms::of(&[A::Microphone, A::Input]));
    let answer = fact.clause.measure.is_none() && (own.has(A::Yes) || own.has(A::No));
    if fact.has(A::Passes) || there && answer {
        let passes = !own.has(A::No);
        work.put(Table::Booster, "", "passes_phantom", Value::Yes(passes));
        found = true;
    }
    found
}

/// What an input is built from.
fn stage(work: &mut Work<'_>, table: Table) -> bool {
    let fact = work.fact;
    let own = fact.clause.own.and(fact.clause.sub);
    let named = fact.has(A::Stage);
    let words =
        [(A::Transformer, "transformer"), (A::Fet, "fet"), (A::Bipolar, "bipolar"), (A::Valve, "valve")];
    for (atom, word) in words {
        let here =
            own.has(atom) || (named && fact.atoms.has(atom)) || (fact.label.has(atom) && own.has(A::Yes));
        let line = work.any(&[A::Line, A::Instrument]) && !work.any(&[A::Microphone]);
        let input = (own.has(A::Input) || fact.side.has(A::Input) && !own.has(A::Output)) && !line;
        let said = named
            || (matches!(atom, A::Transformer | A::Fet | A::Bipolar) && input)
            || (atom == A::Fet && table == Table::Booster);
        if here && said {
            work.put(table, "", "input_stage", Value::Word(word));
            return true;
        }
    }
    false
}

/// Where features of an analogue connection belong.
fn place(work: &Work<'_>) -> Option<(Table, &'static str)> {
    let any = |list: &[A]| work.any(list);
    if any(&[A::Headphones, A::Digital, A::Computer, A::WordClock]) || work.fact.channel.any(FORMATS) {
        return None;
    }
    if any(&[A::Microphone, A::Preamp]) && (any(&[A::Input]) || !any(&[A::Output])) {
        return Some((Table::MicrophoneInputs, ""));
    }
    if any(&[A::Instrument]) && (any(&[A::Input]) || !any(&[A::Output])) {
        return Some((Table::LineInputs, "instrument"));
    }
    if any(&[A::Return]) {
        return Some((Table::LineInputs, "return"));
    }
    if any(&[A::Send]) {
        return Some((Table::LineOutputs, "send"));
    }
    if any(&[A::Output, A::Monitor]) && !any(&[A::Input]) {
        return Some((Table::LineOutputs, ""));
    }
    if any(&[A::Line]) {
        return Some((Table::LineInputs, "line"));
    }
    if any(&[A::Input]) {
        let combination = work.fact.clause.own.has(A::Combo) || work.fact.clause.own.has(A::Xlr);
        let microphone = work.overview.kind == DeviceType::Preamp
            || (work.overview.microphone && (!work.overview.other_inputs || combination));
        return Some(if microphone { (Table::MicrophoneInputs, "") } else { (Table::LineInputs, "line") });
    }
    None
}

/// A jack without more words: of an instrument it has two poles, elsewhere three.
fn plain_jack(own: Atoms, table: Table, group: &str) -> Option<&'static str> {
    own.has(A::Jack).then_some(match table {
        Table::LineInputs if group == "instrument" => "jack-unbalanced",
        _ => "jack-balanced",
    })
}

/// Features of a preamp, interface or converter; whether anything was found.
pub(super) fn front_end(work: &mut Work<'_>) -> bool {
    let fact = work.fact;
    let own = fact.clause.own.and(fact.clause.sub);
    let mut found = stage(work, Table::MicrophoneInputs) | computer::computer(work);
    let switched = own.has(A::Phantom) && own.has(A::Switched) && !own.any(Atoms::of(&[A::No, A::Without]));
    if fact.channel.has(A::Phantom) && fact.clause.measure.is_none() && (own.has(A::Yes) || switched) {
        work.put(Table::MicrophoneInputs, "", "phantom", Value::Yes(true));
        found = true;
    }
    let phantom = fact.has(A::Phantom) || fact.clause.measure.as_ref().is_some_and(is_48_volts);
    // "Pad: individually switchable" below a heading for phantom power speaks of the pad.
    let told = own.has(A::Phantom) || fact.clause.measure.as_ref().is_some_and(is_48_volts);
    let another = !told && fact.named.any(Atoms::of(&[A::Pad, A::Filter, A::Gain, A::Level]));
    if phantom && !another && own.any(Atoms::of(&[A::Separately, A::Together])) {
        let together = own.has(A::Together) && !own.has(A::Separately);
        // What is switched is there.
        if fact.has(A::Phantom) && !own.any(Atoms::of(&[A::No, A::Without])) {
            work.put(Table::MicrophoneInputs, "", "phantom", Value::Yes(true));
        }
        work.put(Table::MicrophoneInputs, "", "phantom_together", Value::Yes(together));
        work.mark_switch();
        found = true;
    }
    let named = own.has(A::LevelControl) || fact.label.has(A::LevelControl);
    // "Output level: rotary control", "with output level control"
    let level = fact.label.has(A::Level)
        && fact.side.has(A::Output)
        && fact.clause.measure.is_none()
        && own.has(A::Control);
    let elsewhere = work.any(&[A::Headphones, A::Monitor]);
    if (named || level) && work.overview.kind == DeviceType::Preamp && !elsewhere {
        let there = !own.any(Atoms::of(&[A::No, A::Without]));
        work.put(Table::MicrophoneInputs, "", "output_level_control", Value::Yes(there));
        found = true;
    }
    let bare = fact.clause.measure.as_ref().is_none_or(Measure::is_bare);
    if !bare {
        // "Impedance: 15 kΩ, balanced"; "Mic input: XLR, impedance 2 kΩ"
        let output = work.overview.kind == DeviceType::Preamp;
        match place(work) {
            Some((Table::LineOutputs, "")) if output => {
                if let Some(connector) = connector(own).filter(|_| !fact.label.any(QUANTITIES)) {
                    work.put(Table::MicrophoneInputs, "", "output_connector", Value::Word(connector));
                }
            }
            Some((table, group)) => {
                let said = connector(own).or_else(|| plain_jack(own, table, group));
                if let Some(connector) = said.filter(|_| !fact.label.any(QUANTITIES)) {
                    work.put(table, group, "connector", Value::Word(connector));
                }
                let line = matches!(table, Table::LineInputs | Table::LineOutputs);
                if line && own.has(A::Balanced) != own.has(A::Unbalanced) {
                    work.put(table, group, "balanced", Value::Yes(own.has(A::Balanced)));
                }
            }
            None => {}
        }
        return found;
    }
    let counted = counted(fact);
    let preamp = work.overview.kind == DeviceType::Preamp;
    // "Channels: 2"
    if preamp
        && fact.label.has(A::Channels)
        && !fact.atoms.without(Atoms::of(&[A::CountOf])).any(QUANTITIES)
        && !work.any(&[A::Output, A::Line, A::Instrument])
        && let Some(count) = counted
    {
        work.put(Table::MicrophoneInputs, "", "count", Value::Count(count));
        work.mark_count(count);
        return true;
    }
    // A quantity that is counted in something else: "Latency: 12", "Gain: 4".
    let apart = Atoms::of(&[A::CountOf, A::ConnectorOf, A::Stage, A::TransducerOf]);
    let quantities = fact.atoms.without(apart).any(QUANTITIES);
    if quantities {
        return found;
    }
    if work.overview.kind == DeviceType::Interface && computer::speaks_of_channels(work) {
        return found;
    }
    let Some((table, group)) = place(work) else { return found };
    let preamp_output =
        work.overview.kind == DeviceType::Preamp && table == Table::LineOutputs && group.is_empty();
    let said = own.and(fact.atoms);
    let connector = connector(own).or_else(|| plain_jack(own, table, group));
    let times =
        fact.clause.measure.as_ref().is_some_and(|m| m.times || matches!(m.numbers, Numbers::Range(..)));
    let counts = counted.filter(|_| {
        times
            || fact.label.has(A::CountOf)
            || own.any(CONNECTORS)
            || own.any(Atoms::of(&[
                A::Channels,
                A::Microphone,
                A::Line,
                A::Instrument,
                A::Input,
                A::Output,
                A::Send,
                A::Return,
                A::Preamp,
            ]))
            || fact.label.any(Atoms::of(&[
                A::Input,
                A::Output,
                A::Channels,
                A::Microphone,
                A::Line,
                A::Instrument,
            ]))
    });
    // "Inputs and outputs are on XLR."
    if preamp
        && work.any(&[A::Output])
        && work.any(&[A::Input])
        && let Some(connector) = connector
    {
        work.put(Table::MicrophoneInputs, "", "output_connector", Value::Word(connector));
    }
    if preamp_output {
        if let Some(connector) = connector {
            work.put(Table::MicrophoneInputs, "", "output_connector", Value::Word(connector));
            found = true;
        }
        return found || counts.is_some();
    }
    // "Interface, 10 in, 8 out": what a title counts are all kinds together.
    let all_kinds = work.overview.title == Some(fact.line)
        && work.overview.kind != DeviceType::Preamp
        && !work.any(&[A::Microphone, A::Line, A::Instrument, A::Preamp]);
    // "48 V, one switch for the four inputs" counts no inputs.
    let switched = work.any(&[A::Phantom]) || own.any(Atoms::of(&[A::Together, A::Separately, A::Switched]));
    if let Some(count) = counts.filter(|_| !all_kinds && !switched) {
        work.put(table, group, "count", Value::Count(count));
        work.mark_count(count);
        work.mark_kind(count);
        found = true;
    }
    if let Some(connector) = connector {
        work.put(table, group, "connector", Value::Word(connector));
        found = true;
    }
    let line = matches!(table, Table::LineInputs | Table::LineOutputs);
    if line
        && said.any(Atoms::of(&[A::Balanced, A::Unbalanced]))
        && !said.all(Atoms::of(&[A::Balanced, A::Unbalanced]))
    {
        // "Balanced: no"
        let denied = fact.named.has(A::Balanced) && own.has(A::No) && !own.has(A::Balanced);
        work.put(table, group, "balanced", Value::Yes(said.has(A::Balanced) && !denied));
        found = true;
    }
    found
}

/// "Two-channel preamp", "Préamplificateur, un canal": how many channels the title names, and whether it says "channel".
pub(crate) fn channels_in_words(title: &str) -> Option<(u32, bool)> {
    const NUMBERS: &[(u32, &[&str])] = &[
        (1, &["single", "one", "mono", "1", "ein", "un", "une"]),
        (2, &["two", "dual", "2", "zwei", "deux"]),
        (3, &["three", "3", "drei", "trois"]),
        (4, &["four", "quad", "4", "vier", "quatre"]),
        (6, &["six", "6", "sechs"]),
        (8, &["eight", "8", "acht", "huit"]),
        (10, &["ten", "10", "zehn", "dix"]),
        (12, &["twelve", "12", "zwölf", "douze"]),
        (16, &["sixteen", "16", "sechzehn", "seize"]),
    ];
    const CHANNELS: &[&str] = &["channel", "kanal", "kanäl", "canal", "canaux", "voie"];
    let lower = title.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).collect();
    let number = |word: &str| NUMBERS.iter().find(|(_, known)| known.contains(&word)).map(|(n, _)| *n);
    const ALONE: &[(u32, &[&str])] = &[
        (1, &["mono", "einfach", "einkanal"]),
        (2, &["dual", "stereo", "zweifach", "double", "stéréo"]),
        (4, &["quad", "vierfach", "quadruple"]),
        (8, &["achtfach", "octal", "octuple"]),
        (16, &["sechzehnfach"]),
    ];
    let named = words.iter().enumerate().find_map(|(index, word)| {
        let next = words.get(index + 1);
        let apart = next.is_some_and(|next| CHANNELS.iter().any(|c| next.starts_with(c)));
        if apart {
            return number(word);
        }
        CHANNELS.iter().find_map(|channel| number(word.get(..word.find(channel)?)?))
    });
    let alone = |word: &&str| ALONE.iter().find(|(_, known)| known.contains(word)).map(|(n, _)| *n);
    named.map(|count| (count, true)).or_else(|| words.iter().find_map(alone).map(|count| (count, false)))
}
