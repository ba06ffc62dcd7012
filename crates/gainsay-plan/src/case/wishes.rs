//! What a case settles about its patch: inputs that sources have to be on, stereo pairs, connections as they are, who leads the
//! clock; and whether that can be at all.

use super::assemble::Assembly;
use super::{FilePart, LinkFile, Owned, Pickup, Pin, PinFile, Source, StatedLink};
use crate::patch::needs::Need;
use gainsay_gear::connection::DigitalFormat;
use gainsay_gear::front_end::DigitalPorts;
use gainsay_gear::{Device, DeviceType, FrontEnd};
use gainsay_units::{At, Hertz, Problem};
use std::collections::HashMap;

/// What is settled beside the sources' own pins.
pub(super) struct Wishes {
    pub(super) links: Vec<StatedLink>,
    pub(super) clock: Option<usize>,
}

impl Assembly<'_> {
    /// Looks up what the files wish for the patch. The sources are in the order of the files.
    pub(super) fn wishes(
        &mut self,
        parts: &[FilePart],
        owned: &[Owned],
        sources: &mut [Source],
        rate: Hertz,
    ) -> Wishes {
        let mut source = 0;
        for (index, part) in parts.iter().enumerate() {
            self.part = index;
            for file in &part.file.sources {
                if let Some(pin) = &file.input {
                    let span = file.name.as_ref().or(file.kind.as_ref()).map_or(0..0, |at| at.span.clone());
                    let taken = sources.get(source).and_then(|s| self.pin(pin, &span, s, owned, rate));
                    if let Some(source) = sources.get_mut(source) {
                        source.pin = taken;
                    }
                }
                source += 1;
            }
        }
        self.pins_twice(parts, sources);
        self.pairs(parts);
        let mut links = Vec::new();
        let mut clock = None;
        for (index, part) in parts.iter().enumerate() {
            self.part = index;
            for file in &part.file.links {
                if let Some(link) = self.link(file, owned, &links, rate) {
                    links.push(link);
                }
            }
            if let (None, Some(name)) = (clock, &part.file.session.clock) {
                clock = self.owned_front_end(name, owned, "lead the clock");
            }
        }
        self.part = 0;
        Wishes { links, clock }
    }

    /// The owned front end of that name.
    fn owned_front_end(&mut self, name: &At<String>, owned: &[Owned], to: &str) -> Option<usize> {
        let key = name.value.trim().to_lowercase();
        let is = |device: &Device| device.id.to_lowercase() == key || device.name.to_lowercase() == key;
        let found = owned.iter().position(|o| is(&o.device));
        match found.and_then(|index| owned.get(index)) {
            Some(owned) if owned.device.front_end().is_none() => {
                let what = owned.device.device_type().with_article();
                self.problem(
                    name.span.clone(),
                    format!("\"{}\" is {what}, which can't {to}", name.value),
                    "name a preamp, an interface or a converter that is owned",
                );
                None
            }
            Some(_) => found,
            None => {
                let front_ends = owned.iter().filter(|o| o.device.front_end().is_some());
                let known: Vec<&str> =
                    front_ends.flat_map(|o| [o.device.id.as_str(), o.device.name.as_str()]).collect();
                let mend = Problem::nearest(&name.value, known);
                self.problem(
                    name.span.clone(),
                    format!("\"{}\" is not among the owned devices", name.value),
                    format!("{mend} (or add it:\n[[owned]]\ndevice = \"{}\")", name.value),
                );
                None
            }
        }
    }

    fn pin(
        &mut self,
        file: &PinFile,
        at_source: &std::ops::Range<usize>,
        source: &Source,
        owned: &[Owned],
        rate: Hertz,
    ) -> Option<Pin> {
        let index = match &file.device {
            Some(name) => self.owned_front_end(name, owned, "be an input")?,
            None => {
                let mut front_ends = owned.iter().enumerate().filter(|(_, o)| o.device.front_end().is_some());
                match (front_ends.next(), front_ends.next()) {
                    (Some((index, only)), None) if only.count == 1 || file.copy.is_some() => index,
                    _ => {
                        self.problem(
                            file.number.as_ref().map_or_else(|| at_source.clone(), |n| n.span.clone()),
                            format!("`input` of {} does not say on which device", source.name),
                            "write input = { device = \"…\", number = 1 }",
                        );
                        return None;
                    }
                }
            }
        };
        let place =
            [file.number.as_ref(), file.copy.as_ref()].into_iter().flatten().map(|at| at.span.clone()).next();
        let place = place
            .or_else(|| file.device.as_ref().map(|d| d.span.clone()))
            .unwrap_or_else(|| at_source.clone());
        let Owned { device, count } = owned.get(index)?;
        let front_end = device.front_end()?;
        if let Some(copy) = &file.copy
            && (copy.value == 0 || copy.value > *count)
        {
            let (owned, mend) = if *count == 1 {
                ("only one is owned".to_owned(), "leave `copy` out".to_owned())
            } else {
                (format!("{count} of them are owned"), format!("write 1 to {count}"))
            };
            let message = format!("there is no \"{}\" number {}: {owned}", device.name, copy.value);
            self.problem(copy.span.clone(), message, mend);
            return None;
        }
        let number = file.number.as_ref().map(|n| n.value);
        if let Some((message, mend)) = cannot_be(source, device, front_end, number, rate) {
            self.problem(place, message, mend);
            return None;
        }
        Some(Pin { owned: index, copy: file.copy.as_ref().map(|c| c.value), number })
    }

    /// Two sources on one input.
    fn pins_twice(&mut self, parts: &[FilePart], sources: &[Source]) {
        let mut taken: HashMap<(usize, u32, u32, bool), &Source> = HashMap::new();
        let mut index = 0;
        for (part, file) in parts.iter().enumerate() {
            self.part = part;
            for written in &file.file.sources {
                let Some(source) = sources.get(index) else { break };
                index += 1;
                let Some(Pin { owned, copy, number: Some(number) }) = source.pin else { continue };
                let line = matches!(source.pickup, Pickup::Electrical { .. });
                let other = taken.insert((owned, copy.unwrap_or(1), number, line), source);
                if let Some(other) = other
                    && !crate::patch::needs::take_turns(source, other)
                {
                    let span = written
                        .input
                        .as_ref()
                        .and_then(|pin| pin.number.as_ref())
                        .map_or(0..0, |n| n.span.clone());
                    self.problem(
                        span,
                        format!("{} and {} are both on input {number}", other.name, source.name),
                        "give one of them another number, or let them take turns at one microphone (`turns`)",
                    );
                }
            }
        }
    }

    /// A pair has two sides.
    fn pairs(&mut self, parts: &[FilePart]) {
        let mut pairs: HashMap<&str, u32> = HashMap::new();
        let words =
            || parts.iter().enumerate().flat_map(|(part, p)| p.file.sources.iter().map(move |s| (part, s)));
        for (_, source) in words() {
            if let Some(word) = &source.pair {
                *pairs.entry(word.value.as_str()).or_default() += 1;
            }
        }
        let mut told: Vec<&str> = Vec::new();
        for (part, source) in words() {
            let Some(word) = &source.pair else { continue };
            let n = pairs.get(word.value.as_str()).copied().unwrap_or(0);
            if n != 2 && !told.contains(&word.value.as_str()) {
                told.push(&word.value);
                self.part = part;
                self.problem(
                    word.span.clone(),
                    format!("the pair \"{}\" has {n} {}", word.value, if n == 1 { "side" } else { "sides" }),
                    "write the same word in exactly two sources",
                );
            }
        }
    }

    fn link(
        &mut self,
        file: &LinkFile,
        owned: &[Owned],
        before: &[StatedLink],
        rate: Hertz,
    ) -> Option<StatedLink> {
        let (Some(from_name), Some(to_name)) = (&file.from, &file.to) else {
            let at = file.from.as_ref().or(file.to.as_ref()).map_or(0..0, |name| name.span.clone());
            self.problem(at, "a link needs both ends", "write from = \"…\" and to = \"…\"");
            return None;
        };
        let from = self.owned_front_end(from_name, owned, "send")?;
        let to = self.owned_front_end(to_name, owned, "receive")?;
        let format = file.format.as_ref().map(|f| f.value);
        let (sender, receiver) = (owned.get(from)?, owned.get(to)?);
        if from == to && sender.count < 2 {
            self.problem(
                to_name.span.clone(),
                "a device can't be linked to itself",
                "name another device in `to`",
            );
            return None;
        }
        let link = StatedLink { from, to, format };
        if let Some((message, mend)) = cannot_link(&sender.device, &receiver.device, format, rate) {
            let span = file.format.as_ref().map_or_else(|| to_name.span.clone(), |f| f.span.clone());
            self.problem(span, message, mend);
            return None;
        }
        let outputs = sender.device.front_end().map_or(0, |f| ports_for(f, format, &sender.device, true));
        let inputs = receiver.device.front_end().map_or(0, |f| ports_for(f, format, &sender.device, false));
        for (device, end, there, used) in [
            (
                sender,
                from_name,
                outputs.saturating_mul(sender.count),
                before.iter().filter(|b| b.from == from && meets(b.format, format)).count(),
            ),
            (
                receiver,
                to_name,
                inputs.saturating_mul(receiver.count),
                before.iter().filter(|b| b.to == to && meets(b.format, format)).count(),
            ),
        ] {
            if used as u64 + 1 > u64::from(there) {
                let port = if there == 1 { "its one port is" } else { "its ports are all" };
                self.problem(
                    end.span.clone(),
                    format!("\"{}\" is linked twice: {port} taken by a link above", device.device.name),
                    "take one of the two links out",
                );
                return None;
            }
        }
        Some(link)
    }
}

/// Whether two wishes may mean the same port.
fn meets(a: Option<DigitalFormat>, b: Option<DigitalFormat>) -> bool {
    a.is_none() || b.is_none() || a == b
}

/// Ports of a device for a link; a preamp's link is a loom of analogue cables, of which a device takes as many as it has
/// line inputs.
fn ports_for(front_end: &FrontEnd, format: Option<DigitalFormat>, sender: &Device, sends: bool) -> u32 {
    if sender.device_type() == DeviceType::Preamp {
        return if sends { 1 } else { u32::MAX };
    }
    let groups = if sends { &front_end.digital_outputs } else { &front_end.digital_inputs };
    groups
        .iter()
        .filter(|group| format.is_none_or(|format| formats(group).any(|f| f == format)))
        .fold(0_u32, |sum, group| sum.saturating_add(group.count.unwrap_or(1)))
}

/// The formats that a port can be set to.
pub(crate) fn formats(group: &DigitalPorts) -> impl Iterator<Item = DigitalFormat> + '_ {
    group.format.into_iter().chain(group.switchable_to.iter().flatten().copied())
}

/// Why a source can't be on an input, and what to do.
fn cannot_be(
    source: &Source,
    device: &Device,
    front_end: &FrontEnd,
    number: Option<u32>,
    rate: Hertz,
) -> Option<(String, String)> {
    let need = Need::of(source);
    let name = &device.name;
    if device.device_type() != DeviceType::Preamp && !front_end.runs_at(rate) {
        return Some((
            format!("{} can't be on \"{name}\", which does not run at {}", source.name, words_of(rate)),
            "choose another device or another sample rate".to_owned(),
        ));
    }
    let groups = need.groups(front_end);
    if groups.is_empty() {
        return Some((
            format!("{} needs {}, and \"{name}\" has none", source.name, need.words()),
            "choose a device that has one".to_owned(),
        ));
    }
    let Some(number) = number else {
        return groups.iter().all(|group| !group.suits).then(|| {
            (
                format!("{} needs {}, and \"{name}\" has none", source.name, need.words()),
                "choose a device that has one".to_owned(),
            )
        });
    };
    let Some(group) = groups.iter().find(|group| group.numbers.contains(&number)) else {
        let last = groups.iter().map(|group| group.numbers.end).max().map_or(1, |end| end - 1);
        return Some((
            format!("\"{name}\" has no input {number} of this kind"),
            format!("write 1 to {last}"),
        ));
    };
    if !group.suits {
        return Some((
            format!("{} can't be on input {number} of \"{name}\": it needs {}", source.name, need.words()),
            "choose another input".to_owned(),
        ));
    }
    let carried = crate::patch::needs::channels_out(device, rate);
    (need.is_microphone() && u64::from(number) > u64::from(carried)).then(|| {
        (
            format!(
                "input {number} of \"{name}\" does not get out of it: its digital output carries {carried} channels at {}",
                words_of(rate)
            ),
            format!("choose an input from 1 to {carried}, or a lower sample rate"),
        )
    })
}

/// Why two devices can't be linked, and what to do.
fn cannot_link(
    from: &Device,
    to: &Device,
    format: Option<DigitalFormat>,
    rate: Hertz,
) -> Option<(String, String)> {
    let (sender, receiver) = (from.front_end()?, to.front_end()?);
    if from.device_type() == DeviceType::Preamp {
        if let Some(format) = format {
            return Some((
                format!("\"{}\" is an analogue preamp and has no {} output", from.name, format.words()),
                "leave `format` out: its outputs go into line inputs".to_owned(),
            ));
        }
        let lines = receiver.line_inputs.iter().any(|group| group.instrument != Some(true));
        return (!lines).then(|| {
            (
                format!("\"{}\" has no line input for \"{}\"", to.name, from.name),
                "link it to a device with line inputs".to_owned(),
            )
        });
    }
    let outputs: Vec<DigitalFormat> = sender.digital_outputs.iter().flat_map(formats).collect();
    let inputs: Vec<DigitalFormat> = receiver.digital_inputs.iter().flat_map(formats).collect();
    let names = |formats: &[DigitalFormat]| {
        let mut words: Vec<&str> = formats.iter().map(|f| f.words()).collect();
        words.dedup();
        if words.is_empty() { "none".to_owned() } else { crate::words::list(&words) }
    };
    for (device, formats, end) in [(from, &outputs, "output"), (to, &inputs, "input")] {
        if formats.is_empty() {
            return Some((
                format!("\"{}\" has no digital {end}", device.name),
                "link another device, or state the port in its device file".to_owned(),
            ));
        }
        if let Some(format) = format
            && !formats.contains(&format)
        {
            return Some((
                format!("\"{}\" has no {} {end}; it has {}", device.name, format.words(), names(formats)),
                "write a format that both ends have, or leave `format` out".to_owned(),
            ));
        }
    }
    let common: Vec<DigitalFormat> = outputs
        .iter()
        .copied()
        .filter(|f| inputs.contains(f) && format.is_none_or(|wish| wish == *f))
        .collect();
    if common.is_empty() {
        return Some((
            format!(
                "\"{}\" and \"{}\" can't meet: the one sends {}, the other takes {}",
                from.name,
                to.name,
                names(&outputs),
                names(&inputs)
            ),
            "link devices that have a format in common, or put a format converter between them".to_owned(),
        ));
    }
    if common.iter().all(|f| f.channels_at(rate.hertz()) == 0) {
        return Some((
            format!("{} carries nothing at {}", names(&common), words_of(rate)),
            "choose a lower sample rate".to_owned(),
        ));
    }
    None
}

/// A sample rate for reading.
fn words_of(rate: Hertz) -> String {
    crate::words::sample_rate(rate)
}
