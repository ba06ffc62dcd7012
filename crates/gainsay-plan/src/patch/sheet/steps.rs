//! The session in a safe order: phantom power last on and first off.

use super::connections::ClockRow;
use super::joints::Joint;
use super::rows::Row;
use super::timing::Timing;
use crate::answer::Answer;
use crate::case::Case;
use crate::words::{self, list, number};
use gainsay_gear::microphone::{PhantomNeed, Transducer};
use serde::Serialize;

/// Something to do.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Step {
    /// When.
    pub phase: &'static str,
    /// What.
    pub what: String,
}

const BEFORE: &str = "Before anything is plugged";
const PLUG: &str = "Plug";
const POWER: &str = "Power and clock";
const PHANTOM: &str = "Phantom power and gain";
const AFTER: &str = "Afterwards";

pub(super) fn steps(
    case: &Case,
    answer: &Answer,
    rows: &[Row],
    joints: &[Joint],
    clocks: &[ClockRow],
    timing: &Timing,
) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut step = |phase: &'static str, what: String| steps.push(Step { phase, what });
    let with_phantom: Vec<&Row> = rows.iter().filter(|row| row.phantom).collect();
    let without: Vec<&Row> = rows.iter().filter(|row| !row.phantom && row.microphone.is_some()).collect();
    let ribbons = endangered(case, rows);

    step(
        BEFORE,
        "Monitors and headphones down, all gains at their lowest, phantom power off everywhere.".to_owned(),
    );
    for (row, joint) in rows.iter().zip(joints) {
        if joint.cable.is_empty() {
            step(PLUG, format!("{}: not yet, see \"Take care\".", row.source_words()));
            continue;
        }
        let between = if joint.parts.is_empty() {
            String::new()
        } else {
            let parts: Vec<&str> = joint.parts.iter().map(String::as_str).collect();
            format!(" with {}", list(&parts))
        };
        let cable = &joint.cable;
        let begin = row
            .microphone
            .as_deref()
            .map_or_else(|| row.source_words(), |m| format!("{} ({m})", row.source_words()));
        let booster = row.booster.as_ref().map(|b| format!(", through {b}")).unwrap_or_default();
        let then = row.then.as_ref().map(|then| format!(", then {then}")).unwrap_or_default();
        step(
            PLUG,
            format!(
                "{begin}: {cable} of {} m{between}{booster} into {}{then}.",
                metres(row.cable_m),
                row.input_words()
            ),
        );
    }
    if answer.patch.links.is_empty() {
        step(POWER, "Switch on the interface, then the monitors.".to_owned());
    } else {
        for link in &answer.patch.links {
            let unit =
                |at: usize| answer.patch.boxes.get(at).map_or_else(String::new, super::super::Unit::words);
            step(
                PLUG,
                format!(
                    "{} from {} to {}.",
                    links_words(link.cables(), link.format.words()),
                    unit(link.from),
                    unit(link.to)
                ),
            );
        }
        step(
            POWER,
            "Switch on whichever leads the clock first, then what follows it, the monitors last.".to_owned(),
        );
    }
    for clock in clocks {
        step(POWER, format!("{}: set the clock to {}.", clock.device, clock.setting));
    }
    if clocks.len() > 1 {
        step(
            POWER,
            format!(
                "Set every box to {} and see that each shows a locked clock; a tone on every channel must be free of clicks.",
                words::sample_rate(case.session.sample_rate.value)
            ),
        );
    }
    if !with_phantom.is_empty() {
        let names: Vec<String> = with_phantom
            .iter()
            .map(|row| format!("{} ({} {})", row.source_words(), row.input_sort, row.input))
            .collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        step(
            PHANTOM,
            format!(
                "Only now, with every plug in place and the monitors down, phantom power on for {}; wait half a minute.",
                list(&names)
            ),
        );
    }
    if !ribbons.is_empty() {
        let names: Vec<&str> = ribbons.iter().map(String::as_str).collect();
        step(PHANTOM, format!("Phantom power stays off for {}: it can be damaged by it.", list(&names)));
    } else if !without.is_empty() && !with_phantom.is_empty() {
        let names: Vec<String> = without.iter().map(|row| row.source_words()).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let verb = if names.len() == 1 { "needs" } else { "need" };
        step(PHANTOM, format!("Phantom power stays off for {}, which {verb} none.", list(&names)));
    }
    let mut boxes: Vec<usize> = rows.iter().filter(|row| row.gain_db.is_some()).map(|row| row.at).collect();
    boxes.sort_unstable();
    boxes.dedup();
    for at in boxes {
        let mut of_box: Vec<&Row> = rows.iter().filter(|row| row.at == at && row.gain_db.is_some()).collect();
        of_box.sort_by_key(|row| row.input);
        let gains: Vec<String> = of_box.iter().filter_map(|row| gain(row)).collect();
        let gains: Vec<&str> = gains.iter().map(String::as_str).collect();
        let into = of_box.first().map_or("", |row| row.into.as_str());
        step(PHANTOM, format!("Gains on {into}: {}.", list(&gains)));
    }
    step(
        PHANTOM,
        format!(
            "Have everyone play their loudest passage at once: peaks should land near {} dBFS, none at 0.",
            number(case.session.peak_target.value.dbfs(), 0)
        ),
    );
    if timing.shifts.iter().any(|shift| shift.samples > 0) {
        step(PHANTOM, "Record one sharp click, tapped between two microphones of different boxes, to measure the offset.".to_owned());
    }
    if !with_phantom.is_empty() {
        step(
            AFTER,
            "Monitors down, phantom power off first; wait half a minute before anything is unplugged."
                .to_owned(),
        );
    }
    step(AFTER, "Switch off the monitors first, then the boxes.".to_owned());
    for shift in timing.shifts.iter().filter(|shift| shift.samples > 0) {
        step(
            AFTER,
            format!(
                "Move track \"{}\" earlier by {} samples (or by what the click shows).",
                shift.track, shift.samples
            ),
        );
    }
    steps
}

fn links_words(cables: u32, format: &str) -> String {
    if cables == 1 { format!("One cable for {format}") } else { format!("{cables} cables for {format}") }
}

/// The gain of an input: `input 3 16 dB with its pad`.
fn gain(row: &Row) -> Option<String> {
    let gain = number(row.gain_db?, 0);
    let pad =
        if row.pad_db > 0.0 { format!(" with its {} dB pad", number(row.pad_db, 0)) } else { String::new() };
    let own = if row.microphone_pad { " (and the microphone's own pad)" } else { "" };
    Some(format!("{} {}: {gain} dB{pad}{own}", row.input_sort, row.input))
}

fn metres(length: f64) -> String {
    number(length, usize::from(length < 1.0 || (length * 10.0).round() % 10.0 != 0.0))
}

/// Microphones that phantom power can damage, with their sources.
pub(super) fn endangered(case: &Case, rows: &[Row]) -> Vec<String> {
    rows.iter()
        .filter(|row| {
            case.sources
                .get(row.source)
                .and_then(|s| s.microphone())
                .and_then(gainsay_gear::Device::microphone)
                .is_some_and(|m| {
                    m.phantom == Some(PhantomNeed::Harmful) || m.transducer == Some(Transducer::Ribbon)
                })
        })
        .map(|row| format!("{} ({})", row.source_words(), row.microphone.clone().unwrap_or_default()))
        .collect()
}
