//! Sentences about the patch.

use super::{count, list, number, sample_rate};
use crate::case::{Case, formats};
use crate::patch::sheet::{Connection, LevelFit, PatchSheet, PathTiming, Row};
use crate::patch::{Clock, ClockCable, Input, Link, Missing, Patch, Relief, Unit};
use gainsay_gear::connection::DigitalFormat;
use gainsay_gear::front_end::DigitalPorts;
use gainsay_gear::{Device, DeviceType};

fn name(patch: &Patch, at: usize) -> String {
    patch.boxes.get(at).map_or_else(String::new, Unit::words)
}

/// A level with its sign.
fn signed(level: f64) -> String {
    if level >= 0.5 { format!("+{}", number(level, 0)) } else { number(level, 0) }
}

fn plural(n: u32) -> &'static str {
    if n == 1 { "" } else { "s" }
}

/// How an input's signal goes on from its box, where that is not the computer's own interface.
pub(crate) fn route(patch: &Patch, input: &Input) -> Option<String> {
    let mut parts = Vec::new();
    if let Some(line) = &input.line {
        parts.push(format!("into {}, line input {}", name(patch, line.at), line.number));
    }
    for hop in &input.hops {
        let into =
            patch.links.get(hop.link).map_or_else(|| hop.into.name.clone(), |link| name(patch, link.to));
        let cable = if hop.cable > 1 { format!(" of cable {}", hop.cable) } else { String::new() };
        parts.push(format!("over {}, channel {}{cable}, into {into}", hop.format.words(), hop.channel));
    }
    (!parts.is_empty()).then(|| parts.join(", then "))
}

/// What the patch comes to.
pub(crate) fn answer(case: &Case, patch: &Patch, sheet: &PatchSheet) -> Vec<String> {
    let mut sentences = Vec::new();
    let rate = sample_rate(case.session.sample_rate.value);
    if sheet.without_input.is_empty() {
        sentences.push(format!(
            "Everything finds an input: {} channel{} at {rate}.",
            count(sheet.rows.len() as u32),
            plural(sheet.rows.len() as u32)
        ));
    } else {
        let names: Vec<&str> = sheet.without_input.iter().map(|w| w.source.as_str()).collect();
        let verb = if names.len() == 1 { "has" } else { "have" };
        let smallest = if patch.proven { "; no smaller set could be left out" } else { "" };
        sentences.push(format!("{} {verb} no input at {rate}{smallest}.", list(&names)));
    }
    for link in &patch.links {
        sentences.push(link_sentence(patch, link, &rate));
    }
    if let Some(sentence) = leader(patch) {
        sentences.push(sentence);
    }
    if let Some(worst) = sheet.timing.paths.iter().max_by(|a, b| a.late_samples.total_cmp(&b.late_samples))
        && worst.late_samples >= 0.5
    {
        sentences.push(timing(sheet, worst));
    }
    if !patch.proven {
        sentences.push(
            "The search was stopped before it had tried everything: this is the best patch found, not proven the best."
                .to_owned(),
        );
    }
    sentences
}

fn link_sentence(patch: &Patch, link: &Link, rate: &str) -> String {
    let cables = link.cables();
    let cables = if cables == 1 { String::new() } else { format!(" in {} cables", count(cables)) };
    format!(
        "{} joins {} over {}{cables}, which carries {} channels at {rate} ({} used).",
        name(patch, link.from),
        name(patch, link.to),
        link.format.words(),
        link.channels_per_cable.saturating_mul(link.cables()),
        link.channels,
    )
}

/// Who leads the clock, where anyone follows.
fn leader(patch: &Patch) -> Option<String> {
    let followers: Vec<(usize, usize)> = patch
        .clocks
        .iter()
        .enumerate()
        .filter_map(
            |(at, clock)| {
                if let Some(Clock::Follows { from, .. }) = clock { Some((at, *from)) } else { None }
            },
        )
        .collect();
    if followers.is_empty() {
        return None;
    }
    let leaders: Vec<String> = patch
        .clocks
        .iter()
        .enumerate()
        .filter(|(at, clock)| **clock == Some(Clock::Leads) && followers.iter().any(|(_, from)| from == at))
        .map(|(at, _)| name(patch, at))
        .collect();
    let names: Vec<&str> = leaders.iter().map(String::as_str).collect();
    let follow: Vec<String> = followers.iter().map(|(at, _)| name(patch, *at)).collect();
    let follow: Vec<&str> = follow.iter().map(String::as_str).collect();
    let (leads, follows) = (
        if names.len() == 1 { "leads" } else { "lead" },
        if follow.len() == 1 { "follows" } else { "follow" },
    );
    Some(format!("{} {leads} the clock; {} {follows}.", list(&names), list(&follow)))
}

fn timing(sheet: &PatchSheet, worst: &crate::patch::sheet::PathTiming) -> String {
    format!(
        "What comes through {} is {} samples late ({} cm of air): move {} earlier by as many, or measure the offset with a click.",
        worst.path,
        number(worst.late_samples, 0),
        number(worst.air_m * 100.0, 0),
        if sheet.timing.shifts.iter().filter(|shift| shift.samples > 0).count() == 1 {
            "that track"
        } else {
            "those tracks"
        },
    )
}

/// What would make room for the sources without an input.
pub(crate) fn reliefs(case: &Case, patch: &Patch, missing: &Missing) -> Vec<String> {
    let mut sentences = Vec::new();
    let needs: Vec<String> = missing
        .inputs
        .iter()
        .map(|(what, n)| if *n == 1 { (*what).to_owned() } else { format!("{} times {what}", count(*n)) })
        .collect();
    let needs: Vec<&str> = needs.iter().map(String::as_str).collect();
    sentences.push(format!("What is missing: {}.", list(&needs)));
    let all = missing.sources.len() as u32;
    for relief in &missing.reliefs {
        let room = if relief.sources() >= all {
            "everything would fit".to_owned()
        } else {
            format!("{} more would fit", count(relief.sources()))
        };
        sentences.push(match relief {
            Relief::LowerRate { .. } => format!(
                "At 48 kHz instead of {}, {room}: the digital connections carry more channels there.",
                sample_rate(case.session.sample_rate.value)
            ),
            Relief::Clock { conflict, .. } => {
                let why =
                    conflict.as_ref().map(|conflict| super::clock::conflict(conflict, |at| name(patch, at)));
                format!("With one clock for all boxes, {room}. {}", why.unwrap_or_default())
                    .trim_end()
                    .to_owned()
            }
            Relief::Phantom { .. } => format!("With phantom power on every input, and enough of it, {room}."),
            Relief::Computer { .. } => {
                format!("If the computer link carried as many channels as there are inputs, {room}.")
            }
            Relief::Wishes { .. } => {
                format!("Without the inputs, links and clock that the case settles, {room}.")
            }
        });
    }
    sentences
}

/// Why a converter has no way into the computer: what it sends, and what interfaces take.
pub(crate) fn no_digital_input(case: &Case, device: &Device) -> String {
    let names = |groups: &mut dyn Iterator<Item = &DigitalPorts>| -> String {
        let mut words: Vec<&str> = groups.flat_map(formats).map(DigitalFormat::words).collect();
        words.sort_unstable();
        words.dedup();
        if words.is_empty() { "nothing".to_owned() } else { list(&words) }
    };
    let sends = device
        .front_end()
        .map_or_else(|| "nothing".to_owned(), |front_end| names(&mut front_end.digital_outputs.iter()));
    let interfaces = case
        .owned
        .iter()
        .filter(|o| o.device.device_type() == DeviceType::Interface)
        .filter_map(|o| o.device.front_end());
    let takes = names(&mut interfaces.flat_map(|front_end| front_end.digital_inputs.iter()));
    format!("it sends {sends}, and the interfaces here take {takes}")
}

/// How a clock gets to a box.
pub(crate) fn clock_cable(cable: &ClockCable) -> String {
    match cable {
        ClockCable::Link(_) => "with the sound, over the same cable".to_owned(),
        ClockCable::WordClock => "over a word clock cable".to_owned(),
        ClockCable::Network => "over the network".to_owned(),
        ClockCable::Own { format, .. } => format!("over an {} cable for the clock alone", format.words()),
    }
}

/// What the levels between a preamp and its line input come to; none where they fit.
pub(crate) fn joint(row: &Row) -> Option<String> {
    let joint = row.joint.as_ref()?;
    let (output, full_scale) = (signed(joint.maximum_output_dbu), signed(joint.full_scale_dbu));
    let remedy = if joint.output_level_control {
        format!("turn its output level down by {} dB", number(joint.attenuator_db, 0))
    } else {
        format!("put an attenuator of {} dB between them", number(joint.attenuator_db, 0))
    };
    match joint.fit {
        LevelFit::Fits => None,
        LevelFit::HotWhenDriven => Some(format!(
            "{} gives up to {output} dBu and its line input is full at {full_scale} dBu: clean recording at the target \
             stays below; to drive the preamp, {remedy}.",
            row.into
        )),
        LevelFit::TooHot => Some(format!(
            "{} is too hot for its line input on {} even at the least gain: {remedy}.",
            row.into,
            row.source_words()
        )),
        LevelFit::Low => Some(format!(
            "{} gives at most {output} dBu, {} dB short of what its line input takes: no harm but {} dB of noise on {}.",
            row.into,
            number(-joint.excess_db, 0),
            number(joint.noise_cost_db, 1),
            row.source_words()
        )),
    }
}

/// How many channels a connection carries, after a comma.
#[must_use]
pub fn channels(connection: &Connection) -> String {
    match (connection.clock_only, connection.carries) {
        (true, _) => String::new(),
        (false, Some(carries)) => format!(", {} of {carries} channels", connection.channels),
        (false, None) if connection.to_box.is_none() => format!(", {} channels", connection.channels),
        (false, None) => String::new(),
    }
}

/// How late a path is.
#[must_use]
pub fn path(path: &PathTiming, sources: &str) -> String {
    if path.late_samples < 0.5 {
        return format!("{}: the reference ({sources}).", path.path);
    }
    let (least, most) = (number(path.late_least_samples, 0), number(path.late_most_samples, 0));
    let spread = if least == most { String::new() } else { format!(" ({least} to {most})") };
    let known = if path.is_known { "" } else { "; typical figures, so measure it" };
    let notch = path
        .first_notch_hz
        .map(|hz| format!("; what both paths pick up alike loses a notch at {} Hz", rounded(hz)))
        .unwrap_or_default();
    format!(
        "{}: {}{spread} samples late, {} ms or {} cm of air{notch}{known} ({sources}).",
        path.path,
        number(path.late_samples, 0),
        number(path.late_ms, 2),
        number(path.air_m * 100.0, 0),
    )
}

/// What a comb filter does to microphones on one instrument; none where there is none.
pub(crate) fn comb(path: &PathTiming) -> Option<String> {
    if path.combs.is_empty() || path.late_most_samples < 0.5 {
        return None;
    }
    let groups: Vec<&str> = path.combs.iter().map(String::as_str).collect();
    let notch =
        path.first_notch_hz.map_or_else(String::new, |hz| format!(" from a notch at {} Hz up", rounded(hz)));
    Some(format!(
        "Microphones of one group ({}) go over paths of different delay: mixed, they comb-filter{notch}. Move the tracks, or \
         settle inputs on one box.",
        list(&groups)
    ))
}

/// A frequency to two digits.
fn rounded(hz: f64) -> String {
    let step = if hz >= 10_000.0 {
        1000.0
    } else if hz >= 1000.0 {
        100.0
    } else {
        10.0
    };
    number((hz / step).round() * step, 0)
}
