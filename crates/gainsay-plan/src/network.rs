//! The network between a source and the amplifier that it feeds.

use gainsay_units::noise::BOLTZMANN;
use gainsay_units::{Farads, Henries, Hertz, Kelvin, Ohms};

/// Resistance between the legs of the two phantom feeds in series, 2 × 6.81 kΩ (IEC 61938, P48).
pub const PHANTOM_FEEDS: Ohms = Ohms::new(13_620.0);

/// A source with its impedance, a cable's capacitance across it, and the resistances that load it.
///
/// ```text
///   EMF ── R ── jωL ──┬───────┬──────┬──── amplifier
///                     C     feeds   R_in
///   ──────────────────┴───────┴──────┴────
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Junction {
    /// Resistive part of the source's impedance.
    pub source_resistance: Ohms,
    /// Inductance in series with it.
    pub source_inductance: Henries,
    /// Capacitance across the line.
    pub capacitance: Farads,
    /// Input resistance of the amplifier. It counts as noiseless: its noise is in the EIN.
    pub input_resistance: Ohms,
    /// Whether the phantom feeds are across the line.
    pub phantom_feeds: bool,
}

/// What a junction does at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Transfer {
    /// |H|²: power of the terminals' voltage over that of the EMF.
    pub power: f64,
    /// |Z|² in Ω²: the impedance that the amplifier sees, squared.
    pub impedance_squared: f64,
}

impl Junction {
    /// Conductance across the line in siemens.
    pub(crate) fn conductance(&self) -> f64 {
        let feeds = if self.phantom_feeds { 1.0 / PHANTOM_FEEDS.ohms() } else { 0.0 };
        1.0 / self.input_resistance.ohms() + feeds
    }

    /// The divider at a frequency: H = 1 / (1 + Zs·Y) with Zs = R + jωL and Y = G + jωC, and Z = Zs·H.
    #[must_use]
    pub fn at(&self, frequency: Hertz) -> Transfer {
        let w = 2.0 * std::f64::consts::PI * frequency.hertz();
        let (r, l) = (self.source_resistance.ohms(), self.source_inductance.henries());
        let (g, c) = (self.conductance(), self.capacitance.farads());
        let real = 1.0 + r * g - w * w * l * c;
        let imaginary = w * (r * c + l * g);
        let power = 1.0 / (real * real + imaginary * imaginary);
        Transfer { power, impedance_squared: (r * r + w * w * l * l) * power }
    }

    /// Density of the feeds' thermal noise current, squared, in A²/Hz.
    #[must_use]
    pub fn feed_noise(&self, temperature: Kelvin) -> f64 {
        if self.phantom_feeds { 4.0 * BOLTZMANN * temperature.kelvin() / PHANTOM_FEEDS.ohms() } else { 0.0 }
    }
}

/// An amplifier's input noise: squared densities of voltage (V²/Hz) and current (A²/Hz).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AmplifierNoise {
    /// Squared density of the noise voltage.
    pub voltage: f64,
    /// Squared density of the noise current.
    pub current: f64,
}

impl AmplifierNoise {
    /// From one EIN: its squared density, less the thermal noise of the source that it was measured with, less what the
    /// current noise makes in that source. The current noise is limited to half of what is left, the most that the best
    /// source resistance (en/in) would show.
    #[must_use]
    pub fn from_one_ein(ein_density_squared: f64, source: Ohms, current_squared: f64) -> Self {
        let r = source.ohms();
        let left = (ein_density_squared - 4.0 * BOLTZMANN * Kelvin::ROOM.kelvin() * r).max(0.0);
        let from_current = (current_squared * r * r).min(left / 2.0);
        let current = if r > 0.0 { from_current / (r * r) } else { current_squared };
        Self { voltage: left - from_current, current }
    }

    /// From two EINs at two source impedances, which give both exactly.
    #[must_use]
    pub fn from_two_ein(first: (f64, Ohms), second: (f64, Ohms)) -> Self {
        let left = |(density, source): (f64, Ohms)| {
            (density - 4.0 * BOLTZMANN * Kelvin::ROOM.kelvin() * source.ohms()).max(0.0)
        };
        let (left_1, left_2) = (left(first), left(second));
        let (r1, r2) = (first.1.ohms() * first.1.ohms(), second.1.ohms() * second.1.ohms());
        let current = ((left_2 - left_1) / (r2 - r1)).clamp(0.0, f64::MAX).min(left_1 / r1.max(1e-12));
        Self { voltage: (left_1 - current * r1).max(0.0), current }
    }
}
