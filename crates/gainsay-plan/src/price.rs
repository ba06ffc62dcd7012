//! Prices.

use serde::{Serialize, Serializer};
use std::fmt;

/// A price in hundredths of a currency that is nobody's business: all prices of a case are in the same one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Price(u64);

impl Price {
    /// Nothing.
    pub const NOTHING: Self = Self(0);

    /// From a number of units, rounded to hundredths; none for what is negative, not finite or above ten thousand million.
    #[must_use]
    pub fn of_units(units: f64) -> Option<Self> {
        let hundredths = (units * 100.0).round();
        (0.0..=1e12).contains(&hundredths).then_some(Self(hundredths as u64))
    }

    /// From hundredths.
    #[must_use]
    pub const fn of_hundredths(hundredths: u64) -> Self {
        Self(hundredths)
    }

    /// In hundredths.
    #[must_use]
    pub const fn hundredths(self) -> u64 {
        self.0
    }

    /// So many times the price.
    #[must_use]
    pub const fn times(self, count: u32) -> Self {
        Self(self.0.saturating_mul(count as u64))
    }

    /// Both together.
    #[must_use]
    pub const fn plus(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }

    /// What is left of it; nothing where the other is dearer.
    #[must_use]
    pub const fn less(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

/// Without hundredths where there are none.
impl fmt::Display for Price {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (units, hundredths) = (self.0 / 100, self.0 % 100);
        if hundredths == 0 { write!(f, "{units}") } else { write!(f, "{units}.{hundredths:02}") }
    }
}

/// As a number of units.
impl Serialize for Price {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if self.0.is_multiple_of(100) {
            serializer.serialize_u64(self.0 / 100)
        } else {
            serializer.serialize_f64(self.0 as f64 / 100.0)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hundredths_are_kept() {
        let price = Price::of_units(19.99).unwrap();
        assert_eq!((price.hundredths(), price.to_string().as_str()), (1_999, "19.99"));
        assert_eq!(price.times(3).plus(Price::of_hundredths(3)).to_string(), "60");
        assert_eq!(Price::of_units(2.0).unwrap().less(price), Price::NOTHING);
        assert_eq!([-1.0, f64::NAN, f64::INFINITY, 1e11].map(Price::of_units), [None; 4]);
    }
}
