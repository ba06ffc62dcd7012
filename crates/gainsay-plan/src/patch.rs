//! Which source goes into which input: for each source, in the order of the case, the first suitable free one.

use crate::case::{Case, Owned, Pickup, Source};
use gainsay_gear::connection::DigitalFormat;
use gainsay_gear::front_end::{LineInputs, MicrophoneInputs};
use gainsay_gear::microphone::{PhantomNeed, Transducer};
use gainsay_gear::{Device, DeviceType, FrontEnd, Microphone};
use gainsay_units::{Hertz, Ohms, Stated};
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
    Microphone(Arc<MicrophoneInputs>),
    /// A line or instrument input.
    Line(Arc<LineInputs>),
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
        inputs: Arc<LineInputs>,
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
    link: Option<Link>,
    /// Channels that the link still takes.
    link_left: u32,
    link_used: u32,
    /// Channels to the computer that are left.
    computer_left: u32,
    /// Numbers of the inputs that are taken, from 0.
    used_microphone: Vec<u32>,
    used_line: Vec<u32>,
}

/// A digital connection into an interface.
struct Link {
    /// Index of the interface among the units.
    unit: usize,
    into: Arc<Device>,
    format: DigitalFormat,
}

/// A free digital input of an interface.
struct Port {
    /// Index of the interface among the units.
    unit: usize,
    device: Arc<Device>,
    /// The formats that it takes.
    formats: Vec<DigitalFormat>,
    /// Its channels, where they are fewer than its format allows.
    channels: Option<u32>,
}

impl Unit<'_> {
    fn is_preamp(&self) -> bool {
        self.device.device_type() == DeviceType::Preamp
    }

    fn n_microphone_inputs(&self) -> u32 {
        add_up(self.front_end.microphone_inputs.iter().map(|group| group.count.unwrap_or(1)))
    }

    /// Line inputs that a preamp's output may use.
    fn n_line_inputs(&self) -> u32 {
        let groups = self.front_end.line_inputs.iter().filter(|group| group.instrument != Some(true));
        add_up(groups.map(|group| group.count.unwrap_or(1)))
    }
}

/// A sum that stays at the largest number instead of passing it: a file may state any count.
fn add_up(counts: impl Iterator<Item = u32>) -> u32 {
    counts.fold(0, u32::saturating_add)
}

/// The first number of a group of inputs that is not taken.
fn first_free(mut numbers: std::ops::Range<u32>, taken: &[u32]) -> Option<u32> {
    numbers.find(|number| !taken.contains(number))
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
                used_microphone: Vec::new(),
                used_line: Vec::new(),
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
    let mut ports: Vec<Port> = units
        .iter()
        .enumerate()
        .filter(|(_, unit)| unit.usable)
        .flat_map(|(index, unit)| {
            let device = unit.device;
            unit.front_end.digital_inputs.iter().flat_map(move |group| {
                let mut formats: Vec<DigitalFormat> = group.format.into_iter().collect();
                formats.extend(group.switchable_to.iter().flatten());
                (0..group.count.unwrap_or(1)).map(move |_| Port {
                    unit: index,
                    device: Arc::clone(device),
                    formats: formats.clone(),
                    channels: group.channels,
                })
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
        let free = ports.iter().position(|port| port.formats.iter().any(|f| outputs.contains(f)));
        match free {
            Some(at) => {
                let port = ports.remove(at);
                let Some(format) = port.formats.into_iter().find(|f| outputs.contains(f)) else { continue };
                let channels = format.channels_at(rate.hertz());
                unit.link_left = port.channels.map_or(channels, |limit| channels.min(limit));
                unit.link = Some(Link { unit: port.unit, into: port.device, format });
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
/// and of preamps as far as there are line inputs; all of them as far as the interface's way into the computer takes them.
fn count_microphone_inputs(units: &[Unit<'_>]) -> u32 {
    let mut own: u32 = 0;
    let mut line: u32 = 0;
    for (index, interface) in units.iter().enumerate().filter(|(_, unit)| unit.usable && !unit.is_preamp()) {
        if interface.link.is_some() {
            continue;
        }
        let (mut microphones, mut lines) = (interface.n_microphone_inputs(), interface.n_line_inputs());
        let linked = units
            .iter()
            .filter(|unit| unit.usable && unit.link.as_ref().is_some_and(|link| link.unit == index));
        for converter in linked {
            let carried = converter.n_microphone_inputs().min(converter.link_left);
            microphones = microphones.saturating_add(carried);
            lines = lines.saturating_add(converter.n_line_inputs().min(converter.link_left - carried));
        }
        let taken = microphones.min(interface.computer_left);
        own = own.saturating_add(taken);
        line = line.saturating_add(lines.min(interface.computer_left - taken));
    }
    let preamps =
        add_up(units.iter().filter(|unit| unit.usable && unit.is_preamp()).map(Unit::n_microphone_inputs));
    own.saturating_add(preamps.min(line))
}

fn find(source: &Source, units: &mut [Unit<'_>]) -> Result<Input, NoInput> {
    match &source.pickup {
        Pickup::Acoustic { microphone, .. } => {
            let needs_phantom =
                microphone.microphone().is_some_and(|m| m.phantom == Some(PhantomNeed::Required))
                    || source.booster.is_some();
            // A pickup of high impedance belongs into an instrument input, where there is one.
            let pickup = microphone.microphone().is_some_and(is_high_impedance_pickup);
            if pickup && source.booster.is_none() {
                find_line_input(true, units).or_else(|_| find_microphone_input(needs_phantom, units))
            } else {
                find_microphone_input(needs_phantom, units)
            }
        }
        Pickup::Electrical { impedance, .. } => find_line_input(impedance.value > INSTRUMENT_SOURCE, units),
    }
}

fn is_high_impedance_pickup(microphone: &Microphone) -> bool {
    let impedance = microphone.impedance.as_ref().and_then(Stated::figure).map(|figure| figure.value);
    microphone.transducer == Some(Transducer::Pickup) && impedance.is_some_and(|z| z > INSTRUMENT_SOURCE)
}

fn find_microphone_input(needs_phantom: bool, units: &mut [Unit<'_>]) -> Result<Input, NoInput> {
    let mut seen_any = false;
    let mut seen_suitable = false;
    for index in 0..units.len() {
        let Some(front_end) = units.get(index).filter(|unit| unit.usable).map(|unit| unit.front_end) else {
            continue;
        };
        let mut before: u32 = 0;
        for group in &front_end.microphone_inputs {
            let Some(unit) = units.get(index) else { continue };
            let from = before;
            before = before.saturating_add(group.count.unwrap_or(1));
            seen_any = true;
            if needs_phantom && group.phantom != Some(true) {
                continue;
            }
            seen_suitable = true;
            let Some(number) = first_free(from..before, &unit.used_microphone) else { continue };
            let (device, copy, group, is_preamp) =
                (Arc::clone(unit.device), unit.copy, group.clone(), unit.is_preamp());
            let route = if is_preamp {
                take_line_input(units).map(|(into, inputs, number)| Route::Line {
                    into,
                    inputs: Arc::new(inputs),
                    number,
                })
            } else {
                take_channel(index, units)
            };
            let Some(route) = route else { continue };
            if let Some(unit) = units.get_mut(index) {
                unit.used_microphone.push(number);
            }
            return Ok(Input {
                device,
                copy,
                number: number + 1,
                socket: Socket::Microphone(Arc::new(group)),
                route,
            });
        }
    }
    Err(match (seen_any, seen_suitable) {
        (false, _) => NoInput::NoneOfItsKind,
        (true, false) => NoInput::NoPhantom,
        (true, true) => NoInput::RunOut,
    })
}

/// Whether a unit's way into the computer has a channel left.
fn has_channel(index: usize, units: &[Unit<'_>]) -> bool {
    let Some(unit) = units.get(index) else { return false };
    match &unit.link {
        Some(link) => {
            unit.link_used < unit.link_left && units.get(link.unit).is_some_and(|into| into.computer_left > 0)
        }
        None => unit.computer_left > 0,
    }
}

/// A channel of a unit's way into the computer; over a digital connection it takes one of the interface's, too.
fn take_channel(index: usize, units: &mut [Unit<'_>]) -> Option<Route> {
    if !has_channel(index, units) {
        return None;
    }
    let unit = units.get_mut(index)?;
    let Some(link) = &unit.link else {
        unit.computer_left -= 1;
        return Some(Route::Own);
    };
    unit.link_used += 1;
    let interface = link.unit;
    let route = Route::Digital { into: Arc::clone(&link.into), format: link.format, channel: unit.link_used };
    units.get_mut(interface)?.computer_left -= 1;
    Some(route)
}

fn find_line_input(instrument: bool, units: &mut [Unit<'_>]) -> Result<Input, NoInput> {
    let any = units.iter().any(|unit| {
        unit.usable && unit.front_end.line_inputs.iter().any(|g| (g.instrument == Some(true)) == instrument)
    });
    let Some((index, group, number)) = free_line_input(instrument, units) else {
        return Err(if any { NoInput::RunOut } else { NoInput::NoneOfItsKind });
    };
    let Some(route) = take_channel(index, units) else { return Err(NoInput::RunOut) };
    let Some(unit) = units.get_mut(index) else { return Err(NoInput::RunOut) };
    unit.used_line.push(number);
    Ok(Input {
        device: Arc::clone(unit.device),
        copy: unit.copy,
        number: number + 1,
        socket: Socket::Line(Arc::new(group)),
        route,
    })
}

/// A free line input for a preamp's output: its device, group and number from 1.
fn take_line_input(units: &mut [Unit<'_>]) -> Option<(Arc<Device>, LineInputs, u32)> {
    let (index, group, number) = free_line_input(false, units)?;
    take_channel(index, units)?;
    let unit = units.get_mut(index)?;
    unit.used_line.push(number);
    Some((Arc::clone(unit.device), group, number + 1))
}

fn free_line_input(instrument: bool, units: &[Unit<'_>]) -> Option<(usize, LineInputs, u32)> {
    for (index, unit) in units.iter().enumerate().filter(|(_, unit)| unit.usable && !unit.is_preamp()) {
        if !has_channel(index, units) {
            continue;
        }
        let mut before: u32 = 0;
        for group in &unit.front_end.line_inputs {
            let from = before;
            before = before.saturating_add(group.count.unwrap_or(1));
            if (group.instrument == Some(true)) == instrument
                && let Some(number) = first_free(from..before, &unit.used_line)
            {
                return Some((index, group.clone(), number));
            }
        }
    }
    None
}
