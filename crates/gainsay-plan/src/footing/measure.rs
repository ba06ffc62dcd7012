//! What is compared, each with its unit and its words.

/// A figure of the footing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Measure {
    /// From the least gain to the most.
    GainRange,
    /// A booster's fixed gain.
    Gain,
    /// Level at the input that reaches full scale, or a preamp's highest output, at the most gain.
    FullScaleSensitivity,
    /// Highest level of a sine at the input at the least gain.
    MaximumInput,
    /// Equivalent input noise with 150 Ω, 20 Hz to 20 kHz, unweighted, at 293.15 K and the most gain.
    Ein,
    /// Noise figure with 150 Ω at 290 K.
    NoiseFigure,
    /// From the thermal noise of 150 Ω up to the EIN.
    AboveThermalLimit,
    /// Density of the input noise voltage.
    VoltageNoise,
    /// Density of the input noise current.
    CurrentNoise,
    /// The source resistance with which the noise figure is least.
    BestSource,
    /// Input resistance.
    InputImpedance,
    /// From noise to ceiling at the least gain, unweighted.
    DynamicRangeLeastGain,
    /// From noise to ceiling at the most gain, unweighted.
    DynamicRangeMostGain,
    /// From noise to ceiling of a line input or a booster, unweighted.
    DynamicRange,
    /// Level at a line input that reaches full scale.
    FullScale,
    /// Noise of a line input, as a level at it, unweighted.
    InputNoise,
    /// A microphone's sensitivity in millivolts per pascal.
    SensitivityMillivolts,
    /// A microphone's sensitivity re 1 V/Pa.
    Sensitivity,
    /// Source resistance.
    SourceImpedance,
    /// Level at 94 dB SPL.
    OutputAt94,
    /// Sound level of a microphone's own noise, A-weighted.
    EquivalentNoise,
    /// A microphone's noise at its output, unweighted.
    OutputNoise,
    /// The same as a voltage.
    OutputNoiseMicrovolts,
    /// Highest sound level of a sine.
    MaximumSpl,
    /// From a microphone's own noise, A-weighted, to its maximum.
    MicrophoneDynamicRange,
    /// An amplifier's own noise, unweighted, that adds 1 dB to a microphone's.
    NoiseAddingOneDb,
    /// The EIN, on this footing, of such an amplifier.
    EinAddingOneDb,
}

impl Measure {
    /// Its name in results for machines, which ends in its unit.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::GainRange => "gain_range_db",
            Self::Gain => "gain_db",
            Self::FullScaleSensitivity => "full_scale_sensitivity_dbu",
            Self::MaximumInput => "maximum_input_dbu",
            Self::Ein => "ein_150_ohm_dbu",
            Self::NoiseFigure => "noise_figure_db",
            Self::AboveThermalLimit => "above_thermal_limit_db",
            Self::VoltageNoise => "voltage_noise_nv_per_root_hz",
            Self::CurrentNoise => "current_noise_pa_per_root_hz",
            Self::BestSource => "best_source_ohm",
            Self::InputImpedance => "input_impedance_ohm",
            Self::DynamicRangeLeastGain => "dynamic_range_least_gain_db",
            Self::DynamicRangeMostGain => "dynamic_range_most_gain_db",
            Self::DynamicRange => "dynamic_range_db",
            Self::FullScale => "full_scale_dbu",
            Self::InputNoise => "input_noise_dbu",
            Self::SensitivityMillivolts => "sensitivity_mv_per_pa",
            Self::Sensitivity => "sensitivity_dbv_per_pa",
            Self::SourceImpedance => "source_impedance_ohm",
            Self::OutputAt94 => "output_at_94_db_spl_dbu",
            Self::EquivalentNoise => "equivalent_noise_dba",
            Self::OutputNoise => "output_noise_dbu",
            Self::OutputNoiseMicrovolts => "output_noise_uv",
            Self::MaximumSpl => "maximum_spl_db_spl",
            Self::MicrophoneDynamicRange => "dynamic_range_dba",
            Self::NoiseAddingOneDb => "amplifier_noise_adding_1_db_dbu",
            Self::EinAddingOneDb => "ein_150_ohm_adding_1_db_dbu",
        }
    }

    /// Its unit, for reading.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::GainRange
            | Self::Gain
            | Self::NoiseFigure
            | Self::AboveThermalLimit
            | Self::DynamicRangeLeastGain
            | Self::DynamicRangeMostGain
            | Self::DynamicRange => "dB",
            Self::FullScaleSensitivity
            | Self::MaximumInput
            | Self::Ein
            | Self::FullScale
            | Self::InputNoise
            | Self::OutputAt94
            | Self::OutputNoise
            | Self::NoiseAddingOneDb
            | Self::EinAddingOneDb => "dBu",
            Self::VoltageNoise => "nV/√Hz",
            Self::CurrentNoise => "pA/√Hz",
            Self::BestSource | Self::InputImpedance | Self::SourceImpedance => "Ω",
            Self::SensitivityMillivolts => "mV/Pa",
            Self::Sensitivity => "dBV/Pa",
            Self::EquivalentNoise => "dBA",
            Self::OutputNoiseMicrovolts => "µV",
            Self::MaximumSpl => "dB SPL",
            Self::MicrophoneDynamicRange => "dB(A)",
        }
    }

    /// What it is, in a few words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::GainRange => "gain range",
            Self::Gain => "gain",
            Self::FullScaleSensitivity => "full scale from (most gain)",
            Self::MaximumInput => "maximum input",
            Self::Ein => "EIN with 150 Ω, unweighted",
            Self::NoiseFigure => "noise figure with 150 Ω",
            Self::AboveThermalLimit => "EIN above the thermal limit",
            Self::VoltageNoise => "input noise voltage",
            Self::CurrentNoise => "input noise current",
            Self::BestSource => "quietest with a source of",
            Self::InputImpedance => "input impedance",
            Self::DynamicRangeLeastGain => "dynamic range at least gain, unweighted",
            Self::DynamicRangeMostGain => "dynamic range at most gain, unweighted",
            Self::DynamicRange => "dynamic range, unweighted",
            Self::FullScale => "full scale at",
            Self::InputNoise => "noise at the input, unweighted",
            Self::SensitivityMillivolts | Self::Sensitivity => "sensitivity",
            Self::SourceImpedance => "source impedance",
            Self::OutputAt94 => "output at 94 dB SPL",
            Self::EquivalentNoise => "own noise as sound",
            Self::OutputNoise | Self::OutputNoiseMicrovolts => "own noise at the output, unweighted",
            Self::MaximumSpl => "maximum sound level",
            Self::MicrophoneDynamicRange => "dynamic range, A-weighted",
            Self::NoiseAddingOneDb => "amplifier noise that adds 1 dB",
            Self::EinAddingOneDb => "EIN with 150 Ω that adds 1 dB",
        }
    }

    /// The head of a column, in two rows with the unit.
    #[must_use]
    pub const fn column(self) -> &'static str {
        match self {
            Self::GainRange => "Gain range\ndB",
            Self::Gain => "Gain\ndB",
            Self::FullScaleSensitivity => "Full scale\nfrom dBu",
            Self::MaximumInput => "Maximum\ninput dBu",
            Self::Ein => "EIN 150 Ω\ndBu",
            Self::NoiseFigure => "Noise figure\ndB",
            Self::AboveThermalLimit => "Above limit\ndB",
            Self::DynamicRangeLeastGain => "Range, least\ngain dB",
            Self::DynamicRangeMostGain => "Range, most\ngain dB",
            Self::DynamicRange | Self::MicrophoneDynamicRange => "Dynamic\nrange dB",
            Self::FullScale => "Full scale\ndBu",
            Self::InputNoise => "Noise\ndBu",
            Self::SensitivityMillivolts => "Sensitivity\nmV/Pa",
            Self::Sensitivity => "Sensitivity\ndBV/Pa",
            Self::SourceImpedance => "Impedance\nΩ",
            Self::OutputAt94 => "At 94 dB\nSPL dBu",
            Self::EquivalentNoise => "Own noise\ndBA",
            Self::OutputNoise => "Own noise\ndBu",
            Self::OutputNoiseMicrovolts => "Own noise\nµV",
            Self::MaximumSpl => "Maximum\ndB SPL",
            Self::NoiseAddingOneDb => "Adds 1 dB\ndBu",
            Self::EinAddingOneDb => "EIN adding\n1 dB, dBu",
            Self::VoltageNoise => "Voltage\nnV/√Hz",
            Self::CurrentNoise => "Current\npA/√Hz",
            Self::BestSource => "Best source\nΩ",
            Self::InputImpedance => "Input\nΩ",
        }
    }
}
