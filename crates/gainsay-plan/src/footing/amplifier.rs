//! An amplifier's noise on one footing, whatever its sheet states.

use super::figures::{Drawn, Figures, Rests};
use super::{BANDWIDTH, Footed, Measure, NOISE_FIGURE_TEMPERATURE, SOURCE, TEMPERATURE, thermal_limit};
use crate::chain::MissingFigure;
use crate::ein::{HIGHEST_SOURCE, differ, unknown_weighting, usual_current_noise};
use crate::network::AmplifierNoise;
use crate::stages::{DBU_POWER, level};
use crate::words::footing as words;
use gainsay_gear::USUAL_SOURCE;
use gainsay_gear::front_end::InputStage;
use gainsay_units::math::exp10;
use gainsay_units::noise::{BOLTZMANN, effective_bandwidth};
use gainsay_units::{
    Conditions, CurrentNoiseDensity, Dbu, Kelvin, Ohms, Origin, Stated, VoltageNoiseDensity, Weighting,
};

/// The noise figures of an input as its file has them.
pub(super) struct NoiseFields<'a> {
    pub(super) voltage: Option<&'a Stated<VoltageNoiseDensity>>,
    pub(super) current: Option<&'a Stated<CurrentNoiseDensity>>,
    pub(super) ein: Option<&'a Stated<Dbu>>,
    pub(super) second: Option<&'a Stated<Dbu>>,
    pub(super) stage: Option<InputStage>,
}

/// Draws of an amplifier's input noise.
pub(super) struct Amplifier {
    noise: Vec<AmplifierNoise>,
    origin: Origin,
    /// The weakest origin of what splits the noise into voltage and current. One EIN near the footing's source hardly
    /// depends on it.
    split: Origin,
    /// The figures that all of it was made from.
    rests: Rests,
    /// What the sheet leaves unclear.
    pub(super) doubts: Vec<String>,
}

/// An EIN as draws.
struct EinDraws {
    /// Squared density, V²/Hz.
    densities: Vec<f64>,
    /// Source resistance.
    sources: Vec<f64>,
    origin: Origin,
    rests: Rests,
}

/// 4kTR in V²/Hz.
fn thermal(resistance: Ohms, temperature: Kelvin) -> f64 {
    4.0 * BOLTZMANN * temperature.kelvin() * resistance.ohms()
}

/// The squared density of all noise at an input whose source has that resistance, V²/Hz: `en² + in²·Rs² + 4kT·Rs`.
fn density_with(noise: &AmplifierNoise, source: Ohms) -> f64 {
    noise.voltage + noise.current * source.ohms() * source.ohms() + thermal(source, TEMPERATURE)
}

impl Amplifier {
    /// From the densities themselves, two EINs, or one.
    pub(super) fn of(figures: &mut Figures<'_>, fields: &NoiseFields<'_>) -> Result<Self, MissingFigure> {
        if let Some(voltage) = fields.voltage {
            let voltage = figures.of("input voltage noise", Some(voltage))?;
            let current = current(figures, fields)?;
            let noise = voltage.values.iter().zip(&current.values);
            return Ok(Self {
                noise: noise.map(|(en, i)| AmplifierNoise { voltage: en * en, current: i * i }).collect(),
                origin: voltage.origin.max(current.origin),
                split: voltage.origin.max(current.origin),
                rests: voltage.rests.and(current.rests),
                doubts: Vec::new(),
            });
        }
        let mut doubts = Vec::new();
        if let Some(second) = fields.second.filter(|second| differ(fields.ein, second)) {
            let first = ein(figures, "EIN", fields.ein, Some(USUAL_SOURCE), &mut doubts)?;
            let second = ein(figures, "second EIN", Some(second), Some(USUAL_SOURCE), &mut doubts)?;
            let noise = first.each().zip(second.each());
            return Ok(Self {
                noise: noise.map(|(a, b)| AmplifierNoise::from_two_ein(a, b)).collect(),
                origin: first.origin.max(second.origin),
                split: first.origin.max(second.origin),
                rests: first.rests.and(second.rests),
                doubts,
            });
        }
        let one = ein(figures, "EIN", fields.ein, None, &mut doubts)?;
        let current = current(figures, fields)?;
        let noise = one.each().zip(&current.values);
        Ok(Self {
            noise: noise
                .map(|((density, source), i)| AmplifierNoise::from_one_ein(density, source, i * i))
                .collect(),
            origin: one.origin,
            split: one.origin.max(current.origin),
            rests: one.rests.and(current.rests),
            doubts,
        })
    }

    /// All noise at the input with the footing's source as a level.
    pub(super) fn ein(&self) -> Drawn {
        self.draws(|noise| level(density_with(noise, SOURCE) * BANDWIDTH.hertz() / DBU_POWER))
    }

    /// The figures of the input's noise.
    pub(super) fn figures(&self) -> Vec<(Measure, Footed)> {
        let ein = self.ein();
        let limit = thermal_limit().dbu();
        let r = SOURCE.ohms();
        // F = 1 + (en² + in²·Rs²) / (4kT₀·Rs), Friis 1944.
        let noise_figure = self.draws(|noise| {
            level(1.0 + (noise.voltage + noise.current * r * r) / thermal(SOURCE, NOISE_FIGURE_TEMPERATURE))
        });
        let mut figures = vec![
            ein.as_figure(Measure::Ein),
            ein.map(|level| level - limit).as_figure(Measure::AboveThermalLimit),
            noise_figure.as_figure(Measure::NoiseFigure),
            self.split(|noise| 1e9 * noise.voltage.sqrt()).as_figure(Measure::VoltageNoise),
            self.split(|noise| 1e12 * noise.current.sqrt()).as_figure(Measure::CurrentNoise),
        ];
        // The noise figure is least where voltage and current noise make the same: en/in.
        let best = self.split(|noise| (noise.voltage / noise.current).sqrt()).as_figure(Measure::BestSource);
        let finite = |footed: &Footed| {
            [footed.estimate.low, footed.estimate.median, footed.estimate.high].iter().all(|v| v.is_finite())
        };
        if finite(&best.1) {
            figures.push(best);
        }
        figures
    }

    fn draws(&self, f: impl Fn(&AmplifierNoise) -> f64) -> Drawn {
        Drawn { values: self.noise.iter().map(f).collect(), origin: self.origin, rests: self.rests }
    }

    fn split(&self, f: impl Fn(&AmplifierNoise) -> f64) -> Drawn {
        Drawn { origin: self.split, ..self.draws(f) }
    }
}

impl EinDraws {
    fn each(&self) -> impl Iterator<Item = (f64, Ohms)> {
        self.densities.iter().zip(&self.sources).map(|(density, source)| (*density, Ohms::new(*source)))
    }
}

/// Draws of an EIN as a density, with its source. What its sheet does not state of weighting and source lies anywhere between
/// the usual ones; `source` is taken where one has to be told from another.
fn ein(
    figures: &mut Figures<'_>,
    what: &'static str,
    stated: Option<&Stated<Dbu>>,
    source: Option<Ohms>,
    doubts: &mut Vec<String>,
) -> Result<EinDraws, MissingFigure> {
    let drawn = figures.of(what, stated)?;
    let conditions: Conditions =
        stated.and_then(Stated::figure).map(|figure| figure.conditions).unwrap_or_default();
    let bandwidth =
        effective_bandwidth(conditions.weighting.unwrap_or(Weighting::Flat), conditions.band).hertz();
    figures.converted(what, words::more_on_footing(level(BANDWIDTH.hertz() / bandwidth)));
    let mut levels = drawn.values;
    if let Some(widest) = unknown_weighting(&conditions) {
        doubts.push(words::unknown_weighting(what, widest.db()));
        let taken_off = figures.between(&format!("{what} weighting"), widest.db());
        levels.iter_mut().zip(taken_off).for_each(|(level, off)| *level += off);
    }
    let densities = levels.iter().map(|l| exp10(l / 10.0) * DBU_POWER / bandwidth).collect();
    let sources = match conditions.source_impedance.or(source) {
        Some(source) => vec![source.ohms(); levels.len()],
        None => {
            doubts.push(words::unknown_source(what, HIGHEST_SOURCE));
            figures.between(&format!("{what} source"), HIGHEST_SOURCE.ohms())
        }
    };
    Ok(EinDraws { densities, sources, origin: drawn.origin, rests: drawn.rests })
}

/// The current noise, as stated or usual for what the input is built from.
fn current(figures: &mut Figures<'_>, fields: &NoiseFields<'_>) -> Result<Drawn, MissingFigure> {
    const WHAT: &str = "input current noise";
    if fields.current.is_some() {
        return figures.of(WHAT, fields.current);
    }
    let missing = || MissingFigure { what: WHAT, device: figures.device().name.clone() };
    let figure = usual_current_noise(fields.stage).ok_or_else(missing)?;
    Ok(figures.add(WHAT, &figure, None))
}
