//! What would make room for the sources that have no input.

use super::Patch;
use super::allocation::{Cost, solve};
use super::clock::ClockConflict;
use super::needs::Need;
use super::studio::{Ease, Studio};
use crate::case::Case;

/// What is missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    /// Indices of the sources without an input. No smaller set could be left out.
    pub sources: Vec<usize>,
    /// What each of them needs, in words, with how many need it.
    pub inputs: Vec<(&'static str, u32)>,
    /// Each change that by itself would make room for more of them.
    pub reliefs: Vec<Relief>,
}

/// A change that would make room.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Relief {
    /// A sample rate of 48 kHz or less.
    LowerRate {
        /// Sources that it makes room for.
        sources: u32,
    },
    /// A common clock for boxes that can't have one as they are.
    Clock {
        /// Sources that it makes room for.
        sources: u32,
        /// Which can't, and why, with indices of boxes.
        conflict: Option<ClockConflict>,
    },
    /// Phantom power where there is none, or more of it.
    Phantom {
        /// Sources that it makes room for.
        sources: u32,
    },
    /// More channels to the computer.
    Computer {
        /// Sources that it makes room for.
        sources: u32,
    },
    /// Letting go of what the case settles: pinned inputs, connections, the leader of the clock.
    Wishes {
        /// Sources that it makes room for.
        sources: u32,
    },
}

pub(super) fn find(case: &Case, studio: &Studio<'_>, patch: &Patch) -> Missing {
    let sources: Vec<usize> =
        patch.inputs.iter().enumerate().filter(|(_, input)| input.is_err()).map(|(index, _)| index).collect();
    let mut inputs: Vec<(&'static str, u32)> = Vec::new();
    for line in &studio.lines {
        let Some(first) = line.first().filter(|first| sources.contains(first)) else { continue };
        let Some(source) = case.sources.get(*first) else { continue };
        let words = Need::of(source).words();
        match inputs.iter_mut().find(|(known, _)| *known == words) {
            Some((_, n)) => *n += 1,
            None => inputs.push((words, 1)),
        }
    }
    let left_out = sources.len() as u32;
    let room = |ease: Ease| left_out.saturating_sub(eased(case, ease).left_out);
    let mut reliefs = Vec::new();
    if case.session.sample_rate.value.hertz() > 50_000.0 {
        reliefs.push(Relief::LowerRate { sources: room(Ease { rate: true, ..Ease::default() }) });
    }
    let by_clock = room(Ease { clock: true, ..Ease::default() });
    if by_clock > 0 {
        let without_clocks = Studio::new(case, Ease { clock: true, ..Ease::default() });
        let allocated = solve(&without_clocks.allocation, &mut |_| None);
        let conflict = without_clocks.clash(&allocated.channels).map(|clash| clash.conflict);
        reliefs.push(Relief::Clock { sources: by_clock, conflict });
    }
    reliefs.push(Relief::Phantom { sources: room(Ease { phantom: true, ..Ease::default() }) });
    reliefs.push(Relief::Computer { sources: room(Ease { computer: true, ..Ease::default() }) });
    reliefs.push(Relief::Wishes { sources: room(Ease { wishes: true, ..Ease::default() }) });
    reliefs.retain(|relief| relief.sources() > 0);
    Missing { sources, inputs, reliefs }
}

impl Relief {
    /// Sources that it makes room for.
    #[must_use]
    pub const fn sources(&self) -> u32 {
        match *self {
            Self::LowerRate { sources }
            | Self::Clock { sources, .. }
            | Self::Phantom { sources }
            | Self::Computer { sources }
            | Self::Wishes { sources } => sources,
        }
    }
}

fn eased(case: &Case, ease: Ease) -> Cost {
    Studio::new(case, ease).solve().0.cost
}
