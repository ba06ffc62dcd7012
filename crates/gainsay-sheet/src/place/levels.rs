//! Levels, noise, impedances and currents of preamps, interfaces, converters and boosters.

use super::figures::{Written, figure as written};
use super::front_end::Group;
use super::{Outcome, Work};
use crate::doubts::DoubtKind;
use crate::grammar::{Measure, Numbers};
use crate::lexicon::{Atom as A, QUANTITIES};
use crate::reading::{Table, Value};
use crate::words;
use gainsay_gear::DeviceType;
use gainsay_units::{Quantity, Unit};

pub(super) fn voltage(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    let fact = work.fact;
    let Some(found) = written(measure, &fact.clause.terms) else { return Outcome::Nothing };
    let dbu = found.quantity.unit.to_base(found.quantity.number);
    let volts = matches!(found.quantity.unit, Unit::Volt | Unit::Millivolt);
    let noise = fact.has(A::Ein) || fact.has(A::Noise) || fact.has(A::SelfNoise);
    // "+48 V" at an input is phantom power, whether it is called so or not.
    let supply = [A::Supply, A::Voltage, A::Maximum, A::FullScale].into_iter().any(|atom| fact.has(atom));
    let phantom = work.any(&[A::Phantom]) || (super::features::is_48_volts(measure) && !supply);
    if phantom && volts && !noise && !fact.has(A::Level) {
        let supplies = (5.0..=60.0).contains(&found.quantity.number);
        if supplies && !work.is_booster() {
            work.put(Table::MicrophoneInputs, "", "phantom", Value::Yes(true));
            return Outcome::Nothing;
        }
        return Outcome::no_field("the voltage of phantom power");
    }
    if noise && dbu < -50.0 {
        return ein(work, found);
    }
    if noise {
        return if fact.has(A::Ein) { ein(work, found) } else { Outcome::no_field("noise") };
    }
    if fact.has(A::Dynamic) || fact.has(A::Supply) {
        return Outcome::no_field("a level beside another figure");
    }
    let mut found = found;
    if measure.loose_sign && found.quantity.number < 0.0 {
        // "Max input – 22 dBu": the dash may stand between label and value, or be the sign. A level far below zero is no
        // highest level of anything.
        let turned = Quantity { number: -found.quantity.number, ..found.quantity };
        let sign = found.quantity.number > -10.0;
        found.or = Some(if sign { turned } else { found.quantity });
        found.quantity = if sign { found.quantity } else { turned };
        found.dash = true;
    }
    let level = fact.has(A::Level)
        || fact.has(A::FullScale)
        || fact.has(A::Maximum)
        || fact.has(A::Minimum)
        || fact.has(A::Sensitivity);
    // "Full-scale level: +24 dBu (inputs and outputs)"
    let both = fact.side.has(A::Input)
        && fact.side.has(A::Output)
        && (fact.has(A::FullScale) || fact.has(A::Maximum));
    if both && !work.any(&[A::Microphone, A::Instrument]) && !work.is_booster() {
        let again = written(measure, &fact.clause.terms).map(Written::plain);
        let (table, field) = match work.overview.kind {
            DeviceType::Preamp => (Table::MicrophoneInputs, "maximum_output"),
            _ => (Table::LineOutputs, "maximum_output"),
        };
        if let Some(again) = again {
            work.put_written(table, "", field, again);
        }
    }
    if work.is_output() {
        if fact.has(A::Minimum) {
            return Outcome::no_field("a lowest output level");
        }
        return match work.overview.kind {
            DeviceType::Booster => {
                work.put_written(Table::Booster, "", "maximum_output", found.plain());
                Outcome::Nothing
            }
            DeviceType::Preamp => {
                work.put_written(Table::MicrophoneInputs, "", "maximum_output", found.plain());
                Outcome::Nothing
            }
            _ => {
                let group = output_group(work);
                work.put_written(Table::LineOutputs, group, "maximum_output", found.plain());
                Outcome::Nothing
            }
        };
    }
    if work.is_booster() {
        return Outcome::no_field("an input level of a booster");
    }
    let somewhere = work.any(&[A::Input, A::Microphone, A::Line, A::Instrument, A::Return, A::Adc]);
    if !level && !somewhere {
        return Outcome::unclear("what this level is of");
    }
    if fact.has(A::Minimum) && !fact.has(A::Maximum) || (fact.has(A::Sensitivity) && !fact.has(A::Maximum)) {
        return least_input(work, found);
    }
    if !fact.has(A::Maximum) && !fact.has(A::FullScale) && !level {
        // "Inputs: 8, D-sub, +20 dBu": so high a level beside a count or connector can only be the highest.
        let place = !fact.label.any(QUANTITIES) && matches!(measure.numbers, Numbers::One(_));
        if !(place && dbu >= LEAST_HIGHEST_DBU) {
            return Outcome::unclear("what this level is of");
        }
        let outcome = work.put_input("maximum_input", Some("full_scale"), found.plain());
        work.doubt(DoubtKind::Ambiguous, words::highest_supposed());
        return outcome;
    }
    if let Numbers::Range(low, high) = measure.numbers {
        // "−40 to +10 dBu": the level range of an input.
        let number = |number: f64| Written {
            quantity: Quantity { number, ..found.quantity },
            how: None,
            dbm: found.dbm,
            or: None,
            dash: false,
        };
        let (low, high) = if low <= high { (low, high) } else { (high, low) };
        let _ = least_input(work, number(low).plain());
        return work.put_input("maximum_input", Some("full_scale"), number(high).plain());
    }
    if !somewhere
        && !fact.has(A::Input)
        && matches!(work.overview.kind, DeviceType::Interface | DeviceType::Converter)
        && fact.has(A::FullScale)
    {
        // Neither input nor output is named.
        let quantity = found.quantity;
        let outcome = work.put_input("maximum_input", Some("full_scale"), found.plain());
        let _ = quantity;
        work.doubt(DoubtKind::Ambiguous, words::input_or_output());
        return outcome;
    }
    work.put_input("maximum_input", Some("full_scale"), found.plain())
}

/// Levels at an input that are not called highest are nominal ones below this (common practice, no source).
const LEAST_HIGHEST_DBU: f64 = 8.0;

/// A lowest input level has no field; the gain range is checked against it.
fn least_input(work: &mut Work<'_>, found: Written) -> Outcome {
    if matches!(work.input_group(), Some((Group::Microphone, _))) && !work.pad_in() {
        work.put_written(Table::MicrophoneInputs, "", "least_input", found.plain());
    }
    Outcome::no_field("a lowest input level, which the gain range is checked against")
}

fn output_group(work: &Work<'_>) -> &'static str {
    if work.any(&[A::Send, A::Insert]) { "send" } else { "" }
}

fn ein(work: &mut Work<'_>, found: Written) -> Outcome {
    let fact = work.fact;
    let line = work.any(&[A::Line, A::Instrument, A::Dac, A::Adc]) && !work.any(&[A::Microphone, A::Preamp]);
    if line || (work.is_output() && !fact.has(A::Ein)) {
        return Outcome::no_field("noise of line inputs or outputs");
    }
    let mut found = found.with_source_and_band(fact);
    let mut dropped_sign = false;
    if found.quantity.number > 60.0 && matches!(found.quantity.unit, Unit::Dbu | Unit::Dbv) {
        // A noise is always far below 0 dBu: the sign was lost, or taken for a dash.
        found.quantity.number = -found.quantity.number;
        dropped_sign = true;
    }
    let gain = fact.clause.terms.gain;
    let table = if work.is_booster() { Table::Booster } else { Table::MicrophoneInputs };
    if let Some(gain) = gain {
        let at = format!("at {} gain", Quantity::new(gain, Unit::Decibel));
        found.how = Some(found.how.map_or(at.clone(), |how| format!("{how}; {at}")));
    }
    work.put_written(table, "", "ein", found);
    if dropped_sign {
        work.doubt(DoubtKind::Ambiguous, words::lost_sign());
    }
    Outcome::Nothing
}

pub(super) fn resistance(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    let fact = work.fact;
    let Some(found) = written(measure, &fact.clause.terms).map(Written::plain) else {
        return Outcome::Nothing;
    };
    if fact.has(A::Load) {
        return Outcome::no_field("a load");
    }
    if work.any(&[A::Digital, A::Coaxial, A::Aes3, A::WordClock, A::Iec60958, A::Aes10]) {
        return Outcome::no_field("impedance of digital connections");
    }
    if work.any(&[A::Phantom]) && !fact.has(A::Impedance) {
        return Outcome::no_field("feed resistors of phantom power");
    }
    // Switchable, or a span: which holds is not said.
    let several = matches!(measure.numbers, Numbers::Range(..) | Numbers::List(_));
    if work.is_output() {
        match work.overview.kind {
            DeviceType::Booster => work.put_written(Table::Booster, "", "output_impedance", found),
            DeviceType::Preamp => work.put_written(Table::MicrophoneInputs, "", "output_impedance", found),
            _ => {
                let group = output_group(work);
                work.put_written(Table::LineOutputs, group, "output_impedance", found);
            }
        }
        if several {
            work.doubt(DoubtKind::Ambiguous, words::several_impedances());
        }
        return Outcome::Nothing;
    }
    if !work.any(&[A::Input, A::Microphone, A::Line, A::Instrument, A::Return, A::Adc, A::Impedance]) {
        return Outcome::unclear("whose impedance this is");
    }
    let nowhere = !work.any(&[A::Input, A::Microphone, A::Line, A::Instrument, A::Return, A::Adc]);
    if nowhere && fact.has(A::Source) {
        return Outcome::no_field("impedance of the source");
    }
    if work.is_booster() {
        work.put_written(Table::Booster, "", "input_impedance", found);
    } else {
        let outcome = work.put_input("input_impedance", Some("input_impedance"), found);
        if several {
            work.doubt(DoubtKind::Ambiguous, words::several_impedances());
        }
        if !matches!(outcome, Outcome::Nothing) {
            return outcome;
        }
    }
    if nowhere {
        work.doubt(DoubtKind::Ambiguous, words::input_or_output());
    }
    Outcome::Nothing
}

pub(super) fn current(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    let fact = work.fact;
    let Some(found) = written(measure, &fact.clause.terms).map(Written::plain) else {
        return Outcome::Nothing;
    };
    if work.is_booster() {
        if fact.has(A::Current) || fact.has(A::Consumption) || work.any(&[A::Phantom]) {
            work.put_written(Table::Booster, "", "phantom_current", found);
            return Outcome::Nothing;
        }
        return Outcome::unclear("which current this is");
    }
    if !work.any(&[A::Phantom]) {
        return Outcome::no_field("a current that is not phantom power's");
    }
    if fact.has(A::Total) {
        work.put_written(Table::Device, "", "phantom_current_total", found);
    } else {
        work.put_written(Table::MicrophoneInputs, "", "phantom_current", found);
    }
    Outcome::Nothing
}
