//! Everything that could be had: a case with all that might be added, as a patch problem for each set of additions, and as one
//! market for all of them.
//!
//! [`Extended::solve`] finds the best patch for a set of additions exactly. [`Market`] says what no set can beat: equal boxes are
//! one kind with a count, cables of a format may go from anyone to anyone, pairs and most clocks are left out of account. What is
//! possible in a studio is possible in its market, so that the market's optimum is a bound.

pub(crate) mod whole;

use super::Input;
use super::allocation::Cost;
use super::clock::ConflictReason;
use super::studio::{Ease, LimitOf, PlaceOfLine, Spot, Studio, WireOf};
use super::suitability::{Scales, input};
use super::synchronise::Clash;
use super::variant::{Changeable, Variant, Wanted};
use crate::case::{Case, Source, formats};
use crate::chain::MissingFigure;
use crate::draws::Draws;
use gainsay_gear::connection::DigitalFormat;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

/// Draws behind each weight, at most: as many as behind the check, so that both say the same.
const MOST_DRAWS: usize = 10_000;
/// Draws behind all weights together, in a large case.
const DRAWS_IN_ALL: usize = 400_000;
/// The fewest draws that can tell one clipping in a hundred.
const LEAST_DRAWS: usize = 200;

/// A case whose owned devices hold everything that could be added, as often as it may be.
pub(crate) struct Extended<'a> {
    case: &'a Case,
    changeable: Changeable<'a>,
    scales: Scales<'a>,
    draws: Draws,
}

/// The best patch for a set of additions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Solved {
    /// What it comes to.
    pub(crate) cost: Cost,
    /// For each line whether it has an input, and the variant that it is taken in, if any.
    pub(crate) lines: Vec<Option<Option<usize>>>,
    /// For each line its penalty in steps, where it has an input.
    pub(crate) penalties: Vec<Option<u32>>,
    /// For each owned device how many of it are in use.
    pub(crate) used: Vec<u32>,
    /// Whether it is proven that there is no better patch.
    pub(crate) proven: bool,
}

impl<'a> Extended<'a> {
    /// Weighs every line, as it is and in its variants, at every place that there could be.
    ///
    /// # Errors
    /// When a figure is missing that neither a device nor the kind that it is like states.
    pub(crate) fn new(
        case: &'a Case,
        variants: &'a [Variant],
        in_use: &'a [u32],
        draws: Draws,
    ) -> Result<(Self, Market), MissingFigure> {
        let mut plain = Studio::new(case, Ease::default());
        let all = vec![true; plain.lines.len()];
        let mut scales = Scales::new(case, &plain).with_each_landing();
        let draws_for = |pairs: usize| Draws {
            count: (DRAWS_IN_ALL / pairs.max(1)).clamp(LEAST_DRAWS, MOST_DRAWS.min(draws.count)),
            ..draws
        };
        let for_plain = draws_for(scales.pairs(&plain, &all));
        scales.weigh_all(&mut plain, &all, for_plain)?;
        let mut changeable = Changeable { variants, in_use, wanted: Wanted::Unless(settled(&plain)) };
        drop(plain);
        let studio = Studio::with_changes(case, Ease::default(), &changeable);
        scales.learn(case, &studio);
        let draws = draws_for(scales.pairs(&studio, &all)).count.min(for_plain.count);
        let draws = Draws { count: draws, ..for_plain };
        let wanted = scales.worth_having(&studio, draws)?;
        drop(studio);
        changeable.wanted = Wanted::Only(wanted);
        let mut studio = Studio::with_changes(case, Ease::default(), &changeable);
        scales.weigh_all(&mut studio, &all, draws)?;
        let market = Market::of(&studio);
        drop(studio);
        Ok((Self { case, changeable, scales, draws }, market))
    }

    /// The best patch with so many of each owned device.
    ///
    /// # Errors
    /// As [`Extended::new`].
    pub(crate) fn solve(&mut self, counts: &[u32]) -> Result<Solved, MissingFigure> {
        self.solve_with(counts, Ease::default())
    }

    /// The same if every box had a clock of its own and nobody minded.
    ///
    /// # Errors
    /// As [`Extended::new`].
    pub(crate) fn solve_without_clocks(&mut self, counts: &[u32]) -> Result<Solved, MissingFigure> {
        self.solve_with(counts, Ease { clock: true, ..Ease::default() })
    }

    fn solve_with(&mut self, counts: &[u32], ease: Ease) -> Result<Solved, MissingFigure> {
        let mut case = self.case.clone();
        for (owned, count) in case.owned.iter_mut().zip(counts) {
            owned.count = *count;
        }
        let mut studio = Studio::with_changes(&case, ease, &self.changeable);
        let all = vec![true; studio.lines.len()];
        self.scales.weigh_all(&mut studio, &all, self.draws)?;
        let (allocated, clocks) = studio.solve();
        let mut used = vec![0_u32; case.owned.len()];
        let mut boxes: BTreeSet<usize> = BTreeSet::new();
        let mut lines = Vec::with_capacity(allocated.choices.len());
        for choice in &allocated.choices {
            let variant = choice.map(|choice| studio.variant_of.get(choice).copied().flatten());
            for taken in variant
                .flatten()
                .and_then(|v| self.changeable.variants.get(v))
                .into_iter()
                .flat_map(|v| &v.takes)
            {
                if let Some(used) = used.get_mut(*taken) {
                    *used += 1;
                }
            }
            if let Some(place) = choice.and_then(|c| studio.places.get(*studio.place_of.get(c)?)) {
                boxes.insert(place.at);
            }
            lines.push(variant);
        }
        for ((wire, of), channels) in
            studio.allocation.wires.iter().zip(&studio.wires).zip(&allocated.channels)
        {
            if *channels > 0 {
                let ends = [wire.from, wire.to].map(|point| studio.spots.get(point).map(|(at, _)| *at));
                boxes.extend(ends.into_iter().flatten().filter(|at| *at != usize::MAX));
                if let WireOf::Computer(at) = of {
                    boxes.insert(*at);
                }
            }
        }
        boxes.extend(clocks.of.iter().enumerate().filter(|(_, clock)| clock.is_some()).map(|(at, _)| at));
        for at in boxes {
            if let Some(used) = used.get_mut(studio.owned_index(at)) {
                *used += 1;
            }
        }
        let penalties = allocated
            .choices
            .iter()
            .map(|choice| studio.allocation.choices.get((*choice)?).map(|choice| choice.penalty))
            .collect();
        Ok(Solved { cost: allocated.cost, lines, penalties, used, proven: allocated.proven })
    }
}

/// Every input that a source of a case could have, equal inputs once, as far as a chain goes through it.
#[must_use]
pub fn possible_inputs(case: &Case, source: usize) -> Vec<Input> {
    let mut alone = case.clone();
    alone.sources = case
        .sources
        .get(source)
        .map(|source| vec![Source { pin: None, pair: None, ..source.clone() }])
        .unwrap_or_default();
    let studio = Studio::new(&alone, Ease::default());
    studio.place_of.iter().filter_map(|place| input(&studio, studio.places.get(*place)?)).collect()
}

/// Every input of an owned device that the first source of a case could have, as far as a chain goes through it.
pub(crate) fn inputs_of(case: &Case, owned: usize) -> Vec<Input> {
    let studio = Studio::new(case, Ease::default());
    let places = studio.place_of.iter().filter_map(|place| studio.places.get(*place));
    let of_device = places.filter(|place| studio.owned_index(place.at) == owned);
    of_device.filter_map(|place| input(&studio, place)).collect()
}

/// Where lines are enough as they are.
fn settled(studio: &Studio<'_>) -> HashSet<PlaceOfLine> {
    let choices = studio.allocation.choices.iter().zip(&studio.place_of);
    choices
        .filter(|(choice, _)| choice.short == 0 && choice.tight == 0)
        .filter_map(|(choice, place)| Some((choice.line, studio.places.get(*place)?)))
        // Behind a preamp it depends on which line inputs there are.
        .filter(|(_, place)| place.landings.len() < 2)
        .map(|(line, place)| studio.place_of_line(line, place))
        .collect()
}

/// What a set of additions can't beat, for a mixed-integer program.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Market {
    /// Sources of each line that have to be recorded, and what leaving the line out counts for among the changes.
    pub(crate) lines: Vec<(u32, u32)>,
    /// What each line comes to at each place.
    pub(crate) offers: Vec<Offer>,
    /// How many points there are; 0 is the computer.
    pub(crate) points: usize,
    /// Ways from point to point.
    pub(crate) ways: Vec<Way>,
    /// Ports: cables of several ways, and how many there are in each box of a kind.
    pub(crate) ports: Vec<MarketPorts>,
    /// Formats: as many cables end as begin.
    pub(crate) formats: Vec<FormatCables>,
    /// Inputs behind which channels of several ways begin: at most so many for each box of a kind.
    pub(crate) routes: Vec<MarketPorts>,
    /// Phantom supplies: what offers draw from them, what each box of the kind gives.
    pub(crate) supplies: Vec<MarketSupply>,
    /// Kinds of boxes that can't both go into the computer; of a kind with itself, two boxes of it.
    pub(crate) exclusive: Vec<(usize, usize)>,
}

/// A line at a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Offer {
    pub(crate) line: usize,
    /// The point where it begins.
    pub(crate) point: usize,
    /// The kind of box there.
    pub(crate) kind: usize,
    pub(crate) short: u32,
    pub(crate) tight: u32,
    /// In steps.
    pub(crate) penalty: u32,
    /// Owned microphones or boosters that it takes.
    pub(crate) takes: Vec<usize>,
    /// What it draws from the phantom supply of the box, in microamperes, where that is limited.
    pub(crate) draws: u32,
}

/// A way from point to point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Way {
    pub(crate) from: usize,
    pub(crate) to: usize,
    /// Most channels for each box of a kind: kind, channels. None where other limits do.
    pub(crate) limit: Option<(usize, u32)>,
    /// Channels that a cable carries; 0 where there are no cables.
    pub(crate) per_cable: u32,
    /// The kind of box that goes into the computer by this way.
    pub(crate) computer_of: Option<usize>,
}

/// Ports of a kind of box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct MarketPorts {
    pub(crate) kind: usize,
    /// Indices of ways.
    pub(crate) ways: Vec<usize>,
    /// Ports of each box.
    pub(crate) count: u32,
}

/// Ways that begin and ways that end cables of one format.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct FormatCables {
    pub(crate) begin: Vec<usize>,
    pub(crate) end: Vec<usize>,
}

/// A phantom supply of a kind of box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct MarketSupply {
    pub(crate) kind: usize,
    /// Microamperes that each box gives.
    pub(crate) total: u32,
}

/// A point of the market.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Node {
    Of(usize, Spot),
    Cables(DigitalFormat),
    Lines,
}

struct Maker<'a, 'b> {
    studio: &'b Studio<'a>,
    market: Market,
    nodes: HashMap<Node, usize>,
    known: HashMap<(usize, usize), usize>,
}

impl Market {
    fn of(studio: &Studio<'_>) -> Self {
        let mut maker =
            Maker { studio, market: Self::default(), nodes: HashMap::new(), known: HashMap::new() };
        maker.market.points = 1;
        maker.nodes.insert(Node::Of(usize::MAX, Spot::Computer), 0);
        maker.market.lines =
            studio.allocation.lines.iter().map(|line| (line.sources, line.changes)).collect();
        maker.add_wires();
        maker.add_offers();
        maker.add_routes();
        maker.add_exclusive();
        maker.market
    }
}

impl Maker<'_, '_> {
    fn node(&mut self, node: Node) -> usize {
        let next = self.market.points;
        let at = *self.nodes.entry(node).or_insert(next);
        if at == next {
            self.market.points += 1;
        }
        at
    }

    /// Kind and node of a point of the studio.
    fn of_point(&mut self, point: usize) -> (usize, usize) {
        let (at, spot) = self.studio.spots.get(point).copied().unwrap_or((usize::MAX, Spot::Computer));
        let kind = if at == usize::MAX { usize::MAX } else { self.studio.owned_index(at) };
        (kind, self.node(Node::Of(kind, spot)))
    }

    /// A way, if there is none between its ends yet.
    fn way(&mut self, way: Way) -> usize {
        let next = self.market.ways.len();
        let index = *self.known.entry((way.from, way.to)).or_insert(next);
        if index == next {
            self.market.ways.push(way);
        }
        index
    }

    fn add_wires(&mut self) {
        /// Cables that begin or end at a group of ports of a kind, by format.
        type Ends = BTreeMap<(usize, usize, bool), (u32, BTreeSet<usize>)>;
        let mut ports: Ends = BTreeMap::new();
        let mut of_formats: HashMap<DigitalFormat, FormatCables> = HashMap::new();
        let studio = self.studio;
        for (wire, of) in studio.allocation.wires.iter().zip(&studio.wires) {
            let ((from_kind, from), (to_kind, to)) = (self.of_point(wire.from), self.of_point(wire.to));
            let plain = Way { from, to, limit: None, per_cable: 0, computer_of: None };
            match of {
                WireOf::Computer(_) => {
                    let limit = Some((from_kind, wire.channels));
                    self.way(Way { limit, computer_of: Some(from_kind), ..plain });
                }
                WireOf::Analogue if studio.same_box(wire.from, wire.to) => {
                    let limit = Some((from_kind, wire.channels)).filter(|(_, channels)| *channels < u32::MAX);
                    self.way(Way { limit, ..plain });
                }
                // Any preamp's outputs into any line inputs that take one.
                WireOf::Analogue => {
                    let hub = self.node(Node::Lines);
                    self.way(Way { to: hub, ..plain });
                    self.way(Way { from: hub, ..plain });
                }
                WireOf::Digital(digital) => {
                    let hub = self.node(Node::Cables(digital.format));
                    let begin = self.way(Way { to: hub, per_cable: digital.per_cable, ..plain });
                    let end = self.way(Way { from: hub, per_cable: digital.per_cable, ..plain });
                    for way in [begin, end] {
                        // With several partners the one that carries most counts.
                        if let Some(way) = self.market.ways.get_mut(way) {
                            way.per_cable = way.per_cable.max(digital.per_cable);
                        }
                    }
                    for (key, way, at) in [
                        ((from_kind, digital.output_group, true), begin, digital.from),
                        ((to_kind, digital.input_group, false), end, digital.to),
                    ] {
                        let groups = studio.front_end(at).map(|front_end| {
                            if key.2 { &front_end.digital_outputs } else { &front_end.digital_inputs }
                        });
                        let group = groups.and_then(|groups| groups.get(key.1));
                        debug_assert!(group.is_none_or(|g| formats(g).any(|f| f == digital.format)));
                        let count = group.and_then(|group| group.count).unwrap_or(1);
                        ports.entry(key).or_insert((count, BTreeSet::new())).1.insert(way);
                    }
                    let cables = of_formats.entry(digital.format).or_default();
                    for (list, way) in [(&mut cables.begin, begin), (&mut cables.end, end)] {
                        if !list.contains(&way) {
                            list.push(way);
                        }
                    }
                }
            }
        }
        // Two groups of inputs of one kind end at the same point: their ports add up.
        let mut by_ways: BTreeMap<(usize, BTreeSet<usize>), u32> = BTreeMap::new();
        for ((kind, _, _), (count, ways)) in ports {
            let sum = by_ways.entry((kind, ways)).or_default();
            *sum = sum.saturating_add(count);
        }
        let all = by_ways.into_iter();
        self.market.ports = all
            .map(|((kind, ways), count)| MarketPorts { kind, ways: ways.into_iter().collect(), count })
            .collect();
        let mut formats: Vec<FormatCables> = of_formats.into_values().collect();
        formats.sort_by(|a, b| (&a.begin, &a.end).cmp(&(&b.begin, &b.end)));
        self.market.formats = formats;
    }

    fn add_offers(&mut self) {
        let studio = self.studio;
        let mut currents: HashMap<usize, u32> = HashMap::new();
        let supplies = studio.allocation.supplies.iter().zip(&studio.limits_of);
        for (supply, of) in supplies {
            if let LimitOf::Supply(at) = of {
                currents.extend(supply.draws.iter().copied());
                let kind = studio.owned_index(*at);
                if !self.market.supplies.iter().any(|known| known.kind == kind) {
                    self.market.supplies.push(MarketSupply { kind, total: supply.total });
                }
            }
        }
        let mut known: HashSet<(usize, usize, Option<usize>)> = HashSet::new();
        for (index, choice) in studio.allocation.choices.iter().enumerate() {
            let (kind, point) = self.of_point(choice.place);
            let variant = studio.variant_of.get(index).copied().flatten();
            if !known.insert((choice.line, point, variant)) {
                continue;
            }
            self.market.offers.push(Offer {
                line: choice.line,
                point,
                kind,
                short: choice.short,
                tight: choice.tight,
                penalty: choice.penalty,
                takes: variant
                    .and_then(|v| studio.variants().get(v))
                    .map_or_else(Vec::new, |v| v.takes.clone()),
                draws: currents.get(&index).copied().unwrap_or(0),
            });
        }
    }

    fn add_routes(&mut self) {
        let studio = self.studio;
        let mut routes: Vec<MarketPorts> = Vec::new();
        for (ports, at) in studio.allocation.ports.iter().zip(&studio.routes_of) {
            let Some(at) = at else { continue };
            let mut ways = BTreeSet::new();
            for (wire, _) in &ports.wires {
                let Some(wire) = studio.allocation.wires.get(*wire) else { continue };
                let ((_, from), (_, to)) = (self.of_point(wire.from), self.of_point(wire.to));
                ways.extend(self.known.get(&(from, to)).copied());
            }
            let ports = MarketPorts {
                kind: studio.owned_index(*at),
                ways: ways.into_iter().collect(),
                count: ports.count,
            };
            if !routes.contains(&ports) {
                routes.push(ports);
            }
        }
        self.market.routes = routes;
    }

    /// Boxes that can't run on one clock whatever else there is, because they can only lead.
    fn add_exclusive(&mut self) {
        let studio = self.studio;
        let mut to_computer: Vec<(usize, usize)> = Vec::new();
        for (wire, of) in studio.wires.iter().enumerate() {
            if let WireOf::Computer(at) = of {
                let kind = studio.owned_index(*at);
                if to_computer.iter().filter(|(known, _)| *known == kind).count() < 2 {
                    to_computer.push((kind, wire));
                }
            }
        }
        let mut channels = vec![0_u32; studio.wires.len()];
        for (index, (one, first)) in to_computer.iter().enumerate() {
            for (other, second) in to_computer.iter().skip(index + 1) {
                for (wire, n) in [(*first, 1), (*second, 1)] {
                    if let Some(channels) = channels.get_mut(wire) {
                        *channels = n;
                    }
                }
                let pair = (*one.min(other), *one.max(other));
                let only_lead = |clash: Clash| matches!(clash.conflict.reason, ConflictReason::OnlyLead(..));
                if !self.market.exclusive.contains(&pair) && studio.clash(&channels).is_some_and(only_lead) {
                    self.market.exclusive.push(pair);
                }
                for wire in [*first, *second] {
                    if let Some(channels) = channels.get_mut(wire) {
                        *channels = 0;
                    }
                }
            }
        }
    }
}
