//! Microphones (IEC 60268-4).

use super::{DoubtKind, Found, phantom};
use crate::words;
use gainsay_gear::Microphone;
use gainsay_units::{Sensitivity, Unit, Weighting};

pub(super) fn doubts(microphone: &Microphone, to: &mut Found<'_>) {
    if let Some(stated) = &microphone.sensitivity
        && let Some(quantity) = stated.quantity()
        && matches!(quantity.unit, Unit::DecibelVoltPerMicrobar | Unit::MillivoltPerMicrobar)
        && let Ok(sensitivity) = quantity.to::<Sensitivity>()
    {
        to.add(DoubtKind::OldSensitivity, "sensitivity", words::old_sensitivity(&quantity, sensitivity));
    }
    if let Some(stated) = &microphone.self_noise
        && let Some(quantity) = stated.quantity()
    {
        match quantity.weighting() {
            // What the file leaves out is A-weighted.
            None | Some(Weighting::A) => {}
            Some(other) => to.add(DoubtKind::NoiseNotA, "self_noise", words::noise_not_a(other)),
        }
    }
    phantom::drawn(microphone.phantom_current.as_ref(), to);
}
