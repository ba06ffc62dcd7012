//! Draws that chains have in common, and what knowing a figure would tell.

use crate::chain::{Chain, ParameterId};
use crate::draws::{BINS, Classes, Column, Draws};
use gainsay_units::Spread;
use std::collections::HashMap;
use std::rc::Rc;

/// Draws of every figure, made once.
pub(crate) struct Library {
    pub(super) draws: Draws,
    columns: HashMap<String, (f64, Spread, Rc<Column>)>,
}

impl Library {
    pub(crate) fn new(draws: Draws) -> Self {
        Self { draws, columns: HashMap::new() }
    }

    /// The draws of every figure of a chain, in the order of its parameters.
    pub(super) fn columns(&mut self, chain: &Chain) -> Vec<Rc<Column>> {
        chain.parameters().iter().map(|p| self.column(&p.key, p.value, p.spread, p.positive)).collect()
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
