//! How far signals on different paths lie apart in time.
//!
//! Every converter delays what goes through it, and two paths into one recording seldom by as much. Between microphones on one
//! instrument the difference makes a comb filter; between instruments it only moves what bleeds from one into the other, as if
//! the microphone stood a little further away.

use gainsay_units::sound::{distance_of, duration, first_notch};
use gainsay_units::{Figure, Hertz, Kelvin, Metres, Samples, Seconds};

/// One delay on the way of a signal.
#[derive(Debug, Clone, PartialEq)]
pub struct Delay {
    /// What delays: two delays of the same name are the same delay, whose doubt cancels between paths that share it.
    pub name: String,
    /// The best estimate.
    pub latency: Samples,
    /// How far below the estimate it may be, not negative.
    pub below: Samples,
    /// How far above the estimate it may be, not negative.
    pub above: Samples,
}

impl Delay {
    /// From a figure, with its limits at 95 %.
    #[must_use]
    pub fn of(name: impl Into<String>, figure: &Figure<Samples>) -> Self {
        let (below, above) = figure.spread.half_widths_95();
        Self {
            name: name.into(),
            latency: figure.value,
            below: Samples::new(below),
            above: Samples::new(above),
        }
    }
}

/// A track of the recording and the way of its signal.
#[derive(Debug, Clone, PartialEq)]
pub struct Track {
    /// Name of the source.
    pub source: String,
    /// A word that microphones on one instrument share.
    pub group: Option<String>,
    /// What delays the signal.
    pub delays: Vec<Delay>,
}

/// Tracks whose signals take the same way.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// Indices of the tracks.
    pub tracks: Vec<usize>,
    /// The whole delay, by the best estimates.
    pub latency: Samples,
}

/// How far two paths lie apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Offset {
    /// Index of the path whose signals come first.
    pub earlier: usize,
    /// Index of the path whose signals come later.
    pub later: usize,
    /// By how many samples, not negative.
    pub samples: Samples,
    /// The least that it may be; negative where the order may be the other way round.
    pub least: Samples,
    /// The most that it may be.
    pub most: Samples,
    /// The same as a time.
    pub time: Seconds,
    /// Where the first notch of the comb filter lies that the two make of equal signals; infinite where nothing lies between.
    pub first_notch: Hertz,
    /// The lowest that the first notch may lie, where they are as far apart as they may be.
    pub lowest_notch: Hertz,
    /// How far sound travels in the air in that time.
    pub distance: Metres,
    /// The groups that have a microphone on either path, where the comb filter is heard; without any, only bleed is moved.
    pub groups: Vec<String>,
}

impl Offset {
    /// Whether microphones on one instrument are on the two paths and lie apart, or may.
    #[must_use]
    pub fn is_comb_filter(&self) -> bool {
        !self.groups.is_empty() && (self.most.samples() > 0.0 || self.least.samples() < 0.0)
    }
}

/// By how much to move a track so that all line up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Move {
    /// Index of the track.
    pub track: usize,
    /// How many samples earlier it belongs.
    pub earlier_by: u64,
    /// How far off it may still be then, either way: the doubt about the delays, and what rounding to whole samples leaves.
    pub off_by_at_most: Samples,
}

/// What lies apart, and what to do about it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Alignment {
    /// The different paths, in the order of their first tracks.
    pub paths: Vec<Path>,
    /// Every pair of different paths.
    pub offsets: Vec<Offset>,
    /// For each track by how much to move it, to line up with the earliest path.
    pub moves: Vec<Move>,
}

impl Alignment {
    /// Whether anything lies apart, or may.
    #[must_use]
    pub fn is_needed(&self) -> bool {
        self.offsets.iter().any(|offset| offset.most.samples() > 0.0 || offset.least.samples() < 0.0)
    }
}

/// Works out how far the tracks lie apart at a sample rate, in air of a temperature.
#[must_use]
pub fn align(tracks: &[Track], rate: Hertz, temperature: Kelvin) -> Alignment {
    // Tracks that take the same way, each way as the delays of its first track.
    let mut ways: Vec<(&[Delay], Path)> = Vec::new();
    for (index, track) in tracks.iter().enumerate() {
        match ways.iter_mut().find(|(delays, _)| same_way(delays, &track.delays)) {
            Some((_, path)) => path.tracks.push(index),
            None => {
                let latency = track.delays.iter().fold(Samples::new(0.0), |sum, delay| sum + delay.latency);
                ways.push((&track.delays, Path { tracks: vec![index], latency }));
            }
        }
    }
    let mut offsets = Vec::new();
    for (a, (first, first_path)) in ways.iter().enumerate() {
        for (b, (second, second_path)) in ways.iter().enumerate().skip(a + 1) {
            let groups = shared_groups(tracks, first_path, second_path);
            let (difference, below, above) = difference(first, second);
            let (earlier, later, samples, least, most) = if difference >= 0.0 {
                (a, b, difference, difference - below, difference + above)
            } else {
                (b, a, -difference, -difference - above, -difference + below)
            };
            let furthest = most.abs().max(least.abs());
            let time = duration(Samples::new(samples), rate);
            offsets.push(Offset {
                earlier,
                later,
                samples: Samples::new(samples),
                least: Samples::new(least),
                most: Samples::new(most),
                time,
                first_notch: first_notch(time),
                lowest_notch: first_notch(duration(Samples::new(furthest), rate)),
                distance: distance_of(time, temperature),
                groups,
            });
        }
    }
    let earliest = ways.iter().min_by(|(_, a), (_, b)| a.latency.samples().total_cmp(&b.latency.samples()));
    let mut moves: Vec<Move> = Vec::with_capacity(tracks.len());
    if let Some((reference, _)) = earliest {
        for (delays, path) in &ways {
            let (difference, below, above) = difference(reference, delays);
            // A count of samples above zero; what does not fit stays at the largest.
            let whole = difference.round().max(0.0);
            let left = (difference - below - whole).abs().max((difference + above - whole).abs());
            moves.extend(path.tracks.iter().map(|track| Move {
                track: *track,
                earlier_by: whole as u64,
                off_by_at_most: Samples::new(left),
            }));
        }
    }
    moves.sort_by_key(|step| step.track);
    Alignment { paths: ways.into_iter().map(|(_, path)| path).collect(), offsets, moves }
}

/// Whether two ways go through the same delays, in whatever order.
fn same_way(a: &[Delay], b: &[Delay]) -> bool {
    let (only_a, only_b) = apart(a, b);
    only_a.is_empty() && only_b.is_empty()
}

/// The delays that only the one and only the other way has; each delay of one way is set against one of the other.
fn apart<'a>(a: &'a [Delay], b: &'a [Delay]) -> (Vec<&'a Delay>, Vec<&'a Delay>) {
    let mut only_b: Vec<&Delay> = b.iter().collect();
    let mut only_a = Vec::new();
    for delay in a {
        match only_b.iter().position(|other| other.name == delay.name) {
            Some(at) => {
                only_b.remove(at);
            }
            None => only_a.push(delay),
        }
    }
    (only_a, only_b)
}

/// How many samples later signals come on the second way, and how much less and more it may be. The delays of different
/// things may all be off to the same side, so their limits add up.
fn difference(first: &[Delay], second: &[Delay]) -> (f64, f64, f64) {
    let (only_first, only_second) = apart(first, second);
    let sum = |delays: &[&Delay], part: fn(&Delay) -> Samples| -> f64 {
        delays.iter().map(|delay| part(delay).samples()).sum()
    };
    let latency = sum(&only_second, |d| d.latency) - sum(&only_first, |d| d.latency);
    let below = sum(&only_second, |d| d.below) + sum(&only_first, |d| d.above);
    let above = sum(&only_second, |d| d.above) + sum(&only_first, |d| d.below);
    (latency, below, above)
}

/// The groups that have tracks on both paths.
fn shared_groups(tracks: &[Track], a: &Path, b: &Path) -> Vec<String> {
    let groups = |path: &Path| -> Vec<&String> {
        path.tracks.iter().filter_map(|track| tracks.get(*track)?.group.as_ref()).collect()
    };
    let on_b = groups(b);
    let mut shared: Vec<String> =
        groups(a).into_iter().filter(|group| on_b.contains(group)).cloned().collect();
    shared.sort_unstable();
    shared.dedup();
    shared
}
