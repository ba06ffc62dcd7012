//! A chain from the air to the file: every figure that it rests on, and how they hang together.

use crate::case::{Case, LevelsAt, Pickup, Source};
use crate::ein::{self, differ, usual_current_noise};
use crate::patch::{Input, LineEnd, Socket};
use gainsay_gear::front_end::{InputStage, MicrophoneInputs};
use gainsay_gear::microphone::PhantomNeed;
use gainsay_gear::{Device, Microphone, USUAL_SOURCE};
use gainsay_units::bands::BandPowers;
use gainsay_units::{
    CurrentNoiseDensity, Dbu, Decibels, Figure, Hertz, Kelvin, Measurable, Metres, Ohms, Origin, Spread,
    Stated, Weighting, noise,
};
use std::fmt;

/// One figure of a chain.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameter {
    /// Name of its stream of draws: equal keys are the same physical quantity.
    pub key: String,
    /// What it is, in words: "sensitivity of the moving-coil vocal microphone".
    pub label: String,
    /// Best estimate in the base unit of its dimension.
    pub value: f64,
    /// The base unit.
    pub unit: &'static str,
    /// How far off it may be, in the base unit.
    pub spread: Spread,
    /// Whether it can only be positive, such as a resistance.
    pub positive: bool,
    /// Where it came from.
    pub origin: Origin,
    /// As it was written.
    pub written: String,
    /// A source or remark.
    pub note: Option<String>,
}

/// Index of a parameter in its chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ParameterId(usize);

/// How an amplifier's noise is stated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoiseFigures {
    /// One EIN, and the current noise.
    OneEin {
        /// The EIN.
        ein: Ein,
        /// Density of the current noise, A/√Hz.
        current: ParameterId,
    },
    /// EINs at two source impedances.
    TwoEins {
        /// The one.
        first: Ein,
        /// The other.
        second: Ein,
    },
    /// The two densities themselves.
    Densities {
        /// V/√Hz.
        voltage: ParameterId,
        /// A/√Hz.
        current: ParameterId,
    },
}

/// An EIN with its conditions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ein {
    /// The level in dBu.
    pub level: ParameterId,
    /// What has to be added to the level because nobody says whether it is weighted, dB.
    pub unknown_weighting: Option<ParameterId>,
    /// The source with which it was measured.
    pub source: EinSource,
    /// Bandwidth in which white noise without weighting has the same power.
    pub bandwidth: Hertz,
}

/// The source with which an EIN was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum EinSource {
    /// Its resistance is stated, or usual.
    Known(Ohms),
    /// Nobody says; Ω.
    Unknown(ParameterId),
}

/// A range from noise to maximum, with the bandwidth that its weighting leaves of white noise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// The range in dB.
    pub range: ParameterId,
    /// Effective bandwidth of its weighting.
    pub bandwidth: Hertz,
}

/// Where the signal comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Origination {
    /// From the air, through a microphone.
    Microphone(Box<MicrophoneEnd>),
    /// From an electrical output.
    Output {
        /// Its own noise in dBu, unweighted, white.
        noise: ParameterId,
    },
}

/// The acoustic end of a chain.
#[derive(Debug, Clone, PartialEq)]
pub struct MicrophoneEnd {
    /// Distance from source to microphone in metres.
    pub distance: ParameterId,
    /// Where the levels hold.
    pub levels_at: LevelsAt,
    /// Size of the source.
    pub size: Metres,
    /// The room's noise, dBA.
    pub room: ParameterId,
    /// dBV/Pa.
    pub sensitivity: ParameterId,
    /// Self-noise, dB SPL, with the effective bandwidth of its weighting; none for a passive microphone.
    pub self_noise: Option<Range>,
    /// Highest level of a sine, dB SPL.
    pub maximum_spl: ParameterId,
    /// Loss of the microphone's own pad, if it has one.
    pub pad: Option<Decibels>,
    /// Directivity index, dB.
    pub directivity: ParameterId,
}

/// A booster in the line, at the microphone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoosterStage {
    /// Gain in dB.
    pub gain: ParameterId,
    /// Its noise.
    pub noise: NoiseFigures,
    /// Ω.
    pub input_resistance: ParameterId,
    /// Ω.
    pub output_resistance: ParameterId,
    /// dBu.
    pub maximum_output: ParameterId,
}

/// An amplifier with a gain control.
#[derive(Debug, Clone, PartialEq)]
pub struct PreampStage {
    /// Gain at the lowest setting.
    pub least_gain: Decibels,
    /// From lowest to highest, dB.
    pub gain_range: ParameterId,
    /// Step of the control.
    pub gain_step: Option<Decibels>,
    /// Error of the gain, dB.
    pub gain_error: ParameterId,
    /// Maximum input at the lowest gain, dBu.
    pub maximum_input: ParameterId,
    /// Its noise.
    pub noise: NoiseFigures,
    /// Loss of its pad, if it has one.
    pub pad: Option<Decibels>,
    /// What follows it.
    pub output: OutputStage,
}

/// What follows the gain.
#[derive(Debug, Clone, PartialEq)]
pub enum OutputStage {
    /// A converter in the same device: full scale is the input's own maximum.
    Converter {
        /// From the noise at the lowest gain to full scale.
        dynamic_range: Range,
    },
    /// An output, into a line input of a converter.
    Line {
        /// Highest output level, dBu.
        maximum_output: ParameterId,
        /// From the noise at the lowest gain to the highest output.
        dynamic_range: Range,
        /// Ω.
        output_resistance: ParameterId,
        /// The converter.
        converter: LineStage,
    },
}

/// A line input with its converter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineStage {
    /// dBu at 0 dBFS.
    pub full_scale: ParameterId,
    /// From the noise to full scale.
    pub dynamic_range: Range,
    /// Ω.
    pub input_resistance: ParameterId,
}

/// What the line from source or booster ends in.
#[derive(Debug, Clone, PartialEq)]
pub enum Ending {
    /// A microphone input.
    Preamp(Box<PreampStage>),
    /// A line or instrument input.
    Line(LineStage),
}

/// A chain from the air to the file.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain {
    parameters: Vec<Parameter>,
    /// Name of the source.
    pub source: String,
    /// RMS level of the loudest passage: dB SPL, or dBu of an electrical source.
    pub loud: ParameterId,
    /// RMS level of the quietest passage that matters.
    pub quiet: ParameterId,
    /// From RMS to peak.
    pub crest: ParameterId,
    /// Where the signal comes from.
    pub origin: Origination,
    /// Resistance of the source, Ω.
    pub source_resistance: ParameterId,
    /// Inductance of the source, H.
    pub source_inductance: Option<ParameterId>,
    /// Length of the cable, m.
    pub cable_length: ParameterId,
    /// Its capacitance for each metre, F/m.
    pub cable_capacitance: ParameterId,
    /// A booster at the microphone, before the cable.
    pub booster: Option<BoosterStage>,
    /// Input resistance at the end of the cable, Ω.
    pub input_resistance: ParameterId,
    /// Whether phantom power is on there.
    pub phantom: bool,
    /// What the cable ends in.
    pub ending: Ending,
    /// Gain on the input's control, where it is set already.
    pub gain: Option<Decibels>,
    /// Share of the source's power in each band.
    pub spectrum: BandPowers,
    /// The room's noise in each band re its A-weighted level: powers whose A-weighted sum is one.
    pub room_shape: BandPowers,
    /// Temperature.
    pub temperature: Kelvin,
    /// Bits of the file.
    pub bit_depth: f64,
    /// Sample rate of the file.
    pub sample_rate: Hertz,
}

/// A figure without which the engine can't run is missing from device and kind alike.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MissingFigure {
    /// What is missing.
    pub what: &'static str,
    /// The device.
    pub device: String,
}

impl fmt::Display for MissingFigure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "neither \"{}\" nor the kind it is like states its {}", self.device, self.what)
    }
}

impl std::error::Error for MissingFigure {}

impl Chain {
    /// The figures, each once.
    #[must_use]
    pub fn parameters(&self) -> &[Parameter] {
        &self.parameters
    }

    /// A figure. Ids come only from the chain itself.
    #[must_use]
    pub fn parameter(&self, id: ParameterId) -> Option<&Parameter> {
        self.parameters.get(id.0)
    }

    /// Best estimate of a figure, in its base unit.
    pub(crate) fn value(&self, id: ParameterId) -> f64 {
        self.parameter(id).map_or(f64::NAN, |parameter| parameter.value)
    }

    /// Holds a figure at a value, if the chain has it.
    pub(crate) fn fix(&mut self, key: &str, value: f64) {
        for parameter in self.parameters.iter_mut().filter(|parameter| parameter.key == key) {
            parameter.value = value;
            parameter.spread = Spread::Exact;
        }
    }

    /// Ids and figures.
    pub(crate) fn each(&self) -> impl Iterator<Item = (ParameterId, &Parameter)> {
        self.parameters.iter().enumerate().map(|(index, parameter)| (ParameterId(index), parameter))
    }

    /// The chain of one source of a case through an input.
    ///
    /// # Errors
    /// When a figure is missing that neither the device nor the kind it is like states.
    pub fn new(case: &Case, source: &Source, input: &Input) -> Result<Self, MissingFigure> {
        let mut builder = Builder { parameters: Vec::new(), group: None };
        let mut chain = builder.chain(case, source, input)?;
        chain.fix_all(case);
        Ok(chain)
    }

    fn fix_all(&mut self, case: &Case) {
        for fixed in &case.fixed {
            self.fix(&fixed.key, fixed.value);
        }
    }

    /// The line input behind the output of its preamp, if there is one.
    pub(crate) fn converter(&self) -> Option<&LineStage> {
        match &self.ending {
            Ending::Preamp(preamp) => match &preamp.output {
                OutputStage::Line { converter, .. } => Some(converter),
                OutputStage::Converter { .. } => None,
            },
            Ending::Line(_) => None,
        }
    }

    /// Puts another line input behind the output of its preamp. A chain without such an output stays as it is.
    ///
    /// # Errors
    /// As [`Chain::new`].
    pub(crate) fn land(&mut self, case: &Case, into: &LineEnd) -> Result<(), MissingFigure> {
        let Ending::Preamp(preamp) = &mut self.ending else { return Ok(()) };
        let OutputStage::Line { converter, .. } = &mut preamp.output else { return Ok(()) };
        // The converter's figures are the last of a chain.
        let mut parameters = std::mem::take(&mut self.parameters);
        parameters.truncate(converter.full_scale.0);
        let mut builder = Builder { parameters, group: None };
        let line = builder.line(&into.device, &into.inputs);
        self.parameters = builder.parameters;
        *converter = line?;
        self.fix_all(case);
        Ok(())
    }
}

impl ParameterId {
    pub(crate) fn index(self) -> usize {
        self.0
    }
}

struct Builder {
    parameters: Vec<Parameter>,
    /// Label of the group of inputs whose figures are being added; groups of one device are different inputs.
    group: Option<String>,
}

impl Builder {
    fn add<T: Measurable>(&mut self, key: String, label: String, figure: &Figure<T>) -> ParameterId {
        let dimension = T::DIMENSION;
        self.parameters.push(Parameter {
            key,
            label,
            value: figure.value.to_base(),
            unit: dimension.base_unit(),
            spread: figure.spread,
            positive: !dimension.is_logarithmic(),
            origin: figure.origin,
            written: figure.written.clone(),
            note: figure.note.clone(),
        });
        ParameterId(self.parameters.len() - 1)
    }

    /// A figure of a device; its key names device and figure, so that two sources through equal devices share its draws.
    fn of<T: Measurable>(
        &mut self,
        device: &Device,
        what: &'static str,
        stated: Option<&Stated<T>>,
    ) -> Result<ParameterId, MissingFigure> {
        let figure = stated
            .and_then(Stated::figure)
            .ok_or_else(|| MissingFigure { what, device: device.name.clone() })?;
        Ok(self.add_of(device, what, figure))
    }

    fn add_of<T: Measurable>(&mut self, device: &Device, what: &str, figure: &Figure<T>) -> ParameterId {
        let (in_key, in_words) = match &self.group {
            Some(label) => (format!("/{label}"), format!(" ({label})")),
            None => (String::new(), String::new()),
        };
        self.add(
            format!("device/{}{in_key}/{what}", device.name),
            format!("{what} of \"{}\"{in_words}", device.name),
            figure,
        )
    }

    fn chain(&mut self, case: &Case, source: &Source, input: &Input) -> Result<Chain, MissingFigure> {
        let key = |what: &str| format!("source/{}/{what}", source.name);
        let label = |what: &str| format!("{what} of {}", source.name);
        let crest = self.add(key("crest"), label("crest factor"), &source.crest);
        let (loud, quiet, origin, source_resistance, source_inductance, wants_phantom) = match &source.pickup
        {
            Pickup::Acoustic { microphone, distance, levels_at, quiet, loud, size, .. } => {
                let model = microphone.microphone();
                let empty = Microphone::default();
                let model = model.unwrap_or(&empty);
                let loud = self.add(key("loud"), label("loudest level"), loud);
                let quiet = self.add(key("quiet"), label("quietest level"), quiet);
                let distance = self.add(key("distance"), label("distance"), distance);
                let room =
                    self.add("room/noise".to_owned(), "noise of the room".to_owned(), &case.room.noise);
                let sensitivity = self.of(microphone, "sensitivity", model.sensitivity.as_ref())?;
                let passive = model.transducer.is_some_and(gainsay_gear::microphone::Transducer::is_passive);
                let self_noise = if passive && model.self_noise.is_none() {
                    None
                } else {
                    let id = self.of(microphone, "self-noise", model.self_noise.as_ref())?;
                    Some(Range {
                        range: id,
                        bandwidth: self.bandwidth(model.self_noise.as_ref(), Weighting::A),
                    })
                };
                let maximum_spl = self.of(microphone, "maximum SPL", model.maximum_spl.as_ref())?;
                let directivity = match model.directivity_index.as_ref() {
                    Some(_) => self.of(microphone, "directivity index", model.directivity_index.as_ref())?,
                    None => {
                        let pattern = model.pattern.unwrap_or(gainsay_gear::microphone::Pattern::Cardioid);
                        let mut figure = Figure::exact(
                            pattern.directivity_index(),
                            format!("{:.1} dB", pattern.directivity_index().db()),
                        );
                        figure.origin = Origin::Typical;
                        figure.note = Some(format!("ideal {} pattern", pattern.words()));
                        self.add_of(microphone, "directivity index", &figure)
                    }
                };
                let resistance = self.of(microphone, "source impedance", model.impedance.as_ref())?;
                let inductance = match &model.inductance {
                    Some(stated) if stated.figure().is_some_and(|f| f.value.henries() > 0.0) => {
                        Some(self.of(microphone, "inductance", Some(stated))?)
                    }
                    _ => None,
                };
                let end = MicrophoneEnd {
                    distance,
                    levels_at: *levels_at,
                    size: *size,
                    room,
                    sensitivity,
                    self_noise,
                    maximum_spl,
                    pad: model.pad.as_ref().and_then(Stated::figure).map(|figure| figure.value),
                    directivity,
                };
                let phantom = model.phantom == Some(PhantomNeed::Required);
                (loud, quiet, Origination::Microphone(Box::new(end)), resistance, inductance, phantom)
            }
            Pickup::Electrical { quiet, loud, noise, impedance } => {
                let loud = self.add(key("loud"), label("loudest level"), loud);
                let quiet = self.add(key("quiet"), label("quietest level"), quiet);
                let noise = self.add(key("noise"), label("own noise"), noise);
                let resistance = self.add(key("impedance"), label("output impedance"), impedance);
                (loud, quiet, Origination::Output { noise }, resistance, None, false)
            }
        };
        let cable_length = self.add(key("cable"), label("cable length"), &source.cable_length);
        let cable_capacitance = self.add(
            key("cable capacitance"),
            "capacitance of the cable per metre".to_owned(),
            &source.cable_capacitance,
        );
        let booster = match &source.booster {
            Some(device) => Some(self.booster(device)?),
            None => None,
        };
        let (input_resistance, ending, has_phantom) = match &input.socket {
            Socket::Microphone(group) => {
                let groups = input.device.front_end().map_or(0, |f| f.microphone_inputs.len());
                self.group = group.label.clone().filter(|_| groups > 1);
                let resistance = self.of(&input.device, "input impedance", group.input_impedance.as_ref())?;
                let stage = self.preamp(group, input)?;
                self.group = None;
                (resistance, Ending::Preamp(Box::new(stage)), group.phantom == Some(true))
            }
            Socket::Line(group) => {
                let line = self.line(&input.device, group)?;
                (line.input_resistance, Ending::Line(line), false)
            }
        };
        Ok(Chain {
            parameters: std::mem::take(&mut self.parameters),
            source: source.name.clone(),
            loud,
            quiet,
            crest,
            origin,
            source_resistance,
            source_inductance,
            cable_length,
            cable_capacitance,
            phantom: has_phantom && (wants_phantom || booster.is_some()),
            booster,
            input_resistance,
            ending,
            gain: source.gain,
            spectrum: source.spectrum,
            room_shape: case.room.shape,
            temperature: case.room.temperature,
            bit_depth: case.session.bit_depth.value.bits(),
            sample_rate: case.session.sample_rate.value,
        })
    }

    /// Effective bandwidth of a noise or range figure; `usual` is its weighting where it states none.
    fn bandwidth<T: Measurable>(&self, stated: Option<&Stated<T>>, usual: Weighting) -> Hertz {
        let conditions = stated.and_then(Stated::figure).map(|figure| figure.conditions).unwrap_or_default();
        noise::effective_bandwidth(conditions.weighting.unwrap_or(usual), conditions.band)
    }

    /// An EIN. What its sheet does not state of weighting and source lies anywhere between the usual ones; `usual` is taken for
    /// the source where one has to be told from another.
    fn ein(
        &mut self,
        device: &Device,
        what: &'static str,
        stated: Option<&Stated<Dbu>>,
        usual: Option<Ohms>,
    ) -> Result<Ein, MissingFigure> {
        let level = self.of(device, what, stated)?;
        let conditions = stated.and_then(Stated::figure).map(|figure| figure.conditions).unwrap_or_default();
        let unknown_weighting = ein::unknown_weighting(&conditions).map(|widest| {
            let half = Decibels::new(widest.db() / 2.0);
            self.between(
                device,
                &format!("{what} weighting"),
                half,
                half.db(),
                "its sheet does not say whether it is weighted",
            )
        });
        let source = match conditions.source_impedance.or(usual) {
            Some(source) => EinSource::Known(source),
            None => {
                let half = Ohms::new(ein::HIGHEST_SOURCE.ohms() / 2.0);
                EinSource::Unknown(self.between(
                    device,
                    &format!("{what} source"),
                    half,
                    half.ohms(),
                    "its sheet does not say with which source: anything from a short to 200 Ω",
                ))
            }
        };
        Ok(Ein { level, unknown_weighting, source, bandwidth: self.bandwidth(stated, Weighting::Flat) })
    }

    /// A figure that lies anywhere up to `half` below or above the middle.
    fn between<T: Measurable>(
        &mut self,
        device: &Device,
        what: &str,
        middle: T,
        half: f64,
        note: &str,
    ) -> ParameterId {
        let base = middle.to_base();
        let written =
            format!("{base:.1} {} ± {half:.1} {}", T::DIMENSION.base_unit(), T::DIMENSION.base_unit());
        let mut figure = Figure::exact(middle, written);
        figure.spread = Spread::Rectangular { below: half, above: half };
        figure.origin = Origin::Assumed;
        figure.note = Some(note.to_owned());
        let id = self.add_of(device, what, &figure);
        // It can be as low as nothing.
        if let Some(parameter) = self.parameters.get_mut(id.0) {
            parameter.positive = false;
        }
        id
    }

    fn current_noise(
        &mut self,
        device: &Device,
        stated: Option<&Stated<CurrentNoiseDensity>>,
        stage: Option<InputStage>,
    ) -> Result<ParameterId, MissingFigure> {
        const WHAT: &str = "input current noise";
        if stated.is_some() {
            return self.of(device, WHAT, stated);
        }
        let figure = usual_current_noise(stage)
            .ok_or_else(|| MissingFigure { what: WHAT, device: device.name.clone() })?;
        Ok(self.add_of(device, WHAT, &figure))
    }

    fn booster(&mut self, device: &Device) -> Result<BoosterStage, MissingFigure> {
        let empty = gainsay_gear::Booster::default();
        let model = device.booster().unwrap_or(&empty);
        let noise = match &model.input_noise_voltage {
            Some(voltage) => NoiseFigures::Densities {
                voltage: self.of(device, "input voltage noise", Some(voltage))?,
                current: self.current_noise(device, model.input_noise_current.as_ref(), model.input_stage)?,
            },
            None => NoiseFigures::OneEin {
                ein: self.ein(device, "EIN", model.ein.as_ref(), None)?,
                current: self.current_noise(device, model.input_noise_current.as_ref(), model.input_stage)?,
            },
        };
        Ok(BoosterStage {
            gain: self.of(device, "gain", model.gain.as_ref())?,
            noise,
            input_resistance: self.of(device, "input impedance", model.input_impedance.as_ref())?,
            output_resistance: self.of(device, "output impedance", model.output_impedance.as_ref())?,
            maximum_output: self.of(device, "maximum output", model.maximum_output.as_ref())?,
        })
    }

    fn preamp(&mut self, group: &MicrophoneInputs, input: &Input) -> Result<PreampStage, MissingFigure> {
        let device = &input.device;
        let noise = match (&group.input_noise_voltage, &group.ein_second) {
            (Some(voltage), _) => NoiseFigures::Densities {
                voltage: self.of(device, "input voltage noise", Some(voltage))?,
                current: self.current_noise(device, group.input_noise_current.as_ref(), group.input_stage)?,
            },
            (None, Some(second)) if differ(group.ein.as_ref(), second) => NoiseFigures::TwoEins {
                first: self.ein(device, "EIN", group.ein.as_ref(), Some(USUAL_SOURCE))?,
                second: self.ein(device, "second EIN", Some(second), Some(USUAL_SOURCE))?,
            },
            _ => NoiseFigures::OneEin {
                ein: self.ein(device, "EIN", group.ein.as_ref(), None)?,
                current: self.current_noise(device, group.input_noise_current.as_ref(), group.input_stage)?,
            },
        };
        let gain_range = self.of(device, "gain range", group.gain_range.as_ref())?;
        let maximum_input = self.of(device, "maximum input level", group.maximum_input.as_ref())?;
        let gain_error = match &group.gain_accuracy {
            Some(stated) => self.of(device, "gain accuracy", Some(stated))?,
            None => self.add_of(device, "gain accuracy", &Figure::exact(Decibels::ZERO, "0 dB")),
        };
        let dynamic_range = Range {
            range: self.of(device, "dynamic range at least gain", group.dynamic_range.as_ref())?,
            bandwidth: self.bandwidth(group.dynamic_range.as_ref(), Weighting::A),
        };
        let output = match &input.line {
            Some(LineEnd { device: into, inputs, .. }) => OutputStage::Line {
                maximum_output: self.of(device, "maximum output", group.maximum_output.as_ref())?,
                dynamic_range,
                output_resistance: self.of(device, "output impedance", group.output_impedance.as_ref())?,
                converter: self.line(into, inputs)?,
            },
            None => OutputStage::Converter { dynamic_range },
        };
        Ok(PreampStage {
            least_gain: exact_value(group.least_gain.as_ref()).unwrap_or(Decibels::ZERO),
            gain_range,
            gain_step: exact_value(group.gain_step.as_ref()),
            gain_error,
            maximum_input,
            noise,
            pad: exact_value(group.pad.as_ref()),
            output,
        })
    }

    fn line(
        &mut self,
        device: &Device,
        group: &gainsay_gear::front_end::LineInputs,
    ) -> Result<LineStage, MissingFigure> {
        let groups = device.front_end().map_or(0, |f| f.line_inputs.len());
        let label = group.label.clone().filter(|_| groups > 1);
        let outer = std::mem::replace(&mut self.group, label);
        let line = self.line_figures(device, group);
        self.group = outer;
        line
    }

    fn line_figures(
        &mut self,
        device: &Device,
        group: &gainsay_gear::front_end::LineInputs,
    ) -> Result<LineStage, MissingFigure> {
        Ok(LineStage {
            full_scale: self.of(device, "full-scale level of the line input", group.full_scale.as_ref())?,
            dynamic_range: Range {
                range: self.of(device, "dynamic range of the line input", group.dynamic_range.as_ref())?,
                bandwidth: self.bandwidth(group.dynamic_range.as_ref(), Weighting::A),
            },
            input_resistance: self.of(device, "line input impedance", group.input_impedance.as_ref())?,
        })
    }
}

fn exact_value<T: Measurable>(stated: Option<&Stated<T>>) -> Option<T> {
    stated.and_then(Stated::figure).map(|figure| figure.value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::{CaseFile, FilePart, Fixed, assemble};
    use crate::patch::possible_inputs;
    use gainsay_gear::Catalogue;

    #[test]
    fn a_chain_that_lands_elsewhere_is_the_chain_through_there() {
        let case_with = |interface: &str| {
            let case = format!(
                "[[source]]\nkind = \"speech normal\"\n[[owned]]\ndevice = \"preamp-transparent-60-db\"\n\
                 [[owned]]\ndevice = \"{interface}\"\n"
            );
            let part = FilePart { file: CaseFile::from_toml(&case).unwrap() };
            assemble(&[part], &[], Catalogue::embedded()).unwrap()
        };
        let interfaces =
            ["interface-eight-inputs", "converter-eight-line-inputs", "desk-interface-two-inputs"];
        let behind_preamps: Vec<Input> = interfaces
            .into_iter()
            .flat_map(|interface| possible_inputs(&case_with(interface), 0))
            .filter(|input| input.line.is_some())
            .collect();
        let mut case = case_with("interface-eight-inputs");
        let source = case.sources[0].clone();
        let any = Chain::new(&case, &source, &behind_preamps[0]).unwrap();
        let key = &any.parameter(any.converter().unwrap().full_scale).unwrap().key;
        case.fixed = vec![Fixed { key: key.clone(), value: 1.0 }];
        let mut pairs = 0;
        for from in &behind_preamps {
            for into in &behind_preamps {
                let mut landed = Chain::new(&case, &source, from).unwrap();
                landed.land(&case, into.line.as_ref().unwrap()).unwrap();
                let through = Input { line: into.line.clone(), ..from.clone() };
                assert_eq!(landed, Chain::new(&case, &source, &through).unwrap());
                pairs += usize::from(from.line != into.line);
            }
        }
        assert!(pairs > 1, "only {pairs} pairs of different line inputs");
    }
}
