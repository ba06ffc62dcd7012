//! What a patch breaks of the rules of plugging in, from the device files alone: inputs here, links and clocks in `joined`.

use gainsay_gear::microphone::{PhantomNeed, Transducer};
use gainsay_gear::{Device, DeviceType, FrontEnd};
use gainsay_plan::Case;
use gainsay_plan::case::{Pickup, Source};
use gainsay_plan::patch::{Input, Patch, Socket};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::RangeInclusive;

/// What an input takes; each sort has numbers of its own, from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Sort {
    Microphone,
    Line,
    Instrument,
}

/// A physical input: box, sort, number.
pub(crate) type Place = (usize, Sort, u32);

/// Everything that a patch breaks.
pub(crate) fn broken(case: &Case, patch: &Patch) -> Vec<String> {
    let mut check = Check { case, patch, broken: Vec::new() };
    check.inputs();
    check.pairs();
    check.ways();
    check.ports();
    check.clocks();
    check.nobody_waits_before_a_free_input();
    check.broken
}

pub(crate) struct Check<'a> {
    pub(crate) case: &'a Case,
    pub(crate) patch: &'a Patch,
    broken: Vec<String>,
}

pub(crate) fn count(group: Option<u32>) -> u32 {
    group.unwrap_or(1)
}

/// The groups of inputs of a sort: index among the microphone, or the line and instrument inputs of the device, and numbers.
fn groups(front_end: &FrontEnd, sort: Sort) -> Vec<(usize, RangeInclusive<u32>)> {
    let counts: Vec<(usize, u32)> = match sort {
        Sort::Microphone => {
            front_end.microphone_inputs.iter().map(|group| count(group.count)).enumerate().collect()
        }
        Sort::Line | Sort::Instrument => front_end
            .line_inputs
            .iter()
            .enumerate()
            .filter(|(_, group)| (group.instrument == Some(true)) == (sort == Sort::Instrument))
            .map(|(index, group)| (index, count(group.count)))
            .collect(),
    };
    let mut last = 0;
    let mut numbered = Vec::new();
    for (index, count) in counts {
        numbered.push((index, last + 1..=last + count));
        last += count;
    }
    numbered
}

fn group_of(front_end: &FrontEnd, sort: Sort, number: u32) -> Option<usize> {
    groups(front_end, sort).into_iter().find(|(_, numbers)| numbers.contains(&number)).map(|(index, _)| index)
}

/// The converter that an input of another sort and the same number may have as well: none where it has its own.
fn shared_converter(front_end: &FrontEnd, sort: Sort, number: u32) -> Option<u32> {
    let shares = |sort: Sort| {
        let group = group_of(front_end, sort, number).map(|group| &front_end.line_inputs[group]);
        group.is_some_and(|g| g.insert == Some(true) || g.shares_microphone_inputs == Some(true))
    };
    let does = match sort {
        Sort::Microphone => shares(Sort::Line) || shares(Sort::Instrument),
        line => shares(line),
    };
    (does && number <= front_end.n_microphone_inputs()).then_some(number)
}

fn needs_phantom(source: &Source) -> bool {
    let required =
        |device: &Device| device.microphone().is_some_and(|m| m.phantom == Some(PhantomNeed::Required));
    source.booster.is_some() || source.microphone().is_some_and(required)
}

fn is_line_source(source: &Source) -> bool {
    matches!(source.pickup, Pickup::Electrical { .. })
}

fn is_pickup(source: &Source) -> bool {
    source.microphone().and_then(Device::microphone).is_some_and(|m| m.transducer == Some(Transducer::Pickup))
}

pub(crate) fn place(input: &Input) -> Place {
    let sort = match &input.socket {
        Socket::Microphone(_) => Sort::Microphone,
        Socket::Line(group) if group.instrument == Some(true) => Sort::Instrument,
        Socket::Line(_) => Sort::Line,
    };
    (input.at, sort, input.number)
}

/// Whether two sources may be on one input.
fn take_turns(a: &Source, b: &Source) -> bool {
    a.turns.is_some()
        && a.turns == b.turns
        && a.microphone().map(|m| &m.name) == b.microphone().map(|m| &m.name)
        && a.booster.as_ref().map(|b| &b.name) == b.booster.as_ref().map(|b| &b.name)
}

impl Check<'_> {
    pub(crate) fn say(&mut self, what: String) {
        self.broken.push(what);
    }

    pub(crate) fn front_end(&self, at: usize) -> &FrontEnd {
        self.patch.boxes[at].front_end().unwrap()
    }

    pub(crate) fn rate(&self) -> f64 {
        self.case.session.sample_rate.value.hertz()
    }

    /// Sources that have an input.
    pub(crate) fn placed(&self) -> Vec<(usize, Source, Input)> {
        let inputs = self.case.sources.iter().zip(&self.patch.inputs).enumerate();
        inputs
            .filter_map(|(index, (source, input))| Some((index, source.clone(), input.clone().ok()?)))
            .collect()
    }

    /// No input twice; each of its kind, with phantom power where that is needed, and where it is wished.
    fn inputs(&mut self) {
        let mut taken: BTreeMap<Place, Vec<(usize, Source)>> = BTreeMap::new();
        for (index, source, input) in self.placed() {
            let name = &source.name;
            let front_end = self.front_end(input.at).clone();
            let (at, sort, number) = place(&input);
            match group_of(&front_end, sort, number) {
                None => self.say(format!("{name} is on input {number} of box {at}, which there is not")),
                Some(group) if sort == Sort::Microphone => {
                    let group = &front_end.microphone_inputs[group];
                    if needs_phantom(&source) && group.phantom != Some(true) {
                        self.say(format!("{name} needs phantom power and has none"));
                    }
                    if is_line_source(&source) {
                        self.say(format!("{name} is electrical, at a microphone input"));
                    }
                }
                Some(_) if !is_line_source(&source) && !is_pickup(&source) => {
                    self.say(format!("{name} is a microphone at a line input"));
                }
                Some(_) => {}
            }
            taken.entry((at, sort, number)).or_default().push((index, source.clone()));
            let sends = front_end.line_outputs.iter().any(|group| group.insert == Some(true));
            if !self.is_converting(at) && input.line.is_none() {
                self.say(format!("{name} is at preamp {at}, and no line input follows"));
            }
            if self.is_converting(at) && input.line.is_some() && !sends {
                self.say(format!("{name} goes on from box {at} to a line input, and it has no insert sends"));
            }
            if let Some(end) = &input.line {
                let suits = group_of(self.front_end(end.at), Sort::Line, end.number).is_some();
                if !suits {
                    self.say(format!(
                        "{name} goes on to input {} of box {}, no line input",
                        end.number, end.at
                    ));
                }
                taken.entry((end.at, Sort::Line, end.number)).or_default().push((index, source.clone()));
            }
            if let Some(pin) = &source.pin {
                let owned = &self.case.owned[pin.owned];
                let unit = &self.patch.boxes[at];
                let here = unit.device.id == owned.device.id
                    && pin.copy.is_none_or(|copy| unit.copy.unwrap_or(1) == copy)
                    && pin.number.is_none_or(|wish| wish == number);
                if !here {
                    self.say(format!("{name} is wished at {pin:?} and is on input {number} of box {at}"));
                }
            }
        }
        for (place, users) in &taken {
            let (_, first) = &users[0];
            if let Some((_, other)) = users.iter().skip(1).find(|(_, other)| !take_turns(first, other)) {
                self.say(format!("{} and {} are both at {place:?}", first.name, other.name));
            }
            let (at, sort, number) = *place;
            if shared_converter(self.front_end(at), sort, number).is_none() {
                continue;
            }
            for other in [Sort::Microphone, Sort::Line, Sort::Instrument] {
                let shares = other > sort && shared_converter(self.front_end(at), other, number).is_some();
                if shares && let Some(users) = taken.get(&(at, other, number)) {
                    let (_, beside) = &users[0];
                    self.say(format!("{} and {} share a converter at {place:?}", first.name, beside.name));
                }
            }
        }
        let used: BTreeSet<Place> = self.placed().iter().map(|(.., input)| place(input)).collect();
        if used.len() != self.patch.used as usize {
            self.say(format!("{} inputs are used, and {} counted", used.len(), self.patch.used));
        }
    }

    fn is_converting(&self, at: usize) -> bool {
        self.patch.boxes[at].device.device_type() != DeviceType::Preamp
    }

    /// The sides of a pair on equal inputs; side by side, where that is possible.
    fn pairs(&mut self) {
        let placed = self.placed();
        // Behind equal preamps the line inputs may differ, where no exchange brings them together: the patch sheet warns of it.
        let group = |input: &Input| {
            let (at, sort, number) = place(input);
            (at, sort, group_of(self.front_end(at), sort, number))
        };
        let mut broken = Vec::new();
        for (index, one, input) in &placed {
            for (other_index, other, beside) in &placed {
                if other_index <= index || one.pair.is_none() || one.pair != other.pair {
                    continue;
                }
                if group(input) != group(beside) {
                    broken.push(format!("{} and {} are a pair on unequal inputs", one.name, other.name));
                } else if input.number.abs_diff(beside.number) != 1
                    && self.has_room_for_pairs(&placed, place(input))
                {
                    broken.push(format!(
                        "{} and {} are a pair on inputs {} and {}, where neighbours are possible",
                        one.name, other.name, input.number, beside.number
                    ));
                }
            }
        }
        self.broken.extend(broken);
    }

    /// Whether all pairs in a group of inputs could be on neighbours, with all others and all pins in place.
    fn has_room_for_pairs(&self, placed: &[(usize, Source, Input)], (at, own, number): Place) -> bool {
        let front_end = self.front_end(at);
        let Some((_, numbers)) =
            groups(front_end, own).into_iter().find(|(_, numbers)| numbers.contains(&number))
        else {
            return false;
        };
        let here = |input: &Input| {
            let (there, sort, number) = place(input);
            there == at && sort == own && numbers.contains(&number)
        };
        let is_pinned = |source: &Source| source.pin.as_ref().is_some_and(|pin| pin.number.is_some());
        let pinned: BTreeSet<u32> = placed
            .iter()
            .filter(|(_, source, input)| is_pinned(source) && here(input))
            .map(|(.., i)| i.number)
            .collect();
        let by_other_sort: BTreeSet<u32> = placed
            .iter()
            .flat_map(|(_, _, input)| {
                let end = input.line.as_ref().map(|end| (end.at, Sort::Line, end.number));
                [Some(place(input)), end].into_iter().flatten()
            })
            .filter(|(there, sort, number)| {
                let shares = |sort| shared_converter(front_end, sort, *number).is_some();
                *there == at && *sort != own && shares(*sort) && shares(own)
            })
            .map(|(_, _, number)| number)
            .collect();
        let free = |number: &u32| !pinned.contains(number) && !by_other_sort.contains(number);
        let (mut run, mut neighbours, mut room) = (0, 0, 0);
        for number in numbers.clone() {
            if free(&number) {
                run += 1;
                room += 1;
                neighbours += usize::from(run % 2 == 0);
            } else {
                run = 0;
            }
        }
        let members: Vec<&Source> = placed
            .iter()
            .filter(|(_, source, input)| !is_pinned(source) && here(input))
            .map(|(_, source, _)| source)
            .collect();
        let distinct: BTreeSet<u32> = placed
            .iter()
            .filter(|(_, source, input)| !is_pinned(source) && here(input))
            .map(|(_, _, input)| input.number)
            .collect();
        let sides = members
            .iter()
            .filter(|a| a.pair.is_some() && members.iter().filter(|b| b.pair == a.pair).count() == 2)
            .count();
        neighbours >= sides / 2 && room >= distinct.len()
    }

    /// No source without wishes is left out while an interface in use has a free input of its kind and a channel for it.
    fn nobody_waits_before_a_free_input(&mut self) {
        let placed = self.placed();
        let out: Vec<&Source> = self
            .case
            .sources
            .iter()
            .zip(&self.patch.inputs)
            .filter(|(source, input)| input.is_err() && source.pin.is_none() && source.pair.is_none())
            .filter(|(source, _)| !is_line_source(source) && !is_pickup(source))
            .map(|(source, _)| source)
            .collect();
        for at in 0..self.patch.boxes.len() {
            let is_end = |input: &Input| {
                let begin = input.line.as_ref().map_or(input.at, |line| line.at);
                input.hops.last().map_or(begin, |hop| self.patch.links[hop.link].to) == at
            };
            let ends: BTreeSet<Place> = placed
                .iter()
                .filter(|(_, _, input)| is_end(input))
                .map(|(_, _, input)| place(input))
                .collect();
            let front_end = self.front_end(at).clone();
            let whole = &front_end.whole;
            // The least of what is stated: at any rate so many are free.
            let limits = [whole.computer_channels, whole.computer_channels_96, whole.computer_channels_192];
            let room = limits.iter().flatten().min().copied().unwrap_or(u32::MAX);
            if ends.is_empty() || ends.len() >= room as usize {
                continue;
            }
            let taken: BTreeSet<(Sort, u32)> = placed
                .iter()
                .flat_map(|(_, _, input)| {
                    let end = input.line.as_ref().map(|end| (end.at, Sort::Line, end.number));
                    [Some(place(input)), end].into_iter().flatten()
                })
                .filter(|(there, _, _)| *there == at)
                .map(|(_, sort, number)| (sort, number))
                .collect();
            for (group, numbers) in groups(&front_end, Sort::Microphone) {
                let group = &front_end.microphone_inputs[group];
                let free = numbers.clone().find(|number| {
                    let takes = |sort| {
                        let shares = shared_converter(&front_end, sort, *number).is_some();
                        shares && taken.contains(&(sort, *number))
                    };
                    !taken.contains(&(Sort::Microphone, *number))
                        && !takes(Sort::Line)
                        && !takes(Sort::Instrument)
                });
                let waits = out.iter().find(|source| !needs_phantom(source) || group.phantom == Some(true));
                if let (Some(number), Some(source)) = (free, waits) {
                    self.say(format!("{} is left out, and input {number} of box {at} is free", source.name));
                }
            }
        }
    }
}
