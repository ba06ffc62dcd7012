//! The wide picture: price to the right, result upwards. The names of the plans hang below their level like flags: the further
//! left, the lower, so that no pole runs through a name.

use super::legend::{CHANCE, chance, mark};
use super::spots::{Role, Spot, Spots, result};
use crate::labels::lines;
use crate::scale::coordinate;
use crate::sheet::{Anchor, Kind, Sheet, Text, printable};
use gainsay_plan::Price;

/// Margin of the picture.
pub(super) const EDGE: f64 = 24.0;

/// Left and right edge of the plot; left of it stand the results, right of it there is room for the last names.
const PLOT: (f64, f64) = (186.0, 950.0);

/// Room for the name of a plan.
const NAME: f64 = 212.0;

/// The names of the results.
const LEVEL: Kind = Kind::Figure;

/// From a mark to the first line of its name.
const POLE: f64 = 26.0;

const LINE: f64 = 16.0;

/// A name with its place: its lines, and how far below its level it begins.
struct Flag<'a> {
    spot: &'a Spot<'a>,
    x: f64,
    lines: Vec<String>,
    width: f64,
    top: f64,
}

impl Flag<'_> {
    fn height(&self) -> f64 {
        // The last line is the bar with its number.
        LINE * (self.lines.len() as f64 + 1.0) + 8.0
    }

    fn kind(&self) -> Kind {
        if self.spot.role == Role::Follow { Kind::Figure } else { Kind::Small }
    }
}

/// Draws everything from `top` on; returns where it ends.
pub(super) fn draw(sheet: &mut Sheet, spots: &Spots<'_>, budget: Option<Price>, top: f64) -> f64 {
    let axis = Axis::new(spots.dearest(), budget);
    // From the best level down: its height, and the names that hang below it.
    let mut y = top + 34.0;
    let mut levels: Vec<(f64, Vec<Flag<'_>>)> = Vec::new();
    let mut names = Vec::new();
    for level in (0..spots.levels.len()).rev() {
        let flags = flags(spots, level, &axis);
        let deepest = flags.iter().map(|flag| flag.top + flag.height()).fold(0.0, f64::max);
        let score = spots.levels.get(level).copied().unwrap_or_default();
        let words = lines(&result(score), LEVEL.size(), LEVEL.bold(), PLOT.0 - EDGE - 18.0, 4);
        let of_words = LINE * words.len() as f64;
        levels.push((y, flags));
        names.push((y, words));
        y += deepest.max(of_words) + 30.0;
    }
    let bottom = y;
    grid(sheet, &levels, &names);
    axis.draw(sheet, bottom);
    axis.budget(sheet, budget, (top, bottom), &levels);
    let place = |spot: &Spot<'_>| {
        let from_top = spots.levels.len() - 1 - spot.level;
        (axis.x(spot.plan.price), levels.get(from_top).map_or(bottom, |(y, _)| *y))
    };
    for unchanged in [true, false] {
        let line: Vec<(f64, f64)> = spots.steps(unchanged).into_iter().map(place).collect();
        steps(sheet, if unchanged { "other-steps" } else { "steps" }, &line, &levels);
    }
    for (y, flags) in &levels {
        for flag in flags {
            pole(sheet, flag, *y);
        }
    }
    // The plan to follow covers what stands at the same place.
    for drawn_last in [false, true] {
        for spot in spots.all.iter().filter(|spot| (spot.role == Role::Follow) == drawn_last) {
            let (x, y) = place(spot);
            mark(sheet, spot.role, x, y);
        }
    }
    for (y, flags) in &levels {
        for flag in flags {
            name(sheet, flag, *y);
        }
    }
    bottom + 40.0
}

/// The names that hang below a level.
fn flags<'a>(spots: &'a Spots<'_>, level: usize, axis: &Axis) -> Vec<Flag<'a>> {
    let mut flags: Vec<Flag<'_>> = Vec::new();
    // From the right: each stands below all that its own name reaches.
    for spot in spots.all.iter().rev().filter(|spot| spot.level == level) {
        let mut flag = Flag { spot, x: axis.x(spot.plan.price), lines: Vec::new(), width: NAME, top: POLE };
        let kind = flag.kind();
        flag.lines = lines(&printable(&spot.name()), kind.size(), kind.bold(), NAME, 4);
        let of_chance = f64::from(CHANCE) + 8.0 + Kind::Tiny.width(&spot.chance());
        flag.width = flag.lines.iter().map(|line| kind.width(line).min(NAME)).fold(of_chance, f64::max);
        let reached = flags.iter().filter(|other| other.x < flag.x + flag.width + 18.0);
        flag.top = reached.map(|other| other.top + other.height()).fold(POLE, f64::max);
        flags.push(flag);
    }
    flags
}

/// The levels and their names.
fn grid(sheet: &mut Sheet, levels: &[(f64, Vec<Flag<'_>>)], names: &[(f64, Vec<String>)]) {
    let mut path = String::new();
    for (y, _) in levels {
        path.push_str(&format!(
            "M{} {}H{}",
            coordinate(PLOT.0 - 10.0),
            coordinate(*y),
            coordinate(crate::lane::WIDTH - EDGE)
        ));
    }
    sheet.path("rule", &path);
    for (y, words) in names {
        let class = if words.first().is_some_and(|word| word == "enough") { "good" } else { "" };
        for (index, line) in words.iter().enumerate() {
            let y = y + 5.0 + LINE * index as f64;
            let most = PLOT.0 - EDGE - 18.0;
            let text = Text::new(LEVEL, PLOT.0 - 18.0, y, Anchor::End, line);
            sheet.text(text.class(class).most(most));
        }
    }
}

/// A line in steps: along to the price of the next plan, then up to its result. The last goes on to the edge.
fn steps(sheet: &mut Sheet, class: &str, places: &[(f64, f64)], levels: &[(f64, Vec<Flag<'_>>)]) {
    let Some((x, y)) = places.first() else { return };
    let mut path = format!("M{} {}", coordinate(*x), coordinate(*y));
    let mut from = *y;
    for (x, y) in places.iter().skip(1) {
        path.push_str(&format!("H{}{}", coordinate(*x), upright(*x, from, *y, levels)));
        from = *y;
    }
    path.push_str(&format!("H{}", coordinate(crate::lane::WIDTH - EDGE)));
    sheet.path(class, &path);
}

/// An upright line, upwards from where the path is, that leaves out the names in its way.
fn upright(x: f64, from: f64, to: f64, levels: &[(f64, Vec<Flag<'_>>)]) -> String {
    let mut path = String::new();
    let mut gaps: Vec<(f64, f64)> = Vec::new();
    for (y, flags) in levels {
        let in_the_way = |flag: &&Flag<'_>| flag.x + 5.0 < x && x < flag.x + flag.width + 13.0;
        for flag in flags.iter().filter(in_the_way) {
            let top = y + flag.top;
            gaps.push((top + flag.height() - 12.0, top - 13.0));
        }
    }
    gaps.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (below, above) in gaps.into_iter().filter(|(below, above)| *below < from && *above > to) {
        path.push_str(&format!("V{}M{} {}", coordinate(below), coordinate(x), coordinate(above)));
    }
    path.push_str(&format!("V{}", coordinate(to)));
    path
}

fn pole(sheet: &mut Sheet, flag: &Flag<'_>, y: f64) {
    let to = y + flag.top + flag.height() - 11.0;
    sheet.path("leader", &format!("M{} {}V{}", coordinate(flag.x), coordinate(y), coordinate(to)));
}

fn name(sheet: &mut Sheet, flag: &Flag<'_>, y: f64) {
    let (kind, x) = (flag.kind(), flag.x + 8.0);
    let class = if flag.spot.role == Role::Follow { "halo good" } else { "halo" };
    let mut y = y + flag.top;
    for line in &flag.lines {
        sheet.text(Text::new(kind, x, y, Anchor::Start, line).class(class).most(NAME));
        y += LINE;
    }
    chance(sheet, flag.spot.plan.chance_enough, x, y - 8.0);
    let words = flag.spot.chance();
    let at = x + f64::from(CHANCE) + 8.0;
    sheet.text(Text::new(Kind::Tiny, at, y - 0.5, Anchor::Start, &words).class("halo quiet"));
}

/// From prices to places.
struct Axis {
    /// Price at the right edge, in hundredths.
    most: f64,
    /// From one figure to the next.
    step: f64,
}

impl Axis {
    fn new(dearest: Price, budget: Option<Price>) -> Self {
        let dearest = dearest.hundredths() as f64;
        // A budget far beyond everything would leave no room for the plans.
        let budget =
            budget.map(|budget| budget.hundredths() as f64).filter(|budget| *budget <= 2.5 * dearest);
        let most = dearest.max(budget.unwrap_or(0.0));
        let mut step = 100.0;
        let mut factors = [2.0, 2.5, 2.0].into_iter().cycle();
        while most / step > 6.0 {
            step *= factors.next().unwrap_or(2.0);
        }
        Self { most: (most / step).ceil() * step, step }
    }

    fn x(&self, price: Price) -> f64 {
        let share = if self.most > 0.0 { price.hundredths() as f64 / self.most } else { 0.0 };
        PLOT.0 + share * (PLOT.1 - PLOT.0)
    }

    fn draw(&self, sheet: &mut Sheet, y: f64) {
        let mut path = format!("M{} {}H{}", coordinate(PLOT.0), coordinate(y), coordinate(PLOT.1));
        let steps = if self.most > 0.0 { (self.most / self.step).round() as u64 } else { 0 };
        for step in 0..=steps {
            let price = Price::of_hundredths((step as f64 * self.step).round() as u64);
            let x = self.x(price);
            path.push_str(&format!("M{} {}v5", coordinate(x), coordinate(y)));
            let words = price.to_string();
            sheet.text(Text::new(Kind::Tick, x, y + 19.0, Anchor::Middle, &words).class("quiet"));
        }
        sheet.path("axis", &path);
        sheet.text(Text::new(Kind::Stage, PLOT.0 - 18.0, y + 19.0, Anchor::End, "price").class("quiet"));
    }

    /// The most that may be spent: a line, or words where it lies beyond the edge.
    fn budget(
        &self,
        sheet: &mut Sheet,
        budget: Option<Price>,
        (top, bottom): (f64, f64),
        levels: &[(f64, Vec<Flag<'_>>)],
    ) {
        let Some(budget) = budget else { return };
        let words = format!("budget {budget}");
        if budget.hundredths() as f64 <= self.most {
            let x = self.x(budget);
            let line = upright(x, bottom, top + 18.0, levels);
            sheet.path("target", &format!("M{} {}{line}", coordinate(x), coordinate(bottom)));
            sheet.text(Text::new(Kind::Small, x, top + 12.0, Anchor::Middle, &words));
        } else {
            let words = format!("{words}, beyond the right edge");
            sheet.text(
                Text::new(Kind::Small, PLOT.1 + 24.0, bottom + 19.0, Anchor::Start, &words).class("quiet"),
            );
        }
    }
}
