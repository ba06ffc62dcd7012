//! Microphones.

use crate::connection::Connector;
use gainsay_units::{Amperes, DbSpl, Decibels, Henries, Ohms, Sensitivity, file_struct};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How a microphone turns sound into a voltage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Transducer {
    /// A coil in a magnet's gap.
    MovingCoil,
    /// A ribbon in a magnet's gap, without an amplifier.
    Ribbon,
    /// A ribbon with a built-in amplifier that needs power.
    ActiveRibbon,
    /// A condenser, polarised from outside or by an electret.
    Condenser,
    /// A condenser with a valve and a supply of its own.
    ValveCondenser,
    /// A pickup on an instrument.
    Pickup,
}

impl Transducer {
    /// Whether the noise is that of the coil or ribbon alone, with no amplifier inside.
    #[must_use]
    pub const fn is_passive(self) -> bool {
        matches!(self, Self::MovingCoil | Self::Ribbon | Self::Pickup)
    }

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::MovingCoil => "moving-coil microphone",
            Self::Ribbon => "ribbon microphone",
            Self::ActiveRibbon => "active ribbon microphone",
            Self::Condenser => "condenser microphone",
            Self::ValveCondenser => "valve condenser microphone",
            Self::Pickup => "pickup",
        }
    }
}

/// Directional pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Pattern {
    /// Takes up all directions alike.
    Omnidirectional,
    /// Between omnidirectional and cardioid.
    Subcardioid,
    /// Null at 180°.
    Cardioid,
    /// Null near 126°.
    Supercardioid,
    /// Null near 110°.
    Hypercardioid,
    /// Null at 90°.
    FigureOfEight,
}

impl Pattern {
    /// How much less diffuse sound than an omnidirectional microphone of the same sensitivity it takes up: the directivity
    /// index, −10 lg(a² + (1−a)²/3) for the response a + (1−a)·cos θ.
    #[must_use]
    pub fn directivity_index(self) -> Decibels {
        let a = match self {
            Self::Omnidirectional => 1.0,
            Self::Subcardioid => 0.7,
            Self::Cardioid => 0.5,
            // (√3 − 1)/2, which maximises the energy from the front against that from behind.
            Self::Supercardioid => 0.366_025_403_784_438_6,
            Self::Hypercardioid => 0.25,
            Self::FigureOfEight => 0.0,
        };
        -Decibels::from_power_ratio(a * a + (1.0 - a) * (1.0 - a) / 3.0)
    }

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Omnidirectional => "omnidirectional",
            Self::Subcardioid => "subcardioid",
            Self::Cardioid => "cardioid",
            Self::Supercardioid => "supercardioid",
            Self::Hypercardioid => "hypercardioid",
            Self::FigureOfEight => "figure-of-eight",
        }
    }
}

/// Phantom power as a microphone sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PhantomNeed {
    /// Works only with it.
    Required,
    /// Neither needs it nor minds it on a sound balanced cable.
    Ignored,
    /// May be damaged by it, or by a faulty cable with it.
    Harmful,
}

file_struct! {
    /// What a microphone's sheet says.
    pub struct Microphone {
        figures {
            /// Free-field open-circuit sensitivity at 1 kHz.
            sensitivity: Sensitivity,
            /// Source impedance (its resistive part).
            impedance: Ohms,
            /// Inductance in series with it, of a coil, transformer or pickup.
            inductance: Henries,
            /// Equivalent sound level of its own noise, A-weighted unless another weighting is stated.
            self_noise: DbSpl,
            /// Sound level of a sine at which it distorts by its stated limit.
            maximum_spl: DbSpl,
            /// Loss of its own pad switch.
            pad: Decibels,
            /// Current that it draws from phantom power.
            phantom_current: Amperes,
            /// How much less diffuse sound it takes up than an omnidirectional one; follows from the pattern if not given.
            directivity_index: Decibels,
        }
        fields {
            /// How it turns sound into a voltage.
            transducer: Transducer,
            /// Directional pattern.
            pattern: Pattern,
            /// Whether it needs, ignores or may be harmed by phantom power.
            phantom: PhantomNeed,
            /// Its connector.
            connector: Connector,
        }
    }
}
