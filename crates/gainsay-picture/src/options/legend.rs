//! What the marks mean.

use super::spots::{Role, Spots};
use crate::labels::lines;
use crate::scale::coordinate;
use crate::sheet::{Anchor, Kind, Sheet, Text};
use maud::html;

/// The mark of a plan. They differ in shape as well as in colour.
pub(super) fn mark(sheet: &mut Sheet, role: Role, x: f64, y: f64) {
    let circle = |sheet: &mut Sheet, class: &str, radius: f64| {
        sheet.draw(
            &html! { circle class=(class) cx=(coordinate(x)) cy=(coordinate(y)) r=(coordinate(radius)) {} },
        );
    };
    match role {
        Role::Follow => {
            circle(sheet, "ring", 9.0);
            circle(sheet, "plan", 5.5);
        }
        Role::Frontier => circle(sheet, "plan", 5.5),
        Role::AsItIs => {
            let (x, y) = (coordinate(x - 5.0), coordinate(y - 5.0));
            sheet.path("hollow", &format!("M{x} {y}h10v10h-10Z"));
        }
        Role::Unchanged => {
            sheet.path("hollow", &format!("M{} {}l6 6l-6 6l-6-6Z", coordinate(x), coordinate(y - 6.0)));
        }
        Role::Reserve => circle(sheet, "hollow", 5.2),
    }
}

/// The probability that all is enough, as a bar.
pub(super) fn chance(sheet: &mut Sheet, share: f64, x: f64, y: f64) {
    let (left, top) = (coordinate(x), coordinate(y));
    sheet.path("chance-ground", &format!("M{left} {top}h{}v7h-{}Z", CHANCE, CHANCE));
    let filled = coordinate(f64::from(CHANCE) * share.clamp(0.0, 1.0));
    if filled != "0" {
        sheet.path("chance", &format!("M{left} {top}h{filled}v7h-{filled}Z"));
    }
}

/// Length of the bar.
pub(super) const CHANCE: u8 = 50;

/// How to read the picture, and the marks that there are. Returns the height.
pub(super) fn draw(sheet: &mut Sheet, spots: &Spots<'_>, x: (f64, f64), top: f64, is_narrow: bool) -> f64 {
    let how = if is_narrow {
        "From the cheapest to the dearest plan; the further to the right its mark, the better its result. The bar is the \
         probability that every source is enough."
    } else {
        "To the right a plan costs more, higher up it does better; along a line more money brings nothing better. The bar is the \
         probability that every source is enough, given what is uncertain."
    };
    let kind = Kind::Small;
    let mut y = top;
    for line in lines(how, kind.size(), kind.bold(), (x.1 - x.0).min(900.0), 8) {
        y += 16.0;
        sheet.text(Text::new(kind, x.0, y, Anchor::Start, &line).class("quiet"));
    }
    y += 24.0;
    let mut at = x.0;
    for role in Role::ALL.into_iter().filter(|role| spots.has(*role)) {
        let words = lines(role.words(), kind.size(), kind.bold(), x.1 - x.0 - 26.0, 3);
        let wide = words.iter().map(|line| kind.width(line)).fold(0.0, f64::max);
        if at > x.0 && at + 25.0 + wide > x.1 {
            at = x.0;
            y += 21.0;
        }
        mark(sheet, role, at + 9.0, y - 4.0);
        for (index, line) in words.iter().enumerate() {
            y += if index > 0 { 16.0 } else { 0.0 };
            sheet.text(Text::new(kind, at + 25.0, y, Anchor::Start, line));
        }
        at += 25.0 + wide + 20.0;
    }
    y - top + 16.0
}
