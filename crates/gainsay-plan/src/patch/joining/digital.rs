//! Digital ends.

use super::{Fault, Join, Part, Remedy, Warning};
use gainsay_gear::connection::{Connector, DigitalFormat};

/// One end of a digital connection.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DigitalEnd {
    /// The format that it is to send or receive.
    pub format: DigitalFormat,
    /// Its connector.
    pub connector: Connector,
    /// The format that the port is set to now, where that is another one that it can be switched from.
    pub switched_from: Option<DigitalFormat>,
}

/// Whether a digital output can be joined to a digital input.
#[must_use]
pub fn join_digital(output: DigitalEnd, input: DigitalEnd) -> Join {
    for end in [output, input] {
        if end.connector != Connector::Captive && end.format.carriage_on(end.connector).is_none() {
            return Join::Wrong {
                why: Fault::NotOnThisConnector(end.format, end.connector),
                remedies: Vec::new(),
            };
        }
    }
    let mut warnings = Vec::new();
    if output.switched_from.is_some_and(|format| format != output.format) {
        warnings.push(Warning::SwitchSender(output.format));
    }
    if input.switched_from.is_some_and(|format| format != input.format) {
        warnings.push(Warning::SwitchReceiver(input.format));
    }
    match between(output, input) {
        Ok((parts, more)) => {
            warnings.extend(more);
            match parts.as_slice() {
                [cable] if !is_adapter(*cable) => Join::Fits { cable: *cable, warnings },
                _ => Join::WithAdapter { parts, warnings },
            }
        }
        Err((why, remedies)) => Join::Wrong { why, remedies },
    }
}

const fn is_adapter(part: Part) -> bool {
    matches!(part, Part::BreakoutLoom { .. })
}

type Between = Result<(Vec<Part>, Vec<Warning>), (Fault, Vec<Remedy>)>;

fn between(output: DigitalEnd, input: DigitalEnd) -> Between {
    use DigitalFormat as F;
    let ends = (output.connector, input.connector);
    if ends.0 == Connector::Captive || ends.1 == Connector::Captive {
        return if output.format == input.format {
            Ok((vec![Part::OwnCable], vec![Warning::PlugUnknown]))
        } else {
            Err(other_format(output.format, input.format))
        };
    }
    match (output.format, input.format) {
        (F::Aes3, F::Aes3) => Ok((aes3(ends), Vec::new())),
        (F::Iec60958Coaxial, F::Iec60958Coaxial) => Ok((coaxial(ends), Vec::new())),
        (F::Aes3, F::Iec60958Coaxial) | (F::Iec60958Coaxial, F::Aes3) => Ok(aes3_and_coaxial(ends)),
        (F::Iec60958Optical, F::Iec60958Optical) | (F::EightChannelOptical, F::EightChannelOptical) => {
            Ok((vec![Part::PlasticFibre], Vec::new()))
        }
        (F::Iec60958Optical, F::EightChannelOptical) | (F::EightChannelOptical, F::Iec60958Optical) => {
            let why = Fault::SamePlugOtherFormat(output.format, input.format);
            Err((why, vec![Remedy::SwitchTo(input.format), Remedy::SwitchTo(output.format)]))
        }
        (F::Iec60958Coaxial, F::Iec60958Optical) => {
            Ok((vec![coaxial_cable(ends.0), Part::OpticalConverter, Part::PlasticFibre], Vec::new()))
        }
        (F::Iec60958Optical, F::Iec60958Coaxial) => {
            Ok((vec![Part::PlasticFibre, Part::OpticalConverter, coaxial_cable(ends.1)], Vec::new()))
        }
        (F::Aes10 | F::Aes10Varispeed, F::Aes10 | F::Aes10Varispeed) => {
            let same = output.format == input.format;
            Ok((aes10(ends), if same { Vec::new() } else { vec![Warning::SameChannelCount] }))
        }
        (F::Aes67, F::Aes67) => Ok((vec![Part::NetworkCable], Vec::new())),
        (from, to) => Err(other_format(from, to)),
    }
}

fn other_format(from: DigitalFormat, to: DigitalFormat) -> (Fault, Vec<Remedy>) {
    (Fault::OtherFormat(from, to), vec![Remedy::Part(Part::FormatConverter { from, to })])
}

fn aes3(ends: (Connector, Connector)) -> Vec<Part> {
    match ends {
        (Connector::Bnc, Connector::Bnc) => vec![Part::BncCable],
        (Connector::D25, Connector::D25) => vec![Part::D25Cable],
        (Connector::D25, Connector::Bnc) | (Connector::Bnc, Connector::D25) => {
            vec![Part::BreakoutLoom { to: Connector::Xlr }, Part::DigitalTransformer, Part::BncCable]
        }
        (Connector::D25, _) | (_, Connector::D25) => vec![Part::BreakoutLoom { to: Connector::Xlr }],
        (Connector::Bnc, _) => vec![Part::BncCable, Part::DigitalTransformer, Part::DigitalPair],
        (_, Connector::Bnc) => vec![Part::DigitalPair, Part::DigitalTransformer, Part::BncCable],
        _ => vec![Part::DigitalPair],
    }
}

fn coaxial_cable(connector: Connector) -> Part {
    if connector == Connector::Bnc { Part::BncCable } else { Part::DigitalPhonoCable }
}

fn coaxial(ends: (Connector, Connector)) -> Vec<Part> {
    match ends {
        (Connector::Bnc, Connector::Bnc) => vec![Part::BncCable],
        (Connector::Bnc, _) | (_, Connector::Bnc) => vec![Part::DigitalPhonoCable, Part::BncToPhono],
        _ => vec![Part::DigitalPhonoCable],
    }
}

/// Between 2 to 7 V at 110 Ω, 1 V at 75 Ω (AES3) and 0.5 V at 75 Ω (IEC 60958-3).
fn aes3_and_coaxial((from, to): (Connector, Connector)) -> (Vec<Part>, Vec<Warning>) {
    let is_pair = |connector| matches!(connector, Connector::Xlr | Connector::D25);
    let pair = |connector| {
        if connector == Connector::D25 {
            Part::BreakoutLoom { to: Connector::Xlr }
        } else {
            Part::DigitalPair
        }
    };
    if is_pair(from) {
        (vec![pair(from), Part::DigitalTransformer, coaxial_cable(to)], vec![Warning::ChannelStatus])
    } else if is_pair(to) {
        (vec![coaxial_cable(from), Part::DigitalTransformer, pair(to)], vec![Warning::ChannelStatus])
    } else {
        (coaxial((from, to)), vec![Warning::VoltageDiffers, Warning::ChannelStatus])
    }
}

fn aes10(ends: (Connector, Connector)) -> Vec<Part> {
    match ends {
        (Connector::Fibre, Connector::Fibre) => vec![Part::DuplexFibre],
        (Connector::Fibre, _) => vec![Part::DuplexFibre, Part::MediaConverter, Part::BncCable],
        (_, Connector::Fibre) => vec![Part::BncCable, Part::MediaConverter, Part::DuplexFibre],
        _ => vec![Part::BncCable],
    }
}

/// What word clock from one output to a number of inputs takes: a cable to each, a T piece at each, and at the end a 75 Ω
/// terminator. An input that has its own terminator, switched on at the end of the line alone, spares the last T piece and the
/// terminator (common practice, no source).
#[must_use]
pub fn word_clock_parts(inputs: u32, last_has_terminator: bool) -> Vec<Part> {
    if inputs == 0 {
        return Vec::new();
    }
    let pieces = if last_has_terminator { inputs - 1 } else { inputs };
    let mut parts = vec![Part::WordClockCables { count: inputs }];
    if pieces > 0 {
        parts.push(Part::TPieces { count: pieces });
    }
    if !last_has_terminator {
        parts.push(Part::Terminator);
    }
    parts
}
