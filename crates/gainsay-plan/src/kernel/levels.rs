//! Levels of every draw up to the input, and the choice of gain: the counterpart of the levels in [`crate::stages`]' walk.

use super::engine::Engine;
use super::{Aim, probability_negative};
use crate::case::LevelsAt;
use crate::chain::{Ending, Origination, OutputStage, PreampStage};
use crate::draws::lane::{Lane, View};
use crate::draws::order::{median, order_statistics};
use crate::stages::{SINE_CREST, pascal_level, volt_level};
use gainsay_units::math::log10;

/// Levels of every draw at source and microphone, in dB SPL and dBu (dBu alone of an electrical source).
pub(super) struct SourceDraws {
    /// RMS of the loudest and of the quietest passage.
    pub(super) loud: Vec<f64>,
    pub(super) quiet: Vec<f64>,
    /// RMS of the loudest passage as open-circuit voltage.
    pub(super) emf: Vec<f64>,
    /// Margin of the loudest peak below the microphone's own ceiling.
    pub(super) margin: Option<Vec<f64>>,
    /// Loss of the microphone's own pad, if it is on.
    pub(super) pad: Option<f64>,
}

impl SourceDraws {
    pub(super) fn of(engine: &Engine<'_>, aim: &Aim) -> Self {
        let chain = engine.chain;
        let (loud, quiet) = (engine.figure(chain.loud), engine.figure(chain.quiet));
        let Origination::Microphone(end) = &chain.origin else {
            let loud = engine.column(|i| loud.at(i));
            let quiet = engine.column(|i| quiet.at(i));
            return Self { emf: loud.clone(), loud, quiet, margin: None, pad: None };
        };
        let moved = moved(engine);
        let moved_at = |i: usize| moved.as_ref().map_or(Lane::ZERO, |moved| View::of(moved).at(i));
        let loud = engine.column(|i| loud.at(i) + moved_at(i));
        let quiet = engine.column(|i| quiet.at(i) + moved_at(i));
        // The microphone's own ceiling, and its pad if that is needed and there.
        let (maximum, crest) = (engine.figure(end.maximum_spl), engine.figure(chain.crest));
        let at_source = View::of(&loud);
        let margin = |pad: f64| {
            engine.column(|i| maximum.at(i) - at_source.at(i) - (crest.at(i) - SINE_CREST.db()) + pad)
        };
        let mut margins = margin(0.0);
        let pad = end.pad.map(|pad| pad.db()).filter(|_| probability_negative(&margins) >= aim.clipping);
        if let Some(pad) = pad {
            margins = margin(pad);
        }
        let tie = volt_level() - pascal_level() - pad.unwrap_or(0.0);
        let sensitivity = engine.figure(end.sensitivity);
        let emf = engine.column(|i| at_source.at(i) + (sensitivity.at(i) + tie));
        Self { loud, quiet, emf, margin: Some(margins), pad }
    }
}

/// How much the inverse distance law changes the level, in dB: from the nearer of where the levels hold and the source's size
/// to the distance, but not closer than the size. None where the levels hold at the microphone.
fn moved(engine: &Engine<'_>) -> Option<Vec<f64>> {
    let Origination::Microphone(end) = &engine.chain.origin else { return None };
    let LevelsAt::Distance(at) = end.levels_at else { return None };
    let size = end.size.metres();
    let near = at.metres().max(size);
    if engine.chain.parameter(end.distance).is_some_and(|p| p.spread.is_exact()) {
        let moved = 20.0 * log10(near / engine.chain.value(end.distance).max(size));
        return Some(engine.column(|_| Lane::all(moved)));
    }
    let distance = engine.figure(end.distance);
    Some(engine.levels(|i| (Lane::all(near) / distance.at(i).larger(Lane::all(size))).square()))
}

/// Levels at the terminals of the input, for every draw at the lowest gain, in dBu.
pub(super) struct InputLevels {
    /// Highest peak.
    pub(super) limit: Vec<f64>,
    /// What reads 0 dBFS; none where that is the highest peak.
    full_scale: Option<Vec<f64>>,
    /// What reads 0 dBFS at the most gain, best estimate.
    pub(super) sensitivity: Option<f64>,
}

impl InputLevels {
    pub(super) fn of(engine: &Engine<'_>) -> Self {
        let chain = engine.chain;
        let preamp = match &chain.ending {
            Ending::Line(line) => {
                let full_scale = engine.figure(line.full_scale);
                return Self {
                    limit: engine.column(|i| full_scale.at(i)),
                    full_scale: None,
                    sensitivity: None,
                };
            }
            Ending::Preamp(preamp) => preamp,
        };
        let (maximum, error) = (engine.figure(preamp.maximum_input), engine.figure(preamp.gain_error));
        let range = chain.value(preamp.gain_range);
        match &preamp.output {
            OutputStage::Converter { .. } => Self {
                limit: engine.column(|i| maximum.at(i) - error.at(i)),
                full_scale: None,
                sensitivity: Some(chain.value(preamp.maximum_input) - range),
            },
            OutputStage::Line { maximum_output, output_resistance, converter, .. } => {
                let least = preamp.least_gain.db();
                let (input, output) =
                    (engine.figure(converter.input_resistance), engine.figure(*output_resistance));
                let converter_full_scale = engine.figure(converter.full_scale);
                let loss = engine.levels(|i| (input.at(i) / (input.at(i) + output.at(i))).square());
                let loss = View::of(&loss);
                let full_scale =
                    engine.column(|i| converter_full_scale.at(i) - loss.at(i) - least - error.at(i));
                let reads_full_scale = View::of(&full_scale);
                let highest_output = engine.figure(*maximum_output);
                let limit = engine.column(|i| {
                    let output = highest_output.at(i) - least - error.at(i);
                    maximum.at(i).smaller(output).smaller(reads_full_scale.at(i))
                });
                let load = chain.value(converter.input_resistance);
                let loss = 20.0 * log10(load / (load + chain.value(*output_resistance)));
                let sensitivity = chain.value(converter.full_scale) - loss - least - range;
                Self { limit, full_scale: Some(full_scale), sensitivity: Some(sensitivity) }
            }
        }
    }

    pub(super) fn full_scale(&self) -> View<'_> {
        View::of(self.full_scale.as_ref().unwrap_or(&self.limit))
    }
}

pub(super) struct Choice {
    pub(super) above_least: f64,
    /// Whether the control is at the end of its range.
    pub(super) at_most: bool,
    pub(super) pad_db: f64,
    /// Peak in the file at the most gain.
    pub(super) peak_at_most: f64,
}

/// The gain that lands the peak on the target, within the range and its steps, with less than the allowed probability of
/// passing the input's ceiling; with the pad where even the lowest gain is too much.
///
/// `margin` is that below the ceiling, and `peak` is the level re full scale, both at the lowest gain.
pub(super) fn choose_gain(engine: &Engine<'_>, aim: &Aim, margin: &[f64], peak: f64) -> Choice {
    let Ending::Preamp(preamp) = &engine.chain.ending else {
        return Choice { above_least: 0.0, at_most: false, pad_db: 0.0, peak_at_most: peak };
    };
    // The largest gain that keeps the probability of clipping below what is allowed.
    let rank = ((aim.clipping * margin.len() as f64).ceil() as usize).saturating_sub(1);
    let [allowed] = order_statistics(margin, [rank]);
    let pad_db = match preamp.pad {
        Some(pad) if allowed < 0.0 => pad.db(),
        _ => 0.0,
    };
    let range = engine.chain.value(preamp.gain_range).max(0.0);
    let wanted = match engine.chain.gain {
        // As it is set, wherever that lands.
        Some(gain) => (gain - preamp.least_gain).db(),
        None => (aim.peak_target - peak + pad_db).min(allowed + pad_db),
    };
    let (above_least, at_most) = setting_of(preamp, wanted, range);
    Choice { above_least, at_most, pad_db, peak_at_most: peak - pad_db + range }
}

/// Median of the peak re full scale at the lowest gain.
pub(super) fn median_peak(
    engine: &Engine<'_>,
    levels: &InputLevels,
    loud_in: View<'_>,
    margin: &[f64],
) -> f64 {
    if levels.full_scale.is_none() {
        // The ceiling is full scale itself, and the peak is what the margin lacks to it. Of an even number of draws the median
        // is the upper one of the middle two, so that ranks count from the other end.
        let [middle] = order_statistics(margin, [margin.len().saturating_sub(1) - margin.len() / 2]);
        return -middle;
    }
    let (crest, full_scale) = (engine.figure(engine.chain.crest), levels.full_scale());
    median(&engine.column(|i| loud_in.at(i) + (crest.at(i) - SINE_CREST.db()) - full_scale.at(i)))
}

/// The nearest setting of the control that is not above `wanted`, and whether it is the end of the range.
fn setting_of(preamp: &PreampStage, wanted: f64, range: f64) -> (f64, bool) {
    if wanted >= range {
        return (range, true);
    }
    let wanted = wanted.max(0.0);
    match preamp.gain_step {
        // A hair's breadth keeps 30 dB in 1 dB steps from becoming 29.
        Some(step) if step.db() > 0.0 => (((wanted / step.db()) + 1e-9).floor() * step.db(), false),
        _ => (wanted, false),
    }
}
