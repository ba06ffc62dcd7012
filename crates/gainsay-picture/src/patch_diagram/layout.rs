//! Where columns and rows of the wide picture lie.

use super::wiring::{Channel, Via, Wire, Wiring};
use crate::labels::lines;
use crate::sheet::{Kind, printable};
use gainsay_plan::patch::sheet::{Connection, PatchSheet};
use gainsay_plan::patch::{Patch, Unit};

/// Margin of the picture.
pub(crate) const EDGE: f64 = 16.0;

/// Least width of the picture; more boxes in a row than usual make it wider.
const WIDTH: f64 = crate::lane::WIDTH;

/// Between the texts of two columns.
const SPACE: f64 = 14.0;

/// Least room between two boxes: the words beside a cable stand there.
const LEAST_GAP: f64 = 112.0;

/// Width of a box.
const BOX: (f64, f64) = (112.0, 190.0);

/// A box of this width takes most names in two lines.
const COMFORTABLE_BOX: f64 = 160.0;

/// Least room where no words stand.
const LEAST_BARE_GAP: f64 = 30.0;

/// Room for how late channels are, with its bracket.
const LATE: f64 = 128.0;

/// Baseline to baseline in the head of a box and beside a cable.
pub(crate) const LINE: f64 = 15.0;
pub(crate) const SMALL_LINE: f64 = 13.5;

/// A box, with the lines of its name.
#[derive(Debug, Clone)]
pub(crate) struct Frame {
    /// First and last channel.
    pub(crate) rows: (usize, usize),
    pub(crate) column: usize,
    pub(crate) name: Vec<String>,
    /// The whole name.
    pub(crate) whole: String,
}

/// A cable, or analogue lines side by side, with the words above it.
#[derive(Debug, Clone)]
pub(crate) struct Sleeve {
    /// First and last channel.
    pub(crate) rows: (usize, usize),
    /// Whether it is one cable for all of them.
    pub(crate) is_one: bool,
    /// Left and right end.
    pub(crate) x: (f64, f64),
    pub(crate) words: Vec<String>,
}

/// The wide picture's measures.
#[derive(Debug, Clone)]
pub(crate) struct Layout {
    pub(crate) width: f64,
    /// Whether the microphone stands below its source.
    pub(crate) stacked: bool,
    /// Left edges of the texts about sources and microphones, and where they end.
    pub(crate) source: (f64, f64),
    pub(crate) microphone: (f64, f64),
    /// Right end of the cable's length, and where the line begins.
    pub(crate) start: (f64, f64),
    /// Left and right edge of each column of boxes, counted from the computer to the left.
    pub(crate) columns: Vec<(f64, f64)>,
    pub(crate) computer: (f64, f64),
    /// Left end of the words about time; none where all paths are equally long.
    pub(crate) late: Option<f64>,
    pub(crate) frames: Vec<Frame>,
    pub(crate) sleeves: Vec<Sleeve>,
    /// Room above each row for heads of boxes and words about cables.
    pub(crate) heads: Vec<f64>,
    /// Baseline to baseline of rows.
    pub(crate) pitch: f64,
}

/// Measures of the texts left of the boxes, and of the tracks on the right.
struct Left {
    source: (f64, f64),
    microphone: (f64, f64),
    start: (f64, f64),
    computer: f64,
}

impl Left {
    fn new(wiring: &Wiring<'_>, stacked: bool) -> Self {
        let widest = |kind: Kind, of: &dyn Fn(&Channel<'_>) -> String, least: f64, most: f64| {
            let widths = wiring.channels.iter().map(|channel| kind.width(&printable(&of(channel))));
            // A hair more than the widest, so that it is not cut.
            widths.fold(least, f64::max).min(most) + 0.5
        };
        let many = wiring.columns > 2;
        let most = if many { 206.0 } else { 216.0 };
        let source = widest(Kind::Figure, &|c| c.row.source_words(), 52.0, most);
        let cable = widest(Kind::Tiny, &|c| c.cable(), 30.0, 100.0);
        let track = widest(Kind::Small, &|c| c.track().to_owned(), 60.0, if many { 132.0 } else { 176.0 });
        let (source, microphone) = if stacked {
            let below = widest(Kind::Tiny, &|c| c.microphone(), 76.0, most);
            let both = (EDGE, EDGE + source.max(below));
            (both, both)
        } else {
            let beside = widest(Kind::Small, &|c| c.microphone(), 76.0, most);
            let left = EDGE + source + SPACE;
            ((EDGE, EDGE + source), (left, left + beside))
        };
        let cable_right = microphone.1 + SPACE + cable;
        Self { source, microphone, start: (cable_right, cable_right + 9.0), computer: track + 44.0 }
    }
}

impl Layout {
    pub(crate) fn new(wiring: &Wiring<'_>, sheet: &PatchSheet, patch: &Patch) -> Self {
        let channels = &wiring.channels;
        let late = if channels.iter().any(|channel| channel.late.is_some()) { LATE } else { 0.0 };
        let side_by_side = Left::new(wiring, false);
        // Words about cables need room only before a column into which cables lead, and before the computer.
        let gaps: Vec<f64> = (0..wiring.columns.max(1))
            .map(|column| if wiring.cables(column).is_empty() { LEAST_BARE_GAP } else { LEAST_GAP })
            .collect();
        let all_gaps = gaps.iter().sum::<f64>() + LEAST_GAP;
        let fits = |left: &Left| WIDTH - EDGE - late - left.computer - left.start.1 - all_gaps;
        let columns = wiring.columns.max(1) as f64;
        // Source and microphone stand in one row where that leaves the boxes as wide as they should be, else below each other.
        let stacked = fits(&side_by_side) < columns * COMFORTABLE_BOX;
        let left = if stacked { Left::new(wiring, true) } else { side_by_side };
        // What is left for boxes and the room between them: boxes first, up to their most.
        let room = fits(&left);
        let boxes = (room / columns).clamp(BOX.0, BOX.1);
        let more = (room - boxes * columns).max(0.0) / (columns + 1.0);
        let mut edges: Vec<(f64, f64)> = Vec::new();
        let mut x = left.start.1;
        for gap in gaps.iter().rev() {
            x += gap + more;
            edges.push((x, x + boxes));
            x += boxes;
        }
        x += LEAST_GAP + more;
        edges.reverse();
        let computer = (x, x + left.computer);
        let width = computer.1 + late + EDGE;
        let mut layout = Self {
            width,
            stacked,
            source: left.source,
            microphone: left.microphone,
            start: left.start,
            columns: edges,
            computer,
            late: (late > 0.0).then_some(computer.1 + 10.0),
            frames: Vec::new(),
            sleeves: Vec::new(),
            heads: vec![0.0; channels.len()],
            pitch: if stacked { 33.0 } else { 28.0 },
        };
        layout.place_boxes(wiring, patch);
        layout.place_cables(wiring, sheet, patch);
        layout.make_heads();
        layout
    }

    fn place_boxes(&mut self, wiring: &Wiring<'_>, patch: &Patch) {
        for (column, (left, right)) in self.columns.iter().enumerate() {
            let mut seen: Vec<usize> = Vec::new();
            for (first, last, at) in wiring.boxes(column) {
                let mut whole = patch.boxes.get(at).map(Unit::words).unwrap_or_default();
                // A box whose channels go several ways is drawn for each of them.
                if seen.contains(&at) {
                    whole = format!("{whole} (the same box)");
                }
                seen.push(at);
                let whole = printable(&whole);
                let name = lines(&whole, Kind::Figure.size(), Kind::Figure.bold(), right - left - 20.0, 3);
                self.frames.push(Frame { rows: (first, last), column, name, whole });
            }
        }
    }

    fn place_cables(&mut self, wiring: &Wiring<'_>, sheet: &PatchSheet, patch: &Patch) {
        for (column, (left, _)) in self.columns.iter().enumerate() {
            let before = self.columns.get(column + 1).map_or(self.start.1, |(_, right)| *right);
            for (first, last, wire) in wiring.cables(column) {
                let words = wire_words(wire, sheet, patch);
                let is_one = matches!(wire.via, Via::Cable { .. });
                let x = (before, *left);
                let words = broken(&words, x.1 - x.0);
                self.sleeves.push(Sleeve { rows: (first, last), is_one, x, words });
            }
        }
        let last = self.columns.first().map_or(self.start.1, |(_, right)| *right);
        for (first, end, at) in wiring.runs(Channel::end) {
            let x = (last, self.computer.0);
            let Some(connection) = to_computer(sheet, at) else { continue };
            let mut words = vec![connection.format.clone()];
            words.extend(channel_words(connection));
            let words = broken(&words, x.1 - x.0);
            self.sleeves.push(Sleeve { rows: (first, end), is_one: true, x, words });
        }
    }

    /// How much room rows need above them: for the head of a box that begins there, and for the words about a cable.
    fn make_heads(&mut self) {
        for frame in &self.frames {
            if let Some(head) = self.heads.get_mut(frame.rows.0) {
                *head = head.max(18.0 + LINE * frame.name.len() as f64);
            }
        }
        for sleeve in &self.sleeves {
            if let Some(head) = self.heads.get_mut(sleeve.rows.0) {
                *head = head.max(10.0 + SMALL_LINE * sleeve.words.len() as f64);
            }
        }
        // Nor does what follows below a box that ends touch it.
        for frame in &self.frames {
            if let Some(head) = self.heads.get_mut(frame.rows.1 + 1) {
                *head = head.max(0.1);
            }
        }
        // The head of the computer.
        if let Some(head) = self.heads.first_mut() {
            *head = head.max(34.0);
        }
    }

    /// The lines of all rows, the first below `top`; and the end of the last.
    pub(crate) fn rows(&self, top: f64) -> (Vec<f64>, f64) {
        let mut y = top;
        let mut rows = Vec::with_capacity(self.heads.len());
        for (index, head) in self.heads.iter().enumerate() {
            // What begins here does not touch what ended above.
            if index > 0 && *head > 0.0 {
                y += 10.0;
            }
            y += head;
            rows.push(y + self.pitch / 2.0);
            y += self.pitch;
        }
        (rows, y)
    }
}

/// The connection of a box with the computer; none of a recorder.
pub(crate) fn to_computer(sheet: &PatchSheet, at: usize) -> Option<&Connection> {
    sheet.connections.iter().find(|connection| connection.from_box == at && connection.to_box.is_none())
}

/// Channels used of those carried.
pub(crate) fn channel_words(connection: &Connection) -> Option<String> {
    let plural = if connection.carries.unwrap_or(connection.channels) == 1 { "" } else { "s" };
    Some(match connection.carries {
        Some(carries) => format!("{} of {carries} channel{plural}", connection.channels),
        None => format!("{} channel{plural}", connection.channels),
    })
}

/// What stands beside a cable: format, channels, cables.
pub(crate) fn wire_words(wire: Wire, sheet: &PatchSheet, patch: &Patch) -> Vec<String> {
    let Via::Cable { link: index, cable } = wire.via else {
        let cables = sheet
            .connections
            .iter()
            .find(|c| {
                c.from_box == wire.from && c.to_box == Some(wire.to) && c.carries.is_none() && !c.clock_only
            })
            .map_or(1, |connection| connection.cables);
        return vec!["analogue line".to_owned(), cable_count(cables)];
    };
    let Some(link) = patch.links.get(index) else { return Vec::new() };
    if cable > 1 {
        return vec![format!("cable {cable}")];
    }
    let carries = link.channels_per_cable.saturating_mul(link.cables());
    let mut words = vec![
        link.format.words().to_owned(),
        format!("{} of {carries} channels", link.channels),
        cable_count(link.cables()),
    ];
    if link.converts_rate && patch.converted.contains(&index) {
        words.push("converts the rate".to_owned());
    }
    words
}

fn cable_count(cables: u32) -> String {
    if cables == 1 { "1 cable".to_owned() } else { format!("{cables} cables") }
}

/// Words beside a cable in lines that fit.
fn broken(words: &[String], room: f64) -> Vec<String> {
    let kind = Kind::Tiny;
    words.iter().flat_map(|w| lines(&printable(w), kind.size(), kind.bold(), room - 10.0, 3)).collect()
}
