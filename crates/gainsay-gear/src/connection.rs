//! Connectors, digital formats and clocks: the words that a device file uses for them.

use gainsay_units::{Metres, Ohms};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A connector.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Connector {
    /// Three-pin XLR.
    Xlr,
    /// 6.35 mm jack, three poles, balanced.
    JackBalanced,
    /// 6.35 mm jack, two poles, unbalanced.
    JackUnbalanced,
    /// A socket that takes an XLR or a 6.35 mm jack.
    XlrOrJack,
    /// 3.5 mm jack.
    MiniJack,
    /// Phono.
    Phono,
    /// BNC coaxial.
    Bnc,
    /// Optical, the square plastic fibre connector.
    Optical,
    /// Duplex fibre.
    Fibre,
    /// 25-way D (AES59).
    D25,
    /// Ethernet.
    Ethernet,
    /// USB of any shape.
    Usb,
    /// No connector: inside the device, or a captive cable.
    Captive,
}

/// A digital audio format.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DigitalFormat {
    /// AES3, two channels, 110 Ω balanced or 75 Ω coaxial.
    Aes3,
    /// IEC 60958-3 on coaxial cable, two channels.
    Iec60958Coaxial,
    /// IEC 60958-3 on plastic fibre, two channels.
    Iec60958Optical,
    /// Eight channels at 44.1 and 48 kHz on plastic fibre, halved at each doubling of the rate.
    EightChannelOptical,
    /// AES10, 64 channels at 44.1 and 48 kHz, halved at each doubling of the rate.
    Aes10,
    /// AES10 with room for varispeed, 56 channels at 44.1 and 48 kHz, halved at each doubling of the rate.
    Aes10Varispeed,
    /// AES67 streams on Ethernet.
    Aes67,
}

impl Connector {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Xlr => "XLR",
            Self::JackBalanced => "balanced jack",
            Self::JackUnbalanced => "unbalanced jack",
            Self::XlrOrJack => "XLR or jack",
            Self::MiniJack => "minijack",
            Self::Phono => "phono",
            Self::Bnc => "BNC",
            Self::Optical => "optical",
            Self::Fibre => "duplex fibre",
            Self::D25 => "25-way D",
            Self::Ethernet => "Ethernet",
            Self::Usb => "USB",
            Self::Captive => "no connector",
        }
    }
}

impl DigitalFormat {
    /// Channels that one port of this format carries at a sample rate in hertz; none where the format does not go that high.
    ///
    /// Sources: AES3, IEC 60958 (two channels, though not every optical receiver follows to 192 kHz); eight-channel optical by
    /// sample multiplexing; AES10-2008, 64 channels or 56 with room for ±12.5 % varispeed, halved at each doubling of the rate
    /// (14 and 16 from memory); AES67-2013 with 1 ms packets that fit an Ethernet frame of 1 500 bytes (for 176.4 and 192 kHz by
    /// the same arithmetic: nothing published gives these).
    #[must_use]
    pub fn channels_at(self, sample_rate_hz: f64) -> u32 {
        let doublings = if sample_rate_hz <= 50_000.0 {
            0
        } else if sample_rate_hz <= 100_000.0 {
            1
        } else if sample_rate_hz <= 200_000.0 {
            2
        } else {
            return 0;
        };
        match self {
            Self::Aes3 | Self::Iec60958Coaxial | Self::Iec60958Optical => 2,
            Self::EightChannelOptical => 8 >> doublings,
            Self::Aes10 => 64 >> doublings,
            Self::Aes10Varispeed => 56 >> doublings,
            Self::Aes67 => 8 >> doublings,
        }
    }

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Aes3 => "AES3",
            Self::Iec60958Coaxial => "IEC 60958 coaxial",
            Self::Iec60958Optical => "IEC 60958 optical",
            Self::EightChannelOptical => "eight-channel optical",
            Self::Aes10 => "AES10",
            Self::Aes10Varispeed => "AES10 with 56 channels",
            Self::Aes67 => "AES67",
        }
    }

    /// The clock sources of a device that take the clock out of a signal of this format, the usual one first.
    ///
    /// An AES3 input takes an audio signal or an AES11 reference, which is AES3 too. AES67 carries its clock on the network
    /// beside the audio (IEEE 1588).
    #[must_use]
    pub const fn clock_sources(self) -> &'static [ClockSource] {
        match self {
            Self::Aes3 => &[ClockSource::Aes3, ClockSource::Aes11],
            Self::Iec60958Coaxial => &[ClockSource::Iec60958Coaxial],
            Self::Iec60958Optical => &[ClockSource::Iec60958Optical],
            Self::EightChannelOptical => &[ClockSource::EightChannelOptical],
            Self::Aes10 | Self::Aes10Varispeed => &[ClockSource::Aes10],
            Self::Aes67 => &[ClockSource::Aes67],
        }
    }
}

/// What a digital signal travels on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Medium {
    /// A screened twisted pair.
    TwistedPair,
    /// Coaxial cable.
    Coaxial,
    /// Plastic fibre, red light of 660 nm.
    PlasticFibre,
    /// Multimode glass fibre.
    MultimodeFibre,
    /// Network cable with twisted pairs.
    NetworkCable,
}

/// How sure a fact of a standard is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Standing {
    /// Checked against a published table or page that gives the standard's figure.
    Published,
    /// From memory, not checked.
    FromMemory,
}

/// A signal voltage from peak to peak, in volts: from the least to the most that a sender gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PeakToPeak {
    /// The least, in volts.
    pub least: f64,
    /// The most, in volts.
    pub most: f64,
}

/// One way in which a format travels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Carriage {
    /// What it travels on.
    pub medium: Medium,
    /// The connectors that it is found on, the usual one first.
    pub connectors: &'static [Connector],
    /// Impedance of the cable and of both ends; none on fibre and on the network.
    pub impedance: Option<Ohms>,
    /// What the sender gives; none on fibre and where it does not matter for joining.
    pub signal: Option<PeakToPeak>,
    /// Length up to which it usually works.
    pub usual_length: Metres,
    /// The longest that works with good ends and a good cable.
    pub longest: Metres,
    /// The standard.
    pub standard: &'static str,
    /// How sure the length is; impedances and voltages are published.
    pub length_standing: Standing,
}

const fn volts(least: f64, most: f64) -> Option<PeakToPeak> {
    Some(PeakToPeak { least, most })
}

/// AES3 on a pair and on coaxial cable. At 192 kHz the 100 m of the pair become shorter.
const AES3: [Carriage; 2] = [
    Carriage {
        medium: Medium::TwistedPair,
        connectors: &[Connector::Xlr, Connector::D25],
        impedance: Some(Ohms::new(110.0)),
        signal: volts(2.0, 7.0),
        usual_length: Metres::new(100.0),
        longest: Metres::new(100.0),
        standard: "AES3, IEC 60958-4",
        length_standing: Standing::Published,
    },
    Carriage {
        medium: Medium::Coaxial,
        connectors: &[Connector::Bnc],
        impedance: Some(Ohms::new(75.0)),
        signal: volts(1.0, 1.0),
        usual_length: Metres::new(1_000.0),
        longest: Metres::new(1_000.0),
        standard: "AES3-4, AES-3id",
        length_standing: Standing::Published,
    },
];

const IEC60958_COAXIAL: [Carriage; 1] = [Carriage {
    medium: Medium::Coaxial,
    connectors: &[Connector::Phono, Connector::Bnc],
    impedance: Some(Ohms::new(75.0)),
    signal: volts(0.5, 0.5),
    usual_length: Metres::new(10.0),
    longest: Metres::new(10.0),
    standard: "IEC 60958-3",
    length_standing: Standing::FromMemory,
}];

const PLASTIC_FIBRE: [Carriage; 1] = [Carriage {
    medium: Medium::PlasticFibre,
    connectors: &[Connector::Optical],
    impedance: None,
    signal: None,
    usual_length: Metres::new(5.0),
    longest: Metres::new(10.0),
    standard: "IEC 60958-3 and IEC 61607; no standard for the eight channels",
    length_standing: Standing::FromMemory,
}];

const AES10: [Carriage; 2] = [
    Carriage {
        medium: Medium::Coaxial,
        connectors: &[Connector::Bnc],
        impedance: Some(Ohms::new(75.0)),
        signal: None,
        usual_length: Metres::new(50.0),
        longest: Metres::new(50.0),
        standard: "AES10",
        length_standing: Standing::FromMemory,
    },
    Carriage {
        medium: Medium::MultimodeFibre,
        connectors: &[Connector::Fibre],
        impedance: None,
        signal: None,
        usual_length: Metres::new(2_000.0),
        longest: Metres::new(2_000.0),
        standard: "AES10",
        length_standing: Standing::Published,
    },
];

const AES67: [Carriage; 1] = [Carriage {
    medium: Medium::NetworkCable,
    connectors: &[Connector::Ethernet],
    impedance: None,
    signal: None,
    usual_length: Metres::new(100.0),
    longest: Metres::new(100.0),
    standard: "AES67 on Ethernet; between two ports",
    length_standing: Standing::FromMemory,
}];

/// Word clock. Its length is a choice within practice: well over the studio's size, and short of what blurs its edges.
pub const WORD_CLOCK: Carriage = Carriage {
    medium: Medium::Coaxial,
    connectors: &[Connector::Bnc],
    impedance: Some(Ohms::new(75.0)),
    signal: None,
    usual_length: Metres::new(30.0),
    longest: Metres::new(100.0),
    standard: "practice with AES11",
    length_standing: Standing::FromMemory,
};

impl DigitalFormat {
    /// The ways in which the format travels, the usual one first.
    #[must_use]
    pub const fn carriages(self) -> &'static [Carriage] {
        match self {
            Self::Aes3 => &AES3,
            Self::Iec60958Coaxial => &IEC60958_COAXIAL,
            Self::Iec60958Optical | Self::EightChannelOptical => &PLASTIC_FIBRE,
            Self::Aes10 | Self::Aes10Varispeed => &AES10,
            Self::Aes67 => &AES67,
        }
    }

    /// How the format travels from a connector; none where it is not found on it.
    #[must_use]
    pub fn carriage_on(self, connector: Connector) -> Option<&'static Carriage> {
        self.carriages().iter().find(|carriage| carriage.connectors.contains(&connector))
    }
}

/// Where a device can take its clock from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ClockSource {
    /// Its own.
    Internal,
    /// Word clock on a BNC.
    WordClock,
    /// AES11 reference on an AES3 input.
    Aes11,
    /// Embedded in an AES3 input.
    Aes3,
    /// Embedded in a coaxial IEC 60958 input.
    Iec60958Coaxial,
    /// Embedded in an optical IEC 60958 input.
    Iec60958Optical,
    /// Embedded in an eight-channel optical input.
    EightChannelOptical,
    /// Embedded in an AES10 input.
    Aes10,
    /// From the network (AES67).
    Aes67,
}

/// How a device reaches the computer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ComputerLink {
    /// USB.
    Usb,
    /// PCI Express inside, or over a cable.
    PciExpress,
    /// Ethernet.
    Ethernet,
    /// It records by itself.
    Recorder,
}
