//! The narrow picture: a tree from the computer down to the sources, whose lines run upwards.

use super::layout::{channel_words, to_computer, wire_words};
use super::wiring::{Channel, Via, Wire, Wiring};
use crate::labels::lines;
use crate::scale::coordinate;
use crate::sheet::{Anchor, Kind, Sheet, Text, printable};
use gainsay_plan::patch::sheet::PatchSheet;
use gainsay_plan::patch::{Patch, Unit};
use maud::html;

/// Each box stands this much further to the right than that into which it goes.
const INDENT: f64 = 18.0;

/// Right edge of everything.
const RIGHT: f64 = crate::narrow::WIDTH - crate::narrow::EDGE;

/// A box or the computer whose line is still open below.
struct Open {
    /// Index of the box and how its sound leaves it; none of the computer.
    key: Option<(usize, Option<Via>)>,
    /// Where its line runs, from where to where.
    x: f64,
    from: f64,
    to: f64,
}

/// Draws everything; returns where it ends.
pub(crate) fn draw(
    paper: &mut Sheet,
    wiring: &Wiring<'_>,
    sheet: &PatchSheet,
    patch: &Patch,
    top: f64,
) -> f64 {
    let root = if super::wide::ends_in_recorder(wiring, sheet) { "Tracks" } else { "Computer" };
    let mut y = top + 18.0;
    paper.text(Text::new(Kind::Name, crate::narrow::EDGE, y, Anchor::Start, root));
    let mut open = vec![Open { key: None, x: crate::narrow::EDGE + 5.0, from: y + 6.0, to: y }];
    for channel in &wiring.channels {
        // The boxes from the computer to this source; those that are open already stay so.
        let keys: Vec<(usize, Option<Via>)> = channel
            .stops
            .iter()
            .enumerate()
            .rev()
            .map(|(index, stop)| (stop.at, channel.stops.get(index + 1).map(|next| next.via)))
            .collect();
        let shared =
            open.iter().skip(1).zip(&keys).take_while(|(open, key)| open.key.as_ref() == Some(*key)).count();
        for closed in open.drain(shared + 1..) {
            spine(paper, &closed);
        }
        for key in keys.iter().skip(shared) {
            y = head(paper, &mut open, *key, (sheet, patch), y);
        }
        y = source(paper, &mut open, channel, y);
    }
    for closed in open.drain(..) {
        spine(paper, &closed);
    }
    y + 6.0
}

/// The line of a box, from the last that goes into it up to its name.
fn spine(paper: &mut Sheet, open: &Open) {
    if open.to > open.from {
        let (x, from) = (coordinate(open.x), coordinate(open.from));
        paper.path("sound", &format!("M{x} {}V{from}", coordinate(open.to)));
        paper.path("entry", &format!("M{x} {from}l-3.5 7h7Z"));
    }
}

/// A branch from the innermost line; returns where a text begins.
fn branch(paper: &mut Sheet, open: &mut [Open], y: f64, track: Option<u32>) -> f64 {
    let Some(last) = open.last_mut() else { return crate::narrow::EDGE };
    last.to = y;
    let right = last.x + INDENT - 7.0;
    let d = format!("M{} {}H{}", coordinate(right), coordinate(y), coordinate(last.x));
    paper.draw(&html! { path class="sound" data-track=[track] d=(d) {} });
    right + 5.0
}

/// Name of a box, and over what it goes on; returns where it ends.
fn head(
    paper: &mut Sheet,
    open: &mut Vec<Open>,
    key: (usize, Option<Via>),
    (sheet, patch): (&PatchSheet, &Patch),
    top: f64,
) -> f64 {
    let (at, via) = key;
    let parent = open.last().and_then(|open| open.key).map(|(at, _)| at);
    let words = match (via, parent) {
        (Some(via), Some(to)) => wire_words(Wire { from: at, to, via }, sheet, patch),
        _ => to_computer(sheet, at)
            .map(|c| std::iter::once(c.format.clone()).chain(channel_words(c)).collect())
            .unwrap_or_default(),
    };
    let mut y = top + 26.0;
    let x = branch(paper, open, y - 4.5, None);
    let name = printable(&patch.boxes.get(at).map(Unit::words).unwrap_or_default());
    let kind = Kind::Figure;
    for (index, line) in lines(&name, kind.size(), kind.bold(), RIGHT - x, 3).iter().enumerate() {
        y += if index > 0 { 16.0 } else { 0.0 };
        paper.text(Text::new(kind, x, y, Anchor::Start, line).most(RIGHT - x));
    }
    let kind = Kind::Small;
    for line in lines(&words.join(", "), kind.size(), kind.bold(), RIGHT - x, 3) {
        y += 15.0;
        paper.text(Text::new(kind, x, y, Anchor::Start, &line).class("quiet").most(RIGHT - x));
    }
    open.push(Open { key: Some(key), x: x + 5.0, from: y + 6.0, to: y });
    y
}

/// A source: its input and name, its track on the right; below it what stands in its line.
fn source(paper: &mut Sheet, open: &mut [Open], channel: &Channel<'_>, top: f64) -> f64 {
    let mut y = top + 24.0;
    let x = branch(paper, open, y - 4.5, Some(channel.row.channel));
    let track = format!("track {}", channel.number());
    paper.text(Text::new(Kind::Small, RIGHT, y, Anchor::End, &track));
    let right = RIGHT - Kind::Small.width(&track) - 10.0;
    let mut at = x;
    let first = channel.stops.first();
    if let Some(stop) = first {
        paper.text(Text::new(Kind::Figure, x, y, Anchor::Start, &stop.input).class("quiet").most(80.0));
        at += Kind::Figure.width(&stop.input).min(80.0) + 9.0;
    }
    let name = channel.row.source_words();
    paper.text(Text::new(Kind::Figure, at, y, Anchor::Start, &name).most(right - at));
    let mut parts = vec![channel.microphone()];
    if channel.row.cable_m > 0.0 {
        parts.push(crate::figures::distance(channel.row.cable_m));
    }
    parts.extend(channel.row.booster.clone());
    parts.extend(channel.stops.iter().map(|stop| stop.settings.clone()));
    parts.extend(channel.stops.iter().skip(1).map(|stop| match stop.input.strip_prefix("ch. ") {
        Some(number) => format!("channel {number} of the cable"),
        None => format!("into {}", stop.input),
    }));
    if let Some((samples, _)) = channel.late.filter(|(samples, _)| *samples > 0) {
        parts.push(format!("+{samples} sample{}", if samples == 1 { "" } else { "s" }));
    }
    parts.retain(|part| !part.is_empty());
    let kind = Kind::Small;
    for line in lines(&printable(&parts.join(", ")), kind.size(), kind.bold(), RIGHT - at, 4) {
        y += 15.0;
        paper.text(Text::new(kind, at, y, Anchor::Start, &line).class("quiet").most(RIGHT - at));
    }
    y
}
