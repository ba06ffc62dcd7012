//! One divider for every draw: the counterpart of [`crate::network::Junction::at`].

use super::band_sum::Reach;
use super::engine::Engine;
use crate::draws::lane::{LANES, Lane, View};
use crate::network::{Junction, PHANTOM_FEEDS};
use gainsay_units::bands::bands;

/// What a junction is made of.
pub(super) struct Parts<'a> {
    pub(super) source_resistance: View<'a>,
    pub(super) source_inductance: Option<View<'a>>,
    /// Length of the cable and its capacitance for each metre; none where the cable is elsewhere.
    pub(super) cable: Option<[View<'a>; 2]>,
    pub(super) input_resistance: View<'a>,
}

/// |H|² = h / (1 + u·q + u²·r) and |Z|² = (r² + u·l²)·|H|², with u = ω² over that of the highest band.
///
/// From 1 + Zs·Y with Zs = R + jωL and Y = G + jωC: real part a − ω²·LC with a = 1 + RG, imaginary part ω·b with
/// b = RC + LG; so h = 1/a², q = (b² − 2a·LC)·ω²/a² and r = (LC·ω²/a)².
pub(super) struct JunctionDraws {
    h: Vec<f64>,
    q: Vec<f64>,
    resistance: Vec<f64>,
    inductive: Option<Inductive>,
    pub(super) reach: Reach,
}

struct Inductive {
    r: Vec<f64>,
    inductance: Vec<f64>,
}

/// A junction for one lane of draws.
#[derive(Clone, Copy)]
pub(super) struct JunctionLane {
    pub(super) h: Lane,
    pub(super) q: Lane,
    /// None where it is zero.
    pub(super) r: Option<Lane>,
    /// R².
    pub(super) resistance: Lane,
    /// (ωL)² in the highest band; none where it is zero.
    pub(super) inductance: Option<Lane>,
}

/// ω² of the highest band.
pub(super) fn highest_w2() -> f64 {
    let w = bands().last().map_or(1.0, |band| 2.0 * std::f64::consts::PI * band.centre_hz);
    w * w
}

impl JunctionDraws {
    /// `best` tells whether the phantom feeds are across it.
    pub(super) fn new(engine: &Engine<'_>, parts: &Parts<'_>, best: &Junction) -> Self {
        let feeds = if best.phantom_feeds { 1.0 / PHANTOM_FEEDS.ohms() } else { 0.0 };
        let w2 = highest_w2();
        let column = || Vec::with_capacity(engine.lanes * LANES);
        let (mut h, mut q, mut resistance) = (column(), column(), column());
        let mut inductive = parts.source_inductance.map(|_| Inductive { r: column(), inductance: column() });
        let (mut most_q, mut most_r) = (Lane::ZERO, Lane::ZERO);
        for index in 0..engine.lanes {
            let source = parts.source_resistance.at(index);
            let g = Lane::all(1.0) / parts.input_resistance.at(index) + feeds;
            let c = parts.cable.map_or(Lane::ZERO, |[length, each]| length.at(index) * each.at(index));
            let a = source * g + 1.0;
            let h_here = Lane::all(1.0) / (a * a);
            let mut b = source * c;
            let mut resonance = Lane::ZERO;
            if let (Some(columns), Some(l)) = (&mut inductive, parts.source_inductance) {
                let l = l.at(index);
                b += l * g;
                resonance = l * c;
                let r = (resonance * w2).square() * h_here;
                most_r = most_r.larger(r);
                columns.r.extend_from_slice(&r.0);
                columns.inductance.extend_from_slice(&(l * l * w2).0);
            }
            let q_here = (b * b - a * resonance * 2.0) * h_here * w2;
            most_q = most_q.larger(q_here).larger(Lane::ZERO - q_here);
            h.extend_from_slice(&h_here.0);
            q.extend_from_slice(&q_here.0);
            resistance.extend_from_slice(&(source * source).0);
        }
        let most = |lane: Lane| lane.0.into_iter().fold(0.0, f64::max);
        Self { h, q, resistance, inductive, reach: Reach { q: most(most_q), r: most(most_r) } }
    }

    pub(super) fn is_inductive(&self) -> bool {
        self.inductive.is_some()
    }

    #[inline(always)]
    pub(super) fn at(&self, index: usize) -> JunctionLane {
        let inductive = self.inductive.as_ref();
        JunctionLane {
            h: View::of(&self.h).at(index),
            q: View::of(&self.q).at(index),
            r: inductive.map(|columns| View::of(&columns.r).at(index)),
            resistance: View::of(&self.resistance).at(index),
            inductance: inductive.map(|columns| View::of(&columns.inductance).at(index)),
        }
    }
}

impl JunctionLane {
    /// 1 + u·q + u²·r.
    #[inline(always)]
    pub(super) fn load(&self, u: f64) -> Lane {
        match self.r {
            Some(r) => (self.q + r * u) * u + 1.0,
            None => self.q * u + 1.0,
        }
    }

    /// |Z|² over |H|².
    #[inline(always)]
    pub(super) fn impedance(&self, u: f64) -> Lane {
        self.inductance.map_or(self.resistance, |inductance| self.resistance + inductance * u)
    }
}
