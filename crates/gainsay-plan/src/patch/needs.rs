//! What a source needs of an input.

use crate::case::{Pickup, Source, formats};
use gainsay_gear::front_end::{DigitalPorts, MicrophoneInputs};
use gainsay_gear::microphone::{PhantomNeed, Transducer};
use gainsay_gear::{Device, DeviceType, FrontEnd, Microphone};
use gainsay_units::{Amperes, Figure, Hertz, Ohms, Stated};
use std::ops::Range;

/// Above this output resistance a source needs an instrument input rather than a line input (common practice).
const INSTRUMENT_SOURCE: Ohms = Ohms::new(2_000.0);

/// What a source needs of an input.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Need {
    /// A microphone input; with phantom power, if it draws current.
    Microphone {
        /// Whether it needs phantom power.
        phantom: bool,
    },
    /// An instrument input, or else a microphone input: a pickup of high impedance.
    Pickup,
    /// A line input, or an instrument input if the source's impedance is high.
    Line {
        /// Whether it has to be an instrument input.
        instrument: bool,
    },
}

/// A group of inputs of a device, as a source sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Group {
    pub(crate) sort: Sort,
    /// Index among the device's groups of that sort.
    pub(crate) index: usize,
    /// Numbers of its inputs among those of that sort (line and instrument inputs apart), from 1.
    pub(crate) numbers: Range<u32>,
    /// Whether the source can be there.
    pub(crate) suits: bool,
}

/// What sort of inputs a group has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Sort {
    Microphone,
    Line,
}

impl Need {
    pub(crate) fn of(source: &Source) -> Self {
        match &source.pickup {
            Pickup::Acoustic { microphone, .. } => {
                let model = microphone.microphone();
                if source.booster.is_none() && model.is_some_and(is_high_impedance_pickup) {
                    return Self::Pickup;
                }
                let active = model.is_some_and(|m| m.phantom == Some(PhantomNeed::Required));
                Self::Microphone { phantom: active || source.booster.is_some() }
            }
            Pickup::Electrical { impedance, .. } => {
                Self::Line { instrument: impedance.value > INSTRUMENT_SOURCE }
            }
        }
    }

    pub(crate) const fn is_microphone(self) -> bool {
        matches!(self, Self::Microphone { .. })
    }

    pub(crate) const fn words(self) -> &'static str {
        match self {
            Self::Microphone { phantom: true } => "a microphone input with phantom power",
            Self::Microphone { phantom: false } => "a microphone input",
            Self::Pickup => "an instrument or microphone input",
            Self::Line { instrument: true } => "an instrument input",
            Self::Line { instrument: false } => "a line input",
        }
    }

    /// The groups of a device that are of the sort needed, whether or not they suit.
    pub(crate) fn groups(self, front_end: &FrontEnd) -> Vec<Group> {
        let mut groups = Vec::new();
        if let Self::Line { .. } | Self::Pickup = self {
            let instrument = !matches!(self, Self::Line { instrument: false });
            let with_numbers = front_end.line_inputs.iter().enumerate().zip(line_numbers(front_end));
            for ((index, group), numbers) in with_numbers {
                if (group.instrument == Some(true)) == instrument {
                    groups.push(Group { sort: Sort::Line, index, numbers, suits: true });
                }
            }
        }
        if let Self::Microphone { .. } | Self::Pickup = self {
            let phantom = matches!(self, Self::Microphone { phantom: true });
            let counts = front_end.microphone_inputs.iter().map(|group| group.count);
            let with_numbers = front_end.microphone_inputs.iter().enumerate().zip(numbers(counts));
            for ((index, group), numbers) in with_numbers {
                let suits = !phantom || group.phantom == Some(true);
                groups.push(Group { sort: Sort::Microphone, index, numbers, suits });
            }
        }
        groups
    }
}

/// Numbers of the inputs of each group, counted through from 1.
pub(crate) fn numbers(counts: impl Iterator<Item = Option<u32>>) -> impl Iterator<Item = Range<u32>> {
    let mut next: u32 = 1;
    counts.map(move |count| {
        let first = next;
        next = next.saturating_add(count.unwrap_or(1));
        first..next
    })
}

/// Numbers of the inputs of each group of line and instrument inputs; each of the two sorts is counted through from 1.
pub(crate) fn line_numbers(front_end: &FrontEnd) -> Vec<Range<u32>> {
    let (mut line, mut instrument) = (1_u32, 1_u32);
    front_end
        .line_inputs
        .iter()
        .map(|group| {
            let next = if group.instrument == Some(true) { &mut instrument } else { &mut line };
            let first = *next;
            *next = next.saturating_add(group.count.unwrap_or(1));
            first..*next
        })
        .collect()
}

/// Whether two sources share a microphone and its input, because they are never at once.
pub(crate) fn take_turns(a: &Source, b: &Source) -> bool {
    let same_microphone = match (a.microphone(), b.microphone()) {
        (Some(a), Some(b)) => a.name == b.name,
        _ => false,
    };
    a.turns.is_some() && a.turns == b.turns && same_microphone && a.booster == b.booster && a.pin == b.pin
}

fn is_high_impedance_pickup(microphone: &Microphone) -> bool {
    let impedance = microphone.impedance.as_ref().and_then(Stated::figure).map(|figure| figure.value);
    microphone.transducer == Some(Transducer::Pickup) && impedance.is_some_and(|z| z > INSTRUMENT_SOURCE)
}

/// Lower and upper end of what a figure may be with 95 % probability.
fn ends(figure: &Figure<Amperes>) -> (Amperes, Amperes) {
    let (below, above) = figure.spread.half_widths_95();
    let value = figure.value.amperes();
    (Amperes::new((value - below).max(0.0)), Amperes::new(value + above))
}

/// Least and most current that a source draws from phantom power.
pub(crate) fn phantom_current(source: &Source) -> (Amperes, Amperes) {
    let mut sum = (0.0, 0.0);
    let mut add = |stated: Option<&Stated<Amperes>>| {
        if let Some((low, high)) = stated.and_then(Stated::figure).map(ends) {
            sum = (sum.0 + low.amperes(), sum.1 + high.amperes());
        }
    };
    if let Some(microphone) = source.microphone().and_then(Device::microphone)
        && microphone.phantom == Some(PhantomNeed::Required)
        && source.booster.is_none()
    {
        add(microphone.phantom_current.as_ref());
    }
    if let Some(booster) = source.booster.as_deref().and_then(Device::booster) {
        add(booster.phantom_current.as_ref());
    }
    (Amperes::new(sum.0), Amperes::new(sum.1))
}

/// Least and most current that one input's phantom power gives.
pub(crate) fn phantom_supply(group: &MicrophoneInputs) -> Option<(Amperes, Amperes)> {
    group.phantom_current.as_ref().and_then(Stated::figure).map(ends)
}

/// Least and most current that a device's phantom power gives in all.
pub(crate) fn phantom_supply_in_all(front_end: &FrontEnd) -> Option<(Amperes, Amperes)> {
    front_end.whole.phantom_current_total.as_ref().and_then(Stated::figure).map(ends)
}

/// Channels that one port carries in a format at a sample rate.
pub(crate) fn channels_of(
    group: &DigitalPorts,
    format: gainsay_gear::connection::DigitalFormat,
    rate: Hertz,
) -> u32 {
    let channels = format.channels_at(rate.hertz());
    match group.channels {
        // A network port carries several streams.
        Some(limit) if format == gainsay_gear::connection::DigitalFormat::Aes67 && channels > 0 => limit,
        Some(limit) => channels.min(limit),
        None => channels,
    }
}

/// Channels that get out of a device at a sample rate: as many as one likes of an interface or an analogue preamp.
pub(crate) fn channels_out(device: &Device, rate: Hertz) -> u32 {
    match device.front_end() {
        Some(front_end)
            if device.device_type() == DeviceType::Converter && front_end.whole.computer.is_none() =>
        {
            front_end.digital_outputs.iter().fold(0_u32, |sum, group| {
                let most = formats(group).map(|format| channels_of(group, format, rate)).max().unwrap_or(0);
                sum.saturating_add(most.saturating_mul(group.count.unwrap_or(1)))
            })
        }
        _ => u32::MAX,
    }
}
