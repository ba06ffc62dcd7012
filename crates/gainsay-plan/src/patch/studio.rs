//! The boxes of a case, the places where a line can begin and the wires from there to the computer, as an allocation problem.

use super::Unit;
use super::allocation::{
    Allocated, Allocation, Bundle, Choice, Line, Ports, Supply, Wire, most_units, solve_with,
};
use super::needs::{
    Need, Sort, channels_of, line_numbers, numbers, phantom_current, phantom_supply, phantom_supply_in_all,
    take_turns,
};
use super::synchronise::{Clash, Clocks, synchronise};
use super::variant::{Changeable, Variant};
use super::ways_out::Clashes;
use crate::case::{Case, Pin, Source, StatedLink, formats};
use crate::words;
use gainsay_gear::connection::DigitalFormat;
use gainsay_gear::front_end::{DigitalPorts, LineInputs};
use gainsay_gear::{Device, DeviceType, FrontEnd};
use gainsay_units::{Amperes, Hertz};
use std::collections::HashMap;
use std::ops::Range;
use std::sync::{Arc, LazyLock};

/// The point of an allocation that stands for the computer.
const COMPUTER: usize = 0;

/// What is left out of account, to find out what a studio lacks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Ease {
    /// Digital formats and the computer link carry what they do at 48 kHz, and every device runs at every rate.
    pub(super) rate: bool,
    /// Clocks.
    pub(super) clock: bool,
    /// Phantom power: whether an input has it, and how much.
    pub(super) phantom: bool,
    /// How many channels the computer takes.
    pub(super) computer: bool,
    /// Connections and inputs that the case settles.
    pub(super) wishes: bool,
}

/// Line inputs behind a preamp: the wire that leads there, and their box, group and numbers.
pub(super) type Landing = (usize, (usize, usize, Range<u32>));

/// A group of equal inputs where a line can begin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Place {
    /// Index of the box.
    pub(super) at: usize,
    pub(super) sort: Sort,
    /// Index of the group among those of its sort.
    pub(super) group: usize,
    /// Numbers of its inputs, from 1.
    pub(super) numbers: Range<u32>,
    /// The line inputs that a preamp's output goes into: box, group, numbers.
    pub(super) into: Option<(usize, usize, Range<u32>)>,
    /// All line inputs that a preamp's output could go into, with the wires that lead there.
    pub(super) landings: Vec<Landing>,
    /// Its point in the allocation.
    pub(super) point: usize,
    /// The wire that leads from there.
    pub(super) wire: usize,
}

/// What a point of the allocation stands for: the same in each of several equal boxes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum Spot {
    /// The computer.
    Computer,
    /// Behind a box's converters.
    Behind,
    /// Before the converters that line and microphone inputs share.
    Pool,
    /// Before the pool, where a group of line inputs shares it.
    Shared(usize),
    /// A group of inputs.
    Inputs(Sort, usize),
    /// A group of digital outputs.
    Outputs(usize),
    /// A group of inputs that goes on as it is, by analogue outputs.
    Through(usize),
    /// Those outputs.
    Analogue(usize),
}

/// Whose ports or currents a constraint of the allocation is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum LimitOf {
    /// The phantom supply of a box.
    Supply(usize),
    /// How many there are of an owned microphone or booster.
    Resource(usize),
}

/// A line at equal places: line, owned device, sort and group of inputs, and whether it goes on by an analogue output.
pub(super) type PlaceOfLine = (usize, usize, Sort, usize, bool);

/// What a wire of the allocation stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum WireOf {
    /// Inside a box, or from a preamp to a line input.
    Analogue,
    /// A box to the computer.
    Computer(usize),
    /// A digital connection.
    Digital(Digital),
}

/// A digital connection that could be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Digital {
    pub(super) from: usize,
    pub(super) output_group: usize,
    pub(super) to: usize,
    pub(super) input_group: usize,
    pub(super) format: DigitalFormat,
    pub(super) per_cable: u32,
    pub(super) converts_rate: bool,
}

/// The boxes of a case with everything that could be plugged.
#[derive(Debug)]
pub(super) struct Studio<'a> {
    pub(super) case: &'a Case,
    pub(super) rate: Hertz,
    ease: Ease,
    /// The sources of each line, in the order of the case.
    pub(super) lines: Vec<Vec<usize>>,
    pub(super) boxes: Vec<Unit>,
    /// Index of each box's device among the owned ones.
    owned: Vec<usize>,
    /// For each owned device the first one that is the same.
    same: Vec<usize>,
    pub(super) places: Vec<Place>,
    pub(super) wires: Vec<WireOf>,
    /// For each choice of the allocation its place.
    pub(super) place_of: Vec<usize>,
    /// What is up for change.
    changeable: &'a Changeable<'a>,
    /// For each choice of the allocation the variant that it is of, if any.
    pub(super) variant_of: Vec<Option<usize>>,
    pub(super) allocation: Allocation,
    /// Boxes that don't run at the sample rate.
    pub(super) stopped: Vec<usize>,
    /// For each point of the allocation its box and what it stands for.
    pub(super) spots: Vec<(usize, Spot)>,
    /// For each port constraint of insert sends and preamps the box that it is about; none of digital ports.
    pub(super) routes_of: Vec<Option<usize>>,
    /// For each supply of the allocation what it is about.
    pub(super) limits_of: Vec<LimitOf>,
}

/// For each owned device the first one that is the same.
fn same_devices(case: &Case) -> Vec<usize> {
    let same = |index: usize, device: &Device| {
        let mut before = case.owned.iter().take(index);
        before.position(|other| other.device.name == device.name && *other.device == *device)
    };
    let owned = case.owned.iter().enumerate();
    owned.map(|(index, owned)| same(index, &owned.device).unwrap_or(index)).collect()
}

/// Nothing is up for change.
static AS_IT_IS: LazyLock<Changeable<'static>> = LazyLock::new(Changeable::default);

impl<'a> Studio<'a> {
    pub(super) fn new(case: &'a Case, ease: Ease) -> Self {
        Self::with_changes(case, ease, &AS_IT_IS)
    }

    /// The same where sources may be taken in other ways as well.
    pub(super) fn with_changes(case: &'a Case, ease: Ease, changeable: &'a Changeable<'a>) -> Self {
        let rate = if ease.rate { Hertz::new(48_000.0) } else { case.session.sample_rate.value };
        let mut studio = Self {
            case,
            rate,
            ease,
            lines: lines(case),
            boxes: Vec::new(),
            owned: Vec::new(),
            same: same_devices(case),
            places: Vec::new(),
            wires: Vec::new(),
            place_of: Vec::new(),
            changeable,
            variant_of: Vec::new(),
            allocation: Allocation { points: 1, ..Allocation::default() },
            stopped: Vec::new(),
            spots: vec![(usize::MAX, Spot::Computer)],
            routes_of: Vec::new(),
            limits_of: Vec::new(),
        };
        studio.add_boxes();
        let points = studio.add_converting_places();
        studio.add_links(&points);
        studio.add_preamps();
        // Places of the boxes that come first are taken first.
        studio.places.sort_by_key(|place| {
            (place.at, place.group, place.into.as_ref().map(|(at, group, _)| (*at, *group)))
        });
        let lines = studio.lines.clone();
        // Where some must be left out that are otherwise equal, the last are.
        let above_all_places = studio.places.len() + 1;
        studio.allocation.lines = lines
            .iter()
            .enumerate()
            .map(|(line, sources)| {
                let dispensable = sources.iter().filter(|source| is_dispensable(case, **source)).count();
                Line {
                    sources: (sources.len() - dispensable) as u32,
                    changes: dispensable as u32,
                    units: 1,
                    rank: (above_all_places * (lines.len() - line)) as u32,
                }
            })
            .collect();
        for (line, sources) in lines.iter().enumerate() {
            if let Some(source) = sources.first().and_then(|first| case.sources.get(*first)) {
                studio.add_choices(line, source, None);
            }
        }
        for (index, variant) in changeable.variants.iter().enumerate() {
            let there = changeable.wanted.has(index) && studio.has_spare(&variant.takes);
            if let Some(source) = variant.sources.first().filter(|_| there) {
                studio.add_choices(variant.line, source, Some(index));
            }
        }
        studio.add_supplies();
        studio.add_resources();
        studio.add_pairs();
        studio
    }

    pub(super) fn front_end(&self, at: usize) -> Option<&'a FrontEnd> {
        self.case.owned.get(*self.owned.get(at)?)?.device.front_end()
    }

    /// Index of a box's device among the owned ones.
    pub(super) fn owned_index(&self, at: usize) -> usize {
        self.owned.get(at).copied().unwrap_or(usize::MAX)
    }

    /// Index of the first owned device that is the same as a box's: what is owned, and may be had once more, is listed twice.
    pub(super) fn device_index(&self, at: usize) -> usize {
        let owned = self.owned_index(at);
        self.same.get(owned).copied().unwrap_or(owned)
    }

    /// Other ways of taking the sources of a line.
    pub(super) const fn variants(&self) -> &'a [Variant] {
        self.changeable.variants
    }

    fn point(&mut self, at: usize, spot: Spot) -> usize {
        self.spots.push((at, spot));
        self.allocation.points += 1;
        self.allocation.points - 1
    }

    fn wire(&mut self, from: usize, to: usize, channels: u32, per_cable: u32, of: WireOf) -> usize {
        self.allocation.wires.push(Wire { from, to, channels, per_cable, penalty: 0 });
        self.wires.push(of);
        self.wires.len() - 1
    }

    fn add_boxes(&mut self) {
        /// Boxes beyond this number are not looked at: nobody has as many, and a file may state any count.
        const MOST_BOXES: usize = 256;
        let front_ends = self.case.owned.iter().filter(|owned| owned.device.front_end().is_some());
        let names: Vec<&str> = front_ends.map(|owned| owned.device.name.as_str()).collect();
        for (index, owned) in self.case.owned.iter().enumerate() {
            let Some(front_end) = owned.device.front_end() else { continue };
            let device_type = owned.device.device_type();
            let runs = self.ease.rate || device_type == DeviceType::Preamp || front_end.runs_at(self.rate);
            let is_interface = device_type == DeviceType::Interface
                || device_type == DeviceType::Converter && front_end.whole.computer.is_some();
            for copy in 1..=owned.count {
                if self.boxes.len() >= MOST_BOXES {
                    return;
                }
                if !runs {
                    self.stopped.push(self.boxes.len());
                }
                self.owned.push(index);
                self.boxes.push(Unit {
                    short: words::short(&owned.device.name, names.iter().copied()),
                    device: Arc::clone(&owned.device),
                    copy: (owned.count > 1).then_some(copy),
                    is_interface,
                });
            }
        }
    }

    fn is_preamp(&self, at: usize) -> bool {
        self.boxes.get(at).is_some_and(|unit| unit.device.device_type() == DeviceType::Preamp)
    }

    fn runs(&self, at: usize) -> bool {
        !self.stopped.contains(&at)
    }

    /// Adds the inputs of interfaces and converters, and the computer links; gives the point behind each box's converters.
    fn add_converting_places(&mut self) -> Vec<Option<usize>> {
        let mut points = vec![None; self.boxes.len()];
        for at in 0..self.boxes.len() {
            let Some(front_end) = self.front_end(at) else { continue };
            if self.is_preamp(at) || !self.runs(at) {
                continue;
            }
            let behind = self.point(at, Spot::Behind);
            if let Some(point) = points.get_mut(at) {
                *point = Some(behind);
            }
            if self.boxes.get(at).is_some_and(|unit| unit.is_interface) {
                let channels =
                    if self.ease.computer { u32::MAX } else { channels_to_computer(front_end, self.rate) };
                self.wire(behind, COMPUTER, channels, 0, WireOf::Computer(at));
            }
            // Line inputs that share converters with the microphone inputs go through a pool of as many channels. Groups of
            // them that share converters among themselves go through a chain: no more than its last number from each.
            let pool = if front_end.line_inputs.iter().any(shares) {
                let pool = self.point(at, Spot::Pool);
                self.wire(pool, behind, front_end.n_microphone_inputs(), 0, WireOf::Analogue);
                pool
            } else {
                behind
            };
            let counts = front_end.microphone_inputs.iter().map(|group| group.count);
            for (group, numbers) in numbers(counts).enumerate() {
                self.add_place(at, Sort::Microphone, group, numbers, pool);
            }
            let groups = line_numbers(front_end).into_iter().enumerate().zip(&front_end.line_inputs);
            let mut shared: Vec<(usize, Range<u32>)> = Vec::new();
            for ((group, numbers), inputs) in groups {
                if shares(inputs) {
                    shared.push((group, numbers));
                } else {
                    self.add_place(at, Sort::Line, group, numbers, behind);
                }
            }
            shared.sort_by_key(|(group, numbers)| (numbers.end, *group));
            let mut chain = None;
            for (group, numbers) in shared {
                let next = self.point(at, Spot::Shared(group));
                if let Some((before, most)) = chain {
                    self.wire(before, next, most, 0, WireOf::Analogue);
                }
                chain = Some((next, numbers.end - 1));
                self.add_place(at, Sort::Line, group, numbers, next);
            }
            if let Some((last, most)) = chain {
                self.wire(last, pool, most, 0, WireOf::Analogue);
            }
        }
        points
    }

    fn add_place(&mut self, at: usize, sort: Sort, group: usize, numbers: Range<u32>, to: usize) {
        let point = self.point(at, Spot::Inputs(sort, group));
        let wire = self.wire(point, to, numbers.end - numbers.start, 0, WireOf::Analogue);
        self.places.push(Place { at, sort, group, numbers, into: None, landings: Vec::new(), point, wire });
    }

    /// Whether a connection is in keeping with those that the case settles: a device with settled ones is connected nowhere else.
    fn may_link(&self, from: usize, to: usize, format: Option<DigitalFormat>) -> bool {
        let (Some(from), Some(to)) = (self.owned.get(from), self.owned.get(to)) else { return false };
        let of_sender = || self.case.links.iter().filter(|link| link.from == *from);
        let allows = |link: &StatedLink| {
            link.to == *to && (link.format.is_none() || format.is_none() || link.format == format)
        };
        self.ease.wishes || of_sender().next().is_none() || of_sender().any(allows)
    }

    /// Adds every digital connection that could be made into a box that reaches the computer.
    fn add_links(&mut self, points: &[Option<usize>]) {
        let mut outputs: HashMap<(usize, usize), Vec<(usize, u32)>> = HashMap::new();
        let mut inputs: HashMap<(usize, usize), Vec<(usize, u32)>> = HashMap::new();
        let mut sending: HashMap<(usize, usize), (usize, usize)> = HashMap::new();
        for from in 0..self.boxes.len() {
            for to in 0..self.boxes.len() {
                let (Some(Some(begin)), Some(Some(end))) = (points.get(from), points.get(to)) else {
                    continue;
                };
                let receives = self.boxes.get(to).is_some_and(|unit| unit.is_interface);
                let (Some(sender), Some(receiver)) = (self.front_end(from), self.front_end(to)) else {
                    continue;
                };
                if from == to || !receives {
                    continue;
                }
                for (output_group, output) in sender.digital_outputs.iter().enumerate() {
                    for (input_group, input) in receiver.digital_inputs.iter().enumerate() {
                        for format in formats(output).filter(|format| formats(input).any(|f| f == *format)) {
                            let per = channels_of(output, format, self.rate)
                                .min(channels_of(input, format, self.rate));
                            if per == 0 || !self.may_link(from, to, Some(format)) {
                                continue;
                            }
                            let cables = ports(output).min(ports(input));
                            let digital = Digital {
                                from,
                                output_group,
                                to,
                                input_group,
                                format,
                                per_cable: per,
                                converts_rate: input.sample_rate_converter == Some(true),
                            };
                            let channels = per.saturating_mul(cables);
                            // All cables of a group of outputs begin behind one wire.
                            let begin = match sending.get(&(from, output_group)) {
                                Some((_, point)) => *point,
                                None => {
                                    let point = self.point(from, Spot::Outputs(output_group));
                                    let wire = self.wire(*begin, point, u32::MAX, 0, WireOf::Analogue);
                                    sending.insert((from, output_group), (wire, point));
                                    point
                                }
                            };
                            let wire = self.wire(begin, *end, channels, per, WireOf::Digital(digital));
                            outputs.entry((from, output_group)).or_default().push((wire, per));
                            inputs.entry((to, input_group)).or_default().push((wire, per));
                        }
                    }
                }
            }
        }
        for (key, (through, _)) in &sending {
            let wires = outputs.get(key).cloned().unwrap_or_default();
            let per_cable = wires.iter().map(|(_, per)| *per).max().unwrap_or(1);
            let wires = wires.into_iter().map(|(wire, _)| wire).collect();
            self.allocation.bundles.push(Bundle { through: *through, per_cable, wires });
        }
        // The order of a hash map is not the same from run to run.
        self.allocation.bundles.sort_by_key(|bundle| bundle.through);
        let mut shared: Vec<Ports> = Vec::new();
        for (ports_of, sends) in [(outputs, true), (inputs, false)] {
            let mut all: Vec<_> = ports_of.into_iter().collect();
            all.sort_by_key(|(key, _)| *key);
            for ((at, group), wires) in all {
                let count = self.front_end(at).and_then(|front_end| {
                    let groups = if sends { &front_end.digital_outputs } else { &front_end.digital_inputs };
                    groups.get(group).map(ports)
                });
                // A single wire never takes more ports than there are at either end.
                if wires.len() > 1 {
                    shared.push(Ports { wires, count: count.unwrap_or(1) });
                }
            }
        }
        self.routes_of.extend(shared.iter().map(|_| None));
        self.allocation.ports.extend(shared);
    }

    /// Adds the analogue ways: preamps, and insert sends of other boxes, before every line input that could take their output.
    fn add_preamps(&mut self) {
        let places: Vec<Place> = self.places.clone();
        for at in 0..self.boxes.len() {
            let Some(front_end) = self.front_end(at) else { continue };
            let sends = insert_sends(front_end);
            if !self.is_preamp(at) && sends == 0 {
                continue;
            }
            let counts = front_end.microphone_inputs.iter().map(|group| group.count);
            let groups: Vec<Range<u32>> = numbers(counts).collect();
            let mut of_box: Vec<(usize, u32)> = Vec::new();
            for (group, mut numbers) in groups.into_iter().enumerate() {
                let inputs = numbers.end - numbers.start;
                // A box that converts can also send its inputs on as they are, as far as it has sends: it uses each input once.
                let own =
                    places.iter().find(|p| p.at == at && p.sort == Sort::Microphone && p.group == group);
                let mut routes: Vec<(usize, u32)> = own.map(|place| (place.wire, 1)).into_iter().collect();
                if !self.is_preamp(at) {
                    numbers.end = numbers.end.min(sends.saturating_add(1));
                }
                if numbers.is_empty() {
                    continue;
                }
                let count = numbers.end - numbers.start;
                let point = self.point(at, Spot::Through(group));
                let behind = self.point(at, Spot::Analogue(group));
                let through = self.wire(point, behind, count, 0, WireOf::Analogue);
                let mut landings = Vec::new();
                for landing in places.iter().filter(|place| place.sort == Sort::Line && place.at != at) {
                    let line = self.front_end(landing.at).and_then(|f| f.line_inputs.get(landing.group));
                    let takes = line.is_some_and(|line| line.instrument != Some(true));
                    if takes && self.may_link(at, landing.at, None) {
                        let wire = self.wire(behind, landing.point, count, 0, WireOf::Analogue);
                        landings.push((wire, (landing.at, landing.group, landing.numbers.clone())));
                    }
                }
                let Some((_, into)) = landings.first().cloned() else { continue };
                routes.push((through, 1));
                of_box.extend(
                    routes.iter().copied().filter(|(wire, _)| own.is_none_or(|place| place.wire != *wire)),
                );
                self.places.push(Place {
                    at,
                    sort: Sort::Microphone,
                    group,
                    numbers,
                    into: Some(into),
                    landings,
                    point,
                    wire: through,
                });
                if routes.len() > 1 {
                    self.routes_of.push(Some(at));
                    self.allocation.ports.push(Ports { wires: routes, count: inputs });
                }
            }
            if !self.is_preamp(at) && of_box.len() > 1 {
                self.routes_of.push(Some(at));
                self.allocation.ports.push(Ports { wires: of_box, count: sends });
            }
        }
    }

    /// Whether there are microphones and boosters for a variant, beyond those in use.
    fn has_spare(&self, takes: &[usize]) -> bool {
        takes.iter().all(|taken| {
            let there = self.case.owned.get(*taken).map_or(0, |owned| owned.count);
            let wanted = takes.iter().filter(|other| *other == taken).count() as u32;
            there >= wanted + self.changeable.in_use.get(*taken).copied().unwrap_or(0)
        })
    }

    /// Adds where a line can begin. Costs come later.
    fn add_choices(&mut self, line: usize, source: &Source, variant: Option<usize>) {
        let need = if self.ease.phantom { without_phantom(Need::of(source)) } else { Need::of(source) };
        let (least, _) = phantom_current(source);
        let mut choices = Vec::new();
        for (index, place) in self.places.iter().enumerate() {
            let Some(front_end) = self.front_end(place.at) else { continue };
            let suits = need
                .groups(front_end)
                .iter()
                .any(|group| group.suits && group.sort == place.sort && group.index == place.group);
            let is_insert = place.sort == Sort::Line
                && front_end.line_inputs.get(place.group).is_some_and(|group| group.insert == Some(true));
            if !suits || is_insert || !self.fits_pin(source, place) {
                continue;
            }
            let starves = front_end
                .microphone_inputs
                .get(place.group)
                .and_then(phantom_supply)
                .is_some_and(|(_, most)| least > most);
            if place.sort == Sort::Microphone && starves && !self.ease.phantom {
                continue;
            }
            if variant.is_some_and(|v| !self.changeable.wanted.has_at(v, &self.place_of_line(line, place))) {
                continue;
            }
            choices.push(Choice {
                line,
                place: place.point,
                short: 0,
                tight: 0,
                changes: variant.and_then(|v| self.variants().get(v)).map_or(0, |v| v.changes),
                penalty: 0,
                cables: u32::from(place.into.is_some()),
                // Earlier lines at earlier places.
                rank: (index * (self.lines.len() - line)) as u32,
            });
            self.place_of.push(index);
            self.variant_of.push(variant);
        }
        self.allocation.choices.extend(choices);
    }

    /// A line at a place, or at one that is equal to it.
    pub(super) fn place_of_line(&self, line: usize, place: &Place) -> PlaceOfLine {
        (line, self.owned_index(place.at), place.sort, place.group, place.into.is_some())
    }

    fn fits_pin(&self, source: &Source, place: &Place) -> bool {
        let Some(Pin { owned, copy, number }) = &source.pin else { return true };
        let here = self.owned.get(place.at) == Some(owned)
            && copy.is_none_or(|copy| {
                self.boxes.get(place.at).is_some_and(|unit| unit.copy.unwrap_or(1) == copy)
            })
            && number.is_none_or(|number| place.numbers.contains(&number));
        here || self.ease.wishes
    }

    /// Adds the phantom supplies of devices that state what they give in all.
    fn add_supplies(&mut self) {
        if self.ease.phantom {
            return;
        }
        for at in 0..self.boxes.len() {
            let Some((_, total)) = self.front_end(at).and_then(phantom_supply_in_all) else { continue };
            let draws: Vec<(usize, u32)> = self
                .allocation
                .choices
                .iter()
                .zip(&self.place_of)
                .enumerate()
                .filter_map(|(index, (choice, place))| {
                    let place = self.places.get(*place)?;
                    let source = self.sources_of(index, choice.line).next()?;
                    let current = microamperes(phantom_current(source).0);
                    (place.at == at && place.sort == Sort::Microphone && current > 0)
                        .then_some((index, current))
                })
                .collect();
            self.limits_of.push(LimitOf::Supply(at));
            self.allocation.supplies.push(Supply { draws, total: microamperes(total) });
        }
    }

    /// The sources of a line as a choice takes them.
    pub(super) fn sources_of(&self, choice: usize, line: usize) -> impl Iterator<Item = &Source> {
        let variant = self.variant_of.get(choice).copied().flatten().and_then(|v| self.variants().get(v));
        let own = self.lines.get(line).filter(|_| variant.is_none()).into_iter().flatten();
        variant
            .into_iter()
            .flat_map(|variant| &variant.sources)
            .chain(own.filter_map(|index| self.case.sources.get(*index)))
    }

    /// Adds what there are only so many of: microphones and boosters that variants take.
    fn add_resources(&mut self) {
        for (index, owned) in self.case.owned.iter().enumerate() {
            let takes = self.variant_of.iter().enumerate().filter_map(|(choice, variant)| {
                let variant = self.variants().get((*variant)?)?;
                variant.takes.contains(&index).then_some((choice, 1))
            });
            let draws: Vec<(usize, u32)> = takes.collect();
            if !draws.is_empty() {
                let total =
                    owned.count.saturating_sub(self.changeable.in_use.get(index).copied().unwrap_or(0));
                self.limits_of.push(LimitOf::Resource(index));
                self.allocation.supplies.push(Supply { draws, total });
            }
        }
    }

    fn add_pairs(&mut self) {
        let word = |line: usize| {
            let source = self.case.sources.get(*self.lines.get(line)?.first()?)?;
            source.pair.as_deref()
        };
        let mut pairs = Vec::new();
        for a in 0..self.lines.len() {
            for b in a + 1..self.lines.len() {
                if word(a).is_some() && word(a) == word(b) {
                    pairs.push((a, b));
                }
            }
        }
        self.allocation.pairs = pairs;
    }

    /// Whether two points of the allocation are in one box.
    pub(super) fn same_box(&self, one: usize, other: usize) -> bool {
        self.spots.get(one).map(|(at, _)| at) == self.spots.get(other).map(|(at, _)| at)
    }

    /// Whether a signal gets from a box to the computer at all.
    pub(super) fn is_connected(&self, at: usize) -> bool {
        let analogue = self.is_preamp(at) || self.front_end(at).is_some_and(|f| insert_sends(f) > 0);
        if analogue
            && self.places.iter().any(|place| {
                place.at == at
                    && place.into.as_ref().is_some_and(|(into, ..)| *into != at && self.is_converted(*into))
            })
        {
            return true;
        }
        self.is_converted(at)
    }

    /// Whether what a box has converted gets to the computer.
    fn is_converted(&self, at: usize) -> bool {
        let to_computer = |wire: &WireOf| matches!(wire, WireOf::Computer(from) if *from == at);
        let digital = |wire: &WireOf| matches!(wire, WireOf::Digital(digital) if digital.from == at);
        self.runs(at) && self.wires.iter().any(|wire| to_computer(wire) || digital(wire))
    }

    /// Whether a group of line inputs shares converters.
    pub(super) fn shares(&self, at: usize, group: usize) -> bool {
        self.front_end(at).and_then(|f| f.line_inputs.get(group)).is_some_and(shares)
    }

    /// How many groups of line inputs share converters.
    pub(super) fn sharing_groups(&self, at: usize) -> usize {
        self.front_end(at).map_or(0, |f| f.line_inputs.iter().filter(|group| shares(group)).count())
    }

    /// Whether an input shares its converter with the input of the other sort that has the same number.
    pub(super) fn shares_converters(&self, at: usize, sort: Sort, number: u32) -> bool {
        let Some(front_end) = self.front_end(at) else { return false };
        let groups = front_end.line_inputs.iter().zip(line_numbers(front_end));
        let mut shared = groups.filter(|(group, _)| shares(group));
        match sort {
            Sort::Line => shared.any(|(_, numbers)| numbers.contains(&number)),
            Sort::Microphone => {
                shared.any(|(_, numbers)| numbers.contains(&number))
                    && number <= front_end.n_microphone_inputs()
            }
        }
    }

    /// The box that the case wants to lead the clock.
    pub(super) fn clock_leader(&self) -> Option<usize> {
        let wanted = self.case.clock.filter(|_| !self.ease.wishes)?;
        self.owned.iter().position(|owned| *owned == wanted)
    }

    /// The best allocation, and the clocks that go with it.
    pub(super) fn solve(&self) -> (Allocated, Clocks) {
        let mut clashes = Clashes::new(self);
        let allocated = solve_with(&self.allocation, &mut |channels| {
            if self.ease.clock { None } else { clashes.ways_out(channels) }
        });
        let clocks = synchronise(self, &allocated.channels).unwrap_or_default();
        (allocated, clocks)
    }

    /// Why boxes can't be on one clock if all these wires are in use.
    pub(super) fn clash(&self, channels: &[u32]) -> Option<Clash> {
        synchronise(self, channels).err()
    }
}

/// Sources that share an input, in the order of the case.
pub(crate) fn lines(case: &Case) -> Vec<Vec<usize>> {
    let mut lines: Vec<Vec<usize>> = Vec::new();
    for (index, source) in case.sources.iter().enumerate() {
        let shares = |line: &&mut Vec<usize>| {
            line.first()
                .and_then(|first| case.sources.get(*first))
                .is_some_and(|other| take_turns(source, other))
        };
        match lines.iter_mut().find(shares) {
            Some(line) => line.push(index),
            None => lines.push(vec![index]),
        }
    }
    lines
}

/// Whether the case can do without a source.
fn is_dispensable(case: &Case, source: usize) -> bool {
    case.sources.get(source).is_some_and(|source| source.dispensable)
}

/// How many of a microphone or a booster the sources use as they stand; those that take turns use one.
pub(crate) fn in_use(case: &Case, device: &gainsay_gear::Device) -> u32 {
    let uses = |line: &Vec<usize>| {
        line.first().and_then(|first| case.sources.get(*first)).is_some_and(|source| {
            source.microphone().is_some_and(|m| m.name == device.name)
                || source.booster.as_ref().is_some_and(|b| b.name == device.name)
        })
    };
    lines(case).iter().filter(|line| uses(line)).count() as u32
}

/// How many insert sends a box has.
pub(super) fn insert_sends(front_end: &FrontEnd) -> u32 {
    let sends = front_end.line_outputs.iter().filter(|group| group.insert == Some(true));
    sends.fold(0, |sum, group| sum.saturating_add(group.count.unwrap_or(1)))
}

/// Whether line inputs share converters with the microphone inputs of the same numbers.
fn shares(group: &LineInputs) -> bool {
    group.insert == Some(true) || group.shares_microphone_inputs == Some(true)
}

fn without_phantom(need: Need) -> Need {
    match need {
        Need::Microphone { .. } => Need::Microphone { phantom: false },
        other => other,
    }
}

fn ports(group: &DigitalPorts) -> u32 {
    group.count.unwrap_or(1)
}

/// Whole microamperes, which is far finer than any supply is known.
fn microamperes(current: Amperes) -> u32 {
    (current.amperes() * 1e6).round().clamp(0.0, f64::from(u32::MAX)) as u32
}

/// Channels that the computer link carries at a rate; as many as one likes where the file does not say.
fn channels_to_computer(front_end: &FrontEnd, rate: Hertz) -> u32 {
    let whole = &front_end.whole;
    let at_48 = whole.computer_channels.unwrap_or(u32::MAX);
    let at_96 = whole.computer_channels_96.unwrap_or(at_48);
    if rate.hertz() > 100_000.0 {
        whole.computer_channels_192.unwrap_or(at_96)
    } else if rate.hertz() > 50_000.0 {
        at_96
    } else {
        at_48
    }
}

/// The same as a limit that a file states, none where it states none.
pub(super) fn computer_channels(front_end: &FrontEnd, rate: Hertz) -> Option<u32> {
    Some(channels_to_computer(front_end, rate)).filter(|channels| *channels < u32::MAX)
}

/// Microphone inputs that could be used all at once, whatever they are used for.
pub(super) fn usable_microphone_inputs(studio: &Studio<'_>) -> u32 {
    let mut places: Vec<usize> = studio
        .places
        .iter()
        .filter(|place| place.sort == Sort::Microphone)
        .map(|place| place.point)
        .collect();
    places.sort_unstable();
    places.dedup();
    let choices = places.iter().map(|place| Choice {
        line: 0,
        place: *place,
        short: 0,
        tight: 0,
        changes: 0,
        penalty: 0,
        cables: 0,
        rank: 0,
    });
    let allocation = Allocation {
        // More inputs than any studio has, and few enough for the weights.
        lines: vec![Line { sources: 1, changes: 0, rank: 0, units: 1 << 20 }],
        choices: choices.collect(),
        supplies: Vec::new(),
        pairs: Vec::new(),
        ..studio.allocation.clone()
    };
    let mut clashes = Clashes::new(studio);
    most_units(&allocation, &mut |channels| clashes.ways_out(channels))
}
