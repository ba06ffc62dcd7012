//! The market as a mixed-integer program: which additions are the cheapest that could do, as far as the market knows.
//!
//! Whole numbers are how many of each device are bought, how many cables of each format are plugged, and which boxes go into the
//! computer. What goes where is a flow: once those are whole, its best value is whole by itself, so that lines need no
//! integrality. Lines that come to the same everywhere are one class with a count.

use super::extension::Extension;
use super::score::Score;
use crate::patch::{Market, Offer};
use good_lp::solvers::{SolutionStatus, WithTimeLimit};
use good_lp::{
    Expression, ProblemVariables, ResolutionError, Solution, SolverModel, Variable, constraint, microlp,
    variable,
};
use std::collections::{BTreeMap, HashMap};

/// Seconds that one program may take. What takes longer is not solved; ordinary ones take hundredths.
const MOST_SECONDS: f64 = 10.0;

/// A set of additions that was tried: what it comes to at best. No smaller set does better.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Tried {
    pub(super) counts: Vec<u32>,
    pub(super) score: Score,
}

/// What is asked of the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Goal {
    /// The best score.
    Score,
    /// The cheapest additions with this score or a better one.
    Cheapest(Score),
}

/// The program's answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Proposal {
    /// How many there are of each owned device.
    pub(super) counts: Vec<u32>,
    /// The best score that the market sees, where that was the goal.
    pub(super) score: Option<Score>,
}

/// The program could not be solved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Unsolved(pub(super) String);

/// Lines that come to the same everywhere: how many they are, what leaving one out comes to, and what is open to them.
type Class<'a> = (u32, Score, Vec<Open<'a>>);

/// A market with lines in classes.
pub(super) struct Master<'a> {
    extension: &'a Extension,
    market: &'a Market,
    /// All that is open.
    classes: Vec<Class<'a>>,
    /// What is open where nothing may be short or tight.
    enough: Vec<Class<'a>>,
    /// What is open where only inputs count.
    inputs: Vec<Class<'a>>,
    /// The most that the prices may come to, in hundredths.
    most: Option<u64>,
}

/// What the program can tell of an offer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct Open<'a> {
    point: usize,
    short: u32,
    tight: u32,
    takes: &'a [usize],
    draws: u32,
    /// The kind of box whose phantom supply it draws from; nothing where it draws none.
    kind: Option<usize>,
}

impl<'a> Open<'a> {
    fn of(offer: &'a Offer) -> Self {
        Self {
            point: offer.point,
            short: offer.short,
            tight: offer.tight,
            takes: &offer.takes,
            draws: offer.draws,
            kind: (offer.draws > 0).then_some(offer.kind),
        }
    }
}

/// The lines of a market in classes, as a view sees their offers.
fn classes<'a>(market: &'a Market, view: impl Fn(Open<'a>) -> Option<Open<'a>>) -> Vec<Class<'a>> {
    let mut offers: Vec<Vec<Open<'_>>> = vec![Vec::new(); market.lines.len()];
    for offer in &market.offers {
        if let (Some(offers), Some(open)) = (offers.get_mut(offer.line), view(Open::of(offer))) {
            offers.push(open);
        }
    }
    let mut known: HashMap<(u32, Vec<Open<'_>>), usize> = HashMap::new();
    let mut classes: Vec<Class<'_>> = Vec::new();
    for ((sources, _), offers) in market.lines.iter().zip(offers) {
        let open = worth_having(offers);
        let next = classes.len();
        let class = *known.entry((*sources, open.clone())).or_insert(next);
        if class == next {
            classes.push((0, Score { left_out: *sources, ..Score::default() }, open));
        }
        if let Some((count, ..)) = classes.get_mut(class) {
            *count += 1;
        }
    }
    classes
}

impl<'a> Master<'a> {
    pub(super) fn new(extension: &'a Extension, market: &'a Market, most: Option<u64>) -> Self {
        Self {
            extension,
            market,
            classes: classes(market, Some),
            enough: classes(market, |open| Some(open).filter(|open| (open.short, open.tight) == (0, 0))),
            inputs: classes(market, |open| Some(Open { short: 0, tight: 0, ..open })),
            most,
        }
    }

    /// The classes that a goal needs to tell apart.
    fn classes_for(&self, goal: Goal) -> &[Class<'a>] {
        let sources: u32 = self.market.lines.iter().map(|(sources, _)| sources).sum();
        match goal {
            Goal::Cheapest(Score::ENOUGH) => &self.enough,
            Goal::Cheapest(wanted) if wanted.short >= sources && wanted.tight >= sources => &self.inputs,
            Goal::Cheapest(_) | Goal::Score => &self.classes,
        }
    }

    /// The best additions for a goal, within `most` hundredths where that is stated; none if there are none.
    ///
    /// # Errors
    /// When the solver fails.
    pub(super) fn solve(
        &self,
        goal: Goal,
        most: Option<u64>,
        tried: &[Tried],
        not_again: &[Vec<u32>],
    ) -> Result<Option<Proposal>, Unsolved> {
        let mut program = Program::new(self);
        let score = program.flows(self, self.classes_for(goal));
        let (price, all) = program.price(self);
        let most = match (self.most, most) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
        if let Some(most) = most {
            program.rows.push(constraint!(price.clone() <= units(most) + 1e-6));
        }
        let excluded = match goal {
            Goal::Score => {
                for tried in tried {
                    program.no_better(self, &score, tried);
                }
                Vec::new()
            }
            Goal::Cheapest(wanted) => {
                program.rows.push(constraint!(score.clone() <= self.number(wanted) + 1e-6));
                tried.iter().filter(|tried| tried.score > wanted).map(|tried| &tried.counts).collect()
            }
        };
        for counts in excluded.into_iter().chain(not_again) {
            match program.more_than(self, counts) {
                Some(row) => program.rows.push(row),
                // Everything that could be added has been tried.
                None => return Ok(None),
            }
        }
        let objective = match goal {
            // Of equals roughly the cheapest, which is likely to be the one that is looked for next.
            Goal::Score => score.clone() + 0.4 / (1.0 + self.price_of_all()) * price,
            // Of equals the one with fewer devices.
            Goal::Cheapest(_) => price + 1e-5 * all,
        };
        let bought = program.bought.clone();
        let mut model = program.variables.minimise(objective).using(microlp).with_time_limit(MOST_SECONDS);
        for row in program.rows {
            model.add_constraint(row);
        }
        match model.solve() {
            // The best so far says nothing about what there could be.
            Ok(solution) if !matches!(solution.status(), SolutionStatus::Optimal) => {
                Err(Unsolved("it takes too long".to_owned()))
            }
            Ok(solution) => {
                let mut counts = self.extension.base.clone();
                for (index, steps) in bought.iter().enumerate() {
                    let n = steps.iter().filter(|step| solution.value(**step) > 0.5).count() as u32;
                    if let Some(count) = counts.get_mut(index) {
                        *count += n;
                    }
                }
                // What costs nothing is always there.
                for (index, offer) in self.extension.offers.iter().enumerate() {
                    if let (Some((price, most)), Some(count)) = (offer, counts.get_mut(index))
                        && price.hundredths() == 0
                    {
                        *count = *most;
                    }
                }
                let score = matches!(goal, Goal::Score).then(|| self.score(solution.eval(&score)));
                Ok(Some(Proposal { counts, score }))
            }
            Err(ResolutionError::Infeasible) => Ok(None),
            Err(error) => Err(Unsolved(error.to_string())),
        }
    }

    fn price_of_all(&self) -> f64 {
        let offers = self.extension.offers.iter().flatten();
        offers.map(|(price, most)| units(price.hundredths()) * f64::from(*most)).sum()
    }

    /// One more than all sources there are.
    fn base(&self) -> f64 {
        1.0 + f64::from(self.market.lines.iter().map(|(sources, _)| sources).sum::<u32>())
            + self.market.lines.len() as f64
    }

    /// A score as one number: each part far above the next.
    fn number(&self, score: Score) -> f64 {
        let base = self.base();
        (f64::from(score.left_out) * base + f64::from(score.short)) * base + f64::from(score.tight)
    }

    fn score(&self, number: f64) -> Score {
        // A bound may be a little below a whole number, never above it.
        let (number, base) = ((number - 1e-6).ceil().max(0.0), self.base());
        let left_out = (number / (base * base)).floor();
        let short = ((number - left_out * base * base) / base).floor();
        let tight = number - (left_out * base + short) * base;
        Score { left_out: left_out as u32, short: short as u32, tight: tight as u32 }
    }
}

/// A price in whole units of the currency.
fn units(hundredths: u64) -> f64 {
    hundredths as f64 / 100.0
}

/// What is not worse than something else at the same point that takes nothing more, in order.
fn worth_having(mut open: Vec<Open<'_>>) -> Vec<Open<'_>> {
    open.sort_unstable();
    open.dedup();
    let beats = |one: &Open<'_>, other: &Open<'_>| {
        one.point == other.point
            && one.draws <= other.draws
            && (one.short, one.tight) <= (other.short, other.tight)
            && one.takes.iter().all(|taken| other.takes.contains(taken))
            && one != other
    };
    let beaten = |other: &Open<'_>| {
        let from = open.partition_point(|one| one.point < other.point);
        open.iter()
            .skip(from)
            .take_while(|one| one.point == other.point)
            .any(|one| beats(one, other) && (one < other || !beats(other, one)))
    };
    open.iter().copied().filter(|other| !beaten(other)).collect()
}

/// What is open at points, apart from where that is: at which points the same ways are open, and which ways.
fn groups<'a>(open: &[Open<'a>]) -> Vec<(Vec<usize>, Vec<Open<'a>>)> {
    let mut at: BTreeMap<usize, Vec<Open<'a>>> = BTreeMap::new();
    for open in open {
        at.entry(open.point).or_default().push(Open { point: 0, ..*open });
    }
    let mut groups: BTreeMap<Vec<Open<'a>>, Vec<usize>> = BTreeMap::new();
    for (point, ways) in at {
        groups.entry(ways).or_default().push(point);
    }
    groups.into_iter().map(|(ways, points)| (points, ways)).collect()
}

struct Program {
    variables: ProblemVariables,
    rows: Vec<good_lp::Constraint>,
    /// For each owned device a yes or no for each one more of it.
    bought: Vec<Vec<Variable>>,
}

impl Program {
    fn new(master: &Master<'_>) -> Self {
        let mut variables = ProblemVariables::new();
        let mut rows = Vec::new();
        let mut bought = Vec::with_capacity(master.extension.offers.len());
        for offer in &master.extension.offers {
            let most = offer.filter(|(price, _)| price.hundredths() > 0).map_or(0, |(_, most)| most);
            let steps: Vec<Variable> = (0..most).map(|_| variables.add(variable().binary())).collect();
            for (first, second) in steps.iter().zip(steps.iter().skip(1)) {
                rows.push(constraint!(*second <= *first));
            }
            bought.push(steps);
        }
        Self { variables, rows, bought }
    }

    /// How many there are of an owned device.
    fn count(&self, master: &Master<'_>, index: usize) -> Expression {
        let base = master.extension.base.get(index).copied().unwrap_or(0);
        let gift = master.extension.offers.get(index).copied().flatten();
        let gift = gift.filter(|(price, _)| price.hundredths() == 0).map_or(0, |(_, most)| most);
        let steps = self.bought.get(index).into_iter().flatten();
        steps.fold(Expression::from(f64::from(base + gift)), |sum, step| sum + *step)
    }

    /// Price, and how many devices are bought.
    fn price(&self, master: &Master<'_>) -> (Expression, Expression) {
        let (mut price, mut all) = (Expression::from(0.0), Expression::from(0.0));
        for (offer, steps) in master.extension.offers.iter().zip(&self.bought) {
            let Some((each, _)) = offer else { continue };
            for step in steps {
                price += units(each.hundredths()) * *step;
                all += *step;
            }
        }
        (price, all)
    }

    /// Without a device more than in a set that was tried, the score is no better than that of the set.
    fn no_better(&mut self, master: &Master<'_>, score: &Expression, tried: &Tried) {
        let least = master.number(tried.score);
        let more = self.more(master, &tried.counts);
        let more = more.into_iter().fold(Expression::from(0.0), |sum, step| sum + step);
        self.rows.push(constraint!(score.clone() + least * more >= least));
    }

    /// The next device of each kind beyond a set.
    fn more(&self, master: &Master<'_>, counts: &[u32]) -> Vec<Variable> {
        let mut more = Vec::new();
        for ((steps, count), base) in self.bought.iter().zip(counts).zip(&master.extension.base) {
            more.extend(steps.get(count.saturating_sub(*base) as usize).copied());
        }
        more
    }

    /// At least one device more than in a set; none where there is no more to be had.
    fn more_than(&self, master: &Master<'_>, counts: &[u32]) -> Option<good_lp::Constraint> {
        let more = self.more(master, counts);
        if more.is_empty() {
            return None;
        }
        let sum = more.into_iter().fold(Expression::from(0.0), |sum, step| sum + step);
        Some(constraint!(sum >= 1.0))
    }

    /// Lines at places and on their ways to the computer; gives the score.
    fn flows(&mut self, master: &Master<'_>, classes: &[Class<'_>]) -> Expression {
        let market = master.market;
        let n_lines = market.lines.len() as f64;
        let mut score = Expression::from(0.0);
        // What comes into each point, less what goes out.
        let mut balance: Vec<Expression> = vec![Expression::from(0.0); market.points];
        let mut drawn: HashMap<usize, Expression> = HashMap::new();
        let mut taken: HashMap<usize, Expression> = HashMap::new();
        for (count, left_out, open) in classes {
            let count = f64::from(*count);
            let out = self.variables.add(variable().min(0.0).max(count));
            score += master.number(*left_out) * out;
            let mut all = Expression::from(out);
            for (points, ways) in groups(open) {
                // Where every way is open at every point, how many take which way and how many begin at which point are enough
                // to know: each of one fits each of the other.
                let apart = points.len() + ways.len() < points.len() * ways.len();
                let mut ways_taken = Expression::from(0.0);
                for way in ways {
                    for point in points.iter().take(if apart { 1 } else { points.len() }) {
                        let here = self.variables.add(variable().min(0.0).max(count));
                        all += here;
                        let worth = Score { left_out: 0, short: way.short, tight: way.tight };
                        score += master.number(worth) * here;
                        if apart {
                            ways_taken += here;
                        } else if let Some(balance) = balance.get_mut(*point) {
                            *balance += here;
                        }
                        if let Some(kind) = way.kind {
                            *drawn.entry(kind).or_default() += f64::from(way.draws) / 1e3 * here;
                        }
                        for device in way.takes {
                            *taken.entry(*device).or_default() += here;
                        }
                    }
                }
                if apart {
                    let mut begun = Expression::from(0.0);
                    for point in &points {
                        let here = self.variables.add(variable().min(0.0).max(count));
                        begun += here;
                        if let Some(balance) = balance.get_mut(*point) {
                            *balance += here;
                        }
                    }
                    self.rows.push(constraint!(ways_taken == begun));
                }
            }
            self.rows.push(constraint!(all == count));
        }
        let mut on_way: Vec<Variable> = Vec::with_capacity(market.ways.len());
        let mut cables: HashMap<usize, Variable> = HashMap::new();
        let mut to_computer: HashMap<usize, Variable> = HashMap::new();
        for (index, way) in market.ways.iter().enumerate() {
            let channels = self.variables.add(variable().min(0.0).max(n_lines));
            on_way.push(channels);
            for (point, sign) in [(way.from, -1.0), (way.to, 1.0)] {
                if let Some(balance) = balance.get_mut(point) {
                    *balance += sign * channels;
                }
            }
            if let Some((kind, most)) = way.limit
                && f64::from(most) < n_lines
            {
                let boxes = self.count(master, kind);
                self.rows.push(constraint!(Expression::from(channels) <= f64::from(most) * boxes));
            } else if let Some((kind, _)) = way.limit {
                let boxes = self.count(master, kind);
                self.rows.push(constraint!(Expression::from(channels) <= n_lines * boxes));
            }
            if way.per_cable > 0 {
                let most = (n_lines / f64::from(way.per_cable)).ceil();
                let n = self.variables.add(variable().integer().min(0.0).max(most));
                self.rows.push(constraint!(Expression::from(channels) <= f64::from(way.per_cable) * n));
                cables.insert(index, n);
            }
            if let Some(kind) = way.computer_of {
                to_computer.insert(kind, channels);
            }
        }
        for balance in balance.into_iter().skip(1) {
            self.rows.push(constraint!(balance == 0.0));
        }
        for ports in &market.ports {
            let used = ports.ways.iter().filter_map(|way| cables.get(way));
            let used = used.fold(Expression::from(0.0), |sum, n| sum + *n);
            let boxes = self.count(master, ports.kind);
            self.rows.push(constraint!(used <= f64::from(ports.count) * boxes));
        }
        for format in &market.formats {
            let sum = |ways: &[usize]| {
                ways.iter().filter_map(|way| cables.get(way)).fold(Expression::from(0.0), |sum, n| sum + *n)
            };
            self.rows.push(constraint!(sum(&format.begin) == sum(&format.end)));
        }
        for routes in &market.routes {
            let used = routes.ways.iter().filter_map(|way| on_way.get(*way));
            let used = used.fold(Expression::from(0.0), |sum, n| sum + *n);
            let boxes = self.count(master, routes.kind);
            self.rows.push(constraint!(used <= f64::from(routes.count) * boxes));
        }
        for supply in &market.supplies {
            if let Some(drawn) = drawn.remove(&supply.kind) {
                let boxes = self.count(master, supply.kind);
                self.rows.push(constraint!(drawn <= f64::from(supply.total) / 1e3 * boxes));
            }
        }
        for (device, taken) in taken {
            // Of those that are there, some are in use as it is; of those that are bought, none.
            let in_use = master.extension.in_use.get(device).copied().unwrap_or(0);
            let there = self.count(master, device) - f64::from(in_use);
            self.rows.push(constraint!(taken <= there));
        }
        self.exclusions(master, &to_computer, n_lines);
        score
    }

    /// Of boxes that can't be on one clock only one goes into the computer.
    fn exclusions(&mut self, master: &Master<'_>, to_computer: &HashMap<usize, Variable>, n_lines: f64) {
        let mut in_use: HashMap<usize, Variable> = HashMap::new();
        for (one, other) in &master.market.exclusive {
            for kind in [one, other] {
                if let (Some(channels), false) = (to_computer.get(kind), in_use.contains_key(kind)) {
                    let yes = self.variables.add(variable().binary());
                    self.rows.push(constraint!(Expression::from(*channels) <= n_lines * yes));
                    in_use.insert(*kind, yes);
                }
            }
            if one == other {
                // Only one of several equal ones.
                let of_one = master.market.ways.iter().find(|way| way.computer_of == Some(*one));
                if let (Some(channels), Some((_, most))) =
                    (to_computer.get(one), of_one.and_then(|way| way.limit))
                {
                    self.rows.push(constraint!(Expression::from(*channels) <= f64::from(most).min(n_lines)));
                }
            } else if let (Some(one), Some(other)) = (in_use.get(one), in_use.get(other)) {
                self.rows.push(constraint!(*one + *other <= 1.0));
            }
        }
    }
}
