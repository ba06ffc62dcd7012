//! What can't be true of any device.

use super::{Device, Model};
use crate::FrontEnd;
use gainsay_units::{Decibels, Kelvin, Measurable, Ohms, Problem, Stated, Weighting, noise};

/// The source impedance that an EIN is taken to refer to where the sheet does not say (common practice).
pub const USUAL_SOURCE: Ohms = Ohms::new(150.0);

impl Device {
    /// Adds what is impossible to `problems`.
    pub(super) fn check(&self, problems: &mut Vec<Problem>) {
        match &self.model {
            Model::Microphone(microphone) => {
                positive(microphone.impedance.as_ref(), "a source impedance", problems);
                not_negative(microphone.pad.as_ref(), "a pad", problems);
            }
            Model::Booster(booster) => {
                ein(booster.ein.as_ref(), problems);
                positive(booster.input_impedance.as_ref(), "an input impedance", problems);
                positive(booster.output_impedance.as_ref(), "an output impedance", problems);
            }
            Model::Preamp(front_end) | Model::Interface(front_end) | Model::Converter(front_end) => {
                counts(front_end, problems);
                for group in &front_end.microphone_inputs {
                    ein(group.ein.as_ref(), problems);
                    ein(group.ein_second.as_ref(), problems);
                    positive(group.input_impedance.as_ref(), "an input impedance", problems);
                    not_negative(group.gain_range.as_ref(), "a gain range", problems);
                    not_negative(group.pad.as_ref(), "a pad", problems);
                    positive(group.gain_step.as_ref(), "a gain step", problems);
                }
                for group in &front_end.line_inputs {
                    positive(group.input_impedance.as_ref(), "an input impedance", problems);
                }
            }
            Model::Cable(_) => {}
        }
    }
}

/// Most inputs, outputs or ports in one group; no device has as many.
const MOST_IN_A_GROUP: u32 = 1024;

fn counts(front_end: &FrontEnd, problems: &mut Vec<Problem>) {
    let inputs = front_end.microphone_inputs.iter().map(|g| g.count);
    let lines =
        front_end.line_inputs.iter().map(|g| g.count).chain(front_end.line_outputs.iter().map(|g| g.count));
    let ports = front_end.digital_inputs.iter().chain(&front_end.digital_outputs).map(|g| g.count);
    for count in inputs.chain(lines).chain(ports).flatten() {
        if count == 0 || count > MOST_IN_A_GROUP {
            problems.push(Problem::new(
                0..0,
                format!("a group with a count of {count} is not possible"),
                format!("write 1 to {MOST_IN_A_GROUP}, or leave the group out"),
            ));
        }
    }
}

fn positive<T: Measurable>(stated: Option<&Stated<T>>, what: &str, problems: &mut Vec<Problem>) {
    if let Some(stated) = stated
        && let Some(figure) = stated.figure()
        && figure.value.to_base() <= 0.0
    {
        let message = format!("{what} of {} is not possible", figure.written);
        problems.push(Problem::new(
            stated.span(),
            message,
            "write a number above zero, or leave the line out",
        ));
    }
}

fn not_negative(stated: Option<&Stated<Decibels>>, what: &str, problems: &mut Vec<Problem>) {
    if let Some(stated) = stated
        && let Some(figure) = stated.figure()
        && figure.value < Decibels::ZERO
    {
        let message = format!("{what} of {} is not possible", figure.written);
        problems.push(Problem::new(stated.span(), message, "write it as a positive number of dB"));
    }
}

/// An EIN below the thermal noise of its source is impossible: no amplifier takes noise away.
fn ein(stated: Option<&Stated<gainsay_units::Dbu>>, problems: &mut Vec<Problem>) {
    let Some(stated) = stated else { return };
    let Some(figure) = stated.figure() else { return };
    let conditions = &figure.conditions;
    let source = conditions.source_impedance.unwrap_or(USUAL_SOURCE);
    let weighting = conditions.weighting.unwrap_or(Weighting::Flat);
    let limit = noise::thermal_limit(source, Kelvin::ROOM, weighting, conditions.band);
    if figure.value >= limit {
        return;
    }
    let (message, mend) = if conditions.source_impedance.is_some() {
        (
            format!(
                "an EIN of {} is impossible: the thermal noise of {} Ω alone is {:.1} dBu {} at 20 °C",
                figure.written,
                source.ohms(),
                limit.dbu(),
                weighting.words(),
            )
            .replace("is -", "is −"),
            "check the weighting, the band and the source impedance on the sheet",
        )
    } else {
        (
            format!(
                "an EIN of {} is below the thermal noise of a 150 Ω source, {:.1} dBu {} at 20 °C, and no source is stated",
                figure.written,
                limit.dbu(),
                weighting.words(),
            )
            .replace(", -", ", −"),
            "it may be A-weighted or measured with the input shorted: add \"(A-weighted)\" or \"(0 ohm)\" as the sheet has it",
        )
    };
    problems.push(Problem::new(stated.span(), message, mend));
}
