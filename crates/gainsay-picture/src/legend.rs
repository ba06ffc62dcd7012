//! What the marks mean, once.

use crate::labels::lines;
use crate::scale::coordinate;
use crate::sheet::{Anchor, Kind, Sheet, Text};

/// A mark in a box of 24 × 14.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    Peak,
    Quiet,
    Soft,
    Noise,
    Ceiling,
    Target,
    Before,
}

impl Mark {
    const fn words(self) -> &'static str {
        match self {
            Self::Peak => "loudest peak",
            Self::Quiet => "quietest passage",
            Self::Soft => "soft edges: uncertainty",
            Self::Noise => "noise: what you hear under it",
            Self::Ceiling => "ceiling: above it, it distorts",
            Self::Target => "target: where the peak should land",
            Self::Before => "before the change",
        }
    }
}

/// Draws a mark with its left edge at `x`, around a centre line.
pub(crate) fn mark(sheet: &mut Sheet, mark: Mark, x: f64, centre: f64) {
    let (l, r) = (coordinate(x), coordinate(x + 24.0));
    let y = |offset: f64| coordinate(centre + offset);
    match mark {
        Mark::Peak => {
            sheet.path("core", &format!("M{l} {}H{r}V{}H{l}Z", y(-3.0), y(5.0)));
            sheet.path("edge", &format!("M{l} {}H{r}", y(-3.0)));
            sheet.path("turn-up", &format!("M{} {}v-5", coordinate(x + 12.0), y(-4.0)));
        }
        Mark::Quiet => {
            sheet.path("core", &format!("M{l} {}H{r}V{}H{l}Z", y(-5.0), y(3.0)));
            sheet.path("quiet-edge", &format!("M{l} {}H{r}", y(3.0)));
            sheet.path("turn-up", &format!("M{} {}v5", coordinate(x + 12.0), y(4.0)));
        }
        Mark::Soft => {
            for step in 0..6_u8 {
                let top = y(-7.0 + 2.0 * f64::from(step));
                sheet.path("soft", &format!("M{l} {top}H{r}V{}H{l}Z", y(6.0)));
            }
        }
        Mark::Noise => {
            sheet.path("noise-1", &format!("M{l} {}H{r}V{}H{l}Z", y(-3.0), y(6.0)));
            sheet.path("total", &format!("M{l} {}H{r}", y(-3.0)));
        }
        Mark::Ceiling => {
            sheet.path("ceiling", &format!("M{l} {}H{r}", y(2.0)));
            let mut hatch = String::new();
            for step in 0..4_u8 {
                let at = coordinate(x + 1.0 + 6.0 * f64::from(step));
                hatch.push_str(&format!("M{at} {}l5-5", y(2.0)));
            }
            sheet.path("hatch", &hatch);
        }
        Mark::Target => sheet.path("target", &format!("M{l} {}H{r}", y(0.0))),
        Mark::Before => sheet.path("before", &format!("M{l} {}H{r}", y(0.0))),
    }
}

/// How to read the picture, and the marks, in as many rows as they take. Returns the height.
pub(crate) fn draw(sheet: &mut Sheet, left: f64, top: f64, right: f64, before: bool) -> f64 {
    const HOW: [&str; 2] = [
        "Each lane follows one source: sound becomes a voltage, gain lifts signal and noise together, a converter makes \
         numbers of it.",
        "Noise that lies well below other noise is not heard: only what makes the top of it is worth mending.",
    ];
    let kind = Kind::Small;
    let mut y = top;
    for line in HOW.iter().flat_map(|how| lines(how, kind.size(), kind.bold(), right - left, 8)) {
        y += 16.0;
        sheet.text(Text::new(kind, left, y, Anchor::Start, &line).class("quiet"));
    }
    y += 24.0;
    let mut marks = vec![Mark::Peak, Mark::Quiet, Mark::Soft, Mark::Noise, Mark::Ceiling, Mark::Target];
    if before {
        marks.push(Mark::Before);
    }
    let mut x = left;
    for each in marks {
        let words = each.words();
        let width = 32.0 + kind.width(words);
        if x > left && x + width > right {
            x = left;
            y += 20.0;
        }
        mark(sheet, each, x, y - 4.0);
        sheet.text(Text::new(kind, x + 31.0, y, Anchor::Start, words));
        x += width + 14.0;
    }
    y - top + 14.0
}
