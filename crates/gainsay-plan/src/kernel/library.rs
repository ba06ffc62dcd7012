//! Draws that chains have in common, and what knowing a figure would tell.

use crate::chain::{Chain, ParameterId};
use crate::draws::{BINS, Classes, Column, Draws};
use gainsay_units::Spread;
use gainsay_units::math::log10;
use std::collections::HashMap;
use std::rc::Rc;

/// What a figure does to a chain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Swing {
    pub(crate) id: ParameterId,
    /// Means over the draws in the figure's lowest tenth.
    pub(crate) low: Tenth,
    /// The same of its highest tenth.
    pub(crate) high: Tenth,
}

/// Means over a tenth of the draws.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Tenth {
    /// The figure.
    pub(crate) value: f64,
    /// What a perfect preamp would gain.
    pub(crate) penalty_db: f64,
    /// Probability that the source is enough.
    pub(crate) enough: f64,
}

/// Draws of every figure, made once.
pub(crate) struct Library {
    pub(super) draws: Draws,
    columns: HashMap<String, (f64, Spread, Rc<Column>)>,
}

impl Library {
    pub(crate) fn new(draws: Draws) -> Self {
        Self { draws, columns: HashMap::new() }
    }

    /// Whether it holds such draws, and not so many that another one had better be begun.
    pub(crate) fn is_of(&self, draws: Draws) -> bool {
        const MANY: usize = 1024;
        self.draws == draws && self.columns.len() < MANY
    }

    /// The draws of every figure of a chain, in the order of its parameters.
    pub(super) fn columns(&mut self, chain: &Chain) -> Vec<Rc<Column>> {
        self.columns_from(0, chain)
    }

    /// Those of its parameters from one on.
    pub(super) fn columns_from(&mut self, from: usize, chain: &Chain) -> Vec<Rc<Column>> {
        let parameters = chain.parameters().iter().skip(from);
        parameters.map(|p| self.column(&p.key, p.value, p.spread, p.positive)).collect()
    }

    fn column(&mut self, key: &str, value: f64, spread: Spread, positive: bool) -> Rc<Column> {
        if let Some((known_value, known_spread, column)) = self.columns.get(key)
            && known_value.to_bits() == value.to_bits()
            && *known_spread == spread
        {
            return Rc::clone(column);
        }
        let column = Rc::new(Column::draw(key, value, spread, positive, self.draws));
        self.columns.insert(key.to_owned(), (value, spread, Rc::clone(&column)));
        column
    }

    /// Forgets the figures of the sources themselves, which no other source uses; devices and rooms stay.
    pub(crate) fn forget_sources(&mut self) {
        self.columns.retain(|key, _| !key.starts_with("source/"));
    }

    /// How often each class of a result falls into each bin of a figure that has no influence on it.
    pub(crate) fn classes_by_chance(&mut self, classes: &Classes) -> [[u32; 3]; BINS] {
        let spread = Spread::Rectangular { below: 1.0, above: 1.0 };
        self.column("a figure without influence", 0.0, spread, false).classes_by_bin(classes)
    }

    /// What each uncertain figure of a chain does to it, from its penalties (ratios of powers) and verdicts draw by draw.
    pub(crate) fn swings(&mut self, chain: &Chain, penalties: &[f64], classes: &[u8]) -> Vec<Swing> {
        /// Two classes of twenty are a tenth.
        const CLASSES: u8 = (BINS / 10) as u8;
        let columns = self.columns(chain);
        let decibels: Vec<f64> = penalties.iter().map(|penalty| 10.0 * log10(*penalty)).collect();
        let mean = |column: &Column, within: &dyn Fn(u8) -> bool| {
            let mut tenth = Tenth::default();
            let mut n = 0.0;
            for (((bin, value), penalty), class) in
                column.bins.iter().zip(&column.values).zip(&decibels).zip(classes)
            {
                if within(*bin) {
                    n += 1.0;
                    tenth.value += value;
                    tenth.penalty_db += penalty;
                    tenth.enough += f64::from(u8::from(*class == 0));
                }
            }
            let n = f64::max(n, 1.0);
            Tenth { value: tenth.value / n, penalty_db: tenth.penalty_db / n, enough: tenth.enough / n }
        };
        chain
            .each()
            .zip(columns)
            .filter(|((_, parameter), _)| !parameter.spread.is_exact())
            .map(|((id, _), column)| Swing {
                id,
                low: mean(&column, &|bin| bin < CLASSES),
                high: mean(&column, &|bin| bin >= BINS as u8 - CLASSES),
            })
            .collect()
    }

    /// For each uncertain figure of a chain, how often each class of a result falls into each of its bins.
    pub(crate) fn classes_by_bin(
        &mut self,
        chain: &Chain,
        classes: &Classes,
    ) -> Vec<(ParameterId, [[u32; 3]; BINS])> {
        let columns = self.columns(chain);
        chain
            .each()
            .zip(columns)
            .filter(|((_, parameter), _)| !parameter.spread.is_exact())
            .map(|((id, _), column)| (id, column.classes_by_bin(classes)))
            .collect()
    }
}
