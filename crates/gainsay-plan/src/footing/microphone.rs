//! Microphones on one footing.

use super::figures::{Drawn, Figures};
use super::{BANDWIDTH, GroupFooting, GroupKind, Measure, SOURCE, TEMPERATURE, WindowPoint, estimate};
use crate::chain::MissingFigure;
use crate::draws::Draws;
use crate::stages::{DBU_POWER, level, pascal_level, volt_level};
use crate::words::footing as words;
use gainsay_gear::microphone::Transducer;
use gainsay_gear::{Device, Microphone};
use gainsay_units::math::exp10;
use gainsay_units::noise::{effective_bandwidth, thermal_noise};
use gainsay_units::{Decibels, Ohms, Stated, Weighting};

/// The sound level at which outputs are compared (IEC 60268-4: 1 Pa, near enough 94 dB SPL).
const REFERENCE_SPL: f64 = 94.0;

/// How much more noise than the microphone's own an amplifier may make.
const ADDED: Decibels = Decibels::new(1.0);

pub(super) fn footing(
    device: &Device,
    microphone: &Microphone,
    draws: Draws,
) -> Result<GroupFooting, MissingFigure> {
    let mut figures = Figures::new(device, None, draws);
    let sensitivity = figures.of("sensitivity", microphone.sensitivity.as_ref())?;
    let impedance = figures.of("source impedance", microphone.impedance.as_ref())?;
    let maximum_spl = figures.of("maximum SPL", microphone.maximum_spl.as_ref())?;
    // From dB SPL to dBu at the output.
    let tie = sensitivity.map(|dbv| dbv + volt_level() - pascal_level());
    let a_weighted = effective_bandwidth(Weighting::A, None).hertz();
    let passive = microphone.transducer.is_some_and(Transducer::is_passive);
    let noise: Drawn = if passive && microphone.self_noise.is_none() {
        impedance.map(|ohms| thermal_noise(Ohms::new(ohms), TEMPERATURE, BANDWIDTH).dbu())
    } else {
        let own = figures.of("self-noise", microphone.self_noise.as_ref())?;
        let conditions = microphone.self_noise.as_ref().and_then(Stated::figure).map(|f| f.conditions);
        let conditions = conditions.unwrap_or_default();
        let stated = effective_bandwidth(conditions.weighting.unwrap_or(Weighting::A), conditions.band);
        let to_the_footing = level(BANDWIDTH.hertz() / stated.hertz());
        figures.converted("self-noise", words::more_on_footing(to_the_footing));
        own.with(&tie, |own, tie| own + tie + to_the_footing)
    };
    let unweighted = level(BANDWIDTH.hertz() / a_weighted);
    let equivalent = noise.with(&tie, |noise, tie| noise - unweighted - tie);
    let range = maximum_spl.with(&equivalent, |maximum, noise| maximum - noise);
    // Powers add: an amplifier that adds 1 dB has 10^0.1 − 1 of the microphone's noise power.
    let share = level(ADDED.power_ratio() - 1.0);
    let adding = noise.map(|noise| noise + share);
    let source_noise = exp10(thermal_noise(SOURCE, TEMPERATURE, BANDWIDTH).dbu() / 10.0);
    let ein = adding.map(|own| level(exp10(own / 10.0) + source_noise));
    let point = WindowPoint {
        gain_db: 0.0,
        ceiling: estimate(&maximum_spl.values),
        noise: estimate(&equivalent.values),
    };
    let microvolts = |dbu: f64| 1e6 * (exp10(dbu / 10.0) * DBU_POWER).sqrt();
    Ok(GroupFooting {
        label: None,
        count: 1,
        kind: GroupKind::Microphone,
        figures: vec![
            sensitivity.map(|dbv| 1e3 * exp10(dbv / 20.0)).as_figure(Measure::SensitivityMillivolts),
            sensitivity.as_figure(Measure::Sensitivity),
            tie.map(|tie| REFERENCE_SPL + tie).as_figure(Measure::OutputAt94),
            impedance.as_figure(Measure::SourceImpedance),
            equivalent.as_figure(Measure::EquivalentNoise),
            noise.as_figure(Measure::OutputNoise),
            noise.map(microvolts).as_figure(Measure::OutputNoiseMicrovolts),
            maximum_spl.as_figure(Measure::MaximumSpl),
            range.as_figure(Measure::MicrophoneDynamicRange),
            adding.as_figure(Measure::NoiseAddingOneDb),
            ein.as_figure(Measure::EinAddingOneDb),
        ],
        window: vec![point],
        doubts: Vec::new(),
        basis: figures.basis,
    })
}
