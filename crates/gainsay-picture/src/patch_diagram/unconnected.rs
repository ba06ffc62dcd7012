//! Sources that have no input.

use crate::labels::lines;
use crate::sheet::{Anchor, Kind, Sheet, Text, printable};
use gainsay_plan::patch::sheet::PatchSheet;
use maud::html;

/// Lists them below everything; returns where it ends.
pub(crate) fn draw(paper: &mut Sheet, sheet: &PatchSheet, x: (f64, f64), top: f64) -> f64 {
    if sheet.without_input.is_empty() {
        return top;
    }
    let mut y = super::section(paper, "not connected", x, top);
    let left = x.0 + 20.0;
    let names: Vec<String> = sheet.without_input.iter().map(|without| printable(&without.source)).collect();
    let widest = names.iter().map(|name| Kind::Figure.width(name)).fold(0.0, f64::max);
    // Names and reasons side by side where there is room, else below each other.
    let side = x.1 - left > 600.0;
    let name_width = if side { widest.min(240.0) + 0.5 } else { x.1 - left };
    let (reason_left, kind) = (if side { left + name_width + 18.0 } else { left }, Kind::Small);
    for (name, without) in names.iter().zip(&sheet.without_input) {
        y += 19.0;
        let place =
            format!("translate({} {})", crate::scale::coordinate(x.0), crate::scale::coordinate(y - 10.5));
        paper.draw(&html! { path class="mark-short" transform=(place) d="M2 2L10 10M10 2L2 10" {} });
        paper.text(Text::new(Kind::Figure, left, y, Anchor::Start, name).most(name_width));
        if !side {
            y += 16.0;
        }
        let why = lines(&printable(&without.why), kind.size(), kind.bold(), x.1 - reason_left, 4);
        for (index, line) in why.iter().enumerate() {
            if index > 0 {
                y += 15.0;
            }
            let text = Text::new(kind, reason_left, y, Anchor::Start, line).most(x.1 - reason_left);
            paper.text(text.class("quiet"));
        }
    }
    y + 6.0
}
