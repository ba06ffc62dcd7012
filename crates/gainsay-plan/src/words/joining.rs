//! Sentences on cables and adapters.

use super::{capital, list, number};
use crate::patch::joining::{Fault, Join, LengthLimit, LengthVerdict, Level, Part, Remedy, Warning};
use gainsay_gear::connection::Standing;

/// A connection that was asked for, and what came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The output, as in "the output of the keyboard".
    pub from: String,
    /// The input, as in "input 3".
    pub to: String,
    /// What came of it.
    pub join: Join,
}

/// A level in words.
#[must_use]
pub const fn level(level: Level) -> &'static str {
    match level {
        Level::Microphone => "microphone input",
        Level::Line => "line input",
        Level::Instrument => "instrument input",
    }
}

/// A part with its article, as in "a microphone cable".
#[must_use]
pub fn part(part: Part) -> String {
    match part {
        Part::MicrophoneCable => "a microphone cable".to_owned(),
        Part::JackCable { balanced: true } => "a balanced jack cable".to_owned(),
        Part::JackCable { balanced: false } => "an unbalanced jack cable".to_owned(),
        Part::InstrumentCable => "an instrument cable".to_owned(),
        Part::CableBetween { from, to, balanced } => {
            let legs = if balanced { "a balanced" } else { "an unbalanced" };
            format!("{legs} cable from {} to {}", plug(from.words()), plug(to.words()))
        }
        Part::SplitCable { to } => format!("a split cable from minijack to two {} plugs", plug(to.words())),
        Part::PhonoCable => "a phono cable".to_owned(),
        Part::MiniJackCable => "a minijack cable".to_owned(),
        Part::D25Cable => "a cable with 25-way D plugs (AES59)".to_owned(),
        Part::BreakoutLoom { to } => {
            format!("a breakout loom from 25-way D (AES59) to {} plugs", plug(to.words()))
        }
        Part::OwnCable => "its own fixed cable".to_owned(),
        Part::DiBox => "a DI box".to_owned(),
        Part::Attenuator { db } => format!("an attenuator of {db} dB"),
        Part::PlugInPowerAdapter => "an adapter from phantom power to plug-in power".to_owned(),
        Part::MicrophonePreamp => "a microphone preamp".to_owned(),
        Part::PhantomSupply => "a phantom power supply".to_owned(),
        Part::DigitalPair => "a 110 Ω digital cable with XLR plugs".to_owned(),
        Part::BncCable => "a 75 Ω coaxial cable with BNC plugs".to_owned(),
        Part::DigitalPhonoCable => "a 75 Ω coaxial cable with phono plugs".to_owned(),
        Part::BncToPhono => "an adapter from BNC to phono".to_owned(),
        Part::DigitalTransformer => "a transformer between 110 Ω and 75 Ω".to_owned(),
        Part::OpticalConverter => "a powered converter between coaxial and optical".to_owned(),
        Part::FormatConverter { from, to } => {
            format!("a powered converter from {} to {}", from.words(), to.words())
        }
        Part::MediaConverter => "a powered converter between coaxial cable and fibre".to_owned(),
        Part::PlasticFibre => "a plastic fibre cable".to_owned(),
        Part::DuplexFibre => "a duplex fibre cable".to_owned(),
        Part::NetworkCable => "a network cable".to_owned(),
        Part::TPieces { count: 1 } => "a BNC T piece".to_owned(),
        Part::TPieces { count } => format!("{count} BNC T pieces"),
        Part::WordClockCables { count: 1 } => "a 75 Ω word clock cable with BNC plugs".to_owned(),
        Part::WordClockCables { count } => format!("{count} 75 Ω word clock cables with BNC plugs"),
        Part::Terminator => "a 75 Ω terminator on the last T piece".to_owned(),
    }
}

/// A connector's name as a plug: balanced and unbalanced are said of the cable.
fn plug(words: &str) -> &str {
    words.strip_prefix("balanced ").or_else(|| words.strip_prefix("unbalanced ")).unwrap_or(words)
}

/// Parts in a row.
#[must_use]
pub fn parts(parts: &[Part]) -> String {
    let words: Vec<String> = parts.iter().map(|one| part(*one)).collect();
    list(&words.iter().map(String::as_str).collect::<Vec<_>>())
}

/// What is wrong, as the end of "it must not be plugged in: …".
#[must_use]
pub fn fault(fault: Fault) -> String {
    match fault {
        Fault::PhantomIntoOutput { current } => format!(
            "phantom power would push up to {} mA into an output that is not made for it",
            number(1e3 * current.amperes(), 0)
        ),
        Fault::PhantomIntoMicrophone => "phantom power may harm this microphone".to_owned(),
        Fault::NoPhantom => "the microphone needs phantom power and gets none".to_owned(),
        Fault::NoPlugInPower => "the microphone needs plug-in power and gets none".to_owned(),
        Fault::TooStrong { by } => {
            format!("the signal is too strong for this input, by some {} dB", number(by.db(), 0))
        }
        Fault::TooWeak { by } => {
            format!("the signal is too weak for this input, by some {} dB", number(by.db(), 0))
        }
        Fault::LoadsPickup => "this input loads the pickup, which sounds dull and weak then".to_owned(),
        Fault::NotAnalogue(connector) => format!("{} carries no analogue audio", connector.words()),
        Fault::NotOnThisConnector(format, connector) => {
            format!("{} does not come on {}", format.words(), connector.words())
        }
        Fault::SamePlugOtherFormat(from, to) => format!(
            "the plugs fit, but one end is set to {} and the other to {}: noise or silence, though nothing breaks",
            from.words(),
            to.words()
        ),
        Fault::OtherFormat(from, to) => {
            format!("{} and {} have nothing in common", from.words(), to.words())
        }
    }
}

/// What would help, as the end of "Instead: …".
#[must_use]
pub fn remedy(remedy: Remedy) -> String {
    match remedy {
        Remedy::Part(one) => format!("put {} between", part(one)),
        Remedy::Input(wanted) => {
            let article = if wanted == Level::Instrument { "an" } else { "a" };
            format!("use {article} {}", level(wanted))
        }
        Remedy::PhantomOff => "switch phantom power off before you plug in".to_owned(),
        Remedy::PhantomOn => "switch phantom power on".to_owned(),
        Remedy::SwitchTo(format) => format!("set both ends to {}", format.words()),
    }
}

/// A warning as a sentence.
#[must_use]
pub fn warning(warning: Warning) -> String {
    match warning {
        Warning::MayHum => {
            "It is unbalanced and may hum: keep the cable short, or put a transformer box or a DI box between.".to_owned()
        }
        Warning::SecondLegOpen => {
            "Only one leg of the balanced output is used: leave the other open unless the maker allows it to be grounded."
                .to_owned()
        }
        Warning::MayClip => "The input may clip: turn the output down.".to_owned(),
        Warning::TwoChannels => {
            "The minijack carries two channels: in one balanced input you would hear their difference.".to_owned()
        }
        Warning::AdapterNeedsPhantom => {
            "Never plug it in without the adapter. The adapter works on phantom power: plug in first, then switch it on."
                .to_owned()
        }
        Warning::InputGivesPlugInPower => "The input must give plug-in power.".to_owned(),
        Warning::PatchWithPhantomOff => "Plug in with phantom power off, then switch it on.".to_owned(),
        Warning::SwitchSender(format) => format!(
            "Set the sending port to {}; the wrong setting gives noise or silence, not damage.",
            format.words()
        ),
        Warning::SwitchReceiver(format) => format!(
            "Set the receiving port to {}; the wrong setting gives noise or silence, not damage.",
            format.words()
        ),
        Warning::ChannelStatus => {
            "Professional and consumer signals are marked differently, and a few receivers refuse the other kind.".to_owned()
        }
        Warning::VoltageDiffers => {
            "One end is made for half the other's voltage: it usually works over a short cable.".to_owned()
        }
        Warning::SameChannelCount => "Set both ends to the same number of channels, 56 or 64.".to_owned(),
        Warning::PlugUnknown => "Whether the plug of the fixed cable fits is not known.".to_owned(),
    }
}

/// What a length comes to; none where it is fine.
#[must_use]
pub fn length(verdict: LengthVerdict) -> Option<String> {
    let source = |limit: LengthLimit| match limit.standing {
        Standing::Published => limit.source.to_owned(),
        Standing::FromMemory if limit.source.contains("no source") => limit.source.to_owned(),
        Standing::FromMemory => format!("{}, from memory", limit.source),
    };
    match verdict {
        LengthVerdict::Fine => None,
        LengthVerdict::Doubtful(limit) => Some(format!(
            "The cable is longer than the usual {} m; up to {} m may work ({}).",
            number(limit.usual.metres(), 0),
            number(limit.longest.metres(), 0),
            source(limit)
        )),
        LengthVerdict::TooLong(limit) => Some(format!(
            "The cable is too long: {} m is the most ({}).",
            number(limit.longest.metres(), 0),
            source(limit)
        )),
    }
}

/// All that is to be said of one connection.
#[must_use]
pub fn sentence(asked: &Asked) -> String {
    let Asked { from, to, join } = asked;
    let or = |remedies: &[Remedy]| {
        let words: Vec<String> = remedies.iter().map(|one| remedy(*one)).collect();
        if words.is_empty() { String::new() } else { format!(" Instead: {}.", words.join(", or ")) }
    };
    let and = |sentence: String, warnings: &[Warning]| {
        warnings.iter().fold(sentence, |text, one| format!("{text} {}", warning(*one)))
    };
    match join {
        Join::Fits { cable, warnings } => and(format!("From {from} to {to}: {}.", part(*cable)), warnings),
        Join::WithAdapter { parts: needed, warnings } => {
            and(format!("From {from} to {to}: {}.", parts(needed)), warnings)
        }
        Join::Wrong { why, remedies } => {
            format!("{} does not belong in {to}: {}.{}", capital(from), fault(*why), or(remedies))
        }
        Join::Damaging { why, remedies } => {
            format!("Never plug {from} into {to}: {}.{}", fault(*why), or(remedies))
        }
    }
}

/// All that is to be said of several connections, what may break something first.
#[must_use]
pub fn sentences(asked: &[Asked]) -> Vec<String> {
    let mut order: Vec<&Asked> = asked.iter().collect();
    order.sort_by_key(|asked| std::cmp::Reverse(asked.join.severity()));
    order.into_iter().map(sentence).collect()
}
