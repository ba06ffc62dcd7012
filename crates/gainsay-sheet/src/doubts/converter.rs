//! Dynamic range (AES17, IEC 61606).

use super::{DoubtKind, Found};
use crate::words;
use gainsay_gear::front_end::MicrophoneInputs;
use gainsay_units::{Bits, Decibels, Stated, Weighting};

/// A full-scale sine over the quantisation noise of so many bits, in a band up to half the sample rate: 6.02 N + 1.76 dB
/// (Bennett 1948).
#[must_use]
pub(crate) fn of_bits(bits: Bits) -> Decibels {
    Decibels::from_amplitude_ratio(2.0) * bits.bits() + Decibels::from_power_ratio(1.5)
}

/// What a weighting takes off white noise, as an allowance for the ratio that it flatters.
fn allowance(weighting: Option<Weighting>) -> Decibels {
    match weighting {
        // Not stated: it may be A.
        None => -Weighting::A.of_white_noise(),
        Some(weighting) => (-weighting.of_white_noise()).max(Decibels::ZERO),
    }
}

/// A converter cannot have more than its bits hold.
pub(super) fn dynamic_range(
    stated: Option<&Stated<Decibels>>,
    bits: Option<&Stated<Bits>>,
    to: &mut Found<'_>,
) {
    let Some(figure) = stated.and_then(Stated::figure) else { return };
    if figure.conditions.weighting.is_none() {
        to.add(DoubtKind::DynamicRangeNoWeighting, "dynamic_range", words::dynamic_range_no_weighting());
    }
    let Some(bits) = bits.and_then(Stated::figure) else { return };
    let most = of_bits(bits.value) + allowance(figure.conditions.weighting);
    if figure.value > most {
        to.add(
            DoubtKind::DynamicRangeBeyondBits,
            "dynamic_range",
            words::beyond_bits(figure.value, bits.value, most),
        );
    }
}

/// Nor more than from the input's own noise, which is least at the highest gain, to the highest level, which is highest at the
/// lowest.
pub(super) fn against_noise(group: &MicrophoneInputs, to: &mut Found<'_>) {
    let figures = (
        group.dynamic_range.as_ref().and_then(Stated::figure),
        group.ein.as_ref().and_then(Stated::figure),
        group.maximum_input.as_ref().and_then(Stated::figure),
    );
    let (Some(range), Some(ein), Some(maximum)) = figures else { return };
    let unweighted = |weighting: Option<Weighting>| weighting.unwrap_or(Weighting::Flat).of_white_noise();
    // Both on the footing of the dynamic range's weighting.
    let noise = ein.value - unweighted(ein.conditions.weighting)
        + unweighted(range.conditions.weighting.or(ein.conditions.weighting));
    let implied = maximum.value - noise;
    if range.value - implied > Decibels::new(ROUNDING_DB) {
        to.add(
            DoubtKind::DynamicRangeBeyondNoise,
            "dynamic_range",
            words::beyond_noise(range.value, implied),
        );
    }
}

/// Three figures rounded to a decibel, and a weighting that may be missing.
const ROUNDING_DB: f64 = 2.0;
