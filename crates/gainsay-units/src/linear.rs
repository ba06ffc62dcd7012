//! Linear quantities in SI units, one type each.

use std::ops::{Add, Div, Mul, Sub};

macro_rules! linear_quantity {
    ($(#[$doc:meta])* $name:ident, $accessor:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            /// The quantity with this figure, in the unit of the type.
            #[must_use]
            pub const fn new(value: f64) -> Self {
                Self(value)
            }

            /// The figure in the unit of the type.
            #[must_use]
            pub const fn $accessor(self) -> f64 {
                self.0
            }
        }

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }
    };
}

linear_quantity! {
    /// Voltage in volts RMS.
    Volts, volts
}
linear_quantity! {
    /// Current in amperes.
    Amperes, amperes
}
linear_quantity! {
    /// Sound pressure in pascals RMS.
    Pascals, pascals
}
linear_quantity! {
    /// Resistance or the magnitude of an impedance, in ohms.
    Ohms, ohms
}
linear_quantity! {
    /// Inductance in henries.
    Henries, henries
}
linear_quantity! {
    /// Capacitance in farads.
    Farads, farads
}
linear_quantity! {
    /// Capacitance of a cable in farads per metre.
    FaradsPerMetre, farads_per_metre
}
linear_quantity! {
    /// Frequency or bandwidth in hertz.
    Hertz, hertz
}
linear_quantity! {
    /// Length in metres.
    Metres, metres
}
linear_quantity! {
    /// Time in seconds.
    Seconds, seconds
}
linear_quantity! {
    /// Absolute temperature in kelvins.
    Kelvin, kelvin
}
linear_quantity! {
    /// Free-field open-circuit sensitivity of a microphone in volts per pascal (IEC 60268-4).
    Sensitivity, volts_per_pascal
}
linear_quantity! {
    /// Density of a noise voltage in volts per square root of a hertz.
    VoltageNoiseDensity, volts_per_root_hertz
}
linear_quantity! {
    /// Density of a noise current in amperes per square root of a hertz.
    CurrentNoiseDensity, amperes_per_root_hertz
}
linear_quantity! {
    /// Width of a sample in bits.
    Bits, bits
}
linear_quantity! {
    /// A share or probability, as a fraction of one.
    Share, fraction
}
linear_quantity! {
    /// A plain count of samples.
    Samples, samples
}

impl Kelvin {
    /// 20 °C, the temperature at which noise figures are computed unless a case says otherwise.
    pub const ROOM: Self = Self(293.15);

    /// From a temperature in degrees Celsius.
    #[must_use]
    pub const fn from_celsius(degrees: f64) -> Self {
        Self(degrees + 273.15)
    }

    /// The temperature in degrees Celsius.
    #[must_use]
    pub const fn celsius(self) -> f64 {
        self.0 - 273.15
    }
}
