//! One panel: a device's window from its least gain to its most.

use super::Subject;
use crate::figures;
use crate::labels::lines;
use crate::scale::{Range, coordinate, ticks};
use crate::sheet::{Anchor, Kind, Sheet, Text};
use gainsay_plan::Estimate;
use gainsay_plan::footing::{Measure, WindowPoint, thermal_limit};
use gainsay_plan::words::number;
use maud::html;

/// Where a panel lies and what it shows.
pub(super) struct Place<'a> {
    /// Levels from bottom to top.
    pub(super) range: Range,
    /// Gains from left to right, in dB.
    pub(super) gains: (f64, f64),
    pub(super) x: (f64, f64),
    pub(super) y: (f64, f64),
    /// Whether the scale of levels stands beside it.
    pub(super) scale: bool,
    pub(super) prefix: &'a str,
}

impl Place<'_> {
    fn level(&self, level: f64) -> f64 {
        let Range { low, high } = self.range;
        // A level that is not a number lies below everything.
        let level = if level.is_nan() { low } else { level.clamp(low, high) };
        self.y.1 - (level - low) / (high - low) * (self.y.1 - self.y.0)
    }

    fn gain(&self, db: f64) -> f64 {
        let (least, most) = self.gains;
        let share = ((db - least) / (most - least)).clamp(0.0, 1.0);
        self.x.0 + share * (self.x.1 - self.x.0)
    }
}

/// A panel of the picture.
pub(super) struct Panel<'a> {
    pub(super) subject: &'a Subject<'a>,
    /// The device whose window is drawn as an outline.
    pub(super) other: Option<&'a Subject<'a>>,
    pub(super) place: Place<'a>,
}

/// Rows of a panel's name.
fn name_rows(subject: &Subject<'_>, width: f64) -> Vec<String> {
    lines(&subject.name(), Kind::Name.size(), Kind::Name.bold(), width, 2)
}

/// What the panel is about, below its name.
fn summary(subject: &Subject<'_>) -> String {
    let mut parts = vec![subject.device.device_type.word().to_owned()];
    let group = subject.group;
    if group.count > 1 {
        parts.push(format!("{} inputs", group.count));
    }
    if let Some(range) = group.get(Measure::GainRange) {
        parts.push(format!("gain range {}", decibels(&range.estimate)));
    }
    if let Some(gain) = group.get(Measure::Gain) {
        parts.push(format!("gain {}, fixed", decibels(&gain.estimate)));
    }
    if let Some(output) = group.get(Measure::OutputAt94) {
        let at = figures::with_unit("94", "dB SPL");
        parts.push(format!("{} at {at}", figures::median(&output.estimate, "dBu")));
    }
    parts.join(", ")
}

/// A gain to whole decibels.
fn decibels(estimate: &Estimate) -> String {
    figures::with_unit(&number(estimate.median, 0), "dB")
}

/// How high the caption of a panel is.
pub(super) fn caption_height(subject: &Subject<'_>, width: f64) -> f64 {
    19.0 * name_rows(subject, width).len() as f64 + 17.0
}

impl Panel<'_> {
    /// Draws it from `top` on; returns its height.
    pub(super) fn draw(&self, sheet: &mut Sheet, top: f64) -> f64 {
        let place = &self.place;
        let width = place.x.1 - place.x.0;
        let rows = name_rows(self.subject, width);
        // Names of different heights end above the plots at the same height.
        let mut y = place.y.0 - 24.0 - 17.0 - 19.0 * rows.len() as f64;
        for row in &rows {
            y += 19.0;
            sheet.text(Text::new(Kind::Name, place.x.0, y - 3.0, Anchor::Start, row).most(width));
        }
        let summary = summary(self.subject);
        let text = Text::new(Kind::Sub, place.x.0, y + 13.0, Anchor::Start, &summary);
        sheet.text(text.class("quiet").most(width));
        self.grid(sheet);
        let window = self.line(self.subject);
        self.areas(sheet, &window);
        if let Some(other) = self.other {
            self.outline(sheet, other);
        }
        self.edges(sheet, &window);
        if !self.subject.is_microphone() {
            self.limit(sheet);
        }
        self.texts(sheet, &window);
        place.y.1 - top + if self.subject.moves() { 38.0 } else { 16.0 }
    }

    /// Places along the panel with what the window is there. Where no gain can be moved, the window is as wide as the panel.
    fn line<'b>(&self, subject: &'b Subject<'_>) -> Vec<(f64, &'b WindowPoint)> {
        let points = &subject.group.window;
        if subject.moves() {
            points.iter().map(|point| (self.place.gain(point.gain_db), point)).collect()
        } else {
            let (left, right) = self.place.x;
            points.first().map(|point| vec![(left, point), (right, point)]).unwrap_or_default()
        }
    }

    fn grid(&self, sheet: &mut Sheet) {
        let Place { range, x, y, .. } = self.place;
        let (left, right) = (coordinate(x.0), coordinate(x.1));
        let mut path = String::new();
        for tick in ticks(range.low, range.high, 20.0) {
            let at = self.place.level(tick);
            path.push_str(&format!("M{left} {}H{right}", coordinate(at)));
            if self.place.scale {
                let text = number(tick, 0);
                sheet.text(Text::new(Kind::Tick, x.0 - 7.0, at + 4.0, Anchor::End, &text).class("quiet"));
            }
        }
        if self.place.scale {
            let (unit, _) = self.subject.units();
            sheet.text(Text::new(Kind::Tick, x.0 - 7.0, y.0 - 8.0, Anchor::End, unit).class("quiet"));
        }
        sheet.path("rule", &path);
        if !self.subject.moves() {
            return;
        }
        let mut path = format!("M{left} {}H{right}", coordinate(y.1));
        let text_y = y.1 + 18.0;
        let words = "gain, dB";
        let unit = Text::new(Kind::Tick, x.1, text_y + 13.0, Anchor::End, words).class("quiet");
        for tick in ticks(self.place.gains.0, self.place.gains.1, 10.0) {
            let at = self.place.gain(tick);
            path.push_str(&format!("M{} {}v5", coordinate(at), coordinate(y.1)));
            let text = number(tick, 0);
            let half = Kind::Tick.width(&text) / 2.0;
            let at = at.clamp(x.0 + half, x.1 - half);
            sheet.text_where_free(&[Text::new(Kind::Tick, at, text_y, Anchor::Middle, &text).class("quiet")]);
        }
        sheet.text_where_free(&[unit]);
        sheet.path("axis", &path);
    }

    /// A line of levels through the panel.
    fn path(&self, window: &[(f64, &WindowPoint)], f: impl Fn(&WindowPoint) -> f64) -> String {
        let mut path = String::new();
        for (index, (x, point)) in window.iter().enumerate() {
            path.push(if index == 0 { 'M' } else { 'L' });
            path.push_str(&format!("{} {}", coordinate(*x), coordinate(self.place.level(f(point)))));
        }
        path
    }

    /// The area between two lines of levels.
    fn area(
        &self,
        window: &[(f64, &WindowPoint)],
        upper: impl Fn(&WindowPoint) -> f64,
        lower: impl Fn(&WindowPoint) -> f64,
    ) -> String {
        let back: Vec<(f64, &WindowPoint)> = window.iter().rev().copied().collect();
        format!("{}{}Z", self.path(window, upper), self.path(&back, lower).replacen('M', "L", 1))
    }

    fn areas(&self, sheet: &mut Sheet, window: &[(f64, &WindowPoint)]) {
        let low = self.place.range.low;
        sheet.path("window", &self.area(window, |p| p.ceiling.median, |p| p.noise.median));
        let noise = self.area(window, |p| p.noise.median, |_| low);
        sheet.draw(&html! { path fill=(format!("url(#{}-noise)", self.place.prefix)) d=(noise) {} });
        for of in [|p: &WindowPoint| p.ceiling, |p: &WindowPoint| p.noise] {
            if window.iter().any(|(_, point)| of(point).high - of(point).low > 0.05) {
                sheet.path("unsure", &self.area(window, |p| of(p).high, |p| of(p).low));
            }
        }
    }

    fn edges(&self, sheet: &mut Sheet, window: &[(f64, &WindowPoint)]) {
        sheet.path("total", &self.path(window, |p| p.noise.median));
        sheet.path("ceiling", &self.path(window, |p| p.ceiling.median));
        // Where the window ends on either side.
        if let (Some(first), Some(last)) = (window.first(), window.last()) {
            for (x, point) in [first, last] {
                let (top, bottom) =
                    (self.place.level(point.ceiling.median), self.place.level(point.noise.median));
                let path = format!("M{} {}V{}", coordinate(*x), coordinate(top), coordinate(bottom));
                sheet.path("quiet-edge", &path);
            }
        }
        let mut hatch = String::new();
        for pair in window.windows(2) {
            let [(from, a), (to, b)] = pair else { continue };
            let (from_y, to_y) = (self.place.level(a.ceiling.median), self.place.level(b.ceiling.median));
            let steps = ((to - from) / 6.0).floor().max(0.0) as usize;
            for step in 0..steps {
                let share = (step as f64 + 0.2) / steps as f64;
                let (x, y) = (from + share * (to - from), from_y + share * (to_y - from_y));
                hatch.push_str(&format!("M{} {}l5-5", coordinate(x), coordinate(y)));
                sheet.obstacle(x, y - 6.0, x + 6.0, y + 2.0);
            }
        }
        sheet.path("hatch", &hatch);
    }

    /// The window of the other device, where this one has a gain to move as that one does.
    fn outline(&self, sheet: &mut Sheet, other: &Subject<'_>) {
        if other.moves() != self.subject.moves() {
            return;
        }
        let window = self.line(other);
        let back: Vec<(f64, &WindowPoint)> = window.iter().rev().copied().collect();
        let around = format!(
            "{}{}{}",
            self.path(&window, |p| p.ceiling.median),
            self.path(&back, |p| p.noise.median).replacen('M', "L", 1),
            if other.moves() { "Z" } else { "" }
        );
        sheet.path("before-ground", &around);
        sheet.path("before", &around);
    }

    /// The thermal noise of the source, below which no input can be.
    fn limit(&self, sheet: &mut Sheet) {
        let Place { x, .. } = self.place;
        let at = self.place.level(thermal_limit().dbu());
        sheet.path("limit", &format!("M{} {}H{}", coordinate(x.0), coordinate(at), coordinate(x.1)));
    }

    /// The figures at the ends of the window.
    fn texts(&self, sheet: &mut Sheet, window: &[(f64, &WindowPoint)]) {
        let (Some((left, first)), Some((right, last))) = (window.first(), window.last()) else { return };
        // The arrows of its width stand just inside either end, the other figures clear of them.
        let has_right_arrow = self.subject.moves() && right - left > 120.0;
        let clear = right - if has_right_arrow { 22.0 } else { 8.0 };
        let (unit, noise_unit) = self.subject.units();
        let moves = self.subject.moves();
        let level = |value: &Estimate, unit: &str| figures::level(value.median, unit);
        let width = |point: &WindowPoint| {
            let width = point.ceiling.median - point.noise.median;
            figures::with_unit(&number(width, 0), "dB")
        };
        let ceiling_y = |point: &WindowPoint| self.place.level(point.ceiling.median);
        let noise_y = |point: &WindowPoint| self.place.level(point.noise.median);
        let words = format!("takes up to {}", level(&first.ceiling, unit));
        sheet.text_where_free(&[strong(left + 3.0, ceiling_y(first) - 9.0, Anchor::Start, &words)]);
        if moves {
            let words = format!("full from {}", level(&last.ceiling, unit));
            let x = clear;
            sheet.text_where_free(&[
                strong(x, ceiling_y(last) + 17.0, Anchor::End, &words),
                strong(x, ceiling_y(last) - 12.0, Anchor::End, &words),
            ]);
        }
        let words = format!("noise {}", level(&last.noise, noise_unit));
        sheet.text_where_free(&[
            strong(clear, noise_y(last) - 8.0, Anchor::End, &words),
            strong(clear, noise_y(last) + 16.0, Anchor::End, &words),
        ]);
        if moves {
            let words = level(&first.noise, noise_unit);
            sheet.text_where_free(&[tiny(left + 22.0, noise_y(first) - 7.0, Anchor::Start, &words)]);
        }
        // How wide it is at either end.
        let mut arrow = |x: f64, point: &WindowPoint, anchor: Anchor| {
            let at_x = |f: fn(&WindowPoint) -> f64| self.place.level(between(window, x, f));
            let (top, bottom) = (at_x(|p| p.ceiling.median) + 5.0, at_x(|p| p.noise.median) - 5.0);
            if bottom - top < 30.0 {
                return;
            }
            let at = coordinate(x);
            sheet.path(
                "turn-up",
                &format!(
                    "M{at} {top}V{bottom}M{at} {top}l-3.5 6M{at} {top}l3.5 6M{at} {bottom}l-3.5-6M{at} {bottom}l3.5-6",
                    top = coordinate(top),
                    bottom = coordinate(bottom)
                ),
            );
            let words = width(point);
            let aside = if anchor == Anchor::Start { x + 7.0 } else { x - 7.0 };
            let middle = f64::midpoint(top, bottom) + 4.0;
            sheet.text_where_free(&[
                tiny(aside, middle, anchor, &words),
                tiny(aside, middle + 16.0, anchor, &words),
            ]);
        };
        arrow(left + 14.0, first, Anchor::Start);
        if has_right_arrow {
            arrow(right - 14.0, last, Anchor::End);
        }
    }
}

/// A level of the window at a place between its points.
fn between(window: &[(f64, &WindowPoint)], x: f64, f: fn(&WindowPoint) -> f64) -> f64 {
    for pair in window.windows(2) {
        let [(from, a), (to, b)] = pair else { continue };
        if x <= *to && to > from {
            let share = ((x - from) / (to - from)).max(0.0);
            return f(a) + share * (f(b) - f(a));
        }
    }
    window.last().map_or(f64::NAN, |(_, point)| f(point))
}

/// A figure of less weight.
const fn tiny(x: f64, y: f64, anchor: Anchor, words: &str) -> Text<'_> {
    Text::new(Kind::Tiny, x, y, anchor, words).class("halo")
}

/// A figure that matters.
const fn strong(x: f64, y: f64, anchor: Anchor, words: &str) -> Text<'_> {
    Text::new(Kind::Figure, x, y, anchor, words).class("halo")
}
