//! The noise: its total as a fill, each contributor as a stratum that begins where it enters the chain, and the shares as a bar.

use crate::columns::Column;
use crate::scale::{Frame, coordinate};
use crate::sheet::{Anchor, Kind, Sheet, Text};
use crate::track::{LEAST_SHARE, Track};
use gainsay_plan::stages::{Contributor, level};
use gainsay_units::Decibels;
use maud::{Markup, html};

/// Ground and strokes of a contributor's pattern.
struct Look {
    ground: &'static str,
    size: (f64, f64),
    strokes: &'static str,
    /// Class of the strokes.
    class: &'static str,
}

const fn look(contributor: Contributor) -> Look {
    const DARK: &str = "dark-stroke";
    const PALE: &str = "pale-stroke";
    let (ground, size, strokes, class) = match contributor {
        Contributor::Room => ("noise-1", (14.0, 10.0), "M2 2.5h2M9 7.5h2", DARK),
        Contributor::Microphone => ("noise-2", (8.0, 5.0), "M0 2.5h8", DARK),
        Contributor::Output => ("noise-2", (10.0, 8.0), "M0 2h6M5 6h6", DARK),
        Contributor::PhantomFeeds => ("noise-1", (9.0, 9.0), "M2 4.5h5M4.5 2v5", DARK),
        Contributor::Booster => ("noise-3", (8.0, 8.0), "M0 0L8 8M8 0L0 8", PALE),
        Contributor::Pad => ("noise-1", (10.0, 6.0), "M0 5L5 1L10 5", DARK),
        Contributor::Preamp => ("noise-3", (7.0, 7.0), "M-2 -2L9 9M-2 5L2 9M5 -2L9 2", PALE),
        Contributor::AfterGain => ("noise-2", (7.0, 7.0), "M-2 9L9 -2M-2 2L2 -2M5 9L9 5", DARK),
        Contributor::Converter => ("noise-4", (5.0, 8.0), "M2.5 0v8", PALE),
        Contributor::Dither => ("noise-4", (6.0, 6.0), "M1 1h1M4 4h1", PALE),
    };
    Look { ground, size, strokes, class }
}

/// The fill of a contributor.
fn fill(prefix: &str, contributor: Contributor) -> String {
    format!("url(#{prefix}-{})", contributor.key())
}

/// The patterns of the contributors that a picture shows.
pub(crate) fn patterns(prefix: &str, shown: &[Contributor]) -> Markup {
    html! {
        @for contributor in shown {
            @let Look { ground, size, strokes, class } = look(*contributor);
            pattern id=(format!("{prefix}-{}", contributor.key())) width=(coordinate(size.0))
                height=(coordinate(size.1)) patternUnits="userSpaceOnUse" {
                rect class=(ground) width=(coordinate(size.0)) height=(coordinate(size.1)) {}
                path class=(class) d=(strokes) {}
            }
        }
    }
}

/// Position and level of one contributor wherever it is present.
fn line_of(frame: &Frame, track: &Track, contributor: Contributor) -> Vec<(f64, f64)> {
    track
        .points
        .iter()
        .filter_map(|point| {
            let (_, db) = point.noise.iter().find(|(known, _)| *known == contributor)?;
            Some((frame.columns.position(point.column), *db))
        })
        .collect()
}

/// Position and level of all noise, with a step wherever a contributor enters.
pub(crate) fn total_line(frame: &Frame, track: &Track) -> Vec<(f64, f64)> {
    let mut line = Vec::new();
    let mut known: Vec<Contributor> = Vec::new();
    for point in &track.points {
        let position = frame.columns.position(point.column);
        let carried: f64 = point
            .noise
            .iter()
            .filter(|(contributor, _)| known.contains(contributor))
            .map(|(_, db)| Decibels::new(*db).power_ratio())
            .sum();
        if carried > 0.0 {
            line.push((position, level(carried)));
        }
        line.push((position, point.total()));
        known = point.noise.iter().map(|(contributor, _)| *contributor).collect();
    }
    line
}

/// The strata. Names stand where their contributors enter, where there is room.
pub(crate) fn strata(sheet: &mut Sheet, frame: &Frame, track: &Track, prefix: &str) {
    let total = total_line(frame, track);
    sheet.path("noise-1", &frame.area(&total, None));
    let mut lines: Vec<(Contributor, Vec<(f64, f64)>)> = track
        .drawn_strata()
        .map(|(contributor, _)| (contributor, line_of(frame, track, contributor)))
        .collect();
    // The strongest at the end lies behind the others.
    let end = |line: &[(f64, f64)]| line.last().map_or(f64::NEG_INFINITY, |last| last.1);
    lines.sort_by(|a, b| end(&b.1).total_cmp(&end(&a.1)));
    for (contributor, line) in &lines {
        sheet.draw(&html! { path fill=(fill(prefix, *contributor)) d=(frame.area(line, None)) {} });
        // Where it enters it comes up from nothing.
        let foot = line.first().map(|first| (first.0, frame.range.low));
        let outline: Vec<(f64, f64)> = foot.into_iter().chain(line.iter().copied()).collect();
        sheet.path("stratum", &frame.line(&outline));
    }
    sheet.path("total", &frame.line(&total));
}

/// Names of the contributors at the places where they enter.
pub(crate) fn names(sheet: &mut Sheet, frame: &Frame, track: &Track) {
    for (contributor, _) in track.drawn_strata() {
        let line = line_of(frame, track, contributor);
        let Some((position, db)) = line.first().copied() else { continue };
        let (x, y) = (frame.along(position) + 5.0, frame.level(db));
        let words = contributor.words();
        let right = x + Kind::Tiny.width(words);
        if position >= frame.columns.position(Column::File) || right > frame.x.1 {
            continue;
        }
        let at = |y: f64| Text::new(Kind::Tiny, x, y, Anchor::Start, words).class("halo");
        let mut places = vec![at(y + 12.0)];
        if y + 26.0 < frame.y.1 {
            places.push(at(y + 24.0));
        }
        places.retain(|text| text.y + 2.0 < frame.y.1);
        sheet.text_where_free(&places);
    }
}

/// Segments of a bar of shares between two ends: contributor, start and end. What is too small for a segment of its own comes
/// last, without a contributor.
pub(crate) fn segments(track: &Track, start: f64, end: f64) -> Vec<(Option<Contributor>, f64, f64)> {
    let mut at = start;
    let mut segments: Vec<(Option<Contributor>, f64, f64)> = track
        .drawn_strata()
        .map(|(contributor, share)| {
            let from = at;
            at += share * (end - start);
            (Some(contributor), from, at)
        })
        .collect();
    if (end - at).abs() > 0.2 {
        segments.push((None, at, end));
    }
    segments
}

/// A bar of shares in a box; standing, or lying where it is wider than high.
pub(crate) fn bar(sheet: &mut Sheet, track: &Track, prefix: &str, x: (f64, f64), y: (f64, f64)) {
    let lying = x.1 - x.0 > y.1 - y.0;
    let (start, end) = if lying { x } else { y };
    for (contributor, from, to) in segments(track, start, end) {
        let filled = contributor.map_or_else(|| "none".to_owned(), |c| fill(prefix, c));
        let (left, top, width, height) =
            if lying { (from, y.0, to - from, y.1 - y.0) } else { (x.0, from, x.1 - x.0, to - from) };
        sheet.draw(&html! {
            rect class="segment" fill=(filled) x=(coordinate(left)) y=(coordinate(top)) width=(coordinate(width))
                height=(coordinate(height)) {}
        });
    }
}

/// A small sample of a contributor's pattern.
pub(crate) fn sample(sheet: &mut Sheet, contributor: Option<Contributor>, prefix: &str, x: f64, y: f64) {
    let filled = contributor.map_or_else(|| "none".to_owned(), |c| fill(prefix, c));
    sheet.draw(&html! {
        rect class="segment" fill=(filled) x=(coordinate(x)) y=(coordinate(y)) width="16" height="11" {}
    });
}

/// The rows of the shares: each contributor with a segment, and all others in one row.
pub(crate) fn rows(track: &Track) -> Vec<(Option<Contributor>, String)> {
    let mut rows: Vec<(Option<Contributor>, String)> = track
        .drawn_strata()
        .map(|(contributor, share)| {
            (Some(contributor), format!("{} {}", crate::figures::percent(share), contributor.words()))
        })
        .collect();
    let rest: Vec<(Contributor, f64)> = track.rest().collect();
    let sum: f64 = rest.iter().map(|(_, share)| share).sum();
    debug_assert!(rest.iter().all(|(_, share)| *share < LEAST_SHARE));
    match rest.as_slice() {
        [] => {}
        [(one, share)] => rows.push((None, format!("{} {}", crate::figures::percent(*share), one.words()))),
        _ => rows.push((None, format!("{} all else", crate::figures::percent(sum)))),
    }
    rows
}
