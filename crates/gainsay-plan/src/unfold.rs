//! Every number of a chain unfolded: its formula, what went in, and where that came from.

use crate::case::LevelsAt;
use crate::chain::{
    Chain, Ein, EinSource, Ending, LineStage, NoiseFigures, Origination, OutputStage, ParameterId,
    PreampStage, Range,
};
use crate::network::{AmplifierNoise, Junction, PHANTOM_FEEDS};
use crate::stages::{Contributor, PAD_RESISTANCE, Setting, Stage, StageLevels, level};
use crate::words::number;
use gainsay_units::{Decibels, Hertz, Origin};
use serde::Serialize;

/// One number, unfolded.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Step {
    /// What it is.
    pub what: String,
    /// The number with its unit.
    pub result: String,
    /// How it is worked out.
    pub formula: String,
    /// What went in, with its origin.
    pub inputs: Vec<Ingredient>,
}

/// A figure that goes into a number.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ingredient {
    /// What it is.
    pub figure: String,
    /// As it was written.
    pub value: String,
    /// Where it came from.
    pub from: Origin,
    /// A source or remark.
    pub note: Option<String>,
}

/// A stage with its numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnfoldedStage {
    /// Its name.
    pub stage: String,
    /// The numbers, in the order of their making.
    pub steps: Vec<Step>,
}

/// Unfolds a chain at a setting, stage by stage from air to file.
#[must_use]
pub fn unfold(chain: &Chain, setting: Setting) -> Vec<UnfoldedStage> {
    let stages = chain.stages(setting);
    let mut previous: Option<&StageLevels> = None;
    let mut unfolded = Vec::with_capacity(stages.len());
    for levels in &stages {
        let unfolder = Unfolder { chain, setting, levels, previous };
        unfolded.push(UnfoldedStage { stage: levels.stage.words().to_owned(), steps: unfolder.steps() });
        previous = Some(levels);
    }
    unfolded
}

struct Unfolder<'a> {
    chain: &'a Chain,
    setting: Setting,
    levels: &'a StageLevels,
    previous: Option<&'a StageLevels>,
}

fn db(value: f64) -> String {
    number(value, 1)
}

/// A linear figure with three significant digits and an engineering prefix.
fn engineering(value: f64, unit: &str) -> String {
    if value == 0.0 || !value.is_finite() {
        return format!("0 {unit}");
    }
    let prefixes = [
        (1e6, "M"),
        (1e3, "k"),
        (1.0, ""),
        (1e-3, "m"),
        (1e-6, "µ"),
        (1e-9, "n"),
        (1e-12, "p"),
        (1e-15, "f"),
    ];
    let (scale, prefix) =
        prefixes.into_iter().find(|(scale, _)| value.abs() >= *scale * 0.9995).unwrap_or((1e-15, "f"));
    let scaled = value / scale;
    let decimals = if scaled.abs() >= 100.0 {
        0
    } else if scaled.abs() >= 10.0 {
        1
    } else {
        2
    };
    format!("{} {prefix}{unit}", number(scaled, decimals))
}

impl Unfolder<'_> {
    fn steps(&self) -> Vec<Step> {
        let mut steps = match self.levels.stage {
            Stage::Air => self.air(),
            Stage::Microphone => self.microphone(),
            Stage::BoosterIn => self.divider(&self.chain.first_junction()),
            Stage::BoosterOut => self.booster_out(),
            Stage::PreampIn => self.preamp_in(),
            Stage::PreampOut => self.preamp_out(),
            Stage::LineIn => self.line_in(),
            Stage::File => self.file(),
        };
        steps.push(self.noise_total());
        steps
    }

    fn step(&self, what: &str, result: String, formula: impl Into<String>, inputs: &[ParameterId]) -> Step {
        Step {
            what: what.to_owned(),
            result,
            formula: formula.into(),
            inputs: inputs.iter().filter_map(|id| self.ingredient(*id)).collect(),
        }
    }

    fn ingredient(&self, id: ParameterId) -> Option<Ingredient> {
        self.chain.parameter(id).map(|p| Ingredient {
            figure: p.label.clone(),
            value: p.written.clone(),
            from: p.origin,
            note: p.note.clone(),
        })
    }

    fn value(&self, id: ParameterId) -> f64 {
        self.chain.value(id)
    }

    fn unit(&self) -> &'static str {
        self.levels.stage.unit()
    }

    fn before(&self) -> f64 {
        self.previous.map_or(f64::NAN, |levels| levels.loud)
    }

    fn ceiling(&self, formula: impl Into<String>, inputs: &[ParameterId]) -> Option<Step> {
        let ceiling = self.levels.ceiling?;
        let margin = ceiling - self.levels.peak;
        let result = format!("{} {}, {} dB above the peak", db(ceiling), self.unit(), db(margin));
        Some(self.step("ceiling", result, formula, inputs))
    }

    fn peak(&self) -> Step {
        let crest = self.value(self.chain.crest);
        self.step(
            "peak of the loudest passage",
            format!("{} {}", db(self.levels.peak), self.unit()),
            format!(
                "RMS + crest − 3.0 dB = {} + {} − 3.0 (the sine with the same peak)",
                db(self.levels.loud),
                db(crest)
            ),
            &[self.chain.crest],
        )
    }

    fn air(&self) -> Vec<Step> {
        let chain = self.chain;
        let Origination::Microphone(end) = &chain.origin else { return Vec::new() };
        let (given_loud, given_quiet) = (self.value(chain.loud), self.value(chain.quiet));
        let (formula, inputs) = match end.levels_at {
            LevelsAt::Microphone => ("as given at the microphone".to_owned(), vec![chain.loud]),
            LevelsAt::Distance(at) => (
                format!(
                    "level at {} m + 20 lg(r₀ / r) = {} + 20 lg({} m / {} m), neither nearer than the source's size of {} m",
                    number(at.metres(), 2),
                    db(given_loud),
                    number(at.metres().max(end.size.metres()), 2),
                    number(self.value(end.distance).max(end.size.metres()), 2),
                    number(end.size.metres(), 2),
                ),
                vec![chain.loud, end.distance],
            ),
        };
        let mut steps = vec![
            self.step("loudest passage, RMS", format!("{} dB SPL", db(self.levels.loud)), formula, &inputs),
            self.step(
                "quietest passage, RMS",
                format!("{} dB SPL", db(self.levels.quiet)),
                format!("the same way from {}", db(given_quiet)),
                &[chain.quiet],
            ),
            self.peak(),
        ];
        let pad = if self.setting.microphone_pad { " + its pad" } else { "" };
        steps.extend(self.ceiling(format!("the microphone's maximum SPL{pad}"), &[end.maximum_spl]));
        steps.push(self.step(
            "noise of the room",
            format!("{} dBA", db(self.value(end.room))),
            "as given, with the spectrum of the NR curve that has this A-weighted level (ISO/R 1996)",
            &[end.room],
        ));
        steps
    }

    fn microphone(&self) -> Vec<Step> {
        let chain = self.chain;
        let Origination::Microphone(end) = &chain.origin else {
            return vec![
                self.step(
                    "loudest passage, RMS",
                    format!("{} dBu", db(self.levels.loud)),
                    "open circuit, as given",
                    &[chain.loud],
                ),
                self.step(
                    "quietest passage, RMS",
                    format!("{} dBu", db(self.levels.quiet)),
                    "as given",
                    &[chain.quiet],
                ),
                self.peak(),
            ];
        };
        let sensitivity = self.value(end.sensitivity);
        let pad = match end.pad {
            Some(pad) if self.setting.microphone_pad => format!(" − {} dB pad", db(pad.db())),
            _ => String::new(),
        };
        let mut steps = vec![
            self.step(
                "loudest passage, RMS, open circuit",
                format!("{} dBu", db(self.levels.loud)),
                format!(
                    "level − 94.0 dB (1 Pa) + sensitivity + 2.2 dB (dBV to dBu){pad} = {} − 94.0 + ({} dBV/Pa) + 2.2",
                    db(self.before()),
                    db(sensitivity)
                ),
                &[end.sensitivity],
            ),
            self.peak(),
        ];
        if let Some(room) = self.contribution(Contributor::Room) {
            steps.push(self.step(
                "noise of the room",
                format!("{} dBu A-weighted", db(room)),
                format!(
                    "as the signal, less the directivity index of {} dB: the microphone takes up sound from all sides less than from the front",
                    db(self.value(end.directivity))
                ),
                &[end.room, end.directivity],
            ));
        }
        if let Some(own) = self.contribution(Contributor::Microphone) {
            let result = format!("{} dBu A-weighted", db(own));
            steps.push(match &end.self_noise {
                Some(Range { range, .. }) => self.step(
                    "noise of the microphone",
                    result,
                    format!("equivalent level {} dB SPL − 94.0 + sensitivity + 2.2, taken as white", db(self.value(*range))),
                    &[*range, end.sensitivity],
                ),
                None => self.step(
                    "noise of the microphone",
                    result,
                    format!(
                        "thermal noise of its coil or ribbon: √(4kTRB), R = {}, T = {} K, B = 19 980 Hz, A-weighted −2.05 dB",
                        engineering(self.value(chain.source_resistance), "Ω"),
                        number(chain.temperature.kelvin(), 1)
                    ),
                    &[chain.source_resistance],
                ),
            });
        }
        steps
    }

    /// A-weighted level of a contributor at this stage.
    fn contribution(&self, contributor: Contributor) -> Option<f64> {
        self.levels.noise.iter().find(|c| c.contributor == contributor).map(|c| level(c.a_weighted))
    }

    /// From an open-circuit voltage to the terminals.
    fn divider(&self, junction: &Junction) -> Vec<Step> {
        let chain = self.chain;
        let is_second = self.previous.is_some_and(|p| p.stage == Stage::BoosterOut);
        let mut inputs = Vec::new();
        if is_second {
            inputs.extend(chain.booster.as_ref().map(|b| b.output_resistance));
        } else {
            inputs.push(chain.source_resistance);
            inputs.extend(chain.source_inductance);
        }
        inputs.extend(match (&chain.booster, is_second) {
            (Some(booster), false) => vec![booster.input_resistance],
            _ => vec![chain.cable_length, chain.cable_capacitance, chain.input_resistance],
        });
        let kilohertz = Decibels::from_power_ratio(junction.at(Hertz::new(1000.0)).power);
        let mut parts = vec![format!("R = {}", engineering(junction.source_resistance.ohms(), "Ω"))];
        if junction.source_inductance.henries() > 0.0 {
            parts.push(format!("L = {}", engineering(junction.source_inductance.henries(), "H")));
        }
        if junction.capacitance.farads() > 0.0 {
            parts.push(format!("C = {}", engineering(junction.capacitance.farads(), "F")));
        }
        parts.push(format!("input {}", engineering(junction.input_resistance.ohms(), "Ω")));
        if junction.phantom_feeds {
            parts.push(format!("phantom feeds {}", engineering(PHANTOM_FEEDS.ohms(), "Ω")));
        }
        let pad = match (&chain.ending, self.setting.pad) {
            (Ending::Preamp(preamp), true) if self.levels.stage == Stage::PreampIn => {
                preamp.pad.map(|pad| format!(", less the pad's {} dB", db(pad.db()))).unwrap_or_default()
            }
            _ => String::new(),
        };
        let mut steps = vec![
            self.step(
                "loudest passage, RMS",
                format!("{} dBu", db(self.levels.loud)),
                format!(
                    "open circuit × |1 / (1 + Zs·Y)|, band by band ({}): {} dB at 1 kHz{pad}",
                    parts.join(", "),
                    number(kilohertz.db(), 2)
                ),
                &inputs,
            ),
            self.peak(),
        ];
        if let Some(feeds) = self.contribution(Contributor::PhantomFeeds)
            && junction.phantom_feeds
        {
            steps.push(self.step(
                "thermal noise of the phantom feeds",
                format!("{} dBu A-weighted", db(feeds)),
                "current √(4kT/R) of 13.62 kΩ (2 × 6.81 kΩ, IEC 61938) in the impedance that the amplifier sees",
                &[],
            ));
        }
        steps
    }

    fn booster_out(&self) -> Vec<Step> {
        let Some(booster) = &self.chain.booster else { return Vec::new() };
        let gain = self.value(booster.gain);
        let mut steps = vec![
            self.step(
                "loudest passage, RMS",
                format!("{} dBu", db(self.levels.loud)),
                format!("+ gain of {} dB", db(gain)),
                &[booster.gain],
            ),
            self.peak(),
        ];
        steps.extend(self.ceiling("the booster's maximum output", &[booster.maximum_output]));
        steps.push(self.amplifier("noise of the booster", Contributor::Booster, &booster.noise));
        steps
    }

    fn amplifier(&self, what: &str, contributor: Contributor, figures: &NoiseFigures) -> Step {
        let noise: AmplifierNoise = self.chain.amplifier_noise(figures);
        let densities = format!(
            "en = {}/√Hz, in = {}/√Hz",
            engineering(noise.voltage.sqrt(), "V"),
            engineering(noise.current.sqrt(), "A")
        );
        let condition = |ein: &Ein| {
            let level = self.value(ein.level) + ein.unknown_weighting.map_or(0.0, |id| self.value(id));
            format!("{} dBu at {}", db(level), engineering(self.chain.ein_source(ein).ohms(), "Ω"))
        };
        let (how, inputs) = match figures {
            NoiseFigures::OneEin { ein, current } => (
                format!(
                    "from the EIN of {}: weighting and bandwidth undone, the source's thermal noise taken off, the rest split with the usual current noise",
                    condition(ein)
                ),
                [ein.level, *current].into_iter().chain(left_open(ein)).collect(),
            ),
            NoiseFigures::TwoEins { first, second } => (
                format!("from the EINs of {} and {}", condition(first), condition(second)),
                [first.level, second.level]
                    .into_iter()
                    .chain(left_open(first))
                    .chain(left_open(second))
                    .collect(),
            ),
            NoiseFigures::Densities { voltage, current } => {
                ("as stated".to_owned(), vec![*voltage, *current])
            }
        };
        let result = self.contribution(contributor).map_or(f64::NEG_INFINITY, |l| l);
        self.step(
            what,
            format!("{} dBu A-weighted", db(result)),
            format!("√(en² + in²·|Z|²) over the bands; {densities} {how}"),
            &inputs,
        )
    }

    fn preamp_in(&self) -> Vec<Step> {
        let chain = self.chain;
        let junction = chain.second_junction().unwrap_or_else(|| chain.first_junction());
        let mut steps = self.divider(&junction);
        let Ending::Preamp(preamp) = &chain.ending else { return steps };
        let above = self.setting.above_least.db();
        let formula = match &preamp.output {
            OutputStage::Converter { .. } => {
                format!(
                    "maximum input {} dBu at the lowest gain, less {} dB more gain",
                    db(self.value(preamp.maximum_input)),
                    db(above)
                )
            }
            OutputStage::Line { .. } => {
                format!(
                    "maximum input {} dBu at the lowest gain less {} dB more gain, or the maximum output less the gain",
                    db(self.value(preamp.maximum_input)),
                    db(above)
                )
            }
        };
        steps.extend(self.ceiling(formula, &[preamp.maximum_input]));
        if let Some(pad) = self.contribution(Contributor::Pad) {
            steps.push(self.step(
                "thermal noise of the pad",
                format!("{} dBu A-weighted", db(pad)),
                format!("of {} that the amplifier sees behind it", engineering(PAD_RESISTANCE.ohms(), "Ω")),
                &[],
            ));
        }
        steps.push(self.amplifier("noise of the preamp", Contributor::Preamp, &preamp.noise));
        steps
    }

    fn preamp_out(&self) -> Vec<Step> {
        let Ending::Preamp(preamp) = &self.chain.ending else { return Vec::new() };
        let gain = preamp.least_gain.db() + self.setting.above_least.db();
        let mut steps = vec![
            self.step(
                "loudest passage, RMS",
                format!("{} dBu", db(self.levels.loud)),
                format!(
                    "+ gain of {} dB: lands the peak on the target as near as range, steps and the risk of clipping allow",
                    db(gain)
                ),
                &[preamp.gain_range, preamp.gain_error],
            ),
            self.peak(),
        ];
        match &preamp.output {
            OutputStage::Converter { .. } => {
                steps.extend(self.ceiling(
                    "full scale of the converter: maximum input + lowest gain",
                    &[preamp.maximum_input],
                ));
            }
            OutputStage::Line { maximum_output, dynamic_range, .. } => {
                steps.extend(self.ceiling("maximum output", &[*maximum_output]));
                steps.push(self.after_gain(preamp, dynamic_range));
            }
        }
        steps
    }

    fn after_gain(&self, preamp: &PreampStage, range: &Range) -> Step {
        let result = self.contribution(Contributor::AfterGain).unwrap_or(f64::NEG_INFINITY);
        self.step(
            "noise behind the gain",
            format!("{} dBu A-weighted", db(result)),
            format!(
                "highest output at the lowest gain less the dynamic range of {} dB, less what the EIN gives there",
                db(self.value(range.range))
            ),
            &[range.range, preamp.maximum_input],
        )
    }

    fn line_in(&self) -> Vec<Step> {
        let chain = self.chain;
        let line = match &chain.ending {
            Ending::Line(line) => line,
            Ending::Preamp(preamp) => match &preamp.output {
                OutputStage::Line { converter, .. } => converter,
                OutputStage::Converter { .. } => return Vec::new(),
            },
        };
        let mut steps = match &chain.ending {
            Ending::Line(_) => self.divider(&chain.first_junction()),
            Ending::Preamp(preamp) => {
                let OutputStage::Line { output_resistance, .. } = &preamp.output else { return Vec::new() };
                let (load, source) = (self.value(line.input_resistance), self.value(*output_resistance));
                vec![
                    self.step(
                        "loudest passage, RMS",
                        format!("{} dBu", db(self.levels.loud)),
                        format!(
                            "20 lg(R_in / (R_in + R_out)) = 20 lg({} / ({} + {}))",
                            engineering(load, "Ω"),
                            engineering(load, "Ω"),
                            engineering(source, "Ω")
                        ),
                        &[line.input_resistance, *output_resistance],
                    ),
                    self.peak(),
                ]
            }
        };
        steps.extend(self.ceiling("full scale of the line input", &[line.full_scale]));
        steps
    }

    fn file(&self) -> Vec<Step> {
        let chain = self.chain;
        let (full_scale, range, inputs): (f64, &Range, Vec<ParameterId>) = match &chain.ending {
            Ending::Line(line) => self.line_figures(line),
            Ending::Preamp(preamp) => match &preamp.output {
                OutputStage::Line { converter, .. } => self.line_figures(converter),
                OutputStage::Converter { dynamic_range } => (
                    self.value(preamp.maximum_input) + preamp.least_gain.db(),
                    dynamic_range,
                    vec![preamp.maximum_input],
                ),
            },
        };
        let mut steps = vec![
            self.step(
                "loudest passage, RMS",
                format!("{} dBFS", db(self.levels.loud)),
                format!("level − level at full scale = {} − ({})", db(self.before()), db(full_scale)),
                &inputs,
            ),
            self.step(
                "quietest passage, RMS",
                format!("{} dBFS", db(self.levels.quiet)),
                "the same way",
                &[],
            ),
            self.peak(),
        ];
        if let Some(converter) = self.contribution(Contributor::Converter) {
            steps.push(self.step(
                "noise of the converter",
                format!("{} dBFS A-weighted", db(converter)),
                format!(
                    "− dynamic range of {} dB, taken as white; of a microphone input less what the EIN gives at the lowest gain",
                    db(self.value(range.range))
                ),
                &[range.range],
            ));
        }
        if let Some(dither) = self.contribution(Contributor::Dither) {
            steps.push(self.step(
                "dither of the file",
                format!("{} dBFS A-weighted", db(dither)),
                format!(
                    "triangular dither, q²/4 at {} bits, spread to half the sample rate",
                    number(chain.bit_depth, 0)
                ),
                &[],
            ));
        }
        steps
    }

    fn line_figures<'b>(&self, line: &'b LineStage) -> (f64, &'b Range, Vec<ParameterId>) {
        (self.value(line.full_scale), &line.dynamic_range, vec![line.full_scale])
    }

    fn noise_total(&self) -> Step {
        let mut parts: Vec<(f64, String)> = self
            .levels
            .noise
            .iter()
            .map(|c| {
                let share = self.levels.share_a(c.contributor);
                (
                    share,
                    format!(
                        "{} {} ({})",
                        c.contributor.words(),
                        db(level(c.a_weighted)),
                        crate::words::percent(share)
                    ),
                )
            })
            .collect();
        parts.sort_by(|a, b| b.0.total_cmp(&a.0));
        let unit = match self.levels.stage {
            Stage::Air => "dBA".to_owned(),
            stage => format!("{} A-weighted", stage.unit()),
        };
        let list: Vec<String> = parts.into_iter().map(|(_, text)| text).collect();
        self.step(
            "all noise",
            format!("{} {unit}", db(self.levels.noise_a())),
            if list.len() > 1 { format!("powers added: {}", list.join(", ")) } else { list.join("") },
            &[],
        )
    }
}

/// What an EIN's sheet leaves open.
fn left_open(ein: &Ein) -> impl Iterator<Item = ParameterId> + use<> {
    let source = match ein.source {
        EinSource::Known(_) => None,
        EinSource::Unknown(id) => Some(id),
    };
    ein.unknown_weighting.into_iter().chain(source)
}
