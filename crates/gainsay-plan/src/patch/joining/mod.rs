//! Whether two ends can be joined, and with which cable or adapter.

mod analogue;
mod digital;
mod length;
mod phantom;

pub use analogue::{AnalogueInput, AnalogueOutput, Level, join_analogue};
pub use digital::{DigitalEnd, join_digital, word_clock_parts};
pub use length::{CableUse, LengthLimit, LengthVerdict, check_length, length_limit};
pub use phantom::Phantom;

use gainsay_gear::connection::{Connector, DigitalFormat};
use gainsay_units::{Amperes, Decibels};

/// Whether two ends can be joined, the worst last.
#[derive(Debug, Clone, PartialEq)]
pub enum Join {
    /// With an ordinary cable.
    Fits {
        /// The cable.
        cable: Part,
        /// What to see to.
        warnings: Vec<Warning>,
    },
    /// With something between, without which it is wrong.
    WithAdapter {
        /// What is needed, cables included.
        parts: Vec<Part>,
        /// What to see to.
        warnings: Vec<Warning>,
    },
    /// Nothing breaks, but it does not work, or not well.
    Wrong {
        /// Why.
        why: Fault,
        /// What would help, one or another.
        remedies: Vec<Remedy>,
    },
    /// Something may break.
    Damaging {
        /// Why.
        why: Fault,
        /// What would help, one or another.
        remedies: Vec<Remedy>,
    },
}

impl Join {
    /// Whether it can be joined as it is asked for.
    #[must_use]
    pub const fn works(&self) -> bool {
        matches!(self, Self::Fits { .. } | Self::WithAdapter { .. })
    }

    /// How bad it is, from 0 for a plain cable to 3 for damage.
    #[must_use]
    pub const fn severity(&self) -> u8 {
        match self {
            Self::Fits { .. } => 0,
            Self::WithAdapter { .. } => 1,
            Self::Wrong { .. } => 2,
            Self::Damaging { .. } => 3,
        }
    }

    /// What to see to.
    #[must_use]
    pub fn warnings(&self) -> &[Warning] {
        match self {
            Self::Fits { warnings, .. } | Self::WithAdapter { warnings, .. } => warnings,
            Self::Wrong { .. } | Self::Damaging { .. } => &[],
        }
    }
}

/// A cable, an adapter or a box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// A cable with three-pin XLR at both ends.
    MicrophoneCable,
    /// A cable with a jack at both ends.
    JackCable {
        /// With three poles.
        balanced: bool,
    },
    /// A cable with little capacitance and a two-pole jack at both ends, for pickups.
    InstrumentCable,
    /// A cable with different plugs.
    CableBetween {
        /// Plug at the output.
        from: Connector,
        /// Plug at the input.
        to: Connector,
        /// Whether it joins both legs.
        balanced: bool,
    },
    /// A cable from a two-channel minijack to two plugs.
    SplitCable {
        /// The two plugs.
        to: Connector,
    },
    /// A cable with phono plugs for analogue signals.
    PhonoCable,
    /// A cable with a minijack at both ends.
    MiniJackCable,
    /// A cable with a 25-way D at both ends (AES59).
    D25Cable,
    /// A loom from a 25-way D (AES59) to eight plugs.
    BreakoutLoom {
        /// The plugs.
        to: Connector,
    },
    /// The cable that is fixed to the device.
    OwnCable,
    /// A DI box: a transformer or an amplifier from a high-impedance unbalanced signal to a balanced microphone signal.
    DiBox,
    /// An attenuator in the line.
    Attenuator {
        /// Whole decibels that it takes away.
        db: u8,
    },
    /// An adapter that makes plug-in power for a small microphone out of phantom power.
    PlugInPowerAdapter,
    /// A microphone preamp.
    MicrophonePreamp,
    /// A supply for phantom power in the line.
    PhantomSupply,
    /// A cable with one screened pair of 110 Ω and XLR plugs.
    DigitalPair,
    /// A 75 Ω coaxial cable with BNC plugs.
    BncCable,
    /// A 75 Ω coaxial cable with phono plugs.
    DigitalPhonoCable,
    /// An adapter from BNC to phono.
    BncToPhono,
    /// A transformer between 110 Ω balanced and 75 Ω coaxial that fits the voltages too.
    DigitalTransformer,
    /// A powered box between coaxial and optical.
    OpticalConverter,
    /// A powered box between two digital formats.
    FormatConverter {
        /// What goes in.
        from: DigitalFormat,
        /// What comes out.
        to: DigitalFormat,
    },
    /// A powered box between coaxial cable and glass fibre.
    MediaConverter,
    /// A plastic fibre with square plugs.
    PlasticFibre,
    /// A duplex multimode fibre.
    DuplexFibre,
    /// A network cable.
    NetworkCable,
    /// T pieces for BNC.
    TPieces {
        /// How many.
        count: u32,
    },
    /// Cables for word clock, 75 Ω coaxial with BNC plugs.
    WordClockCables {
        /// How many.
        count: u32,
    },
    /// A 75 Ω terminator for BNC.
    Terminator,
}

/// What would help.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Remedy {
    /// Something between.
    Part(Part),
    /// An input for this level.
    Input(Level),
    /// Phantom power off at this input before anything is plugged in.
    PhantomOff,
    /// Phantom power on at this input.
    PhantomOn,
    /// The port switched to this format.
    SwitchTo(DigitalFormat),
}

/// What is wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fault {
    /// Phantom power would flow into an output that is not made for it.
    PhantomIntoOutput {
        /// What would flow.
        current: Amperes,
    },
    /// Phantom power may harm this microphone.
    PhantomIntoMicrophone,
    /// The microphone needs phantom power, and there is none.
    NoPhantom,
    /// The microphone needs plug-in power, which only an input for such microphones gives.
    NoPlugInPower,
    /// The signal is too strong for the input.
    TooStrong {
        /// By how much, roughly.
        by: Decibels,
    },
    /// The signal is too weak for the input.
    TooWeak {
        /// By how much, roughly.
        by: Decibels,
    },
    /// The input's resistance loads the pickup, which sounds dull and weak.
    LoadsPickup,
    /// A connector carries no analogue audio.
    NotAnalogue(Connector),
    /// A connector is not one on which this format is found.
    NotOnThisConnector(DigitalFormat, Connector),
    /// Both use the same plug for different formats: noise or silence, no damage.
    SamePlugOtherFormat(DigitalFormat, DigitalFormat),
    /// The formats have nothing in common.
    OtherFormat(DigitalFormat, DigitalFormat),
}

/// What to see to though it works.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Warning {
    /// An unbalanced connection may hum; keep it short, or separate the grounds by a transformer.
    MayHum,
    /// The output's second leg must not be short-circuited unless its maker allows it.
    SecondLegOpen,
    /// The input may clip; turn the output down.
    MayClip,
    /// The output carries two channels on one plug; a balanced input would take the difference of the two.
    TwoChannels,
    /// The adapter works on phantom power: plug it in first, then switch phantom power on.
    AdapterNeedsPhantom,
    /// The input must give plug-in power.
    InputGivesPlugInPower,
    /// Phantom power comes on at these contacts: patch with it off.
    PatchWithPhantomOff,
    /// The port at the sending end must be switched to this format; the wrong setting gives noise or silence.
    SwitchSender(DigitalFormat),
    /// The port at the receiving end must be switched to this format.
    SwitchReceiver(DigitalFormat),
    /// The receiver may mind the other kind of channel status.
    ChannelStatus,
    /// The voltage is at the edge of what the receiver is made for.
    VoltageDiffers,
    /// Both ends must be set to the same number of channels.
    SameChannelCount,
    /// The fixed cable's plug must fit.
    PlugUnknown,
}
