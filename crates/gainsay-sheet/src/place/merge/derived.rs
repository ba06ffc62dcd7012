//! Figures that follow from others: the pad from two levels, the range from two gains.

use super::{Merged, base};
use crate::doubts::DoubtKind;
use crate::place::Placed;
use crate::place::front_end::tidy;
use crate::reading::{Candidate, Path, Value, Why};
use crate::words;
use gainsay_units::{Quantity, Unit};
use std::collections::BTreeMap;

impl Merged {
    /// Levels that hold with the pad in give the pad, or are set aside.
    pub(super) fn levels_with_pad(&mut self, padded: Vec<Placed>, fields: &mut BTreeMap<Path, Vec<Placed>>) {
        for one in padded {
            if one.path.field == "maximum_input" {
                let without =
                    fields.get(&one.path).and_then(|all| all.first()).and_then(|p| base(&p.candidate.value));
                let pad = Path { field: "pad", ..one.path.clone() };
                let with = base(&one.candidate.value);
                if let (Some(without), Some(with)) = (without, with)
                    && with > without
                {
                    let difference = tidy(with - without);
                    match fields.get(&pad).and_then(|all| all.first()).and_then(|p| base(&p.candidate.value))
                    {
                        None => {
                            let candidate = Candidate {
                                value: Value::Figure(Quantity::new(
                                    (difference * 10.0).round() / 10.0,
                                    Unit::Decibel,
                                )),
                                how: Some(words::pad_from_levels()),
                                ..one.candidate.clone()
                            };
                            let derived = Placed {
                                path: pad.clone(),
                                candidate,
                                or: None,
                                doubts: Vec::new(),
                                with_pad: true,
                                fact: one.fact,
                            };
                            fields.entry(pad).or_default().push(derived);
                        }
                        Some(stated) if (stated - difference).abs() > 1.0 => {
                            self.doubt(
                                DoubtKind::Contradiction,
                                &pad,
                                one.candidate.line,
                                words::pad_and_levels(stated, difference),
                            );
                        }
                        Some(_) => {}
                    }
                }
            }
            self.set_aside(&one, Why::NoField("a figure with the pad in"));
        }
    }

    /// A highest gain gives the range with the lowest; alone it is taken from 0 dB.
    pub(super) fn highest_gain(&mut self, fields: &mut BTreeMap<Path, Vec<Placed>>) {
        let keys: Vec<Path> = fields.keys().filter(|path| path.field == "maximum_gain").cloned().collect();
        for key in keys {
            let Some(mut all) = fields.remove(&key) else { continue };
            if all.is_empty() {
                continue;
            }
            let mut highest = all.remove(0);
            let range = Path { field: "gain_range", ..key.clone() };
            let least = Path { field: "least_gain", ..key.clone() };
            let Some(most) = base(&highest.candidate.value) else { continue };
            let lowest =
                fields.get(&least).and_then(|all| all.first()).and_then(|p| base(&p.candidate.value));
            let stated =
                fields.get(&range).and_then(|all| all.first()).and_then(|p| base(&p.candidate.value));
            if let Some(stated) = stated {
                let implied = tidy(most - lowest.unwrap_or(0.0));
                if lowest.is_some() && (implied - stated).abs() > 1.0 {
                    self.doubt(
                        DoubtKind::GainRange,
                        &range,
                        highest.candidate.line,
                        words::gain_ends(stated, implied),
                    );
                } else if lowest.is_none() {
                    // Highest gain and range give the lowest gain.
                    let value = Value::Figure(Quantity::new(tidy(most - stated), Unit::Decibel));
                    highest.candidate.how = Some(words::least_from_range());
                    highest.candidate.value = value;
                    highest.path = least.clone();
                    fields.entry(least).or_default().push(highest);
                }
                continue;
            }
            if let Value::Figure(quantity) = &mut highest.candidate.value {
                quantity.number = tidy(most - lowest.unwrap_or(0.0));
            }
            highest.path = range.clone();
            match lowest {
                Some(low) => highest.candidate.how = Some(words::range_from(low, most)),
                None => highest.doubts.push((DoubtKind::Ambiguous, words::highest_gain_alone())),
            }
            fields.entry(range).or_default().push(highest);
        }
    }
}
