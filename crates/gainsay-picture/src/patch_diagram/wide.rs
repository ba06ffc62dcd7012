//! The wide picture: channels from left to right.

use super::layout::{LINE, Layout, SMALL_LINE, to_computer};
use super::wiring::{Channel, Wiring};
use crate::figures::THIN;
use crate::scale::coordinate;
use crate::sheet::{Anchor, Kind, Sheet, Text};
use gainsay_plan::patch::sheet::PatchSheet;
use gainsay_plan::words::number;
use maud::html;

/// A text of size `kind` on the line at `y` has its baseline this much below it.
fn below(kind: Kind) -> f64 {
    0.35 * kind.size()
}

/// Draws everything from the names of the columns to the last channel; returns where it ends.
pub(crate) fn draw(
    paper: &mut Sheet,
    wiring: &Wiring<'_>,
    layout: &Layout,
    sheet: &PatchSheet,
    top: f64,
) -> f64 {
    let y = column_names(paper, wiring, layout, sheet, top);
    let (rows, end) = layout.rows(y + 8.0);
    let row = |index: usize| rows.get(index).copied().unwrap_or(y);
    let tops: Vec<f64> =
        rows.iter().zip(&layout.heads).map(|(line, head)| line - layout.pitch / 2.0 - head).collect();
    for frame in &layout.frames {
        let Some((left, right)) = layout.columns.get(frame.column) else { continue };
        let (first, last) = frame.rows;
        let box_top = tops.get(first).copied().unwrap_or(y);
        let bottom = row(last) + layout.pitch / 2.0 + 2.0;
        rectangle(paper, "box", (*left, *right), (box_top, bottom), Some(&frame.whole));
        for (index, line) in frame.name.iter().enumerate() {
            let y = box_top + 17.0 + LINE * index as f64;
            let text = Text::new(Kind::Figure, left + 10.0, y, Anchor::Start, line);
            paper.text(text.most(right - left - 20.0));
        }
    }
    computer(paper, wiring, layout, (&tops, &rows));
    for (channel, y) in wiring.channels.iter().zip(&rows) {
        line(paper, channel, layout, *y);
    }
    for sleeve in &layout.sleeves {
        let (first, last) = (row(sleeve.rows.0), row(sleeve.rows.1));
        let middle = (sleeve.x.0 + sleeve.x.1) / 2.0;
        if sleeve.is_one {
            rectangle(paper, "sleeve", (middle - 3.5, middle + 3.5), (first - 8.0, last + 8.0), None);
        }
        let bottom = first - 8.0 - 6.0;
        for (index, words) in sleeve.words.iter().enumerate() {
            let y = bottom - SMALL_LINE * (sleeve.words.len() - 1 - index) as f64;
            paper.text(
                Text::new(Kind::Tiny, middle, y, Anchor::Middle, words).most(sleeve.x.1 - sleeve.x.0 - 6.0),
            );
        }
    }
    lateness(paper, wiring, layout, &rows);
    end + 4.0
}

/// A rectangle, whose title says in full what is cut in its head.
fn rectangle(paper: &mut Sheet, class: &str, x: (f64, f64), y: (f64, f64), title: Option<&str>) {
    let radius = (class == "sleeve").then_some("3.5");
    paper.draw(&html! {
        rect class=(class) x=(coordinate(x.0)) y=(coordinate(y.0)) width=(coordinate(x.1 - x.0))
            height=(coordinate(y.1 - y.0)) rx=[radius] {
            @if let Some(title) = title { title { (title) } }
        }
    });
}

fn column_names(
    paper: &mut Sheet,
    wiring: &Wiring<'_>,
    layout: &Layout,
    sheet: &PatchSheet,
    top: f64,
) -> f64 {
    let y = top + 14.0;
    let mut name = |x: f64, anchor: Anchor, words: &str| {
        paper.text(Text::new(Kind::Stage, x, y, anchor, words).class("quiet"));
    };
    if layout.stacked {
        name(layout.source.0, Anchor::Start, "source, microphone");
    } else {
        name(layout.source.0, Anchor::Start, "source");
        name(layout.microphone.0, Anchor::Start, "microphone");
    }
    if wiring.channels.iter().any(|channel| !channel.cable().is_empty()) {
        name(layout.start.0, Anchor::End, "cable");
    }
    let most = layout.columns.len();
    for (column, (left, _)) in layout.columns.iter().enumerate() {
        let several = wiring.boxes(column).len() > 1;
        let words = match (column, several) {
            (0, _) if ends_in_recorder(wiring, sheet) => "recorder",
            (0, false) => "interface",
            (0, true) => "interfaces",
            (_, false) if wiring.preamps && column + 1 == most => "preamp",
            (_, true) if wiring.preamps && column + 1 == most => "preamps",
            (_, false) => "converter",
            (_, true) => "converters",
        };
        name(*left, Anchor::Start, words);
    }
    let end = if ends_in_recorder(wiring, sheet) { "recording" } else { "computer" };
    name(layout.computer.0, Anchor::Start, end);
    if let Some(x) = layout.late {
        name(x, Anchor::Start, "late by");
    }
    let (left, right) = (coordinate(layout.source.0), coordinate(layout.width - super::layout::EDGE));
    paper.path("rule", &format!("M{left} {}H{right}", coordinate(y + 8.0)));
    y + 8.0
}

/// Whether nothing goes to a computer: the last box records by itself.
pub(crate) fn ends_in_recorder(wiring: &Wiring<'_>, sheet: &PatchSheet) -> bool {
    wiring.channels.iter().filter_map(Channel::end).all(|at| to_computer(sheet, at).is_none())
}

fn computer(paper: &mut Sheet, wiring: &Wiring<'_>, layout: &Layout, (tops, rows): (&[f64], &[f64])) {
    let (Some(top), Some(last)) = (tops.first(), rows.last()) else { return };
    let (left, right) = layout.computer;
    rectangle(paper, "box", (left, right), (*top, last + layout.pitch / 2.0 + 2.0), None);
    paper.text(Text::new(Kind::Figure, left + 12.0, top + 17.0, Anchor::Start, "Tracks"));
    for (channel, y) in wiring.channels.iter().zip(rows) {
        let digits = channel.number();
        let at = left + 12.0;
        paper.text(Text::new(Kind::Figure, at, y + below(Kind::Figure), Anchor::Start, &digits));
        let name_at = at + Kind::Figure.width(&digits) + 8.0;
        let text = Text::new(Kind::Small, name_at, y + below(Kind::Small), Anchor::Start, channel.track());
        paper.text(text.most(right - name_at - 6.0));
    }
}

/// A channel: its texts on the left, its line, and what stands at its inputs.
fn line(paper: &mut Sheet, channel: &Channel<'_>, layout: &Layout, y: f64) {
    let (up, down) = if layout.stacked { (7.0, 7.0) } else { (0.0, 0.0) };
    let mut text = |kind: Kind, (left, right): (f64, f64), y: f64, words: &str, class: &str| {
        let text = Text::new(kind, left, y + below(kind), Anchor::Start, words);
        paper.text(text.class(class).most(right - left));
    };
    text(Kind::Figure, layout.source, y - up, &channel.row.source_words(), "");
    if layout.stacked {
        text(Kind::Tiny, layout.microphone, y + down, &channel.microphone(), "quiet");
    } else {
        text(Kind::Small, layout.microphone, y, &channel.microphone(), "");
    }
    let cable = channel.cable();
    if !cable.is_empty() {
        let text = Text::new(Kind::Tiny, layout.start.0, y + below(Kind::Tiny), Anchor::End, &cable);
        paper.text(text.class("quiet"));
    }

    let mut d = String::new();
    let mut through = String::new();
    let mut entries = String::new();
    let mut x = layout.start.1 + 6.0;
    for stop in &channel.stops {
        let Some((left, right)) = layout.columns.get(stop.column) else { continue };
        d.push_str(&format!("M{} {}H{}", coordinate(x), coordinate(y), coordinate(*left)));
        entries.push_str(&entry(*left, y));
        let words = [stop.input.as_str(), stop.settings.as_str()];
        let at = inside(paper, words, (left + 10.0, right - 14.0), y);
        through.push_str(&format!("M{} {}H{}", coordinate(at), coordinate(y), coordinate(*right)));
        x = *right;
    }
    let end = layout.computer.0;
    d.push_str(&format!("M{} {}H{}", coordinate(x), coordinate(y), coordinate(end)));
    entries.push_str(&entry(end, y));
    paper.path("through", &through);
    paper.draw(&html! { path class="sound" data-track=(channel.row.channel) d=(d) {} });
    paper.draw(&html! {
        circle class="begin" cx=(coordinate(layout.start.1 + 3.0)) cy=(coordinate(y)) r="3" {}
    });
    paper.path("entry", &entries);
}

/// An arrowhead where a line goes into a box.
fn entry(x: f64, y: f64) -> String {
    format!("M{} {}l-7-3.5v7Z", coordinate(x), coordinate(y))
}

/// Which input, and how it is set; returns where the line goes on.
fn inside(paper: &mut Sheet, [input, settings]: [&str; 2], x: (f64, f64), y: f64) -> f64 {
    let mut at = x.0;
    paper.text(Text::new(Kind::Figure, at, y + below(Kind::Figure), Anchor::Start, input).most(x.1 - at));
    at += Kind::Figure.width(input);
    if !settings.is_empty() {
        at += 8.0;
        let text = Text::new(Kind::Small, at, y + below(Kind::Small), Anchor::Start, settings);
        paper.text(text.most(x.1 - at));
        at += Kind::Small.width(settings);
    }
    at.min(x.1) + 7.0
}

/// Brackets with how much later than the earliest their channels are.
fn lateness(paper: &mut Sheet, wiring: &Wiring<'_>, layout: &Layout, rows: &[f64]) {
    let Some(left) = layout.late else { return };
    let most = layout.width - super::layout::EDGE - left - 10.0;
    let runs = wiring.runs(|channel| channel.late.map(|(samples, path)| (samples, path.path.as_str(), path)));
    for (first, last, (samples, _, path)) in runs {
        let (Some(first), Some(last)) = (rows.get(first), rows.get(last)) else { continue };
        let half = layout.pitch / 2.0 - 4.0;
        let (from, to) = (coordinate(first - half), coordinate(last + half));
        let x = coordinate(left);
        paper.path("bracket", &format!("M{x} {from}h4V{to}h-4"));
        let centre = (first + last) / 2.0;
        let mut words = Vec::new();
        if samples == 0 {
            words.push((Kind::Small, "the earliest".to_owned()));
        } else {
            let plural = if samples == 1 { "" } else { "s" };
            words.push((Kind::Figure, format!("+{samples} sample{plural}")));
            let spread = (path.late_most_samples - path.late_least_samples) / 2.0;
            let spread =
                if spread >= 0.5 { format!("±{THIN}{}, ", number(spread, 0)) } else { String::new() };
            words.push((Kind::Tiny, format!("{spread}{}{THIN}ms", number(path.late_ms, 2))));
        }
        let height = 13.5;
        for (index, (kind, words)) in words.iter().enumerate() {
            let offset = (index as f64 - (words_count(samples) - 1.0) / 2.0) * height;
            let text = Text::new(*kind, left + 11.0, centre + offset + below(*kind), Anchor::Start, words);
            paper.text(text.most(most).class(if *kind == Kind::Figure { "" } else { "quiet" }));
        }
    }
}

/// Lines beside a bracket.
const fn words_count(samples: u32) -> f64 {
    if samples == 0 { 1.0 } else { 2.0 }
}
