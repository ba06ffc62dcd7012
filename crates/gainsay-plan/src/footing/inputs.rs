//! Microphone and line inputs on one footing.

use super::amplifier::{Amplifier, NoiseFields};
use super::figures::{Drawn, Figures};
use super::{BANDWIDTH, GroupFooting, GroupKind, Measure, WindowPoint, estimate};
use crate::chain::MissingFigure;
use crate::draws::Draws;
use crate::stages::level;
use crate::words::footing as words;
use gainsay_gear::front_end::{LineInputs, MicrophoneInputs};
use gainsay_gear::{Device, DeviceType, FrontEnd};
use gainsay_units::math::exp10;
use gainsay_units::noise::effective_bandwidth;
use gainsay_units::{Decibels, Stated, Weighting};

/// Step of the gain between the points of a window, in dB.
const STEP_DB: f64 = 5.0;

/// Every group of inputs of a device.
pub(super) fn footing(
    device: &Device,
    front_end: &FrontEnd,
    draws: Draws,
) -> Result<Vec<GroupFooting>, MissingFigure> {
    let mut groups = Vec::new();
    let several = front_end.microphone_inputs.len() > 1;
    for group in &front_end.microphone_inputs {
        let label = group.label.as_deref().filter(|_| several);
        groups.push(microphone_inputs(device, group, label, draws)?);
    }
    let several = front_end.line_inputs.len() > 1;
    for group in &front_end.line_inputs {
        let label = group.label.as_deref().filter(|_| several);
        groups.push(line_inputs(device, group, label, draws)?);
    }
    Ok(groups)
}

/// What a group of microphone inputs does as its gain moves, as draws.
struct Window {
    /// Gain at the lowest setting, dB.
    least: f64,
    /// Best estimate of the gain range, dB.
    most: f64,
    gain_range: Drawn,
    /// Ceiling at the input at the least gain, dBu.
    maximum_input: Drawn,
    /// Highest level at the output, dBu, where that may be reached first.
    maximum_output: Option<Drawn>,
    /// Power of the input noise re 0 dBu.
    ahead: Drawn,
    /// Power of what is added behind the gain, re 0 dBu, as it stands at the input at the least gain.
    behind: Drawn,
}

impl Window {
    /// Ceiling at the input, `above` the least gain.
    fn ceiling(&self, above: &Drawn) -> Drawn {
        let of_input = self.maximum_input.with(above, |maximum, above| maximum - above);
        match &self.maximum_output {
            Some(output) => {
                let of_output = output.with(above, |maximum, above| maximum - self.least - above);
                of_input.with(&of_output, f64::min)
            }
            None => of_input,
        }
    }

    /// Noise at the input, `above` the least gain: `EIN(g)² = ein² + (n_post / G)²`.
    fn noise(&self, above: &Drawn) -> Drawn {
        let behind = self.behind.with(above, |power, above| power * exp10(-above / 10.0));
        self.ahead.with(&behind, |ahead, behind| level(ahead + behind))
    }

    /// From the least gain to the most. The control's marks are exact between its ends; its last one is what the range is.
    fn points(&self, draws: Draws) -> Vec<WindowPoint> {
        let range = self.most;
        let steps = (range / STEP_DB).ceil().clamp(0.0, 60.0) as usize;
        let mut points: Vec<WindowPoint> = (0..steps)
            .map(|step| {
                let above = STEP_DB * step as f64;
                self.point(above, &Drawn::exact(above, draws))
            })
            .collect();
        points.push(self.point(range, &self.gain_range));
        points
    }

    fn point(&self, above_db: f64, above: &Drawn) -> WindowPoint {
        WindowPoint {
            gain_db: self.least + above_db,
            ceiling: estimate(&self.ceiling(above).values),
            noise: estimate(&self.noise(above).values),
        }
    }
}

fn microphone_inputs(
    device: &Device,
    group: &MicrophoneInputs,
    label: Option<&str>,
    draws: Draws,
) -> Result<GroupFooting, MissingFigure> {
    let mut figures = Figures::new(device, label, draws);
    let maximum_input = figures.of("maximum input level", group.maximum_input.as_ref())?;
    let gain_range = figures.of("gain range", group.gain_range.as_ref())?.map(|range| range.max(0.0));
    let fields = NoiseFields {
        voltage: group.input_noise_voltage.as_ref(),
        current: group.input_noise_current.as_ref(),
        ein: group.ein.as_ref(),
        second: group.ein_second.as_ref(),
        stage: group.input_stage,
    };
    let amplifier = Amplifier::of(&mut figures, &fields)?;
    const RANGE: &str = "dynamic range at least gain";
    let range = figures.of(RANGE, group.dynamic_range.as_ref())?;
    let to_the_footing = BANDWIDTH.hertz() / bandwidth(group.dynamic_range.as_ref());
    figures.converted(RANGE, words::more_on_footing(-level(to_the_footing)));
    let least = group.least_gain.as_ref().and_then(Stated::figure).map_or(0.0, |figure| figure.value.db());
    // In an interface or converter the highest input level is full scale; a preamp of its own has an output.
    let maximum_output = match (device.device_type(), &group.maximum_output) {
        (DeviceType::Preamp, Some(stated)) => Some(figures.of("maximum output", Some(stated))?),
        _ => None,
    };
    let input_impedance = figures.of("input impedance", group.input_impedance.as_ref())?;

    let ahead = amplifier.ein().map(|ein| exp10(ein / 10.0));
    let highest = match &maximum_output {
        Some(output) => output.with(&maximum_input, |output, input| output.min(input + least) - least),
        None => maximum_input.clone(),
    };
    // What the dynamic range leaves over the input's own noise is added behind the gain.
    let whole = highest.with(&range, |highest, range| exp10((highest - range) / 10.0) * to_the_footing);
    let behind = whole.with(&ahead, |whole, ahead| (whole - ahead).max(0.0));
    let most =
        group.gain_range.as_ref().and_then(Stated::figure).map_or(0.0, |figure| figure.value.db().max(0.0));
    let window = Window { least, most, gain_range, maximum_input, maximum_output, ahead, behind };

    let none = Drawn::exact(0.0, draws);
    let (loudest, quietest) = (window.ceiling(&none), window.ceiling(&window.gain_range));
    let at_least = loudest.with(&window.noise(&none), |ceiling, noise| ceiling - noise);
    let at_most = quietest.with(&window.noise(&window.gain_range), |ceiling, noise| ceiling - noise);
    let mut list = vec![
        window.gain_range.as_figure(Measure::GainRange),
        quietest.as_figure(Measure::FullScaleSensitivity),
        loudest.as_figure(Measure::MaximumInput),
    ];
    list.extend(amplifier.figures());
    list.push(input_impedance.as_figure(Measure::InputImpedance));
    list.push(at_least.as_figure(Measure::DynamicRangeLeastGain));
    list.push(at_most.as_figure(Measure::DynamicRangeMostGain));
    Ok(GroupFooting {
        label: label.map(str::to_owned),
        count: group.count.unwrap_or(1),
        kind: GroupKind::MicrophoneInput,
        figures: list,
        window: window.points(draws),
        doubts: amplifier.doubts,
        basis: figures.basis,
    })
}

fn line_inputs(
    device: &Device,
    group: &LineInputs,
    label: Option<&str>,
    draws: Draws,
) -> Result<GroupFooting, MissingFigure> {
    let mut figures = Figures::new(device, label, draws);
    let full_scale = figures.of("full-scale level of the line input", group.full_scale.as_ref())?;
    const RANGE: &str = "dynamic range of the line input";
    let range = figures.of(RANGE, group.dynamic_range.as_ref())?;
    let input_impedance = figures.of("line input impedance", group.input_impedance.as_ref())?;
    let to_the_footing = level(BANDWIDTH.hertz() / bandwidth(group.dynamic_range.as_ref()));
    figures.converted(RANGE, words::more_on_footing(-to_the_footing));
    let range = range.map(|range| range - to_the_footing);
    let noise = full_scale.with(&range, |full_scale, range| full_scale - range);
    let point =
        WindowPoint { gain_db: 0.0, ceiling: estimate(&full_scale.values), noise: estimate(&noise.values) };
    Ok(GroupFooting {
        label: label.map(str::to_owned),
        count: group.count.unwrap_or(1),
        kind: GroupKind::LineInput,
        figures: vec![
            full_scale.as_figure(Measure::FullScale),
            noise.as_figure(Measure::InputNoise),
            range.as_figure(Measure::DynamicRange),
            input_impedance.as_figure(Measure::InputImpedance),
        ],
        window: vec![point],
        doubts: Vec::new(),
        basis: figures.basis,
    })
}

/// Bandwidth in which a dynamic range counts noise, in hertz; A-weighted where it does not say (AES17).
fn bandwidth(range: Option<&Stated<Decibels>>) -> f64 {
    let conditions = range.and_then(Stated::figure).map(|figure| figure.conditions).unwrap_or_default();
    effective_bandwidth(conditions.weighting.unwrap_or(Weighting::A), conditions.band).hertz()
}
