//! What the marks mean, once, and only those that are there.

use super::wiring::{Via, Wiring};
use crate::labels::lines;
use crate::scale::coordinate;
use crate::sheet::{Anchor, Kind, Sheet, Text};
use gainsay_plan::patch::sheet::PatchSheet;
use maud::html;

#[derive(Debug, Clone, Copy)]
enum Mark {
    Sound,
    Sleeve,
    Clock,
    Phantom,
    Channel,
}

impl Mark {
    const fn words(self) -> &'static str {
        match self {
            Self::Sound => "sound, a line a channel",
            Self::Sleeve => "one cable for the channels in it",
            Self::Clock => "clock, to the box that follows",
            Self::Phantom => "phantom power on",
            Self::Channel => "channel of the cable",
        }
    }
}

fn mark(paper: &mut Sheet, mark: Mark, x: f64, centre: f64, baseline: f64) {
    let (l, r, y) = (coordinate(x), coordinate(x + 24.0), coordinate(centre));
    match mark {
        Mark::Sound => {
            paper.path("sound", &format!("M{l} {y}H{r}"));
            paper.path("entry", &format!("M{r} {y}l-7-3.5v7Z"));
        }
        Mark::Sleeve => {
            paper.path(
                "sound",
                &format!("M{l} {}H{r}M{l} {}H{r}", coordinate(centre - 3.0), coordinate(centre + 3.0)),
            );
            paper.draw(&html! {
                rect class="sleeve" x=(coordinate(x + 8.5)) y=(coordinate(centre - 7.0)) width="7" height="14" rx="3.5" {}
            });
        }
        Mark::Clock => {
            paper.path("clock", &format!("M{l} {y}H{}", coordinate(x + 16.0)));
            paper.path("clock-head", &format!("M{r} {y}l-8-4v8Z"));
        }
        Mark::Phantom => paper.text(Text::new(Kind::Small, x, baseline, Anchor::Start, "P48")),
        Mark::Channel => paper.text(Text::new(Kind::Figure, x, baseline, Anchor::Start, "ch.")),
    }
}

/// Draws the marks in as many rows as they take; returns the height.
pub(crate) fn draw(
    paper: &mut Sheet,
    wiring: &Wiring<'_>,
    sheet: &PatchSheet,
    x: (f64, f64),
    top: f64,
    is_narrow: bool,
) -> f64 {
    let kind = Kind::Small;
    let mut y = top;
    if is_narrow {
        let how =
            "Read upwards: every source goes up its line into the box above it, and on to the computer.";
        for line in lines(how, kind.size(), kind.bold(), x.1 - x.0, 4) {
            y += 16.0;
            paper.text(Text::new(kind, x.0, y, Anchor::Start, &line).class("quiet"));
        }
        y += 6.0;
    }
    let mut stops = wiring.channels.iter().flat_map(|channel| &channel.stops);
    let has_cables = stops.any(|stop| matches!(stop.via, Via::Cable { .. }));
    let mut marks = Vec::new();
    if !is_narrow {
        marks.push(Mark::Sound);
        if has_cables || sheet.connections.iter().any(|connection| connection.to_box.is_none()) {
            marks.push(Mark::Sleeve);
        }
    }
    if sheet.clocks.iter().any(|row| row.follows.is_some()) {
        marks.push(Mark::Clock);
    }
    if wiring.channels.iter().any(|channel| channel.row.phantom) {
        marks.push(Mark::Phantom);
    }
    if has_cables && !is_narrow {
        marks.push(Mark::Channel);
    }
    y += 16.0;
    let mut at = x.0;
    for each in marks {
        let (words, sign) = (each.words(), 31.0);
        let width = sign + kind.width(words);
        if at > x.0 && at + width > x.1 {
            at = x.0;
            y += 20.0;
        }
        mark(paper, each, at, y - 4.0, y);
        paper.text(Text::new(kind, at + sign, y, Anchor::Start, words).class("quiet"));
        at += width + 20.0;
    }
    y - top + 12.0
}
