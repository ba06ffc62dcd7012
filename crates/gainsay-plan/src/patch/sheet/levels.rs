//! Whether a preamp's output and the line input behind it agree about levels.

use crate::answer::LevelAnswer;
use crate::patch::{Input, Socket};
use crate::stages::Contributor;
use gainsay_units::math::{exp10, log10};
use gainsay_units::{Dbu, Decibels, Figure, Stated};
use serde::Serialize;

/// Levels at the joint between a preamp and a line input.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct JointLevel {
    /// Highest level at the preamp's output.
    pub maximum_output_dbu: f64,
    /// Level that reaches full scale at the line input.
    pub full_scale_dbu: f64,
    /// By how much the preamp can overload the line input; negative where it clips before full scale is reached.
    pub excess_db: f64,
    /// How it fits.
    pub fit: LevelFit,
    /// Attenuation between the two with which the preamp's whole range fits.
    pub attenuator_db: f64,
    /// By how much the recording's noise would fall if the preamp reached full scale: what a needlessly low level costs.
    pub noise_cost_db: f64,
    /// Whether the preamp has an output level control, which can do the attenuator's work.
    pub output_level_control: bool,
}

/// How an output's level fits an input.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LevelFit {
    /// It fits.
    Fits,
    /// The output is hotter than the input takes, which clean recording at the target leaves unused: an attenuator is needed
    /// only to drive the preamp.
    HotWhenDriven,
    /// Loud passages pass full scale at the lowest gain.
    TooHot,
    /// The preamp clips before the converter is at full scale.
    Low,
}

/// An output this little above the input's full scale is no matter.
const MATCHED: Decibels = Decibels::new(0.5);

/// What the levels at an input's joint come to; none where no preamp is in the way or a figure is missing.
pub(crate) fn joint_level(input: &Input, result: &LevelAnswer) -> Option<JointLevel> {
    let (Socket::Microphone(preamp), Some(line)) = (&input.socket, &input.line) else { return None };
    let value = |stated: Option<&Stated<Dbu>>| -> Option<Dbu> {
        stated.and_then(Stated::figure).map(|figure: &Figure<Dbu>| figure.value)
    };
    let output = value(preamp.maximum_output.as_ref())?;
    let full_scale = value(line.inputs.full_scale.as_ref())?;
    let excess = output.dbu() - full_scale.dbu();
    let converter = result
        .noise_shares
        .iter()
        .filter(|share| share.contributor == Contributor::Converter)
        .map(|share| share.mean)
        .sum::<f64>();
    // The converter's noise against the signal would fall by what the level is too low.
    let lower = (-excess).max(0.0);
    let noise_cost = -10.0 * log10(1.0 - converter * (1.0 - exp10(-lower / 10.0)));
    let at_least_gain = result.gain_db.zip(result.most_gain_db).is_some_and(|(gain, _)| {
        let least =
            preamp.least_gain.as_ref().and_then(Stated::figure).map_or(0.0, |figure| figure.value.db());
        gain <= least + 1e-6
    });
    let over = result.peak_dbfs.high;
    let fit = if at_least_gain && over > 0.0 {
        LevelFit::TooHot
    } else if excess > MATCHED.db() {
        LevelFit::HotWhenDriven
    } else if excess < -MATCHED.db() {
        LevelFit::Low
    } else {
        LevelFit::Fits
    };
    let attenuator = match fit {
        LevelFit::TooHot => excess.max(over),
        LevelFit::HotWhenDriven => excess,
        LevelFit::Fits | LevelFit::Low => 0.0,
    };
    Some(JointLevel {
        maximum_output_dbu: output.dbu(),
        full_scale_dbu: full_scale.dbu(),
        excess_db: excess,
        fit,
        attenuator_db: attenuator.ceil(),
        noise_cost_db: noise_cost.max(0.0),
        output_level_control: preamp.output_level_control == Some(true),
    })
}
