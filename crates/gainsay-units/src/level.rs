//! Logarithmic quantities. An absolute level (dBu, dBV, dB SPL, dBFS) and a difference of levels (dB) are different types:
//! two absolute levels do not add, and each reference is its own type.

use crate::linear::{Pascals, Volts};
use crate::math::{exp10, log10};
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

/// 0 dBu in volts: √0.6 V, the voltage of 1 mW in 600 Ω.
pub const DBU_REFERENCE_VOLTS: f64 = 0.774_596_669_241_483_4;

/// 0 dB SPL in pascals (ISO 1683).
pub const SPL_REFERENCE_PASCALS: f64 = 20.0e-6;

/// A difference of two levels, a gain or a loss, in decibels.
///
/// ```
/// use gainsay_units::{Dbu, Decibels};
/// assert_eq!(Dbu::new(-40.0) + Decibels::new(50.0), Dbu::new(10.0));
/// assert_eq!(Dbu::new(10.0) - Dbu::new(-40.0), Decibels::new(50.0));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Decibels(f64);

impl Decibels {
    /// No difference.
    pub const ZERO: Self = Self(0.0);

    /// A difference of `db` decibels.
    #[must_use]
    pub const fn new(db: f64) -> Self {
        Self(db)
    }

    /// The difference in decibels.
    #[must_use]
    pub const fn db(self) -> f64 {
        self.0
    }

    /// The difference as a ratio of powers.
    #[must_use]
    pub fn power_ratio(self) -> f64 {
        exp10(self.0 / 10.0)
    }

    /// The difference as a ratio of amplitudes.
    #[must_use]
    pub fn amplitude_ratio(self) -> f64 {
        exp10(self.0 / 20.0)
    }

    /// From a ratio of powers; minus infinity for zero.
    #[must_use]
    pub fn from_power_ratio(ratio: f64) -> Self {
        Self(10.0 * log10(ratio))
    }

    /// From a ratio of amplitudes; minus infinity for zero.
    #[must_use]
    pub fn from_amplitude_ratio(ratio: f64) -> Self {
        Self(20.0 * log10(ratio))
    }

    /// The smaller of two differences.
    #[must_use]
    pub fn min(self, other: Self) -> Self {
        Self(self.0.min(other.0))
    }

    /// The larger of two differences.
    #[must_use]
    pub fn max(self, other: Self) -> Self {
        Self(self.0.max(other.0))
    }
}

impl Add for Decibels {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl AddAssign for Decibels {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}

impl Sub for Decibels {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for Decibels {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Mul<f64> for Decibels {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self(self.0 * factor)
    }
}

impl Sum for Decibels {
    fn sum<I: Iterator<Item = Self>>(iter: I) -> Self {
        iter.fold(Self::ZERO, Add::add)
    }
}

macro_rules! absolute_level {
    ($(#[$doc:meta])* $name:ident, $accessor:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// The level with this figure.
            #[must_use]
            pub const fn new(level: f64) -> Self {
                Self(level)
            }

            /// The figure of this level.
            #[must_use]
            pub const fn $accessor(self) -> f64 {
                self.0
            }

            /// The lower of two levels.
            #[must_use]
            pub fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
            }

            /// The higher of two levels.
            #[must_use]
            pub fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }
        }

        impl Add<Decibels> for $name {
            type Output = Self;
            fn add(self, gain: Decibels) -> Self {
                Self(self.0 + gain.db())
            }
        }

        impl AddAssign<Decibels> for $name {
            fn add_assign(&mut self, gain: Decibels) {
                self.0 += gain.db();
            }
        }

        impl Sub<Decibels> for $name {
            type Output = Self;
            fn sub(self, loss: Decibels) -> Self {
                Self(self.0 - loss.db())
            }
        }

        impl SubAssign<Decibels> for $name {
            fn sub_assign(&mut self, loss: Decibels) {
                self.0 -= loss.db();
            }
        }

        impl Sub for $name {
            type Output = Decibels;
            fn sub(self, other: Self) -> Decibels {
                Decibels::new(self.0 - other.0)
            }
        }
    };
}

absolute_level! {
    /// Voltage level re √0.6 V (0.7746 V) RMS.
    ///
    /// Two absolute levels do not add:
    ///
    /// ```compile_fail
    /// use gainsay_units::Dbu;
    /// let _ = Dbu::new(4.0) + Dbu::new(4.0);
    /// ```
    ///
    /// and a level in another unit is not taken for this one:
    ///
    /// ```compile_fail
    /// use gainsay_units::{Dbu, Dbv};
    /// let _: Dbu = Dbv::new(-10.0);
    /// ```
    ///
    /// ```compile_fail
    /// use gainsay_units::{Dbu, Dbv};
    /// let _ = Dbu::new(4.0) - Dbv::new(-10.0);
    /// ```
    Dbu, dbu
}

absolute_level! {
    /// Voltage level re 1 V RMS.
    Dbv, dbv
}

absolute_level! {
    /// Sound pressure level re 20 µPa RMS (ISO 1683).
    DbSpl, db_spl
}

absolute_level! {
    /// Level in the digital domain: RMS re a full-scale sine, so that a full-scale sine reads 0 dBFS (AES17). A peak is given
    /// as the level of the sine with the same peak.
    DbFs, dbfs
}

impl Dbu {
    /// The level as a voltage.
    #[must_use]
    pub fn volts(self) -> Volts {
        Volts::new(DBU_REFERENCE_VOLTS * exp10(self.0 / 20.0))
    }

    /// The level of a voltage; minus infinity for zero.
    #[must_use]
    pub fn from_volts(volts: Volts) -> Self {
        Self(20.0 * log10(volts.volts() / DBU_REFERENCE_VOLTS))
    }
}

impl Dbv {
    /// The level as a voltage.
    #[must_use]
    pub fn volts(self) -> Volts {
        Volts::new(exp10(self.0 / 20.0))
    }

    /// The level of a voltage; minus infinity for zero.
    #[must_use]
    pub fn from_volts(volts: Volts) -> Self {
        Self(20.0 * log10(volts.volts()))
    }
}

impl From<Dbv> for Dbu {
    /// Adds 10 lg(1/0.6) = 2.2185 dB.
    fn from(level: Dbv) -> Self {
        Self(level.0 - 20.0 * log10(DBU_REFERENCE_VOLTS))
    }
}

impl From<Dbu> for Dbv {
    fn from(level: Dbu) -> Self {
        Self(level.0 + 20.0 * log10(DBU_REFERENCE_VOLTS))
    }
}

impl DbSpl {
    /// The level as a sound pressure.
    #[must_use]
    pub fn pascals(self) -> Pascals {
        Pascals::new(SPL_REFERENCE_PASCALS * exp10(self.0 / 20.0))
    }

    /// The level of a sound pressure; minus infinity for zero.
    #[must_use]
    pub fn from_pascals(pressure: Pascals) -> Self {
        Self(20.0 * log10(pressure.pascals() / SPL_REFERENCE_PASCALS))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "got {got}, want {want}: off by {}", got - want);
    }

    // Reference: IEC 60268-2 usage, 1 mW in 600 ohm; +4 dBu is 1.22765 V, 0 dBV is +2.2185 dBu, −10 dBV is −7.7815 dBu.
    #[test]
    fn studio_levels() {
        near(Dbu::new(4.0).volts().volts(), 1.227_65, 5e-6);
        near(Dbu::from(Dbv::new(0.0)).dbu(), 2.2185, 5e-5);
        near(Dbu::from(Dbv::new(-10.0)).dbu(), -7.7815, 5e-5);
        near(Dbv::from(Dbu::new(4.0)).dbv(), 1.7815, 5e-5);
        near(Dbu::from_volts(Volts::new(0.775)).dbu(), 0.0045, 5e-4);
    }

    // Reference: ISO 1683, 20 µPa: 94 dB is 1.00237 Pa and 1 Pa is 93.9794 dB.
    #[test]
    fn sound_pressure() {
        near(DbSpl::new(94.0).pascals().pascals(), 1.002_37, 5e-6);
        near(DbSpl::from_pascals(Pascals::new(1.0)).db_spl(), 93.9794, 5e-5);
    }

    #[test]
    fn ratios() {
        near(Decibels::new(20.0).power_ratio(), 100.0, 1e-9);
        near(Decibels::new(20.0).amplitude_ratio(), 10.0, 1e-10);
        near(Decibels::from_power_ratio(2.0).db(), 3.0103, 5e-5);
        near(Decibels::from_amplitude_ratio(2.0).db(), 6.0206, 5e-5);
    }
}
