//! Eight draws at a time, with the arithmetic that formulas need, so that compilers turn it into vector instructions.
//!
//! Only additions, multiplications, divisions, square roots and comparisons, in a fixed order: every platform gives the same
//! bits, however wide its vectors are.

use std::ops::{Add, AddAssign, Div, Mul, Sub};

/// The kernel works on so many draws at a time.
pub(crate) const LANES: usize = 8;

/// One value for each of eight draws.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Lane(pub(crate) [f64; LANES]);

impl Lane {
    pub(crate) const ZERO: Self = Self::all(0.0);
    pub(crate) const NAN: Self = Self::all(f64::NAN);

    /// The same value for every draw.
    pub(crate) const fn all(value: f64) -> Self {
        Self([value; LANES])
    }

    #[inline(always)]
    pub(crate) fn map(mut self, f: impl Fn(f64) -> f64) -> Self {
        for value in &mut self.0 {
            *value = f(*value);
        }
        self
    }

    #[inline(always)]
    fn with(mut self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        for (a, b) in self.0.iter_mut().zip(other.0) {
            *a = f(*a, b);
        }
        self
    }

    /// The larger of two; the second where either is no number, which is what one instruction does.
    #[inline(always)]
    pub(crate) fn larger(self, other: Self) -> Self {
        self.with(other, |a, b| if a > b { a } else { b })
    }

    /// The smaller of two; the second where either is no number.
    #[inline(always)]
    pub(crate) fn smaller(self, other: Self) -> Self {
        self.with(other, |a, b| if a < b { a } else { b })
    }

    #[inline(always)]
    pub(crate) fn square(self) -> Self {
        self * self
    }

    /// A polynomial by Horner's rule, lowest coefficient first.
    #[inline(always)]
    pub(crate) fn polynomial<const N: usize>(self, coefficients: &[f64; N]) -> Self {
        let mut highest_first = coefficients.iter().rev();
        let mut sum = Self::all(highest_first.next().copied().unwrap_or(0.0));
        for c in highest_first {
            sum = sum * self + *c;
        }
        sum
    }
}

macro_rules! operator {
    ($($operation:ident $method:ident $symbol:tt),*) => { $(
        impl $operation for Lane {
            type Output = Self;

            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                self.with(other, |a, b| a $symbol b)
            }
        }

        impl $operation<f64> for Lane {
            type Output = Self;

            #[inline(always)]
            fn $method(self, other: f64) -> Self {
                self.map(|a| a $symbol other)
            }
        }
    )* };
}

operator!(Add add +, Sub sub -, Mul mul *, Div div /);

impl AddAssign for Lane {
    #[inline(always)]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

/// A column, eight draws at a time.
#[derive(Debug, Clone, Copy)]
pub(crate) struct View<'a>(&'a [[f64; LANES]]);

impl<'a> View<'a> {
    /// Of a column whose length is a multiple of eight.
    pub(crate) fn of(column: &'a [f64]) -> Self {
        Self(column.as_chunks().0)
    }

    /// The lane at an index; no numbers beyond the end.
    #[inline(always)]
    pub(crate) fn at(self, index: usize) -> Lane {
        self.0.get(index).map_or(Lane::NAN, |values| Lane(*values))
    }
}
