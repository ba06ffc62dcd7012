//! Sentences about devices on one footing.

use super::{decimals, interval_in, list, number, percent};
use crate::answer::{Estimate, Verdict};
use crate::footing::{Apart, Recording};
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
