//! How a device reaches the computer, and with how many channels.

use super::Work;
use super::features::counted;
use crate::grammar::{Measure, Numbers};
use crate::lexicon::{Atom as A, Atoms, CONNECTORS, FORMATS, KINDS, QUANTITIES, SIDES};
use crate::reading::{Table, Value};
use gainsay_gear::DeviceType;
use gainsay_units::Unit;

/// Places what a fact says about the computer; whether it said anything.
pub(super) fn computer(work: &mut Work<'_>) -> bool {
    if work.overview.kind != DeviceType::Interface {
        return false;
    }
    channels(work) | link(work)
}

/// Whether a fact speaks of channels to and from the computer.
pub(super) fn speaks_of_channels(work: &Work<'_>) -> bool {
    let fact = work.fact;
    let own = fact.clause.own.and(fact.clause.sub);
    let told = own.has(A::Channels) || fact.label.has(A::Channels);
    let links = Atoms::of(&[A::Usb, A::PciExpress]);
    // "USB: 18 in, 20 out"
    let link = fact.label.any(links) && (told || own.any(SIDES)) || own.any(links) && told;
    let computer = fact.channel.has(A::Computer) || fact.label.has(A::Computer) || link;
    let elsewhere = CONNECTORS.and(Atoms::of(&[A::Microphone, A::Line, A::Instrument, A::Headphones]));
    computer
        && !own.any(elsewhere.and(KINDS))
        && !fact.label.any(FORMATS)
        && (!fact.label.any(KINDS) || link && fact.named.any(links) && work.overview.title != Some(fact.line))
        && (told || own.any(SIDES) || fact.has(A::CountOf))
}

/// "18 in, 20 out", "34 at 44.1/48 kHz, 26 at 88.2/96 kHz": what the computer records counts.
fn channels(work: &mut Work<'_>) -> bool {
    let fact = work.fact;
    let own = fact.clause.own.and(fact.clause.sub);
    if !speaks_of_channels(work) || own.has(A::Output) && !own.has(A::Input) {
        return false;
    }
    let times = fact.clause.measure.as_ref().is_some_and(|m| m.times);
    // "18 à 48 kHz" is no span.
    let at = fact.clause.measure.as_ref().and_then(|measure| match (&measure.numbers, measure.known()) {
        (Numbers::Range(number, rate), Some(Unit::Kilohertz))
            if number.fract().abs() < 1e-9 && *number >= 1.0 =>
        {
            Some((*number as u32, rate * 1e3))
        }
        _ => None,
    });
    let count = at.map(|(count, _)| count).or_else(|| counted(fact)).filter(|_| !times);
    let Some(count) = count else { return false };
    // The lowest rate that is named.
    let terms = &fact.clause.terms;
    let rate = at.map(|(_, rate)| rate).or(terms.spot).or(terms.band.map(|(low, _)| low));
    let field = match rate {
        Some(rate) if rate > 150_000.0 => "computer_channels_192",
        Some(rate) if rate > 60_000.0 => "computer_channels_96",
        _ => "computer_channels",
    };
    work.put(Table::Device, "", field, Value::Count(count));
    true
}

fn link(work: &mut Work<'_>) -> bool {
    let fact = work.fact;
    let own = fact.clause.own.and(fact.clause.sub);
    let all = own.and(fact.label).and(fact.atoms);
    let computer = fact.channel.has(A::Computer) || fact.label.has(A::Computer);
    let title = fact.label.has(A::KindInterface) || own.has(A::KindInterface);
    let word = if all.has(A::Usb) && !all.has(A::Supply) {
        "usb"
    } else if all.has(A::PciExpress) {
        "pci-express"
    } else if (computer || title) && all.has(A::Ethernet) {
        "ethernet"
    } else if own.has(A::Recorder) {
        "recorder"
    } else {
        return false;
    };
    let bare = fact.clause.measure.as_ref().is_none_or(Measure::is_bare);
    // "USB-C, bus-powered, 2.5 W"
    let links = Atoms::of(&[A::Usb, A::PciExpress, A::Recorder]);
    let listed = own.any(links) || fact.label.any(links) && !fact.label.any(QUANTITIES);
    if bare || listed || fact.label.has(A::KindInterface) {
        work.put(Table::Device, "", "computer", Value::Word(word));
        return true;
    }
    false
}
