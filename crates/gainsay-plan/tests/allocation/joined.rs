//! What a patch breaks on the way from an input to the computer: channels, ports and clocks.

use crate::patched::{Check, Place, count, place};
use gainsay_gear::connection::{ClockSource, DigitalFormat};
use gainsay_gear::front_end::DigitalPorts;
use gainsay_plan::patch::{Clock, ClockCable, Link};
use std::collections::{BTreeMap, BTreeSet};

fn channels_at(ports: &DigitalPorts, format: DigitalFormat, rate: f64) -> u32 {
    let network = format == DigitalFormat::Aes67;
    match ports.channels {
        Some(limit) if network => limit,
        Some(limit) => limit.min(format.channels_at(rate)),
        None => format.channels_at(rate),
    }
}

impl Check<'_> {
    /// Every way leads from the input to the computer, over channels of its own, within what each link and computer carries.
    pub(crate) fn ways(&mut self) {
        let mut taken: BTreeMap<(usize, u32, u32), Place> = BTreeMap::new();
        let mut carried: BTreeMap<usize, BTreeSet<Place>> = BTreeMap::new();
        let mut to_computer: BTreeMap<usize, BTreeSet<Place>> = BTreeMap::new();
        for (_, source, input) in self.placed() {
            let name = &source.name;
            let mut at = input.line.as_ref().map_or(input.at, |line| line.at);
            for hop in &input.hops {
                let link = self.patch.links[hop.link].clone();
                if link.from != at {
                    self.say(format!("{name} is in box {at} and goes on from box {}", link.from));
                }
                if hop.channel == 0 || hop.channel > link.channels_per_cable || hop.cable > link.cables() {
                    self.say(format!(
                        "{name}: cable {}, channel {} of link {link:?}",
                        hop.cable, hop.channel
                    ));
                }
                let before = taken.insert((hop.link, hop.cable, hop.channel), place(&input));
                if before.is_some_and(|before| before != place(&input)) {
                    self.say(format!("{name} and {before:?} are on one channel of link {}", hop.link));
                }
                carried.entry(hop.link).or_default().insert(place(&input));
                at = link.to;
            }
            let unit = &self.patch.boxes[at];
            if !unit.is_interface {
                self.say(format!("{name} ends in box {at}, which reaches no computer"));
            }
            if !self.front_end(at).runs_at(self.case.session.sample_rate.value) {
                self.say(format!("{name} ends in box {at}, which does not run at the sample rate"));
            }
            to_computer.entry(at).or_default().insert(place(&input));
        }
        for (index, link) in self.patch.links.clone().iter().enumerate() {
            let carried = carried.get(&index).map_or(0, BTreeSet::len);
            if carried != link.channels as usize {
                self.say(format!("link {index} carries {carried} channels and says {}", link.channels));
            }
        }
        for (at, places) in to_computer {
            let whole = &self.front_end(at).whole;
            let (at_48, at_96, at_192) =
                (whole.computer_channels, whole.computer_channels_96, whole.computer_channels_192);
            let limit = if self.rate() > 100_000.0 {
                at_192.or(at_96).or(at_48)
            } else if self.rate() > 50_000.0 {
                at_96.or(at_48)
            } else {
                at_48
            };
            if let Some(limit) = limit
                && places.len() > limit as usize
            {
                self.say(format!(
                    "box {at} sends {} channels to the computer, {limit} at most",
                    places.len()
                ));
            }
        }
    }

    /// Links within their formats, ports within their counts, those that only carry a clock included.
    pub(crate) fn ports(&mut self) {
        let mut taken: BTreeMap<(usize, bool, usize), u32> = BTreeMap::new();
        for link in &self.patch.links.clone() {
            let Link { from, output_group, to, input_group, format, .. } = *link;
            let (output, input) = (
                self.front_end(from).digital_outputs[output_group].clone(),
                self.front_end(to).digital_inputs[input_group].clone(),
            );
            let most =
                channels_at(&output, format, self.rate()).min(channels_at(&input, format, self.rate()));
            if link.channels_per_cable > most {
                self.say(format!("{link:?}: {most} channels a cable at most"));
            }
            for (ports, end) in [(&output, "output"), (&input, "input")] {
                let has = ports.format == Some(format)
                    || ports.switchable_to.iter().flatten().any(|f| *f == format);
                if !has {
                    self.say(format!("{link:?}: its {end} has no such format"));
                }
            }
            if link.converts_rate && input.sample_rate_converter != Some(true) {
                self.say(format!("{link:?}: its input converts no sample rate"));
            }
            *taken.entry((from, true, output_group)).or_default() += link.cables();
            *taken.entry((to, false, input_group)).or_default() += link.cables();
        }
        for (at, clock) in self.patch.clocks.iter().enumerate() {
            if let Some(Clock::Follows {
                from, by: ClockCable::Own { output_group, input_group, .. }, ..
            }) = clock
            {
                *taken.entry((*from, true, *output_group)).or_default() += 1;
                *taken.entry((at, false, *input_group)).or_default() += 1;
            }
        }
        for ((at, sends, group), taken) in taken {
            let front_end = self.front_end(at);
            let ports =
                if sends { &front_end.digital_outputs[group] } else { &front_end.digital_inputs[group] };
            let there = count(ports.count);
            if taken > there {
                let end = if sends { "output" } else { "input" };
                self.say(format!(
                    "box {at}: {taken} ports of {end} group {group} are taken, {there} are there"
                ));
            }
        }
    }

    fn leader(&self, mut at: usize) -> Option<usize> {
        for _ in 0..=self.patch.boxes.len() {
            match self.patch.clocks.get(at)?.as_ref()? {
                Clock::Leads => return Some(at),
                Clock::Follows { from, .. } => at = *from,
            }
        }
        None
    }

    /// Every box in use on a clock that reaches it; all on one that go into the computer or are joined, one leader each.
    pub(crate) fn clocks(&mut self) {
        let mut in_use: BTreeSet<usize> = BTreeSet::new();
        let mut to_computer: BTreeSet<usize> = BTreeSet::new();
        for (_, _, input) in self.placed() {
            let mut at = input.line.as_ref().map_or(input.at, |line| line.at);
            in_use.insert(at);
            for hop in &input.hops {
                at = self.patch.links[hop.link].to;
                in_use.insert(at);
            }
            to_computer.insert(at);
        }
        for at in &in_use {
            if self.leader(*at).is_none() {
                self.say(format!("box {at} is in use and on no clock"));
            }
        }
        let leaders: BTreeSet<Option<usize>> = to_computer.iter().map(|at| self.leader(*at)).collect();
        if leaders.len() > 1 {
            self.say(format!("boxes {to_computer:?} go into one computer on clocks of {leaders:?}"));
        }
        for (index, link) in self.patch.links.clone().iter().enumerate() {
            let apart = self.leader(link.from) != self.leader(link.to);
            if apart && !link.converts_rate || apart != self.patch.converted.contains(&index) {
                self.say(format!("link {index}: ends on different clocks {apart}, {link:?}"));
            }
        }
        for (at, clock) in self.patch.clocks.clone().iter().enumerate() {
            let Some(clock) = clock else { continue };
            let sources = self.front_end(at).whole.clock_sources.clone();
            let takes =
                |source: ClockSource| sources.as_ref().is_none_or(|sources| sources.contains(&source));
            match clock {
                Clock::Leads if !takes(ClockSource::Internal) => {
                    self.say(format!("box {at} leads without a clock"))
                }
                Clock::Leads => {}
                Clock::Follows { from, source, by } => {
                    let suits = match by {
                        ClockCable::Link(link) => {
                            let link = &self.patch.links[*link];
                            link.to == at
                                && link.from == *from
                                && link.format.clock_sources().contains(source)
                        }
                        ClockCable::WordClock => {
                            *source == ClockSource::WordClock
                                && self.front_end(*from).whole.word_clock_output == Some(true)
                        }
                        ClockCable::Network => *source == ClockSource::Aes67,
                        ClockCable::Own { format, .. } => format.clock_sources().contains(source),
                    };
                    if !takes(*source) || !suits {
                        self.say(format!("box {at} can't follow so: {clock:?}"));
                    }
                }
            }
        }
    }
}
