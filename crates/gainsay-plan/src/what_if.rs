//! What if one source were taken otherwise.

use crate::case::{LevelsAt, Pickup, Source};
use gainsay_gear::Device;
use gainsay_units::{Decibels, Figure, Metres};
use std::sync::Arc;

/// What is different about a source; nothing where a field is none.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct WhatIf {
    /// Gain on the input's control.
    pub gain: Option<Decibels>,
    /// Distance of its microphone.
    pub distance: Option<Metres>,
    /// How much louder it is, in the quietest and the loudest passages alike.
    pub louder: Option<Decibels>,
    /// Length of its cable.
    pub cable: Option<Metres>,
    /// Its microphone.
    pub microphone: Option<Arc<Device>>,
    /// Its booster, or none at all.
    pub booster: Option<Option<Arc<Device>>>,
}

impl WhatIf {
    /// A source as it would be.
    #[must_use]
    pub fn of(&self, source: &Source) -> Source {
        let mut source = source.clone();
        if let Some(distance) = self.distance {
            source = at_distance(&source, &Figure::exact(distance, crate::words::options::metres(distance)));
        }
        if let Some(microphone) = &self.microphone {
            source = with_microphone(&source, microphone);
        }
        if let Some(booster) = &self.booster {
            source.booster.clone_from(booster);
        }
        if let Some(louder) = self.louder {
            match &mut source.pickup {
                Pickup::Acoustic { quiet, loud, .. } => {
                    quiet.value += louder;
                    loud.value += louder;
                }
                Pickup::Electrical { quiet, loud, .. } => {
                    quiet.value += louder;
                    loud.value += louder;
                }
            }
        }
        if let Some(cable) = self.cable {
            source.cable_length = Figure::exact(cable, crate::words::options::metres(cable));
        }
        if self.gain.is_some() {
            source.gain = self.gain;
        }
        source
    }
}

/// A source with its microphone at another distance: its levels hold where they did.
#[must_use]
pub(crate) fn at_distance(source: &Source, other: &Figure<Metres>) -> Source {
    let mut source = source.clone();
    if let Pickup::Acoustic { distance, levels_at, .. } = &mut source.pickup {
        if *levels_at == LevelsAt::Microphone {
            *levels_at = LevelsAt::Distance(distance.value);
        }
        *distance = other.clone();
    }
    source
}

/// A source with another microphone.
#[must_use]
pub(crate) fn with_microphone(source: &Source, other: &Arc<Device>) -> Source {
    let mut source = source.clone();
    if let Pickup::Acoustic { microphone, microphone_given, .. } = &mut source.pickup {
        *microphone = Arc::clone(other);
        *microphone_given = true;
    }
    source
}
