//! The search for options as one problem, for comparison with other solvers, and what the search finds.
//!
//! Only what may change without changing something for all sources at once is part of it: no other sample rate, no turns.

use super::OptionsError;
use super::extension::{Extension, Scenario};
use super::score::Score;
use super::search::{Found, Search};
use crate::case::Case;
use crate::chain::MissingFigure;
use crate::draws::Draws;
use crate::patch::allocation::Allocation;
use crate::patch::{Extended, Whole, clash_of_whole, lasting_clashes};
use crate::price::Price;
use std::ops::ControlFlow;

/// Which devices to add, and what goes where: the allocation of everything that there could be, with what each box costs. A box
/// that is not there has no lines, and nothing on the wires that begin or end at its points.
#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    /// The allocation with every device as often as it may be there. Its choices hold a line as it is and, after that, in the
    /// other ways in which it could be taken.
    pub allocation: Allocation,
    /// The boxes.
    pub boxes: Vec<ModelBox>,
    /// For each point of the allocation the index of its box; none for the computer.
    pub box_of: Vec<Option<usize>>,
    /// For each supply of the allocation the index of the device of which it counts how many are taken; none of phantom
    /// supplies. With n of the device less than there could be, its total is less by n.
    pub resource_of: Vec<Option<usize>>,
    /// For each choice the device that has to be there for it: the one with the line input behind the preamp, where there are
    /// several kinds of those.
    pub needs: Vec<Option<usize>>,
    /// Whether no preamp has line inputs of several kinds to go into. Where it has, penalties in a set of devices count from the
    /// best line input of that set, those of the model from the best of all.
    pub one_landing: bool,
    /// Every device: first the owned ones, then what could be added.
    pub devices: Vec<ModelDevice>,
    /// The most that may be spent.
    pub budget: Option<Price>,
    /// The case with everything that there could be.
    case: Case,
}

/// A box of a model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ModelBox {
    /// Index of its device.
    pub device: usize,
    /// Which of several it is, from 0.
    pub copy: u32,
}

/// A device of a model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ModelDevice {
    /// How many are there without adding any.
    pub base: u32,
    /// How many may be added.
    pub most: u32,
    /// What each of those costs.
    pub price: Price,
}

/// A point of the frontier that the search finds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ModelPoint {
    /// How many there are of each device.
    pub counts: Vec<u32>,
    /// What it costs.
    pub price: Price,
    /// What it comes to.
    pub score: Score,
    /// Changes to how sources are taken.
    pub changes: u32,
    /// What perfect preamps would gain, in steps of [`crate::thresholds::PENALTY_STEP`].
    pub penalty: u64,
    /// How many devices are added, those that cost nothing included.
    pub devices: u32,
}

/// What the search finds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ModelFound {
    /// From the cheapest to the best.
    pub frontier: Vec<ModelPoint>,
    /// Whether it is proven that there is nothing better.
    pub proven: bool,
    /// How many mixed-integer programs were solved.
    pub programs: usize,
    /// How many patches were solved.
    pub patches: usize,
}

fn scenario() -> Scenario {
    Scenario { free_changes: true, ..Scenario::default() }
}

/// Which other ways of taking a line a model holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ways {
    /// All, everywhere.
    All,
    /// Those that the search takes to be worth having, where it does, with the best line input behind each preamp: what the
    /// search proposes additions by, and a little less than what they come to.
    WorthHaving,
}

/// The search for options of a case as one problem, with costs by so many draws; for comparison with other solvers.
///
/// # Errors
/// When a figure is missing that neither a device nor the kind that it is like states.
pub fn model_of(case: &Case, draws: Draws, ways: Ways) -> Result<Model, MissingFigure> {
    let extension = Extension::of(case, &scenario());
    let (mut extended, _) = Extended::new(&extension.case, &extension.variants, &extension.in_use, draws)?;
    let Whole { allocation, boxes, box_of, resource_of, needs, one_landing } =
        extended.whole(ways == Ways::All)?;
    let device = |(base, offer): (&u32, &Option<(Price, u32)>)| {
        let (price, most) = offer.unwrap_or((Price::NOTHING, 0));
        ModelDevice { base: *base, most, price }
    };
    Ok(Model {
        allocation,
        boxes: boxes.into_iter().map(|(device, copy)| ModelBox { device, copy }).collect(),
        box_of,
        resource_of,
        needs,
        one_landing,
        devices: extension.base.iter().zip(&extension.offers).map(device).collect(),
        budget: case.additions.budget,
        case: extension.case,
    })
}

impl Model {
    /// Pairs of wires that can't both be in use, whatever else there is, because two boxes can only lead the clock.
    #[must_use]
    pub fn lasting_clashes(&self) -> Vec<(usize, usize)> {
        lasting_clashes(&self.case)
    }

    /// Wires of the allocation that can't all be in use because their boxes can't run on one clock, where there are so many of
    /// each device; none where all is well. Another set of devices may not have this clash.
    #[must_use]
    pub fn clash(&self, counts: &[u32], channels: &[u32]) -> Option<Vec<usize>> {
        clash_of_whole(&self.case, counts, channels)
    }
}

/// What the search finds for the problem of [`model_of`].
///
/// # Errors
/// As [`super::options`].
pub fn found(case: &Case, draws: Draws) -> Result<ModelFound, OptionsError> {
    found_after(case, draws, || ())
}

/// The same; calls `weighed` once it is known what every line comes to at every place, and the search begins.
///
/// # Errors
/// As [`super::options`].
pub fn found_after(case: &Case, draws: Draws, weighed: impl FnOnce()) -> Result<ModelFound, OptionsError> {
    let extension = Extension::of(case, &scenario());
    let (extended, market) = Extended::new(&extension.case, &extension.variants, &extension.in_use, draws)?;
    weighed();
    let search = Search::new(&extension, &market, extended, |_: &Found| ControlFlow::Continue(()));
    let (frontier, _) = search.run()?;
    let point = |found: Found| ModelPoint {
        devices: found.counts.iter().zip(&extension.base).map(|(n, base)| n.saturating_sub(*base)).sum(),
        counts: found.counts,
        price: found.price,
        score: found.score,
        changes: found.solved.cost.changes,
        penalty: found.solved.cost.penalty,
    };
    Ok(ModelFound {
        frontier: frontier.all.into_iter().map(point).collect(),
        proven: frontier.proven,
        programs: frontier.programs,
        patches: frontier.patches,
    })
}
