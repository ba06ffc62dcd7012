//! The whole picture: heading, legend, header, lanes.

use crate::columns::{Column, Columns};
use crate::labels::lines;
use crate::lane::{self, Common, Size, Subject};
use crate::legend;
use crate::narrow;
use crate::noise;
use crate::scale::{Range, coordinate};
use crate::sheet::{Anchor, Kind, Sheet, Text, TextBox, printable, text_rules};
use crate::style::{COLOURS, DOCUMENT, SHAPES, Style, Width};
use crate::track::Track;
use crate::twin;
use crate::words;
use gainsay_plan::stages::Contributor;
use gainsay_plan::{Answer, SourceAnswer};
use maud::{Markup, PreEscaped, html};

/// More lanes than this are compact.
const MOST_LARGE: usize = 4;

/// A picture before it becomes a document.
struct Picture {
    width: f64,
    height: f64,
    body: String,
    boxes: Vec<TextBox>,
    contributors: Vec<Contributor>,
}

/// The level diagram as a document of its own: an SVG file with its style, light or dark as its reader prefers, black in print.
#[must_use]
pub fn level_diagram(answer: &Answer, style: &Style<'_>) -> String {
    let picture = picture(answer, style);
    let css = format!("{COLOURS}{DOCUMENT}{SHAPES}{}", text_rules());
    let svg = svg(&picture, style, &answer.title, &twin::text_twin(answer), &css);
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}", svg.0)
}

/// The level diagram as an element of a page, whose style sheet holds [`COLOURS`] and [`crate::rules`].
#[must_use]
pub fn level_diagram_inline(answer: &Answer, style: &Style<'_>) -> String {
    let picture = picture(answer, style);
    svg(&picture, style, &answer.title, &twin::text_twin(answer), "").0
}

/// One source, large, as an element of a page, as [`level_diagram_inline`].
#[must_use]
pub fn lane(source: &SourceAnswer, style: &Style<'_>) -> String {
    let picture = draw(
        std::slice::from_ref(source),
        None,
        words::target_of(source, style.peak_target_dbfs),
        style,
        true,
    );
    svg(&picture, style, &source.name, &twin::of_source(source).join("\n"), "").0
}

/// Where the texts of a diagram stand.
#[must_use]
pub fn text_boxes(answer: &Answer, style: &Style<'_>) -> Vec<TextBox> {
    picture(answer, style).boxes
}

fn picture(answer: &Answer, style: &Style<'_>) -> Picture {
    let target = words::target(answer, style.peak_target_dbfs);
    draw(&answer.sources, Some(answer), target, style, false)
}

fn draw(
    sources: &[SourceAnswer],
    answer: Option<&Answer>,
    target: f64,
    style: &Style<'_>,
    large: bool,
) -> Picture {
    let subjects: Vec<Subject<'_>> = sources
        .iter()
        .take(style.most_lanes)
        .enumerate()
        .map(|(number, source)| Subject {
            source,
            track: Track::new(source),
            before: before(source, style),
            number,
        })
        .collect();
    let tracks: Vec<&Track> = subjects.iter().filter_map(|subject| subject.track.as_ref()).collect();
    let befores = subjects.iter().filter_map(|subject| subject.before.as_ref().map(|(track, _)| track));
    let columns = Columns::new(
        tracks.iter().copied().chain(befores).flat_map(|track| track.points.iter().map(|point| point.column)),
    );
    let common = Common { columns: &columns, range: range(&tracks), target, prefix: style.prefix };
    let contributors = Contributor::ALL
        .into_iter()
        .filter(|c| tracks.iter().any(|track| track.drawn_strata().any(|(drawn, _)| drawn == *c)))
        .collect();

    let mut sheet = Sheet::default();
    let narrow = style.width == Width::Narrow;
    let (width, left, right) = if narrow {
        (narrow::WIDTH, narrow::EDGE, narrow::WIDTH - narrow::EDGE)
    } else {
        (lane::WIDTH, lane::PLOT.0, lane::WIDTH)
    };
    let mut y = if style.heading { 14.0 } else { 2.0 };
    if let Some(answer) = answer.filter(|_| style.heading) {
        y += heading(&mut sheet, answer, left, y, right);
    }
    if style.legend && !tracks.is_empty() {
        let before = subjects.iter().any(|subject| subject.before.is_some());
        y += legend::draw(&mut sheet, left, y, right, before);
    }
    let has_air = columns.iter().any(|(column, _)| column == Column::Air);
    let size = match subjects.len() {
        _ if large => Size::Large,
        n if n > MOST_LARGE => Size::Compact,
        _ => Size::Usual,
    };
    for (index, subject) in subjects.iter().enumerate() {
        // The names of the stages stand above the first lane, and again where they would be out of sight.
        let every = if size == Size::Compact { 6 } else { 3 };
        if !narrow && !tracks.is_empty() && index % every == 0 {
            y += lane::header(&mut sheet, &columns, has_air, size, y);
        } else if index > 0 {
            rule(&mut sheet, left, right, y);
            y += 12.0;
        } else {
            y += 12.0;
        }
        y += if narrow {
            narrow::draw(&mut sheet, subject, &common, y)
        } else {
            lane::draw(&mut sheet, subject, &common, size, y)
        };
    }
    if sources.len() > subjects.len() {
        let words = format!("and {} more", sources.len() - subjects.len());
        sheet.text(Text::new(Kind::Sub, left, y + 16.0, Anchor::Start, &words).class("quiet"));
        y += 24.0;
    }
    let (body, boxes) = sheet.finish();
    Picture { width, height: y + 8.0, body, boxes, contributors }
}

fn rule(sheet: &mut Sheet, left: f64, right: f64, y: f64) {
    sheet.path("rule", &format!("M{} {}H{}", coordinate(left), coordinate(y), coordinate(right)));
}

/// How the source was before, found by its name.
fn before<'a>(source: &SourceAnswer, style: &Style<'a>) -> Option<(Track, &'a gainsay_plan::LevelAnswer)> {
    let before = style.before?.sources.iter().find(|other| other.name == source.name)?;
    Some((Track::new(before)?, before.result.as_ref()?))
}

/// All levels of all lanes on one range, so that lanes compare.
fn range(tracks: &[&Track]) -> Range {
    let mut low = f64::INFINITY;
    let mut high = f64::NEG_INFINITY;
    for track in tracks {
        for point in &track.points {
            high = high.max(point.peak.high + 4.0);
            low = low.min(point.quiet.low).min(point.total());
            let drawn: Vec<Contributor> = track.drawn_strata().map(|(contributor, _)| contributor).collect();
            for (contributor, level) in &point.noise {
                if drawn.contains(contributor) {
                    low = low.min(*level);
                }
            }
        }
        high = track.ceilings.iter().map(|ceiling| ceiling.level).fold(high, f64::max);
    }
    if !low.is_finite() || !high.is_finite() {
        return Range { low: -150.0, high: 30.0 };
    }
    // Not more than can be read, whatever stands in a case.
    let high = (high / 10.0).ceil() * 10.0;
    let low = ((low - 11.0) / 10.0).floor() * 10.0;
    Range { low: low.max(high - 260.0), high }
}

/// Title and first sentence. Returns the height.
fn heading(sheet: &mut Sheet, answer: &Answer, left: f64, top: f64, right: f64) -> f64 {
    let mut y = top;
    let most = right - left;
    for line in lines(&printable(&answer.title), Kind::Title.size(), true, most, 3) {
        y += 29.0;
        sheet.text(Text::new(Kind::Title, left, y, Anchor::Start, &line).most(most));
    }
    y += 4.0;
    if let Some(first) = answer.answer.first() {
        for line in lines(&printable(first), Kind::Answer.size(), false, most, 4) {
            y += 23.0;
            sheet.text(Text::new(Kind::Answer, left, y, Anchor::Start, &line).most(most));
        }
    }
    y - top + 12.0
}

fn svg(picture: &Picture, style: &Style<'_>, title: &str, description: &str, css: &str) -> Markup {
    let (width, height) = (coordinate(picture.width), coordinate(picture.height));
    let (title_id, description_id) =
        (format!("{}-title", style.prefix), format!("{}-description", style.prefix));
    html! {
        svg class="level-diagram" xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {width} {height}"))
            width=(width) height=(height) role="img" aria-labelledby=(title_id) aria-describedby=(description_id) {
            title id=(title_id) { "Level diagram: " (printable(title)) }
            desc id=(description_id) { (twin::plain(description)) }
            @if !css.is_empty() { style { (PreEscaped(css)) } }
            defs { (noise::patterns(style.prefix, &picture.contributors)) }
            g fill="none" { (PreEscaped(&picture.body)) }
        }
    }
}
