//! How two ends meet, as far as the patch sheet needs it.

use crate::case::{Pickup, Source};
use crate::patch::joining::{
    AnalogueInput, AnalogueOutput, CableUse, DigitalEnd, Join, Level, Part, Warning, check_length,
    join_analogue, join_digital, length_limit, word_clock_parts,
};
use crate::patch::needs::Need;
use crate::patch::{Input, LineEnd, Socket};
use crate::words::capital;
use crate::words::joining::{self as sentences, Asked};
use gainsay_gear::Device;
use gainsay_gear::connection::{Connector, DigitalFormat};
use gainsay_gear::front_end::DigitalPorts;
use gainsay_gear::microphone::PhantomNeed;

/// A cable between two ends.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Joint {
    /// The cable in words, without an article; empty where there is none to be had.
    pub(super) cable: String,
    /// Adapters and the like beside it, without an article.
    pub(super) parts: Vec<String>,
    /// Usual limit of its length, in metres.
    pub(super) usual_limit_m: Option<f64>,
    /// What would do damage.
    pub(super) damaging: Option<String>,
    /// What is wrong, or to be heeded.
    pub(super) remarks: Vec<String>,
}

impl Joint {
    pub(super) fn word_clock() -> Self {
        let parts = word_clock_parts(1, false);
        let mut words = parts.iter().map(|part| noun(*part));
        Self {
            cable: words.next().unwrap_or_default(),
            parts: words.collect(),
            usual_limit_m: length_limit(CableUse::WordClock).map(|limit| limit.usual.metres()),
            damaging: None,
            remarks: Vec::new(),
        }
    }

    fn of(join: Join, from: String, to: String) -> Self {
        let mut joint = Self::default();
        match &join {
            Join::Fits { cable, .. } => joint.cable = noun(*cable),
            Join::WithAdapter { parts, .. } => {
                let (cables, others): (Vec<&Part>, Vec<&Part>) =
                    parts.iter().partition(|part| is_cable(**part));
                joint.cable = cables.first().map_or_else(String::new, |part| noun(**part));
                joint.parts = cables.into_iter().skip(1).chain(others).map(|part| noun(*part)).collect();
            }
            Join::Wrong { .. } | Join::Damaging { .. } => {}
        }
        let sentence = sentences::sentence(&Asked { from: from.clone(), to: to.clone(), join: join.clone() });
        match &join {
            Join::Damaging { .. } => joint.damaging = Some(sentence),
            Join::Wrong { .. } => joint.remarks.push(capital(&sentence)),
            Join::Fits { warnings, .. } | Join::WithAdapter { warnings, .. } => {
                // That phantom power comes on last is said of the whole session.
                let warnings = warnings.iter().filter(|warning| **warning != Warning::PatchWithPhantomOff);
                joint.remarks.extend(
                    warnings.map(|warning| format!("{}: {}", capital(&from), sentences::warning(*warning))),
                );
            }
        }
        joint
    }

    fn with_limit(mut self, used: CableUse, length_m: Option<f64>, of: &str) -> Self {
        self.usual_limit_m = length_limit(used).map(|limit| limit.usual.metres());
        if let Some(length) = length_m
            && let Some(words) =
                check_length(used, gainsay_units::Metres::new(length)).and_then(sentences::length)
        {
            self.remarks.push(format!("{of}: {words}"));
        }
        self
    }
}

/// A part without its article.
fn noun(part: Part) -> String {
    let words = sentences::part(part);
    ["a ", "an ", "its "].iter().find_map(|article| words.strip_prefix(article)).unwrap_or(&words).to_owned()
}

const fn is_cable(part: Part) -> bool {
    matches!(
        part,
        Part::MicrophoneCable
            | Part::JackCable { .. }
            | Part::InstrumentCable
            | Part::CableBetween { .. }
            | Part::SplitCable { .. }
            | Part::PhonoCable
            | Part::MiniJackCable
            | Part::D25Cable
            | Part::BreakoutLoom { .. }
            | Part::OwnCable
            | Part::DigitalPair
            | Part::BncCable
            | Part::DigitalPhonoCable
            | Part::PlasticFibre
            | Part::DuplexFibre
            | Part::NetworkCable
            | Part::WordClockCables { .. }
    )
}

/// The end of a source's line: its microphone, its booster, or its own output.
fn output_of(source: &Source) -> AnalogueOutput {
    let need = Need::of(source);
    match &source.pickup {
        Pickup::Acoustic { .. } if source.booster.is_some() => AnalogueOutput {
            connector: Connector::Xlr,
            balanced: true,
            level: Level::Microphone,
            phantom: PhantomNeed::Required,
        },
        Pickup::Acoustic { microphone, .. } => {
            let model = microphone.microphone();
            let connector = model.and_then(|m| m.connector).unwrap_or(Connector::Xlr);
            let instrument = need == Need::Pickup;
            AnalogueOutput {
                connector: if instrument && model.is_none_or(|m| m.connector.is_none()) {
                    Connector::JackUnbalanced
                } else {
                    connector
                },
                balanced: !instrument
                    && !matches!(
                        connector,
                        Connector::JackUnbalanced | Connector::MiniJack | Connector::Phono
                    ),
                level: if instrument { Level::Instrument } else { Level::Microphone },
                phantom: model.and_then(|m| m.phantom).unwrap_or(PhantomNeed::Ignored),
            }
        }
        // Outputs of keyboards and instruments are unbalanced jacks (common practice, no source).
        Pickup::Electrical { .. } => AnalogueOutput {
            connector: Connector::JackUnbalanced,
            balanced: false,
            level: if need == (Need::Line { instrument: true }) { Level::Instrument } else { Level::Line },
            phantom: PhantomNeed::Harmful,
        },
    }
}

/// From a source's microphone, booster or output into its input, with phantom power on there or not.
pub(super) fn microphone_joint(source: &Source, input: &Input, phantom: bool) -> Joint {
    let output = output_of(source);
    let end = match &input.socket {
        Socket::Microphone(group) => AnalogueInput {
            connector: group.connector.unwrap_or(Connector::XlrOrJack),
            balanced: true,
            level: Level::Microphone,
            phantom,
        },
        Socket::Line(group) => AnalogueInput {
            connector: group.connector.unwrap_or(Connector::JackBalanced),
            balanced: group.balanced.unwrap_or(group.instrument != Some(true)),
            level: if group.instrument == Some(true) { Level::Instrument } else { Level::Line },
            phantom: false,
        },
    };
    let from = match (&source.booster, source.microphone()) {
        (Some(booster), _) => format!("the booster of {} ({})", source.name, booster.name),
        (None, Some(microphone)) => format!("the microphone of {} ({})", source.name, microphone.name),
        (None, None) => format!("the output of {}", source.name),
    };
    let used = match (output.level, output.balanced) {
        (Level::Instrument, _) => CableUse::Instrument,
        (_, true) => CableUse::Balanced,
        (_, false) => CableUse::Unbalanced,
    };
    Joint::of(join_analogue(output, end), from, input.words()).with_limit(
        used,
        Some(source.cable_length.value.metres()),
        &source.name,
    )
}

/// From a preamp's output into a line input.
pub(super) fn line_joint(input: &Input, line: &LineEnd) -> Joint {
    let connector = match &input.socket {
        Socket::Microphone(group) => group.output_connector,
        Socket::Line(_) => None,
    };
    let output = AnalogueOutput {
        connector: connector.unwrap_or(Connector::Xlr),
        balanced: !matches!(
            connector,
            Some(Connector::JackUnbalanced | Connector::Phono | Connector::MiniJack)
        ),
        level: Level::Line,
        phantom: PhantomNeed::Ignored,
    };
    let end = AnalogueInput {
        connector: line.inputs.connector.unwrap_or(Connector::JackBalanced),
        balanced: line.inputs.balanced.unwrap_or(true),
        level: Level::Line,
        phantom: false,
    };
    let used = if output.balanced && end.balanced { CableUse::Balanced } else { CableUse::Unbalanced };
    let from = format!("the output of {}", name(&input.device));
    Joint::of(join_analogue(output, end), from, line.words()).with_limit(used, None, "")
}

fn name(device: &Device) -> String {
    format!("\"{}\"", device.name)
}

/// The connector on which a format is usually found.
const fn usual_connector(format: DigitalFormat) -> Connector {
    match format {
        DigitalFormat::Aes3 => Connector::Xlr,
        DigitalFormat::Iec60958Coaxial => Connector::Phono,
        DigitalFormat::Iec60958Optical | DigitalFormat::EightChannelOptical => Connector::Optical,
        DigitalFormat::Aes10 | DigitalFormat::Aes10Varispeed => Connector::Bnc,
        DigitalFormat::Aes67 => Connector::Ethernet,
    }
}

/// From a digital output into a digital input. A port whose first format is another one has to be switched.
pub(super) fn digital_joint(
    output: Option<&DigitalPorts>,
    input: Option<&DigitalPorts>,
    format: DigitalFormat,
) -> Joint {
    let end = |port: Option<&DigitalPorts>| DigitalEnd {
        format,
        connector: port.and_then(|p| p.connector).unwrap_or_else(|| usual_connector(format)),
        switched_from: port.and_then(|p| p.format).filter(|_| {
            port.is_some_and(|p| p.switchable_to.as_ref().is_some_and(|other| !other.is_empty()))
        }),
    };
    let (from, to) = (end(output), end(input));
    let words = |port: Option<&DigitalPorts>, otherwise: &str| {
        port.and_then(|p| p.label.clone()).unwrap_or_else(|| otherwise.to_owned())
    };
    let used = CableUse::Digital(format, from.connector);
    let mut joint =
        Joint::of(join_digital(from, to), words(output, "digital output"), words(input, "digital input"))
            .with_limit(used, None, "");
    // A port that can be set to two formats is worth a word, whatever it is set to now.
    for (port, end) in [(output, "output"), (input, "input")] {
        let other: Vec<&str> = port
            .into_iter()
            .flat_map(crate::case::formats)
            .filter(|other| *other != format)
            .map(DigitalFormat::words)
            .collect();
        if !other.is_empty() && joint.remarks.iter().all(|remark| !remark.contains("port to")) {
            joint.remarks.push(format!(
                "\"{}\" ({end}) can be set to {} too: set it to {}. Set wrongly it gives noise or silence, not damage.",
                words(port, "the digital port"),
                crate::words::list(&other),
                format.words()
            ));
        }
    }
    joint
}
