//! Analogue ends.

use super::{Fault, Join, Part, Phantom, Remedy, Warning};
use gainsay_gear::connection::Connector;
use gainsay_gear::microphone::PhantomNeed;
use gainsay_units::Decibels;

/// The level for which an end is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Level {
    /// Millivolts from a microphone, or a DI box.
    Microphone,
    /// About a volt, from a low-impedance output.
    Line,
    /// About a tenth of a volt from a high-impedance pickup.
    Instrument,
}

/// An analogue output, or a microphone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AnalogueOutput {
    /// Its connector.
    pub connector: Connector,
    /// Whether it is balanced.
    pub balanced: bool,
    /// Its level.
    pub level: Level,
    /// What phantom power does to it.
    pub phantom: PhantomNeed,
}

/// An analogue input.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AnalogueInput {
    /// Its connector.
    pub connector: Connector,
    /// Whether it is balanced.
    pub balanced: bool,
    /// The level for which it is made. On a socket for XLR or jack it says which of the two is meant: XLR for a microphone,
    /// jack for line and instrument (common practice, no source).
    pub level: Level,
    /// Whether its phantom power is on.
    pub phantom: bool,
}

/// By how much a line output is stronger than a microphone, roughly: +4 dBu against −36 dBu, a moving-coil microphone close to
/// a loud voice (common practice, no source).
const LINE_OVER_MICROPHONE: Decibels = Decibels::new(40.0);

/// What the attenuator takes away that lets a line signal into a microphone input.
const ATTENUATOR_DB: u8 = 20;

/// A plug.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Plug {
    Xlr,
    Jack { balanced: bool },
    MiniJack,
    Phono,
    D25,
    Captive,
}

impl Plug {
    /// The plug that belongs in a connector; none where it carries no analogue audio.
    fn of(connector: Connector, level: Level, balanced: bool) -> Option<Self> {
        match connector {
            Connector::Xlr => Some(Self::Xlr),
            Connector::XlrOrJack if level == Level::Microphone => Some(Self::Xlr),
            Connector::XlrOrJack => Some(Self::Jack { balanced }),
            Connector::JackBalanced => Some(Self::Jack { balanced: true }),
            Connector::JackUnbalanced => Some(Self::Jack { balanced: false }),
            Connector::MiniJack => Some(Self::MiniJack),
            Connector::Phono => Some(Self::Phono),
            Connector::D25 => Some(Self::D25),
            Connector::Captive => Some(Self::Captive),
            Connector::Bnc | Connector::Optical | Connector::Fibre | Connector::Ethernet | Connector::Usb => {
                None
            }
        }
    }

    const fn connector(self) -> Connector {
        match self {
            Self::Xlr => Connector::Xlr,
            Self::Jack { balanced: true } => Connector::JackBalanced,
            Self::Jack { balanced: false } => Connector::JackUnbalanced,
            Self::MiniJack => Connector::MiniJack,
            Self::Phono => Connector::Phono,
            Self::D25 => Connector::D25,
            Self::Captive => Connector::Captive,
        }
    }

    /// Whether both legs of a balanced signal go through it.
    const fn takes_both_legs(self) -> bool {
        !matches!(self, Self::Jack { balanced: false } | Self::MiniJack | Self::Phono)
    }
}

/// Whether an output can be joined to an input.
#[must_use]
pub fn join_analogue(output: AnalogueOutput, input: AnalogueInput) -> Join {
    let Some(from) = Plug::of(output.connector, output.level, output.balanced) else {
        return wrong(Fault::NotAnalogue(output.connector), &[]);
    };
    let Some(to) = Plug::of(input.connector, input.level, input.balanced) else {
        return wrong(Fault::NotAnalogue(input.connector), &[]);
    };
    let balanced_output = output.balanced && from.takes_both_legs();
    // Only an XLR socket gives phantom power; a jack or phono socket beside it does not (common practice, no source).
    let phantom = input.phantom && to == Plug::Xlr;
    // A small microphone with plug-in power is a case of its own: its adapter turns phantom power into what it takes.
    let lavalier = from == Plug::MiniJack && output.level == Level::Microphone;
    if phantom
        && !lavalier
        && let Some(fault) = phantom_fault(output, balanced_output)
    {
        return fault;
    }
    if let Some(fault) = level_fault(output, input) {
        return fault;
    }
    if lavalier && to == Plug::Xlr {
        let warnings = vec![Warning::AdapterNeedsPhantom];
        return Join::WithAdapter { parts: vec![Part::PlugInPowerAdapter, Part::MicrophoneCable], warnings };
    }
    if lavalier && !matches!(to, Plug::MiniJack | Plug::Captive) {
        return wrong(Fault::NoPlugInPower, &[Remedy::Input(Level::Microphone)]);
    }
    if !lavalier && output.phantom == PhantomNeed::Required && output.level == Level::Microphone && !phantom {
        let remedies = if to == Plug::Xlr {
            [Remedy::PhantomOn, Remedy::Part(Part::PhantomSupply)]
        } else {
            [Remedy::Input(Level::Microphone), Remedy::Part(Part::PhantomSupply)]
        };
        return wrong(Fault::NoPhantom, &remedies);
    }
    let mut warnings = Vec::new();
    if lavalier {
        warnings.push(Warning::InputGivesPlugInPower);
    }
    if phantom {
        warnings.push(Warning::PatchWithPhantomOff);
    }
    // Line outputs can pass what an instrument input takes.
    if output.level == Level::Line && input.level == Level::Instrument {
        warnings.push(Warning::MayClip);
    }
    let balanced_input = input.balanced && to.takes_both_legs();
    if output.level != Level::Instrument {
        if balanced_output && !balanced_input {
            warnings.extend([Warning::SecondLegOpen, Warning::MayHum]);
        } else if !balanced_output && output.level == Level::Line {
            warnings.push(Warning::MayHum);
        }
    }
    let cable = cable(from, to, output.level, balanced_output && balanced_input, &mut warnings);
    if matches!(cable, Part::BreakoutLoom { .. }) {
        Join::WithAdapter { parts: vec![cable], warnings }
    } else {
        Join::Fits { cable, warnings }
    }
}

fn wrong(why: Fault, remedies: &[Remedy]) -> Join {
    Join::Wrong { why, remedies: remedies.to_vec() }
}

/// What phantom power would do to the output.
fn phantom_fault(output: AnalogueOutput, balanced: bool) -> Option<Join> {
    let microphone = output.level == Level::Microphone;
    if microphone && balanced {
        let harmful = output.phantom == PhantomNeed::Harmful;
        return harmful.then(|| Join::Damaging {
            why: Fault::PhantomIntoMicrophone,
            remedies: vec![Remedy::PhantomOff],
        });
    }
    // A balanced output that is known not to mind is at most too strong. An unbalanced one has one leg on the screen.
    if balanced && output.phantom != PhantomNeed::Harmful {
        return None;
    }
    let current = if balanced { Phantom::P48.into_both_legs() } else { Phantom::P48.into_one_leg() };
    // What is no microphone is too strong or too weakly loaded there, with phantom power off as well.
    let remedies = match output.level {
        Level::Microphone => vec![Remedy::PhantomOff],
        level => vec![Remedy::Part(Part::DiBox), Remedy::Input(level)],
    };
    Some(Join::Damaging { why: Fault::PhantomIntoOutput { current }, remedies })
}

/// What the levels make wrong.
fn level_fault(output: AnalogueOutput, input: AnalogueInput) -> Option<Join> {
    use Level::{Instrument, Line, Microphone};
    let into_box = Remedy::Part(Part::DiBox);
    match (output.level, input.level) {
        (Microphone, Microphone) | (Line, Line | Instrument) | (Instrument, Instrument) => None,
        (Microphone, Line | Instrument) => Some(wrong(
            Fault::TooWeak { by: LINE_OVER_MICROPHONE },
            &[Remedy::Input(Microphone), Remedy::Part(Part::MicrophonePreamp)],
        )),
        (Line, Microphone) if output.balanced => Some(wrong(
            Fault::TooStrong { by: LINE_OVER_MICROPHONE },
            &[Remedy::Input(Line), Remedy::Part(Part::Attenuator { db: ATTENUATOR_DB })],
        )),
        (Line, Microphone) => {
            Some(wrong(Fault::TooStrong { by: LINE_OVER_MICROPHONE }, &[Remedy::Input(Line), into_box]))
        }
        (Instrument, Line | Microphone) => {
            Some(wrong(Fault::LoadsPickup, &[Remedy::Input(Instrument), into_box]))
        }
    }
}

/// The cable from one plug to another.
fn cable(from: Plug, to: Plug, level: Level, balanced: bool, warnings: &mut Vec<Warning>) -> Part {
    let is_jack = |plug: Plug| matches!(plug, Plug::Jack { .. });
    match (from, to) {
        (Plug::Captive, _) | (_, Plug::Captive) => {
            warnings.push(Warning::PlugUnknown);
            Part::OwnCable
        }
        (Plug::D25, Plug::D25) => Part::D25Cable,
        (Plug::D25, other) | (other, Plug::D25) => Part::BreakoutLoom { to: other.connector() },
        (Plug::Xlr, Plug::Xlr) => Part::MicrophoneCable,
        (Plug::MiniJack, Plug::MiniJack) => Part::MiniJackCable,
        // Players, telephones and computers put two channels on it.
        (Plug::MiniJack, other) if level == Level::Line => {
            warnings.push(Warning::TwoChannels);
            Part::SplitCable { to: unbalanced(other) }
        }
        (Plug::Phono, Plug::Phono) => Part::PhonoCable,
        (from, to) if is_jack(from) && is_jack(to) => {
            if level == Level::Instrument {
                Part::InstrumentCable
            } else {
                Part::JackCable { balanced }
            }
        }
        (from, to) if balanced => Part::CableBetween { from: from.connector(), to: to.connector(), balanced },
        (from, to) => Part::CableBetween { from: unbalanced(from), to: unbalanced(to), balanced },
    }
}

/// The connector of a plug on an unbalanced cable.
fn unbalanced(plug: Plug) -> Connector {
    match plug {
        Plug::Jack { .. } => Connector::JackUnbalanced,
        other => other.connector(),
    }
}
