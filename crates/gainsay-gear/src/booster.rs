//! Boosters: amplifiers of fixed gain in the microphone line.

use crate::front_end::InputStage;
use gainsay_units::{Amperes, CurrentNoiseDensity, Dbu, Decibels, Ohms, VoltageNoiseDensity, file_struct};

file_struct! {
    /// What a booster's sheet says.
    pub struct Booster {
        figures {
            /// Fixed gain.
            gain: Decibels,
            /// Equivalent input noise, with its source impedance and weighting.
            ein: Dbu,
            /// Density of the input noise voltage, if stated instead of an EIN.
            input_noise_voltage: VoltageNoiseDensity,
            /// Density of the input noise current.
            input_noise_current: CurrentNoiseDensity,
            /// Input resistance.
            input_impedance: Ohms,
            /// Output resistance.
            output_impedance: Ohms,
            /// Highest output level.
            maximum_output: Dbu,
            /// Current that it draws from phantom power.
            phantom_current: Amperes,
        }
        fields {
            /// What its input is built from.
            input_stage: InputStage,
            /// Whether it passes phantom power on to the microphone.
            passes_phantom: bool,
        }
    }
}
