//! Figures of preamps, interfaces, converters and boosters.

use super::figures::{Written, figure as written, other_than_zero};
use super::{Outcome, Work, levels, whole};
use crate::clause::dimension;
use crate::doubts::DoubtKind;
use crate::grammar::{Measure, Numbers};
use crate::lexicon::{Atom as A, Atoms, QUANTITIES};
use crate::reading::{Table, Value};
use crate::words;
use gainsay_gear::DeviceType;
use gainsay_units::{Dimension, Quantity, Unit};

/// Where figures of an input of this channel belong.
pub(super) enum Group {
    Microphone,
    Line(&'static str),
}

impl Work<'_> {
    pub(super) fn is_booster(&self) -> bool {
        self.overview.kind == DeviceType::Booster
    }

    pub(super) fn is_output(&self) -> bool {
        self.any(&[A::Output, A::Dac, A::Headphones, A::Monitor, A::Send])
            && !self.any(&[A::Input, A::Return])
            || self.any(&[A::Headphones])
    }

    /// The group of inputs that a figure belongs to, and whether that had to be supposed.
    pub(super) fn input_group(&self) -> Option<(Group, bool)> {
        let microphone = self.any(&[A::Microphone, A::Preamp]);
        if self.any(&[A::Instrument]) && !microphone {
            return Some((Group::Line("instrument"), false));
        }
        if self.any(&[A::Return, A::Insert]) && !microphone {
            return Some((Group::Line("return"), false));
        }
        if microphone {
            return Some((Group::Microphone, false));
        }
        if self.any(&[A::Line]) {
            return Some((Group::Line("line"), false));
        }
        match self.overview.kind {
            DeviceType::Preamp => Some((Group::Microphone, false)),
            DeviceType::Converter if !self.overview.microphone => Some((Group::Line("line"), false)),
            _ if self.any(&[A::Adc]) && self.overview.other_inputs => Some((Group::Line("line"), true)),
            _ if !self.overview.other_inputs => Some((Group::Microphone, false)),
            _ => Some((Group::Microphone, true)),
        }
    }

    /// Puts a figure with what is to be said about it.
    pub(super) fn put_written(&mut self, table: Table, group: &str, field: &'static str, written: Written) {
        let Written { quantity, how, dbm, or, dash } = written;
        self.put_with(table, group, field, Value::Figure(quantity), how, Vec::new());
        if dbm {
            self.doubt(DoubtKind::LevelReference, words::dbm());
        }
        if let Some(or) = or {
            self.or(Value::Figure(or));
            let sentence =
                if dash { words::dash_or_sign(&quantity, &or) } else { words::thousands(&quantity, &or) };
            self.doubt(DoubtKind::Ambiguous, sentence);
        }
    }

    pub(super) fn put_input(
        &mut self,
        microphone: &'static str,
        line: Option<&'static str>,
        written: Written,
    ) -> Outcome {
        let Some((group, supposed)) = self.input_group() else {
            return Outcome::unclear("which input it belongs to");
        };
        let taken = match group {
            Group::Microphone => "microphone",
            Group::Line(group) => group,
        };
        match (group, line) {
            (Group::Microphone, _) => self.put_written(Table::MicrophoneInputs, "", microphone, written),
            (Group::Line(group), Some(field)) => self.put_written(Table::LineInputs, group, field, written),
            (Group::Line(_), None) => return Outcome::no_field("a figure of line inputs"),
        }
        if supposed {
            self.doubt(DoubtKind::Ambiguous, words::which_input(taken));
        }
        Outcome::Nothing
    }
}

/// What has no field, and is not to be mistaken for something that has.
pub(super) fn without_field(work: &Work<'_>) -> Option<&'static str> {
    let named = |list: &[A]| list.iter().any(|a| work.fact.atoms.has(*a));
    // "Pad: 10 dB, on the body of the microphone": the label says what the figure is.
    let label = work.fact.named;
    let elsewhere = !label.has(A::Physical) && label.any(QUANTITIES);
    Some(if named(&[A::Distortion]) {
        "distortion"
    } else if named(&[A::Response]) {
        "frequency response"
    } else if named(&[A::Crosstalk]) {
        "crosstalk"
    } else if named(&[A::CommonMode]) {
        "common-mode rejection"
    } else if named(&[A::Jitter]) {
        "jitter"
    } else if named(&[A::Filter]) {
        "a filter"
    } else if named(&[A::Price]) || named(&[A::Physical]) && !elsewhere {
        "a figure of no use to a plan"
    } else if named(&[A::Headroom]) {
        "headroom"
    } else if named(&[A::Nominal])
        && !named(&[A::FullScale])
        && !named(&[A::Impedance])
        && !named(&[A::Sensitivity])
    {
        "a nominal level"
    } else if named(&[A::Supply]) && !work.any(&[A::Phantom]) {
        "power supply"
    } else {
        return None;
    })
}

/// Places the figure of a fact.
pub(super) fn figure(work: &mut Work<'_>) -> Outcome {
    let fact = work.fact;
    let Some(measure) = fact.clause.measure.clone() else { return Outcome::Nothing };
    if measure.only_tolerance && !fact.has(A::Accuracy) {
        return Outcome::Nothing;
    }
    if let Some(what) = without_field(work) {
        return Outcome::no_field(what);
    }
    // Sample rates below a heading for headphones are the device's.
    let whole = fact.named.any(Atoms::of(&[A::SampleRate, A::BitDepth]))
        && matches!(dimension(&measure), Some(Dimension::Frequency | Dimension::Width));
    if work.any(&[A::Headphones]) && !whole {
        return Outcome::no_field("headphone outputs");
    }
    if measure.only_tolerance {
        return accuracy(work, &measure);
    }
    match dimension(&measure) {
        Some(Dimension::Ratio | Dimension::SoundLevel) => ratio(work, &measure),
        Some(Dimension::Voltage) => levels::voltage(work, &measure),
        Some(Dimension::Resistance) => levels::resistance(work, &measure),
        Some(Dimension::Current) => levels::current(work, &measure),
        Some(Dimension::Frequency) => whole::frequency(work, &measure),
        Some(Dimension::Width) => whole::width(work, &measure),
        Some(Dimension::Time | Dimension::Samples) => whole::latency(work, &measure),
        Some(Dimension::VoltageNoise | Dimension::CurrentNoise) => whole::density(work, &measure),
        Some(Dimension::DigitalLevel) => Outcome::no_field("a level in the file"),
        Some(_) => Outcome::no_field("a figure of this unit"),
        None if measure.is_bare() => Outcome::Nothing,
        None => Outcome::no_field("a figure of this unit"),
    }
}

fn accuracy(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    let quantity = Quantity { tolerance: measure.tolerance, ..Quantity::new(0.0, Unit::Decibel) };
    if work.is_booster() || work.is_output() || work.any(&[A::Line, A::Instrument]) {
        return Outcome::no_field("gain accuracy");
    }
    work.put(Table::MicrophoneInputs, "", "gain_accuracy", Value::Figure(quantity));
    Outcome::Nothing
}

fn ratio(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    let fact = work.fact;
    let own = fact.clause.own;
    if own.and(fact.clause.sub).has(A::LevelControl)
        || (fact.label.has(A::LevelControl) && !fact.has(A::Gain))
    {
        return Outcome::no_field("the range of an output level control");
    }
    if fact.has(A::SignalToNoise) {
        return Outcome::no_field("signal-to-noise ratio, which is not the dynamic range");
    }
    if fact.has(A::Dynamic) || (fact.has(A::MovingCoil) && !fact.has(A::Gain)) {
        return dynamic_range(work, measure);
    }
    if fact.has(A::Ein) {
        return Outcome::unclear("a noise in dB without what it refers to");
    }
    let gain = fact.has(A::Gain) || fact.has(A::Range);
    let line_only = work.any(&[A::Line, A::Instrument, A::Insert]) && !work.any(&[A::Microphone, A::Preamp]);
    let Some(plain) = written(measure, &fact.clause.terms).map(Written::plain) else {
        return Outcome::Nothing;
    };
    if (own.has(A::Step) || fact.has(A::Step))
        && !matches!(measure.numbers, Numbers::Range(..))
        && !work.is_booster()
    {
        if line_only || work.is_output() {
            return Outcome::no_field("steps of another gain");
        }
        work.put_written(Table::MicrophoneInputs, "", "gain_step", plain);
        return Outcome::Nothing;
    }
    if fact.has(A::Accuracy) && gain {
        return accuracy(work, &Measure { tolerance: measure.tolerance, ..measure.clone() });
    }
    let pad_first = fact.has(A::Pad) && (own.has(A::Pad) || !fact.label.has(A::Gain));
    if pad_first {
        if work.is_booster() || line_only || work.is_output() {
            return Outcome::no_field("a pad here");
        }
        let Some(one) = other_than_zero(measure) else { return Outcome::no_field("a pad of several steps") };
        let quantity = Quantity { number: one.first().abs(), ..plain.quantity };
        work.put_written(Table::MicrophoneInputs, "", "pad", Written { quantity, ..plain });
        return Outcome::Nothing;
    }
    if !gain {
        let headroom = fact.has(A::Level) || fact.has(A::Noise);
        return if headroom {
            Outcome::no_field("a level in plain decibels")
        } else {
            Outcome::unclear("what these decibels are of")
        };
    }
    if work.is_booster() {
        if let Numbers::Range(..) | Numbers::List(_) = measure.numbers {
            work.put_written(Table::Booster, "", "gain", plain);
            work.doubt(DoubtKind::Ambiguous, words::several_gains());
            return Outcome::Nothing;
        }
        work.put_written(Table::Booster, "", "gain", plain);
        return Outcome::Nothing;
    }
    if line_only || work.is_output() {
        return Outcome::no_field("gain of line inputs or outputs");
    }
    gain_figure(work, measure, plain)
}

fn gain_figure(work: &mut Work<'_>, measure: &Measure, plain: Written) -> Outcome {
    let fact = work.fact;
    // "Gain, XLR in to XLR out"
    let through = fact.clause.own.and(fact.label);
    if through.has(A::Xlr)
        && through.has(A::Input)
        && through.has(A::Output)
        && work.overview.kind == DeviceType::Preamp
    {
        work.put(Table::MicrophoneInputs, "", "connector", Value::Word("xlr"));
        work.put(Table::MicrophoneInputs, "", "output_connector", Value::Word("xlr"));
    }
    let table = Table::MicrophoneInputs;
    if let Some(low) = lowest_of(measure, &fact.clause.also) {
        work.put(table, "", "least_gain", Value::Figure(Quantity::new(low, Unit::Decibel)));
        work.put_written(table, "", "gain_range", plain);
        return Outcome::Nothing;
    }
    match measure.numbers {
        Numbers::Range(low, high) => {
            let (low, high) = if low <= high { (low, high) } else { (high, low) };
            let number = |number: f64| Quantity { number, ..plain.quantity };
            // The tolerance, if any, is one of the highest gain.
            let exact = Quantity { tolerance: None, ..number(low) };
            work.put(table, "", "least_gain", Value::Figure(exact));
            // "Gain – 20 dB to 60 dB": from −20 or from +20?
            let dash = measure.loose_sign.then(|| {
                let turned = Quantity { number: -low, ..exact };
                words::dash_or_sign(&exact, &turned)
            });
            if let Some(sentence) = &dash {
                work.doubt(DoubtKind::Ambiguous, sentence.clone());
                work.or(Value::Figure(Quantity { number: -low, ..exact }));
            }
            let range = tidy(high - low);
            let how = Some(words::range_from(low, high));
            work.put_with(table, "", "gain_range", Value::Figure(number(range)), how, Vec::new());
            if let Some(sentence) = dash {
                work.doubt(DoubtKind::Ambiguous, sentence);
            }
        }
        Numbers::List(ref steps) if steps.len() > 1 => {
            let low = steps.iter().copied().fold(f64::INFINITY, f64::min);
            let high = steps.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            work.put(table, "", "least_gain", Value::Figure(Quantity { number: low, ..plain.quantity }));
            let how = Some(words::range_from(low, high));
            let range = Quantity { number: tidy(high - low), ..plain.quantity };
            work.put_with(table, "", "gain_range", Value::Figure(range), how, Vec::new());
        }
        _ if fact.has(A::Minimum) && !fact.clause.own.has(A::Maximum) => {
            let taken = plain.quantity;
            work.put_written(table, "", "least_gain", plain);
            if measure.loose_sign {
                let turned = Quantity { number: -taken.number, ..taken };
                work.doubt(DoubtKind::Ambiguous, words::dash_or_sign(&taken, &turned));
                work.or(Value::Figure(turned));
            }
        }
        _ if fact.has(A::Maximum) => work.put_written(table, "", "maximum_gain", plain),
        _ if fact.has(A::Range) => work.put_written(table, "", "gain_range", plain),
        _ => {
            work.put_written(table, "", "gain_range", plain);
            work.doubt(DoubtKind::Ambiguous, words::gain_or_range());
        }
    }
    Outcome::Nothing
}

/// The lowest gain of "70 dB (−10 to +60 dB)", where the ends make the range.
fn lowest_of(measure: &Measure, also: &[Measure]) -> Option<f64> {
    let Numbers::One(range) = measure.numbers else { return None };
    also.iter().find_map(|other| match other.numbers {
        Numbers::Range(low, high) if (high - low - range).abs() < 0.5 => Some(low),
        _ => None,
    })
}

/// Differences of decimals in binary leave a tail of noughts and a one.
pub(super) fn tidy(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}

fn dynamic_range(work: &mut Work<'_>, measure: &Measure) -> Outcome {
    if work.is_booster() {
        return Outcome::no_field("dynamic range of a booster");
    }
    if work.is_output() && !(work.any(&[A::Adc])) && work.overview.kind != DeviceType::Preamp {
        return Outcome::no_field("dynamic range of outputs");
    }
    let Some(mut found) = written(measure, &work.fact.clause.terms) else { return Outcome::Nothing };
    if found.quantity.unit == Unit::DecibelA {
        found.quantity.unit = Unit::Decibel;
        found.quantity.conditions.weighting = Some(gainsay_units::Weighting::A);
    }
    if found.quantity.unit == Unit::DecibelSpl {
        return Outcome::unclear("a dynamic range in sound pressure");
    }
    work.put_input("dynamic_range", Some("dynamic_range"), found)
}
