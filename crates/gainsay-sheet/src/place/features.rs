//! What inputs and outputs are: how many, with which connectors, balanced or not; and what the whole device is connected to.

use super::Work;
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
    if !measure.is_bare() || measure.signed {
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
    if fact.has(A::Passes) {
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
        let input = (own.has(A::Input) || fact.side.has(A::Input)) && !own.has(A::Output) && !line;
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
    if any(&[A::Instrument]) && !any(&[A::Output]) {
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

/// Features of a preamp, interface or converter; whether anything was found.
pub(super) fn front_end(work: &mut Work<'_>) -> bool {
    let fact = work.fact;
    let own = fact.clause.own.and(fact.clause.sub);
    let mut found = stage(work, Table::MicrophoneInputs) | whole(work);
    if fact.channel.has(A::Phantom) && fact.clause.measure.is_none() && own.has(A::Yes) {
        work.put(Table::MicrophoneInputs, "", "phantom", Value::Yes(true));
        found = true;
    }
    let phantom = fact.has(A::Phantom) || fact.clause.measure.as_ref().is_some_and(is_48_volts);
    if phantom && own.any(Atoms::of(&[A::Separately, A::Together])) {
        let together = own.has(A::Together) && !own.has(A::Separately);
        work.put(Table::MicrophoneInputs, "", "phantom_together", Value::Yes(together));
        found = true;
    }
    if own.has(A::LevelControl) || fact.label.has(A::LevelControl) {
        let there = !own.has(A::No);
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
                if let Some(connector) = connector(own).filter(|_| !fact.label.any(QUANTITIES)) {
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
    let counted = fact.clause.measure.as_ref().and_then(count);
    let preamp = work.overview.kind == DeviceType::Preamp;
    // "Channels: 2"
    if preamp
        && fact.label.has(A::Channels)
        && !fact.atoms.any(QUANTITIES)
        && !work.any(&[A::Output, A::Line, A::Instrument])
        && let Some(count) = counted
    {
        work.put(Table::MicrophoneInputs, "", "count", Value::Count(count));
        return true;
    }
    // A quantity that is counted in something else: "Latency: 12", "Gain: 4".
    let quantities = fact.atoms.without(Atoms::of(&[A::CountOf, A::ConnectorOf])).any(QUANTITIES);
    if quantities {
        return found;
    }
    let Some((table, group)) = place(work) else { return found };
    let preamp_output =
        work.overview.kind == DeviceType::Preamp && table == Table::LineOutputs && group.is_empty();
    let said = own.and(fact.atoms);
    let connector = connector(own).or_else(|| {
        own.any(Atoms::of(&[A::Jack])).then_some(match table {
            Table::LineInputs if group == "instrument" => "jack-unbalanced",
            _ => "jack-balanced",
        })
    });
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
    if preamp_output {
        if let Some(connector) = connector {
            work.put(Table::MicrophoneInputs, "", "output_connector", Value::Word(connector));
            found = true;
        }
        return found || counts.is_some();
    }
    if let Some(count) = counts {
        work.put(table, group, "count", Value::Count(count));
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
        work.put(table, group, "balanced", Value::Yes(said.has(A::Balanced)));
        found = true;
    }
    found
}

/// "Two-channel preamp", "Préamplificateur, un canal": how many channels the title names.
pub(crate) fn channels_in_words(title: &str) -> Option<u32> {
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
    words.iter().enumerate().find_map(|(index, word)| {
        let next = words.get(index + 1);
        let apart = next.is_some_and(|next| CHANNELS.iter().any(|c| next.starts_with(c)));
        if apart {
            return number(word);
        }
        CHANNELS.iter().find_map(|channel| number(word.get(..word.find(channel)?)?))
    })
}

/// What concerns the whole device: its way to the computer.
fn whole(work: &mut Work<'_>) -> bool {
    let fact = work.fact;
    let own = fact.clause.own.and(fact.clause.sub);
    let all = own.and(fact.label).and(fact.atoms);
    if work.overview.kind != DeviceType::Interface {
        return false;
    }
    let computer = fact.channel.has(A::Computer) || fact.label.has(A::Computer);
    let channels = fact.clause.measure.as_ref().and_then(count);
    let inputs = own.has(A::Input) || (own.has(A::Channels) && !own.has(A::Output));
    let mut found = false;
    if let Some(channels) =
        channels.filter(|_| inputs && (computer || (fact.label.has(A::Usb) && all.has(A::Channels))))
    {
        work.put(Table::Device, "", "computer_channels", Value::Count(channels));
        found = true;
    }
    let word = if all.has(A::Usb) && !all.has(A::Supply) {
        "usb"
    } else if all.has(A::PciExpress) {
        "pci-express"
    } else if computer && all.has(A::Ethernet) {
        "ethernet"
    } else if own.has(A::Recorder) {
        "recorder"
    } else {
        return found;
    };
    if fact.clause.measure.as_ref().is_none_or(Measure::is_bare) || fact.label.has(A::KindInterface) {
        work.put(Table::Device, "", "computer", Value::Word(word));
        found = true;
    }
    found
}
