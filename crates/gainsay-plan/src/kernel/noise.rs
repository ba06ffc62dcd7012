//! The noise of every draw: the counterpart of what [`crate::stages`]' walk adds from stage to stage, brought to one place,
//! the gain's input, as powers re 0 dBu squared.

use super::engine::{AmplifierDraws, Engine, thermal};
use super::levels::Choice;
use super::network::{Network, NoiseLane, Sums};
use crate::chain::{Ending, LineStage, Origination, OutputStage};
use crate::draws::lane::{Lane, View};
use crate::stages::{Contributor, DBU_POWER, PAD_RESISTANCE, dither_density, pascal_level, volt_level};
use gainsay_units::math::exp10;
use gainsay_units::noise::AUDIO_BANDWIDTH;
use gainsay_units::weighting::weighted_widths;
use gainsay_units::{Decibels, Weighting};

/// How many contributors a chain can have: the microphone or an output, and the others.
pub(super) const N_PARTS: usize = 9;

/// Everything that the noise of a chain is made from.
pub(super) struct NoiseDraws<'a> {
    network: &'a Network,
    sums: SumViews<'a>,
    room: Option<Room<'a>>,
    source: SourceNoise<'a>,
    /// Gain of a booster as a ratio of powers.
    booster: Option<(View<'a>, AmplifierDraws<'a>)>,
    /// What the pad leaves of a power.
    pad_ratio: f64,
    /// Thermal noise of the pad, if it is on, and its resistance squared.
    pad: Option<(f64, f64)>,
    /// Noise current of the phantom feeds, squared density over 0 dBu squared.
    feeds: f64,
    preamp: Option<AmplifierDraws<'a>>,
    behind: BehindGain<'a>,
    dither: f64,
    /// Bandwidth of the whole band, A-weighted.
    total_a: f64,
}

struct SumViews<'a> {
    room: View<'a>,
    source: View<'a>,
    current_1: View<'a>,
    voltage_1: View<'a>,
    current_2: View<'a>,
}

/// The room's noise, as the microphone takes it up.
struct Room<'a> {
    level: View<'a>,
    sensitivity: View<'a>,
    directivity: View<'a>,
    /// From 20 µPa squared times the sensitivity to 0 dBu squared.
    tie: f64,
}

/// White noise of the source, as a squared density over 0 dBu squared.
enum SourceNoise<'a> {
    /// A self-noise stated as a sound level; what its sensitivity makes of it. The microphone's pad does not lower it.
    Microphone { level: View<'a>, sensitivity: View<'a>, factor: f64 },
    /// The thermal noise of a resistance: so much for each ohm.
    Thermal { resistance: View<'a>, each: f64 },
    /// An output's own noise.
    Output { level: View<'a>, factor: f64 },
}

/// What enters behind the gain.
enum BehindGain<'a> {
    Line(LineDraws<'a>),
    /// Dynamic range at the lowest gain, over a bandwidth; what the input added to it is taken off.
    Converter {
        range: View<'a>,
        per_hertz: f64,
        maximum: View<'a>,
    },
    Output {
        maximum_output: View<'a>,
        maximum_input: View<'a>,
        range: View<'a>,
        per_hertz: f64,
        least: f64,
        error: View<'a>,
        /// Gain above the lowest, as a ratio of powers: fixed, or drawn at the end of the range.
        above: Result<f64, View<'a>>,
        converter: LineDraws<'a>,
    },
}

/// A line input's dynamic range over a bandwidth.
struct LineDraws<'a> {
    range: View<'a>,
    per_hertz: f64,
}

impl LineDraws<'_> {
    #[inline(always)]
    fn at(&self, index: usize, full_scale: Lane) -> Lane {
        full_scale * self.per_hertz / self.range.at(index)
    }
}

/// The noise of one lane of draws.
pub(super) struct NoiseOfLane {
    /// Powers of the contributors, A-weighted, in the order of [`NoiseDraws::contributors`].
    pub(super) parts: [Lane; N_PARTS],
    pub(super) total: Lane,
    /// The part that is there before any device of the chain.
    pub(super) ahead: Lane,
    /// Largest ratio of the noise to what the listener hears without the recording in any band, for a replay of one.
    pub(super) worst: Lane,
}

fn power(level: f64) -> f64 {
    exp10(level / 10.0)
}

impl<'a> NoiseDraws<'a> {
    pub(super) fn new(
        engine: &Engine<'a>,
        network: &'a Network,
        sums: &'a Sums,
        choice: &Choice,
        microphone_pad: Option<f64>,
    ) -> Self {
        let chain = engine.chain;
        let tie = volt_level() - pascal_level();
        let (room, source) = match &chain.origin {
            Origination::Microphone(end) => {
                let sensitivity = engine.powers(end.sensitivity);
                let room = Room {
                    level: engine.powers(end.room),
                    sensitivity,
                    directivity: engine.powers(end.directivity),
                    tie: power(tie - microphone_pad.unwrap_or(0.0)),
                };
                let source = match &end.self_noise {
                    Some(range) => SourceNoise::Microphone {
                        level: engine.powers(range.range),
                        sensitivity,
                        factor: power(tie) / range.bandwidth.hertz(),
                    },
                    None => SourceNoise::Thermal {
                        resistance: engine.figure(chain.source_resistance),
                        each: thermal(gainsay_units::Ohms::new(1.0), chain.temperature),
                    },
                };
                (Some(room), source)
            }
            Origination::Output { noise } => {
                let factor = 1.0 / AUDIO_BANDWIDTH.hertz();
                (None, SourceNoise::Output { level: engine.powers(*noise), factor })
            }
        };
        let junction = chain.second_junction().unwrap_or_else(|| chain.first_junction());
        let resistance = PAD_RESISTANCE.ohms();
        Self {
            network,
            sums: SumViews {
                room: View::of(&sums.room),
                source: View::of(&sums.source),
                current_1: View::of(&sums.current_1),
                voltage_1: View::of(&sums.voltage_1),
                current_2: View::of(&sums.current_2),
            },
            room,
            source,
            booster: chain
                .booster
                .as_ref()
                .map(|booster| (engine.powers(booster.gain), engine.amplifier(&booster.noise))),
            pad_ratio: power(-choice.pad_db),
            pad: (choice.pad_db > 0.0)
                .then(|| (thermal(PAD_RESISTANCE, chain.temperature), resistance * resistance)),
            feeds: junction.feed_noise(chain.temperature) / DBU_POWER,
            preamp: match &chain.ending {
                Ending::Preamp(preamp) => Some(engine.amplifier(&preamp.noise)),
                Ending::Line(_) => None,
            },
            behind: BehindGain::of(engine, choice),
            dither: dither_density(chain.bit_depth, chain.sample_rate),
            total_a: weighted_widths(Weighting::A).total(),
        }
    }

    /// Who is who among the parts; none of those that this chain does not have.
    pub(super) fn contributors(&self) -> [Option<Contributor>; N_PARTS] {
        let source = match self.source {
            SourceNoise::Output { .. } => Contributor::Output,
            SourceNoise::Microphone { .. } | SourceNoise::Thermal { .. } => Contributor::Microphone,
        };
        let there = |contributor: Contributor, there: bool| there.then_some(contributor);
        [
            there(Contributor::Room, self.room.is_some()),
            there(source, true),
            there(Contributor::PhantomFeeds, self.feeds > 0.0),
            there(Contributor::Booster, self.booster.is_some()),
            there(Contributor::Pad, self.pad.is_some()),
            there(Contributor::Preamp, self.preamp.is_some()),
            there(Contributor::AfterGain, matches!(self.behind, BehindGain::Output { .. })),
            there(Contributor::Converter, true),
            there(Contributor::Dither, true),
        ]
    }

    /// `full_scale` is the power at the gain's input that reads 0 dBFS.
    #[inline(always)]
    pub(super) fn at(&self, index: usize, full_scale: Lane) -> NoiseOfLane {
        let gain = match &self.booster {
            Some((gain, _)) => gain.at(index) * self.pad_ratio,
            None => Lane::all(self.pad_ratio),
        };
        // Ahead of the line.
        let room = self.room.as_ref().map_or(Lane::ZERO, |room| {
            let taken_up = room.level.at(index) * room.sensitivity.at(index) / room.directivity.at(index);
            taken_up * room.tie * gain
        });
        let source = gain
            * match &self.source {
                SourceNoise::Microphone { level, sensitivity, factor } => {
                    level.at(index) * sensitivity.at(index) * *factor
                }
                SourceNoise::Thermal { resistance, each } => resistance.at(index) * *each,
                SourceNoise::Output { level, factor } => level.at(index) * *factor,
            };

        // In the line: the booster, the feeds and the preamp's input.
        let feeds = self.feeds * self.pad_ratio;
        let booster = self.booster.as_ref().map(|(_, noise)| noise.at(index));
        let (voltage_1, booster_current) =
            booster.map_or((Lane::ZERO, Lane::ZERO), |noise| (noise.voltage * gain, noise.current * gain));
        let preamp = self.preamp.as_ref().map(|noise| noise.at(index));
        // Behind a pad the preamp's current noise meets the pad's resistance and not the line's impedance.
        let (preamp_voltage, preamp_current) = match (preamp, self.pad) {
            (None, _) => (Lane::ZERO, Lane::ZERO),
            (Some(noise), None) => (noise.voltage, noise.current),
            (Some(noise), Some((_, r2))) => (noise.voltage + noise.current * r2, Lane::ZERO),
        };
        let pad_thermal = self.pad.map_or(0.0, |(thermal, _)| thermal);

        // Behind the gain, referred to its input.
        let (after_gain, converter) = self.behind.at(index, full_scale, self.preamp.as_ref());
        let dither = full_scale * self.dither;

        let at_input = preamp_current + feeds;
        let noise = NoiseLane {
            room,
            source,
            current_1: if booster.is_some() { booster_current } else { at_input },
            voltage_1,
            current_2: at_input,
            voltage_2: preamp_voltage + pad_thermal + after_gain + converter + dither,
        };
        let impedance =
            if booster.is_some() { self.sums.current_2.at(index) } else { self.sums.current_1.at(index) };
        let ahead = (noise.room * self.sums.room.at(index), noise.source * self.sums.source.at(index));
        let parts = [
            ahead.0,
            ahead.1,
            impedance * feeds,
            match booster {
                Some(_) => {
                    noise.current_1 * self.sums.current_1.at(index)
                        + noise.voltage_1 * self.sums.voltage_1.at(index)
                }
                None => Lane::ZERO,
            },
            Lane::all(pad_thermal * self.total_a),
            preamp_voltage * self.total_a + preamp_current * impedance,
            after_gain * self.total_a,
            converter * self.total_a,
            dither * self.total_a,
        ];
        let mut total = Lane::ZERO;
        for part in parts {
            total += part;
        }
        NoiseOfLane {
            parts,
            total,
            ahead: ahead.0 + ahead.1,
            worst: self.network.loudest_band(index, &noise),
        }
    }
}

impl<'a> BehindGain<'a> {
    fn of(engine: &Engine<'a>, choice: &Choice) -> Self {
        let line = |line: &LineStage| LineDraws {
            range: engine.powers(line.dynamic_range.range),
            per_hertz: 1.0 / line.dynamic_range.bandwidth.hertz(),
        };
        let preamp = match &engine.chain.ending {
            Ending::Line(stage) => return Self::Line(line(stage)),
            Ending::Preamp(preamp) => preamp,
        };
        match &preamp.output {
            OutputStage::Converter { dynamic_range } => Self::Converter {
                range: engine.powers(dynamic_range.range),
                per_hertz: 1.0 / dynamic_range.bandwidth.hertz(),
                maximum: engine.powers(preamp.maximum_input),
            },
            OutputStage::Line { maximum_output, dynamic_range, converter, .. } => Self::Output {
                maximum_output: engine.powers(*maximum_output),
                maximum_input: engine.powers(preamp.maximum_input),
                range: engine.powers(dynamic_range.range),
                per_hertz: 1.0 / dynamic_range.bandwidth.hertz(),
                least: preamp.least_gain.power_ratio(),
                error: engine.powers(preamp.gain_error),
                above: if choice.at_most {
                    Err(engine.powers(preamp.gain_range))
                } else {
                    Ok(Decibels::new(choice.above_least).power_ratio())
                },
                converter: line(converter),
            },
        }
    }

    /// Squared densities referred to the gain's input: of the preamp's output, and of the converter.
    #[inline(always)]
    fn at(&self, index: usize, full_scale: Lane, preamp: Option<&AmplifierDraws<'_>>) -> (Lane, Lane) {
        let terminated = || preamp.map_or(Lane::ZERO, |noise| noise.terminated(index));
        match self {
            Self::Line(line) => (Lane::ZERO, line.at(index, full_scale)),
            Self::Converter { range, per_hertz, maximum } => {
                let own = Lane::all(*per_hertz) / range.at(index) - terminated() / maximum.at(index);
                (Lane::ZERO, own.larger(Lane::ZERO) * full_scale)
            }
            Self::Output {
                maximum_output,
                maximum_input,
                range,
                per_hertz,
                least,
                error,
                above,
                converter,
            } => {
                let highest = maximum_output.at(index).smaller(maximum_input.at(index) * *least);
                let own = highest * *per_hertz / range.at(index) - terminated() * *least;
                let above = match above {
                    Ok(above) => Lane::all(*above),
                    Err(above) => above.at(index),
                };
                let gain = error.at(index) * *least * above;
                (own.larger(Lane::ZERO) / gain, converter.at(index, full_scale))
            }
        }
    }
}
