//! Equivalent input noise (IEC 60268-3).

use super::{DoubtKind, Found};
use crate::words;
use gainsay_units::{Dbu, Decibels, Kelvin, Ohms, Quantity, Stated, Weighting, noise};

/// The thermal noise that no amplifier can go below, for an EIN whose source is stated; none if it is shorted or not stated.
pub(crate) fn thermal_limit(quantity: &Quantity) -> Option<Dbu> {
    let source = quantity.conditions.source_impedance.filter(|ohms| ohms.ohms() > 0.0)?;
    Some(limit(source, quantity))
}

fn limit(source: Ohms, quantity: &Quantity) -> Dbu {
    // Where no weighting is stated, the device file takes the figure as unweighted.
    let weighting = quantity.weighting().unwrap_or(Weighting::Flat);
    noise::thermal_limit(source, Kelvin::ROOM, weighting, quantity.conditions.band)
}

/// The limit that a device file applies: with 150 Ω where no source is stated.
pub(crate) fn usual_limit(quantity: &Quantity) -> Dbu {
    limit(quantity.conditions.source_impedance.unwrap_or(gainsay_gear::USUAL_SOURCE), quantity)
}

/// Doubts on an equivalent input noise.
pub(super) fn ein(stated: Option<&Stated<Dbu>>, field: &'static str, to: &mut Found<'_>) {
    let Some(stated) = stated else { return };
    let (Some(figure), Some(quantity)) = (stated.figure(), stated.quantity()) else { return };
    let conditions = &figure.conditions;
    match conditions.source_impedance {
        None => to.add(DoubtKind::EinNoSource, field, words::ein_no_source()),
        Some(source) if source.ohms() <= 0.0 => {
            to.add(DoubtKind::EinShorted, field, words::ein_shorted(figure.value));
        }
        Some(_) => {
            if let Some(limit) = thermal_limit(&quantity)
                && figure.value < limit
            {
                to.add(DoubtKind::EinBelowThermal, field, words::below_thermal(&quantity, limit));
            } else if let Some(limit) = thermal_limit(&quantity)
                && figure.value - limit < Decibels::new(CLOSEST_TO_LIMIT_DB)
                && conditions.weighting.is_none()
            {
                // Possible only if the figure is A-weighted after all.
                to.add(
                    DoubtKind::EinNoWeighting,
                    field,
                    words::ein_close_without_weighting(figure.value - limit),
                );
                return;
            }
        }
    }
    if conditions.weighting.is_none() {
        to.add(DoubtKind::EinNoWeighting, field, words::ein_no_weighting());
    }
    let flat = matches!(conditions.weighting, None | Some(Weighting::Flat));
    if conditions.band.is_none() && flat {
        to.add(DoubtKind::EinNoBand, field, words::ein_no_band());
    }
}

/// Amplifiers come to about a decibel of the thermal noise of 150 Ω, not nearer (common practice, no source; the noise figures
/// of microphone amplifiers lie at 1 dB and above).
const CLOSEST_TO_LIMIT_DB: f64 = 0.5;
