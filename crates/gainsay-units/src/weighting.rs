//! Frequency weightings: A and C (IEC 61672-1:2013, annex E) and the two readings of ITU-R BS.468-4.

use crate::bands::{BandPowers, N_BANDS, bands};
use crate::math::log10;
use crate::{Decibels, Hertz};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::sync::LazyLock;

/// How a noise figure weighs frequencies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Weighting {
    /// No weighting inside the stated band.
    #[default]
    Flat,
    /// A, IEC 61672-1.
    A,
    /// C, IEC 61672-1.
    C,
    /// ITU-R BS.468-4's network with its quasi-peak meter, 0 dB at 1 kHz.
    Itu468QuasiPeak,
    /// ITU-R BS.468-4's network with an RMS meter, 0 dB at 2 kHz ("CCIR-RMS" in AES17).
    Itu468Rms,
}

// IEC 61672-1:2013, annex E: pole frequencies in hertz, and the gains at 1 kHz that make A and C zero there.
const F1: f64 = 20.598_997;
const F2: f64 = 107.652_65;
const F3: f64 = 737.862_23;
const F4: f64 = 12_194.217;
const A_AT_1_KHZ_DB: f64 = -1.999_66;
const C_AT_1_KHZ_DB: f64 = -0.061_90;

// ITU-R BS.468-4, network of figure 1a: one zero at the origin; poles in rad/s as (real, imaginary), conjugates implied.
const ITU468_REAL_POLES: [f64; 2] = [-25_903.701_05, -62_675.170_06];
const ITU468_COMPLEX_POLES: [(f64, f64); 2] =
    [(-23_615.535_21, 36_379.908_94), (-18_743.746_69, 62_460.156_45)];

/// AES17-2015, 5.2.7: gain of the BS.468 network at 2 kHz, taken off so that 2 kHz reads 0 dB.
const ITU468_AT_2_KHZ_DB: f64 = 5.63;

/// How much higher steady noise reads on the quasi-peak meter of BS.468-4 than on an RMS meter behind the same network.
/// From memory; common practice gives 4 to 5 dB.
const QUASI_PEAK_OVER_RMS_DB: f64 = 4.5;

impl Weighting {
    /// Gain at a frequency as a ratio of powers (for [`Weighting::Itu468QuasiPeak`], of the network alone).
    #[must_use]
    pub fn power_gain(self, frequency: Hertz) -> f64 {
        let f = frequency.hertz();
        let f_sq = f * f;
        match self {
            Self::Flat => 1.0,
            Self::A => {
                let numerator = F4 * F4 * f_sq * f_sq;
                let denominator =
                    (f_sq + F1 * F1) * ((f_sq + F2 * F2) * (f_sq + F3 * F3)).sqrt() * (f_sq + F4 * F4);
                let ratio = numerator / denominator;
                ratio * ratio / Decibels::new(A_AT_1_KHZ_DB).power_ratio()
            }
            Self::C => {
                let ratio = F4 * F4 * f_sq / ((f_sq + F1 * F1) * (f_sq + F4 * F4));
                ratio * ratio / Decibels::new(C_AT_1_KHZ_DB).power_ratio()
            }
            Self::Itu468QuasiPeak => itu468_shape(f) / itu468_shape(1000.0),
            Self::Itu468Rms => {
                itu468_shape(f) / itu468_shape(1000.0) / Decibels::new(ITU468_AT_2_KHZ_DB).power_ratio()
            }
        }
    }

    /// Gain at a frequency.
    #[must_use]
    pub fn gain(self, frequency: Hertz) -> Decibels {
        Decibels::from_power_ratio(self.power_gain(frequency))
    }

    /// Gain as a ratio of powers, averaged over each band.
    #[must_use]
    pub fn band_gains(self) -> &'static BandPowers {
        static GAINS: LazyLock<[BandPowers; 5]> = LazyLock::new(|| {
            [Weighting::Flat, Weighting::A, Weighting::C, Weighting::Itu468QuasiPeak, Weighting::Itu468Rms]
                .map(|weighting| {
                    BandPowers::from_fn(|band| band.mean(|hz| weighting.power_gain(Hertz::new(hz))))
                })
        });
        let [flat, a, c, quasi_peak, rms] = &*GAINS;
        match self {
            Self::Flat => flat,
            Self::A => a,
            Self::C => c,
            Self::Itu468QuasiPeak => quasi_peak,
            Self::Itu468Rms => rms,
        }
    }

    /// What white noise from 20 Hz to 20 kHz reads with this weighting, re unweighted.
    ///
    /// ```
    /// use gainsay_units::Weighting;
    /// assert_eq!(format!("{:.2}", Weighting::A.of_white_noise().db()), "-2.05");
    /// ```
    #[must_use]
    pub fn of_white_noise(self) -> Decibels {
        static READINGS: LazyLock<[Decibels; 5]> = LazyLock::new(|| {
            [Weighting::Flat, Weighting::A, Weighting::C, Weighting::Itu468QuasiPeak, Weighting::Itu468Rms]
                .map(Weighting::white_noise_through)
        });
        let [flat, a, c, quasi_peak, rms] = *READINGS;
        match self {
            Self::Flat => flat,
            Self::A => a,
            Self::C => c,
            Self::Itu468QuasiPeak => quasi_peak,
            Self::Itu468Rms => rms,
        }
    }

    fn white_noise_through(self) -> Decibels {
        let white = BandPowers::white();
        let network = Decibels::from_power_ratio(white.weighted(self.band_gains()) / white.total());
        match self {
            Self::Itu468QuasiPeak => network + Decibels::new(QUASI_PEAK_OVER_RMS_DB),
            _ => network,
        }
    }

    /// The words after a figure: `A-weighted`, empty for flat.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Flat => "unweighted",
            Self::A => "A-weighted",
            Self::C => "C-weighted",
            Self::Itu468QuasiPeak => "ITU-R 468",
            Self::Itu468Rms => "CCIR-RMS",
        }
    }
}

fn itu468_shape(hz: f64) -> f64 {
    let w = 2.0 * std::f64::consts::PI * hz;
    let mut power = w * w;
    for real in ITU468_REAL_POLES {
        power /= w * w + real * real;
    }
    for (real, imaginary) in ITU468_COMPLEX_POLES {
        power /= (real * real + (w - imaginary) * (w - imaginary))
            * (real * real + (w + imaginary) * (w + imaginary));
        // Keeps the product in range: only ratios matter.
        power *= 1e18;
    }
    power
}

/// Level of band powers with a weighting, in dB re one unit of power.
#[must_use]
pub fn weighted_level_db(powers: &[f64; N_BANDS], weighting: Weighting) -> f64 {
    10.0 * log10(powers.iter().zip(&weighting.band_gains().0).map(|(p, w)| p * w).sum())
}

/// Widths of the bands in hertz, weighted: what white noise of unit density gives in each.
#[must_use]
pub fn weighted_widths(weighting: Weighting) -> BandPowers {
    let mut gains = *weighting.band_gains();
    for (gain, band) in gains.0.iter_mut().zip(bands()) {
        *gain *= band.width_hz();
    }
    gains
}
