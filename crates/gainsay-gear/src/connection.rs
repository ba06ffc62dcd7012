//! Connectors, digital formats and clocks: the words that a device file uses for them.

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
    /// AES67 streams on Ethernet.
    Aes67,
}

impl DigitalFormat {
    /// Channels that one port of this format carries at a sample rate in hertz; none where the format does not go that high.
    ///
    /// Sources: AES3, IEC 60958 (two channels); eight-channel optical and AES10-2008 by sample multiplexing; AES67-2013 with
    /// 1 ms packets that fit an Ethernet frame.
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
            Self::Aes67 => "AES67",
        }
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
