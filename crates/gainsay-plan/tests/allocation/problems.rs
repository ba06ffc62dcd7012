//! Random allocation problems of several families, the same from run to run.

use gainsay_plan::patch::allocation::{Allocation, Choice, Line, Ports, Supply, Wire};

/// A problem, and which wires can't all be in use.
#[derive(Debug, Clone)]
pub(crate) struct Problem {
    pub(crate) name: String,
    pub(crate) allocation: Allocation,
    /// Sets of wires that can't all be in use at once.
    pub(crate) forbidden: Vec<Vec<usize>>,
    /// Whether it is a plain assignment: every line can begin at every place, each place takes one, only penalties count.
    pub(crate) is_assignment: bool,
}

impl Problem {
    /// A forbidden set whose wires are all in use.
    pub(crate) fn conflict(&self, channels: &[u32]) -> Option<Vec<usize>> {
        self.forbidden.iter().find(|set| set.iter().all(|wire| channels[*wire] > 0)).cloned()
    }
}

/// Random numbers: the 64-bit linear congruential generator with Knuth's multiplier (MMIX; The Art of Computer Programming,
/// vol. 2, 3.3.4, from memory), of which the upper half is used.
#[derive(Debug, Clone)]
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        let mut dice = Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5851_f42d);
        dice.below(2);
        dice.below(2);
        dice
    }

    /// 0 up to, but not including, `end`.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 32) as usize * end) >> 32
    }

    /// From `first` to `last`, both included.
    pub(crate) fn within(&mut self, first: u32, last: u32) -> u32 {
        first + self.below((last - first + 1) as usize) as u32
    }

    /// True so many times of a hundred.
    pub(crate) fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    pub(crate) fn one_of<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len())]
    }
}

/// What a studio's problem is made of.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Recipe {
    pub(crate) name: &'static str,
    /// Fewest and most lines.
    pub(crate) lines: (u32, u32),
    /// Boxes that reach the computer, at most.
    pub(crate) interfaces: u32,
    /// Boxes that reach an interface digitally, at most.
    pub(crate) converters: u32,
    /// Boxes that reach a place through its wire, at most.
    pub(crate) preamps: u32,
    /// Inputs of a group, at most.
    pub(crate) group: u32,
    /// Channels that a cable carries.
    pub(crate) per_cable: &'static [u32],
    /// Links between interfaces too, so that there are circles.
    pub(crate) circles: bool,
    /// A pool between some groups and their box.
    pub(crate) pools: bool,
    /// Supplies.
    pub(crate) supplies: bool,
    /// Pairs of lines.
    pub(crate) pairs: bool,
    /// Forbidden sets of wires, at most.
    pub(crate) forbidden: u32,
    /// Penalties, the last excluded; few make ties.
    pub(crate) penalties: u32,
    /// Of a hundred choices so many are there.
    pub(crate) density: usize,
    /// Ranks that mean something; otherwise all are 0.
    pub(crate) ranks: bool,
}

const PLAIN: Recipe = Recipe {
    name: "",
    lines: (1, 14),
    interfaces: 2,
    converters: 0,
    preamps: 0,
    group: 4,
    per_cable: &[8],
    circles: false,
    pools: false,
    supplies: false,
    pairs: false,
    forbidden: 0,
    penalties: 60,
    density: 70,
    ranks: true,
};

/// The families of studios.
pub(crate) const STUDIOS: [Recipe; 12] = [
    Recipe { name: "groups of inputs", interfaces: 4, ..PLAIN },
    Recipe { name: "too many lines", lines: (8, 14), interfaces: 2, group: 2, ..PLAIN },
    Recipe { name: "cables of eight", converters: 3, per_cable: &[8, 8, 4], ..PLAIN },
    Recipe { name: "cables of two", converters: 3, per_cable: &[2, 2, 1, 3], penalties: 4, ..PLAIN },
    Recipe { name: "preamps before line inputs", preamps: 3, ..PLAIN },
    Recipe { name: "pools", pools: true, interfaces: 3, converters: 1, ..PLAIN },
    Recipe { name: "supplies", supplies: true, interfaces: 3, converters: 1, ..PLAIN },
    Recipe { name: "pairs", pairs: true, interfaces: 3, converters: 1, group: 3, ..PLAIN },
    Recipe { name: "wires that exclude each other", forbidden: 5, converters: 3, interfaces: 3, ..PLAIN },
    Recipe { name: "ties", penalties: 2, converters: 2, preamps: 2, per_cable: &[8, 2], ..PLAIN },
    Recipe {
        name: "circles",
        circles: true,
        interfaces: 3,
        converters: 2,
        group: 3,
        per_cable: &[2, 4],
        ..PLAIN
    },
    Recipe {
        name: "everything",
        lines: (3, 14),
        interfaces: 3,
        converters: 3,
        preamps: 2,
        group: 4,
        per_cable: &[1, 2, 4, 8],
        circles: true,
        pools: true,
        supplies: true,
        pairs: true,
        forbidden: 3,
        penalties: 12,
        ..PLAIN
    },
];

/// Lines, and places that take one each: a plain assignment.
pub(crate) fn assignment(seed: u64) -> Problem {
    let mut dice = Dice::new(seed);
    let (n_lines, n_places) = (dice.within(1, 14) as usize, dice.within(2, 10) as usize);
    let penalties = dice.one_of(&[2, 10, 400]);
    let mut allocation = Allocation { points: n_places + 1, ..Allocation::default() };
    allocation.lines = vec![Line { sources: 1, changes: 0, rank: 0, units: 1 }; n_lines];
    allocation.wires = (1..=n_places)
        .map(|place| Wire { from: place, to: 0, channels: 1, per_cable: 0, penalty: 0 })
        .collect();
    for line in 0..n_lines {
        for place in 1..=n_places {
            let penalty = dice.below(penalties) as u32;
            allocation.choices.push(Choice {
                line,
                place,
                short: 0,
                tight: 0,
                changes: 0,
                penalty,
                cables: 0,
                rank: 0,
            });
        }
    }
    Problem { name: format!("assignment {seed}"), allocation, forbidden: Vec::new(), is_assignment: true }
}

/// A studio with boxes, cables and whatever the recipe asks for.
pub(crate) fn studio(recipe: &Recipe, seed: u64) -> Problem {
    let mut maker = Maker {
        recipe: *recipe,
        dice: Dice::new(seed),
        made: Allocation { points: 1, ..Allocation::default() },
        places: Vec::new(),
    };
    maker.boxes();
    maker.lines();
    let forbidden = maker.forbidden();
    let name = format!("{} {seed}", recipe.name);
    Problem { name, allocation: maker.made, forbidden, is_assignment: false }
}

/// A place, the box that it is in, and cables that each line there takes.
struct Place {
    point: usize,
    at: u32,
    cables: u32,
}

struct Maker {
    recipe: Recipe,
    dice: Dice,
    made: Allocation,
    places: Vec<Place>,
}

impl Maker {
    fn point(&mut self) -> usize {
        self.made.points += 1;
        self.made.points - 1
    }

    fn wire(&mut self, from: usize, to: usize, channels: u32, per_cable: u32) -> usize {
        // Some wires have a penalty of their own.
        let penalty = if self.dice.one_of(&[0, 0, 0, 1]) == 1 { self.dice.one_of(&[1, 2, 5]) } else { 0 };
        self.made.wires.push(Wire { from, to, channels, per_cable, penalty });
        self.made.wires.len() - 1
    }

    /// Groups of inputs that lead to a point.
    fn groups(&mut self, at: u32, behind: usize) {
        let pool = if self.recipe.pools && self.dice.chance(60) {
            let (pool, channels) = (self.point(), self.dice.within(1, 2 * self.recipe.group));
            self.wire(pool, behind, channels, 0);
            pool
        } else {
            behind
        };
        for _ in 0..self.dice.within(1, 2) {
            let channels = self.dice.within(1, self.recipe.group);
            let to = self.dice.one_of(&[pool, behind]);
            let point = self.point();
            self.wire(point, to, channels, 0);
            self.places.push(Place { point, at, cables: 0 });
        }
    }

    fn boxes(&mut self) {
        let n_interfaces = self.dice.within(1, self.recipe.interfaces.max(1));
        let n_converters = self.dice.within(self.recipe.converters.min(1), self.recipe.converters);
        let n_preamps = self.dice.within(self.recipe.preamps.min(1), self.recipe.preamps);
        let interfaces: Vec<usize> = (0..n_interfaces)
            .map(|at| {
                let behind = self.point();
                let channels = if self.dice.chance(30) { u32::MAX } else { self.dice.within(1, 12) };
                self.wire(behind, 0, channels, 0);
                self.groups(at, behind);
                behind
            })
            .collect();
        // Ports at the receiving end: one or two groups of them at each interface.
        let mut receiving: Vec<Vec<(usize, u32)>> = vec![Vec::new(); interfaces.len() * 2];
        let mut senders: Vec<(usize, Option<usize>)> = Vec::new();
        for at in 0..n_converters {
            let behind = self.point();
            self.groups(n_interfaces + at, behind);
            senders.push((behind, None));
        }
        if self.recipe.circles {
            senders.extend(interfaces.iter().enumerate().map(|(index, behind)| (*behind, Some(index))));
        }
        for (behind, own) in senders {
            let mut sending = Vec::new();
            for (to, interface) in interfaces.iter().enumerate() {
                if own == Some(to) || !self.dice.chance(80) {
                    continue;
                }
                let per = self.dice.one_of(self.recipe.per_cable);
                let cables = self.dice.within(1, 3);
                let wire = self.wire(behind, *interface, per * cables, per);
                sending.push((wire, per));
                receiving[2 * to + self.dice.below(2)].push((wire, per));
            }
            self.shared(sending);
        }
        for wires in receiving {
            self.shared(wires);
        }
        let landings: Vec<usize> = self.places.iter().map(|place| place.point).collect();
        for at in 0..n_preamps {
            let mut routes = Vec::new();
            let count = self.dice.within(1, self.recipe.group);
            for landing in &landings {
                if self.dice.chance(50) {
                    let point = self.point();
                    routes.push((self.wire(point, *landing, count, 0), 1));
                    self.places.push(Place { point, at: n_interfaces + n_converters + at, cables: 1 });
                }
            }
            self.made.ports.push(Ports { wires: routes, count });
        }
        // Ten places and no more.
        while self.places.len() > 10 {
            let out = self.dice.below(self.places.len());
            self.places.remove(out);
        }
    }

    fn shared(&mut self, wires: Vec<(usize, u32)>) {
        if wires.len() > 1 {
            let count = self.dice.within(1, 3);
            self.made.ports.push(Ports { wires, count });
        }
    }

    fn lines(&mut self) {
        let (fewest, most) = self.recipe.lines;
        let n_lines = self.dice.within(fewest, most) as usize;
        let most_ranks = (self.places.len() + 1) as u32;
        for line in 0..n_lines {
            let weight = if self.recipe.ranks { (n_lines - line) as u32 } else { 0 };
            let sources = if self.dice.chance(20) { self.dice.within(2, 3) } else { 1 };
            let dispensable = self.dice.chance(10);
            let (needed, changes) = if dispensable { (0, sources) } else { (sources, 0) };
            self.made.lines.push(Line { sources: needed, changes, rank: most_ranks * weight, units: 1 });
            let mut places: Vec<(usize, u32)> =
                self.places.iter().map(|place| (place.point, place.cables)).collect();
            places.sort_unstable();
            for (rank, (place, cables)) in places.into_iter().enumerate() {
                if self.dice.chance(self.recipe.density) {
                    let (short, tight) =
                        self.dice.one_of(&[(0, 0), (0, 0), (0, 0), (0, 1), (1, 0), (0, sources)]);
                    let changes = self.dice.one_of(&[0, 0, 0, 0, 1, 2]);
                    let penalty = self.dice.below(self.recipe.penalties as usize) as u32;
                    let rank = rank as u32 * weight;
                    self.made.choices.push(Choice {
                        line,
                        place,
                        short,
                        tight,
                        changes,
                        penalty,
                        cables,
                        rank,
                    });
                }
            }
        }
        if self.recipe.pairs {
            let mut free: Vec<usize> = (0..n_lines).collect();
            for _ in 0..self.dice.within(1, 4) {
                if free.len() > 1 {
                    let a = free.remove(self.dice.below(free.len()));
                    let b = free.remove(self.dice.below(free.len()));
                    self.made.pairs.push((a.min(b), a.max(b)));
                }
            }
        }
        if self.recipe.supplies {
            let current: Vec<u32> = (0..n_lines)
                .map(|_| self.dice.one_of(&[0, 2_000, 3_500, 10_000]) + self.dice.within(0, 999))
                .collect();
            let boxes = self.places.iter().map(|place| place.at + 1).max().unwrap_or(0);
            for at in 0..boxes {
                let here: Vec<usize> = self.places.iter().filter(|p| p.at == at).map(|p| p.point).collect();
                let choices = self.made.choices.iter().enumerate();
                let draws: Vec<(usize, u32)> = choices
                    .filter(|(_, choice)| here.contains(&choice.place))
                    .map(|(index, choice)| (index, current[choice.line]))
                    .collect();
                if self.dice.chance(70) {
                    self.made.supplies.push(Supply { draws, total: self.dice.within(0, 25_000) });
                }
            }
        }
    }

    fn forbidden(&mut self) -> Vec<Vec<usize>> {
        let n_wires = self.made.wires.len();
        let n_sets = self.dice.within(0, self.recipe.forbidden);
        (0..n_sets)
            .map(|_| {
                let mut set: Vec<usize> =
                    (0..self.dice.within(1, 3)).map(|_| self.dice.below(n_wires)).collect();
                set.sort_unstable();
                set.dedup();
                set
            })
            .collect()
    }
}
