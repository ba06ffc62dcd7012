use super::{Conditions, Coverage, Quantity, Tolerance, Unit};
use std::fmt::{self, Display, Formatter, Write};

/// A number with a real minus sign and the fewest digits that read back as the same number.
pub(crate) struct Number(pub(crate) f64);

impl Display for Number {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        if self.0.is_sign_negative() && self.0 != 0.0 {
            f.write_char('−')?;
        }
        let magnitude = self.0.abs();
        // Very large and very small numbers in full would be a wall of zeros.
        if magnitude != 0.0 && !(1e-7..1e12).contains(&magnitude) {
            write!(f, "{magnitude:e}")
        } else {
            write!(f, "{magnitude}")
        }
    }
}

impl Display for Quantity {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self.unit {
            Unit::NoiseRating => write!(f, "NR {}", Number(self.number))?,
            unit => write!(f, "{} {}", Number(self.number), unit.symbol())?,
        }
        self.conditions.fmt(f)?;
        if let Some(tolerance) = self.tolerance {
            write!(f, " {tolerance}")?;
        }
        Ok(())
    }
}

impl Display for Conditions {
    /// In brackets with a space before them; nothing where nothing is stated.
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let mut parts = Vec::new();
        if let Some(weighting) = self.weighting {
            parts.push(weighting.words().to_owned());
        }
        if let Some(impedance) = self.source_impedance {
            parts.push(format!("{} Ω", Number(impedance.ohms())));
        }
        if let Some((low, high)) = self.band {
            parts.push(format!("{} to {}", frequency(low.hertz()), frequency(high.hertz())));
        }
        if parts.is_empty() { Ok(()) } else { write!(f, " ({})", parts.join(", ")) }
    }
}

/// A frequency in kilohertz from 1 kHz, unless that would round it.
fn frequency(hertz: f64) -> String {
    let kilohertz = hertz / 1e3;
    if hertz >= 1e3 && (kilohertz * 1e3).total_cmp(&hertz).is_eq() {
        format!("{} kHz", Number(kilohertz))
    } else {
        format!("{} Hz", Number(hertz))
    }
}

impl Display for Tolerance {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        // The two are equal only when they were written as one.
        if self.below.total_cmp(&self.above).is_eq() {
            write!(f, "± {}", Number(self.above))?;
        } else {
            write!(f, "+{}/−{}", Number(self.above), Number(self.below))?;
        }
        // The letters of a noise rating stand before its number.
        if self.unit != Unit::NoiseRating {
            write!(f, " {}", self.unit.symbol())?;
        }
        match self.coverage {
            None => Ok(()),
            Some(Coverage::Factor(k)) => write!(f, " (k={})", Number(k)),
            Some(Coverage::Probability(p)) => write!(f, " ({} %)", in_percent(p)),
        }
    }
}

/// A fraction in percent. The decimal point is moved in the text, since a product would round a second time.
fn in_percent(fraction: f64) -> String {
    let text = format!("{fraction:e}");
    let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    let exponent = exponent.parse::<i32>().unwrap_or_default() + 2;
    let digits = mantissa.replace('.', "");
    let Ok(places) = usize::try_from(exponent + 1) else {
        let zeros = exponent.unsigned_abs() as usize - 1;
        return if zeros < 7 {
            format!("0.{}{digits}", "0".repeat(zeros))
        } else {
            format!("{mantissa}e{exponent}")
        };
    };
    match digits.split_at_checked(places) {
        Some(("", decimals)) => format!("0.{decimals}"),
        Some((whole, "")) => whole.to_owned(),
        Some((whole, decimals)) => format!("{whole}.{decimals}"),
        None => format!("{digits:0<places$}"),
    }
}
