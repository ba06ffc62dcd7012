//! Which source goes into which input: for each source, in the order of the case, the first suitable free one.

use crate::case::{Case, Owned, Pickup, Source};
use gainsay_gear::connection::DigitalFormat;
use gainsay_gear::front_end::{LineInputs, MicrophoneInputs};
use gainsay_gear::microphone::PhantomNeed;
use gainsay_gear::{Device, DeviceType, FrontEnd};
use gainsay_units::{Hertz, Ohms};
use std::sync::Arc;

/// Above this output resistance a source needs an instrument input rather than a line input (common practice).
const INSTRUMENT_SOURCE: Ohms = Ohms::new(2_000.0);

/// An input that a source uses.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// The device.
    pub device: Arc<Device>,
    /// Which of several equal devices, from 1; none if there is only one.
    pub copy: Option<u32>,
    /// Number of the input on the device among those of its kind, from 1.
    pub number: u32,
    /// What kind of input it is.
    pub socket: Socket,
    /// How its signal gets into the computer.
    pub route: Route,
}

/// A group of equal inputs on a front end.
#[derive(Debug, Clone, PartialEq)]
pub enum Socket {
    /// A microphone input.
    Microphone(MicrophoneInputs),
    /// A line or instrument input.
    Line(LineInputs),
}

/// How the signal of an input gets into the computer.
#[derive(Debug, Clone, PartialEq)]
pub enum Route {
    /// The device converts it and is the computer's own interface.
    Own,
    /// An analogue preamp, into a line input of another device.
    Line {
        /// The device with the line input.
        into: Arc<Device>,
        /// The line input's group.
        inputs: LineInputs,
        /// Number of the line input, from 1.
        number: u32,
    },
    /// Converted, then over a digital connection into another device.
    Digital {
        /// The device with the digital input.
        into: Arc<Device>,
        /// The format.
        format: DigitalFormat,
        /// Channel on that connection, from 1.
        channel: u32,
    },
}

/// What the inputs come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Patch {
    /// For each source of the case its input, or why there is none.
    pub inputs: Vec<Result<Input, NoInput>>,
    /// Microphone inputs that can be used at this sample rate.
    pub microphone_inputs: u32,
    /// Inputs that are used.
    pub used: u32,
    /// Inputs that are needed: sources that take turns at one microphone need one.
    pub needed: u32,
    /// Devices that can't be used, and why.
    pub unusable: Vec<Unusable>,
}

/// Why a source has no input.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoInput {
    /// All suitable inputs are taken.
    RunOut,
    /// There is none that supplies the phantom power that it needs.
    NoPhantom,
    /// There is no input of the kind that it needs at all.
    NoneOfItsKind,
}

/// A device that can't be used.
#[derive(Debug, Clone, PartialEq)]
pub struct Unusable {
    /// The device.
    pub device: Arc<Device>,
    /// Why.
    pub why: UnusableBecause,
}

/// Why a device can't be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnusableBecause {
    /// It does not run at the session's sample rate.
    SampleRate,
    /// It has no way into the computer: no interface has a free digital input of its format.
    NoDigitalInput,
    /// It is analogue, and no line input is there to take it.
    NoLineInput,
}

impl Input {
    /// The device's name and which input of it.
    #[must_use]
    pub fn words(&self) -> String {
        let copy = self.copy.map(|n| format!(" no. {n}")).unwrap_or_default();
        let kind = match &self.socket {
            Socket::Microphone(_) => "input",
            Socket::Line(group) if group.instrument == Some(true) => "instrument input",
            Socket::Line(_) => "line input",
        };
        format!("{}{copy}, {kind} {}", self.device.name, self.number)
    }
}

/// One physical box among the owned devices.
struct Unit<'a> {
    device: &'a Arc<Device>,
    front_end: &'a FrontEnd,
    copy: Option<u32>,
    usable: bool,
    /// Where its converted signals go, if not straight into the computer.
    link: Option<(Arc<Device>, DigitalFormat)>,
    /// Channels that the link still takes.
    link_left: u32,
    link_used: u32,
    /// Channels to the computer that are left.
    computer_left: u32,
    used_microphone: u32,
    used_line: Vec<bool>,
}

impl Unit<'_> {
    fn is_preamp(&self) -> bool {
        self.device.device_type() == DeviceType::Preamp
    }
}

/// Gives each source the first suitable free input.
#[must_use]
pub fn first_suitable(case: &Case) -> Patch {
    let rate = case.session.sample_rate.value;
    let mut unusable = Vec::new();
    let mut units = units(&case.owned, rate, &mut unusable);
    link(&mut units, rate, &mut unusable);
    let microphone_inputs = count_microphone_inputs(&units);

    let mut inputs: Vec<Result<Input, NoInput>> = Vec::with_capacity(case.sources.len());
    let mut used = 0;
    let mut needed = 0;
    for (index, source) in case.sources.iter().enumerate() {
        let shared = case
            .sources
            .iter()
            .zip(&inputs)
            .take(index)
            .find(|(other, _)| take_turns(source, other))
            .map(|(_, input)| input.clone());
        if let Some(input) = shared {
            inputs.push(input);
            continue;
        }
        needed += 1;
        let input = find(source, &mut units);
        used += u32::from(input.is_ok());
        inputs.push(input);
    }
    Patch { inputs, microphone_inputs, used, needed, unusable }
}

/// Whether two sources share a microphone and its input, because they are never at once.
fn take_turns(a: &Source, b: &Source) -> bool {
    let same_microphone = match (a.microphone(), b.microphone()) {
        (Some(a), Some(b)) => a.name == b.name,
        _ => false,
    };
    a.turns.is_some() && a.turns == b.turns && same_microphone && a.booster == b.booster
}

fn units<'a>(owned: &'a [Owned], rate: Hertz, unusable: &mut Vec<Unusable>) -> Vec<Unit<'a>> {
    let mut units = Vec::new();
    for Owned { device, count } in owned {
        let Some(front_end) = device.front_end() else { continue };
        let runs = front_end.runs_at(rate);
        if !runs {
            unusable.push(Unusable { device: Arc::clone(device), why: UnusableBecause::SampleRate });
        }
        let computer_left = channels_to_computer(front_end, rate);
        for copy in 1..=*count {
            units.push(Unit {
                device,
                front_end,
                copy: (*count > 1).then_some(copy),
                usable: runs && device.device_type() == DeviceType::Interface,
                link: None,
                link_left: 0,
                link_used: 0,
                computer_left,
                used_microphone: 0,
                used_line: front_end
                    .line_inputs
                    .iter()
                    .flat_map(|group| (0..group.count.unwrap_or(1)).map(|_| false))
                    .collect(),
            });
        }
    }
    units
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

/// Connects converters to interfaces, first come first served: each digital input port once.
fn link(units: &mut [Unit<'_>], rate: Hertz, unusable: &mut Vec<Unusable>) {
    // Free ports of the interfaces: which unit, its device, the formats that the port takes, its channel limit.
    let mut ports: Vec<(Arc<Device>, Vec<DigitalFormat>, Option<u32>)> = units
        .iter()
        .filter(|unit| unit.usable)
        .flat_map(|unit| {
            let device = unit.device;
            unit.front_end.digital_inputs.iter().flat_map(move |group| {
                let mut formats: Vec<DigitalFormat> = group.format.into_iter().collect();
                formats.extend(group.switchable_to.iter().flatten());
                (0..group.count.unwrap_or(1))
                    .map(move |_| (Arc::clone(device), formats.clone(), group.channels))
            })
        })
        .collect();
    for unit in units.iter_mut() {
        if unit.device.device_type() != DeviceType::Converter || !unit.front_end.runs_at(rate) {
            continue;
        }
        let outputs: Vec<DigitalFormat> = unit
            .front_end
            .digital_outputs
            .iter()
            .flat_map(|group| group.format.into_iter().chain(group.switchable_to.iter().flatten().copied()))
            .collect();
        let free = ports.iter().position(|(_, formats, _)| formats.iter().any(|f| outputs.contains(f)));
        match free {
            Some(at) => {
                let (device, formats, limit) = ports.remove(at);
                let Some(format) = formats.into_iter().find(|f| outputs.contains(f)) else { continue };
                let channels = format.channels_at(rate.hertz());
                unit.link_left = limit.map_or(channels, |limit| channels.min(limit));
                unit.link = Some((device, format));
                unit.usable = unit.link_left > 0;
            }
            None => unusable
                .push(Unusable { device: Arc::clone(unit.device), why: UnusableBecause::NoDigitalInput }),
        }
    }
    let line_input_is_free = units.iter().any(|unit| {
        unit.usable && unit.front_end.line_inputs.iter().any(|group| group.instrument != Some(true))
    });
    for unit in units.iter_mut().filter(|unit| unit.is_preamp()) {
        unit.usable = line_input_is_free;
        if !line_input_is_free {
            unusable.push(Unusable { device: Arc::clone(unit.device), why: UnusableBecause::NoLineInput });
        }
    }
}

/// Microphone inputs that could be used together: those of interfaces, of linked converters as far as the link carries them,
/// and of preamps as far as there are line inputs.
fn count_microphone_inputs(units: &[Unit<'_>]) -> u32 {
    let line: u32 = units
        .iter()
        .filter(|unit| unit.usable && !unit.is_preamp())
        .flat_map(|unit| &unit.front_end.line_inputs)
        .filter(|group| group.instrument != Some(true))
        .map(|group| group.count.unwrap_or(1))
        .sum();
    let mut own = 0;
    let mut preamps = 0;
    for unit in units.iter().filter(|unit| unit.usable) {
        let n = unit.front_end.n_microphone_inputs();
        if unit.is_preamp() {
            preamps += n;
        } else if unit.link.is_some() {
            own += n.min(unit.link_left);
        } else {
            own += n.min(unit.computer_left);
        }
    }
    own + preamps.min(line)
}

fn find(source: &Source, units: &mut [Unit<'_>]) -> Result<Input, NoInput> {
    match &source.pickup {
        Pickup::Acoustic { microphone, .. } => {
            let needs_phantom =
                microphone.microphone().is_some_and(|m| m.phantom == Some(PhantomNeed::Required))
                    || source.booster.is_some();
            find_microphone_input(needs_phantom, units)
        }
        Pickup::Electrical { impedance, .. } => find_line_input(impedance.value > INSTRUMENT_SOURCE, units),
    }
}

fn find_microphone_input(needs_phantom: bool, units: &mut [Unit<'_>]) -> Result<Input, NoInput> {
    let mut seen_any = false;
    let mut seen_suitable = false;
    for index in 0..units.len() {
        let Some(front_end) = units.get(index).filter(|unit| unit.usable).map(|unit| unit.front_end) else {
            continue;
        };
        let mut before = 0;
        for group in &front_end.microphone_inputs {
            let Some(unit) = units.get_mut(index) else { continue };
            let count = group.count.unwrap_or(1);
            let group_range = before..before + count;
            before += count;
            seen_any = true;
            if needs_phantom && group.phantom != Some(true) {
                continue;
            }
            seen_suitable = true;
            // Inputs are taken in order; those of a group without phantom power may have been passed over.
            let number = unit.used_microphone.max(group_range.start);
            if !group_range.contains(&number) {
                continue;
            }
            let (device, copy, group, is_preamp) =
                (Arc::clone(unit.device), unit.copy, group.clone(), unit.is_preamp());
            let route = if is_preamp {
                None
            } else {
                let Some(route) = take_channel(unit) else { continue };
                Some(route)
            };
            if route.is_some() {
                unit.used_microphone = number + 1;
            }
            let route = match route {
                Some(route) => route,
                None => {
                    let Some((into, inputs, line)) = take_line_input(false, units) else { continue };
                    if let Some(unit) = units.get_mut(index) {
                        unit.used_microphone = number + 1;
                    }
                    Route::Line { into, inputs, number: line }
                }
            };
            return Ok(Input { device, copy, number: number + 1, socket: Socket::Microphone(group), route });
        }
    }
    Err(match (seen_any, seen_suitable) {
        (false, _) => NoInput::NoneOfItsKind,
        (true, false) => NoInput::NoPhantom,
        (true, true) => NoInput::RunOut,
    })
}

/// A channel of the unit's way into the computer.
fn take_channel(unit: &mut Unit<'_>) -> Option<Route> {
    match &unit.link {
        Some((into, format)) => {
            if unit.link_used >= unit.link_left {
                return None;
            }
            unit.link_used += 1;
            Some(Route::Digital { into: Arc::clone(into), format: *format, channel: unit.link_used })
        }
        None => {
            unit.computer_left = unit.computer_left.checked_sub(1)?;
            Some(Route::Own)
        }
    }
}

fn find_line_input(instrument: bool, units: &mut [Unit<'_>]) -> Result<Input, NoInput> {
    let any = units.iter().any(|unit| {
        unit.usable && unit.front_end.line_inputs.iter().any(|g| (g.instrument == Some(true)) == instrument)
    });
    let Some((index, group, number)) = free_line_input(instrument, units) else {
        return Err(if any { NoInput::RunOut } else { NoInput::NoneOfItsKind });
    };
    let Some(unit) = units.get_mut(index) else { return Err(NoInput::RunOut) };
    let Some(route) = take_channel(unit) else { return Err(NoInput::RunOut) };
    if let Some(used) = unit.used_line.get_mut(number as usize) {
        *used = true;
    }
    Ok(Input {
        device: Arc::clone(unit.device),
        copy: unit.copy,
        number: number + 1,
        socket: Socket::Line(group),
        route,
    })
}

/// A free line input for a preamp's output: its device, group and number from 1.
fn take_line_input(instrument: bool, units: &mut [Unit<'_>]) -> Option<(Arc<Device>, LineInputs, u32)> {
    let (index, group, number) = free_line_input(instrument, units)?;
    let unit = units.get_mut(index)?;
    take_channel(unit)?;
    *unit.used_line.get_mut(number as usize)? = true;
    Some((Arc::clone(unit.device), group, number + 1))
}

fn free_line_input(instrument: bool, units: &[Unit<'_>]) -> Option<(usize, LineInputs, u32)> {
    for (index, unit) in units.iter().enumerate().filter(|(_, unit)| unit.usable && !unit.is_preamp()) {
        let has_channel =
            if unit.link.is_some() { unit.link_used < unit.link_left } else { unit.computer_left > 0 };
        let groups = unit
            .front_end
            .line_inputs
            .iter()
            .flat_map(|group| (0..group.count.unwrap_or(1)).map(move |_| group));
        for ((group, used), number) in groups.zip(&unit.used_line).zip(0..) {
            if has_channel && !used && (group.instrument == Some(true)) == instrument {
                return Some((index, group.clone(), number));
            }
        }
    }
    None
}
