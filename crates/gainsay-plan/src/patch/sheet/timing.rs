//! How far the channels lie apart in time, and by how much to move which track.

use super::rows::Row;
use crate::case::Case;
use crate::patch::alignment::{Alignment, Delay, Track, align};
use crate::patch::{Input, Patch, Unit};
use gainsay_gear::connection::DigitalFormat;
use gainsay_units::{Hertz, Origin, Samples, Stated};
use serde::Serialize;

/// How all paths lie in time.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Timing {
    /// The distinct paths, the earliest first.
    pub paths: Vec<PathTiming>,
    /// What to do with each track, in the order of the channels.
    pub shifts: Vec<TrackShift>,
}

/// A path from an input to the computer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PathTiming {
    /// The box with the input, and what follows it.
    pub path: String,
    /// What goes that way.
    pub sources: Vec<String>,
    /// Delay from the input to the computer.
    pub samples: f64,
    /// By how much it is later than the earliest path.
    pub late_samples: f64,
    /// The least that this may be.
    pub late_least_samples: f64,
    /// The most that this may be.
    pub late_most_samples: f64,
    /// The same in milliseconds.
    pub late_ms: f64,
    /// The same as a distance in air.
    pub air_m: f64,
    /// Where the first notch would lie if the same sound came over both paths at equal strength; none where they agree.
    pub first_notch_hz: Option<f64>,
    /// Instruments and pairs that have microphones on this path and on the earliest, where the notches are heard.
    pub combs: Vec<String>,
    /// Whether every figure behind it is stated or measured, none typical for its kind.
    pub is_known: bool,
}

/// What to do with a track.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TrackShift {
    /// The channel.
    pub channel: u32,
    /// What is recorded on it.
    pub track: String,
    /// By how many samples it is to be moved earlier.
    pub samples: u32,
}

/// What a digital connection adds: packing and unpacking of frames, and for a network its packets and receive buffer; a
/// converter of the sample rate at the input adds its filters. All from memory: measure where it matters.
fn of_connection(format: DigitalFormat, rate: Hertz, converts_rate: bool) -> Vec<Delay> {
    let delay = |name: String, samples: f64, off: f64| Delay {
        name,
        latency: Samples::new(samples),
        below: Samples::new(off),
        above: Samples::new(off),
    };
    let (samples, off) = match format {
        DigitalFormat::Aes67 => {
            // A packet of 1 ms, and a buffer of one to three more.
            let packet = 0.001 * rate.hertz();
            (3.0 * packet, packet)
        }
        _ => (2.0, 1.0),
    };
    let mut delays = vec![delay(format!("connection, {}", format.words()), samples, off)];
    if converts_rate {
        delays.push(delay("converter of the sample rate".to_owned(), 60.0, 40.0));
    }
    delays
}

pub(super) fn timing(case: &Case, patch: &Patch, rows: &[Row]) -> Timing {
    let rate = case.session.sample_rate.value;
    let input = |row: &Row| patch.inputs.get(row.source).and_then(|input| input.as_ref().ok());
    let tracks: Vec<Track> = rows
        .iter()
        .map(|row| {
            let source = case.sources.get(row.source);
            Track {
                source: row.source_words(),
                group: source.and_then(|s| s.together.clone().or_else(|| s.pair.clone())),
                delays: input(row).map(|input| delays(patch, input, rate)).unwrap_or_default(),
            }
        })
        .collect();
    let alignment = align(&tracks, rate, case.room.temperature);
    let mut order: Vec<usize> = (0..alignment.paths.len()).collect();
    let latency = |path: usize| alignment.paths.get(path).map_or(0.0, |path| path.latency.samples());
    order.sort_by(|a, b| latency(*a).total_cmp(&latency(*b)));
    let Some(earliest) = order.first().copied() else { return Timing::default() };
    let known = |path: usize| {
        let first =
            alignment.paths.get(path).and_then(|path| path.tracks.first()).and_then(|row| rows.get(*row));
        first.and_then(&input).is_some_and(|input| is_known(patch, input))
    };
    let paths = order
        .iter()
        .map(|path| path_timing(patch, rows, &alignment, earliest, *path, known(*path) && known(earliest)))
        .collect();
    let shifts = alignment
        .moves
        .iter()
        .filter_map(|step| {
            let row = rows.get(step.track)?;
            Some(TrackShift {
                channel: row.channel,
                track: row.source_words(),
                samples: u32::try_from(step.earlier_by).unwrap_or(u32::MAX),
            })
        })
        .collect();
    Timing { paths, shifts }
}

fn path_timing(
    patch: &Patch,
    rows: &[Row],
    alignment: &Alignment,
    earliest: usize,
    path: usize,
    is_known: bool,
) -> PathTiming {
    let of_path = alignment.paths.get(path);
    let members: Vec<&Row> =
        of_path.into_iter().flat_map(|path| &path.tracks).filter_map(|track| rows.get(*track)).collect();
    let words = members
        .first()
        .and_then(|row| patch.inputs.get(row.source))
        .and_then(|input| input.as_ref().ok())
        .map_or_else(String::new, |input| path_words(patch, input));
    let offset = alignment
        .offsets
        .iter()
        .find(|o| (o.earlier, o.later) == (earliest, path) || (o.later, o.earlier) == (earliest, path));
    let late = offset.map_or(0.0, |o| o.samples.samples());
    PathTiming {
        path: words,
        sources: members.iter().map(|row| row.source_words()).collect(),
        samples: of_path.map_or(0.0, |path| path.latency.samples()),
        late_samples: late,
        late_least_samples: offset.map_or(0.0, |o| o.least.samples()),
        late_most_samples: offset.map_or(0.0, |o| o.most.samples()),
        late_ms: offset.map_or(0.0, |o| o.time.seconds() * 1000.0),
        air_m: offset.map_or(0.0, |o| o.distance.metres()),
        first_notch_hz: offset.filter(|_| late >= 0.5).map(|o| o.first_notch.hertz()),
        combs: offset.map(|o| o.groups.clone()).unwrap_or_default(),
        is_known,
    }
}

/// Index of the box in which sound becomes digital: the input's own, or behind an analogue preamp that with the line input.
fn converting_box(input: &Input) -> usize {
    input.line.as_ref().map_or(input.at, |line| line.at)
}

fn delays(patch: &Patch, input: &Input, rate: Hertz) -> Vec<Delay> {
    let unit = patch.boxes.get(converting_box(input));
    let own = unit
        .and_then(Unit::front_end)
        .and_then(|front_end| front_end.whole.input_latency.as_ref())
        .and_then(Stated::figure);
    let mut delays: Vec<Delay> = unit
        .zip(own)
        .map(|(unit, figure)| Delay::of(format!("converters of {}", unit.device.name), figure))
        .into_iter()
        .collect();
    for hop in &input.hops {
        let link = patch.links.get(hop.link);
        let converts = link.is_some_and(|link| link.converts_rate && patch.converted.contains(&hop.link));
        delays.extend(of_connection(hop.format, rate, converts));
    }
    delays
}

fn is_known(patch: &Patch, input: &Input) -> bool {
    let front_end = patch.boxes.get(converting_box(input)).and_then(Unit::front_end);
    let figure = front_end.and_then(|f| f.whole.input_latency.as_ref()).and_then(Stated::figure);
    let converted = input.hops.iter().any(|hop| patch.converted.contains(&hop.link));
    figure.is_some_and(|figure| figure.origin < Origin::Typical) && !converted
}

fn path_words(patch: &Patch, input: &Input) -> String {
    let unit = patch.boxes.get(converting_box(input)).map_or_else(String::new, Unit::words);
    match input.hops.first() {
        Some(hop) => format!("{unit} over {}", hop.format.words()),
        None => unit,
    }
}
