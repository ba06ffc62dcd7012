//! Usable windows: how much room each device leaves between noise and ceiling as its gain moves, side by side on one scale.
//!
//! One panel a group of inputs. Along the panel runs the gain, upwards the level at the input. Above the hatched line it
//! distorts, in the earth below lies the noise, and what is recorded has to stay between the two. The window of the first device
//! is drawn into the others as a dotted outline.

mod panel;
mod twin;

use crate::labels::lines;
use crate::narrow;
use crate::scale::{Range, coordinate};
use crate::sheet::{Anchor, Kind, Sheet, Text, TextBox, printable, text_rules};
use crate::style::{COLOURS, DOCUMENT, SHAPES, Style, Width};
use gainsay_plan::footing::{DeviceFooting, GroupFooting, GroupKind, WindowPoint, thermal_limit};
use maud::{Markup, PreEscaped, html};
use panel::{Panel, Place};

pub use twin::windows_text_twin;

/// Width of a wide picture.
const WIDTH: f64 = crate::lane::WIDTH;

/// Left edge of the plots; the scale stands left of it.
const LEFT: f64 = crate::lane::PLOT.0;

/// Most panels in a row.
const MOST_IN_A_ROW: usize = 3;

/// Between two panels.
const GAP: f64 = 30.0;

/// Shapes that only this picture has.
pub(crate) const OWN_SHAPES: &str = "\
.level-diagram .window{fill:var(--signal);fill-opacity:.13}
.level-diagram .unsure{fill:var(--ink);fill-opacity:.13}
.level-diagram .limit{stroke:var(--ink);stroke-width:1;stroke-dasharray:9 3 1.5 3}
@media print{.level-diagram .window{fill:none}}
";

/// What is drawn of a device.
pub(crate) struct Subject<'a> {
    pub(crate) device: &'a DeviceFooting,
    pub(crate) group: &'a GroupFooting,
}

impl Subject<'_> {
    pub(crate) fn name(&self) -> String {
        self.device.name_of(self.group)
    }

    /// Whether there is a gain to move.
    pub(crate) fn moves(&self) -> bool {
        self.group.window.len() > 1
    }

    pub(crate) fn is_microphone(&self) -> bool {
        self.group.kind == GroupKind::Microphone
    }

    /// Units of ceiling and noise.
    pub(crate) fn units(&self) -> (&'static str, &'static str) {
        if self.is_microphone() { ("dB SPL", "dBA") } else { ("dBu", "dBu") }
    }
}

/// The groups that are drawn: those that are compared, of the kind that the first of them is measured like.
pub(crate) fn subjects(devices: &[DeviceFooting]) -> Vec<Subject<'_>> {
    let all: Vec<Subject<'_>> = devices
        .iter()
        .flat_map(|device| device.compared().map(move |group| Subject { device, group }))
        .filter(|subject| !subject.group.window.is_empty())
        .collect();
    let microphones = all.first().is_some_and(Subject::is_microphone);
    all.into_iter().filter(|subject| subject.is_microphone() == microphones).collect()
}

/// A picture before it becomes a document.
struct Picture {
    width: f64,
    height: f64,
    body: String,
    boxes: Vec<TextBox>,
}

/// The usable windows as a document of its own: an SVG file with its style, light or dark as its reader prefers, black in print.
/// Of the style, `before` and the peak target have no meaning here.
#[must_use]
pub fn usable_windows(devices: &[DeviceFooting], style: &Style<'_>) -> String {
    let css = format!("{COLOURS}{DOCUMENT}{SHAPES}{OWN_SHAPES}{}", text_rules());
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}", svg(devices, style, &css).0)
}

/// The usable windows as an element of a page, whose style sheet holds [`COLOURS`] and [`crate::rules`].
#[must_use]
pub fn usable_windows_inline(devices: &[DeviceFooting], style: &Style<'_>) -> String {
    svg(devices, style, "").0
}

/// Where the texts of the picture stand.
#[must_use]
pub fn windows_text_boxes(devices: &[DeviceFooting], style: &Style<'_>) -> Vec<TextBox> {
    picture(devices, style).boxes
}

fn svg(devices: &[DeviceFooting], style: &Style<'_>, css: &str) -> Markup {
    let picture = picture(devices, style);
    let (width, height) = (coordinate(picture.width), coordinate(picture.height));
    let (title_id, description_id) =
        (format!("{}-title", style.prefix), format!("{}-description", style.prefix));
    html! {
        svg class="level-diagram" xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {width} {height}"))
            width=(width) height=(height) role="img" aria-labelledby=(title_id) aria-describedby=(description_id) {
            title id=(title_id) { "Usable windows between noise and ceiling" }
            desc id=(description_id) { (windows_text_twin(devices)) }
            @if !css.is_empty() { style { (PreEscaped(css)) } }
            defs {
                pattern id=(format!("{}-noise", style.prefix)) width="8" height="5" patternUnits="userSpaceOnUse" {
                    rect class="noise-1" width="8" height="5" {}
                    path class="dark-stroke" d="M0 2.5h8" {}
                }
            }
            g fill="none" { (PreEscaped(&picture.body)) }
        }
    }
}

fn picture(devices: &[DeviceFooting], style: &Style<'_>) -> Picture {
    let subjects = subjects(devices);
    let shown = subjects.get(..subjects.len().min(style.most_lanes)).unwrap_or_default();
    let is_narrow = style.width == Width::Narrow;
    let (width, left, right) = if is_narrow {
        (narrow::WIDTH, narrow::EDGE, narrow::WIDTH - narrow::EDGE)
    } else {
        (WIDTH, LEFT, WIDTH - 8.0)
    };
    let mut sheet = Sheet::default();
    let mut y = if style.heading { 14.0 } else { 4.0 };
    if style.heading {
        y += heading(&mut sheet, shown, (left, right), y);
    }
    if style.legend && !shown.is_empty() {
        y += legend(&mut sheet, shown, style.prefix, (left, right), y);
    }
    let in_a_row = if is_narrow { 1 } else { shown.len().clamp(1, MOST_IN_A_ROW) };
    let plot_left = if is_narrow { narrow::EDGE + 42.0 } else { LEFT };
    let panel_width = (right - plot_left - GAP * (in_a_row as f64 - 1.0)) / in_a_row as f64;
    // A panel alone need not be as wide as the page.
    let panel_width = panel_width.min(620.0);
    let (range, gains) = (range(shown), gains(shown));
    let first = shown.first();
    for (row, subjects) in shown.chunks(in_a_row).enumerate() {
        let mut height: f64 = 0.0;
        // Captions of a row are as high as the highest, so that the plots stand side by side.
        let caption =
            subjects.iter().map(|subject| panel::caption_height(subject, panel_width)).fold(0.0, f64::max);
        for (column, subject) in subjects.iter().enumerate() {
            let x = plot_left + (panel_width + GAP) * column as f64;
            let start = y + caption + 24.0;
            let place = Place {
                range,
                gains,
                x: (x, x + panel_width),
                y: (start, start + if is_narrow { 220.0 } else { 250.0 }),
                scale: column == 0,
                prefix: style.prefix,
            };
            let other = first.filter(|_| row > 0 || column > 0);
            height = height.max(Panel { subject, other, place }.draw(&mut sheet, y));
        }
        y += height + 18.0;
    }
    if subjects.len() > shown.len() {
        let words = format!("and {} more", subjects.len() - shown.len());
        sheet.text(Text::new(Kind::Sub, left, y + 14.0, Anchor::Start, &words).class("quiet"));
        y += 22.0;
    }
    let (body, boxes) = sheet.finish();
    Picture { width, height: y + 4.0, body, boxes }
}

/// All levels of all panels on one scale.
fn range(subjects: &[Subject<'_>]) -> Range {
    let points = || subjects.iter().flat_map(|subject| &subject.group.window);
    let of = |f: fn(&WindowPoint) -> f64| points().map(f).filter(|level| level.is_finite());
    let high = of(|p| p.ceiling.high).fold(f64::NEG_INFINITY, f64::max);
    let mut low = of(|p| p.noise.low).fold(f64::INFINITY, f64::min);
    if !subjects.first().is_some_and(Subject::is_microphone) {
        low = low.min(thermal_limit().dbu());
    }
    if !low.is_finite() || !high.is_finite() {
        return Range { low: -140.0, high: 30.0 };
    }
    let high = ((high + 8.0) / 10.0).ceil() * 10.0;
    let low = ((low - 12.0) / 10.0).floor() * 10.0;
    Range { low: low.max(high - 260.0), high }
}

/// Least and most gain of all panels.
fn gains(subjects: &[Subject<'_>]) -> (f64, f64) {
    let gains = || subjects.iter().filter(|s| s.moves()).flat_map(|s| &s.group.window).map(|p| p.gain_db);
    let (least, most) = (gains().fold(f64::INFINITY, f64::min), gains().fold(f64::NEG_INFINITY, f64::max));
    if most > least { (least, most) } else { (0.0, 60.0) }
}

/// Title and what stands out. Returns the height.
fn heading(sheet: &mut Sheet, subjects: &[Subject<'_>], x: (f64, f64), top: f64) -> f64 {
    let most = x.1 - x.0;
    let mut y = top;
    let title = if subjects.len() == 1 { "The usable window" } else { "Usable windows, side by side" };
    for line in lines(title, Kind::Title.size(), Kind::Title.bold(), most, 3) {
        y += 29.0;
        sheet.text(Text::new(Kind::Title, x.0, y, Anchor::Start, &line).most(most));
    }
    y += 4.0;
    for sentence in twin::standing_out(subjects) {
        for line in lines(&printable(&sentence), Kind::Answer.size(), false, most, 5) {
            y += 23.0;
            sheet.text(Text::new(Kind::Answer, x.0, y, Anchor::Start, &line).most(most));
        }
    }
    y - top + 10.0
}

/// How to read the picture. Returns the height.
fn legend(sheet: &mut Sheet, subjects: &[Subject<'_>], prefix: &str, x: (f64, f64), top: f64) -> f64 {
    let kind = Kind::Small;
    let microphones = subjects.first().is_some_and(Subject::is_microphone);
    let how = if microphones {
        "What is recorded has to rise above the microphone’s own noise and stay below its maximum."
    } else if !subjects.iter().any(Subject::moves) {
        "What arrives at the input has to rise above the noise and stay below the ceiling."
    } else {
        "What arrives at the input has to rise above the noise and stay below the ceiling. More gain lowers both: to the right \
         quieter signals fill the file, and the noise behind the gain sinks until only that of the input is left."
    };
    let mut y = top;
    for line in lines(how, kind.size(), kind.bold(), (x.1 - x.0).min(900.0), 8) {
        y += 16.0;
        sheet.text(Text::new(kind, x.0, y, Anchor::Start, &line).class("quiet"));
    }
    y += 24.0;
    let mut marks = vec![
        (Mark::Ceiling, "ceiling: above it, it distorts"),
        (Mark::Window, "room for what is recorded"),
        (Mark::Noise, if microphones { "noise, A-weighted" } else { "noise, unweighted" }),
        (Mark::Unsure, "where it may lie (95\u{2009}%)"),
    ];
    if !microphones {
        marks.push((Mark::Limit, "thermal noise of 150\u{2009}Ω"));
    }
    if subjects.len() > 1 {
        marks.push((Mark::Other, "the first, to compare"));
    }
    let mut at = x.0;
    for (each, words) in marks {
        let width = 32.0 + kind.width(words);
        if at > x.0 && at + width > x.1 {
            at = x.0;
            y += 20.0;
        }
        mark(sheet, each, prefix, at, y - 4.0);
        sheet.text(Text::new(kind, at + 31.0, y, Anchor::Start, words));
        at += width + 14.0;
    }
    y - top + 16.0
}

#[derive(Clone, Copy)]
enum Mark {
    Ceiling,
    Window,
    Noise,
    Unsure,
    Limit,
    Other,
}

/// Draws a mark with its left edge at `x`, around a centre line.
fn mark(sheet: &mut Sheet, mark: Mark, prefix: &str, x: f64, centre: f64) {
    let (l, r) = (coordinate(x), coordinate(x + 24.0));
    let y = |offset: f64| coordinate(centre + offset);
    let block = |top: f64, bottom: f64| format!("M{l} {}H{r}V{}H{l}Z", y(top), y(bottom));
    let line = |at: f64| format!("M{l} {}H{r}", y(at));
    match mark {
        Mark::Ceiling => crate::legend::mark(sheet, crate::legend::Mark::Ceiling, x, centre),
        Mark::Window => {
            sheet.path("window", &block(-5.0, 5.0));
            sheet.path("quiet-edge", &line(5.0));
        }
        Mark::Noise => {
            let fill = format!("url(#{prefix}-noise)");
            sheet.draw(&html! { path fill=(fill) d=(block(-3.0, 6.0)) {} });
            sheet.path("total", &line(-3.0));
        }
        Mark::Unsure => {
            sheet.path("unsure", &block(-5.0, 5.0));
            sheet.path("ceiling", &line(0.0));
        }
        Mark::Limit => sheet.path("limit", &line(0.0)),
        Mark::Other => sheet.path("before", &line(0.0)),
    }
}
