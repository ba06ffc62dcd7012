//! The narrow picture: the plans below each other in order of price, their marks the further to the right the better they do.

use super::legend::{CHANCE, chance, mark};
use super::spots::{Role, Spot, Spots, result};
use crate::labels::lines;
use crate::scale::coordinate;
use crate::sheet::{Anchor, Kind, Sheet, Text, printable};

/// Left and right edge of the marks.
const MARKS: (f64, f64) = (crate::narrow::EDGE + 10.0, 96.0);
/// Left and right edge of the texts.
const TEXTS: (f64, f64) = (116.0, crate::narrow::WIDTH - crate::narrow::EDGE);

/// Draws everything from `top` on; returns where it ends.
pub(super) fn draw(sheet: &mut Sheet, spots: &Spots<'_>, top: f64) -> f64 {
    let x = |level: usize| {
        let last = spots.levels.len().saturating_sub(1).max(1) as f64;
        MARKS.0 + level as f64 / last * (MARKS.1 - MARKS.0)
    };
    let x = |spot: &Spot<'_>| if spots.levels.len() < 2 { MARKS.1 } else { x(spot.level) };
    let mut y = top + 24.0;
    let mut rows: Vec<(&Spot<'_>, f64)> = Vec::new();
    // The texts tell how far it is from row to row.
    for spot in &spots.all {
        rows.push((spot, y));
        y = row(sheet, spot, y) + 26.0;
    }
    let bottom = y - 26.0;
    let mut grid = String::new();
    let mut levels: Vec<f64> = rows.iter().map(|(spot, _)| x(spot)).collect();
    levels.sort_by(f64::total_cmp);
    levels.dedup_by(|a, b| (*a - *b).abs() < 0.01);
    for at in levels {
        grid.push_str(&format!("M{} {}V{}", coordinate(at), coordinate(top + 8.0), coordinate(bottom)));
    }
    sheet.path("rule", &grid);
    for (unchanged, class) in [(true, "other-steps"), (false, "steps")] {
        let of_line = spots.steps(unchanged);
        let mut path = String::new();
        for (spot, y) in
            rows.iter().filter(|(spot, _)| of_line.iter().any(|other| std::ptr::eq(*other, *spot)))
        {
            let (x, y) = (coordinate(x(spot)), coordinate(y - 4.5));
            path.push_str(&if path.is_empty() { format!("M{x} {y}") } else { format!("V{y}H{x}") });
        }
        if !path.is_empty() {
            path.push_str(&format!("V{}", coordinate(bottom)));
        }
        sheet.path(class, &path);
    }
    for (spot, y) in &rows {
        mark(sheet, spot.role, x(spot), y - 4.5);
    }
    bottom + 4.0
}

/// Price and result, name, chance; returns where it ends.
fn row(sheet: &mut Sheet, spot: &Spot<'_>, top: f64) -> f64 {
    let (mut y, most) = (top, TEXTS.1 - TEXTS.0);
    let class = if spot.role == Role::Follow { "good" } else { "" };
    let price = spot.plan.price.to_string();
    sheet.text(Text::new(Kind::Verdict, TEXTS.0, y, Anchor::Start, &price).class(class).most(90.0));
    let at = TEXTS.0 + Kind::Verdict.width(&price).min(90.0) + 10.0;
    let kind = Kind::Figure;
    for (index, line) in
        lines(&result(spot.plan.result), kind.size(), kind.bold(), TEXTS.1 - at, 4).iter().enumerate()
    {
        y += if index > 0 { 16.0 } else { 0.0 };
        sheet.text(Text::new(kind, at, y, Anchor::Start, line).class(class).most(TEXTS.1 - at));
    }
    let kind = Kind::Small;
    for line in lines(&printable(&spot.name()), kind.size(), kind.bold(), most, 5) {
        y += 16.0;
        sheet.text(Text::new(kind, TEXTS.0, y, Anchor::Start, &line).most(most));
    }
    y += 16.0;
    chance(sheet, spot.plan.chance_enough, TEXTS.0, y - 8.0);
    let at = TEXTS.0 + f64::from(CHANCE) + 8.0;
    sheet.text(Text::new(Kind::Tiny, at, y - 0.5, Anchor::Start, &spot.chance()).class("quiet"));
    y
}
