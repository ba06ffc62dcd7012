//! Figures and features of microphones.

use super::figures::{Written, figure as written};
use super::front_end::without_field;
use super::{Outcome, Work};
use crate::clause::dimension;
use crate::doubts::DoubtKind;
use crate::grammar::Measure;
use crate::lexicon::{Atom as A, PATTERNS, TRANSDUCERS};
use crate::reading::{Table, Value};
use crate::words;
use gainsay_units::{Conditions, DbSpl, Dimension, Quantity, Unit, Weighting};

const TABLE: Table = Table::Microphone;

/// Places the figure of a fact.
pub(super) fn figure(work: &mut Work<'_>) -> Outcome {
    let fact = work.fact;
    let Some(measure) = fact.clause.measure.clone() else { return Outcome::Nothing };
    let spl = fact.has(A::Spl) || fact.has(A::SelfNoise);
    if !spl && let Some(what) = without_field(work) {
        return Outcome::no_field(what);
    }
    if measure.only_tolerance {
        return Outcome::Nothing;
    }
    match dimension(&measure) {
        Some(Dimension::Sensitivity) => sensitivity(work, &measure),
        Some(Dimension::Ratio | Dimension::SoundLevel) => decibels(work, &measure),
        Some(Dimension::Voltage) => voltage(work, &measure),
        Some(Dimension::Resistance) => {
            if fact.has(A::Load) {
                return Outcome::no_field("a load");
            }
            if !fact.has(A::Impedance) && !work.any(&[A::Output]) {
                // A line of nothing but ohms among a microphone's figures.
                if !fact.label.is_empty() || !fact.clause.own.is_empty() {
                    return Outcome::unclear("whose impedance this is");
                }
                let outcome = put_plain(work, &measure, "impedance");
                work.doubt(DoubtKind::Ambiguous, words::impedance_supposed());
                return outcome;
            }
            put_plain(work, &measure, "impedance")
        }
        Some(Dimension::Current) => {
            if work.any(&[A::Phantom, A::Current, A::Consumption]) {
                return put_plain(work, &measure, "phantom_current");
            }
            Outcome::unclear("which current this is")
        }
        Some(Dimension::Inductance) => put_plain(work, &measure, "inductance"),
        Some(Dimension::Frequency) => Outcome::no_field("a frequency"),
        Some(Dimension::Share) => Outcome::no_field("a percentage"),
        Some(_) => Outcome::no_field("a figure of this unit"),
        None if measure.is_bare() => Outcome::Nothing,
        None => Outcome::no_field("a figure of this unit"),
    }
}

fn put_plain(work: &mut Work<'_>, measure: &Measure, field: &'static str) -> Outcome {
    let Some(found) = written(measure, &work.fact.clause.terms).map(Written::plain) else {
        return Outcome::Nothing;
    };
    put(work, field, found);
    Outcome::Nothing
}

fn put(work: &mut Work<'_>, field: &'static str, found: Written) {
    let Written { quantity, how, or, .. } = found;
    work.put_with(TABLE, "", field, Value::Figure(quantity), how, Vec::new());
    if let Some(or) = or {
        work.or(Value::Figure(or));
        work.doubt(DoubtKind::Ambiguous, words::thousands(&quantity, &or));
    }
}

fn sensitivity(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    let Some(mut found) = written(measure, &work.fact.clause.terms).map(Written::plain) else {
        return Outcome::Nothing;
    };
    let linear = !found.quantity.unit.is_logarithmic();
    if found.quantity.number > 0.0 && !linear {
        // The sign was taken for a dash, or lost: no microphone gives a volt for each pascal.
        found.quantity.number = -found.quantity.number;
        put(work, "sensitivity", found);
        work.doubt(DoubtKind::Ambiguous, words::lost_sign());
    } else {
        put(work, "sensitivity", found);
    }
    agree(work, measure);
    Outcome::Nothing
}

/// Where the sensitivity is stated in two units, both must be the same.
fn agree(work: &mut Work<'_>, measure: &Measure) {
    let Some(this) = in_dbv_per_pascal(measure) else { return };
    for also in &work.fact.clause.also {
        let Some(other) = in_dbv_per_pascal(also) else { continue };
        let apart = (this - other).abs();
        // Both are rounded: half a decibel each way, and the last digit of the millivolts.
        if apart > 1.0 {
            // An old reference explains 20 dB.
            let microbar = (apart - 20.0).abs() < 1.0;
            work.doubt(DoubtKind::SensitivityMismatch, words::sensitivities_apart(this, other, microbar));
        }
    }
}

/// A sensitivity in dB re 1 V/Pa; plain decibels and dBV are taken to be that.
fn in_dbv_per_pascal(measure: &Measure) -> Option<f64> {
    let unit = measure.known()?;
    let number = measure.first();
    Some(match unit {
        Unit::Decibel | Unit::Dbv => number,
        Unit::Millivolt => Unit::MillivoltPerPascal.to_base(number),
        unit if unit.dimension() == Dimension::Sensitivity => unit.to_base(number),
        _ => return None,
    })
    .filter(|base| base.is_finite())
}

/// Below this, a sensitivity in dB can only be re 1 V/µbar: no microphone is so deaf (common practice, no source).
const DEAFEST_DBV_PER_PASCAL: f64 = -66.0;

/// A sensitivity whose reference is not written with its unit.
fn loose_sensitivity(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    let Some(found) = written(measure, &work.fact.clause.terms).map(Written::plain) else {
        return Outcome::Nothing;
    };
    let number = -found.quantity.number.abs();
    let referred = work.fact.clause.terms.pressure;
    let as_pascal = Quantity { number, unit: Unit::DecibelVoltPerPascal, ..found.quantity };
    let as_microbar = Quantity { number, unit: Unit::DecibelVoltPerMicrobar, ..found.quantity };
    // What stands in brackets in mV/Pa settles it.
    let stated = work.fact.clause.also.iter().find_map(|m| {
        m.known().filter(|u| u.dimension() == Dimension::Sensitivity).and(in_dbv_per_pascal(m))
    });
    if let Some(stated) = stated {
        let microbar = (number + 20.0 - stated).abs() < 1.0;
        let quantity = if microbar { as_microbar } else { as_pascal };
        put(work, "sensitivity", Written { quantity, how: None, dbm: false, or: None, dash: false });
        if !microbar {
            agree(work, measure);
        }
        return Outcome::Nothing;
    }
    let (quantity, other) =
        if number < DEAFEST_DBV_PER_PASCAL { (as_microbar, as_pascal) } else { (as_pascal, as_microbar) };
    put(work, "sensitivity", Written { quantity, how: None, dbm: false, or: None, dash: false });
    if !referred {
        work.or(Value::Figure(other));
        work.doubt(DoubtKind::Ambiguous, words::which_reference(&quantity, &other));
    }
    Outcome::Nothing
}

fn voltage(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    let fact = work.fact;
    let unit = measure.known();
    // "Output level at 1 Pa: −56 dBV"
    let at_pascal = fact.has(A::Level) && fact.clause.terms.pressure && !fact.has(A::Maximum);
    if fact.has(A::Sensitivity) || at_pascal {
        return match unit {
            Some(Unit::Dbv) => loose_sensitivity(work, measure),
            Some(Unit::Millivolt) => {
                let quantity = Quantity {
                    tolerance: measure.tolerance,
                    ..Quantity::new(measure.first(), Unit::MillivoltPerPascal)
                };
                let how = Some(words::at_one_pascal());
                put(work, "sensitivity", Written { quantity, how, dbm: false, or: None, dash: false });
                if !fact.clause.terms.pressure {
                    work.doubt(DoubtKind::Ambiguous, words::pressure_not_said());
                }
                agree(work, measure);
                Outcome::Nothing
            }
            _ => Outcome::unclear("a sensitivity in this unit"),
        };
    }
    if work.any(&[A::Phantom, A::Supply]) && matches!(unit, Some(Unit::Volt)) {
        let volts = measure.first();
        if work.any(&[A::Phantom])
            && (9.0..=60.0).contains(&volts)
            && !work.any(&[A::Harmful, A::NotRequired])
        {
            work.put(TABLE, "", "phantom", Value::Word("required"));
            return Outcome::Nothing;
        }
        return Outcome::no_field("a supply voltage");
    }
    Outcome::no_field("a voltage of a microphone")
}

fn decibels(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    let fact = work.fact;
    let level = dimension(measure) == Some(Dimension::SoundLevel);
    if fact.has(A::Sensitivity) && !level {
        return loose_sensitivity(work, measure);
    }
    if fact.has(A::SignalToNoise) {
        return from_ratio(work, measure);
    }
    let noise = fact.has(A::SelfNoise) || fact.has(A::Ein) || (fact.has(A::Noise) && measure.first() < 60.0);
    if noise && !(fact.has(A::Maximum) && fact.has(A::Spl) && !fact.has(A::SelfNoise)) {
        return self_noise(work, measure);
    }
    if fact.has(A::Dynamic) || fact.has(A::Range) {
        return Outcome::no_field(
            "dynamic range of a microphone, which follows from its noise and highest level",
        );
    }
    if fact.has(A::Directivity) {
        return put_plain(work, measure, "directivity_index");
    }
    // "It takes 135 dB SPL at 1 % distortion."
    let limit = level && measure.first() > 100.0 && fact.clause.terms.distortion.is_some();
    if fact.has(A::Spl)
        || limit
        || (level && fact.has(A::Maximum))
        || (fact.has(A::Maximum) && measure.first() > 90.0)
    {
        let Some(found) = written(measure, &fact.clause.terms).map(Written::plain) else {
            return Outcome::Nothing;
        };
        if work.pad_in() {
            return Outcome::no_field("the highest level with the pad in");
        }
        let quantity = Quantity { number: found.quantity.number, unit: Unit::DecibelSpl, ..found.quantity };
        put(work, "maximum_spl", Written { quantity, ..found });
        return Outcome::Nothing;
    }
    if fact.has(A::Pad) {
        let Some(one) = super::figures::other_than_zero(measure) else {
            return Outcome::no_field("a pad of several steps");
        };
        let Some(found) = written(&one, &fact.clause.terms).map(Written::plain) else {
            return Outcome::Nothing;
        };
        let quantity =
            Quantity { number: found.quantity.number.abs(), unit: Unit::Decibel, ..found.quantity };
        put(work, "pad", Written { quantity, ..found });
        return Outcome::Nothing;
    }
    Outcome::unclear("what these decibels are of")
}

fn self_noise(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    let fact = work.fact;
    let Some(mut found) = written(measure, &fact.clause.terms) else { return Outcome::Nothing };
    let weighting = found.quantity.weighting();
    found.quantity = Quantity { conditions: Conditions::default(), unit: Unit::DecibelSpl, ..found.quantity };
    match weighting {
        Some(Weighting::A) => found.quantity.unit = Unit::DecibelA,
        other => found.quantity.conditions.weighting = other,
    }
    put(work, "self_noise", found);
    if weighting.is_none() {
        work.doubt(DoubtKind::NoWeighting, words::noise_without_weighting());
    }
    Outcome::Nothing
}

/// The signal-to-noise ratio of a microphone is stated re 1 Pa, 94 dB SPL (IEC 60268-4).
fn from_ratio(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    let Some(found) = written(measure, &work.fact.clause.terms) else { return Outcome::Nothing };
    let ratio = found.quantity.number;
    let noise = super::front_end::tidy(PASCAL_DB.db_spl() - ratio);
    let weighting = found.quantity.weighting();
    let mut quantity = Quantity::new(noise, Unit::DecibelSpl);
    match weighting {
        Some(Weighting::A) => quantity.unit = Unit::DecibelA,
        other => quantity.conditions.weighting = other,
    }
    let how = Some(words::noise_from_ratio(ratio));
    work.put_with(TABLE, "", "self_noise_from_ratio", Value::Figure(quantity), how, Vec::new());
    if weighting.is_none() {
        work.doubt(DoubtKind::NoWeighting, words::noise_without_weighting());
    }
    Outcome::Nothing
}

/// The level of one pascal as sheets round it.
const PASCAL_DB: DbSpl = DbSpl::new(94.0);

/// Pattern, transducer, phantom power, connector; whether anything was found.
pub(super) fn features(work: &mut Work<'_>) -> bool {
    let fact = work.fact;
    let own = fact.clause.own.and(fact.clause.sub);
    let prose =
        fact.clause.measure.as_ref().is_some_and(|m| !m.is_bare()) && !own.any(PATTERNS.and(TRANSDUCERS));
    let mut found = false;
    let patterns: Vec<&'static str> = [
        (A::Omnidirectional, "omnidirectional"),
        (A::Subcardioid, "subcardioid"),
        (A::Cardioid, "cardioid"),
        (A::Supercardioid, "supercardioid"),
        (A::Hypercardioid, "hypercardioid"),
        (A::FigureOfEight, "figure-of-eight"),
    ]
    .into_iter()
    .filter(|(atom, _)| own.has(*atom))
    .map(|(_, word)| word)
    .collect();
    if !patterns.is_empty() && !prose {
        for pattern in patterns {
            work.put(TABLE, "", "pattern", Value::Word(pattern));
        }
        found = true;
    }
    // "Phantom power: can destroy the ribbon" speaks of phantom power.
    if !prose
        && !fact.label.has(A::Phantom)
        && let Some(transducer) = transducer(work)
    {
        work.put(TABLE, "", "transducer", Value::Word(transducer));
        found = true;
    }
    if fact.has(A::Phantom) || fact.label.has(A::Supply) {
        let word = if fact.has(A::Harmful) {
            Some("harmful")
        } else if own.has(A::NotRequired) || (own.has(A::No) && fact.clause.measure.is_none()) {
            Some("ignored")
        } else if fact.has(A::Phantom)
            && (own.has(A::Required)
                || own.has(A::Yes)
                || fact.label.has(A::Required)
                || ((fact.label.has(A::Supply) || fact.label.has(A::Phantom)) && own.has(A::Phantom)))
        {
            Some("required")
        } else {
            None
        };
        if let Some(word) = word {
            work.put(TABLE, "", "phantom", Value::Word(word));
            found = true;
        }
    }
    if let Some(connector) = super::features::connector(own)
        && !own.has(A::Combo)
    {
        work.put(TABLE, "", "connector", Value::Word(connector));
        found = true;
    }
    found
}

fn transducer(work: &Work<'_>) -> Option<&'static str> {
    let own = work.fact.clause.own.and(work.fact.clause.sub);
    let named = work.fact.label.has(A::TransducerOf) || work.fact.atoms.has(A::TransducerOf);
    let has = |atom: A| own.has(atom);
    if has(A::ActiveRibbon) || (has(A::Ribbon) && has(A::Active)) {
        return Some("active-ribbon");
    }
    if has(A::Ribbon) {
        return Some("ribbon");
    }
    if has(A::ValveCondenser) || (has(A::Condenser) && has(A::Valve)) {
        return Some("valve-condenser");
    }
    if has(A::Condenser) {
        return Some("condenser");
    }
    // "Dynamic" alone may begin "dynamic range".
    if has(A::MovingCoil) && (named || work.fact.clause.measure.is_none()) {
        return Some("moving-coil");
    }
    (has(A::Pickup) && named).then_some("pickup")
}
