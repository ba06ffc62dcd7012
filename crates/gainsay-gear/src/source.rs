//! Kinds of sources: what people record.

use gainsay_units::bands::{BandPowers, N_BANDS, thirds_from_octaves};
use gainsay_units::math::exp10;
use gainsay_units::{DbSpl, Dbu, Decibels, FileStruct, Metres, Ohms, Origin, Problem, file_struct};
use serde::Deserialize;

file_struct! {
    /// Levels of a kind of source.
    pub struct SourceLevels {
        figures {
            /// Distance at which the levels hold.
            distance: Metres,
            /// RMS level of the quietest passage that matters.
            quiet: DbSpl,
            /// RMS level of the loudest passage.
            loud: DbSpl,
            /// From RMS to peak in loud passages.
            crest: Decibels,
            /// Size of what radiates; closer than this the level rises no more.
            size: Metres,
            /// Of an electrical source: RMS level of the quietest passage.
            quiet_output: Dbu,
            /// Of an electrical source: RMS level of the loudest passage.
            loud_output: Dbu,
            /// Of an electrical source: its own noise.
            output_noise: Dbu,
            /// Of an electrical source: its output resistance.
            output_impedance: Ohms,
        }
        fields {
        }
    }
}

/// A kind of source.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SourceKind {
    /// Its name.
    pub name: String,
    /// Other names.
    #[serde(default)]
    pub aliases: Vec<String>,
    /// What it belongs to: voice, plucked, bowed, struck, wind, brass, drums, amplified, electrical.
    pub family: String,
    /// Name of its spectrum.
    pub spectrum: String,
    /// Microphone that is usually put before it, by the name of a built-in kind.
    pub usual_microphone: String,
    /// Distance at which a microphone usually stands, in metres.
    pub usual_distance_m: f64,
    /// Where the levels come from.
    pub source: String,
    /// The levels.
    pub levels: SourceLevels,
}

impl SourceKind {
    /// Whether it is an electrical source that needs no microphone.
    #[must_use]
    pub fn is_electrical(&self) -> bool {
        self.levels.loud_output.is_some()
    }

    pub(crate) fn resolve(&mut self, problems: &mut Vec<Problem>) {
        self.levels.resolve(Origin::Typical, problems);
    }
}

/// The shape of a spectrum: octave-band levels 31.5 Hz to 8 kHz on any common reference, or third-octave levels.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spectrum {
    /// Its name.
    pub name: String,
    /// Octave-band levels 31.5 Hz to 8 kHz in dB.
    #[serde(default)]
    pub octaves_db: Option<[f64; 9]>,
    /// Third-octave band levels 20 Hz to 20 kHz in dB.
    #[serde(default)]
    pub thirds_db: Option<Vec<f64>>,
    /// Where it comes from.
    pub source: String,
}

impl Spectrum {
    /// Share of the power in each band; the shares add up to one.
    #[must_use]
    pub fn shares(&self) -> BandPowers {
        let thirds = match (&self.thirds_db, &self.octaves_db) {
            (Some(thirds), _) => {
                let mut levels = [f64::NEG_INFINITY; N_BANDS];
                for (level, given) in levels.iter_mut().zip(thirds) {
                    *level = *given;
                }
                levels
            }
            (None, Some(octaves)) => thirds_from_octaves(octaves),
            (None, None) => [0.0; N_BANDS],
        };
        let powers = BandPowers(thirds.map(|level| exp10(level / 10.0)));
        powers.scaled(1.0 / powers.total())
    }
}
