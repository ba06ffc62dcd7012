//! A wide lane: caption, plot and margins of one source.

use crate::caption;
use crate::ceilings;
use crate::columns::{Column, Columns};
use crate::figures;
use crate::margin::{LEVELS, Margin};
use crate::noise;
use crate::scale::{Frame, Range, coordinate};
use crate::sheet::{Anchor, Kind, Sheet, Text};
use crate::signal;
use crate::track::Track;
use gainsay_plan::{LevelAnswer, SourceAnswer};

/// Width of a wide picture.
pub(crate) const WIDTH: f64 = 1216.0;
/// Left and right edge of the plot.
pub(crate) const PLOT: (f64, f64) = (56.0, 786.0);

/// How high the parts of a lane are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Size {
    Large,
    Usual,
    Compact,
}

impl Size {
    const fn plot(self) -> f64 {
        match self {
            Self::Large => 360.0,
            Self::Usual => 236.0,
            Self::Compact => 104.0,
        }
    }
}

/// Everything that all lanes of a picture share.
pub(crate) struct Common<'a> {
    pub(crate) columns: &'a Columns,
    pub(crate) range: Range,
    pub(crate) target: f64,
    pub(crate) prefix: &'a str,
}

/// A source with its levels, and how it was before.
pub(crate) struct Subject<'a> {
    pub(crate) source: &'a SourceAnswer,
    pub(crate) track: Option<Track>,
    pub(crate) before: Option<(Track, &'a LevelAnswer)>,
    pub(crate) number: usize,
}

impl Subject<'_> {
    /// Identifiers in its markup begin so.
    pub(crate) fn identifier(&self, prefix: &str) -> String {
        format!("{prefix}-{}", self.number)
    }
}

/// Draws a lane from `top` on; returns its height.
pub(crate) fn draw(
    sheet: &mut Sheet,
    subject: &Subject<'_>,
    common: &Common<'_>,
    size: Size,
    top: f64,
) -> f64 {
    let compact = size == Size::Compact;
    let caption = if compact {
        caption::compact(sheet, subject.source, PLOT.0, top, WIDTH)
    } else {
        caption::wide(sheet, subject.source, PLOT.0, top, WIDTH)
    };
    let (Some(track), Some(result)) = (&subject.track, &subject.source.result) else {
        return caption + 14.0;
    };
    let start = top + caption + if compact { 12.0 } else { 26.0 };
    let frame = Frame {
        turned: false,
        range: common.range,
        columns: common.columns.clone(),
        x: PLOT,
        y: (start, start + size.plot()),
    };
    plot(sheet, subject, track, result, &frame, common, size);
    let foot = match (compact, subject.source.route.is_some()) {
        (true, false) => 18.0,
        (true, true) => 24.0,
        (false, _) => 26.0,
    };
    frame.y.1 - top + foot
}

fn plot(
    sheet: &mut Sheet,
    subject: &Subject<'_>,
    track: &Track,
    result: &LevelAnswer,
    frame: &Frame,
    common: &Common<'_>,
    size: Size,
) {
    let compact = size == Size::Compact;
    let margin = Margin {
        frame,
        track,
        result,
        target: common.target,
        before: subject.before.as_ref().map(|(_, result)| *result),
        compact,
        prefix: common.prefix,
    };
    stages(sheet, frame, track);
    noise::strata(sheet, frame, track, common.prefix);
    signal::band(sheet, frame, track);
    ceilings::passed(sheet, frame, track, &subject.identifier(common.prefix));
    ceilings::lines(sheet, frame, track);
    if let Some((before, _)) = &subject.before {
        signal::before(sheet, frame, track, before);
    }
    signal::gains(sheet, frame, track);
    margin.target(sheet);
    if !compact {
        ceilings::names(sheet, frame, track, result);
        margin.distance(sheet);
        signal::figures(sheet, frame, track);
        noise::names(sheet, frame, track);
        link(sheet, frame, track, subject.source);
        ties(sheet, frame, track);
    } else {
        link(sheet, frame, track, subject.source);
    }
    margin.air_scale(sheet);
    margin.file_scale(sheet);
    margin.shares(sheet, WIDTH);
}

/// A fine line at every stage that the source has.
fn stages(sheet: &mut Sheet, frame: &Frame, track: &Track) {
    let mut path = String::new();
    for point in &track.points {
        let x = coordinate(frame.along(frame.columns.position(point.column)));
        path.push_str(&format!("M{x} {}V{}", coordinate(frame.y.0), coordinate(frame.y.1)));
    }
    let (left, right) = (coordinate(frame.x.0), coordinate(frame.x.1));
    path.push_str(&format!("M{left} {}H{right}", coordinate(frame.y.1)));
    sheet.path("stage", &path);
}

/// What ties the air and the file to the axis.
fn ties(sheet: &mut Sheet, frame: &Frame, track: &Track) {
    let y = frame.y.1 + 14.0;
    if let Some(air) = track.air {
        let words = format!(
            "tied by the microphone: {} gives {}",
            figures::level(94.0, "dB SPL"),
            figures::level(94.0 + air, "dBu")
        );
        sheet.text(Text::new(Kind::Tiny, frame.x.0, y, Anchor::Start, &words).class("quiet"));
    } else if let Some(first) = track.points.first() {
        let x = frame.along(frame.columns.position(first.column));
        sheet.text(Text::new(Kind::Tiny, x, y, Anchor::Start, "electrical output").class("quiet"));
    }
    let words = format!(
        "tied by the converter: {} is {}",
        figures::level(0.0, "dBFS"),
        figures::level(track.full_scale, "dBu")
    );
    // A link may have taken the place below the file.
    let at = |x: f64| Text::new(Kind::Tiny, x, y, Anchor::End, &words).class("quiet");
    let converter = frame.along(frame.columns.position(Column::Converter));
    sheet.text_where_free(&[at(frame.x.1), at(converter - 6.0)]);
}

/// A link between devices: a cable between preamp and line input, or a digital one between converter and file.
fn link(sheet: &mut Sheet, frame: &Frame, track: &Track, source: &SourceAnswer) {
    if source.route.is_none() {
        return;
    }
    let has = |column| track.point(column).is_some();
    let (from, to, words) = if has(Column::PreampOut) && has(Column::LineIn) {
        (Column::PreampOut, Column::LineIn, "cable")
    } else {
        (Column::Converter, Column::File, "digital link")
    };
    let along = |column| frame.along(frame.columns.position(column));
    let (from, to, y) = (along(from) + 3.0, along(to) - 3.0, frame.y.1 + 10.0);
    let middle = f64::midpoint(from, to);
    let half = Kind::Tiny.width(words) / 2.0 + 5.0;
    let (a, b) = (coordinate(from), coordinate(to));
    let y0 = coordinate(y);
    let mut path = format!("M{a} {y0}m0-4v8M{b} {y0}m0-4v8");
    // Two lines for numbers, one for a voltage.
    let offsets: &[f64] = if words == "cable" { &[0.0] } else { &[-1.5, 1.5] };
    for offset in offsets {
        let y = coordinate(y + offset);
        path.push_str(&format!(
            "M{a} {y}H{}M{} {y}H{b}",
            coordinate(middle - half),
            coordinate(middle + half)
        ));
    }
    sheet.path("axis", &path);
    sheet.text(Text::new(Kind::Tiny, middle, y + 3.8, Anchor::Middle, words));
}

/// The names of the stages above the lanes.
pub(crate) fn header(sheet: &mut Sheet, columns: &Columns, has_air: bool, size: Size, top: f64) -> f64 {
    let y = top + 26.0;
    let last = columns.iter().next_back().map(|(column, _)| column);
    let mut path = String::new();
    for (index, (column, position)) in columns.iter().enumerate() {
        let x = PLOT.0 + position * (PLOT.1 - PLOT.0);
        let anchor = match () {
            () if index == 0 => Anchor::Start,
            () if Some(column) == last => Anchor::End,
            () => Anchor::Middle,
        };
        let words = match column {
            Column::Microphone if !has_air => "electrical output",
            other => other.words(),
        };
        let text = |y: f64| Text::new(Kind::Stage, x, y, anchor, words);
        sheet.text_where_free(&[text(y), text(y - 15.0)]);
        path.push_str(&format!("M{} {}v5", coordinate(x), coordinate(y + 5.0)));
    }
    sheet.path("axis", &path);
    let left = if has_air { "dB SPL" } else { "dBu" };
    let unit = |x: f64, anchor, words| Text::new(Kind::Tick, x, y, anchor, words).class("quiet");
    sheet.text(unit(PLOT.0 - 7.0, Anchor::End, left));
    sheet.text(unit(PLOT.1 + 8.0, Anchor::Start, "dBFS"));
    let interval = if size == Size::Compact { "in the file" } else { "in the file (95\u{2009}% interval)" };
    sheet.text(unit(LEVELS, Anchor::Start, interval));
    sheet.text(unit(crate::margin::BAR.0, Anchor::Start, "the noise is made of"));
    38.0
}
