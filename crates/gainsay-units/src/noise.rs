//! Thermal noise (Johnson 1928, Nyquist 1928).

use crate::bands::GAUSS;
use crate::weighting::weighted_widths;
use crate::{Dbu, Hertz, Kelvin, Ohms, VoltageNoiseDensity, Volts, Weighting};
use std::cell::RefCell;
use std::collections::HashMap;

/// Boltzmann's constant in joules per kelvin, exact since the SI of 2019.
pub const BOLTZMANN: f64 = 1.380_649e-23;

/// The audio band, 20 Hz to 20 kHz exactly.
pub const AUDIO_BANDWIDTH: Hertz = Hertz::new(19_980.0);

/// Density of the thermal noise of a resistance: √(4kTR).
#[must_use]
pub fn thermal_noise_density(resistance: Ohms, temperature: Kelvin) -> VoltageNoiseDensity {
    VoltageNoiseDensity::new((4.0 * BOLTZMANN * temperature.kelvin() * resistance.ohms()).sqrt())
}

/// Thermal noise of a resistance in a bandwidth: √(4kTRB).
///
/// ```
/// use gainsay_units::{Kelvin, Ohms, noise};
/// let limit = noise::thermal_noise(Ohms::new(150.0), Kelvin::ROOM, noise::AUDIO_BANDWIDTH);
/// assert_eq!(format!("{:.1}", limit.dbu()), "-130.9");
/// ```
#[must_use]
pub fn thermal_noise(resistance: Ohms, temperature: Kelvin, bandwidth: Hertz) -> Dbu {
    let density = thermal_noise_density(resistance, temperature).volts_per_root_hertz();
    Dbu::from_volts(Volts::new(density * bandwidth.hertz().sqrt()))
}

/// Bandwidth in which white noise without weighting would have the power that it has in `band` with `weighting`.
///
/// `band` is 20 Hz to 20 kHz if not given. Integrated numerically over third-octave steps with Gauss–Legendre nodes.
#[must_use]
pub fn effective_bandwidth(weighting: Weighting, band: Option<(Hertz, Hertz)>) -> Hertz {
    let Some((low, high)) = band else {
        return Hertz::new(AUDIO_BANDWIDTH.hertz() * weighting.of_white_noise().power_ratio());
    };
    // Sheets name few bands, and a plan asks for each of them over and over.
    thread_local! {
        static KNOWN: RefCell<HashMap<(Weighting, u64, u64), Hertz>> = RefCell::new(HashMap::new());
    }
    const MOST_KNOWN: usize = 256;
    let key = (weighting, low.hertz().to_bits(), high.hertz().to_bits());
    if let Some(known) = KNOWN.with_borrow(|known| known.get(&key).copied()) {
        return known;
    }
    let bandwidth = integrated(weighting, low, high);
    KNOWN.with_borrow_mut(|known| {
        if known.len() < MOST_KNOWN {
            known.insert(key, bandwidth);
        }
    });
    bandwidth
}

fn integrated(weighting: Weighting, low: Hertz, high: Hertz) -> Hertz {
    let meter = weighting.of_white_noise().power_ratio() * AUDIO_BANDWIDTH.hertz()
        / weighted_widths(weighting).total();
    let mut total = 0.0;
    let mut from = low.hertz();
    while from < high.hertz() {
        // Below 1 Hz a step by ratio would never arrive.
        let to = (from * 1.25).max(from + 1.0).min(high.hertz());
        let half = (to - from) / 2.0;
        total += GAUSS
            .iter()
            .map(|(at, weight)| weight * half * weighting.power_gain(Hertz::new(from + half * (1.0 + at))))
            .sum::<f64>();
        from = to;
    }
    Hertz::new(total * meter)
}

/// Density of the white noise that reads `level` with that weighting in that band.
#[must_use]
pub fn white_noise_density(
    level: Dbu,
    weighting: Weighting,
    band: Option<(Hertz, Hertz)>,
) -> VoltageNoiseDensity {
    VoltageNoiseDensity::new(level.volts().volts() / effective_bandwidth(weighting, band).hertz().sqrt())
}

/// The lowest equivalent input noise that any amplifier can have with a source of this resistance: the source's own thermal
/// noise, read with that weighting in that band.
#[must_use]
pub fn thermal_limit(
    source: Ohms,
    temperature: Kelvin,
    weighting: Weighting,
    band: Option<(Hertz, Hertz)>,
) -> Dbu {
    thermal_noise(source, temperature, effective_bandwidth(weighting, band))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stated_band_and_default_band_agree() {
        let band = Some((Hertz::new(20.0), Hertz::new(20_000.0)));
        for weighting in [Weighting::Flat, Weighting::A, Weighting::Itu468QuasiPeak, Weighting::Itu468Rms] {
            let (stated, default) =
                (effective_bandwidth(weighting, band), effective_bandwidth(weighting, None));
            let off = 10.0 * crate::math::log10(stated / default);
            assert!(off.abs() < 1e-4, "{weighting:?}: off by {off} dB");
        }
    }
}
