//! The best estimate, stage by stage from air to file: levels, ceilings, and what the noise is made of.
//!
//! The same formulas as the Monte Carlo kernel, evaluated once and at all quadrature nodes, with nothing left out: this is what
//! `explain` unfolds and what the circuit simulator checks.

use crate::case::LevelsAt;
use crate::case::carried;
use crate::chain::{
    Chain, Ein, EinSource, Ending, LineStage, NoiseFigures, Origination, OutputStage, ParameterId,
    PreampStage,
};
use crate::network::{AmplifierNoise, Junction};
use gainsay_units::bands::{BandPowers, bands};
use gainsay_units::noise::BOLTZMANN;
use gainsay_units::{
    DBU_REFERENCE_VOLTS, Decibels, Farads, Henries, Hertz, Metres, Ohms, SPL_REFERENCE_PASCALS, Weighting,
};

/// Peaks are given as the level of the sine with the same peak: its crest factor is 20 lg √2.
pub const SINE_CREST: Decibels = Decibels::new(3.010_299_956_639_812);

/// Output resistance of a pad as the amplifier behind it sees it (common practice, no source).
pub const PAD_RESISTANCE: Ohms = Ohms::new(150.0);

/// How a chain is set.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Setting {
    /// Gain above the lowest setting.
    pub above_least: Decibels,
    /// Whether the input's pad is on.
    pub pad: bool,
    /// Whether the microphone's own pad is on.
    pub microphone_pad: bool,
}

/// What makes noise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Contributor {
    /// The room in which it is recorded.
    Room,
    /// The microphone: its self-noise, or the thermal noise of its coil, ribbon or pickup.
    Microphone,
    /// The electrical output that is recorded.
    Output,
    /// The thermal noise of the phantom feeds.
    PhantomFeeds,
    /// The booster.
    Booster,
    /// The pad's thermal noise.
    Pad,
    /// The preamp ahead of its gain.
    Preamp,
    /// The preamp behind its gain.
    AfterGain,
    /// The converter.
    Converter,
    /// The dither of the file's bit depth.
    Dither,
}

impl Contributor {
    /// Every contributor, in the order of the signal.
    pub const ALL: [Self; 10] = [
        Self::Room,
        Self::Microphone,
        Self::Output,
        Self::PhantomFeeds,
        Self::Booster,
        Self::Pad,
        Self::Preamp,
        Self::AfterGain,
        Self::Converter,
        Self::Dither,
    ];

    /// In one or two words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Room => "room",
            Self::Microphone => "microphone",
            Self::Output => "the output itself",
            Self::PhantomFeeds => "phantom feeds",
            Self::Booster => "booster",
            Self::Pad => "pad",
            Self::Preamp => "preamp",
            Self::AfterGain => "preamp after its gain",
            Self::Converter => "converter",
            Self::Dither => "dither",
        }
    }

    /// Its name in results for machines.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Room => "room",
            Self::Microphone => "microphone",
            Self::Output => "output",
            Self::PhantomFeeds => "phantom_feeds",
            Self::Booster => "booster",
            Self::Pad => "pad",
            Self::Preamp => "preamp",
            Self::AfterGain => "after_gain",
            Self::Converter => "converter",
            Self::Dither => "dither",
        }
    }

    /// Whether it is there before any device of the chain: what no purchase behind the microphone changes.
    #[must_use]
    pub const fn is_ahead_of_chain(self) -> bool {
        matches!(self, Self::Room | Self::Microphone | Self::Output)
    }
}

/// A point of the chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// Sound at the microphone.
    Air,
    /// The microphone's open-circuit voltage, or that of an electrical output.
    Microphone,
    /// The booster's input terminals.
    BoosterIn,
    /// The booster's open-circuit output.
    BoosterOut,
    /// The preamp's input terminals, behind its pad.
    PreampIn,
    /// The preamp's output; inside an interface, the converter's input.
    PreampOut,
    /// The terminals of a line input.
    LineIn,
    /// The file.
    File,
}

impl Stage {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Air => "air",
            Self::Microphone => "microphone",
            Self::BoosterIn => "booster in",
            Self::BoosterOut => "booster out",
            Self::PreampIn => "preamp in",
            Self::PreampOut => "preamp out",
            Self::LineIn => "line in",
            Self::File => "file",
        }
    }

    /// The unit of its levels.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Air => "dB SPL",
            Self::File => "dBFS",
            _ => "dBu",
        }
    }
}

/// Power of one contributor at a stage, re the stage's reference (20 µPa, √0.6 V, or a full-scale sine), squared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contribution {
    /// What makes it.
    pub contributor: Contributor,
    /// Without weighting, 20 Hz to 20 kHz.
    pub flat: f64,
    /// A-weighted.
    pub a_weighted: f64,
}

/// Levels at one stage, in the unit of [`Stage::unit`].
#[derive(Debug, Clone, PartialEq)]
pub struct StageLevels {
    /// Which stage.
    pub stage: Stage,
    /// Peak of the loudest passage, as the level of a sine with that peak.
    pub peak: f64,
    /// RMS level of the loudest passage.
    pub loud: f64,
    /// RMS level of the quietest passage that matters.
    pub quiet: f64,
    /// Highest peak that the stage takes.
    pub ceiling: Option<f64>,
    /// Gain since the stage before, where both are voltages.
    pub gain: Option<Decibels>,
    /// What the noise is made of.
    pub noise: Vec<Contribution>,
}

impl StageLevels {
    /// All noise, A-weighted, as a level.
    #[must_use]
    pub fn noise_a(&self) -> f64 {
        level(self.noise.iter().map(|c| c.a_weighted).sum())
    }

    /// All noise without weighting, as a level.
    #[must_use]
    pub fn noise_flat(&self) -> f64 {
        level(self.noise.iter().map(|c| c.flat).sum())
    }

    /// Share of a contributor in the A-weighted noise.
    #[must_use]
    pub fn share_a(&self, contributor: Contributor) -> f64 {
        let of = |wanted: Option<Contributor>| -> f64 {
            self.noise
                .iter()
                .filter(|c| wanted.is_none_or(|w| w == c.contributor))
                .map(|c| c.a_weighted)
                .sum()
        };
        of(Some(contributor)) / of(None)
    }
}

/// A power as a level.
#[must_use]
pub fn level(power: f64) -> f64 {
    Decibels::from_power_ratio(power).db()
}

/// Squared voltage of 0 dBu, in V².
pub(crate) const DBU_POWER: f64 = DBU_REFERENCE_VOLTS * DBU_REFERENCE_VOLTS;

/// Level in dB SPL of one pascal: what ties the air to a sensitivity.
pub(crate) fn pascal_level() -> f64 {
    Decibels::from_amplitude_ratio(1.0 / SPL_REFERENCE_PASCALS).db()
}

/// dBu of one volt.
pub(crate) fn volt_level() -> f64 {
    Decibels::from_amplitude_ratio(1.0 / DBU_REFERENCE_VOLTS).db()
}

/// Variance of triangular dither with rounding, as a density re a full-scale sine (Lipshitz, Wannamaker and Vanderkooy 1992):
/// q²/4 spread from 0 to half the sample rate, q being two over two to the number of bits.
pub(crate) fn dither_density(bits: f64, sample_rate: Hertz) -> f64 {
    let step = 2.0 / gainsay_units::math::pow(2.0, bits);
    (step * step / 4.0) / 0.5 / (sample_rate.hertz() / 2.0)
}

impl Chain {
    /// A chain's noise figures at the best estimates.
    pub(crate) fn amplifier_noise(&self, figures: &NoiseFigures) -> AmplifierNoise {
        let density = |ein: &Ein| self.ein_density(ein);
        match figures {
            NoiseFigures::OneEin { ein, current } => {
                let current = self.value(*current);
                AmplifierNoise::from_one_ein(density(ein), self.ein_source(ein), current * current)
            }
            NoiseFigures::TwoEins { first, second } => {
                let with = |ein: &Ein| (density(ein), self.ein_source(ein));
                AmplifierNoise::from_two_ein(with(first), with(second))
            }
            NoiseFigures::Densities { voltage, current } => {
                let (voltage, current) = (self.value(*voltage), self.value(*current));
                AmplifierNoise { voltage: voltage * voltage, current: current * current }
            }
        }
    }

    /// Squared density of an EIN in V²/Hz.
    fn ein_density(&self, ein: &Ein) -> f64 {
        let level = self.value(ein.level) + self.value_or_zero(ein.unknown_weighting);
        power(level) * DBU_POWER / ein.bandwidth.hertz()
    }

    /// Resistance of the source with which an EIN was measured.
    pub(crate) fn ein_source(&self, ein: &Ein) -> Ohms {
        match ein.source {
            EinSource::Known(source) => source,
            EinSource::Unknown(id) => Ohms::new(self.value(id)),
        }
    }

    /// Squared density of the noise with which the dynamic range at the lowest gain was measured, input-referred, V²/Hz.
    fn terminated_density(&self, figures: &NoiseFigures) -> f64 {
        match figures {
            NoiseFigures::OneEin { ein, .. } | NoiseFigures::TwoEins { first: ein, .. } => {
                self.ein_density(ein)
            }
            NoiseFigures::Densities { .. } => {
                let noise = self.amplifier_noise(figures);
                let r = gainsay_gear::USUAL_SOURCE.ohms();
                noise.voltage + noise.current * r * r + 4.0 * BOLTZMANN * self.temperature.kelvin() * r
            }
        }
    }

    fn value_or_zero(&self, id: Option<ParameterId>) -> f64 {
        id.map_or(0.0, |id| self.value(id))
    }

    /// The network from the source to the first amplifier.
    pub(crate) fn first_junction(&self) -> Junction {
        let capacitance = self.value(self.cable_length) * self.value(self.cable_capacitance);
        match &self.booster {
            // The booster sits at the microphone: the cable is behind it.
            Some(booster) => Junction {
                source_resistance: Ohms::new(self.value(self.source_resistance)),
                source_inductance: Henries::new(self.value_or_zero(self.source_inductance)),
                capacitance: Farads::new(0.0),
                input_resistance: Ohms::new(self.value(booster.input_resistance)),
                phantom_feeds: false,
            },
            None => Junction {
                source_resistance: Ohms::new(self.value(self.source_resistance)),
                source_inductance: Henries::new(self.value_or_zero(self.source_inductance)),
                capacitance: Farads::new(capacitance),
                input_resistance: Ohms::new(self.value(self.input_resistance)),
                phantom_feeds: self.phantom,
            },
        }
    }

    /// The network from the booster to the next amplifier.
    pub(crate) fn second_junction(&self) -> Option<Junction> {
        self.booster.as_ref().map(|booster| Junction {
            source_resistance: Ohms::new(self.value(booster.output_resistance)),
            source_inductance: Henries::new(0.0),
            capacitance: Farads::new(self.value(self.cable_length) * self.value(self.cable_capacitance)),
            input_resistance: Ohms::new(self.value(self.input_resistance)),
            phantom_feeds: self.phantom,
        })
    }

    /// The best estimate of every stage at a setting.
    #[must_use]
    pub fn stages(&self, setting: Setting) -> Vec<StageLevels> {
        let mut walk = Walk::new(self, setting);
        walk.run();
        walk.stages
    }
}

fn power(level: f64) -> f64 {
    Decibels::new(level).power_ratio()
}

/// Carries the signal and every contributor's density, node by node, from stage to stage.
struct Walk<'a> {
    chain: &'a Chain,
    setting: Setting,
    /// Frequency, bandwidth and A-weighting of the nodes.
    nodes: Vec<(f64, f64, f64)>,
    /// Share of the signal's power at each node.
    signal: Vec<f64>,
    /// Level of the loudest passage's RMS before the sum over `signal`; the same for the quietest.
    loud: f64,
    quiet: f64,
    /// For each contributor its density at each node re the stage's reference squared.
    noise: Vec<(Contributor, Vec<f64>)>,
    stages: Vec<StageLevels>,
}

impl<'a> Walk<'a> {
    fn new(chain: &'a Chain, setting: Setting) -> Self {
        let mut nodes = Vec::new();
        for band in bands() {
            for node in band.nodes {
                nodes.push((node.hz, node.width_hz, Weighting::A.power_gain(Hertz::new(node.hz))));
            }
        }
        let signal = spread(&chain.spectrum);
        Self { chain, setting, nodes, signal, loud: 0.0, quiet: 0.0, noise: Vec::new(), stages: Vec::new() }
    }

    fn run(&mut self) {
        self.source();
        self.line();
        match &self.chain.ending {
            Ending::Preamp(preamp) => self.preamp(preamp),
            Ending::Line(line) => {
                self.push(Stage::LineIn, Some(self.chain.value(line.full_scale)), None);
                self.file(line);
            }
        }
    }

    /// Air and microphone, or the electrical output.
    fn source(&mut self) {
        let chain = self.chain;
        let (loud, quiet) = (chain.value(chain.loud), chain.value(chain.quiet));
        match &chain.origin {
            Origination::Microphone(end) => {
                let moved = match end.levels_at {
                    LevelsAt::Microphone => Decibels::ZERO,
                    LevelsAt::Distance(at) => carried(at, Metres::new(chain.value(end.distance)), end.size),
                };
                self.loud = loud + moved.db();
                self.quiet = quiet + moved.db();
                let room = power(chain.value(end.room));
                let density = spread(&chain.room_shape).into_iter().map(|d| d * room).collect();
                self.noise.push((Contributor::Room, density));
                let pad = if self.setting.microphone_pad {
                    end.pad.unwrap_or(Decibels::ZERO)
                } else {
                    Decibels::ZERO
                };
                let ceiling = chain.value(end.maximum_spl) + pad.db();
                self.push(Stage::Air, Some(ceiling), None);

                // dB SPL to dBu, for sound from the front; diffuse sound less by the directivity index.
                let sensitivity = chain.value(end.sensitivity) + volt_level() - pascal_level();
                let tie = sensitivity - pad.db();
                self.loud += tie;
                self.quiet += tie;
                let diffuse = power(tie - chain.value(end.directivity));
                self.scale_noise(|_| diffuse);
                let own = match &end.self_noise {
                    // Behind the microphone's pad the self-noise stays what it is.
                    Some(range) => power(chain.value(range.range) + sensitivity) / range.bandwidth.hertz(),
                    None => {
                        4.0 * BOLTZMANN * chain.temperature.kelvin() * chain.value(chain.source_resistance)
                            / DBU_POWER
                    }
                };
                self.add_white(Contributor::Microphone, own);
            }
            Origination::Output { noise } => {
                self.loud = loud;
                self.quiet = quiet;
                let density = power(chain.value(*noise)) / gainsay_units::noise::AUDIO_BANDWIDTH.hertz();
                self.add_white(Contributor::Output, density);
            }
        }
        self.push(Stage::Microphone, None, None);
    }

    /// Booster and cable, to the terminals of the input.
    fn line(&mut self) {
        let chain = self.chain;
        let first = chain.first_junction();
        let temperature = chain.temperature;
        self.pass(&first);
        let impedance: Vec<f64> =
            self.nodes.iter().map(|n| first.at(Hertz::new(n.0)).impedance_squared).collect();
        self.add_shaped(Contributor::PhantomFeeds, first.feed_noise(temperature), &impedance);
        let Some(booster) = &chain.booster else {
            self.amplifier_at(&impedance);
            return;
        };
        self.push(Stage::BoosterIn, None, None);
        let noise = chain.amplifier_noise(&booster.noise);
        self.add_white(Contributor::Booster, noise.voltage / DBU_POWER);
        self.add_shaped(Contributor::Booster, noise.current, &impedance);
        let gain = Decibels::new(chain.value(booster.gain));
        self.amplify(gain);
        self.push(Stage::BoosterOut, Some(chain.value(booster.maximum_output)), Some(gain));

        let Some(second) = chain.second_junction() else { return };
        self.pass(&second);
        let impedance: Vec<f64> =
            self.nodes.iter().map(|n| second.at(Hertz::new(n.0)).impedance_squared).collect();
        self.add_shaped(Contributor::PhantomFeeds, second.feed_noise(temperature), &impedance);
        self.amplifier_at(&impedance);
    }

    /// The preamp's pad and its input noise, where the cable ends in a preamp.
    fn amplifier_at(&mut self, impedance: &[f64]) {
        let chain = self.chain;
        let Ending::Preamp(preamp) = &chain.ending else { return };
        let noise = chain.amplifier_noise(&preamp.noise);
        let pad = preamp.pad.filter(|_| self.setting.pad);
        if let Some(pad) = pad {
            self.amplify(-pad);
            let r = PAD_RESISTANCE.ohms();
            let thermal = 4.0 * BOLTZMANN * chain.temperature.kelvin() * r;
            self.add_white(Contributor::Pad, thermal / DBU_POWER);
            self.add_white(Contributor::Preamp, (noise.voltage + noise.current * r * r) / DBU_POWER);
        } else {
            self.add_white(Contributor::Preamp, noise.voltage / DBU_POWER);
            self.add_shaped(Contributor::Preamp, noise.current, impedance);
        }
    }

    fn preamp(&mut self, preamp: &PreampStage) {
        let chain = self.chain;
        let above = self.setting.above_least;
        let gain = preamp.least_gain + above + Decibels::new(chain.value(preamp.gain_error));
        let maximum_input = chain.value(preamp.maximum_input);
        let input_density = chain.terminated_density(&preamp.noise);
        match &preamp.output {
            OutputStage::Converter { dynamic_range } => {
                let error = chain.value(preamp.gain_error);
                self.push(Stage::PreampIn, Some(maximum_input - above.db() - error), None);
                self.amplify(gain);
                let full_scale = maximum_input + preamp.least_gain.db();
                self.push(Stage::PreampOut, Some(full_scale), Some(gain));
                let range = chain.value(dynamic_range.range);
                let density = power(-range) / dynamic_range.bandwidth.hertz();
                // The dynamic range was measured with everything in it; what the input adds at the lowest gain is in the EIN.
                let own = (density - input_density / DBU_POWER / power(maximum_input)).max(0.0);
                self.convert(full_scale, own);
            }
            OutputStage::Line { maximum_output, dynamic_range, output_resistance, converter } => {
                let maximum_output = chain.value(*maximum_output);
                let ceiling = (maximum_input - above.db()).min(maximum_output - gain.db());
                self.push(Stage::PreampIn, Some(ceiling), None);
                self.amplify(gain);
                let highest = maximum_output.min(maximum_input + preamp.least_gain.db());
                let density =
                    power(highest - chain.value(dynamic_range.range)) / dynamic_range.bandwidth.hertz();
                let own = (density - input_density / DBU_POWER * preamp.least_gain.power_ratio()).max(0.0);
                self.add_white(Contributor::AfterGain, own);
                self.push(Stage::PreampOut, Some(maximum_output), Some(gain));
                let load = chain.value(converter.input_resistance);
                let loss = Decibels::from_amplitude_ratio(load / (load + chain.value(*output_resistance)));
                self.amplify(loss);
                self.push(Stage::LineIn, Some(chain.value(converter.full_scale)), None);
                self.file(converter);
            }
        }
    }

    /// From the terminals of a line input to the file.
    fn file(&mut self, line: &LineStage) {
        let density =
            power(-self.chain.value(line.dynamic_range.range)) / line.dynamic_range.bandwidth.hertz();
        self.convert(self.chain.value(line.full_scale), density);
    }

    fn convert(&mut self, full_scale: f64, converter_density: f64) {
        self.amplify(Decibels::new(-full_scale));
        self.add_white(Contributor::Converter, converter_density);
        self.add_white(Contributor::Dither, dither_density(self.chain.bit_depth, self.chain.sample_rate));
        self.push(Stage::File, Some(0.0), None);
    }

    /// Through a junction: every density and the signal times |H|².
    fn pass(&mut self, junction: &Junction) {
        let transfer: Vec<f64> = self.nodes.iter().map(|n| junction.at(Hertz::new(n.0)).power).collect();
        for (share, factor) in self.signal.iter_mut().zip(&transfer) {
            *share *= factor;
        }
        for (_, density) in &mut self.noise {
            for (d, factor) in density.iter_mut().zip(&transfer) {
                *d *= factor;
            }
        }
    }

    fn amplify(&mut self, gain: Decibels) {
        self.loud += gain.db();
        self.quiet += gain.db();
        let ratio = gain.power_ratio();
        self.scale_noise(|_| ratio);
    }

    fn scale_noise(&mut self, factor: impl Fn(Contributor) -> f64) {
        for (contributor, density) in &mut self.noise {
            let factor = factor(*contributor);
            density.iter_mut().for_each(|d| *d *= factor);
        }
    }

    fn add_white(&mut self, contributor: Contributor, density: f64) {
        let n = self.nodes.len();
        self.add(contributor, vec![density; n]);
    }

    /// A noise current's squared density in A²/Hz times the squared impedance that it meets.
    fn add_shaped(&mut self, contributor: Contributor, current: f64, impedance: &[f64]) {
        if current > 0.0 {
            self.add(contributor, impedance.iter().map(|z| z * current / DBU_POWER).collect());
        }
    }

    fn add(&mut self, contributor: Contributor, density: Vec<f64>) {
        if let Some((_, sum)) = self.noise.iter_mut().find(|(known, _)| *known == contributor) {
            sum.iter_mut().zip(&density).for_each(|(s, d)| *s += d);
        } else {
            self.noise.push((contributor, density));
        }
    }

    fn push(&mut self, stage: Stage, ceiling: Option<f64>, gain: Option<Decibels>) {
        let transfer: f64 = self.signal.iter().zip(&self.nodes).map(|(share, node)| share * node.1).sum();
        let loud = self.loud + level(transfer);
        let crest = self.chain.value(self.chain.crest) - SINE_CREST.db();
        let noise = self
            .noise
            .iter()
            .map(|(contributor, density)| Contribution {
                contributor: *contributor,
                flat: density.iter().zip(&self.nodes).map(|(d, node)| d * node.1).sum(),
                a_weighted: density.iter().zip(&self.nodes).map(|(d, node)| d * node.1 * node.2).sum(),
            })
            .collect();
        self.stages.push(StageLevels {
            stage,
            peak: loud + crest,
            loud,
            quiet: self.quiet + level(transfer),
            ceiling,
            gain,
            noise,
        });
    }
}

/// Powers in bands as densities at the nodes.
fn spread(powers: &BandPowers) -> Vec<f64> {
    bands()
        .iter()
        .zip(&powers.0)
        .flat_map(|(band, power)| {
            let density = power / band.width_hz();
            band.nodes.iter().map(move |_| density)
        })
        .collect()
}
