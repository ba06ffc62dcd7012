//! From an allocation to the patch: numbers of inputs, channels of cables, and why the rest has none.

use super::allocation::Allocated;
use super::needs::{Need, Sort, phantom_current, phantom_supply};
use super::studio::{Place, Studio, WireOf};
use super::suitability::input;
use super::synchronise::Clocks;
use super::{
    Clock, ClockCable, Hop, Input, LineEnd, Link, NoInput, Patch, Socket, Unusable, UnusableBecause,
};
use crate::case::Case;
use gainsay_gear::DeviceType;
use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

pub(super) fn patch(case: &Case, studio: &Studio<'_>, allocated: &Allocated, clocks: Clocks) -> Patch {
    let links = Links::of(studio, &allocated.channels);
    let mut ways = Ways::of(studio, &allocated.channels);
    let mut numbers = Numbers::default();
    let places: Vec<Option<&Place>> =
        allocated.choices.iter().map(|choice| studio.places.get(*studio.place_of.get((*choice)?)?)).collect();
    let landed = landings(studio, allocated, &places);
    let places: Vec<Option<&Place>> = landed.iter().map(Option::as_ref).collect();
    numbers.reserve(case, studio, &places);
    let mut of_line: Vec<Result<Input, NoInput>> = Vec::with_capacity(places.len());
    for line in 0..places.len() {
        let place = places.get(line).copied().flatten();
        let taken = place.and_then(|place| numbers.input(studio, &places, line, place));
        of_line.push(taken.ok_or_else(|| why_not(case, studio, line)));
    }
    // Channels go by the order of the inputs, so that input 3 is channel 3 where that is possible.
    let mut order: Vec<usize> = (0..of_line.len()).collect();
    order.sort_by_key(|line| {
        of_line.get(*line).and_then(|input| input.as_ref().ok()).map(|i| {
            let end = i.line.as_ref().map_or((i.at, i.number), |line| (line.at, line.number));
            (end, matches!(i.socket, Socket::Line(_)) || i.line.is_some())
        })
    });
    for line in order {
        if let Some(Ok(input)) = of_line.get_mut(line) {
            let begin = input.line.as_ref().map_or(input.at, |line| line.at);
            input.hops = ways.take(studio, &links, begin, preferred_channel(studio, input));
        }
    }
    let mut inputs: Vec<Result<Input, NoInput>> = vec![Err(NoInput::RunOut); case.sources.len()];
    for (sources, input) in studio.lines.iter().zip(&of_line) {
        for source in sources {
            if let Some(place) = inputs.get_mut(*source) {
                place.clone_from(input);
            }
        }
    }
    let link_of_wire = |wire: usize| links.of_wire.get(&wire).copied();
    let clock_of = |clock: &Option<Clock>| -> Option<Clock> {
        Some(match clock.as_ref()? {
            Clock::Follows { from, source, by: ClockCable::Link(wire) } => {
                Clock::Follows { from: *from, source: *source, by: ClockCable::Link(link_of_wire(*wire)?) }
            }
            other => other.clone(),
        })
    };
    Patch {
        boxes: studio.boxes.clone(),
        used: of_line.iter().filter(|input| input.is_ok()).count() as u32,
        needed: of_line.len() as u32,
        inputs,
        clocks: clocks.of.iter().map(clock_of).collect(),
        converted: clocks.converted.iter().filter_map(|wire| link_of_wire(*wire)).collect(),
        links: links.all,
        microphone_inputs: 0,
        unusable: unusable(studio),
        missing: None,
        proven: allocated.proven,
    }
}

/// The place of every line with the line inputs that its preamp goes into, where several would do: as many of each as the
/// allocation has sent there. The sides of a pair go first, into the same line inputs where there is room for both.
fn landings(studio: &Studio<'_>, allocated: &Allocated, places: &[Option<&Place>]) -> Vec<Option<Place>> {
    let mut left: HashMap<usize, u32> = HashMap::new();
    for place in &studio.places {
        for (wire, _) in &place.landings {
            left.insert(*wire, allocated.channels.get(*wire).copied().unwrap_or(0));
        }
    }
    let place_of = |line: usize| places.get(line).copied().flatten();
    let pairs: Vec<(usize, usize)> = studio
        .allocation
        .pairs
        .iter()
        .copied()
        .filter(|(a, b)| place_of(*a).zip(place_of(*b)).is_some_and(|(one, other)| one.point == other.point))
        .collect();
    for place in pairs.iter().filter_map(|(a, _)| place_of(*a)) {
        make_room_for_two(studio, place, &mut left);
    }
    let mut landed: Vec<Option<Place>> = places.iter().map(|place| place.cloned()).collect();
    let mut land = |lines: &[usize]| -> bool {
        let first = lines.first().and_then(|line| landed.get(*line)).and_then(Option::as_ref);
        let landings = first.map(|place| place.landings.clone()).unwrap_or_default();
        let needed = lines.len() as u32;
        let room = landings.iter().find(|(wire, _)| left.get(wire).is_some_and(|n| *n >= needed));
        let Some((wire, into)) = room else { return false };
        if let Some(n) = left.get_mut(wire) {
            *n -= needed;
        }
        for line in lines {
            if let Some(Some(place)) = landed.get_mut(*line) {
                place.into = Some(into.clone());
            }
        }
        true
    };
    let mut done: Vec<usize> = Vec::new();
    for (a, b) in pairs {
        if land(&[a, b]) {
            done.extend([a, b]);
        }
    }
    for line in (0..places.len()).filter(|line| !done.contains(line)) {
        land(&[line]);
    }
    landed
}

/// Where a preamp's channels go one by one into different line inputs, brings two of them together: by an exchange with another
/// preamp's channel, where that costs no more.
fn make_room_for_two(studio: &Studio<'_>, place: &Place, left: &mut HashMap<usize, u32>) {
    let wires = &studio.allocation.wires;
    let penalty = |wire: usize| wires.get(wire).map_or(0, |wire| wire.penalty);
    let end = |wire: usize| wires.get(wire).map(|wire| wire.to);
    let has = |left: &HashMap<usize, u32>, wire: usize| left.get(&wire).copied().unwrap_or(0);
    if place.landings.iter().any(|(wire, _)| has(left, *wire) >= 2) {
        return;
    }
    let own: Vec<usize> =
        place.landings.iter().map(|(wire, _)| *wire).filter(|wire| has(left, *wire) > 0).collect();
    for goal in &own {
        for from in own.iter().filter(|from| *from != goal) {
            let exchange =
                studio.places.iter().filter(|other| other.point != place.point).find_map(|other| {
                    let to = |point: Option<usize>| {
                        other.landings.iter().map(|(wire, _)| *wire).find(|wire| end(*wire) == point)
                    };
                    let (there, back) = (to(end(*goal))?, to(end(*from))?);
                    let (before, after) = (penalty(*from) + penalty(there), penalty(*goal) + penalty(back));
                    (has(left, there) > 0 && after <= before).then_some((there, back))
                });
            if let Some((there, back)) = exchange {
                for (wire, more) in [(*from, false), (there, false), (*goal, true), (back, true)] {
                    let n = left.entry(wire).or_default();
                    *n = if more { *n + 1 } else { n.saturating_sub(1) };
                }
                return;
            }
        }
    }
}

/// The links of a patch, and which wire each of them is.
struct Links {
    all: Vec<Link>,
    of_wire: HashMap<usize, usize>,
}

impl Links {
    fn of(studio: &Studio<'_>, channels: &[u32]) -> Self {
        let mut links = Self { all: Vec::new(), of_wire: HashMap::new() };
        for (wire, (of, channels)) in studio.wires.iter().zip(channels).enumerate() {
            if let (WireOf::Digital(d), true) = (of, *channels > 0) {
                links.of_wire.insert(wire, links.all.len());
                links.all.push(Link {
                    from: d.from,
                    output_group: d.output_group,
                    to: d.to,
                    input_group: d.input_group,
                    format: d.format,
                    channels_per_cable: d.per_cable,
                    channels: *channels,
                    converts_rate: d.converts_rate,
                });
            }
        }
        links
    }
}

/// Where the channels of each box go on to, with how many are left on each way.
struct Ways {
    /// For each box its ways: a wire, or none to the computer; and the channels left.
    of_box: Vec<Vec<(Option<usize>, u32)>>,
    /// Channels taken on each wire.
    taken: HashMap<usize, Vec<u32>>,
}

impl Ways {
    fn of(studio: &Studio<'_>, channels: &[u32]) -> Self {
        let mut of_box = vec![Vec::new(); studio.boxes.len()];
        for (wire, (of, channels)) in studio.wires.iter().zip(channels).enumerate() {
            let (at, way) = match of {
                WireOf::Computer(at) => (*at, None),
                WireOf::Digital(digital) => (digital.from, Some(wire)),
                WireOf::Analogue => continue,
            };
            if let Some(ways) = of_box.get_mut(at)
                && *channels > 0
            {
                ways.push((way, *channels));
            }
        }
        Self { of_box, taken: HashMap::new() }
    }

    /// Takes a channel all the way from a box to the computer.
    fn take(&mut self, studio: &Studio<'_>, links: &Links, begin: usize, preferred: Option<u32>) -> Vec<Hop> {
        let mut hops = Vec::new();
        let mut at = begin;
        // No way is longer than there are boxes.
        for _ in 0..studio.boxes.len() {
            let Some(way) =
                self.of_box.get_mut(at).and_then(|ways| ways.iter_mut().find(|(_, left)| *left > 0))
            else {
                break;
            };
            way.1 -= 1;
            let Some(wire) = way.0 else { break };
            let Some(WireOf::Digital(digital)) = studio.wires.get(wire) else { break };
            let taken = self.taken.entry(wire).or_default();
            let wished = preferred.filter(|_| hops.is_empty());
            let channel = wished
                .filter(|n| !taken.contains(n))
                .or_else(|| (1..).find(|n| !taken.contains(n)))
                .unwrap_or(1);
            taken.push(channel);
            let per = digital.per_cable.max(1);
            let Some(into) = studio.boxes.get(digital.to) else { break };
            hops.push(Hop {
                link: links.of_wire.get(&wire).copied().unwrap_or(0),
                into: Arc::clone(&into.device),
                format: digital.format,
                cable: (channel - 1) / per + 1,
                channel: (channel - 1) % per + 1,
            });
            at = digital.to;
        }
        hops
    }
}

/// In a box whose outputs carry its inputs one to one, input 3 is channel 3.
fn preferred_channel(studio: &Studio<'_>, input: &Input) -> Option<u32> {
    let begin = input.line.as_ref().map_or(input.at, |line| line.at);
    let front_end = studio.front_end(begin)?;
    let one_sort = match (&input.line, &input.socket) {
        (None, Socket::Microphone(_)) => {
            front_end.line_inputs.iter().all(|group| group.instrument == Some(true))
        }
        _ => front_end.microphone_inputs.is_empty(),
    };
    let number = input.line.as_ref().map_or(input.number, |line| line.number);
    let out: u32 = studio
        .wires
        .iter()
        .filter_map(|wire| match wire {
            WireOf::Digital(digital) if digital.from == begin => Some(digital.per_cable),
            _ => None,
        })
        .max()?;
    (one_sort && number <= out).then_some(number)
}

/// Which inputs of each group are taken.
#[derive(Default)]
struct Numbers {
    /// By box, sort and group.
    taken: HashMap<(usize, Sort, usize), Vec<u32>>,
    /// Numbers that sources have to be on, or that a pair has been promised.
    reserved: HashMap<usize, u32>,
}

impl Numbers {
    fn reserve(&mut self, case: &Case, studio: &Studio<'_>, places: &[Option<&Place>]) {
        for (line, place) in places.iter().enumerate() {
            let Some(place) = place else { continue };
            let source = studio.lines.get(line).and_then(|s| s.first()).and_then(|s| case.sources.get(*s));
            let number = source.and_then(|source| source.pin.as_ref()).and_then(|pin| pin.number);
            if let Some(number) = number.filter(|number| place.numbers.contains(number)) {
                self.reserved.insert(line, number);
                self.taken.entry((place.at, place.sort, place.group)).or_default().push(number);
            }
        }
    }

    /// Takes the input of a line at its place; the sides of a pair side by side, the first on an odd number.
    fn input(
        &mut self,
        studio: &Studio<'_>,
        places: &[Option<&Place>],
        line: usize,
        place: &Place,
    ) -> Option<Input> {
        let partner = studio.allocation.pairs.iter().find_map(|(a, b)| (*a == line).then_some(*b));
        let is_same = |other: usize| {
            places
                .get(other)
                .copied()
                .flatten()
                .is_some_and(|p| p.at == place.at && p.sort == place.sort && p.group == place.group)
        };
        let number = match (self.reserved.get(&line).copied(), partner.filter(|other| is_same(*other))) {
            (Some(number), _) => number,
            (None, Some(other)) if !self.reserved.contains_key(&other) => {
                let first = self.free_pair(studio, place);
                match first {
                    Some(first) => {
                        self.taken
                            .entry((place.at, place.sort, place.group))
                            .or_default()
                            .extend([first, first + 1]);
                        self.reserved.insert(other, first + 1);
                        first
                    }
                    None => self.next(studio, (place.at, place.sort, place.group), &place.numbers)?,
                }
            }
            (None, _) => self.next(studio, (place.at, place.sort, place.group), &place.numbers)?,
        };
        let mut input = input(studio, place)?;
        input.number = number;
        if let (Some(line), Some((at, group, range))) = (&mut input.line, &place.into) {
            line.number = self.next(studio, (*at, Sort::Line, *group), range)?;
        }
        Some(input)
    }

    /// Two free neighbours, the first of them odd if possible.
    fn free_pair(&self, studio: &Studio<'_>, place: &Place) -> Option<u32> {
        let free = |number: &u32| self.is_free(studio, (place.at, place.sort, place.group), *number);
        let pairs = || {
            place.numbers.clone().filter(|n| place.numbers.contains(&(n + 1)) && free(n) && free(&(n + 1)))
        };
        pairs().find(|n| n % 2 == 1).or_else(|| pairs().next())
    }

    fn is_free(&self, studio: &Studio<'_>, group: (usize, Sort, usize), number: u32) -> bool {
        let (at, sort, _) = group;
        let own = self.taken.get(&group).is_some_and(|taken| taken.contains(&number));
        // Inputs of one number that share a converter: of the microphone inputs, and of line inputs that share.
        let shared = studio.shares_converters(at, sort, number)
            && (sort == Sort::Microphone || studio.shares(at, group.2))
            && self.taken.iter().any(|((box_of, other, index), taken)| {
                *box_of == at
                    && (*other, *index) != (sort, group.2)
                    && (sort, *other) != (Sort::Microphone, Sort::Microphone)
                    && (*other == Sort::Microphone || studio.shares(at, *index))
                    && taken.contains(&number)
            });
        !own && !shared
    }

    /// Takes the first free input of a group. Microphone inputs that share a converter come last; where several groups of line
    /// inputs share converters, they are taken from the end, which leaves the first numbers to the smaller group.
    fn next(
        &mut self,
        studio: &Studio<'_>,
        group: (usize, Sort, usize),
        numbers: &Range<u32>,
    ) -> Option<u32> {
        let (at, sort, _) = group;
        let free = || numbers.clone().filter(|number| self.is_free(studio, group, *number));
        let number = match sort {
            Sort::Microphone => free()
                .find(|number| !studio.shares_converters(at, sort, *number))
                .or_else(|| free().next())?,
            Sort::Line if studio.shares(at, group.2) && studio.sharing_groups(at) > 1 => {
                free().next_back()?
            }
            Sort::Line => free().next()?,
        };
        self.taken.entry(group).or_default().push(number);
        Some(number)
    }
}

/// Why a line has no input.
fn why_not(case: &Case, studio: &Studio<'_>, line: usize) -> NoInput {
    let Some(source) = studio.lines.get(line).and_then(|s| s.first()).and_then(|s| case.sources.get(*s))
    else {
        return NoInput::RunOut;
    };
    let need = Need::of(source);
    let groups = || {
        (0..studio.boxes.len())
            .filter(|at| studio.is_connected(*at))
            .filter_map(|at| studio.front_end(at))
            .flat_map(|front_end| need.groups(front_end).into_iter().map(move |group| (front_end, group)))
    };
    if groups().next().is_none() {
        return NoInput::NoneOfItsKind;
    }
    let (least, _) = phantom_current(source);
    let feeds = groups().any(|(front_end, group)| {
        let supply = front_end.microphone_inputs.get(group.index).and_then(phantom_supply);
        group.suits && (group.sort == Sort::Line || supply.is_none_or(|(_, most)| least <= most))
    });
    if feeds { NoInput::RunOut } else { NoInput::NoPhantom }
}

fn unusable(studio: &Studio<'_>) -> Vec<Unusable> {
    let mut unusable: Vec<Unusable> = Vec::new();
    for (at, unit) in studio.boxes.iter().enumerate() {
        let why = if studio.stopped.contains(&at) {
            UnusableBecause::SampleRate
        } else if studio.is_connected(at) {
            continue;
        } else if unit.device.device_type() == DeviceType::Preamp {
            UnusableBecause::NoLineInput
        } else {
            UnusableBecause::NoDigitalInput
        };
        if !unusable.iter().any(|other| Arc::ptr_eq(&other.device, &unit.device)) {
            unusable.push(Unusable { device: Arc::clone(&unit.device), why });
        }
    }
    unusable
}

impl LineEnd {
    /// The device's name and which line input of it.
    #[must_use]
    pub fn words(&self) -> String {
        format!("{}, line input {}", self.device.name, self.number)
    }
}
