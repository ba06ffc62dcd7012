//! Ways out of clashes of clocks, for the search of the best allocation.
//!
//! What is in use counts in cables: of a digital connection how many, of the way into the computer one or none. Less in use never
//! makes a clash of clocks: a cable that carries no sound may still carry the clock, and so may a box without sound. So every
//! clash has a least part that clashes by itself, and each solution does with a cable less at one of the places of that part.
//! (A least infeasible set, found by leaving out one thing after the other; Chinneck and Dravnieks 1991, "Locating minimal
//! infeasible constraint sets in linear programs", call it a deletion filter.)

use super::allocation::WayOut;
use super::studio::{Studio, WireOf};
use super::synchronise::{clock_sources, synchronise};
use gainsay_gear::connection::ClockSource;
use std::collections::HashMap;

/// The clashes that were met so far: the search meets the same again and again.
pub(super) struct Clashes<'a, 'b> {
    studio: &'a Studio<'b>,
    /// Least clashes, in cables on each wire.
    least: Vec<Vec<u32>>,
    /// Answers by what is in use.
    answers: HashMap<Vec<u32>, Option<Vec<WayOut>>>,
}

impl<'a, 'b> Clashes<'a, 'b> {
    pub(super) fn new(studio: &'a Studio<'b>) -> Self {
        Self { studio, least: Vec::new(), answers: HashMap::new() }
    }

    /// Ways out of the clash of these channels on the wires, of which every solution takes at least one; none if all is well.
    pub(super) fn ways_out(&mut self, channels: &[u32]) -> Option<Vec<WayOut>> {
        let used = self.cables(channels);
        if let Some(known) = self.answers.get(&used) {
            return known.clone();
        }
        let ways = self.work_out(&used);
        self.answers.insert(used, ways.clone());
        ways
    }

    fn work_out(&mut self, used: &[u32]) -> Option<Vec<WayOut>> {
        if let Some(ways) = self.one_of_those_that_only_lead(used) {
            return Some(ways);
        }
        let is_part = |part: &&Vec<u32>| part.iter().zip(used).all(|(part, used)| part <= used);
        let places = |part: &&Vec<u32>| part.iter().filter(|cables| **cables > 0).count();
        if let Some(part) = self.least.iter().filter(is_part).min_by_key(places) {
            return Some(self.ways_out_of(part));
        }
        let part = self.least_part(used)?;
        let ways = self.ways_out_of(&part);
        self.least.push(part);
        Some(ways)
    }

    /// The least part of what is in use that clashes by itself.
    fn least_part(&self, used: &[u32]) -> Option<Vec<u32>> {
        let clash = self.clash(used)?;
        let mut part = used.to_vec();
        // First whatever has nothing to do with the reason that was found.
        let mut order: Vec<usize> = (0..part.len()).filter(|wire| !clash.contains(wire)).collect();
        let only: Vec<u32> =
            used.iter().enumerate().map(|(wire, n)| if clash.contains(&wire) { *n } else { 0 }).collect();
        if self.clash(&only).is_some() {
            part = only;
            order.clear();
        }
        order.extend(clash);
        for wire in order {
            let all = part.get(wire).copied().unwrap_or(0);
            for fewer in 0..all {
                if let Some(cables) = part.get_mut(wire) {
                    *cables = fewer;
                }
                if self.clash(&part).is_some() {
                    break;
                }
                if let Some(cables) = part.get_mut(wire) {
                    *cables = all;
                }
            }
        }
        Some(part)
    }

    /// The wires whose boxes clash, if so many cables are in use.
    fn clash(&self, used: &[u32]) -> Option<Vec<usize>> {
        let channels: Vec<u32> = used.iter().enumerate().map(|(wire, n)| n * self.per_cable(wire)).collect();
        synchronise(self.studio, &channels).err().map(|clash| clash.wires)
    }

    fn ways_out_of(&self, part: &[u32]) -> Vec<WayOut> {
        let places = part.iter().enumerate().filter(|(_, cables)| **cables > 0);
        places.map(|(wire, cables)| vec![(wire, (cables - 1) * self.per_cable(wire))]).collect()
    }

    /// Where no input converts the rate, of all boxes that can only lead at most one can be in use: all others go at once.
    fn one_of_those_that_only_lead(&self, used: &[u32]) -> Option<Vec<WayOut>> {
        let studio = self.studio;
        if studio.clock_leader().is_some()
            || studio.wires.iter().any(|wire| matches!(wire, WireOf::Digital(d) if d.converts_rate))
        {
            return None;
        }
        let wires_of = |at: usize| {
            studio.wires.iter().enumerate().filter_map(move |(index, wire)| match wire {
                WireOf::Computer(from) if *from == at => Some(index),
                WireOf::Digital(digital) if digital.from == at || digital.to == at => Some(index),
                _ => None,
            })
        };
        let in_use = |at: usize| wires_of(at).any(|wire| used.get(wire).is_some_and(|n| *n > 0));
        let only_lead: Vec<usize> = (0..studio.boxes.len())
            .filter(|at| in_use(*at))
            .filter(|at| studio.front_end(*at).is_some_and(|f| clock_sources(f) == [ClockSource::Internal]))
            .collect();
        if only_lead.len() < 2 || self.clash(used).is_none() {
            return None;
        }
        let ways = only_lead.iter().map(|stays| {
            let others = only_lead.iter().filter(|other| *other != stays);
            others.flat_map(|other| wires_of(*other)).map(|wire| (wire, 0)).collect()
        });
        Some(ways.collect())
    }

    fn cables(&self, channels: &[u32]) -> Vec<u32> {
        let cables = |(wire, n): (usize, &u32)| match self.studio.wires.get(wire) {
            // What goes over an analogue cable has no clock.
            Some(WireOf::Analogue) | None => 0,
            Some(_) => n.div_ceil(self.per_cable(wire)),
        };
        channels.iter().enumerate().map(cables).collect()
    }

    /// Channels that count as one cable; a way into the computer is one whatever it carries.
    fn per_cable(&self, wire: usize) -> u32 {
        match self.studio.wires.get(wire) {
            Some(WireOf::Digital(digital)) => digital.per_cable.max(1),
            Some(WireOf::Computer(_) | WireOf::Analogue) | None => u32::MAX,
        }
    }
}
