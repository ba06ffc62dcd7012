//! The only place where transcendental functions are called: `libm` in Rust gives the same bits on every platform, the
//! C library behind the standard methods does not.

/// 10 to the power `x`.
#[must_use]
pub fn exp10(x: f64) -> f64 {
    libm::exp10(x)
}

/// Decimal logarithm. Minus infinity at zero, NaN below.
#[must_use]
pub fn log10(x: f64) -> f64 {
    libm::log10(x)
}

/// Natural logarithm.
#[must_use]
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// Base-2 logarithm.
#[must_use]
pub fn log2(x: f64) -> f64 {
    libm::log2(x)
}

/// `base` to the power `exponent`.
#[must_use]
pub fn pow(base: f64, exponent: f64) -> f64 {
    libm::pow(base, exponent)
}

/// Complementary error function.
#[must_use]
pub fn erfc(x: f64) -> f64 {
    libm::erfc(x)
}
