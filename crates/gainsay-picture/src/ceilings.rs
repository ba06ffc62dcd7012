//! The ceilings: a hatched line each over its own stage, and what passes them.

use crate::figures;
use crate::scale::{Frame, coordinate};
use crate::sheet::{Anchor, Kind, Sheet, Text};
use crate::signal;
use crate::track::{CeilingLine, Track};
use gainsay_plan::{LevelAnswer, Verdict};
use maud::html;

/// A ceiling as a line over its stage: level from halfway behind the column before to halfway to the next, and climbing with the
/// gain that leads to it.
struct Course<'a> {
    ceiling: &'a CeilingLine,
    /// Positions and levels.
    line: Vec<(f64, f64)>,
}

impl Course<'_> {
    /// Where its level part begins and ends.
    fn level_part(&self) -> (f64, f64) {
        let level = |point: &&(f64, f64)| (point.1 - self.ceiling.level).abs() < 1e-9;
        let from = self.line.iter().find(level).map_or(0.0, |p| p.0);
        (from, self.line.last().map_or(1.0, |p| p.0))
    }
}

fn courses<'a>(frame: &Frame, track: &'a Track) -> Vec<Course<'a>> {
    let position = |column| frame.columns.position(column);
    let columns: Vec<f64> = track.points.iter().map(|p| position(p.column)).collect();
    let mut courses: Vec<Course<'a>> = Vec::new();
    let mut from = columns.first().copied().unwrap_or(0.0);
    for (index, ceiling) in track.ceilings.iter().enumerate() {
        let own = position(ceiling.column);
        let mut line = Vec::new();
        // Behind a gain the ceiling comes up with it: from the ceiling before the gain, or from its own less the gain.
        if let Some((start, _, gain)) = track.gains.iter().find(|(_, to, _)| *to == ceiling.column) {
            let before = track.ceilings.iter().find(|c| c.column == *start);
            line.push((position(*start), before.map_or(ceiling.level - gain, |c| c.level)));
            line.push((own, ceiling.level));
        } else {
            line.push((from, ceiling.level));
        }
        let next = track.ceilings.get(index + 1);
        let gain = next.and_then(|n| track.gains.iter().find(|(_, to, _)| *to == n.column));
        let to = match (next, gain) {
            (None, _) => 1.0,
            // The next begins where the gain before it begins.
            (Some(_), Some((start, ..))) if position(*start) > own => {
                let start = position(*start);
                let before = columns.iter().copied().filter(|p| *p < start - 1e-9).fold(own, f64::max);
                f64::midpoint(before, start)
            }
            (Some(_), Some(_)) => own,
            (Some(next), None) => {
                let next = position(next.column);
                let before = columns.iter().copied().filter(|p| *p < next - 1e-9).fold(own, f64::max);
                f64::midpoint(before, next)
            }
        };
        if line.last().is_none_or(|last| to > last.0) {
            line.push((to, ceiling.level));
        }
        from = to;
        courses.push(Course { ceiling, line });
    }
    courses
}

/// The lines and their hatching.
pub(crate) fn lines(sheet: &mut Sheet, frame: &Frame, track: &Track) {
    for Course { ceiling, line } in courses(frame, track) {
        if !frame.shows(ceiling.level) {
            continue;
        }
        sheet.path("ceiling", &frame.line(&line));
        let (Some(first), Some(last)) = (line.first(), line.last()) else { continue };
        let (start, end) = (frame.along(first.0), frame.along(last.0));
        let mut hatch = String::new();
        let mut along = start + 1.0;
        while along + 5.0 <= end {
            let position = first.0 + (along - start) / (end - start) * (last.0 - first.0);
            let at = frame.level(signal::at(&line, position).unwrap_or(ceiling.level));
            let (a, l) = (coordinate(along), coordinate(at));
            hatch.push_str(&if frame.turned { format!("M{l} {a}l5-5") } else { format!("M{a} {l}l5-5") });
            if !frame.turned {
                sheet.obstacle(along, at - 6.0, along + 6.0, at + 2.0);
            }
            along += 6.0;
        }
        sheet.path("hatch", &hatch);
    }
}

/// The part of the band that passes a ceiling: everything above it that is likely.
pub(crate) fn passed(sheet: &mut Sheet, frame: &Frame, track: &Track, identifier: &str) {
    let highest = signal::line(frame, track, |p| p.peak.high);
    for (index, Course { line, .. }) in courses(frame, track).into_iter().enumerate() {
        let (Some(first), Some(last)) = (line.first(), line.last()) else { continue };
        let (from, to) = (first.0, last.0);
        let mut positions: Vec<f64> = highest.iter().chain(&line).map(|(position, _)| *position).collect();
        positions.retain(|p| *p >= from && *p <= to);
        positions.sort_by(f64::total_cmp);
        positions.dedup();
        let both: Vec<(f64, f64, f64)> = positions
            .into_iter()
            .filter_map(|p| Some((p, signal::at(&highest, p)?, signal::at(&line, p)?)))
            .collect();
        // Less than a line's breadth can't be seen.
        if both.iter().all(|(_, level, ceiling)| *level <= ceiling + 0.5) {
            continue;
        }
        let upper: Vec<(f64, f64)> =
            both.iter().map(|(p, level, ceiling)| (*p, level.max(*ceiling))).collect();
        let lower: Vec<(f64, f64)> = both.iter().map(|(p, _, ceiling)| (*p, *ceiling)).collect();
        let area = frame.area(&upper, Some(&lower));
        let id = format!("{identifier}-over-{index}");
        let mut bars = String::new();
        let (start, end) = (frame.along(from), frame.along(to));
        let mut along = start + 2.0;
        while along < end {
            let a = coordinate(along);
            bars.push_str(&if frame.turned {
                format!("M{} {a}H{}", coordinate(frame.x.0), coordinate(frame.x.1))
            } else {
                format!("M{a} {}V{}", coordinate(frame.y.0), coordinate(frame.y.1))
            });
            along += 5.0;
        }
        sheet.draw(&html! {
            clipPath id=(id) { path d=(area) {} }
            path class="over-fill" d=(area) {}
            path class="over" clip-path=(format!("url(#{id})")) d=(bars) {}
        });
    }
}

/// How a ceiling is named, and how likely it is passed where that matters.
fn label(ceiling: &CeilingLine, result: &LevelAnswer) -> (String, Option<String>) {
    let figure = figures::level(ceiling.own, ceiling.unit);
    let passed = (result.headroom != Verdict::Enough)
        .then(|| result.ceilings.iter().find(|c| c.ceiling == ceiling.kind.answer()))
        .flatten()
        .filter(|c| c.probability >= 0.005)
        .map(|c| format!("{} likely to be passed", figures::percent(c.probability)));
    (figure, passed)
}

/// Names and figures above the lines, where there is room.
pub(crate) fn names(sheet: &mut Sheet, frame: &Frame, track: &Track, result: &LevelAnswer) {
    for course in courses(frame, track) {
        let ceiling = course.ceiling;
        if !frame.shows(ceiling.level) {
            continue;
        }
        let (from, to) = course.level_part();
        let (start, end) = (frame.along(from), frame.along(to));
        // Above what passes it, too.
        let highest = track
            .points
            .iter()
            .filter(|p| (from..=to).contains(&frame.columns.position(p.column)))
            .map(|p| p.peak.high)
            .fold(ceiling.level, f64::max);
        let y = (frame.level(ceiling.level) - 9.0).min(frame.level(highest) - 4.0);
        let (figure, passed) = label(ceiling, result);
        let whole = format!("{} {figure}", ceiling.kind.words());
        let class = if passed.is_some() { "halo warn" } else { "halo" };
        let text =
            |y: f64, content| Text::new(Kind::Tiny, start + 3.0, y, Anchor::Start, content).class(class);
        // A short text may stand over what follows, where nothing else does.
        let fits = |content: &str| Kind::Tiny.width(content) <= (end - start - 3.0).max(112.0);
        let warned = passed.as_ref().map(|p| format!("{whole}, {p}"));
        let mut tried: Vec<Vec<String>> = warned.into_iter().map(|w| vec![w]).collect();
        match &passed {
            Some(p) => tried.push(vec![whole.clone(), p.clone()]),
            None => tried.push(vec![whole.clone()]),
        }
        tried.push(
            [vec![ceiling.kind.words().to_owned(), figure.clone()], passed.into_iter().collect()].concat(),
        );
        tried.push(vec![figure.clone()]);
        for rows in &tried {
            let top = y - 12.0 * (rows.len() as f64 - 1.0);
            let texts: Vec<Text<'_>> =
                rows.iter().zip(0_u8..).map(|(row, n)| text(top + 12.0 * f64::from(n), row)).collect();
            if rows.iter().all(|row| fits(row)) && texts.iter().all(|text| sheet.is_free(text)) {
                texts.into_iter().for_each(|text| sheet.text(text));
                break;
            }
        }
    }
}

/// The ceilings in one row of words.
pub(crate) fn row(track: &Track) -> Option<String> {
    let all: Vec<String> = track
        .ceilings
        .iter()
        .map(|c| format!("{} {}", c.kind.words(), figures::level(c.own, c.unit)))
        .collect();
    (!all.is_empty()).then(|| all.join(", "))
}
