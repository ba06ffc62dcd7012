//! The options: what each plan costs, and what it comes to.
//!
//! To the right runs the price, upwards the result, a level for each result that any of the plans comes to. The frontier is a
//! line in steps from the cheapest plan up to the best; what lies off it is hollow.
//!
//! ```text
//! OptionsAnswer ─ Spots (plans, each once, with its level) ─ wide: axis, steps, labels │ narrow: rows in order of price ─ SVG
//!               └ options_text_twin: the same facts in sentences
//! ```

mod legend;
mod narrow;
mod spots;
mod twin;
mod wide;

use crate::labels::lines;
use crate::scale::coordinate;
use crate::sheet::{Anchor, Kind, Sheet, Text, TextBox, printable, text_rules};
use crate::style::{COLOURS, DOCUMENT, SHAPES, Style, Width};
use gainsay_plan::options::OptionsAnswer;
use maud::{Markup, PreEscaped, html};
use spots::Spots;

pub use twin::options_text_twin;

/// Shapes that only this picture has.
pub(crate) const OWN_SHAPES: &str = "\
.level-diagram .steps{stroke:var(--signal-edge);stroke-width:2;stroke-linejoin:round}
.level-diagram .other-steps{stroke:var(--ink);stroke-width:1;stroke-dasharray:4 3}
.level-diagram .plan{fill:var(--signal-edge);stroke:var(--paper);stroke-width:1.5}
.level-diagram .hollow{fill:var(--paper);stroke:var(--ink);stroke-width:1.4}
.level-diagram .ring{fill:var(--paper);stroke:var(--signal-edge);stroke-width:2}
.level-diagram .chance-ground{fill:var(--paper);stroke:var(--quiet-ink);stroke-width:.8}
.level-diagram .chance{fill:var(--quiet-ink)}
";

/// A picture before it becomes a document.
struct Picture {
    width: f64,
    height: f64,
    body: String,
    boxes: Vec<TextBox>,
}

/// The options as a document of its own: an SVG file with its style, light or dark as its reader prefers, black in print. Of the
/// style, `before` and the peak target have no meaning here, and a lane is a plan.
#[must_use]
pub fn options_frontier(answer: &OptionsAnswer, style: &Style<'_>) -> String {
    let css = format!("{COLOURS}{DOCUMENT}{SHAPES}{OWN_SHAPES}{}", text_rules());
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}", svg(answer, style, &css).0)
}

/// The options as an element of a page, whose style sheet holds [`COLOURS`] and [`crate::rules`].
#[must_use]
pub fn options_frontier_inline(answer: &OptionsAnswer, style: &Style<'_>) -> String {
    svg(answer, style, "").0
}

/// Where the texts of the picture stand.
#[must_use]
pub fn options_text_boxes(answer: &OptionsAnswer, style: &Style<'_>) -> Vec<TextBox> {
    picture(answer, style).boxes
}

fn svg(answer: &OptionsAnswer, style: &Style<'_>, css: &str) -> Markup {
    let picture = picture(answer, style);
    let (width, height) = (coordinate(picture.width), coordinate(picture.height));
    let (title_id, description_id) =
        (format!("{}-title", style.prefix), format!("{}-description", style.prefix));
    html! {
        svg class="level-diagram" xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {width} {height}"))
            width=(width) height=(height) role="img" aria-labelledby=(title_id) aria-describedby=(description_id) {
            title id=(title_id) { "Options: " (printable(&answer.title)) }
            desc id=(description_id) { (options_text_twin(answer)) }
            @if !css.is_empty() { style { (PreEscaped(css)) } }
            g fill="none" { (PreEscaped(&picture.body)) }
        }
    }
}

fn picture(answer: &OptionsAnswer, style: &Style<'_>) -> Picture {
    let spots = Spots::new(answer, style.most_lanes);
    let mut sheet = Sheet::default();
    let is_narrow = style.width == Width::Narrow;
    let (width, left, right) = if is_narrow {
        (crate::narrow::WIDTH, crate::narrow::EDGE, crate::narrow::WIDTH - crate::narrow::EDGE)
    } else {
        (crate::lane::WIDTH, wide::EDGE, crate::lane::WIDTH - wide::EDGE)
    };
    let mut y = if style.heading { 14.0 } else { 2.0 };
    if style.heading {
        y += heading(&mut sheet, answer, (left, right), y);
    }
    if style.legend {
        y += legend::draw(&mut sheet, &spots, (left, right), y, is_narrow);
    }
    y = if is_narrow {
        narrow::draw(&mut sheet, &spots, y)
    } else {
        wide::draw(&mut sheet, &spots, answer.budget, y)
    };
    if spots.left_out > 0 {
        let words = format!("and {} more", spots.left_out);
        sheet.text(Text::new(Kind::Sub, left, y + 16.0, Anchor::Start, &words).class("quiet"));
        y += 24.0;
    }
    let (body, boxes) = sheet.finish();
    Picture { width, height: y + 10.0, body, boxes }
}

/// Title and what to do. Returns the height.
fn heading(sheet: &mut Sheet, answer: &OptionsAnswer, x: (f64, f64), top: f64) -> f64 {
    let most = x.1 - x.0;
    let mut y = top;
    for line in lines(&printable(&answer.title), Kind::Title.size(), Kind::Title.bold(), most, 3) {
        y += 29.0;
        sheet.text(Text::new(Kind::Title, x.0, y, Anchor::Start, &line).most(most));
    }
    y += 4.0;
    let said: Vec<&str> = answer.answer.iter().take(2).map(String::as_str).collect();
    let measure = most.min(860.0);
    for line in lines(&printable(&said.join(" ")), Kind::Answer.size(), false, measure, 12) {
        y += 23.0;
        sheet.text(Text::new(Kind::Answer, x.0, y, Anchor::Start, &line).most(measure));
    }
    y - top + 10.0
}
