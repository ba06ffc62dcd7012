//! Draws of what a device states, with where it came from.

use super::{Footed, Measure, estimate};
use crate::chain::MissingFigure;
use crate::draws::{Column, Draws};
use gainsay_gear::Device;
use gainsay_units::{Figure, Measurable, Origin, Spread, Stated};
use serde::Serialize;

/// A figure that others rest on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Basis {
    /// What it is.
    pub figure: String,
    /// As it was written.
    pub value: String,
    /// Where it came from.
    pub from: Origin,
    /// What the sheet says, where a measurement has taken its place.
    pub sheet: Option<String>,
    /// A source or remark.
    pub note: Option<String>,
    /// What was done to it on the way to the footing, where it was measured on another: in words.
    #[serde(skip)]
    pub conversion: Option<String>,
}

/// Which figures of a group's [`Basis`] a result rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Rests(u64);

impl Rests {
    /// The figure at an index. A group states far fewer figures than this can tell apart.
    const fn on(index: usize) -> Self {
        Self(1 << (index % 64))
    }

    /// What rests on either.
    pub(super) const fn and(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Whether the figure at an index is among them.
    #[must_use]
    pub const fn has(self, index: usize) -> bool {
        index < 64 && self.0 & (1 << index) != 0
    }
}

/// Draws, and the weakest origin of what they were made from.
#[derive(Debug, Clone)]
pub(super) struct Drawn {
    pub(super) values: Vec<f64>,
    pub(super) origin: Origin,
    pub(super) rests: Rests,
}

impl Drawn {
    /// The same for every draw, and not worth a mention.
    pub(super) fn exact(value: f64, draws: Draws) -> Self {
        Self { values: vec![value; draws.rounded()], origin: Origin::Measured, rests: Rests::default() }
    }

    pub(super) fn map(&self, f: impl Fn(f64) -> f64) -> Self {
        let values = self.values.iter().map(|v| f(*v)).collect();
        Self { values, origin: self.origin, rests: self.rests }
    }

    pub(super) fn with(&self, other: &Self, f: impl Fn(f64, f64) -> f64) -> Self {
        Self {
            values: self.values.iter().zip(&other.values).map(|(a, b)| f(*a, *b)).collect(),
            origin: self.origin.max(other.origin),
            rests: self.rests.and(other.rests),
        }
    }

    pub(super) fn as_figure(&self, measure: Measure) -> (Measure, Footed) {
        (measure, Footed { estimate: estimate(&self.values), from: self.origin, rests: self.rests })
    }
}

/// The figures of one group of a device.
pub(super) struct Figures<'a> {
    device: &'a Device,
    /// Label of the group, where the device has more than one of its kind.
    group: Option<&'a str>,
    pub(super) draws: Draws,
    pub(super) basis: Vec<Basis>,
}

impl<'a> Figures<'a> {
    pub(super) fn new(device: &'a Device, group: Option<&'a str>, draws: Draws) -> Self {
        Self { device, group, draws, basis: Vec::new() }
    }

    /// Draws of a figure that must be there. The key is that of [`crate::Chain`], so that they are the same draws.
    pub(super) fn of<T: Measurable>(
        &mut self,
        what: &'static str,
        stated: Option<&Stated<T>>,
    ) -> Result<Drawn, MissingFigure> {
        let missing = || MissingFigure { what, device: self.device.name.clone() };
        let stated = stated.ok_or_else(missing)?;
        let figure = stated.figure().ok_or_else(missing)?;
        let sheet = stated.replaced().map(|replaced| replaced.written.clone());
        Ok(self.add(what, figure, sheet))
    }

    /// Draws of a figure, which is kept among those that the result rests on.
    pub(super) fn add<T: Measurable>(
        &mut self,
        what: &str,
        figure: &Figure<T>,
        sheet: Option<String>,
    ) -> Drawn {
        self.basis.push(Basis {
            figure: what.to_owned(),
            value: figure.written.clone(),
            from: figure.origin,
            sheet,
            note: figure.note.clone(),
            conversion: None,
        });
        let rests = Rests::on(self.basis.len() - 1);
        let positive = !T::DIMENSION.is_logarithmic();
        let column =
            Column::draw(&self.key(what), figure.value.to_base(), figure.spread, positive, self.draws);
        Drawn { values: column.values, origin: figure.origin, rests }
    }

    /// Says what was done to a figure on the way to the footing.
    pub(super) fn converted(&mut self, what: &str, conversion: Option<String>) {
        if let Some(basis) = self.basis.iter_mut().rev().find(|basis| basis.figure == what) {
            basis.conversion = conversion;
        }
    }

    /// Draws of what is only known to lie between two limits (JCGM 100:2008, 4.3.7).
    pub(super) fn between(&self, what: &str, high: f64) -> Vec<f64> {
        // As the chain draws it.
        let half = high / 2.0;
        let spread = Spread::Rectangular { below: half, above: half };
        Column::draw(&self.key(what), half, spread, false, self.draws).values
    }

    fn key(&self, what: &str) -> String {
        let group = self.group.map_or_else(String::new, |label| format!("/{label}"));
        format!("device/{}{group}/{what}", self.device.name)
    }

    pub(super) fn device(&self) -> &'a Device {
        self.device
    }
}
