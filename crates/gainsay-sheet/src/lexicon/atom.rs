//! The units of meaning of which labels are made: "Maximaler Eingangspegel" is maximum, input and level, in any language.

macro_rules! atoms {
    ($($name:ident),+ $(,)?) => {
        /// One unit of meaning.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub(crate) enum Atom { $($name),+ }
    };
}

atoms! {
    // What is measured.
    Ein, SelfNoise, Noise, Equivalent, Density, Gain, Range, Dynamic, SignalToNoise, Level, Impedance, Resistance, Sensitivity,
    Spl, Pad, Phantom, Current, Voltage, Distortion, Response, SampleRate, BitDepth, Latency, Crosstalk, CommonMode, Physical,
    Supply, Step, Accuracy, FullScale, Headroom, Load, Nominal, Directivity, Inductance, CountOf, Channels, ConnectorOf,
    PatternOf, TransducerOf, ClockOf, Consumption, Frequency, RoundTrip, Stage, Jitter, Filter, Price,
    // How it is meant.
    Maximum, Minimum, Typical, With, Without, Each, Total, Optional, Fixed, UnitHead, ConditionHead, ValueHead, LabelHead,
    // Where on the device.
    Microphone, Line, Instrument, Input, Output, Headphones, Monitor, Digital, Analogue, Insert, Send, Return, Adc, Dac, Preamp,
    Computer, Network, Converter,
    // Conditions.
    WeightA, WeightC, Flat, Itu468, CcirRms, Shorted, At, Source, PowerOn,
    // Connectors and shapes of connection.
    Xlr, Jack, JackBalanced, JackUnbalanced, Combo, MiniJack, Phono, Bnc, D25, Usb, Ethernet, PciExpress, Recorder, Fibre,
    Balanced, Unbalanced, Captive,
    // Digital formats and clocks.
    Aes3, Iec60958, Coaxial, Optical, EightChannel, TwoChannel, Aes10, Aes67, Aes11, WordClock, Internal, RateConverter,
    // Microphones.
    Omnidirectional, Subcardioid, Cardioid, Supercardioid, Hypercardioid, FigureOfEight, MovingCoil, Ribbon, ActiveRibbon,
    Condenser, ValveCondenser, Pickup, Active, Valve, Fet, Bipolar, Transformer, Capsule,
    // Answers.
    Required, NotRequired, Harmful, Passes, Yes, No, LevelControl, Separately, Together,
    // Kinds of devices.
    KindMicrophone, KindInterface, KindPreamp, KindConverter, KindBooster,
    // Headings that say nothing about where on the device.
    Neutral, General,
    // What switches and knobs do.
    Switched, Control, All, Combined, Location, And, Grouped,
}

/// A set of atoms.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Atoms([u64; 3]);

impl Atoms {
    /// Nothing.
    pub(crate) const NONE: Self = Self([0; 3]);

    /// The set of these.
    pub(crate) const fn of(atoms: &[Atom]) -> Self {
        let mut words = [0_u64; 3];
        let mut rest = atoms;
        while let [first, tail @ ..] = rest {
            let bit = *first as usize;
            let flag = 1_u64 << (bit % 64);
            match bit / 64 {
                0 => words[0] |= flag,
                1 => words[1] |= flag,
                _ => words[2] |= flag,
            }
            rest = tail;
        }
        Self(words)
    }

    /// Both sets together.
    pub(crate) const fn and(self, other: Self) -> Self {
        let ([a, b, c], [d, e, f]) = (self.0, other.0);
        Self([a | d, b | e, c | f])
    }

    /// What is in both.
    pub(crate) const fn both(self, other: Self) -> Self {
        let ([a, b, c], [d, e, f]) = (self.0, other.0);
        Self([a & d, b & e, c & f])
    }

    /// This set without the other.
    pub(crate) const fn without(self, other: Self) -> Self {
        let ([a, b, c], [d, e, f]) = (self.0, other.0);
        Self([a & !d, b & !e, c & !f])
    }

    /// Whether it holds this one.
    pub(crate) const fn has(self, atom: Atom) -> bool {
        self.any(Self::of(&[atom]))
    }

    /// Whether it holds any of the other set.
    pub(crate) const fn any(self, other: Self) -> bool {
        !self.both(other).is_empty()
    }

    /// Whether it holds all of the other set.
    pub(crate) const fn all(self, other: Self) -> bool {
        other.without(self).is_empty()
    }

    /// Whether it is empty.
    pub(crate) const fn is_empty(self) -> bool {
        let [a, b, c] = self.0;
        a == 0 && b == 0 && c == 0
    }

    /// Adds one.
    pub(crate) const fn add(&mut self, other: Self) {
        *self = self.and(other);
    }
}

use Atom as A;

/// What can stand alone as the thing that a figure measures.
pub(crate) const QUANTITIES: Atoms = Atoms::of(&[
    A::Ein,
    A::SelfNoise,
    A::Noise,
    A::Gain,
    A::Dynamic,
    A::SignalToNoise,
    A::Level,
    A::Impedance,
    A::Sensitivity,
    A::Spl,
    A::Pad,
    A::Current,
    A::Voltage,
    A::Distortion,
    A::Response,
    A::SampleRate,
    A::BitDepth,
    A::Latency,
    A::Crosstalk,
    A::CommonMode,
    A::Physical,
    A::Supply,
    A::FullScale,
    A::Headroom,
    A::Directivity,
    A::Inductance,
    A::ConnectorOf,
    A::PatternOf,
    A::TransducerOf,
    A::ClockOf,
    A::Consumption,
    A::Jitter,
    A::Filter,
    A::Frequency,
    A::Density,
    A::Price,
    A::Load,
    A::Stage,
    A::CountOf,
]);

/// The channel that a figure belongs to.
pub(crate) const CHANNELS: Atoms = Atoms::of(&[
    A::Microphone,
    A::Line,
    A::Instrument,
    A::Headphones,
    A::Monitor,
    A::Digital,
    A::Insert,
    A::Send,
    A::Return,
    A::Adc,
    A::Dac,
    A::Computer,
    A::Phantom,
    A::Aes3,
    A::Iec60958,
    A::Coaxial,
    A::Optical,
    A::Aes10,
    A::Aes67,
    A::WordClock,
    A::Preamp,
]);

/// The side that a figure belongs to.
pub(crate) const SIDES: Atoms = Atoms::of(&[A::Input, A::Output]);

/// Where on the device: channel and side.
pub(crate) const PLACES: Atoms = CHANNELS.and(SIDES);

/// Digital formats.
pub(crate) const FORMATS: Atoms =
    Atoms::of(&[A::Aes3, A::Iec60958, A::Coaxial, A::Optical, A::Aes10, A::Aes67]);

/// Connectors of analogue inputs and outputs.
pub(crate) const CONNECTORS: Atoms = Atoms::of(&[
    A::Xlr,
    A::Jack,
    A::JackBalanced,
    A::JackUnbalanced,
    A::Combo,
    A::MiniJack,
    A::Phono,
    A::D25,
    A::Captive,
]);

/// Directional patterns.
pub(crate) const PATTERNS: Atoms = Atoms::of(&[
    A::Omnidirectional,
    A::Subcardioid,
    A::Cardioid,
    A::Supercardioid,
    A::Hypercardioid,
    A::FigureOfEight,
]);

/// How a microphone works.
pub(crate) const TRANSDUCERS: Atoms =
    Atoms::of(&[A::MovingCoil, A::Ribbon, A::ActiveRibbon, A::Condenser, A::ValveCondenser, A::Pickup]);

/// Kinds of devices.
pub(crate) const KINDS: Atoms =
    Atoms::of(&[A::KindMicrophone, A::KindInterface, A::KindPreamp, A::KindConverter, A::KindBooster]);
