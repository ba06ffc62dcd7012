//! Which additions: the cheapest for every result that can be had.
//!
//! The master program proposes the cheapest additions that could do, as far as the market knows; the patch engine says what they
//! come to. Where that is less than was promised, no subset of those additions does better, which the program is told (a cut),
//! and it is asked again. What it proposes costs no more than the optimum, so the first proposal that keeps its promise is the
//! optimum (a decomposition after Benders, with the combinatorial cuts of Hooker and Ottosson 2003).

use super::extension::Extension;
use super::master::{Goal, Master, Tried, Unsolved};
use super::score::Score;
use crate::chain::MissingFigure;
use crate::patch::{Extended, Market, Solved};
use crate::price::Price;
use std::collections::HashMap;
use std::ops::ControlFlow;

/// How many sets of additions of one price are compared before the search takes the best so far.
const MOST_EQUALS: usize = 64;

/// How often the best score is corrected before the search takes the best so far.
const MOST_ROUNDS: usize = 200;

/// Additions, and what they come to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Found {
    /// How many there are of each owned device.
    pub(super) counts: Vec<u32>,
    pub(super) price: Price,
    pub(super) score: Score,
    pub(super) solved: Solved,
}

/// What a search has found.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Frontier {
    /// From the cheapest to the best, each dearer and better than the one before.
    pub(super) all: Vec<Found>,
    /// No additions come to a better score than this.
    pub(super) best_score: Score,
    /// And none that come to the best score that was found cost less than this.
    pub(super) least_price: Price,
    /// Whether everything is proven: that each is the cheapest for its score, and that the best of equals was taken.
    pub(super) proven: bool,
    /// Whether somebody stopped the search.
    pub(super) stopped: bool,
    /// Mixed-integer programs and patches that were solved.
    pub(super) programs: usize,
    pub(super) patches: usize,
}

/// Why a search ends without a result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum SearchError {
    Missing(MissingFigure),
    Unsolved(Unsolved),
}

impl From<MissingFigure> for SearchError {
    fn from(missing: MissingFigure) -> Self {
        Self::Missing(missing)
    }
}

impl From<Unsolved> for SearchError {
    fn from(unsolved: Unsolved) -> Self {
        Self::Unsolved(unsolved)
    }
}

pub(super) struct Search<'a, W> {
    extension: &'a Extension,
    master: Master<'a>,
    extended: Extended<'a>,
    tried: Vec<Tried>,
    known: HashMap<Vec<u32>, Found>,
    /// Is told the best found so far; says whether to go on.
    watch: W,
    best: Option<Found>,
    frontier: Frontier,
}

impl<'a, W: FnMut(&Found) -> ControlFlow<()>> Search<'a, W> {
    pub(super) fn new(
        extension: &'a Extension,
        market: &'a Market,
        extended: Extended<'a>,
        watch: W,
    ) -> Self {
        let budget = extension.case.additions.budget.map(Price::hundredths);
        Self {
            extension,
            master: Master::new(extension, market, budget),
            extended,
            tried: Vec::new(),
            known: HashMap::new(),
            watch,
            best: None,
            frontier: Frontier { proven: true, ..Frontier::default() },
        }
    }

    /// The frontier, and the engine for more questions.
    ///
    /// # Errors
    /// When a figure is missing, or a program can't be solved.
    pub(super) fn run(mut self) -> Result<(Frontier, Extended<'a>), SearchError> {
        let nothing = self.free_counts();
        let free = self.found(&nothing)?;
        self.frontier.all.push(free.clone());
        self.frontier.best_score = free.score;
        if free.score > Score::ENOUGH {
            match self.best_of_all(&free).and_then(|()| self.between()) {
                // Without the program nothing is proven, but much can be tried.
                Err(SearchError::Unsolved(_)) => self.by_trying(&nothing)?,
                other => other?,
            }
        }
        if self.frontier.stopped {
            self.frontier.proven = false;
        }
        Ok((self.frontier, self.extended))
    }

    /// What there is without paying.
    fn free_counts(&self) -> Vec<u32> {
        let gifts = self.extension.offers.iter().map(|offer| match offer {
            Some((price, most)) if *price == Price::NOTHING => *most,
            _ => 0,
        });
        self.extension.base.iter().zip(gifts).map(|(base, gift)| base + gift).collect()
    }

    /// What additions come to, exactly.
    fn found(&mut self, counts: &[u32]) -> Result<Found, MissingFigure> {
        if let Some(known) = self.known.get(counts) {
            return Ok(known.clone());
        }
        let solved = self.extended.solve(counts)?;
        self.frontier.patches += 1;
        self.frontier.proven &= solved.proven;
        let cost = solved.cost;
        let score = Score { left_out: cost.left_out, short: cost.short, tight: cost.tight };
        let found = Found { counts: counts.to_vec(), price: self.extension.price(counts), score, solved };
        self.known.insert(counts.to_vec(), found.clone());
        self.tried.push(Tried { counts: counts.to_vec(), score });
        if self.best.as_ref().is_none_or(|best| order(&found) < order(best)) {
            self.best = Some(found.clone());
        }
        if let Some(best) = &self.best
            && (self.watch)(best).is_break()
        {
            self.frontier.stopped = true;
        }
        Ok(found)
    }

    /// The best score that can be had, at its least price.
    fn best_of_all(&mut self, free: &Found) -> Result<(), SearchError> {
        let mut bound = free.score;
        for round in 0.. {
            if round == MOST_ROUNDS {
                self.frontier.proven = false;
                break;
            }
            self.frontier.programs += 1;
            let proposal = self.master.solve(Goal::Score, None, &self.tried, &[])?;
            let Some((counts, score)) = proposal.and_then(|p| Some((p.counts, p.score?))) else { break };
            bound = score.min(free.score);
            self.frontier.best_score = bound;
            if bound >= free.score || self.frontier.stopped {
                break;
            }
            if self.found(&counts)?.score <= bound {
                break;
            }
        }
        if bound < free.score
            && let Some(found) = self.cheapest(bound, None)?
        {
            let found = self.best_of_equals(found)?;
            self.frontier.least_price = found.price;
            self.frontier.best_score = found.score;
            self.frontier.all.push(found);
        } else if let Some(best) = self.best.clone().filter(|best| best.score < free.score) {
            self.frontier.all.push(best);
        }
        Ok(())
    }

    /// What can be found without the master program: at each step the one device more that helps most, or where none does the two
    /// that do; at the end without whatever is not needed. Nothing of it is proven.
    fn by_trying(&mut self, nothing: &[u32]) -> Result<(), SearchError> {
        self.frontier.proven = false;
        self.frontier.best_score = Score::ENOUGH;
        self.frontier.least_price = Price::NOTHING;
        let mut here = self.found(nothing)?;
        while here.score > Score::ENOUGH && !self.frontier.stopped {
            let mut next = self.best_with(&here, &[])?;
            if next.is_none() {
                for index in 0..here.counts.len() {
                    let with_two = self.best_with(&here, &[index])?;
                    next = [next, with_two].into_iter().flatten().min_by_key(order);
                }
            }
            match next {
                Some(found) => here = found,
                None => break,
            }
        }
        for index in 0..here.counts.len() {
            while let Some(without) = self.without(&here, index)? {
                here = without;
            }
        }
        let mut all: Vec<Found> = self.known.values().cloned().collect();
        all.sort_by_key(|found| (found.price, order(found)));
        self.frontier.all.clear();
        for found in all {
            if self.frontier.all.last().is_none_or(|last| found.score < last.score) {
                self.frontier.all.push(found);
            }
        }
        Ok(())
    }

    /// The best with one device more than this and these, if it is better than this; none costs more than there is.
    fn best_with(&mut self, here: &Found, these: &[usize]) -> Result<Option<Found>, MissingFigure> {
        let budget = self.extension.case.additions.budget;
        let mut best: Option<Found> = None;
        for index in 0..here.counts.len() {
            let mut counts = here.counts.clone();
            for more in these.iter().copied().chain([index]) {
                if let Some(count) = counts.get_mut(more) {
                    *count += 1;
                }
            }
            let limits = self.extension.offers.iter().zip(&self.extension.base);
            let is_to_be_had = counts
                .iter()
                .zip(limits)
                .all(|(count, (offer, base))| *count <= base + offer.map_or(0, |(_, most)| most));
            let is_affordable = budget.is_none_or(|budget| self.extension.price(&counts) <= budget);
            if self.frontier.stopped || !is_to_be_had || !is_affordable {
                continue;
            }
            let found = self.found(&counts)?;
            if found.score < here.score && best.as_ref().is_none_or(|best| order(&found) < order(best)) {
                best = Some(found);
            }
        }
        Ok(best)
    }

    /// With one of a device less, if that does as well for less money.
    fn without(&mut self, here: &Found, index: usize) -> Result<Option<Found>, MissingFigure> {
        let mut counts = here.counts.clone();
        let base = self.extension.base.get(index).copied().unwrap_or(0);
        match counts.get_mut(index) {
            Some(count) if *count > base && !self.frontier.stopped => *count -= 1,
            _ => return Ok(None),
        }
        let found = self.found(&counts)?;
        Ok((found.score <= here.score && found.price < here.price).then_some(found))
    }

    fn sources(&self) -> u32 {
        self.extension.case.sources.len() as u32
    }

    /// The cheapest additions with a score or a better one, for at most a price; none if there are none.
    fn cheapest(&mut self, wanted: Score, most: Option<Price>) -> Result<Option<Found>, SearchError> {
        loop {
            if self.frontier.stopped {
                return Ok(None);
            }
            self.frontier.programs += 1;
            let most = most.map(Price::hundredths);
            let Some(proposal) = self.master.solve(Goal::Cheapest(wanted), most, &self.tried, &[])? else {
                return Ok(None);
            };
            if wanted == self.frontier.best_score {
                self.frontier.least_price = self.extension.price(&proposal.counts);
            }
            let already = self.known.contains_key(&proposal.counts);
            let found = self.found(&proposal.counts)?;
            if found.score <= wanted {
                return Ok(Some(found));
            }
            if already {
                return Err(Unsolved("it proposes again what does not do".to_owned()).into());
            }
        }
    }

    /// Of all additions of the same price the best score, then the fewest changes, the least penalty, the fewest devices.
    fn best_of_equals(&mut self, found: Found) -> Result<Found, SearchError> {
        let mut best = found.clone();
        let mut seen = vec![found.counts.clone()];
        loop {
            if self.frontier.stopped {
                return Ok(best);
            }
            self.frontier.programs += 1;
            let most = Some(found.price.hundredths());
            let Some(next) = self.master.solve(Goal::Cheapest(best.score), most, &self.tried, &seen)? else {
                return Ok(best);
            };
            if seen.len() >= MOST_EQUALS {
                self.frontier.proven = false;
                return Ok(best);
            }
            let other = self.found(&next.counts)?;
            seen.push(next.counts);
            if order(&other) < order(&best) {
                best = other;
            }
        }
    }

    /// The cheaper and worse ones between nothing and the best.
    fn between(&mut self) -> Result<(), SearchError> {
        let (Some(free), Some(best)) =
            (self.frontier.all.first().cloned(), self.frontier.all.get(1).cloned())
        else {
            return Ok(());
        };
        let mut last = free;
        let mut between = Vec::new();
        while !self.frontier.stopped {
            let Some(wanted) = better(last.score, self.sources()) else { break };
            if wanted <= best.score {
                break;
            }
            let most = Price::of_hundredths(best.price.hundredths().saturating_sub(1));
            let Some(found) = self.cheapest(wanted, Some(most))? else { break };
            let found = self.best_of_equals(found)?;
            if found.score <= best.score {
                break;
            }
            between.push(found.clone());
            last = found;
        }
        self.frontier.all.splice(1..1, between);
        Ok(())
    }
}

/// The worst score that is better than another.
fn better(score: Score, sources: u32) -> Option<Score> {
    if score.tight > 0 {
        Some(Score { tight: score.tight - 1, ..score })
    } else if score.short > 0 {
        Some(Score { short: score.short - 1, tight: sources, ..score })
    } else if score.left_out > 0 {
        Some(Score { left_out: score.left_out - 1, short: sources, tight: sources })
    } else {
        None
    }
}

/// What counts, in its order.
pub(super) fn order(found: &Found) -> (Score, Price, u32, u64, u32, u32) {
    let cost = found.solved.cost;
    (found.score, found.price, cost.changes, cost.penalty, found.counts.iter().sum(), cost.cables)
}

#[cfg(test)]
mod tests;
