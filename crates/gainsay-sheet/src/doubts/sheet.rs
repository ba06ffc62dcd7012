//! Doubts on what a sheet says and a device file has no field for.

use super::{Doubt, DoubtKind};
use crate::clause::dimension;
use crate::facts::Fact;
use crate::lexicon::Atom as A;
use crate::reading::{Path, Table};
use crate::words;
use gainsay_gear::DeviceType;
use gainsay_units::{Decibels, Dimension};

/// Doubts on distortion, frequency response and the highest sound level.
pub(crate) fn doubts(facts: &[Fact], kind: DeviceType) -> Vec<Doubt> {
    let mut doubts: Vec<Doubt> = Vec::new();
    for fact in facts {
        let Some(measure) = &fact.clause.measure else { continue };
        let terms = &fact.clause.terms;
        let headphones = fact.has(A::Headphones);
        let mut add = |kind: DoubtKind, field: Option<String>, sentence: String| {
            // One line, one doubt of a kind.
            if !doubts.iter().rev().take(8).any(|d: &Doubt| d.kind == kind && d.line == Some(fact.line)) {
                doubts.push(Doubt { kind, field, line: Some(fact.line), sentence });
            }
        };
        let share_or_ratio = matches!(dimension(measure), Some(Dimension::Share | Dimension::Ratio));
        if fact.has(A::Distortion)
            && share_or_ratio
            && !fact.has(A::Spl)
            && !headphones
            && !terms.level
            && terms.gain.is_none()
        {
            add(DoubtKind::DistortionNoLevel, None, words::distortion_no_level());
        }
        if fact.has(A::Response)
            && dimension(measure) == Some(Dimension::Frequency)
            && !headphones
            && !terms.tolerance
            && measure.tolerance.is_none()
            && terms.gain.is_none()
        {
            add(DoubtKind::ResponseNoTolerance, None, words::response_no_tolerance());
        }
        let spl = fact.has(A::Spl)
            && fact.has(A::Maximum)
            && matches!(dimension(measure), Some(Dimension::SoundLevel | Dimension::Ratio));
        if kind == DeviceType::Microphone && spl && measure.first() > 90.0 && terms.distortion.is_none() {
            let path = Path { table: Table::Microphone, group: String::new(), field: "maximum_spl" };
            add(DoubtKind::MaximumSplNoLimit, Some(path.to_string()), words::spl_no_limit());
        }
    }
    doubts
}

/// The gain range against the highest and lowest input level for the same output.
pub(crate) fn gain_range(
    range: Decibels,
    highest: (f64, usize),
    lowest: (f64, usize),
    field: String,
) -> Option<Doubt> {
    let implied = highest.0 - lowest.0;
    ((implied - range.db()).abs() > 1.0).then(|| Doubt {
        kind: DoubtKind::GainRange,
        field: Some(field),
        line: Some(lowest.1),
        sentence: words::range_and_levels(range, Decibels::new(implied)),
    })
}
