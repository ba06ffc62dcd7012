//! Every threshold that a verdict rests on, in one place. A case can set its own.

use gainsay_units::{Decibels, Measurable, Share, Stated, file_struct};

/// Two inputs whose penalties differ by less than this are equally good for a source: nobody hears a tenth of a decibel of noise,
/// and a cable saved is worth more.
pub const PENALTY_STEP: Decibels = Decibels::new(0.1);

file_struct! {
    /// Thresholds of the verdicts, where a case sets its own.
    pub struct ThresholdsFile {
        figures {
            /// Noise is enough while the chain adds at most this to what room and microphone alone would leave.
            penalty_enough: Decibels,
            /// Noise is short when it is audible and a perfect front end would lower it by more than this.
            penalty_short: Decibels,
            /// Noise is audible at replay where it raises the listener's own floor in any band by at least this.
            audible_rise: Decibels,
            /// Reach is tight when the peak at the most gain stays further than this under the target.
            reach: Decibels,
            /// Headroom is enough while the probability of passing a ceiling is below this.
            clipping_enough: Share,
            /// Headroom is short when the probability of passing a ceiling is at least this.
            clipping_short: Share,
        }
        fields {
        }
    }
}

/// Thresholds of the verdicts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thresholds {
    /// See [`ThresholdsFile::penalty_enough`].
    pub penalty_enough: Decibels,
    /// See [`ThresholdsFile::penalty_short`].
    pub penalty_short: Decibels,
    /// See [`ThresholdsFile::audible_rise`].
    pub audible_rise: Decibels,
    /// See [`ThresholdsFile::reach`].
    pub reach: Decibels,
    /// See [`ThresholdsFile::clipping_enough`].
    pub clipping_enough: Share,
    /// See [`ThresholdsFile::clipping_short`].
    pub clipping_short: Share,
}

impl Default for Thresholds {
    fn default() -> Self {
        Self {
            penalty_enough: Decibels::new(1.0),
            penalty_short: Decibels::new(3.0),
            audible_rise: Decibels::new(1.0),
            reach: Decibels::new(12.0),
            clipping_enough: Share::new(0.01),
            clipping_short: Share::new(0.10),
        }
    }
}

impl Thresholds {
    /// The defaults with what a case sets instead.
    #[must_use]
    pub fn with(file: &ThresholdsFile) -> Self {
        fn or<T: Measurable>(stated: Option<&Stated<T>>, default: T) -> T {
            stated.and_then(Stated::figure).map_or(default, |figure| figure.value)
        }
        let default = Self::default();
        Self {
            penalty_enough: or(file.penalty_enough.as_ref(), default.penalty_enough),
            penalty_short: or(file.penalty_short.as_ref(), default.penalty_short),
            audible_rise: or(file.audible_rise.as_ref(), default.audible_rise),
            reach: or(file.reach.as_ref(), default.reach),
            clipping_enough: or(file.clipping_enough.as_ref(), default.clipping_enough),
            clipping_short: or(file.clipping_short.as_ref(), default.clipping_short),
        }
    }
}
