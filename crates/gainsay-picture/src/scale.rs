//! From levels to places on the paper.

use crate::columns::Columns;

/// A coordinate with at most one decimal, the same on every machine: the nearest, and of two the even one.
pub(crate) fn coordinate(value: f64) -> String {
    const FARTHEST: f64 = 1e9;
    if !(-FARTHEST..=FARTHEST).contains(&value) {
        return format!("{value:.1}");
    }
    // A picture has thousands of coordinates, and formatting a float exactly takes long: tenths as a whole number do. Ten times
    // the value is the sum of two exact products; what that sum was rounded by (Knuth's two-sum) tells on which side of the
    // middle between two tenths it lies.
    let (eight, two) = (8.0 * value, 2.0 * value);
    let sum = eight + two;
    let added = sum - eight;
    let lacks = (eight - (sum - added)) + (two - added);
    let mut tenths = sum.round_ties_even();
    let off = sum - tenths;
    if off >= 0.5 && lacks > 0.0 {
        tenths += 1.0;
    } else if off <= -0.5 && lacks < 0.0 {
        tenths -= 1.0;
    }
    let tenths = tenths as i64;
    let sign = if tenths < 0 { "-" } else { "" };
    let (whole, rest) = (tenths.unsigned_abs() / 10, tenths.unsigned_abs() % 10);
    if rest == 0 { format!("{sign}{whole}") } else { format!("{sign}{whole}.{rest}") }
}

/// The levels that a picture shows, in dBu.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Range {
    pub(crate) low: f64,
    pub(crate) high: f64,
}

/// Where levels and stages lie on the paper.
#[derive(Debug, Clone)]
pub(crate) struct Frame {
    /// Whether the chain runs from top to bottom.
    pub(crate) turned: bool,
    pub(crate) range: Range,
    pub(crate) columns: Columns,
    /// Left and right edge.
    pub(crate) x: (f64, f64),
    /// Top and bottom edge.
    pub(crate) y: (f64, f64),
}

impl Frame {
    /// Along the axis of levels.
    pub(crate) fn level(&self, dbu: f64) -> f64 {
        let Range { low, high } = self.range;
        // A level that is not a number lies below everything.
        let dbu = if dbu.is_nan() { low } else { dbu.clamp(low, high) };
        let share = (dbu - low) / (high - low);
        if self.turned {
            self.x.0 + share * (self.x.1 - self.x.0)
        } else {
            self.y.1 - share * (self.y.1 - self.y.0)
        }
    }

    /// Whether a level lies within the picture.
    pub(crate) fn shows(&self, dbu: f64) -> bool {
        dbu >= self.range.low && dbu <= self.range.high
    }

    /// Along the chain, from 0 at its beginning to 1 at the file.
    pub(crate) fn along(&self, position: f64) -> f64 {
        let (start, end) = if self.turned { self.y } else { self.x };
        start + position * (end - start)
    }

    /// A point, as it stands in a path.
    pub(crate) fn point(&self, position: f64, dbu: f64) -> String {
        let (along, level) = (coordinate(self.along(position)), coordinate(self.level(dbu)));
        if self.turned { format!("{level} {along}") } else { format!("{along} {level}") }
    }

    /// A line through points.
    pub(crate) fn line(&self, points: &[(f64, f64)]) -> String {
        let mut path = String::new();
        for (index, (position, dbu)) in points.iter().enumerate() {
            path.push(if index == 0 { 'M' } else { 'L' });
            path.push_str(&self.point(*position, *dbu));
        }
        path
    }

    /// The area between two lines, or below one.
    pub(crate) fn area(&self, upper: &[(f64, f64)], lower: Option<&[(f64, f64)]>) -> String {
        let mut points = upper.to_vec();
        match lower {
            Some(lower) => points.extend(lower.iter().rev()),
            None => {
                if let (Some(last), Some(first)) = (upper.last(), upper.first()) {
                    points.push((last.0, self.range.low));
                    points.push((first.0, self.range.low));
                }
            }
        }
        let mut path = self.line(&points);
        path.push('Z');
        path
    }
}

/// Round levels within a range, a fixed step apart.
pub(crate) fn ticks(low: f64, high: f64, step: f64) -> Vec<f64> {
    let mut ticks = Vec::new();
    let mut tick = (low / step).ceil() * step;
    while tick <= high && ticks.len() < 100 {
        ticks.push(tick);
        tick += step;
    }
    ticks
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::columns::Columns;

    fn frame(turned: bool) -> Frame {
        let range = Range { low: -150.0, high: 30.0 };
        Frame { turned, range, columns: Columns::default(), x: (60.0, 760.0), y: (40.0, 270.0) }
    }

    #[test]
    fn higher_levels_lie_higher_or_further_right() {
        for tenth in -1500_i32..300 {
            let (lower, upper) = (f64::from(tenth) / 10.0, f64::from(tenth + 1) / 10.0);
            let (wide, turned) = (frame(false), frame(true));
            assert!(
                wide.level(upper) < wide.level(lower),
                "{upper} dBu at y = {} must lie above {lower} dBu at y = {}",
                wide.level(upper),
                wide.level(lower)
            );
            assert!(
                turned.level(upper) > turned.level(lower),
                "{upper} dBu at x = {} must lie right of {lower} dBu at x = {}",
                turned.level(upper),
                turned.level(lower)
            );
        }
    }

    #[test]
    fn the_edges_of_the_range_are_the_edges_of_the_frame() {
        let wide = frame(false);
        for (dbu, y) in [(30.0, 40.0), (-150.0, 270.0), (f64::NEG_INFINITY, 270.0), (f64::NAN, 270.0)] {
            let is = wide.level(dbu);
            assert!((is - y).abs() < 1e-9, "{dbu} dBu lies at {is}, not at {y}");
        }
    }

    #[test]
    fn coordinates_have_one_decimal() {
        for (value, text) in [(1.25, "1.2"), (-0.04, "0"), (3.0, "3"), (-2.96, "-3"), (10.06, "10.1")] {
            assert_eq!(coordinate(value), text);
        }
    }

    proptest::proptest! {
        // The standard library rounds exactly, half to even.
        #[test]
        fn coordinates_are_rounded_as_the_standard_library_does(tenths in -20_000_i32..20_000, off in -3_i8..=3) {
            let mut value = f64::from(tenths) / 20.0;
            for _ in 0..off.unsigned_abs() {
                value = if off > 0 { value.next_up() } else { value.next_down() };
            }
            let exact = format!("{value:.1}");
            let exact = exact.strip_suffix(".0").unwrap_or(&exact);
            proptest::prop_assert_eq!(coordinate(value), if exact == "-0" { "0" } else { exact });
        }
    }
}
