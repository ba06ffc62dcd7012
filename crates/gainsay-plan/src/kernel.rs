//! The Monte Carlo engine: the formulas of [`crate::stages`] for ten thousand draws at once.
//!
//! A band is one sum instead of four nodes; what the divider does inside the band is kept by a factor per band, taken from the
//! nodes at the best estimate. Everything is plain arithmetic on columns, so that it vectorises and gives the same bits on
//! every platform.

use crate::case::LevelsAt;
use crate::chain::{
    Chain, Ein, Ending, LineStage, NoiseFigures, Origination, OutputStage, ParameterId, PreampStage,
};
use crate::draws::{BINS, Column, Draws, LANES, levels_to_powers};
use crate::network::{AmplifierNoise, Junction};
use crate::stages::{
    Contributor, DBU_POWER, PAD_RESISTANCE, SINE_CREST, Setting, dither_density, pascal_level, volt_level,
};
use gainsay_units::bands::{BandPowers, N_BANDS, bands};
use gainsay_units::math::{exp10, log10};
use gainsay_units::noise::BOLTZMANN;
use gainsay_units::weighting::weighted_widths;
use gainsay_units::{Hertz, Spread, Weighting};
use std::collections::HashMap;
use std::rc::Rc;

/// Draws of every figure that chains have in common, made once.
pub(crate) struct Library {
    pub(crate) draws: Draws,
    columns: HashMap<String, (f64, Spread, Rc<Column>)>,
}

impl Library {
    pub(crate) fn new(draws: Draws) -> Self {
        Self { draws, columns: HashMap::new() }
    }

    /// The draws of every figure of a chain, in the order of its parameters.
    pub(crate) fn columns(&mut self, chain: &Chain) -> Vec<Rc<Column>> {
        chain
            .parameters()
            .iter()
            .map(|p| {
                if let Some((value, spread, column)) = self.columns.get(&p.key)
                    && value.to_bits() == p.value.to_bits()
                    && *spread == p.spread
                {
                    return Rc::clone(column);
                }
                let column = Rc::new(Column::draw(&p.key, p.value, p.spread, p.positive, self.draws));
                self.columns.insert(p.key.clone(), (p.value, p.spread, Rc::clone(&column)));
                column
            })
            .collect()
    }
}

/// A junction for every draw: |H|² = κ / ((a − ω²·lc)² + ω²·b²), |Z|² = (r² + ω²·l²)·|H|².
struct JunctionDraws {
    /// 1 + R·G.
    a: Vec<f64>,
    /// L·C.
    lc: Vec<f64>,
    /// (R·C + L·G)².
    b2: Vec<f64>,
    /// R².
    r2: Vec<f64>,
    /// L².
    l2: Vec<f64>,
    /// For each band the mean over its nodes over the value at its centre, at the best estimate: of |H|² and of |Z|².
    kappa_h: [f64; N_BANDS],
    kappa_z: [f64; N_BANDS],
}

impl JunctionDraws {
    fn new(best: &Junction, draw: impl Fn(usize) -> Junction, n: usize) -> Self {
        let mut kappa_h = [1.0; N_BANDS];
        let mut kappa_z = [1.0; N_BANDS];
        for ((band, h), z) in bands().iter().zip(&mut kappa_h).zip(&mut kappa_z) {
            let centre = best.at(Hertz::new(band.centre_hz));
            *h = band.mean(|hz| best.at(Hertz::new(hz)).power) / centre.power;
            *z = band.mean(|hz| best.at(Hertz::new(hz)).impedance_squared) / centre.impedance_squared;
        }
        let mut this = Self {
            a: Vec::with_capacity(n),
            lc: Vec::with_capacity(n),
            b2: Vec::with_capacity(n),
            r2: Vec::with_capacity(n),
            l2: Vec::with_capacity(n),
            kappa_h,
            kappa_z,
        };
        for index in 0..n {
            let junction = draw(index);
            let (r, l) = (junction.source_resistance.ohms(), junction.source_inductance.henries());
            let (g, c) = (junction.conductance(), junction.capacitance.farads());
            this.a.push(1.0 + r * g);
            this.lc.push(l * c);
            let b = r * c + l * g;
            this.b2.push(b * b);
            this.r2.push(r * r);
            this.l2.push(l * l);
        }
        this
    }
}

/// What all draws of a chain have in common.
struct Common {
    /// ω² at the band centres.
    w2: [f64; N_BANDS],
    /// Widths of the bands, and A-weighted.
    width: [f64; N_BANDS],
    width_a: [f64; N_BANDS],
    /// Shape of the room's noise (A-weighted sum one), and A-weighted.
    room: [f64; N_BANDS],
    room_a: [f64; N_BANDS],
    /// One over what the listener hears without the recording, re 20 µPa squared.
    inverse_floor: [f64; N_BANDS],
    /// Shares of the signal.
    signal: [f64; N_BANDS],
    total_a: f64,
}

impl Common {
    fn new(chain: &Chain, listener_floor: &BandPowers) -> Self {
        let w2 = bands().map(|band| {
            let w = 2.0 * std::f64::consts::PI * band.centre_hz;
            w * w
        });
        let width_a = weighted_widths(Weighting::A);
        Self {
            w2,
            width: BandPowers::white().0,
            width_a: width_a.0,
            room: chain.room_shape.0,
            room_a: chain.room_shape.times(Weighting::A.band_gains()).0,
            inverse_floor: listener_floor.0.map(|floor| 1.0 / floor),
            signal: chain.spectrum.0,
            total_a: width_a.total(),
        }
    }
}

type Lane = [f64; LANES];

fn lane(column: &[f64], start: usize) -> Lane {
    let mut lane = [0.0; LANES];
    if let Some(values) = column.get(start..start + LANES) {
        lane.copy_from_slice(values);
    }
    lane
}

/// |H|² and |Z|² of a junction in one band for one lane of draws.
#[inline(always)]
#[expect(clippy::indexing_slicing, reason = "lanes have the fixed length that the loop runs over")]
fn transfer(j: &JunctionLane, w2: f64, kappa_h: f64, kappa_z: f64) -> (Lane, Lane) {
    let mut h = [0.0; LANES];
    let mut z = [0.0; LANES];
    for i in 0..LANES {
        let real = j.a[i] - w2 * j.lc[i];
        let inverse = 1.0 / (real * real + w2 * j.b2[i]);
        h[i] = kappa_h * inverse;
        z[i] = kappa_z * (j.r2[i] + w2 * j.l2[i]) * inverse;
    }
    (h, z)
}

struct JunctionLane {
    a: Lane,
    lc: Lane,
    b2: Lane,
    r2: Lane,
    l2: Lane,
}

impl JunctionLane {
    fn of(draws: &JunctionDraws, start: usize) -> Self {
        Self {
            a: lane(&draws.a, start),
            lc: lane(&draws.lc, start),
            b2: lane(&draws.b2, start),
            r2: lane(&draws.r2, start),
            l2: lane(&draws.l2, start),
        }
    }
}

/// Power transfer of the signal from EMF to the booster's input (or the preamp's, without booster), and of both junctions.
fn signal_transfers(
    common: &Common,
    first: &JunctionDraws,
    second: Option<&JunctionDraws>,
) -> (Vec<f64>, Vec<f64>) {
    let n = first.a.len();
    let mut to_first = Vec::with_capacity(n);
    let mut to_second = Vec::with_capacity(n);
    for start in (0..n).step_by(LANES) {
        let (one, two) = signal_lane(common, first, second, start);
        to_first.extend_from_slice(&one);
        to_second.extend_from_slice(&two);
    }
    (to_first, to_second)
}

#[expect(clippy::indexing_slicing, reason = "lanes and bands have the fixed lengths that the loops run over")]
fn signal_lane(
    common: &Common,
    first: &JunctionDraws,
    second: Option<&JunctionDraws>,
    start: usize,
) -> (Lane, Lane) {
    let j1 = JunctionLane::of(first, start);
    let j2 = second.map(|second| (second, JunctionLane::of(second, start)));
    let mut one = [0.0; LANES];
    let mut two = [0.0; LANES];
    for b in 0..N_BANDS {
        let share = common.signal[b];
        let (h1, _) = transfer(&j1, common.w2[b], first.kappa_h[b], first.kappa_z[b]);
        for i in 0..LANES {
            one[i] += share * h1[i];
        }
        if let Some((second, j2)) = &j2 {
            let (h2, _) = transfer(j2, common.w2[b], second.kappa_h[b], second.kappa_z[b]);
            for i in 0..LANES {
                two[i] += share * h1[i] * h2[i];
            }
        }
    }
    if j2.is_none() {
        two = one;
    }
    (one, two)
}

/// Coefficients of the noise for every draw, re 0 dBu squared at the terminals of the last input before the gain: power of the
/// room; densities of what is white ahead of the first junction, of currents in its impedance, of what enters at the
/// booster's input, of currents in the second impedance, and of what enters behind.
struct NoiseCoefficients {
    room: Vec<f64>,
    source: Vec<f64>,
    current_1: Vec<f64>,
    voltage_1: Vec<f64>,
    current_2: Vec<f64>,
    voltage_2: Vec<f64>,
    /// Replay power of the listener over power at the terminals.
    replay: Vec<f64>,
}

/// Sums of the noise over the bands for every draw, A-weighted, each for a unit coefficient; and the largest ratio of replayed
/// noise to the listener's own floor in any band.
struct NoiseSums {
    room: Vec<f64>,
    source: Vec<f64>,
    current_1: Vec<f64>,
    voltage_1: Vec<f64>,
    current_2: Vec<f64>,
    worst: Vec<f64>,
}

fn noise_sums(
    common: &Common,
    first: &JunctionDraws,
    second: Option<&JunctionDraws>,
    coefficients: &NoiseCoefficients,
) -> NoiseSums {
    let n = first.a.len();
    let mut sums = NoiseSums {
        room: Vec::with_capacity(n),
        source: Vec::with_capacity(n),
        current_1: Vec::with_capacity(n),
        voltage_1: Vec::with_capacity(n),
        current_2: Vec::with_capacity(n),
        worst: Vec::with_capacity(n),
    };
    for start in (0..n).step_by(LANES) {
        let lanes = match second {
            None => noise_lane_one(common, first, coefficients, start),
            Some(second) => noise_lane_two(common, first, second, coefficients, start),
        };
        let [room, source, current_1, voltage_1, current_2, worst] = lanes;
        sums.room.extend_from_slice(&room);
        sums.source.extend_from_slice(&source);
        sums.current_1.extend_from_slice(&current_1);
        sums.voltage_1.extend_from_slice(&voltage_1);
        sums.current_2.extend_from_slice(&current_2);
        sums.worst.extend_from_slice(&worst);
    }
    sums
}

/// One junction: what enters at "voltage_2" enters behind it, and there is no second impedance.
#[expect(clippy::indexing_slicing, reason = "lanes and bands have the fixed lengths that the loops run over")]
fn noise_lane_one(
    common: &Common,
    first: &JunctionDraws,
    coefficients: &NoiseCoefficients,
    start: usize,
) -> [Lane; 6] {
    let j = JunctionLane::of(first, start);
    let room = lane(&coefficients.room, start);
    let source = lane(&coefficients.source, start);
    let current = lane(&coefficients.current_1, start);
    let voltage = lane(&coefficients.voltage_2, start);
    let replay = lane(&coefficients.replay, start);
    let mut sums = [[0.0; LANES]; 6];
    let [sum_room, sum_source, sum_current, _, _, worst] = &mut sums;
    for b in 0..N_BANDS {
        let (h, z) = transfer(&j, common.w2[b], first.kappa_h[b], first.kappa_z[b]);
        let (room_b, width) = (common.room[b], common.width[b]);
        let (room_a, width_a, inverse) = (common.room_a[b], common.width_a[b], common.inverse_floor[b]);
        for i in 0..LANES {
            sum_room[i] += room_a * h[i];
            sum_source[i] += width_a * h[i];
            sum_current[i] += width_a * z[i];
            let noise =
                h[i] * (room_b * room[i] + width * source[i]) + width * (z[i] * current[i] + voltage[i]);
            let ratio = noise * inverse;
            worst[i] = if ratio > worst[i] { ratio } else { worst[i] };
        }
    }
    for i in 0..LANES {
        worst[i] *= replay[i];
    }
    sums
}

#[expect(clippy::indexing_slicing, reason = "lanes and bands have the fixed lengths that the loops run over")]
fn noise_lane_two(
    common: &Common,
    first: &JunctionDraws,
    second: &JunctionDraws,
    coefficients: &NoiseCoefficients,
    start: usize,
) -> [Lane; 6] {
    let j1 = JunctionLane::of(first, start);
    let j2 = JunctionLane::of(second, start);
    let room = lane(&coefficients.room, start);
    let source = lane(&coefficients.source, start);
    let current_1 = lane(&coefficients.current_1, start);
    let voltage_1 = lane(&coefficients.voltage_1, start);
    let current_2 = lane(&coefficients.current_2, start);
    let voltage_2 = lane(&coefficients.voltage_2, start);
    let replay = lane(&coefficients.replay, start);
    let mut sums = [[0.0; LANES]; 6];
    let [sum_room, sum_source, sum_current_1, sum_voltage_1, sum_current_2, worst] = &mut sums;
    for b in 0..N_BANDS {
        let (h1, z1) = transfer(&j1, common.w2[b], first.kappa_h[b], first.kappa_z[b]);
        let (h2, z2) = transfer(&j2, common.w2[b], second.kappa_h[b], second.kappa_z[b]);
        let (room_b, width) = (common.room[b], common.width[b]);
        let (room_a, width_a, inverse) = (common.room_a[b], common.width_a[b], common.inverse_floor[b]);
        for i in 0..LANES {
            let h12 = h1[i] * h2[i];
            let z12 = z1[i] * h2[i];
            sum_room[i] += room_a * h12;
            sum_source[i] += width_a * h12;
            sum_current_1[i] += width_a * z12;
            sum_voltage_1[i] += width_a * h2[i];
            sum_current_2[i] += width_a * z2[i];
            let noise = h12 * (room_b * room[i] + width * source[i])
                + width * (z12 * current_1[i] + h2[i] * voltage_1[i] + z2[i] * current_2[i] + voltage_2[i]);
            let ratio = noise * inverse;
            worst[i] = if ratio > worst[i] { ratio } else { worst[i] };
        }
    }
    for i in 0..LANES {
        worst[i] *= replay[i];
    }
    sums
}

/// Everything that the draws of one chain give, as columns; levels in dB, powers re 0 dBu squared at the gain's input.
#[derive(Debug, Clone, Default)]
pub(crate) struct Outcome {
    /// How the chain was set.
    pub(crate) setting: Setting,
    /// Peak in the file, dBFS.
    pub(crate) peak_dbfs: Vec<f64>,
    /// RMS of the loudest passage at the microphone: dB SPL, or dBu of an electrical source.
    pub(crate) loud_source: Vec<f64>,
    /// RMS of the loudest passage in the file, dBFS.
    pub(crate) loud_dbfs: Vec<f64>,
    /// RMS of the quietest passage in the file, dBFS.
    pub(crate) quiet_dbfs: Vec<f64>,
    /// Whether any ceiling is passed.
    pub(crate) clips: Vec<bool>,
    /// Probabilities of passing each ceiling.
    pub(crate) ceilings: Vec<(Ceiling, f64)>,
    /// Median margin below each ceiling, dB.
    pub(crate) margins: Vec<(Ceiling, f64)>,
    /// A-weighted noise in the file re a full-scale sine, as a power.
    pub(crate) noise_a: Vec<f64>,
    /// All noise over what room and microphone alone would leave, as a ratio of powers.
    pub(crate) penalty: Vec<f64>,
    /// By how much the noise raises the listener's floor in the worst band, as a ratio of powers less one.
    pub(crate) rise: Vec<f64>,
    /// For each contributor its share of the A-weighted noise.
    pub(crate) shares: Vec<(Contributor, Vec<f64>)>,
    /// RMS of the loudest passage as the source's open-circuit voltage, dBu.
    pub(crate) loud_emf: Vec<f64>,
    /// The same at the terminals of the last input, dBu.
    pub(crate) loud_in: Vec<f64>,
    /// Peak in the file at the most gain, best estimate, dBFS.
    pub(crate) peak_at_most_gain: f64,
    /// Level at the input that reaches full scale at the most gain, dBu; none of a line input.
    pub(crate) full_scale_sensitivity: Option<f64>,
}

/// What a peak can run into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ceiling {
    /// The microphone's maximum sound level.
    Microphone,
    /// The booster's output.
    Booster,
    /// The preamp, or full scale behind it.
    Input,
}

impl Ceiling {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Microphone => "microphone",
            Self::Booster => "booster",
            Self::Input => "input",
        }
    }
}

/// What the engine needs to know beside the chain.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Aim {
    /// dBFS.
    pub(crate) peak_target: f64,
    /// dB SPL of loud passages at replay.
    pub(crate) replay_level: f64,
    /// Highest probability of clipping that the choice of gain allows.
    pub(crate) clipping: f64,
    /// What the listener hears without the recording, in each band re 20 µPa squared.
    pub(crate) listener_floor: BandPowers,
}

struct Engine<'a> {
    chain: &'a Chain,
    columns: Vec<Rc<Column>>,
    n: usize,
    nothing: Vec<f64>,
}

impl Engine<'_> {
    fn column(&self, id: ParameterId) -> &[f64] {
        self.columns.get(id.index()).map_or(&self.nothing, |column| &column.values)
    }

    fn value(&self, id: ParameterId, draw: usize) -> f64 {
        self.column(id).get(draw).copied().unwrap_or(f64::NAN)
    }

    /// Column by column, the same arithmetic for every draw.
    fn each(&self, f: impl Fn(usize) -> f64) -> Vec<f64> {
        (0..self.n).map(f).collect()
    }

    fn powers(&self, f: impl Fn(usize) -> f64) -> Vec<f64> {
        let mut levels = self.each(f);
        levels_to_powers(&mut levels);
        levels
    }

    /// Voltage and current noise of an amplifier for every draw, V²/Hz and A²/Hz.
    fn amplifier_noise(&self, figures: &NoiseFigures) -> (Vec<f64>, Vec<f64>) {
        let density = |ein: &Ein| -> Vec<f64> {
            let level = self.column(ein.level);
            let factor = DBU_POWER / ein.bandwidth.hertz();
            let mut powers = level.to_vec();
            levels_to_powers(&mut powers);
            powers.iter_mut().for_each(|p| *p *= factor);
            powers
        };
        let split: Vec<AmplifierNoise> = match figures {
            NoiseFigures::OneEin { ein, current } => density(ein)
                .iter()
                .zip(self.column(*current))
                .map(|(density, current)| {
                    AmplifierNoise::from_one_ein(*density, ein.source, current * current)
                })
                .collect(),
            NoiseFigures::TwoEins { first, second } => density(first)
                .iter()
                .zip(&density(second))
                .map(|(a, b)| AmplifierNoise::from_two_ein((*a, first.source), (*b, second.source)))
                .collect(),
            NoiseFigures::Densities { voltage, current } => self
                .column(*voltage)
                .iter()
                .zip(self.column(*current))
                .map(|(v, c)| AmplifierNoise { voltage: v * v, current: c * c })
                .collect(),
        };
        split.iter().map(|noise| (noise.voltage, noise.current)).unzip()
    }

    /// Squared density with which the dynamic range was measured, re 0 dBu at the input.
    fn terminated_density(&self, figures: &NoiseFigures) -> Vec<f64> {
        match figures {
            NoiseFigures::OneEin { ein, .. } | NoiseFigures::TwoEins { first: ein, .. } => {
                let bandwidth = ein.bandwidth.hertz();
                let mut powers = self.column(ein.level).to_vec();
                levels_to_powers(&mut powers);
                powers.iter_mut().for_each(|p| *p /= bandwidth);
                powers
            }
            NoiseFigures::Densities { .. } => {
                let (voltage, current) = self.amplifier_noise(figures);
                let r = gainsay_gear::USUAL_SOURCE.ohms();
                let thermal = 4.0 * BOLTZMANN * self.chain.temperature.kelvin() * r;
                voltage.iter().zip(&current).map(|(v, c)| (v + c * r * r + thermal) / DBU_POWER).collect()
            }
        }
    }

    /// The junctions for every draw.
    fn junctions(&self) -> (JunctionDraws, Option<JunctionDraws>) {
        let chain = self.chain;
        let best = chain.first_junction();
        let resistance = self.column(chain.source_resistance);
        let inductance = chain.source_inductance.map(|id| self.column(id));
        let length = self.column(chain.cable_length);
        let per_metre = self.column(chain.cable_capacitance);
        let input = self.column(chain.input_resistance);
        let booster_input = chain.booster.as_ref().map(|booster| self.column(booster.input_resistance));
        let get = |column: &[f64], draw: usize| column.get(draw).copied().unwrap_or(f64::NAN);
        let ohms = |column: &[f64], draw: usize| gainsay_units::Ohms::new(get(column, draw));
        let capacitance = |draw: usize| gainsay_units::Farads::new(get(length, draw) * get(per_metre, draw));
        let first = JunctionDraws::new(
            &best,
            |draw| Junction {
                source_resistance: ohms(resistance, draw),
                source_inductance: gainsay_units::Henries::new(
                    inductance.map_or(0.0, |column| get(column, draw)),
                ),
                capacitance: if booster_input.is_some() {
                    gainsay_units::Farads::new(0.0)
                } else {
                    capacitance(draw)
                },
                input_resistance: ohms(booster_input.unwrap_or(input), draw),
                phantom_feeds: best.phantom_feeds,
            },
            self.n,
        );
        let second = chain.second_junction().zip(chain.booster.as_ref()).map(|(best, booster)| {
            let output = self.column(booster.output_resistance);
            JunctionDraws::new(
                &best,
                |draw| Junction {
                    source_resistance: ohms(output, draw),
                    source_inductance: gainsay_units::Henries::new(0.0),
                    capacitance: capacitance(draw),
                    input_resistance: ohms(input, draw),
                    phantom_feeds: best.phantom_feeds,
                },
                self.n,
            )
        });
        (first, second)
    }
}

/// Runs a chain: chooses its setting, then draws levels and noise.
pub(crate) fn run(chain: &Chain, library: &mut Library, aim: &Aim) -> Outcome {
    let columns = library.columns(chain);
    let n = library.draws.rounded();
    let engine = Engine { chain, columns, n, nothing: vec![f64::NAN; n] };
    let common = Common::new(chain, &aim.listener_floor);
    let (first, second) = engine.junctions();
    let (to_first, to_second) = signal_transfers(&common, &first, second.as_ref());

    // Levels, in dB throughout.
    let crest = engine.column(chain.crest);
    let get = |column: &[f64], draw: usize| column.get(draw).copied().unwrap_or(f64::NAN);
    let moved = distance_column(&engine);
    let loud_source = engine.each(|d| engine.value(chain.loud, d) + get(&moved, d));
    let quiet_source = engine.each(|d| engine.value(chain.quiet, d) + get(&moved, d));
    let over_sine = |d: usize| get(crest, d) - SINE_CREST.db();
    let volt_tie = volt_level() - pascal_level();
    let mut tie = match &chain.origin {
        Origination::Microphone(end) => engine.each(|d| engine.value(end.sensitivity, d) + volt_tie),
        Origination::Output { .. } => vec![0.0; n],
    };
    let transfer_db = engine.each(|d| 10.0 * log10(get(&to_second, d)));
    let booster_gain = chain.booster.as_ref().map(|booster| engine.column(booster.gain));
    let gain_before = |d: usize| booster_gain.map_or(0.0, |column| get(column, d));

    // The microphone's own ceiling, and its pad if that is needed and there.
    let mut setting = Setting::default();
    let mut microphone_margin: Option<Vec<f64>> = None;
    if let Origination::Microphone(end) = &chain.origin {
        let mut margin =
            engine.each(|d| engine.value(end.maximum_spl, d) - get(&loud_source, d) - over_sine(d));
        if let Some(pad) = end.pad
            && probability_negative(&margin) >= aim.clipping
        {
            setting.microphone_pad = true;
            margin.iter_mut().for_each(|m| *m += pad.db());
            tie.iter_mut().for_each(|t| *t -= pad.db());
        }
        microphone_margin = Some(margin);
    }
    let booster_margin = chain.booster.as_ref().map(|booster| {
        engine.each(|d| {
            let output =
                get(&loud_source, d) + get(&tie, d) + 10.0 * log10(get(&to_first, d)) + gain_before(d);
            engine.value(booster.maximum_output, d) - output - over_sine(d)
        })
    });
    // RMS level of the loudest passage at the input's terminals.
    let loud_in =
        engine.each(|d| get(&loud_source, d) + get(&tie, d) + get(&transfer_db, d) + gain_before(d));

    let levels = InputLevels::of(&engine);
    // Margin below the input's ceiling at the lowest gain; it falls dB for dB as the gain rises.
    let mut margin = engine.each(|d| get(&levels.limit, d) - get(&loud_in, d) - over_sine(d));
    let choice = choose_gain(&engine, aim, &margin, &levels, &loud_in, crest);
    setting.above_least = gainsay_units::Decibels::new(choice.above_least);
    setting.pad = choice.pad_db > 0.0;
    // At the end of its range the control gives what it gives: the range is a figure with a tolerance of its own.
    let above = match (&chain.ending, choice.at_most) {
        (Ending::Preamp(preamp), true) => engine.column(preamp.gain_range).to_vec(),
        _ => vec![choice.above_least; n],
    };
    let pad = choice.pad_db;
    for (m, a) in margin.iter_mut().zip(&above) {
        *m += pad - a;
    }
    let digital = engine.each(|d| get(&levels.full_scale, d) - get(&above, d));
    let loud_dbfs = engine.each(|d| get(&loud_in, d) - pad - get(&digital, d));
    let peak_dbfs = engine.each(|d| get(&loud_dbfs, d) + over_sine(d));
    let quiet_dbfs = engine.each(|d| get(&loud_dbfs, d) + get(&quiet_source, d) - get(&loud_source, d));

    let mut ceilings = Vec::new();
    let mut margins = Vec::new();
    let mut clips = vec![false; n];
    for (ceiling, margin) in [
        (Ceiling::Microphone, microphone_margin.as_ref()),
        (Ceiling::Booster, booster_margin.as_ref()),
        (Ceiling::Input, Some(&margin)),
    ] {
        let Some(margin) = margin else { continue };
        ceilings.push((ceiling, probability_negative(margin)));
        margins.push((ceiling, crate::draws::Quantiles::of(&mut margin.clone()).median));
        for (clip, m) in clips.iter_mut().zip(margin) {
            *clip |= *m < 0.0;
        }
    }

    let mut outcome = Outcome {
        setting,
        peak_at_most_gain: choice.peak_at_most,
        full_scale_sensitivity: levels.sensitivity,
        ceilings,
        margins,
        clips,
        peak_dbfs,
        quiet_dbfs,
        ..Outcome::default()
    };
    noise(
        &engine,
        &common,
        &first,
        second.as_ref(),
        &NoiseInputs {
            aim,
            setting,
            pad_db: pad,
            tie: &tie,
            gain_before: &engine.each(gain_before),
            digital: &digital,
            loud_in: &loud_in,
            above: &above,
        },
        &mut outcome,
    );
    outcome.loud_emf = engine.each(|d| get(&loud_source, d) + get(&tie, d));
    outcome.loud_in = loud_in;
    outcome.loud_source = loud_source;
    outcome.loud_dbfs = loud_dbfs;
    outcome
}

/// How much the inverse distance law changes the level, in dB, for every draw.
fn distance_column(engine: &Engine<'_>) -> Vec<f64> {
    let Origination::Microphone(end) = &engine.chain.origin else { return vec![0.0; engine.n] };
    let LevelsAt::Distance(at) = end.levels_at else { return vec![0.0; engine.n] };
    let near = at.metres().max(end.size.metres());
    let exact = engine.chain.parameter(end.distance).is_some_and(|p| p.spread.is_exact());
    let moved = |distance: f64| 20.0 * log10(near / distance.max(end.size.metres()));
    if exact {
        return vec![moved(engine.chain.value(end.distance)); engine.n];
    }
    engine.column(end.distance).iter().map(|d| moved(*d)).collect()
}

fn probability_negative(margins: &[f64]) -> f64 {
    margins.iter().filter(|m| **m < 0.0).count() as f64 / margins.len().max(1) as f64
}

/// Levels at the terminals of the input, for every draw at the lowest gain, in dBu.
struct InputLevels {
    /// Highest peak.
    limit: Vec<f64>,
    /// What reads 0 dBFS.
    full_scale: Vec<f64>,
    /// What reads 0 dBFS at the most gain, best estimate.
    sensitivity: Option<f64>,
}

impl InputLevels {
    fn of(engine: &Engine<'_>) -> Self {
        let chain = engine.chain;
        match &chain.ending {
            Ending::Line(line) => {
                let full_scale = engine.column(line.full_scale).to_vec();
                Self { limit: full_scale.clone(), full_scale, sensitivity: None }
            }
            Ending::Preamp(preamp) => {
                let maximum = engine.column(preamp.maximum_input);
                let error = engine.column(preamp.gain_error);
                let range = chain.value(preamp.gain_range);
                match &preamp.output {
                    OutputStage::Converter { .. } => {
                        let full_scale: Vec<f64> = maximum.iter().zip(error).map(|(m, e)| m - e).collect();
                        Self {
                            limit: full_scale.clone(),
                            full_scale,
                            sensitivity: Some(chain.value(preamp.maximum_input) - range),
                        }
                    }
                    OutputStage::Line { maximum_output, output_resistance, converter, .. } => {
                        let least = preamp.least_gain.db();
                        let loss = |d: usize| {
                            let load = engine.value(converter.input_resistance, d);
                            20.0 * log10(load / (load + engine.value(*output_resistance, d)))
                        };
                        let full_scale = engine.each(|d| {
                            engine.value(converter.full_scale, d)
                                - loss(d)
                                - least
                                - engine.value(preamp.gain_error, d)
                        });
                        let limit = engine.each(|d| {
                            let error = engine.value(preamp.gain_error, d);
                            let output = engine.value(*maximum_output, d) - least - error;
                            let input = engine.value(preamp.maximum_input, d);
                            input.min(output).min(full_scale.get(d).copied().unwrap_or(f64::NAN))
                        });
                        let load = chain.value(converter.input_resistance);
                        let loss = 20.0 * log10(load / (load + chain.value(*output_resistance)));
                        let sensitivity = chain.value(converter.full_scale) - loss - least - range;
                        Self { limit, full_scale, sensitivity: Some(sensitivity) }
                    }
                }
            }
        }
    }
}

struct Choice {
    above_least: f64,
    at_most: bool,
    pad_db: f64,
    peak_at_most: f64,
}

/// The gain that lands the peak on the target, within the range and its steps, with less than the allowed probability of
/// passing the input's ceiling; with the pad where even the lowest gain is too much.
fn choose_gain(
    engine: &Engine<'_>,
    aim: &Aim,
    margin: &[f64],
    levels: &InputLevels,
    loud_in: &[f64],
    crest: &[f64],
) -> Choice {
    let mut peaks: Vec<f64> = loud_in
        .iter()
        .zip(&levels.full_scale)
        .zip(crest)
        .map(|((loud, full_scale), crest)| loud + crest - SINE_CREST.db() - full_scale)
        .collect();
    let peak = crate::draws::Quantiles::of(&mut peaks).median;
    let Ending::Preamp(preamp) = &engine.chain.ending else {
        return Choice { above_least: 0.0, at_most: false, pad_db: 0.0, peak_at_most: peak };
    };
    // The largest gain that keeps the probability of clipping below what is allowed.
    let n = margin.len();
    let rank = ((aim.clipping * n as f64).ceil() as usize).saturating_sub(1);
    let mut sorted = margin.to_vec();
    let allowed = crate::draws::order_statistic(&mut sorted, rank);
    let pad_db = match preamp.pad {
        Some(pad) if allowed < 0.0 => pad.db(),
        _ => 0.0,
    };
    let range = engine.chain.value(preamp.gain_range).max(0.0);
    let wanted = aim.peak_target - peak + pad_db;
    let (above_least, at_most) = setting_of(preamp, wanted.min(allowed + pad_db), range);
    Choice { above_least, at_most, pad_db, peak_at_most: peak - pad_db + range }
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

struct NoiseInputs<'a> {
    aim: &'a Aim,
    setting: Setting,
    pad_db: f64,
    tie: &'a [f64],
    gain_before: &'a [f64],
    digital: &'a [f64],
    loud_in: &'a [f64],
    above: &'a [f64],
}

/// The noise of every draw, its parts, and what it does at replay.
fn noise(
    engine: &Engine<'_>,
    common: &Common,
    first: &JunctionDraws,
    second: Option<&JunctionDraws>,
    inputs: &NoiseInputs<'_>,
    outcome: &mut Outcome,
) {
    let chain = engine.chain;
    let n = engine.n;
    let get = |column: &[f64], draw: usize| column.get(draw).copied().unwrap_or(f64::NAN);
    let pad_ratio = exp10(-inputs.pad_db / 10.0);
    let gain: Vec<f64> = if chain.booster.is_some() {
        engine.powers(|d| get(inputs.gain_before, d) - inputs.pad_db)
    } else {
        vec![pad_ratio; n]
    };
    let kelvin = chain.temperature.kelvin();

    // Ahead of the line.
    let (room, source, source_contributor) = match &chain.origin {
        Origination::Microphone(end) => {
            let room = engine.powers(|d| {
                engine.value(end.room, d) + get(inputs.tie, d) - engine.value(end.directivity, d)
            });
            let source = match &end.self_noise {
                Some(range) => {
                    let pad =
                        if inputs.setting.microphone_pad { end.pad.map_or(0.0, |pad| pad.db()) } else { 0.0 };
                    let mut powers =
                        engine.powers(|d| engine.value(range.range, d) + get(inputs.tie, d) + pad);
                    let bandwidth = range.bandwidth.hertz();
                    powers.iter_mut().for_each(|p| *p /= bandwidth);
                    powers
                }
                None => engine
                    .column(chain.source_resistance)
                    .iter()
                    .map(|r| 4.0 * BOLTZMANN * kelvin * r / DBU_POWER)
                    .collect(),
            };
            (room, source, Contributor::Microphone)
        }
        Origination::Output { noise } => {
            let bandwidth = gainsay_units::noise::AUDIO_BANDWIDTH.hertz();
            let mut powers = engine.powers(|d| engine.value(*noise, d));
            powers.iter_mut().for_each(|p| *p /= bandwidth);
            (vec![0.0; n], powers, Contributor::Output)
        }
    };

    // In the line: the booster, the feeds and the preamp's input. `behind` is white at the gain's input.
    let feed_1 = chain.first_junction().feed_noise(chain.temperature) / DBU_POWER;
    let feed_2 = chain.second_junction().map_or(0.0, |j| j.feed_noise(chain.temperature) / DBU_POWER);
    let booster = chain.booster.as_ref().map(|booster| engine.amplifier_noise(&booster.noise));
    let preamp = match &chain.ending {
        Ending::Preamp(preamp) => Some((preamp, engine.amplifier_noise(&preamp.noise))),
        Ending::Line(_) => None,
    };
    let pad_on = inputs.pad_db > 0.0;
    let pad_resistance = PAD_RESISTANCE.ohms();
    let pad_thermal = if pad_on { 4.0 * BOLTZMANN * kelvin * pad_resistance / DBU_POWER } else { 0.0 };
    // Behind a pad the preamp's current noise meets the pad's resistance and not the line's impedance.
    let preamp_voltage: Vec<f64> = engine.each(|d| {
        preamp.as_ref().map_or(0.0, |(_, (voltage, current))| {
            let through_pad = if pad_on { get(current, d) * pad_resistance * pad_resistance } else { 0.0 };
            (get(voltage, d) + through_pad) / DBU_POWER
        })
    });
    let preamp_current: Vec<f64> = engine.each(|d| {
        if pad_on {
            0.0
        } else {
            preamp.as_ref().map_or(0.0, |(_, (_, current))| get(current, d) / DBU_POWER)
        }
    });

    // Behind the gain: converter and dither, referred to the gain's input by what reads 0 dBFS there.
    let full_scale = engine.powers(|d| get(inputs.digital, d));
    let dither = dither_density(chain.bit_depth, chain.sample_rate);
    let (after_gain, converter) = behind_gain(engine, inputs, &full_scale);

    // Sums over the bands.
    let (room_in, source_in): (Vec<f64>, Vec<f64>) =
        (0..n).map(|d| (get(&room, d) * get(&gain, d), get(&source, d) * get(&gain, d))).unzip();
    let booster_part = |d: usize| -> (f64, f64) {
        booster.as_ref().map_or((0.0, 0.0), |(voltage, current)| {
            (get(voltage, d) / DBU_POWER * get(&gain, d), get(current, d) / DBU_POWER * get(&gain, d))
        })
    };
    let behind = engine.each(|d| {
        get(&preamp_voltage, d)
            + pad_thermal
            + get(&after_gain, d)
            + get(&converter, d)
            + dither * get(&full_scale, d)
    });
    let has_booster = second.is_some();
    let coefficients = NoiseCoefficients {
        current_1: engine.each(|d| {
            if has_booster { booster_part(d).1 } else { feed_1 * pad_ratio + get(&preamp_current, d) }
        }),
        voltage_1: engine.each(|d| booster_part(d).0),
        current_2: engine.each(|d| feed_2 * pad_ratio + get(&preamp_current, d)),
        voltage_2: behind,
        replay: engine.powers(|d| inputs.aim.replay_level - (get(inputs.loud_in, d) - inputs.pad_db)),
        room: room_in,
        source: source_in,
    };
    let sums = noise_sums(common, first, second, &coefficients);

    // Contributors, A-weighted, at the gain's input.
    let total_a = common.total_a;
    let (impedance_sums, feed) =
        if has_booster { (&sums.current_2, feed_2) } else { (&sums.current_1, feed_1) };
    let mut parts: Vec<(Contributor, Vec<f64>)> = Vec::new();
    let mut part = |contributor: Contributor, there: bool, f: &dyn Fn(usize) -> f64| {
        if there {
            parts.push((contributor, (0..n).map(f).collect()));
        }
    };
    let acoustic = matches!(chain.origin, Origination::Microphone(_));
    part(Contributor::Room, acoustic, &|d| get(&coefficients.room, d) * get(&sums.room, d));
    part(source_contributor, true, &|d| get(&coefficients.source, d) * get(&sums.source, d));
    part(Contributor::PhantomFeeds, feed > 0.0, &|d| feed * pad_ratio * get(impedance_sums, d));
    part(Contributor::Booster, has_booster, &|d| {
        get(&coefficients.current_1, d) * get(&sums.current_1, d)
            + get(&coefficients.voltage_1, d) * get(&sums.voltage_1, d)
    });
    part(Contributor::Pad, pad_on, &|_| pad_thermal * total_a);
    part(Contributor::Preamp, preamp.is_some(), &|d| {
        get(&preamp_voltage, d) * total_a + get(&preamp_current, d) * get(impedance_sums, d)
    });
    let is_external = after_gain.iter().any(|p| *p > 0.0);
    part(Contributor::AfterGain, is_external, &|d| get(&after_gain, d) * total_a);
    part(Contributor::Converter, true, &|d| get(&converter, d) * total_a);
    part(Contributor::Dither, true, &|d| dither * get(&full_scale, d) * total_a);

    let mut total = vec![0.0; n];
    let mut ahead = vec![0.0; n];
    for (contributor, powers) in &parts {
        for (sum, power) in total.iter_mut().zip(powers) {
            *sum += power;
        }
        if contributor.is_ahead_of_chain() {
            for (sum, power) in ahead.iter_mut().zip(powers) {
                *sum += power;
            }
        }
    }
    for (_, powers) in &mut parts {
        for (power, sum) in powers.iter_mut().zip(&total) {
            *power /= sum;
        }
    }
    outcome.penalty = total.iter().zip(&ahead).map(|(total, ahead)| total / ahead).collect();
    outcome.noise_a = total.iter().zip(&full_scale).map(|(total, full_scale)| total / full_scale).collect();
    outcome.rise = sums.worst;
    outcome.shares = parts;
}

/// Densities of the noise behind the gain, referred to the gain's input: of the preamp's output, and of the converter.
fn behind_gain(engine: &Engine<'_>, inputs: &NoiseInputs<'_>, full_scale: &[f64]) -> (Vec<f64>, Vec<f64>) {
    let chain = engine.chain;
    let n = engine.n;
    let get = |column: &[f64], draw: usize| column.get(draw).copied().unwrap_or(f64::NAN);
    let of_line = |line: &LineStage| -> Vec<f64> {
        let bandwidth = line.dynamic_range.bandwidth.hertz();
        let mut powers = engine.powers(|d| -engine.value(line.dynamic_range.range, d));
        powers.iter_mut().zip(full_scale).for_each(|(p, full_scale)| *p *= full_scale / bandwidth);
        powers
    };
    let preamp = match &chain.ending {
        Ending::Line(line) => return (vec![0.0; n], of_line(line)),
        Ending::Preamp(preamp) => preamp,
    };
    let terminated = engine.terminated_density(&preamp.noise);
    match &preamp.output {
        OutputStage::Converter { dynamic_range } => {
            let bandwidth = dynamic_range.bandwidth.hertz();
            // Re full scale; what the input adds at the lowest gain is taken off.
            let range = engine.powers(|d| -engine.value(dynamic_range.range, d));
            let maximum = engine.powers(|d| -engine.value(preamp.maximum_input, d));
            let own = engine.each(|d| {
                let density = get(&range, d) / bandwidth - get(&terminated, d) * get(&maximum, d);
                density.max(0.0) * get(full_scale, d)
            });
            (vec![0.0; n], own)
        }
        OutputStage::Line { maximum_output, dynamic_range, converter, .. } => {
            let least = preamp.least_gain.db();
            let least_ratio = preamp.least_gain.power_ratio();
            let bandwidth = dynamic_range.bandwidth.hertz();
            let noise = engine.powers(|d| {
                let highest =
                    engine.value(*maximum_output, d).min(engine.value(preamp.maximum_input, d) + least);
                highest - engine.value(dynamic_range.range, d)
            });
            let gain =
                engine.powers(|d| -(least + get(inputs.above, d) + engine.value(preamp.gain_error, d)));
            let own = engine.each(|d| {
                (get(&noise, d) / bandwidth - get(&terminated, d) * least_ratio).max(0.0) * get(&gain, d)
            });
            (own, of_line(converter))
        }
    }
}

/// For each uncertain figure of a chain, how often each class of a result falls into each of its bins.
pub(crate) fn classes_by_bin(
    chain: &Chain,
    library: &mut Library,
    classes: &[u8],
) -> Vec<(ParameterId, [[u32; 3]; BINS])> {
    let columns = library.columns(chain);
    chain
        .each()
        .filter(|(_, parameter)| !parameter.spread.is_exact())
        .filter_map(|(id, _)| {
            let column = columns.get(id.index())?;
            let mut counts = [[0_u32; 3]; BINS];
            for (bin, class) in column.bins.iter().zip(classes) {
                if let Some(count) =
                    counts.get_mut(*bin as usize).and_then(|row| row.get_mut(*class as usize))
                {
                    *count += 1;
                }
            }
            Some((id, counts))
        })
        .collect()
}
