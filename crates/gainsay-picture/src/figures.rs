//! Figures as they stand in the picture: thin spaces before units, real minus signs, rounded to their uncertainty.

use gainsay_plan::Estimate;
use gainsay_plan::words::{decimals, number};

/// The thin space between a number and its unit.
pub(crate) const THIN: char = '\u{2009}';

/// A number and its unit.
pub(crate) fn with_unit(number: &str, unit: &str) -> String {
    format!("{number}{THIN}{unit}")
}

/// The median with its unit.
pub(crate) fn median(estimate: &Estimate, unit: &str) -> String {
    with_unit(&number(estimate.median, decimals(estimate)), unit)
}

/// The interval in words, without the median; none where it vanishes in the rounding.
pub(crate) fn from_to(estimate: &Estimate) -> Option<String> {
    let d = decimals(estimate);
    let (low, high) = (number(estimate.low, d), number(estimate.high, d));
    (low != high).then(|| format!("{low} to {high}"))
}

/// Median, unit and interval.
pub(crate) fn whole(estimate: &Estimate, unit: &str) -> String {
    let median = median(estimate, unit);
    match from_to(estimate) {
        Some(interval) => format!("{median} ({interval})"),
        None => median,
    }
}

/// A share in percent, with a thin space.
pub(crate) fn percent(share: f64) -> String {
    gainsay_plan::words::percent(share).replace(" %", &format!("{THIN}%"))
}

/// A whole number with its sign.
fn signed(value: f64) -> String {
    let text = number(value, 0);
    if text.starts_with('−') || text == "0" { text } else { format!("+{text}") }
}

/// A gain.
pub(crate) fn gain(db: f64) -> String {
    with_unit(&signed(db), "dB")
}

/// A level to whole decibels; voltages with their sign, as is usual.
pub(crate) fn level(value: f64, unit: &str) -> String {
    with_unit(&if unit == "dBu" { signed(value) } else { number(value, 0) }, unit)
}

/// A distance.
pub(crate) fn distance(metres: f64) -> String {
    if metres < 0.995 {
        with_unit(&number(100.0 * metres, 0), "cm")
    } else if metres < 9.95 {
        let text = number(metres, 1);
        with_unit(text.strip_suffix(".0").unwrap_or(&text), "m")
    } else {
        with_unit(&number(metres, 0), "m")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_to_their_uncertainty() {
        let wide = Estimate { median: -31.26, low: -37.4, high: -25.2 };
        assert_eq!(whole(&wide, "dBFS"), "−31\u{2009}dBFS (−37 to −25)");
        let close = Estimate { median: 0.24, low: 0.11, high: 0.42 };
        assert_eq!(whole(&close, "dB"), "0.2\u{2009}dB (0.1 to 0.4)");
        let exact = Estimate { median: 3.0, low: 3.0, high: 3.0 };
        assert_eq!(whole(&exact, "dB"), "3.0\u{2009}dB");
    }

    #[test]
    fn gains_have_a_sign() {
        for (db, text) in [(50.0, "+50"), (-20.0, "−20"), (0.0, "0"), (12.4, "+12"), (-0.01, "0")] {
            assert_eq!(gain(db), format!("{text}\u{2009}dB"));
        }
    }

    #[test]
    fn distances_are_in_centimetres_or_metres() {
        for (metres, text) in [(0.1, "10 cm"), (0.6, "60 cm"), (1.0, "1 m"), (1.5, "1.5 m"), (12.0, "12 m")] {
            assert_eq!(distance(metres), text.replace(' ', "\u{2009}"));
        }
    }
}
