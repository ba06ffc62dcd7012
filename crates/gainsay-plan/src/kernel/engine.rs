//! The draws of a chain's figures, and what several parts of the engine make of them.

use super::library::Library;
use crate::chain::{Chain, Ein, EinSource, NoiseFigures, ParameterId};
use crate::draws::Column;
use crate::draws::decibels::powers_to_levels;
use crate::draws::lane::{LANES, Lane, View};
use crate::stages::DBU_POWER;
use gainsay_units::noise::BOLTZMANN;
use gainsay_units::{Kelvin, Ohms};
use std::rc::Rc;

/// The draws of every figure of a chain.
pub(super) struct Draw {
    columns: Vec<Rc<Column>>,
    /// How many lanes there are.
    lanes: usize,
}

impl Draw {
    pub(super) fn new(chain: &Chain, library: &mut Library) -> Self {
        Self { columns: library.columns(chain), lanes: library.draws.rounded() / LANES }
    }

    /// Those of a chain that is the same up to a parameter.
    pub(super) fn alike_up_to(&self, from: usize, chain: &Chain, library: &mut Library) -> Self {
        let alike = self.columns.iter().take(from).cloned();
        Self { columns: alike.chain(library.columns_from(from, chain)).collect(), lanes: self.lanes }
    }
}

/// A chain with its draws.
#[derive(Clone, Copy)]
pub(super) struct Engine<'a> {
    pub(super) chain: &'a Chain,
    draw: &'a Draw,
    pub(super) lanes: usize,
}

impl<'a> Engine<'a> {
    pub(super) fn new(chain: &'a Chain, draw: &'a Draw) -> Self {
        Self { chain, draw, lanes: draw.lanes }
    }

    /// Draws of a figure. Ids come only from the chain itself.
    pub(super) fn figure(&self, id: ParameterId) -> View<'a> {
        self.draw.columns.get(id.index()).map_or(View::of(&[]), |column| column.view())
    }

    /// Draws of a figure in dB, as ratios of powers.
    pub(super) fn powers(&self, id: ParameterId) -> View<'a> {
        self.draw.columns.get(id.index()).map_or(View::of(&[]), |column| column.powers())
    }

    /// One column, eight draws at a time.
    pub(super) fn column(&self, f: impl Fn(usize) -> Lane) -> Vec<f64> {
        let mut column = Vec::with_capacity(self.lanes * LANES);
        for index in 0..self.lanes {
            column.extend_from_slice(&f(index).0);
        }
        column
    }

    /// A column of powers as levels in dB.
    pub(super) fn levels(&self, f: impl Fn(usize) -> Lane) -> Vec<f64> {
        let mut column = self.column(f);
        powers_to_levels(&mut column);
        column
    }

    pub(super) fn amplifier(&self, figures: &NoiseFigures) -> AmplifierDraws<'a> {
        let ein = |ein: &Ein| EinDraws {
            powers: self.powers(ein.level),
            unknown_weighting: ein.unknown_weighting.map(|id| self.powers(id)),
            factor: 1.0 / ein.bandwidth.hertz(),
            source: match ein.source {
                EinSource::Known(source) => SourceOfEin::Known(source),
                EinSource::Unknown(id) => SourceOfEin::Drawn(self.figure(id)),
            },
        };
        match figures {
            NoiseFigures::OneEin { ein: one, current } => {
                AmplifierDraws::OneEin { ein: ein(one), current: self.figure(*current) }
            }
            NoiseFigures::TwoEins { first, second } => {
                AmplifierDraws::TwoEins { first: ein(first), second: ein(second) }
            }
            NoiseFigures::Densities { voltage, current } => AmplifierDraws::Densities {
                voltage: self.figure(*voltage),
                current: self.figure(*current),
                thermal: thermal(gainsay_gear::USUAL_SOURCE, self.chain.temperature),
            },
        }
    }
}

/// Squared density of a resistance's thermal noise re 0 dBu squared.
pub(super) fn thermal(resistance: Ohms, temperature: Kelvin) -> f64 {
    4.0 * BOLTZMANN * temperature.kelvin() * resistance.ohms() / DBU_POWER
}

/// An EIN's draws.
#[derive(Clone, Copy)]
pub(super) struct EinDraws<'a> {
    powers: View<'a>,
    /// What its unknown weighting has taken off.
    unknown_weighting: Option<View<'a>>,
    /// One over its bandwidth.
    factor: f64,
    source: SourceOfEin<'a>,
}

/// The source that an EIN was measured with.
#[derive(Clone, Copy)]
enum SourceOfEin<'a> {
    Known(Ohms),
    Drawn(View<'a>),
}

impl EinDraws<'_> {
    /// Squared density, re 0 dBu squared.
    #[inline(always)]
    fn at(&self, index: usize) -> Lane {
        let power = self.powers.at(index) * self.factor;
        match &self.unknown_weighting {
            Some(off) => power * off.at(index),
            None => power,
        }
    }

    /// Resistance of the source, Ω.
    #[inline(always)]
    fn resistance(&self, index: usize) -> Lane {
        match &self.source {
            SourceOfEin::Known(source) => Lane::all(source.ohms()),
            SourceOfEin::Drawn(source) => source.at(index),
        }
    }

    /// The density less the thermal noise of the source that it was measured with.
    #[inline(always)]
    fn left(&self, index: usize) -> Lane {
        let thermal = self.resistance(index) * thermal(Ohms::new(1.0), Kelvin::ROOM);
        (self.at(index) - thermal).larger(Lane::ZERO)
    }
}

/// An amplifier's noise figures as draws: the counterpart of [`crate::network::AmplifierNoise`].
#[derive(Clone, Copy)]
pub(super) enum AmplifierDraws<'a> {
    OneEin {
        ein: EinDraws<'a>,
        current: View<'a>,
    },
    TwoEins {
        first: EinDraws<'a>,
        second: EinDraws<'a>,
    },
    Densities {
        voltage: View<'a>,
        current: View<'a>,
        /// Thermal noise of the usual source.
        thermal: f64,
    },
}

/// Squared densities of voltage and current, both over 0 dBu squared.
#[derive(Clone, Copy)]
pub(super) struct AmplifierLane {
    pub(super) voltage: Lane,
    pub(super) current: Lane,
}

impl AmplifierDraws<'_> {
    #[inline(always)]
    pub(super) fn at(&self, index: usize) -> AmplifierLane {
        match self {
            // As `AmplifierNoise::from_one_ein`.
            Self::OneEin { ein, current } => {
                let r2 = ein.resistance(index).square();
                let current = current.at(index).square() / DBU_POWER;
                let left = ein.left(index);
                let from_current = (current * r2).smaller(left * 0.5);
                // With a short nothing tells it from the voltage noise.
                let shorted = matches!(ein.source, SourceOfEin::Known(source) if source.ohms() <= 0.0);
                let current = if shorted { current } else { from_current / r2 };
                AmplifierLane { voltage: left - from_current, current }
            }
            // As `AmplifierNoise::from_two_ein`.
            Self::TwoEins { first, second } => {
                let (r1, r2) = (first.resistance(index).square(), second.resistance(index).square());
                let (left_1, left_2) = (first.left(index), second.left(index));
                let current = ((left_2 - left_1) / (r2 - r1)).larger(Lane::ZERO);
                let current = current.smaller(left_1 / r1.larger(Lane::all(1e-12)));
                AmplifierLane { voltage: (left_1 - current * r1).larger(Lane::ZERO), current }
            }
            Self::Densities { voltage, current, .. } => AmplifierLane {
                voltage: voltage.at(index).square() / DBU_POWER,
                current: current.at(index).square() / DBU_POWER,
            },
        }
    }

    /// Squared density with which the dynamic range at the lowest gain was measured, re 0 dBu squared at the input.
    #[inline(always)]
    pub(super) fn terminated(&self, index: usize) -> Lane {
        match self {
            Self::OneEin { ein, .. } | Self::TwoEins { first: ein, .. } => ein.at(index),
            Self::Densities { thermal, .. } => {
                let r = gainsay_gear::USUAL_SOURCE.ohms();
                let noise = self.at(index);
                noise.voltage + noise.current * (r * r) + *thermal
            }
        }
    }
}
