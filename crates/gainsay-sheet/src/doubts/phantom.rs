//! Phantom power (IEC 61938).

use super::{DoubtKind, Found};
use crate::words;
use gainsay_units::{Amperes, Stated};

/// The highest current of P48 that the standard provides for one microphone.
pub(super) const P48_CURRENT: Amperes = Amperes::new(0.010);

/// What an input supplies.
pub(super) fn supplied(stated: Option<&Stated<Amperes>>, to: &mut Found<'_>) {
    above(stated, to, words::phantom_supplied);
}

/// What a microphone or booster draws.
pub(super) fn drawn(stated: Option<&Stated<Amperes>>, to: &mut Found<'_>) {
    above(stated, to, words::phantom_drawn);
}

fn above(stated: Option<&Stated<Amperes>>, to: &mut Found<'_>, sentence: fn(Amperes) -> String) {
    if let Some(figure) = stated.and_then(Stated::figure)
        && figure.value.amperes() > P48_CURRENT.amperes() * 1.0001
    {
        to.add(DoubtKind::PhantomCurrent, "phantom_current", sentence(figure.value));
    }
}
