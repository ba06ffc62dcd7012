//! The patch diagram: what is plugged into what.
//!
//! Every channel is one straight line from its source, through the boxes on its way, to its track. The channels lie in an order
//! in which no two lines cross; a box is a frame around the lines that go through it, a digital cable a sleeve around those that
//! it carries. Whose clock a box runs on stands below, in dashes, away from the sound.
//!
//! ```text
//! PatchSheet, Patch ─ Wiring (stops of every channel, in order) ─ Layout (columns and rows) ─ SVG
//!                   └ patch_text_twin: the same facts in sentences
//! ```

mod clock;
mod layout;
mod legend;
mod narrow;
mod twin;
mod unconnected;
mod wide;
mod wiring;

use crate::labels::lines;
use crate::scale::coordinate;
use crate::sheet::{Anchor, Kind, Sheet, Text, TextBox, printable, text_rules};
use crate::style::{COLOURS, DOCUMENT, SHAPES, Style, Width};
use gainsay_plan::patch::Patch;
use gainsay_plan::patch::sheet::PatchSheet;
use maud::{Markup, PreEscaped, html};

pub use twin::patch_text_twin;

/// Shapes that only this picture has.
pub(crate) const OWN_SHAPES: &str = "\
.level-diagram .box{fill:var(--paper);stroke:var(--ink);stroke-width:1.2}
.level-diagram .sound{stroke:var(--signal-edge);stroke-width:1.7}
.level-diagram .through{stroke:var(--signal-edge);stroke-width:.7}
.level-diagram .entry{fill:var(--signal-edge)}
.level-diagram .begin{fill:var(--paper);stroke:var(--signal-edge);stroke-width:1.5}
.level-diagram .sleeve{fill:var(--paper);stroke:var(--ink);stroke-width:1.1}
.level-diagram .clock{stroke:var(--ink);stroke-width:1.3;stroke-dasharray:6 4}
.level-diagram .clock-head{fill:var(--ink)}
.level-diagram .bracket{stroke:var(--ink);stroke-width:1}
";

/// A picture before it becomes a document.
struct Picture {
    width: f64,
    height: f64,
    body: String,
    boxes: Vec<TextBox>,
}

/// The patch diagram as a document of its own: an SVG file with its style, light or dark as its reader prefers, black in print.
/// The patch has to be that of the sheet. Of the style, `before` and the peak target have no meaning here, and a lane is a
/// channel.
#[must_use]
pub fn patch_diagram(sheet: &PatchSheet, patch: &Patch, style: &Style<'_>) -> String {
    let css = format!("{COLOURS}{DOCUMENT}{SHAPES}{OWN_SHAPES}{}", text_rules());
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}", svg(sheet, patch, style, &css).0)
}

/// The patch diagram as an element of a page, whose style sheet holds [`COLOURS`] and [`crate::rules`].
#[must_use]
pub fn patch_diagram_inline(sheet: &PatchSheet, patch: &Patch, style: &Style<'_>) -> String {
    svg(sheet, patch, style, "").0
}

/// Where the texts of the picture stand.
#[must_use]
pub fn patch_text_boxes(sheet: &PatchSheet, patch: &Patch, style: &Style<'_>) -> Vec<TextBox> {
    picture(sheet, patch, style).boxes
}

fn svg(sheet: &PatchSheet, patch: &Patch, style: &Style<'_>, css: &str) -> Markup {
    let picture = picture(sheet, patch, style);
    let (width, height) = (coordinate(picture.width), coordinate(picture.height));
    let (title_id, description_id) =
        (format!("{}-title", style.prefix), format!("{}-description", style.prefix));
    html! {
        svg class="level-diagram" xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {width} {height}"))
            width=(width) height=(height) role="img" aria-labelledby=(title_id) aria-describedby=(description_id) {
            title id=(title_id) { "Patch: " (printable(&sheet.title)) }
            desc id=(description_id) { (patch_text_twin(sheet, patch)) }
            @if !css.is_empty() { style { (PreEscaped(css)) } }
            g fill="none" { (PreEscaped(&picture.body)) }
        }
    }
}

fn picture(sheet: &PatchSheet, patch: &Patch, style: &Style<'_>) -> Picture {
    let wiring = wiring::Wiring::new(sheet, patch, style.most_lanes);
    let mut paper = Sheet::default();
    let is_narrow = style.width == Width::Narrow;
    let layout = layout::Layout::new(&wiring, sheet, patch);
    let (width, left, right) = if is_narrow {
        (crate::narrow::WIDTH, crate::narrow::EDGE, crate::narrow::WIDTH - crate::narrow::EDGE)
    } else {
        (layout.width, layout::EDGE, layout.width - layout::EDGE)
    };
    let mut y = if style.heading { 14.0 } else { 2.0 };
    if style.heading {
        y += heading(&mut paper, sheet, (left, right), y);
    }
    if style.legend && !wiring.channels.is_empty() {
        y += legend::draw(&mut paper, &wiring, sheet, (left, right), y, is_narrow);
    }
    if !wiring.channels.is_empty() {
        y = if is_narrow {
            narrow::draw(&mut paper, &wiring, sheet, patch, y)
        } else {
            wide::draw(&mut paper, &wiring, &layout, sheet, y)
        };
    }
    if wiring.left_out > 0 {
        let words = format!("and {} more", wiring.left_out);
        paper.text(Text::new(Kind::Sub, left, y + 16.0, Anchor::Start, &words).class("quiet"));
        y += 26.0;
    }
    let places: Vec<clock::Place> = if is_narrow {
        vec![clock::Place { left, right }]
    } else {
        layout.columns.iter().map(|(from, to)| clock::Place { left: *from, right: *to }).collect()
    };
    y = clock::draw(&mut paper, &wiring, (sheet, patch), &places, (left, right), y);
    y = unconnected::draw(&mut paper, sheet, (left, right), y);
    let (body, boxes) = paper.finish();
    Picture { width, height: y + 10.0, body, boxes }
}

/// Title and first sentence. Returns the height.
fn heading(paper: &mut Sheet, sheet: &PatchSheet, x: (f64, f64), top: f64) -> f64 {
    let most = x.1 - x.0;
    let mut y = top;
    for line in lines(&printable(&sheet.title), Kind::Title.size(), Kind::Title.bold(), most, 3) {
        y += 29.0;
        paper.text(Text::new(Kind::Title, x.0, y, Anchor::Start, &line).most(most));
    }
    y += 4.0;
    if let Some(first) = sheet.answer.first() {
        for line in lines(&printable(first), Kind::Answer.size(), false, most, 5) {
            y += 23.0;
            paper.text(Text::new(Kind::Answer, x.0, y, Anchor::Start, &line).most(most));
        }
    }
    y - top + 10.0
}

/// A rule across the picture, with the name of what follows below it. Returns where it ends.
fn section(paper: &mut Sheet, name: &str, x: (f64, f64), y: f64) -> f64 {
    paper.path("rule", &format!("M{} {}H{}", coordinate(x.0), coordinate(y + 14.0), coordinate(x.1)));
    paper.text(Text::new(Kind::Stage, x.0, y + 32.0, Anchor::Start, name).class("quiet"));
    y + 36.0
}
