//! What is said about noise.

use super::{short, weighted};
use gainsay_units::{Dbu, Decibels, Quantity, Weighting};

pub(crate) fn below_thermal(quantity: &Quantity, limit: Dbu) -> String {
    let source = quantity.conditions.source_impedance.map_or_else(
        || "a source of 150 Ω (none is stated)".to_owned(),
        |ohms| format!("{} Ω", short(ohms.ohms())),
    );
    format!(
        "an EIN of {quantity} can't be true: {source} alone makes {} dBu {} at 20 °C, and no amplifier takes noise away; it may be \
         A-weighted, measured with a short, or in dBV",
        short(limit.dbu()),
        weighted(quantity.weighting()),
    )
}

pub(crate) fn ein_no_source() -> String {
    "the EIN comes without its source impedance: between a short and 150 Ω lie several decibels; 150 Ω is taken".to_owned()
}

pub(crate) fn ein_no_weighting() -> String {
    "the EIN comes without its weighting: A-weighted it would read 2.1 dB lower than unweighted; unweighted is taken".to_owned()
}

pub(crate) fn ein_close_without_weighting(above: Decibels) -> String {
    format!(
        "the EIN comes without its weighting and lies only {} dB above the thermal noise of its source: it is probably A-weighted, \
         and then 2.1 dB worse than it looks",
        short(above.db()),
    )
}

pub(crate) fn ein_no_band() -> String {
    "the EIN comes without the band that was measured; 20 Hz to 20 kHz is taken, and a narrower band would flatter it".to_owned()
}

pub(crate) fn ein_shorted(value: Dbu) -> String {
    format!(
        "the EIN of {} dBu was measured with the input shorted, where the noise of a source is missing: with 150 Ω no amplifier comes \
         below −130.9 dBu",
        short(value.dbu()),
    )
}

pub(crate) fn weightings_apart(a: &Quantity, b: &Quantity, apart: f64) -> String {
    format!(
        "{a} and {b} do not go together: for white noise the two weightings explain all but {} dB of the difference",
        short(apart.abs()),
    )
}

pub(crate) fn noise_without_weighting() -> String {
    "the noise comes without a weighting; A is usual, and is taken".to_owned()
}

pub(crate) fn noise_not_a(weighting: Weighting) -> String {
    let offset = weighting.of_white_noise() - Weighting::A.of_white_noise();
    let typical = match weighting {
        Weighting::Itu468QuasiPeak => "; of condenser microphones it is typically 10 to 12 dB higher",
        _ => "",
    };
    format!(
        "the self-noise is read {}, not A-weighted: white noise reads {} dB {} that way{typical}; do not compare it with dBA",
        weighting.words(),
        short(offset.db().abs()),
        if offset.db() >= 0.0 { "higher" } else { "lower" },
    )
}

pub(crate) fn noises_apart(a: f64, b: f64, weighting: Weighting) -> String {
    format!(
        "a self-noise of {} dBA and one of {} dB read {} can't be of the same microphone: white noise reads {} dB apart",
        short(a),
        short(b),
        weighting.words(),
        short((weighting.of_white_noise() - Weighting::A.of_white_noise()).db()),
    )
}

pub(crate) fn noise_from_ratio(ratio: f64) -> String {
    format!("94 dB SPL less the signal-to-noise ratio of {} dB", short(ratio))
}

pub(crate) fn noise_and_ratio(noise: f64, implied: f64) -> String {
    format!(
        "the self-noise of {} dB and the signal-to-noise ratio, which implies {} dB, contradict each other",
        short(noise),
        short(implied),
    )
}
