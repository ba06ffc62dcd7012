//! How long a cable may be.

use gainsay_gear::connection::{Carriage, Connector, DigitalFormat, Standing, WORD_CLOCK};
use gainsay_units::Metres;

/// What a cable is used for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CableUse {
    /// A balanced signal of a low-impedance output, from a microphone or at line level.
    Balanced,
    /// An unbalanced line signal.
    Unbalanced,
    /// A high-impedance pickup.
    Instrument,
    /// A digital format from this connector.
    Digital(DigitalFormat, Connector),
    /// Word clock.
    WordClock,
}

/// How long a cable may be for its use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LengthLimit {
    /// Length up to which it usually works.
    pub usual: Metres,
    /// The longest that works under good conditions.
    pub longest: Metres,
    /// Where the limit is from.
    pub source: &'static str,
    /// Whether that was checked.
    pub standing: Standing,
}

/// What a stated length comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LengthVerdict {
    /// Within the usual length.
    Fine,
    /// Longer than usual; it works under good conditions.
    Doubtful(LengthLimit),
    /// Longer than the longest that works.
    TooLong(LengthLimit),
}

const PRACTICE: &str = "common practice, no source";

const fn practice(usual: f64, longest: f64) -> LengthLimit {
    LengthLimit {
        usual: Metres::new(usual),
        longest: Metres::new(longest),
        source: PRACTICE,
        standing: Standing::FromMemory,
    }
}

/// The usual limit; none where the format is not found on the connector.
#[must_use]
pub fn length_limit(used: CableUse) -> Option<LengthLimit> {
    let of = |carriage: &Carriage| LengthLimit {
        usual: carriage.usual_length,
        longest: carriage.longest,
        source: carriage.standard,
        standing: carriage.length_standing,
    };
    match used {
        CableUse::Balanced => Some(practice(100.0, 300.0)),
        CableUse::Unbalanced => Some(practice(5.0, 10.0)),
        CableUse::Instrument => Some(practice(6.0, 10.0)),
        CableUse::Digital(format, connector) => format.carriage_on(connector).map(of),
        CableUse::WordClock => Some(of(&WORD_CLOCK)),
    }
}

/// What a stated length comes to; none where the format is not found on the connector, or the length is no number.
#[must_use]
pub fn check_length(used: CableUse, length: Metres) -> Option<LengthVerdict> {
    let limit = length_limit(used)?;
    if length.metres().is_nan() {
        return None;
    }
    Some(if length <= limit.usual {
        LengthVerdict::Fine
    } else if length <= limit.longest {
        LengthVerdict::Doubtful(limit)
    } else {
        LengthVerdict::TooLong(limit)
    })
}
