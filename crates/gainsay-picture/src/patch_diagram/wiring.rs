//! The way of every channel from its source to the computer, and the order of the channels in which no two ways cross.

use crate::figures::{THIN, with_unit};
use gainsay_plan::patch::sheet::{LevelFit, PatchSheet, PathTiming, Row};
use gainsay_plan::patch::{Input, Patch, Socket};
use gainsay_plan::words::number;

/// How a channel gets into a box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Via {
    /// From the microphone, or from the output of an electrical source.
    Source,
    /// From the output of an analogue preamp, by a cable of its own.
    Analogue,
    /// Over a digital connection, in one of its cables.
    Cable { link: usize, cable: u32 },
}

/// A box on the way of a channel.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Stop {
    /// Index of the box.
    pub(crate) at: usize,
    /// Its column, counted from the computer to the left.
    pub(crate) column: usize,
    /// How the channel gets there.
    pub(crate) via: Via,
    /// Which input it takes.
    pub(crate) input: String,
    /// How the input is to be set.
    pub(crate) settings: String,
}

/// A channel of the recording.
#[derive(Debug, Clone)]
pub(crate) struct Channel<'a> {
    pub(crate) row: &'a Row,
    /// The boxes on its way, the first first.
    pub(crate) stops: Vec<Stop>,
    /// By how many whole samples it is later than the earliest, and what is known of that.
    pub(crate) late: Option<(u32, &'a PathTiming)>,
    /// Microphone inputs come before line inputs; then the number.
    rank: (u8, u32),
}

impl Channel<'_> {
    /// A stop, counted from the computer.
    fn nth_from_computer(&self, depth: usize) -> Option<&Stop> {
        self.stops.len().checked_sub(depth + 1).and_then(|index| self.stops.get(index))
    }

    /// How it leaves a stop, counted from the computer; none of the last, which goes to the computer.
    fn way_out(&self, depth: usize) -> Option<Via> {
        depth.checked_sub(1).and_then(|next| self.nth_from_computer(next)).map(|stop| stop.via)
    }

    /// The box from which it goes to the computer.
    pub(crate) fn end(&self) -> Option<usize> {
        self.stops.last().map(|stop| stop.at)
    }

    pub(crate) fn stop_in(&self, column: usize) -> Option<&Stop> {
        self.stops.iter().find(|stop| stop.column == column)
    }

    /// The box before that in a column.
    pub(crate) fn before(&self, column: usize) -> Option<usize> {
        let index = self.stops.iter().position(|stop| stop.column == column)?;
        index.checked_sub(1).and_then(|index| self.stops.get(index)).map(|stop| stop.at)
    }

    /// The microphone, or that there is none.
    pub(crate) fn microphone(&self) -> String {
        let mut words = self.row.microphone.clone().unwrap_or_else(|| "straight from its output".to_owned());
        if self.row.microphone_pad {
            words.push_str(", its pad on");
        }
        words
    }

    /// Length of the cable behind the microphone, and whether a booster is in it.
    pub(crate) fn cable(&self) -> String {
        let length = (self.row.cable_m > 0.0).then(|| crate::figures::distance(self.row.cable_m));
        let booster = self.row.booster.as_ref().map(|_| "booster".to_owned());
        length.into_iter().chain(booster).collect::<Vec<String>>().join(", ")
    }

    /// Number of the track, in two digits.
    pub(crate) fn number(&self) -> String {
        format!("{:02}", self.row.channel)
    }

    /// Name of the track without its number.
    pub(crate) fn track(&self) -> &str {
        let track = self.row.track.as_str();
        track.strip_prefix(self.number().as_str()).map_or(track, str::trim_start)
    }
}

/// All channels, from top to bottom.
#[derive(Debug, Clone)]
pub(crate) struct Wiring<'a> {
    pub(crate) channels: Vec<Channel<'a>>,
    /// Columns with boxes.
    pub(crate) columns: usize,
    /// Whether the first column holds nothing but analogue preamps.
    pub(crate) preamps: bool,
    /// Channels that are left out.
    pub(crate) left_out: usize,
}

impl<'a> Wiring<'a> {
    pub(crate) fn new(sheet: &'a PatchSheet, patch: &Patch, most: usize) -> Self {
        let mut channels: Vec<Channel<'a>> = sheet
            .rows
            .iter()
            .take(most)
            .filter_map(|row| {
                let input = patch.inputs.get(row.source)?.as_ref().ok()?;
                Some(Channel {
                    row,
                    stops: stops(row, input, patch),
                    late: late(sheet, row),
                    rank: (u8::from(matches!(input.socket, Socket::Line(_))), input.number),
                })
            })
            .collect();
        // Digital boxes count from the computer; preamps have a column of their own before all of them.
        let mut columns = 0;
        let mut preamps = false;
        for channel in &mut channels {
            let last = channel.stops.len();
            for (index, stop) in channel.stops.iter_mut().enumerate() {
                stop.column = last - 1 - index;
            }
            let is_preamp = channel.stops.get(1).is_some_and(|stop| stop.via == Via::Analogue);
            preamps |= is_preamp;
            columns = columns.max(if is_preamp { last - 1 } else { last });
        }
        if preamps {
            for channel in &mut channels {
                if channel.stops.get(1).is_some_and(|stop| stop.via == Via::Analogue)
                    && let Some(first) = channel.stops.first_mut()
                {
                    first.column = columns;
                }
            }
            columns += 1;
        }
        let order = ordered(&channels, (0..channels.len()).collect(), 0);
        let channels = order.into_iter().filter_map(|index| channels.get(index).cloned()).collect();
        Self { channels, columns, preamps, left_out: sheet.rows.len().saturating_sub(most) }
    }

    /// Runs of neighbouring channels that agree in something: first and last channel, and what they agree in.
    pub(crate) fn runs<T: PartialEq>(
        &self,
        of: impl Fn(&Channel<'a>) -> Option<T>,
    ) -> Vec<(usize, usize, T)> {
        let mut runs: Vec<(usize, usize, T)> = Vec::new();
        for (index, channel) in self.channels.iter().enumerate() {
            let Some(value) = of(channel) else { continue };
            match runs.last_mut() {
                Some((_, last, known)) if *last + 1 == index && *known == value => *last = index,
                _ => runs.push((index, index, value)),
            }
        }
        runs
    }

    /// The boxes in a column, each as a run of channels.
    pub(crate) fn boxes(&self, column: usize) -> Vec<(usize, usize, usize)> {
        self.runs(|channel| channel.stop_in(column).map(|stop| stop.at))
    }

    /// What leads from the left into a column: each cable, or all analogue lines between two boxes, as a run of channels.
    pub(crate) fn cables(&self, column: usize) -> Vec<(usize, usize, Wire)> {
        self.runs(|channel| {
            let stop = channel.stop_in(column)?;
            let from = channel.before(column)?;
            Some(Wire { from, to: stop.at, via: stop.via })
        })
    }
}

/// What leads from box to box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Wire {
    pub(crate) from: usize,
    pub(crate) to: usize,
    pub(crate) via: Via,
}

fn stops(row: &Row, input: &Input, patch: &Patch) -> Vec<Stop> {
    let socket = match &input.socket {
        Socket::Microphone(_) => input.number.to_string(),
        Socket::Line(_) => format!("{} {}", short(input.socket.words()), input.number),
    };
    let mut stops =
        vec![Stop { at: input.at, column: 0, via: Via::Source, input: socket, settings: settings(row) }];
    let mut next = |at, via, input, settings| stops.push(Stop { at, column: 0, via, input, settings });
    if let Some(line) = &input.line {
        // Where the preamp is too hot for the line input, what has to stand between them belongs to that input.
        let attenuator = row
            .joint
            .filter(|joint| joint.fit == LevelFit::TooHot && !joint.output_level_control)
            .map(|joint| format!("attenuator {}", with_unit(&number(joint.attenuator_db, 0), "dB")));
        next(line.at, Via::Analogue, format!("line {}", line.number), attenuator.unwrap_or_default());
    }
    for hop in &input.hops {
        let Some(link) = patch.links.get(hop.link) else { break };
        let via = Via::Cable { link: hop.link, cable: hop.cable };
        next(link.to, via, format!("ch. {}", hop.channel), String::new());
    }
    stops
}

/// The kind of an electrical input, short.
fn short(words: &str) -> &str {
    words.strip_suffix(" input").unwrap_or(words)
}

/// How an input is to be set.
fn settings(row: &Row) -> String {
    let mut parts = Vec::new();
    if row.phantom {
        parts.push("P48".to_owned());
    }
    if row.pad_db > 0.0 {
        parts.push(format!("pad {}{THIN}dB", number(row.pad_db, 0)));
    }
    parts.join(", ")
}

/// How late a row is; none where all paths are equally long.
fn late<'a>(sheet: &'a PatchSheet, row: &Row) -> Option<(u32, &'a PathTiming)> {
    if sheet.timing.shifts.iter().all(|shift| shift.samples == 0) {
        return None;
    }
    let shift = sheet.timing.shifts.iter().find(|shift| shift.channel == row.channel)?;
    let words = row.source_words();
    let names =
        |path: &&PathTiming| path.sources.iter().any(|name| *name == words || row.sources.contains(name));
    let agrees = |path: &&PathTiming| (path.late_samples - f64::from(shift.samples)).abs() <= 0.5;
    let paths = &sheet.timing.paths;
    // Two sources of one name: the one whose figure agrees.
    let path = paths.iter().find(|path| names(path) && agrees(path)).or_else(|| paths.iter().find(agrees));
    path.map(|path| (shift.samples, path))
}

/// A box and the way out of it.
type BoxAndWay = (usize, Option<Via>);

/// The channels in an order in which those that share a box, and a cable out of it, lie side by side: then no two ways cross.
/// Groups follow each other as their first tracks do; within a box its own inputs come in their order.
fn ordered(channels: &[Channel<'_>], group: Vec<usize>, depth: usize) -> Vec<usize> {
    // Box at this depth and the way out of it, with its channels; none of those that begin one box nearer to the computer.
    let mut parts: Vec<(Option<BoxAndWay>, Vec<usize>)> = Vec::new();
    for index in group {
        let Some(channel) = channels.get(index) else { continue };
        let way_out = channel.way_out(depth).map(|via| match via {
            // All cables of a connection together.
            Via::Cable { link, .. } => Via::Cable { link, cable: 0 },
            other => other,
        });
        let key = channel.nth_from_computer(depth).map(|stop| (stop.at, way_out));
        match parts.iter_mut().find(|(known, _)| *known == key) {
            Some((_, members)) => members.push(index),
            None => parts.push((key, vec![index])),
        }
    }
    let first = |members: &[usize]| {
        members.iter().filter_map(|index| channels.get(*index)).map(|channel| channel.row.channel).min()
    };
    parts.sort_by_key(|(_, members)| first(members));
    let mut order = Vec::new();
    for (key, mut members) in parts {
        if key.is_some() {
            order.extend(ordered(channels, members, depth + 1));
        } else {
            members.sort_by_key(|index| {
                let channel = channels.get(*index)?;
                let cable = match channel.way_out(depth.saturating_sub(1)) {
                    Some(Via::Cable { cable, .. }) => cable,
                    _ => 0,
                };
                Some((cable, channel.rank))
            });
            order.extend(members);
        }
    }
    order
}
