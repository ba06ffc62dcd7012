//! The dividers between source, booster and input for every draw, summed over the bands: the counterpart of
//! [`crate::stages`]' walk through the line.

use super::band_sum::{BandSum, Reach};
use super::engine::Engine;
use super::junction::{JunctionDraws, JunctionLane, Parts, highest_w2};
use crate::draws::lane::{LANES, Lane};
use crate::network::Junction;
use gainsay_units::Hertz;
use gainsay_units::bands::{BandPowers, N_BANDS, bands};
use gainsay_units::weighting::{Weighting, weighted_widths};
use multiversion::multiversion;

/// The junctions of a chain.
pub(super) struct Network {
    first: JunctionDraws,
    second: Option<JunctionDraws>,
    bands: Vec<Band>,
    /// Those of the bands in which the noise can be loudest against the listener's floor.
    candidates: Vec<Band>,
}

/// What a band is for all draws of a chain.
#[derive(Clone, Copy)]
struct Band {
    /// ω² over that of the highest band.
    u: f64,
    /// For both junctions the mean of |H|² over the band's nodes over the value at its centre, at the best estimate.
    kappa: [f64; 2],
    /// The same of the first junction's |Z|², over that of its |H|².
    kappa_z: f64,
    /// Share of the signal; the same as both junctions together see it.
    signal: f64,
    signal_both: f64,
    /// Shape of the room's noise, A-weighted.
    room_a: f64,
    /// Width, A-weighted: as white noise of the source, a current in the first impedance, and what enters at the booster see
    /// it. Within a band the weighting and the junctions change together, and the mean of their product is not the product
    /// of their means.
    width_a_source: f64,
    width_a_current: f64,
    width_a_behind: f64,
    /// Shape of the room's noise and width, over what the listener hears without the recording, re 20 µPa squared.
    room_heard: f64,
    width_heard: f64,
}

/// Sums over the bands for each draw, for coefficients of one. The last three are empty without a booster.
#[derive(Default)]
pub(super) struct Sums {
    /// Power of the signal at the terminals of the last input before the gain.
    pub(super) signal: Vec<f64>,
    /// A-weighted at the terminals of the last input: the room's noise; white noise of the source.
    pub(super) room: Vec<f64>,
    pub(super) source: Vec<f64>,
    /// A current in the impedance of the first junction.
    pub(super) current_1: Vec<f64>,
    /// Power of the signal at the booster.
    pub(super) signal_first: Vec<f64>,
    /// A-weighted: a voltage at the booster's input, before its gain; a current in the impedance behind it.
    pub(super) voltage_1: Vec<f64>,
    pub(super) current_2: Vec<f64>,
}

/// Noise of one lane of draws, re 0 dBu squared: power of the room, and densities of what is white at the source, of currents
/// in the first junction's impedance, of voltages at the first amplifier, of currents in the second, and of what enters
/// behind.
pub(super) struct NoiseLane {
    pub(super) room: Lane,
    pub(super) source: Lane,
    pub(super) current_1: Lane,
    pub(super) voltage_1: Lane,
    pub(super) current_2: Lane,
    pub(super) voltage_2: Lane,
}

impl Network {
    pub(super) fn new(engine: &Engine<'_>, listener_floor: &BandPowers) -> Self {
        let chain = engine.chain;
        let best = chain.first_junction();
        let best_second = chain.second_junction();
        let cable = [engine.figure(chain.cable_length), engine.figure(chain.cable_capacitance)];
        let input_resistance = engine.figure(chain.input_resistance);
        let parts = Parts {
            source_resistance: engine.figure(chain.source_resistance),
            source_inductance: chain.source_inductance.map(|id| engine.figure(id)),
            // With a booster at the microphone the cable is behind it.
            cable: chain.booster.is_none().then_some(cable),
            input_resistance: chain
                .booster
                .as_ref()
                .map_or(input_resistance, |booster| engine.figure(booster.input_resistance)),
        };
        let first = JunctionDraws::new(engine, &parts, &best);
        let second = best_second.as_ref().zip(chain.booster.as_ref()).map(|(best, booster)| {
            let parts = Parts {
                source_resistance: engine.figure(booster.output_resistance),
                source_inductance: None,
                cable: Some(cable),
                input_resistance,
            };
            JunctionDraws::new(engine, &parts, best)
        });
        let bands = band_table(engine, &best, best_second.as_ref(), listener_floor);
        let candidates = candidates(&bands, &first, second.as_ref());
        Self { first, second, bands, candidates }
    }

    fn weights<const N: usize>(&self, reach: Reach, weights: impl Fn(&Band) -> [f64; N]) -> BandSum<N> {
        let mut u = [0.0; N_BANDS];
        let mut table = [[0.0; N]; N_BANDS];
        for ((u, row), band) in u.iter_mut().zip(&mut table).zip(&self.bands) {
            (*u, *row) = (band.u, weights(band));
        }
        BandSum::new(&u, &table, reach)
    }

    /// The largest ratio, in any band, of the noise to what the listener hears without the recording, for a replay of one.
    #[inline(always)]
    pub(super) fn loudest_band(&self, index: usize, noise: &NoiseLane) -> Lane {
        let one = self.first.at(index);
        let ahead = Ahead {
            room: noise.room * one.h,
            source: noise.source * one.h,
            current: noise.current_1 * one.h,
        };
        let mut worst = Lane::ZERO;
        match &self.second {
            None => {
                for band in &self.candidates {
                    worst = (ahead.at(&one, band) + noise.voltage_2 * band.width_heard).larger(worst);
                }
            }
            Some(second) => {
                let two = second.at(index);
                let at_booster = noise.voltage_1 + noise.current_2 * two.resistance;
                for band in &self.candidates {
                    let before = ahead.at(&one, band) + at_booster * band.width_heard;
                    let through = before * two.h * band.kappa[1] / two.load(band.u);
                    worst = (through + noise.voltage_2 * band.width_heard).larger(worst);
                }
            }
        }
        worst
    }
}

/// Noise ahead of the first amplifier, with what its divider does to all bands alike.
struct Ahead {
    room: Lane,
    source: Lane,
    current: Lane,
}

impl Ahead {
    /// Over what the listener hears in a band.
    #[inline(always)]
    fn at(&self, junction: &JunctionLane, band: &Band) -> Lane {
        let white = self.source + self.current * (junction.impedance(band.u) * band.kappa_z);
        (self.room * band.room_heard + white * band.width_heard) * band.kappa[0] / junction.load(band.u)
    }
}

/// The sums over the bands for every draw.
#[multiversion(targets("x86_64+avx2"))]
pub(super) fn sums(network: &Network, lanes: usize) -> Sums {
    let first = &network.first;
    match (&network.second, first.is_inductive()) {
        (None, false) => {
            let sum = network
                .weights(first.reach, |b| [b.signal, b.room_a, b.width_a_source].map(|w| w * b.kappa[0]));
            collect(lanes, &Resistive { junction: first, sum })
        }
        (None, true) => {
            let sum = network.weights(first.reach, |b| {
                let z = b.width_a_current * b.kappa_z;
                [b.signal, b.room_a, b.width_a_source, z, z * b.u].map(|w| w * b.kappa[0])
            });
            collect(lanes, &WithInductance { junction: first, sum })
        }
        (Some(second), _) => {
            let (q1, q2) = (first.reach.q, second.reach.q);
            let both = network.weights(Reach { q: q1 + q2, r: q1 * q2 }, |b| {
                let z = b.width_a_current * b.kappa_z;
                [b.signal_both, b.room_a, b.width_a_source, z, z * b.u].map(|w| w * b.kappa[0] * b.kappa[1])
            });
            let before = network.weights(first.reach, |b| [b.signal * b.kappa[0]]);
            let behind = network.weights(second.reach, |b| [b.width_a_behind * b.kappa[1]]);
            collect(lanes, &WithBooster { first, second, both, before, behind })
        }
    }
}

/// What gives the sums of a lane, in the order of [`Sums`].
trait SumsOfLane<const N: usize> {
    fn at(&self, index: usize) -> [Lane; N];
}

/// One junction without inductance: its impedance is R·H in every band.
struct Resistive<'a> {
    junction: &'a JunctionDraws,
    sum: BandSum<3>,
}

impl SumsOfLane<4> for Resistive<'_> {
    #[inline(always)]
    fn at(&self, index: usize) -> [Lane; 4] {
        let one = self.junction.at(index);
        let [signal, room, source] = self.sum.at(one.q, None).map(|sum| sum * one.h);
        [signal, room, source, source * one.resistance]
    }
}

/// One junction with inductance.
struct WithInductance<'a> {
    junction: &'a JunctionDraws,
    sum: BandSum<5>,
}

impl SumsOfLane<4> for WithInductance<'_> {
    #[inline(always)]
    fn at(&self, index: usize) -> [Lane; 4] {
        let one = self.junction.at(index);
        let [signal, room, source, z, z_rising] = self.sum.at(one.q, one.r).map(|sum| sum * one.h);
        [signal, room, source, current(&one, z, z_rising)]
    }
}

/// Two junctions. There is no capacitance before the booster and no inductance behind it, so that neither has a resonance, and
/// the product of both has the form of one: (1 + u·q₁)(1 + u·q₂) = 1 + u·(q₁ + q₂) + u²·q₁q₂.
struct WithBooster<'a> {
    first: &'a JunctionDraws,
    second: &'a JunctionDraws,
    both: BandSum<5>,
    before: BandSum<1>,
    behind: BandSum<1>,
}

impl SumsOfLane<7> for WithBooster<'_> {
    #[inline(always)]
    fn at(&self, index: usize) -> [Lane; 7] {
        let (one, two) = (self.first.at(index), self.second.at(index));
        let [signal_first] = self.before.at(one.q, None).map(|sum| sum * one.h);
        let sums = self.both.at(one.q + two.q, Some(one.q * two.q));
        let [signal, room, source, z, z_rising] = sums.map(|sum| sum * one.h * two.h);
        let [voltage_1] = self.behind.at(two.q, None).map(|sum| sum * two.h);
        let current_1 = current(&one, z, z_rising);
        [signal, room, source, current_1, signal_first, voltage_1, voltage_1 * two.resistance]
    }
}

/// A current in the impedance, from the sums of its resistive and of its rising part.
#[inline(always)]
fn current(junction: &JunctionLane, z: Lane, z_rising: Lane) -> Lane {
    let resistive = z * junction.resistance;
    junction.inductance.map_or(resistive, |inductance| resistive + z_rising * inductance)
}

/// Lanes as columns, in the order of [`Sums`].
#[inline(always)]
fn collect<const N: usize>(lanes: usize, of_lane: &impl SumsOfLane<N>) -> Sums {
    let mut sums = Sums::default();
    let mut columns = [
        &mut sums.signal,
        &mut sums.room,
        &mut sums.source,
        &mut sums.current_1,
        &mut sums.signal_first,
        &mut sums.voltage_1,
        &mut sums.current_2,
    ];
    columns.iter_mut().take(N).for_each(|column| column.reserve_exact(lanes * LANES));
    for index in 0..lanes {
        for (column, lane) in columns.iter_mut().zip(of_lane.at(index)) {
            column.extend_from_slice(&lane.0);
        }
    }
    sums
}

/// The bands in which the noise of some draw can be loudest against the floor.
///
/// A band is left out if another is louder for certain: in every kind of noise, whatever the draw. A draw's load differs from
/// one by no more than its reach.
fn candidates(bands: &[Band], first: &JunctionDraws, second: Option<&JunctionDraws>) -> Vec<Band> {
    let most = |reach: Reach, u: f64| (reach.q + reach.r * u) * u;
    let transfer = |band: &Band, sign: f64| {
        let one = band.kappa[0] / (1.0 - sign * most(first.reach, band.u));
        let two = second.map_or(1.0, |second| band.kappa[1] / (1.0 - sign * most(second.reach, band.u)));
        [one * two, two]
    };
    // Where a load could vanish nothing is certain.
    let certain = [Some(first), second].into_iter().flatten().all(|junction| most(junction.reach, 1.0) < 0.5);
    let louder = |quiet: &Band, loud: &Band| {
        let (high, low) = (transfer(quiet, 1.0), transfer(loud, -1.0));
        // How much more the impedance can rise towards the one than towards the other.
        let rise = if first.is_inductive() { (quiet.u / loud.u).max(1.0) } else { 1.0 };
        let impedance = (rise * quiet.kappa_z / loud.kappa_z).max(1.0);
        let white = quiet.width_heard / loud.width_heard;
        let [whole, half] = [high[0] / low[0], high[1] / low[1]];
        whole * quiet.room_heard < loud.room_heard
            && whole * white * impedance < 1.0
            && half * white < 1.0
            && white < 1.0
    };
    bands.iter().filter(|band| !certain || !bands.iter().any(|other| louder(band, other))).copied().collect()
}

fn band_table(
    engine: &Engine<'_>,
    first: &Junction,
    second: Option<&Junction>,
    listener_floor: &BandPowers,
) -> Vec<Band> {
    let chain = engine.chain;
    let highest = highest_w2();
    let kappas = |junction: &Junction, band: &gainsay_units::bands::Band| {
        let centre = junction.at(Hertz::new(band.centre_hz));
        let h = band.mean(|hz| junction.at(Hertz::new(hz)).power) / centre.power;
        let z = band.mean(|hz| junction.at(Hertz::new(hz)).impedance_squared) / centre.impedance_squared;
        [h, z / h]
    };
    bands()
        .iter()
        .zip(chain.spectrum.0)
        .zip(chain.room_shape.0)
        .zip(weighted_widths(Weighting::A).0)
        .zip(Weighting::A.band_gains().0)
        .zip(listener_floor.0)
        .map(|(((((band, signal), room), width_a), gain), floor)| {
            let w = 2.0 * std::f64::consts::PI * band.centre_hz;
            let [h, z] = kappas(first, band);
            let of_first = |hz: f64| first.at(Hertz::new(hz));
            let behind = |hz: f64| second.map_or(1.0, |second| second.at(Hertz::new(hz)).power);
            let a = |hz: f64| Weighting::A.power_gain(Hertz::new(hz));
            let power = band.mean(|hz| of_first(hz).power);
            let impedance = band.mean(|hz| of_first(hz).impedance_squared);
            let through = band.mean(behind);
            // Means of products over products of means.
            let both = band.mean(|hz| of_first(hz).power * behind(hz)) / (power * through);
            let source = band.mean(|hz| a(hz) * of_first(hz).power * behind(hz)) / (gain * power * through);
            let current = band.mean(|hz| a(hz) * of_first(hz).impedance_squared * behind(hz))
                / (gain * impedance * through);
            let second_alone = band.mean(|hz| a(hz) * behind(hz)) / (gain * through);
            Band {
                u: w * w / highest,
                kappa: [h, second.map_or(1.0, |second| kappas(second, band)[0])],
                kappa_z: z,
                signal,
                signal_both: signal * both,
                room_a: room * gain * source,
                width_a_source: width_a * source,
                width_a_current: width_a * current,
                width_a_behind: width_a * second_alone,
                room_heard: room / floor,
                width_heard: band.width_hz() / floor,
            }
        })
        .collect()
}
