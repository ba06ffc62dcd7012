//! The band from the quietest passage to the loudest peak, its soft edges, its figures, and its gains.

use crate::columns::Column;
use crate::figures;
use crate::scale::Frame;
use crate::sheet::{Anchor, Kind, Sheet, Text};
use crate::track::{Point, Track};
use gainsay_plan::Estimate;

/// Steps of a soft edge.
const STEPS: u8 = 12;

/// Level at a share of an interval.
fn within(estimate: &Estimate, share: f64) -> f64 {
    estimate.low + share * (estimate.high - estimate.low)
}

/// A line through the points of a track.
pub(crate) fn line(frame: &Frame, track: &Track, level: impl Fn(&Point) -> f64) -> Vec<(f64, f64)> {
    track.points.iter().map(|point| (frame.columns.position(point.column), level(point))).collect()
}

/// Between two points of a line.
pub(crate) fn at(line: &[(f64, f64)], position: f64) -> Option<f64> {
    line.windows(2).find_map(|pair| {
        let [(from, start), (to, end)] = pair else { return None };
        let inside = position >= *from && position <= *to && to > from;
        inside.then(|| start + (position - from) / (to - from) * (end - start))
    })
}

/// Halfway between peak and quietest passage: where an edge stops, however soft.
fn middle(point: &Point) -> f64 {
    f64::midpoint(point.peak.median, point.quiet.median)
}

/// Level above which, and below which, the band is solid.
fn core(point: &Point) -> (f64, f64) {
    let middle = middle(point);
    (point.peak.low.max(middle), point.quiet.high.min(middle))
}

/// The band.
pub(crate) fn band(sheet: &mut Sheet, frame: &Frame, track: &Track) {
    for step in 0..STEPS {
        let share = (f64::from(step) + 0.5) / f64::from(STEPS);
        let upper = line(frame, track, |p| within(&p.peak, share).max(middle(p)));
        let lower = line(frame, track, |p| within(&p.quiet, 1.0 - share).min(middle(p)));
        sheet.path("soft", &frame.area(&upper, Some(&lower)));
    }
    let upper = line(frame, track, |p| core(p).0);
    let lower = line(frame, track, |p| core(p).1);
    sheet.path("core", &frame.area(&upper, Some(&lower)));
    sheet.path("edge", &frame.line(&line(frame, track, |p| p.peak.median)));
    sheet.path("quiet-edge", &frame.line(&line(frame, track, |p| p.quiet.median)));
}

/// Where the levels were before a change, each column on its own scale.
pub(crate) fn before(sheet: &mut Sheet, frame: &Frame, now: &Track, before: &Track) {
    // The same reading on a column's scale, whatever the zero of that scale was before.
    let shift = |point: &Point| now.point(point.column).map_or(0.0, |p| p.zero - point.zero);
    let known = |point: &&Point| now.point(point.column).is_some() || point.column < Column::Converter;
    let along = |level: &dyn Fn(&Point) -> f64| -> Vec<(f64, f64)> {
        before
            .points
            .iter()
            .filter(known)
            .map(|point| (frame.columns.position(point.column), level(point) + shift(point)))
            .collect()
    };
    for line in [along(&|p| p.peak.median), along(&|p| p.quiet.median), along(&Point::total)] {
        let d = frame.line(&line);
        sheet.path("before-ground", &d);
        sheet.path("before", &d);
    }
}

/// Levels of the band in each unit that it passes, where there is room.
pub(crate) fn figures(sheet: &mut Sheet, frame: &Frame, track: &Track) {
    let first = track.points.first().map(|point| point.column);
    for column in [Column::Air, Column::Microphone, Column::BoosterOut, Column::PreampOut] {
        let Some(point) = track.point(column) else { continue };
        let unit = if column == Column::Air { "dB SPL" } else { "dBu" };
        let x = frame.along(frame.columns.position(column)) + 6.0;
        let (top, bottom) = core(point);
        let (top, bottom) = (frame.level(top), frame.level(bottom));
        let peak = figures::level(point.peak.median - point.zero, unit);
        let quiet = figures::level(point.quiet.median - point.zero, unit);
        let text = |y: f64, content| Text::new(Kind::Figure, x, y, Anchor::Start, content);
        let placed = if bottom - top >= 14.0 {
            // A ceiling that the band passes may take the first places.
            let rows = (0_u8..4).map(|row| top + 11.8 + 6.0 * f64::from(row)).filter(|y| *y <= bottom - 2.0);
            let places: Vec<Text<'_>> = rows.map(|y| text(y, &peak).class("on-signal")).collect();
            sheet.text_where_free(&places)
        } else {
            let above = frame.level(point.peak.high) - 5.0;
            sheet.text_where_free(&[text(above, &peak).class("halo")])
        };
        if placed && Some(column) == first && bottom - top >= 34.0 {
            sheet.text_where_free(&[text(bottom - 5.0, &quiet).class("on-signal")]);
        }
    }
}

/// The gains on their slopes, and the loss of a pad.
pub(crate) fn gains(sheet: &mut Sheet, frame: &Frame, track: &Track) {
    let peak = line(frame, track, |p| p.peak.median);
    let upper = line(frame, track, |p| core(p).0);
    let lower = line(frame, track, |p| core(p).1);
    let pad = track.pad.map(|(from, to, loss)| (from, to, loss, "pad "));
    let gains = track.gains.iter().map(|(from, to, gain)| (*from, *to, *gain, ""));
    for (from, to, gain, word) in gains.chain(pad) {
        let position = f64::midpoint(frame.columns.position(from), frame.columns.position(to));
        let (Some(upper), Some(lower), Some(peak)) =
            (at(&upper, position), at(&lower, position), at(&peak, position))
        else {
            continue;
        };
        let words = format!("{word}{}", figures::gain(gain));
        let width = Kind::Figure.width(&words);
        let along = frame.along(position);
        let (start, end) = (frame.level(lower), frame.level(upper));
        let middle = f64::midpoint(start, end);
        let thickness = (end - start).abs();
        let text = if frame.turned {
            if thickness >= width + 6.0 {
                Text::new(Kind::Figure, middle, along + 4.5, Anchor::Middle, &words).class("on-signal")
            } else if frame.x.1 - end > width + 40.0 {
                Text::new(Kind::Figure, end + 8.0, along + 1.5, Anchor::Start, &words).class("halo")
            } else {
                Text::new(Kind::Figure, start - 12.0, along + 4.5, Anchor::End, &words).class("halo")
            }
        } else if thickness >= 10.0 {
            Text::new(Kind::Figure, along, middle + 4.5, Anchor::Middle, &words).class("on-signal")
        } else {
            let y = frame.level(peak) - 12.0;
            Text::new(Kind::Figure, along, y, Anchor::End, &words).class("halo")
        };
        sheet.text(text);
    }
}
