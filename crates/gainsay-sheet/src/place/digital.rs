//! Digital ports and clocks.

use super::Work;
use super::features::count;
use crate::doubts::DoubtKind;
use crate::grammar::Measure;
use crate::lexicon::{Atom as A, Atoms, FORMATS, SIDES};
use crate::reading::{Table, Value};
use crate::words;

/// A format, and whether that had to be supposed.
struct Format {
    word: &'static str,
    supposed: Option<&'static str>,
    second: Option<&'static str>,
}

const fn sure(word: &'static str) -> Format {
    Format { word, supposed: None, second: None }
}

/// Places what a fact says about digital ports and clocks; whether it said anything.
pub(super) fn digital(work: &mut Work<'_>) -> bool {
    let fact = work.fact;
    let own = fact.clause.own.and(fact.clause.sub);
    let all = own.and(fact.channel).and(fact.atoms);
    if fact.label.has(A::WordClock) && fact.label.any(SIDES) {
        return word_clock(work);
    }
    // "Digital and clock" over "Eight-channel optical: 2 inputs": a port that the label names.
    let port = fact.label.has(A::Digital)
        && fact.named.any(FORMATS)
        && own.any(SIDES)
        && fact.clause.measure.as_ref().is_some_and(Measure::is_bare)
        && !own.has(A::ClockOf);
    if (fact.has(A::ClockOf) || fact.label.has(A::ClockOf)) && !port {
        return clock(
            work,
            own.and(if fact.clause.measure.is_none() { Atoms::NONE } else { fact.channel.both(FORMATS) }),
        );
    }
    if all.has(A::WordClock) {
        return word_clock(work);
    }
    // "Supply by USB" below a heading for a format speaks of no port.
    if fact.clause.measure.as_ref().is_some_and(|m| !m.is_bare()) || own.has(A::Supply) {
        return false;
    }
    // "Optical (8 channels): 2 × optical": how many channels is said beside the name.
    let widths = Atoms::of(&[A::EightChannel, A::TwoChannel]);
    let label = if fact.named.any(FORMATS) { fact.named } else { fact.label };
    let beside = label.both(widths.and(FORMATS));
    let fits = !own.any(FORMATS) || beside.both(FORMATS).without(own.and(TWINS)).is_empty();
    // "AES10: 1, coaxial on BNC": the label names the format, and the words beside the count its cable.
    let cables = Atoms::of(&[A::Coaxial, A::Optical]);
    let named = fact.named.both(FORMATS);
    let cable = !named.is_empty()
        && !named.any(TWINS)
        && own.any(cables)
        && own.both(FORMATS).without(cables).is_empty()
        && !own.any(widths);
    let here = match (own.any(FORMATS), fits) {
        _ if cable => own.without(cables).and(named),
        (true, true) => own.and(beside),
        (true, false) => own,
        (false, _) => fact.channel.and(fact.atoms).and(beside.both(widths)),
    };
    let said = if cable { here } else { here.and(own) };
    let Some(format) = format(said) else { return false };
    let side = work.fact.side;
    // A network carries both ways: "AES67: 1 × RJ45".
    let both = side.is_empty() && format.word == "aes67" && fact.clause.measure.is_some();
    let side = if both { SIDES } else { side };
    let sides: Vec<Table> = [(A::Input, Table::DigitalInputs), (A::Output, Table::DigitalOutputs)]
        .into_iter()
        .filter(|(atom, _)| side.has(*atom))
        .map(|(_, table)| table)
        .collect();
    if sides.is_empty() {
        return false;
    }
    let channels = channels_of_port(fact.clause.measure.as_ref(), own, format.word);
    // "8 channels" is no count of ports.
    let counted = fact.clause.measure.as_ref().and_then(count).filter(|n| {
        // "Eight-channel optical: 2 (both together for eight channels)": the number stands with its label.
        let clause = &fact.clause;
        let stands = clause.first && !clause.beside.any(widths.and(Atoms::of(&[A::Channels])));
        if stands && fact.named.any(FORMATS) {
            return true;
        }
        let channels = own.has(A::Channels) || own.has(A::EightChannel);
        !(channels && *n >= 8 || own.any(Atoms::of(&[A::Microphone, A::Line, A::Instrument])))
            && fact.clause.measure.as_ref().is_some_and(|m| m.times || !own.has(A::Channels))
    });
    for table in sides {
        work.put(table, format.word, "format", Value::Word(format.word));
        if let Some(other) = format.supposed {
            work.or(Value::Word(other));
            work.doubt(DoubtKind::Ambiguous, words::which_format());
        }
        if let Some(second) = format.second {
            work.put(table, format.word, "switchable_to", Value::Words(vec![second]));
        }
        if let Some(channels) = channels {
            work.put(table, format.word, "channels", Value::Count(channels));
        } else if let Some(count) = counted {
            work.put(table, format.word, "count", Value::Count(count));
            work.mark_count(count);
            work.mark_format(format.word, work.fact.named, said);
        }
        if let Some(connector) = connector(own.and(fact.label), format.word) {
            work.put(table, format.word, "connector", Value::Word(connector));
        }
        if own.has(A::RateConverter) && table == Table::DigitalInputs {
            work.put(table, format.word, "sample_rate_converter", Value::Yes(true));
        }
    }
    true
}

/// Formats that share a name with another: an optical port carries two channels of IEC 60958, or eight.
const TWINS: Atoms = Atoms::of(&[A::Optical, A::Coaxial, A::Iec60958]);

/// No device has so many ports of a network.
const MANY: u32 = 8;

/// "32 channels" of a network port, or fewer channels than a format has room for.
fn channels_of_port(measure: Option<&Measure>, own: Atoms, format: &str) -> Option<u32> {
    if !own.has(A::Channels) {
        // "AES67: 64 × 64" are channels in and out: no device has so many sockets of a network.
        let many = measure.and_then(count).filter(|number| format == "aes67" && *number >= MANY);
        return many;
    }
    let room = match format {
        "aes67" => u32::MAX,
        "aes10" => 64,
        _ => return None,
    };
    let eight = own.has(A::EightChannel).then_some(8);
    let number = measure.filter(|m| !m.times).and_then(count).or(eight)?;
    (number >= 2 && number < room).then_some(number)
}

fn connector(atoms: Atoms, format: &str) -> Option<&'static str> {
    let has = |atom: A| atoms.has(atom);
    Some(match format {
        "iec60958-optical" | "eight-channel-optical" => "optical",
        "aes67" if has(A::Ethernet) => "ethernet",
        "aes10" if has(A::Fibre) || has(A::Optical) => "fibre",
        _ if has(A::Bnc) => "bnc",
        _ if has(A::Phono) => "phono",
        _ if has(A::Xlr) => "xlr",
        _ if has(A::D25) => "d25",
        _ => return None,
    })
}

fn format(atoms: Atoms) -> Option<Format> {
    let has = |atom: A| atoms.has(atom);
    if has(A::Aes10) {
        return Some(sure("aes10"));
    }
    if has(A::Aes67) {
        return Some(sure("aes67"));
    }
    if has(A::Optical) {
        let two = has(A::TwoChannel) || has(A::Iec60958);
        return Some(match (has(A::EightChannel), two) {
            (true, true) => {
                Format { word: "eight-channel-optical", supposed: None, second: Some("iec60958-optical") }
            }
            (true, false) => sure("eight-channel-optical"),
            (false, true) => sure("iec60958-optical"),
            // Two channels are the cautious reading.
            (false, false) => {
                Format { word: "iec60958-optical", supposed: Some("eight-channel-optical"), second: None }
            }
        });
    }
    if has(A::Coaxial) {
        return Some(sure("iec60958-coaxial"));
    }
    if has(A::Aes3) {
        return Some(sure("aes3"));
    }
    if has(A::Iec60958) {
        return Some(if has(A::Phono) || has(A::Bnc) {
            sure("iec60958-coaxial")
        } else {
            Format { word: "iec60958-coaxial", supposed: Some("iec60958-optical"), second: None }
        });
    }
    None
}

/// The sources among these meanings.
fn clock(work: &mut Work<'_>, atoms: Atoms) -> bool {
    let has = |atom: A| atoms.has(atom);
    let mut sources: Vec<&'static str> = Vec::new();
    for (atom, word) in [
        (A::Internal, "internal"),
        (A::WordClock, "word-clock"),
        (A::Aes11, "aes11"),
        (A::Aes3, "aes3"),
        (A::Coaxial, "iec60958-coaxial"),
        (A::Aes10, "aes10"),
        (A::Aes67, "aes67"),
    ] {
        if has(atom) {
            sources.push(word);
        }
    }
    if has(A::Optical) {
        let two = has(A::TwoChannel) || has(A::Iec60958) && !has(A::EightChannel);
        if has(A::EightChannel) || !two {
            sources.push("eight-channel-optical");
        }
        if two {
            sources.push("iec60958-optical");
        }
    }
    if sources.is_empty() {
        return false;
    }
    let supposed = has(A::Optical) && !has(A::EightChannel) && !has(A::TwoChannel) && !has(A::Iec60958);
    work.put(Table::Device, "", "clock_sources", Value::Words(sources));
    if supposed {
        work.doubt(DoubtKind::Ambiguous, words::which_format());
    }
    true
}

fn word_clock(work: &mut Work<'_>) -> bool {
    let side = work.fact.side;
    if side.has(A::Input) {
        work.put(Table::Device, "", "clock_sources", Value::Words(vec!["word-clock"]));
    }
    if side.has(A::Output) {
        let there = !work.fact.clause.own.has(A::No);
        work.put(Table::Device, "", "word_clock_output", Value::Yes(there));
    }
    side.has(A::Input) || side.has(A::Output)
}
