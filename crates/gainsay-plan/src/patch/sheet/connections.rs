//! What is connected to what, with which cable, and what to have at hand.

use super::joints::{Joint, digital_joint, line_joint, microphone_joint};
use super::rows::{Row, microphone_inputs};
use crate::answer::Answer;
use crate::case::Case;
use crate::patch::{Clock, ClockCable, Patch};
use crate::words;
use gainsay_gear::connection::ComputerLink;
use gainsay_gear::front_end::DigitalPorts;
use serde::Serialize;

/// A connection between two boxes, or of a box with the computer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Connection {
    /// Where it begins.
    pub from: String,
    /// Which outputs.
    pub output: String,
    /// Where it ends.
    pub to: String,
    /// Which inputs.
    pub input: String,
    /// Its format, or that it is analogue.
    pub format: String,
    /// Cables.
    pub cables: u32,
    /// Channels used.
    pub channels: u32,
    /// Channels that it carries at this sample rate, where there is a limit.
    pub carries: Option<u32>,
    /// The cable, in words.
    pub cable: String,
    /// Usual limit of its length, in metres.
    pub usual_limit_m: Option<f64>,
    /// Whether sound and clock go over it, or the clock alone.
    pub clock_only: bool,
    /// Index of the box where it begins, for pictures.
    #[serde(skip)]
    pub from_box: usize,
    /// Index of the box where it ends; none of the computer.
    #[serde(skip)]
    pub to_box: Option<usize>,
}

/// Whose clock a box runs on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ClockRow {
    /// The box.
    pub device: String,
    /// What its clock source is to be set to.
    pub setting: String,
    /// The box that it follows; none if it leads.
    pub follows: Option<String>,
    /// How the clock gets there; none if it leads.
    pub over: Option<String>,
}

/// Something to have at hand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Item {
    /// How many.
    pub count: u32,
    /// What.
    pub what: String,
    /// For what.
    pub used_for: String,
}

/// How each row's cable ends in its input.
pub(super) fn microphone_joints(case: &Case, answer: &Answer, rows: &[Row]) -> Vec<Joint> {
    rows.iter()
        .map(|row| {
            let input = answer.patch.inputs.get(row.source).and_then(|input| input.as_ref().ok());
            match (case.sources.get(row.source), input) {
                (Some(source), Some(input)) => {
                    // One switch may put phantom power on this input for the sake of another.
                    let together =
                        microphone_inputs(answer, row).is_some_and(|g| g.phantom_together == Some(true));
                    let phantom = row.phantom
                        || together
                            && rows
                                .iter()
                                .any(|other| other.at == row.at && other.phantom && same(answer, row, other));
                    microphone_joint(source, input, phantom)
                }
                _ => Joint::default(),
            }
        })
        .collect()
}

/// Whether two rows are on one group of microphone inputs.
fn same(answer: &Answer, a: &Row, b: &Row) -> bool {
    match (microphone_inputs(answer, a), microphone_inputs(answer, b)) {
        (Some(a), Some(b)) => a.label == b.label,
        _ => false,
    }
}

/// All connections between boxes and to the computer, and how their ends meet: a joint for each.
pub(super) fn connections(case: &Case, patch: &Patch, rows: &[Row]) -> (Vec<Connection>, Vec<Joint>) {
    let unit = |at: usize| patch.boxes.get(at).map_or_else(String::new, super::super::Unit::words);
    let mut connections = Vec::new();
    let mut joints = Vec::new();
    // Preamps into line inputs, one connection for each pair of boxes.
    for row in rows {
        let Some(Ok(input)) = patch.inputs.get(row.source) else { continue };
        let Some(line) = &input.line else { continue };
        let known = connections.iter_mut().find(|c: &&mut Connection| {
            c.from_box == input.at && c.to_box == Some(line.at) && c.carries.is_none()
        });
        match known {
            Some(connection) => {
                connection.cables += 1;
                connection.channels += 1;
                connection.output = format!("{}, {}", connection.output, input.number);
                connection.input = format!("{}, {}", connection.input, line.number);
            }
            None => {
                let joint = line_joint(input, line);
                connections.push(Connection {
                    from: unit(input.at),
                    output: format!("output {}", input.number),
                    to: unit(line.at),
                    input: format!("line input {}", line.number),
                    format: "analogue line level".to_owned(),
                    cables: 1,
                    channels: 1,
                    carries: None,
                    cable: joint.cable.clone(),
                    usual_limit_m: joint.usual_limit_m,
                    clock_only: false,
                    from_box: input.at,
                    to_box: Some(line.at),
                });
                joints.push(joint);
            }
        }
    }
    for link in &patch.links {
        let (output, input) = ports(patch, link.from, link.output_group, link.to, link.input_group);
        let joint = digital_joint(output, input, link.format);
        connections.push(Connection {
            from: unit(link.from),
            output: port_words(output, "digital output"),
            to: unit(link.to),
            input: port_words(input, "digital input"),
            format: link.format.words().to_owned(),
            cables: link.cables(),
            channels: link.channels,
            carries: Some(link.channels_per_cable.saturating_mul(link.cables())),
            cable: joint.cable.clone(),
            usual_limit_m: joint.usual_limit_m,
            clock_only: false,
            from_box: link.from,
            to_box: Some(link.to),
        });
        joints.push(joint);
    }
    for (at, clock) in patch.clocks.iter().enumerate() {
        let Some(Clock::Follows { from, by, .. }) = clock else { continue };
        let (format, joint, output, input) = match by {
            ClockCable::Link(_) | ClockCable::Network => continue,
            ClockCable::WordClock => (
                "word clock".to_owned(),
                Joint::word_clock(),
                "word clock output".to_owned(),
                "word clock input".to_owned(),
            ),
            ClockCable::Own { format, output_group, input_group } => {
                let (output, input) = ports(patch, *from, *output_group, at, *input_group);
                (
                    format!("{}, clock alone", format.words()),
                    digital_joint(output, input, *format),
                    port_words(output, "digital output"),
                    port_words(input, "digital input"),
                )
            }
        };
        connections.push(Connection {
            from: unit(*from),
            output,
            to: unit(at),
            input,
            format,
            cables: 1,
            channels: 0,
            carries: Some(0),
            cable: joint.cable.clone(),
            usual_limit_m: joint.usual_limit_m,
            clock_only: true,
            from_box: *from,
            to_box: Some(at),
        });
        joints.push(joint);
    }
    for (at, channels) in to_computer(patch, rows) {
        let Some(front_end) = patch.boxes.get(at).and_then(super::super::Unit::front_end) else { continue };
        let (format, cable) = match front_end.whole.computer {
            Some(ComputerLink::Recorder) => continue,
            Some(ComputerLink::Usb) => ("USB", "the interface's own USB cable"),
            Some(ComputerLink::PciExpress) => {
                ("PCI Express", "none: it is inside the computer, or has its own cable")
            }
            Some(ComputerLink::Ethernet) => ("Ethernet", "network cable"),
            None => ("computer link", "the interface's own cable"),
        };
        connections.push(Connection {
            from: unit(at),
            output: "computer link".to_owned(),
            to: "Computer".to_owned(),
            input: format!("{channels} channels"),
            format: format.to_owned(),
            cables: 1,
            channels,
            carries: super::super::studio::computer_channels(front_end, case.session.sample_rate.value),
            cable: cable.to_owned(),
            usual_limit_m: None,
            clock_only: false,
            from_box: at,
            to_box: None,
        });
        joints.push(Joint::default());
    }
    (connections, joints)
}

/// Boxes that reach the computer, each with the channels that go through it.
pub(super) fn to_computer(patch: &Patch, rows: &[Row]) -> Vec<(usize, u32)> {
    let mut ends: Vec<(usize, u32)> = Vec::new();
    for row in rows {
        let Some(Ok(input)) = patch.inputs.get(row.source) else { continue };
        let begin = input.line.as_ref().map_or(input.at, |line| line.at);
        let end = input.hops.last().and_then(|hop| patch.links.get(hop.link)).map_or(begin, |link| link.to);
        match ends.iter_mut().find(|(at, _)| *at == end) {
            Some((_, n)) => *n += 1,
            None => ends.push((end, 1)),
        }
    }
    ends.sort_unstable();
    ends
}

fn ports(
    patch: &Patch,
    from: usize,
    output_group: usize,
    to: usize,
    input_group: usize,
) -> (Option<&DigitalPorts>, Option<&DigitalPorts>) {
    let front_end = |at: usize| patch.boxes.get(at).and_then(super::super::Unit::front_end);
    (
        front_end(from).and_then(|f| f.digital_outputs.get(output_group)),
        front_end(to).and_then(|f| f.digital_inputs.get(input_group)),
    )
}

fn port_words(port: Option<&DigitalPorts>, otherwise: &str) -> String {
    port.and_then(|port| port.label.clone()).unwrap_or_else(|| otherwise.to_owned())
}

/// Whose clock every box runs on that is in use.
pub(super) fn clocks(patch: &Patch) -> Vec<ClockRow> {
    let unit = |at: usize| patch.boxes.get(at).map_or_else(String::new, super::super::Unit::words);
    let mut rows: Vec<(bool, ClockRow)> = patch
        .clocks
        .iter()
        .enumerate()
        .filter_map(|(at, clock)| match clock.as_ref()? {
            Clock::Leads => {
                let row =
                    ClockRow { device: unit(at), setting: "internal".to_owned(), follows: None, over: None };
                Some((false, row))
            }
            Clock::Follows { from, source, by } => Some((
                true,
                ClockRow {
                    device: unit(at),
                    setting: words::clock::source(*source).to_owned(),
                    follows: Some(unit(*from)),
                    over: Some(words::patch::clock_cable(by)),
                },
            )),
        })
        .collect();
    // Who leads comes first.
    rows.sort_by_key(|(follows, _)| *follows);
    rows.into_iter().map(|(_, row)| row).collect()
}

/// Lengths that cables are sold in, in metres (common practice, no source).
const LENGTHS: [f64; 9] = [1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0];

/// What to have at hand: cables from microphones by length, cables between boxes, adapters.
pub(super) fn items(
    rows: &[Row],
    connections: &[Connection],
    joints: &[Joint],
    between: &[Joint],
) -> Vec<Item> {
    let mut items: Vec<Item> = Vec::new();
    let mut add =
        |what: String, used_for: String, count: u32| match items.iter_mut().find(|item| item.what == what) {
            Some(item) => {
                item.count += count;
                if !item.used_for.contains(&used_for) {
                    item.used_for = format!("{}; {used_for}", item.used_for);
                }
            }
            None => items.push(Item { count, what, used_for }),
        };
    for (row, joint) in rows.iter().zip(joints) {
        let length = LENGTHS
            .iter()
            .copied()
            .find(|length| *length >= row.cable_m - 1e-9)
            .unwrap_or(row.cable_m.ceil());
        let decimals = usize::from(length.fract() != 0.0);
        if !joint.cable.is_empty() {
            add(format!("{}, {} m", joint.cable, words::number(length, decimals)), row.source_words(), 1);
        }
        if row.booster.is_some() {
            add("microphone cable, 1 m".to_owned(), format!("booster of {}", row.source_words()), 1);
        }
        for part in &joint.parts {
            add(part.clone(), row.source_words(), 1);
        }
    }
    for (connection, joint) in connections.iter().zip(between) {
        let used_for = format!("{} to {}", connection.from, connection.to);
        if !joint.cable.is_empty() {
            add(joint.cable.clone(), used_for.clone(), connection.cables);
        }
        for part in &joint.parts {
            add(part.clone(), used_for.clone(), connection.cables);
        }
    }
    for row in rows {
        if let Some(joint) = &row.joint
            && joint.fit == super::LevelFit::TooHot
            && !joint.output_level_control
        {
            add(
                format!("line attenuator, {} dB", words::number(joint.attenuator_db, 0)),
                row.source_words(),
                1,
            );
        }
    }
    items
}
