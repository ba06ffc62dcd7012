//! What concerns a whole device: sample rates, width, latency; and densities of noise.

use super::figures::{Written, figure as written};
use super::{Outcome, Work};
use crate::clause::dimension;
use crate::grammar::{Measure, Numbers, SheetUnit};
use crate::lexicon::Atom as A;
use crate::reading::{Table, Value};
use crate::words;
use gainsay_gear::DeviceType;
use gainsay_units::{Dimension, Quantity, Unit};

/// Sample rates that devices run at.
const RATES: [f64; 8] = [32_000.0, 44_100.0, 48_000.0, 88_200.0, 96_000.0, 176_400.0, 192_000.0, 384_000.0];

pub(super) fn frequency(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    let fact = work.fact;
    if work.is_booster() || work.overview.kind == DeviceType::Preamp && !fact.has(A::SampleRate) {
        return Outcome::no_field("a frequency");
    }
    let Some(unit) = measure.known() else { return Outcome::Nothing };
    let values: Vec<f64> = match &measure.numbers {
        Numbers::One(value) => vec![*value],
        Numbers::List(values) => values.clone(),
        Numbers::Range(low, high) => {
            let first = measure.first_unit.and_then(|u| match u.unit {
                SheetUnit::Known(unit) => Some(unit),
                _ => None,
            });
            let low = first.unwrap_or(unit).to_base(*low);
            let high = unit.to_base(*high);
            // "44.1 to 192 kHz": the usual rates between them.
            let inside: Vec<f64> =
                RATES.iter().copied().filter(|rate| *rate >= low * 0.999 && *rate <= high * 1.001).collect();
            let ends = inside.first().is_some_and(|rate| (rate - low).abs() < 1.0)
                && inside.last().is_some_and(|rate| (rate - high).abs() < 1.0)
                && (low > 40_000.0 || work.any(&[A::Digital, A::Adc, A::Dac, A::Converter, A::BitDepth]));
            if !(fact.has(A::SampleRate) || ends) || inside.len() < 2 {
                return Outcome::no_field("a span of frequencies");
            }
            let how = Some(words::rates_between());
            work.put_with(Table::Device, "", "sample_rates_hz", Value::RatesHz(inside), how, Vec::new());
            return Outcome::Nothing;
        }
    };
    let rates: Vec<f64> = values.iter().map(|value| unit.to_base(*value).round()).collect();
    let known = rates.iter().all(|rate| RATES.iter().any(|r| (r - rate).abs() < 1.0));
    let named = fact.has(A::SampleRate)
        || (known && work.any(&[A::Digital, A::Adc, A::Dac, A::Converter, A::BitDepth, A::Computer, A::Usb]));
    // A list of nothing but sample rates is one, whatever stands before it.
    let list = matches!(measure.numbers, Numbers::List(_)) && known && rates.len() >= 2;
    if !((named || list) && known) {
        return if fact.has(A::SampleRate) {
            Outcome::unclear("a sample rate that is not usual")
        } else {
            Outcome::no_field("a frequency")
        };
    }
    // Of "up to 96 kHz" the lower ones are not stated.
    work.put(Table::Device, "", "sample_rates_hz", Value::RatesHz(rates));
    Outcome::Nothing
}

pub(super) fn width(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    if matches!(work.overview.kind, DeviceType::Booster) {
        return Outcome::no_field("bits");
    }
    let most = match &measure.numbers {
        Numbers::One(value) => *value,
        Numbers::Range(low, high) => low.max(*high),
        Numbers::List(values) => values.iter().copied().fold(0.0, f64::max),
    };
    if !(8.0..=64.0).contains(&most) {
        return Outcome::unclear("a width that is not usual");
    }
    work.put(Table::Device, "", "bit_depth", Value::Figure(Quantity::new(most, Unit::Bit)));
    Outcome::Nothing
}

pub(super) fn latency(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    let fact = work.fact;
    if !fact.has(A::Latency) && !fact.has(A::RoundTrip) {
        return Outcome::no_field("a time");
    }
    if work.is_booster() {
        return Outcome::no_field("latency of a booster");
    }
    if fact.has(A::RoundTrip) {
        return Outcome::no_field("round-trip latency");
    }
    let Some(unit) = measure.known() else { return Outcome::Nothing };
    let (samples, how) = if unit == Unit::Sample {
        (measure.first(), None)
    } else {
        let Some(rate) = fact.clause.terms.spot.filter(|rate| *rate > 8_000.0) else {
            return Outcome::unclear("a latency in milliseconds without its sample rate");
        };
        let seconds = unit.to_base(measure.first());
        ((seconds * rate).round(), Some(words::samples_from(measure.first(), unit, rate)))
    };
    let (output, input) = match (work.any(&[A::Adc]), work.any(&[A::Dac])) {
        // The converter that is named says more than the heading above.
        (true, false) => (false, true),
        (false, true) => (true, false),
        _ => (work.any(&[A::Output, A::Dac]), work.any(&[A::Input, A::Adc])),
    };
    let value = Value::Figure(Quantity::new(samples, Unit::Sample));
    match (input, output) {
        (true, false) => work.put_with(Table::Device, "", "input_latency", value, how, Vec::new()),
        (false, true) => work.put_with(Table::Device, "", "output_latency", value, how, Vec::new()),
        _ => return Outcome::unclear("whether this latency is of inputs or outputs"),
    }
    Outcome::Nothing
}

pub(super) fn density(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    let Some(found) = written(measure, &work.fact.clause.terms).map(Written::plain) else {
        return Outcome::Nothing;
    };
    let field = match dimension(measure) {
        Some(Dimension::VoltageNoise) => "input_noise_voltage",
        _ => "input_noise_current",
    };
    let table = if work.is_booster() { Table::Booster } else { Table::MicrophoneInputs };
    work.put_written(table, "", field, found);
    Outcome::Nothing
}
