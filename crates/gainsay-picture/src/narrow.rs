//! A narrow lane: the chain runs from top to bottom, levels from left to right; every figure stands in a row below, behind the
//! mark that it has in the plot.

use crate::caption;
use crate::ceilings;
use crate::columns::Columns;
use crate::figures;
use crate::labels::lines;
use crate::lane::{Common, Subject};
use crate::legend::{Mark, mark};
use crate::noise;
use crate::scale::{Frame, coordinate, ticks};
use crate::sheet::{Anchor, Kind, Sheet, Text};
use crate::signal;
use crate::track::Track;
use gainsay_plan::LevelAnswer;
use gainsay_plan::words::number;

/// Width of a narrow picture.
pub(crate) const WIDTH: f64 = 360.0;
/// Its margin.
pub(crate) const EDGE: f64 = 8.0;
/// Left and right edge of the plot; the names of the stages stand left of it.
const PLOT: (f64, f64) = (92.0, 348.0);

/// Draws a lane from `top` on; returns its height.
pub(crate) fn draw(sheet: &mut Sheet, subject: &Subject<'_>, common: &Common<'_>, top: f64) -> f64 {
    let caption = caption::narrow(sheet, subject.source, EDGE, top, WIDTH - EDGE);
    let (Some(track), Some(result)) = (&subject.track, &subject.source.result) else {
        return caption + 16.0;
    };
    // Only the stages that this source has: there is no common header here.
    let columns = Columns::new(track.points.iter().map(|point| point.column));
    let start = top + caption + 34.0;
    let height = 46.0 * (track.points.len() as f64 - 1.0);
    let frame = Frame { turned: true, range: common.range, columns, x: PLOT, y: (start, start + height) };
    stages(sheet, &frame, track);
    noise::strata(sheet, &frame, track, common.prefix);
    signal::band(sheet, &frame, track);
    ceilings::passed(sheet, &frame, track, &subject.identifier(common.prefix));
    ceilings::lines(sheet, &frame, track);
    if let Some((before, _)) = &subject.before {
        signal::before(sheet, &frame, track, before);
    }
    target(sheet, &frame, track, common.target);
    signal::gains(sheet, &frame, track);
    scales(sheet, &frame, track);
    let rows = rows(sheet, subject, track, result, common, frame.y.1 + 40.0);
    let shares = shares(sheet, track, common.prefix, rows + 10.0);
    shares - top + 30.0
}

fn stages(sheet: &mut Sheet, frame: &Frame, track: &Track) {
    let mut path = String::new();
    for point in &track.points {
        let y = frame.along(frame.columns.position(point.column));
        path.push_str(&format!("M{} {}H{}", coordinate(PLOT.0 - 4.0), coordinate(y), coordinate(PLOT.1)));
        let words = match point.column {
            crate::columns::Column::Microphone if track.air.is_none() => "output",
            other => other.words(),
        };
        sheet.text(Text::new(Kind::Small, PLOT.0 - 8.0, y + 4.0, Anchor::End, words));
    }
    sheet.path("stage", &path);
}

fn target(sheet: &mut Sheet, frame: &Frame, track: &Track, target: f64) {
    let from = frame.columns.position(crate::columns::Column::Converter);
    let level = target + track.full_scale;
    sheet.path("target", &frame.line(&[(from, level), (1.0, level)]));
}

/// The scale of the air above, that of the file below.
fn scales(sheet: &mut Sheet, frame: &Frame, track: &Track) {
    let range = frame.range;
    let mut scale = |zero: f64, low: f64, high: f64, unit: &str, y: f64, text_y: f64, stroke: &str| {
        sheet.text(Text::new(Kind::Tick, PLOT.0 - 8.0, text_y, Anchor::End, unit).class("quiet"));
        let mut path = String::new();
        for tick in ticks(low.max(range.low - zero), high.min(range.high - zero), 20.0) {
            let x = frame.level(tick + zero);
            path.push_str(&format!("M{} {}{stroke}", coordinate(x), coordinate(y)));
            let text = number(tick, 0);
            let at = Text::new(Kind::Tick, x, text_y, Anchor::Middle, &text).class("quiet");
            if x + Kind::Tick.width(&text) / 2.0 <= WIDTH {
                sheet.text_where_free(&[at]);
            }
        }
        sheet.path("axis", &path);
    };
    let above = frame.y.0 - 12.0;
    match track.air {
        Some(air) => scale(air, 0.0, f64::INFINITY, "dB SPL", frame.y.0, above, "v-5"),
        None => scale(0.0, f64::NEG_INFINITY, f64::INFINITY, "dBu", frame.y.0, above, "v-5"),
    }
    scale(track.full_scale, f64::NEG_INFINITY, 0.0, "dBFS", frame.y.1, frame.y.1 + 19.0, "v5");
}

/// Rows of figures; returns where they end.
fn rows(
    sheet: &mut Sheet,
    subject: &Subject<'_>,
    track: &Track,
    result: &LevelAnswer,
    common: &Common<'_>,
    top: f64,
) -> f64 {
    let mut rows = vec![
        (Mark::Peak, format!("loudest peak {}", figures::whole(&result.peak_dbfs, "dBFS"))),
        (Mark::Quiet, format!("quietest passage {}", figures::whole(&result.quiet_dbfs, "dBFS"))),
        (Mark::Noise, format!("noise {}", figures::whole(&result.noise_dbfs_a, "dBFS(A)"))),
        (Mark::Target, format!("target {}", figures::level(common.target, "dBFS"))),
    ];
    if let Some((_, before)) = &subject.before {
        let words = format!(
            "before: peak {}, noise {}",
            figures::level(before.peak_dbfs.median, "dBFS"),
            figures::level(before.noise_dbfs_a.median, "dBFS(A)")
        );
        rows.push((Mark::Before, words));
    }
    rows.extend(ceilings::row(track).map(|words| (Mark::Ceiling, words)));
    let (left, kind) = (EDGE + 32.0, Kind::Small);
    let mut y = top;
    for (sign, words) in rows {
        mark(sheet, sign, EDGE, y - 4.0);
        for line in lines(&words, kind.size(), kind.bold(), WIDTH - EDGE - left, 4) {
            sheet.text(Text::new(kind, left, y, Anchor::Start, &line).most(WIDTH - EDGE - left));
            y += 16.0;
        }
        y += 5.0;
    }
    y - 10.0
}

/// The bar of shares and its rows; returns where they end.
fn shares(sheet: &mut Sheet, track: &Track, prefix: &str, top: f64) -> f64 {
    let mut y = top + 6.0;
    sheet.text(Text::new(Kind::Small, EDGE, y, Anchor::Start, "The noise is made of").class("quiet"));
    y += 8.0;
    noise::bar(sheet, track, prefix, (EDGE, WIDTH - EDGE), (y, y + 16.0));
    y += 34.0;
    let mut x = EDGE;
    for (contributor, words) in noise::rows(track) {
        let width = 22.0 + Kind::Small.width(&words);
        if x > EDGE && x + width > WIDTH - EDGE {
            x = EDGE;
            y += 18.0;
        }
        noise::sample(sheet, contributor, prefix, x, y - 9.5);
        sheet.text(Text::new(Kind::Small, x + 22.0, y, Anchor::Start, &words));
        x += width + 14.0;
    }
    y
}
