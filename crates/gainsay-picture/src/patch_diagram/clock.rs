//! Whose clock every box runs on: a tree in dashes, below the sound and away from it. In the wide picture every box stands in
//! the column that it has above.

use super::wiring::Wiring;
use crate::labels::lines;
use crate::scale::coordinate;
use crate::sheet::{Anchor, Kind, Sheet, Text, printable};
use gainsay_plan::patch::sheet::PatchSheet;
use gainsay_plan::patch::{Clock, ClockCable, Patch, Unit};
use maud::html;

/// Where texts of a column may stand.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Place {
    pub(crate) left: f64,
    pub(crate) right: f64,
}

/// Each generation in a column stands this much further to the right, beside the line that leads down from its leader.
const INDENT: f64 = 22.0;

/// A box in the tree.
struct Node {
    at: usize,
    /// The box that it follows, and how the clock gets here.
    follows: Option<(usize, ClockCable)>,
    /// What its clock source is to be set to, and whom it follows over what, in words.
    words: String,
}

/// Where a node has been drawn.
struct Drawn {
    at: usize,
    /// Where the clock leaves it.
    x: f64,
    y: f64,
}

/// Whose clock is worth drawing: there are at least two, or one that follows.
fn tree(sheet: &PatchSheet, patch: &Patch) -> Vec<Node> {
    let leads = |at: &usize| matches!(patch.clocks.get(*at), Some(Some(Clock::Leads)));
    let clocked: Vec<usize> =
        (0..patch.clocks.len()).filter(|at| matches!(patch.clocks.get(*at), Some(Some(_)))).collect();
    if clocked.len() < 2 {
        return Vec::new();
    }
    // The sheet has them in this order.
    let order = clocked.iter().filter(|at| leads(at)).chain(clocked.iter().filter(|at| !leads(at)));
    let settings: Vec<(usize, &str)> =
        order.copied().zip(sheet.clocks.iter().map(|row| row.setting.as_str())).collect();
    let setting = |at: usize| settings.iter().find(|(known, _)| *known == at).map_or("", |(_, words)| words);
    let mut nodes: Vec<Node> = Vec::new();
    for root in clocked.iter().filter(|at| leads(at)) {
        let mut waiting = vec![*root];
        while let Some(at) = waiting.pop() {
            // Every box once, whatever the patch says.
            if nodes.iter().any(|node| node.at == at) {
                continue;
            }
            let follows = match patch.clocks.get(at) {
                Some(Some(Clock::Follows { from, by, .. })) => Some((*from, *by)),
                _ => None,
            };
            let children: Vec<usize> = clocked
                .iter()
                .rev()
                .filter(|other| {
                    matches!(patch.clocks.get(**other), Some(Some(Clock::Follows { from, .. })) if *from == at)
                })
                .copied()
                .collect();
            let words = match (&follows, children.is_empty()) {
                (Some(_), _) => format!("set to {}", setting(at)),
                (None, true) => format!("a clock of its own, set to {}", setting(at)),
                (None, false) => format!("leads, set to {}", setting(at)),
            };
            nodes.push(Node { at, follows, words });
            waiting.extend(children);
        }
    }
    nodes
}

/// How the clock gets there, short.
fn over(by: &ClockCable) -> String {
    match by {
        ClockCable::Link(_) => "with the sound".to_owned(),
        ClockCable::WordClock => "word clock cable".to_owned(),
        ClockCable::Network => "over the network".to_owned(),
        ClockCable::Own { format, .. } => format!("{}, clock alone", format.words()),
    }
}

/// Draws the tree from `top` on; returns where it ends.
pub(crate) fn draw(
    paper: &mut Sheet,
    wiring: &Wiring<'_>,
    (sheet, patch): (&PatchSheet, &Patch),
    places: &[Place],
    edges: (f64, f64),
    top: f64,
) -> f64 {
    let nodes = tree(sheet, patch);
    if nodes.is_empty() {
        return top;
    }
    let mut y = super::section(paper, "clock", edges, top);
    // In the wide picture the name of the section stands left of everything, in the row of the first box.
    if places.len() > 1 || places.first().is_some_and(|place| place.left > edges.0 + 60.0) {
        y -= 20.0;
    }
    let mut drawn: Vec<Drawn> = Vec::new();
    let mut trunks: Vec<(usize, f64)> = Vec::new();
    for node in &nodes {
        let column = column_of(wiring, node.at).min(places.len().saturating_sub(1));
        let Some(place) = places.get(column) else { continue };
        let left =
            (place.left + INDENT * depth(&nodes, node, wiring, places.len()) as f64).min(place.right - 60.0);
        // Beyond the last box nothing stands in the way.
        let right = if column == 0 { edges.1 } else { place.right };
        let name = printable(&patch.boxes.get(node.at).map(Unit::words).unwrap_or_default());
        let name = lines(&name, Kind::Figure.size(), Kind::Figure.bold(), right - left, 3);
        let parent = node.follows.and_then(|(from, by)| drawn.iter().find(|d| d.at == from).map(|d| (d, by)));
        let middle = y + 13.0;
        let widest = name.iter().map(|line| Kind::Figure.width(line)).fold(0.0, f64::max).min(right - left);
        // The label stands on the arrow where it has room, else behind the setting.
        let mut words = node.words.clone();
        if let Some((parent, by)) = &parent {
            let end = if parent.x > left { left + widest + 5.0 } else { left - 4.0 };
            let label = over(by);
            let room = (end - parent.x).abs() - 12.0;
            trunks.push((parent.at, middle));
            arrow(paper, parent.x, end, middle);
            if Kind::Tiny.width(&label) <= room {
                let toward = if end < parent.x { 3.5 } else { -3.5 };
                let text = Text::new(
                    Kind::Tiny,
                    (parent.x + end) / 2.0 + toward,
                    middle - 5.0,
                    Anchor::Middle,
                    &label,
                );
                paper.text(text);
            } else {
                words = format!("{words}, {label}");
            }
        }
        for line in &name {
            let text = Text::new(Kind::Figure, left, y + 17.0, Anchor::Start, line);
            paper.text(text.most(right - left));
            y += 15.0;
        }
        for line in lines(&words, Kind::Tiny.size(), Kind::Tiny.bold(), right - left, 3) {
            paper.text(
                Text::new(Kind::Tiny, left, y + 17.0, Anchor::Start, &line).class("quiet").most(right - left),
            );
            y += 14.0;
        }
        drawn.push(Drawn { at: node.at, x: left + 6.0, y: y + 8.0 });
        y += 13.0;
    }
    // The trunks, each down to the last that follows.
    for Drawn { at, x, y } in &drawn {
        let last = trunks.iter().filter(|(from, _)| from == at).map(|(_, y)| *y).fold(*y, f64::max);
        if last > *y {
            paper.path("clock", &format!("M{} {}V{}", coordinate(*x), coordinate(*y), coordinate(last)));
        }
    }
    y + 2.0
}

fn arrow(paper: &mut Sheet, from: f64, to: f64, y: f64) {
    let head = if to < from { 8.0 } else { -8.0 };
    let (x, y) = (coordinate(to), coordinate(y));
    if (to - from).abs() > 8.0 {
        paper.path("clock", &format!("M{} {y}H{}", coordinate(from), coordinate(to + head)));
    }
    paper.draw(&html! { path class="clock-head" d=(format!("M{x} {y}l{head}-4v8Z")) {} });
}

/// How many of those that a box follows, and that they follow in turn, stand in its own column.
fn depth(nodes: &[Node], node: &Node, wiring: &Wiring<'_>, columns: usize) -> usize {
    let column = |at: usize| column_of(wiring, at).min(columns.saturating_sub(1));
    let mut depth = 0;
    let mut follows = node.follows;
    // No chain is longer than there are boxes.
    for _ in nodes {
        let Some(leader) = follows.and_then(|(from, _)| nodes.iter().find(|node| node.at == from)) else {
            break;
        };
        depth += usize::from(column(leader.at) == column(node.at));
        follows = leader.follows;
    }
    depth
}

/// The column that a box has in the picture.
fn column_of(wiring: &Wiring<'_>, at: usize) -> usize {
    wiring
        .channels
        .iter()
        .flat_map(|channel| &channel.stops)
        .find(|stop| stop.at == at)
        .map_or(0, |stop| stop.column)
}
