//! Sentences about devices on one footing.

use super::{decimals, interval_in, list, number, percent};
use crate::answer::{Estimate, Verdict};
use crate::footing::{Apart, GroupKind, Incomparable, Measure, Recording, thermal_limit};
use gainsay_gear::Device;
use gainsay_units::Ohms;

/// A noise figure without its weighting.
pub(crate) fn unknown_weighting(what: &str, widest_db: f64) -> String {
    format!(
        "the sheet does not say how its {what} is weighted: A-weighted it would be {} dB more on this footing, and anything from \
         0 to that is taken",
        number(widest_db, 2)
    )
}

/// A noise figure without its source impedance.
pub(crate) fn unknown_source(what: &str, highest: Ohms) -> String {
    format!(
        "the sheet does not say with which source its {what} was measured: anything from a short to {} Ω is taken",
        number(highest.ohms(), 0)
    )
}

/// A difference of noise with its interval: `0.4 dB (0.1 to 0.8) more noise`.
fn noisier(by: &Estimate) -> String {
    if by.median < 0.0 {
        let less = Estimate { median: -by.median, low: -by.high, high: -by.low };
        format!("{} less noise", interval_in(&less, "dB"))
    } else {
        format!("{} more noise", interval_in(by, "dB"))
    }
}

/// How a device compares with the quietest one.
pub(crate) fn apart(best: &str, apart: &Apart, more_noise_db: &Estimate) -> String {
    match apart {
        Apart::First => "nothing compared records this more quietly".to_owned(),
        Apart::NeitherHeard => format!(
            "{} than \"{best}\", and neither is heard at replay: no reason to choose between them",
            noisier(more_noise_db)
        ),
        Apart::TooSmall => {
            format!("{} than \"{best}\": too little for anyone to hear", noisier(more_noise_db))
        }
        Apart::Heard if more_noise_db.low <= 0.0 && more_noise_db.high >= 0.0 => format!(
            "{} than \"{best}\", which can be heard; but so little is known that it may be the other way round",
            noisier(more_noise_db)
        ),
        Apart::Heard => format!("{} than \"{best}\", which can be heard", noisier(more_noise_db)),
        Apart::NoInput => "there is no input that takes this source".to_owned(),
    }
}

/// What a recording comes to, in a sentence.
pub(crate) fn recording(recording: &Recording) -> String {
    let Some(result) = &recording.result else { return "no input for it".to_owned() };
    let penalty = &result.penalty_db;
    let mut parts =
        vec![format!("a perfect preamp would gain {} dB", number(penalty.median, decimals(penalty).max(1)))];
    match result.headroom {
        Verdict::Enough => {}
        Verdict::Tight => {
            parts.push(format!("may clip in loud passages ({})", percent(result.clipping_probability)));
        }
        Verdict::Short => {
            parts.push(format!("clips in loud passages ({})", percent(result.clipping_probability)));
        }
    }
    if result.reach != Verdict::Enough {
        parts.push(format!("turn it up {} dB afterwards", number(result.turn_up_afterwards_db, 0)));
    }
    parts.join("; ")
}

/// All in all, in one sentence.
pub(crate) fn conclusion(recordings: &[Recording]) -> String {
    let heard: Vec<&Recording> = recordings.iter().filter(|r| r.apart == Apart::Heard).collect();
    let usable: Vec<&Recording> = recordings.iter().filter(|r| r.result.is_some()).collect();
    let Some(best) = usable.first() else {
        return "None of them has an input for this source.".to_owned();
    };
    let clip: Vec<&str> = usable
        .iter()
        .filter(|r| r.result.as_ref().is_some_and(|result| result.headroom == Verdict::Short))
        .map(|r| r.name.as_str())
        .collect();
    let mut text = if usable.len() == 1 {
        format!("\"{}\": {}.", best.name, recording(best))
    } else if heard.is_empty() {
        "None of them can be heard apart from the quietest by its noise: choose by something else.".to_owned()
    } else {
        let equals: Vec<&str> =
            usable.iter().filter(|r| r.apart != Apart::Heard).map(|r| r.name.as_str()).collect();
        let quoted: Vec<String> = equals.iter().map(|name| format!("\"{name}\"")).collect();
        let quoted: Vec<&str> = quoted.iter().map(String::as_str).collect();
        let noisier: Vec<String> = heard.iter().map(|r| format!("\"{}\"", r.name)).collect();
        let noisier: Vec<&str> = noisier.iter().map(String::as_str).collect();
        format!(
            "{} can be heard to be noisier than {}.",
            list(&noisier),
            if equals.len() == 1 { list(&quoted) } else { format!("{}, which sound alike", list(&quoted)) }
        )
    };
    if !clip.is_empty() {
        let quoted: Vec<String> = clip.iter().map(|name| format!("\"{name}\"")).collect();
        let quoted: Vec<&str> = quoted.iter().map(String::as_str).collect();
        let verb = if clip.len() == 1 { "clips" } else { "clip" };
        text.push_str(&format!(" {} {verb} in loud passages.", list(&quoted)));
    }
    text
}

/// A figure that was measured on another footing; nothing where it is as it was measured.
pub(crate) fn more_on_footing(by_db: f64) -> Option<String> {
    (by_db.abs() >= 0.005).then(|| {
        let more = if by_db < 0.0 { "less" } else { "more" };
        format!("{} dB {more} on this footing: unweighted, 20 Hz to 20 kHz", number(by_db.abs(), 2))
    })
}

/// What the footing is, in words.
#[must_use]
pub fn footing_words(kinds: &[GroupKind]) -> String {
    let limit = number(thermal_limit().dbu(), 1);
    let text = if kinds.contains(&GroupKind::Microphone) {
        format!(
            "Own noise as sound is A-weighted, at the output unweighted, 20 Hz to 20 kHz, at 20 °C. The last column is the EIN of a \
             preamp that adds 1 dB to that noise, on the footing of the others: with a source of 150 Ω, whose thermal noise alone is \
             {limit} dBu."
        )
    } else {
        format!(
            "On one footing: noise 20 Hz to 20 kHz, unweighted, with a source of 150 Ω at 20 °C, whose thermal noise alone is {limit} \
             dBu. A-weighted, white noise reads 2.05 dB less, and a range as much more."
        )
    };
    format!("{text} With each figure: its 95 % interval, and the weakest origin that it rests on.")
}

/// How a figure follows from those that it rests on.
#[must_use]
pub const fn formula(measure: Measure, of: GroupKind) -> &'static str {
    match (measure, of) {
        (Measure::FullScaleSensitivity, _) => {
            "maximum input − gain range; of a preamp, maximum output − most gain where that is lower"
        }
        (Measure::MaximumInput, GroupKind::Booster) => "maximum output − gain",
        (Measure::MaximumInput, _) => {
            "maximum input level; of a preamp, maximum output − least gain where that is lower"
        }
        (Measure::Ein, _) => {
            "10 lg((en² + (in · 150 Ω)² + 4 k · 293.15 K · 150 Ω) · 19 980 Hz / (0.7746 V)²)"
        }
        (Measure::AboveThermalLimit, _) => "EIN − 10 lg(4 k · 293.15 K · 150 Ω · 19 980 Hz / (0.7746 V)²)",
        (Measure::NoiseFigure, _) => "10 lg(1 + (en² + (in · 150 Ω)²) / (4 k · 290 K · 150 Ω)), Friis 1944",
        (Measure::VoltageNoise, _) => {
            "en, as stated; else what thermal noise and in of the EIN's source leave of the EIN"
        }
        (Measure::CurrentNoise, _) => {
            "in, as stated; else from two EINs, or usual for what the input is built from"
        }
        (Measure::BestSource, _) => "en / in, where both make as much noise",
        (Measure::DynamicRangeLeastGain, _) => {
            "maximum input − noise at the least gain, EIN² + (what is added behind the gain)²"
        }
        (Measure::DynamicRangeMostGain, _) => {
            "full scale at the most gain − noise there, EIN² + (what is added behind the gain / gain range)²"
        }
        (Measure::DynamicRange, GroupKind::Booster) => "maximum input − EIN",
        (Measure::InputNoise, _) => "full scale − dynamic range",
        (Measure::SensitivityMillivolts, _) => "1000 · 10^(S / 20), S re 1 V/Pa",
        (Measure::OutputAt94, _) => {
            "sensitivity re 1 V/Pa + 2.22 dB from dBV to dBu; 94 dB SPL is near enough 1 Pa"
        }
        (Measure::EquivalentNoise, _) => {
            "noise at the output − sensitivity, as sound; A-weighted 2.05 dB less than unweighted, as white noise"
        }
        (Measure::OutputNoise, _) => {
            "self-noise + sensitivity, as a level at the output; of a coil or ribbon without one, 4 k T R over 19 980 Hz"
        }
        (Measure::OutputNoiseMicrovolts, _) => "0.7746 V · 10^(L / 20), L the own noise in dBu",
        (Measure::MicrophoneDynamicRange, _) => "maximum sound level − own noise as sound",
        (Measure::NoiseAddingOneDb, _) => "own noise at the output + 10 lg(10^0.1 − 1)",
        (Measure::EinAddingOneDb, _) => {
            "that noise with the thermal noise of 150 Ω added, 10 lg(10^(a / 10) + 10^(b / 10))"
        }
        (
            Measure::GainRange
            | Measure::Gain
            | Measure::InputImpedance
            | Measure::DynamicRange
            | Measure::FullScale
            | Measure::Sensitivity
            | Measure::SourceImpedance
            | Measure::MaximumSpl,
            _,
        ) => "as stated",
    }
}

/// A cable among what is compared.
pub(crate) fn cable(device: &Device) -> Incomparable {
    Incomparable {
        message: format!("\"{}\" is a cable, which has neither noise nor ceiling to compare", device.name),
        mend: "take it out; compare boxes with inputs, microphones or boosters",
    }
}

/// A box without inputs among what is compared.
pub(crate) fn no_inputs(device: &Device) -> Incomparable {
    Incomparable {
        message: format!("\"{}\" states no input that could be compared", device.name),
        mend: "add its inputs to its file as [[microphone_inputs]] or [[line_inputs]]",
    }
}

/// Devices of two sorts.
pub(crate) fn nothing_in_common(first: &Device, other: &Device, microphones: bool) -> Incomparable {
    Incomparable {
        message: format!(
            "\"{}\" is {} and \"{}\" is {}: they have nothing in common to compare",
            first.name,
            first.device_type().with_article(),
            other.name,
            other.device_type().with_article()
        ),
        mend: if microphones {
            "compare microphones with microphones; to see what one records through each box, choose it as the microphone and say \
             what is to be recorded"
        } else {
            "compare boosters with boosters, and boxes that have inputs with each other"
        },
    }
}

/// No device at all.
pub(crate) fn nothing_to_compare() -> Incomparable {
    Incomparable { message: "there is nothing to compare".to_owned(), mend: "name one or more devices" }
}
