//! References of levels: dBu and dBV lie 2.2 dB apart.

use super::{DoubtKind, Found};
use crate::words;
use gainsay_gear::Booster;
use gainsay_gear::front_end::MicrophoneInputs;
use gainsay_units::{Dbu, Stated, Unit};

pub(super) fn microphone_inputs(group: &MicrophoneInputs, to: &mut Found<'_>) {
    ein_in_dbv(group.ein.as_ref(), "ein", to);
    ein_in_dbv(group.ein_second.as_ref(), "ein_second", to);
}

pub(super) fn booster(booster: &Booster, to: &mut Found<'_>) {
    ein_in_dbv(booster.ein.as_ref(), "ein", to);
}

/// An EIN in dBV looks 2.2 dB better than the same in dBu.
fn ein_in_dbv(stated: Option<&Stated<Dbu>>, field: &'static str, to: &mut Found<'_>) {
    let Some(quantity) = stated.and_then(Stated::quantity) else { return };
    if quantity.unit == Unit::Dbv {
        let dbu = Dbu::new(quantity.unit.to_base(quantity.number));
        to.add(DoubtKind::LevelReference, field, words::ein_in_dbv(&quantity, dbu));
    }
}
