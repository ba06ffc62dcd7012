//! Preamps, interfaces and converters: boxes with groups of equal inputs and outputs.

use crate::connection::{ClockSource, ComputerLink, Connector, DigitalFormat};
use gainsay_units::{
    Amperes, Bits, CurrentNoiseDensity, Dbu, Decibels, FileStruct, Hertz, Ohms, Origin, Problem, Samples,
    VoltageNoiseDensity, file_struct,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What an amplifier's input is built from; it sets the current noise that is typical.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum InputStage {
    /// Bipolar transistors without a transformer.
    Bipolar,
    /// Field-effect transistors.
    Fet,
    /// An input transformer, whatever follows it.
    Transformer,
    /// Valves without an input transformer.
    Valve,
}

impl InputStage {
    /// The current noise that is typical, with its spread; where a sheet gives one EIN only, it splits voltage from current
    /// noise. Common practice, no source: microphone amplifiers with bipolar input transistors run at collector currents
    /// whose shot noise is 1 to 2 pA/√Hz, field-effect and valve inputs have next to none, and a step-up transformer
    /// multiplies that of the transistor behind it.
    #[must_use]
    pub const fn typical_current_noise(self) -> &'static str {
        match self {
            Self::Bipolar => "1.5 pA/√Hz ± 60 %",
            Self::Fet => "0.02 pA/√Hz ± 90 %",
            Self::Transformer => "2 pA/√Hz ± 70 %",
            Self::Valve => "0.1 pA/√Hz ± 90 %",
        }
    }

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Bipolar => "bipolar transistors",
            Self::Fet => "field-effect transistors",
            Self::Transformer => "an input transformer",
            Self::Valve => "valves",
        }
    }
}

file_struct! {
    /// A group of equal microphone inputs.
    pub struct MicrophoneInputs {
        figures {
            /// Gain at the lowest setting; 0 dB if not given.
            least_gain: Decibels,
            /// From the lowest setting to the highest.
            gain_range: Decibels,
            /// Step of the gain control; continuous if not given.
            gain_step: Decibels,
            /// How far the actual gain may be from what the control says.
            gain_accuracy: Decibels,
            /// Maximum input level of a sine at the lowest gain.
            maximum_input: Dbu,
            /// Equivalent input noise at the highest gain, with its source impedance, weighting and band.
            ein: Dbu,
            /// A second equivalent input noise at another source impedance, which gives voltage and current noise exactly.
            ein_second: Dbu,
            /// Density of the input noise voltage, if stated.
            input_noise_voltage: VoltageNoiseDensity,
            /// Density of the input noise current, if stated.
            input_noise_current: CurrentNoiseDensity,
            /// Input resistance between the legs.
            input_impedance: Ohms,
            /// Loss of the pad.
            pad: Decibels,
            /// Highest current that one input's phantom power supplies.
            phantom_current: Amperes,
            /// From the noise to the maximum level at the lowest gain, of the whole input to the file (interface, converter) or
            /// to the output (preamp).
            dynamic_range: Decibels,
            /// Highest level at the output of the amplifier.
            maximum_output: Dbu,
            /// Output resistance, of a preamp.
            output_impedance: Ohms,
        }
        fields {
            /// Name printed on the device, for the patch sheet.
            label: String,
            /// How many there are.
            count: u32,
            /// Connector.
            connector: Connector,
            /// What the input is built from.
            input_stage: InputStage,
            /// Whether it supplies phantom power.
            phantom: bool,
            /// Whether one switch puts phantom power on all inputs of the group at once.
            phantom_together: bool,
            /// Whether the output has a level control of its own behind the gain.
            output_level_control: bool,
            /// Connector of the output, of a preamp.
            output_connector: Connector,
        }
    }
}

file_struct! {
    /// A group of equal line or instrument inputs.
    pub struct LineInputs {
        figures {
            /// Level that reaches digital full scale.
            full_scale: Dbu,
            /// From the noise to full scale.
            dynamic_range: Decibels,
            /// Input resistance.
            input_impedance: Ohms,
        }
        fields {
            /// Name printed on the device.
            label: String,
            /// How many there are.
            count: u32,
            /// Connector.
            connector: Connector,
            /// Whether it is a high-impedance instrument input.
            instrument: bool,
            /// Whether it is balanced.
            balanced: bool,
            /// Whether it is the return of an insert.
            insert: bool,
            /// Whether these inputs and the microphone inputs share converters, so that using one takes the microphone input of
            /// the same number; insert returns always do.
            shares_microphone_inputs: bool,
        }
    }
}

file_struct! {
    /// A group of equal line outputs.
    pub struct LineOutputs {
        figures {
            /// Highest level, which digital full scale gives in a converter.
            maximum_output: Dbu,
            /// Output resistance.
            output_impedance: Ohms,
        }
        fields {
            /// Name printed on the device.
            label: String,
            /// How many there are.
            count: u32,
            /// Connector.
            connector: Connector,
            /// Whether it is balanced.
            balanced: bool,
            /// Whether it is the send of an insert.
            insert: bool,
        }
    }
}

file_struct! {
    /// A group of equal digital ports.
    pub struct DigitalPorts {
        figures {
        }
        fields {
            /// Name printed on the device.
            label: String,
            /// How many ports there are; each carries as many channels as its format does at the sample rate.
            count: u32,
            /// Format.
            format: DigitalFormat,
            /// Other formats that the same port can be switched to.
            switchable_to: Vec<DigitalFormat>,
            /// Connector.
            connector: Connector,
            /// Channels of one port, where they are fewer than its format allows.
            channels: u32,
            /// Whether an input converts its sample rate, so that it needs no common clock.
            sample_rate_converter: bool,
        }
    }
}

/// A preamp, an interface or a converter.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FrontEnd {
    /// Groups of microphone inputs.
    pub microphone_inputs: Vec<MicrophoneInputs>,
    /// Groups of line and instrument inputs.
    pub line_inputs: Vec<LineInputs>,
    /// Groups of line outputs.
    pub line_outputs: Vec<LineOutputs>,
    /// Digital inputs.
    pub digital_inputs: Vec<DigitalPorts>,
    /// Digital outputs.
    pub digital_outputs: Vec<DigitalPorts>,
    /// What concerns the whole device.
    pub whole: Whole,
}

file_struct! {
    /// What concerns a whole preamp, interface or converter.
    pub struct Whole {
        figures {
            /// Width of the samples.
            bit_depth: Bits,
            /// Delay from an analogue input to the digital side.
            input_latency: Samples,
            /// Delay from the digital side to an analogue output.
            output_latency: Samples,
            /// Current that all inputs' phantom power supplies together.
            phantom_current_total: Amperes,
        }
        fields {
            /// Sample rates at which it runs, in hertz.
            sample_rates_hz: Vec<f64>,
            /// Where it can take its clock from.
            clock_sources: Vec<ClockSource>,
            /// Whether it gives word clock.
            word_clock_output: bool,
            /// How it reaches the computer.
            computer: ComputerLink,
            /// Channels to the computer at 44.1 and 48 kHz.
            computer_channels: u32,
            /// Channels to the computer at 88.2 and 96 kHz, where they are fewer.
            computer_channels_96: u32,
            /// Channels to the computer at 176.4 and 192 kHz, where they are fewer.
            computer_channels_192: u32,
        }
    }
}

impl FileStruct for FrontEnd {
    fn resolve(&mut self, origin: Origin, problems: &mut Vec<Problem>) {
        self.microphone_inputs.iter_mut().for_each(|group| group.resolve(origin, problems));
        self.line_inputs.iter_mut().for_each(|group| group.resolve(origin, problems));
        self.line_outputs.iter_mut().for_each(|group| group.resolve(origin, problems));
        self.whole.resolve(origin, problems);
    }

    /// Every group is filled from the typical device's first group of its kind: a device has the inputs that its own file
    /// states, and no others. Ports, rates and clocks are facts, not figures: what the file does not state is not there.
    fn fill_from(&mut self, typical: &Self) {
        for group in &mut self.microphone_inputs {
            if let Some(kind) = typical.microphone_inputs.first() {
                group.fill_from(kind);
            }
        }
        self.fill_line_inputs_from(typical);
        for group in &mut self.line_outputs {
            if let Some(kind) = typical.line_outputs.first() {
                group.fill_from(kind);
            }
        }
        let figures = Whole {
            bit_depth: typical.whole.bit_depth.clone(),
            input_latency: typical.whole.input_latency.clone(),
            output_latency: typical.whole.output_latency.clone(),
            phantom_current_total: typical.whole.phantom_current_total.clone(),
            ..Whole::default()
        };
        self.whole.fill_from(&figures);
    }
}

impl FrontEnd {
    /// Fills line inputs from a typical device's line inputs, and instrument inputs from its instrument inputs.
    pub(crate) fn fill_line_inputs_from(&mut self, typical: &Self) {
        for group in &mut self.line_inputs {
            let same =
                |inputs: &&LineInputs| (inputs.instrument == Some(true)) == (group.instrument == Some(true));
            if let Some(kind) = typical.line_inputs.iter().find(same) {
                group.fill_from(kind);
            }
        }
    }

    /// Microphone inputs in all groups.
    #[must_use]
    pub fn n_microphone_inputs(&self) -> u32 {
        self.microphone_inputs.iter().fold(0, |sum, group| sum.saturating_add(group.count.unwrap_or(1)))
    }

    /// Whether it converts to digital at a sample rate; one that lists no rates is taken to.
    #[must_use]
    pub fn runs_at(&self, rate: Hertz) -> bool {
        // Rates are written as exact numbers; half a hertz separates none of them.
        self.whole
            .sample_rates_hz
            .as_ref()
            .is_none_or(|rates| rates.iter().any(|r| (r - rate.hertz()).abs() < 0.5))
    }
}
