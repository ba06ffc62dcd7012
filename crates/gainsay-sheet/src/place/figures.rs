//! A figure of the sheet as a quantity of a device file.

use crate::facts::Fact;
use crate::grammar::{Measure, Numbers, SheetUnit};
use crate::terms::Terms;
use gainsay_units::{Conditions, Hertz, Ohms, Quantity, Unit};

/// A quantity, and how it came about where the sheet writes it otherwise.
pub(crate) struct Written {
    pub(crate) quantity: Quantity,
    pub(crate) how: Option<String>,
    /// Whether it was written in dBm.
    pub(crate) dbm: bool,
    /// The other reading of an ambiguous number.
    pub(crate) or: Option<Quantity>,
    /// Whether the other reading comes from a dash that may be a sign.
    pub(crate) dash: bool,
}

/// The first number of a measure with the conditions of its fact.
pub(crate) fn figure(measure: &Measure, terms: &Terms) -> Option<Written> {
    let (unit, factor, how, dbm) = match measure.unit?.unit {
        SheetUnit::Known(unit) => (unit, 1.0, None, false),
        SheetUnit::Dbm => (Unit::Dbu, 1.0, Some("dBm taken as dBu, which holds into 600 Ω".to_owned()), true),
        // A sine has √2 times its RMS voltage at the peak, and twice that from peak to peak.
        SheetUnit::PeakToPeak(unit) => (
            unit,
            std::f64::consts::FRAC_1_SQRT_2 / 2.0,
            Some("peak to peak, as the RMS of a sine".to_owned()),
            false,
        ),
        SheetUnit::Peak(unit) => {
            (unit, std::f64::consts::FRAC_1_SQRT_2, Some("peak, as the RMS of a sine".to_owned()), false)
        }
        SheetUnit::Other => return None,
    };
    let rounded =
        |value: f64| if (factor - 1.0).abs() < 1e-12 { value } else { (value * factor * 1e4).round() / 1e4 };
    let tolerance = measure.tolerance.filter(|t| t.below + t.above > 0.0);
    let quantity =
        Quantity { number: rounded(measure.first()), unit, conditions: Conditions::default(), tolerance };
    let or = measure.or.map(|other| Quantity { number: rounded(other), ..quantity });
    let implied = measure.unit.and_then(|u| u.weighting).or(terms.weighting);
    let with_weighting =
        |q: Quantity| Quantity { conditions: Conditions { weighting: implied, ..q.conditions }, ..q };
    Some(Written { quantity: with_weighting(quantity), how, dbm, or, dash: false })
}

/// "0, −10 dB": the one figure of a switch that is not zero; none where there are several.
pub(crate) fn other_than_zero(measure: &Measure) -> Option<Measure> {
    let values: Vec<f64> = match &measure.numbers {
        Numbers::One(_) => return Some(measure.clone()),
        Numbers::Range(low, high) => vec![*low, *high],
        Numbers::List(values) => values.clone(),
    };
    let mut others = values.iter().filter(|value| value.abs() > 1e-9);
    match (values.len(), others.next(), others.next()) {
        (2, Some(value), None) => Some(Measure { numbers: Numbers::One(*value), ..measure.clone() }),
        _ => None,
    }
}

impl Written {
    /// Without conditions: an impedance has no weighting.
    pub(crate) fn plain(mut self) -> Self {
        self.quantity.conditions = Conditions::default();
        self
    }

    /// With the source and band that the fact states.
    pub(crate) fn with_source_and_band(mut self, fact: &Fact) -> Self {
        let terms = &fact.clause.terms;
        let source = if terms.shorted { Some(0.0) } else { terms.source };
        self.quantity.conditions.source_impedance = source.map(Ohms::new);
        self.quantity.conditions.band = terms.band.map(|(low, high)| (Hertz::new(low), Hertz::new(high)));
        self
    }
}
