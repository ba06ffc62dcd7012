//! Sound on its way through the air, and what a delay does to a sum of two signals.

use crate::{Hertz, Kelvin, Metres, Samples, Seconds};

/// Speed in metres per second.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Speed(f64);

impl Speed {
    /// The figure in metres per second.
    #[must_use]
    pub const fn metres_per_second(self) -> f64 {
        self.0
    }
}

/// Speed of sound in air: 343.2 m/s at 20 °C, in proportion to the root of the absolute temperature (ISO 9613-1:1993, A.4).
/// Zero at absolute zero and below.
///
/// Humidity, left out here, makes it up to 0.4 % faster at 20 °C (from memory).
#[must_use]
pub fn speed_of_sound(temperature: Kelvin) -> Speed {
    Speed(343.2 * (temperature.kelvin().max(0.0) / 293.15).sqrt())
}

/// How far sound travels in the air within a time.
#[must_use]
pub fn distance_of(delay: Seconds, temperature: Kelvin) -> Metres {
    Metres::new(delay.seconds() * speed_of_sound(temperature).metres_per_second())
}

/// How long sound takes for a distance in the air; infinitely long at absolute zero.
#[must_use]
pub fn delay_over(distance: Metres, temperature: Kelvin) -> Seconds {
    Seconds::new(distance.metres() / speed_of_sound(temperature).metres_per_second())
}

/// The lowest frequency at which a signal and an equal one that comes later cancel: the one for which the delay is half a
/// period, 1/(2·delay), of whichever sign. Infinite without a delay.
#[must_use]
pub fn first_notch(delay: Seconds) -> Hertz {
    Hertz::new(1.0 / (2.0 * delay.seconds().abs()))
}

/// How long a count of samples lasts at a sample rate.
#[must_use]
pub fn duration(samples: Samples, rate: Hertz) -> Seconds {
    Seconds::new(samples.samples() / rate.hertz())
}

/// How many samples, whole or not, a time lasts at a sample rate.
#[must_use]
pub fn samples_in(time: Seconds, rate: Hertz) -> Samples {
    Samples::new(time.seconds() * rate.hertz())
}
