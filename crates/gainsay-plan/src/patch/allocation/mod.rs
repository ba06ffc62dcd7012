//! Which line goes where, at best: a flow through the studio's wires, with branch and bound for what a flow can't say.
//!
//! A *line* is what needs one input: a source, or several that take turns at one microphone. A *place* is a group of equal
//! inputs where a line can begin its way to the computer. From the places *wires* of limited capacity lead to the computer:
//! through line inputs, over digital connections, over the computer link.
//!
//! What a flow of least cost can't say is checked on its result, and each violation is mended in several ways of which any
//! solution must take at least one: ports used as a whole (a second cable, a preamp's outputs), phantom supplies, pairs on equal
//! inputs, sets of wires that can't be on one clock, and a cable that costs the same whether it carries one channel or eight.
//! Nodes are taken in order of their lower bounds, so the first one without violation is the optimum.

mod branch;
mod flow;
mod prices;
mod search;

pub use search::solve;
pub(crate) use search::{WayOut, most_units, solve_with};

/// An allocation problem.
///
/// Points are numbered from 0; point 0 is the computer.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Allocation {
    /// The lines.
    pub lines: Vec<Line>,
    /// How many points there are, the computer and every place included.
    pub points: usize,
    /// Which line can begin where.
    pub choices: Vec<Choice>,
    /// How the points are connected.
    pub wires: Vec<Wire>,
    /// Ports that several wires share.
    pub ports: Vec<Ports>,
    /// Wires that begin together, through one wire; not a constraint, but a help to count cables.
    pub bundles: Vec<Bundle>,
    /// Phantom supplies that several lines share.
    pub supplies: Vec<Supply>,
    /// Pairs of lines that belong on equal inputs: at one place, where both have one.
    pub pairs: Vec<(usize, usize)>,
}

/// What needs one input.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Line {
    /// How many sources stand behind it, taking turns; none that could be done without.
    pub sources: u32,
    /// What leaving it out counts for among the changes, where it could be done without.
    pub changes: u32,
    /// Rank of being left out, which decides between equals: lower first.
    pub rank: u32,
    /// How many inputs it takes: one, except to find out how many there are.
    pub units: u32,
}

/// A line at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice {
    /// Index of the line.
    pub line: usize,
    /// The point where it begins.
    pub place: usize,
    /// Sources behind it that are short there.
    pub short: u32,
    /// Sources behind it that are tight there.
    pub tight: u32,
    /// What has to be changed for it about how the sources are taken, where that is up for change.
    pub changes: u32,
    /// What a perfect preamp would gain there, in steps of [`crate::thresholds::PENALTY_STEP`], summed over its sources.
    pub penalty: u32,
    /// Cables that it needs there for itself, beyond the one from its microphone.
    pub cables: u32,
    /// Rank of the place, which decides between equals: lower first.
    pub rank: u32,
}

/// A connection from point to point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wire {
    /// Where it begins.
    pub from: usize,
    /// Where it leads.
    pub to: usize,
    /// Most channels.
    pub channels: u32,
    /// Channels that one cable carries, where it consists of cables that count; 0 where it does not.
    pub per_cable: u32,
    /// Penalty of each channel that goes this way, in the steps of [`Choice::penalty`].
    pub penalty: u32,
}

/// Ports that several wires share: each wire takes as many as its channels need.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ports {
    /// The wires, each with the channels that one port carries for it (1 or more).
    pub wires: Vec<(usize, u32)>,
    /// How many ports there are.
    pub count: u32,
}

/// Wires whose cables begin at one group of ports, all behind one wire: together they need at least as many cables as that wire's
/// channels fill.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bundle {
    /// The wire through which all of them go.
    pub through: usize,
    /// The most channels that one of their cables carries.
    pub per_cable: u32,
    /// The wires, each with cables that count.
    pub wires: Vec<usize>,
}

/// A phantom supply: the lines at it draw at most so much together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Supply {
    /// Choices that draw from it, each with its current in microamperes.
    pub draws: Vec<(usize, u32)>,
    /// What it gives, in microamperes.
    pub total: u32,
}

/// The best allocation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Allocated {
    /// For each line the index of its choice, or none.
    pub choices: Vec<Option<usize>>,
    /// Channels on each wire.
    pub channels: Vec<u32>,
    /// What it comes to.
    pub cost: Cost,
    /// Whether it is proven that there is none better.
    pub proven: bool,
}

/// What an allocation comes to, in the order in which it counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cost {
    /// Sources that have no input.
    pub left_out: u32,
    /// Sources that have one and are short there.
    pub short: u32,
    /// Sources that are tight.
    pub tight: u32,
    /// Changes to how sources are taken.
    pub changes: u32,
    /// Total penalty in steps.
    pub penalty: u64,
    /// Cables for signals, beyond those from the microphones.
    pub cables: u32,
    /// Sum of the ranks: they choose between equals where that is easy, and are not proven to be least.
    pub rank: u64,
}

impl Allocation {
    /// What choices and channels come to.
    #[must_use]
    pub fn cost(&self, choices: &[Option<usize>], channels: &[u32]) -> Cost {
        let chosen = || choices.iter().flatten().filter_map(|choice| self.choices.get(*choice));
        let left_out =
            || self.lines.iter().zip(choices).filter(|(_, choice)| choice.is_none()).map(|(line, _)| line);
        let digital: u32 = self
            .wires
            .iter()
            .zip(channels)
            .filter(|(wire, _)| wire.per_cable > 0)
            .map(|(wire, channels)| channels.div_ceil(wire.per_cable))
            .sum();
        let on_wires: u64 = self
            .wires
            .iter()
            .zip(channels)
            .map(|(wire, channels)| u64::from(wire.penalty) * u64::from(*channels))
            .sum();
        Cost {
            left_out: left_out().map(|line| line.sources).sum(),
            short: chosen().map(|choice| choice.short).sum(),
            tight: chosen().map(|choice| choice.tight).sum(),
            changes: chosen().map(|choice| choice.changes).sum::<u32>()
                + left_out().map(|line| line.changes).sum::<u32>(),
            penalty: chosen().map(|choice| u64::from(choice.penalty)).sum::<u64>() + on_wires,
            cables: digital + chosen().map(|choice| choice.cables).sum::<u32>(),
            rank: chosen().map(|choice| u64::from(choice.rank)).sum::<u64>()
                + left_out().map(|line| u64::from(line.rank)).sum::<u64>(),
        }
    }
}
