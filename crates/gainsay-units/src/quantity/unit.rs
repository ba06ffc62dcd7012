use crate::math::log10;
use crate::{Dbu, Dbv, Decibels, Volts};

/// What kind of quantity a unit measures. Two quantities compare or convert only within one dimension.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// A gain, a loss or a range, in dB.
    Ratio,
    /// A voltage, whether as a level or in volts.
    Voltage,
    /// A sound pressure level.
    SoundLevel,
    /// A level re digital full scale.
    DigitalLevel,
    /// A microphone's sensitivity.
    Sensitivity,
    /// A resistance or impedance.
    Resistance,
    /// An inductance.
    Inductance,
    /// A capacitance.
    Capacitance,
    /// A capacitance for each metre of cable.
    CapacitancePerLength,
    /// A frequency or bandwidth.
    Frequency,
    /// A length.
    Length,
    /// A time.
    Time,
    /// A temperature.
    Temperature,
    /// A density of noise voltage.
    VoltageNoise,
    /// A density of noise current.
    CurrentNoise,
    /// A current.
    Current,
    /// A sample width.
    Width,
    /// A count of samples.
    Samples,
    /// A noise rating curve.
    NoiseRating,
    /// A share.
    Share,
}

impl Dimension {
    /// In words, with the article.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Ratio => "a gain or range",
            Self::Voltage => "a voltage level",
            Self::SoundLevel => "a sound level",
            Self::DigitalLevel => "a level in the file",
            Self::Sensitivity => "a microphone sensitivity",
            Self::Resistance => "a resistance",
            Self::Inductance => "an inductance",
            Self::Capacitance => "a capacitance",
            Self::CapacitancePerLength => "a capacitance per metre",
            Self::Frequency => "a frequency",
            Self::Length => "a length",
            Self::Time => "a time",
            Self::Temperature => "a temperature",
            Self::VoltageNoise => "a noise voltage density",
            Self::CurrentNoise => "a noise current density",
            Self::Current => "a current",
            Self::Width => "a bit depth",
            Self::Samples => "a number of samples",
            Self::NoiseRating => "a noise rating",
            Self::Share => "a percentage",
        }
    }

    /// An example of how to write one.
    #[must_use]
    pub fn example(self) -> &'static str {
        match self {
            Self::Ratio => "50 dB",
            Self::Voltage => "+12 dBu, -10 dBV or 0.775 V",
            Self::SoundLevel => "94 dB SPL or 28 dBA",
            Self::DigitalLevel => "-12 dBFS",
            Self::Sensitivity => "1.6 mV/Pa or -56 dBV/Pa",
            Self::Resistance => "150 ohm or 2.4 kΩ",
            Self::Inductance => "2 mH",
            Self::Capacitance => "100 pF",
            Self::CapacitancePerLength => "100 pF/m",
            Self::Frequency => "48 kHz",
            Self::Length => "0.6 m or 60 cm",
            Self::Time => "1.2 ms",
            Self::Temperature => "20 °C",
            Self::VoltageNoise => "1.5 nV/√Hz",
            Self::CurrentNoise => "1 pA/√Hz",
            Self::Current => "5 mA",
            Self::Width => "24 bit",
            Self::Samples => "40 samples",
            Self::NoiseRating => "NR 20",
            Self::Share => "5 %",
        }
    }
}

macro_rules! units {
    ($($(#[$doc:meta])* $name:ident = $symbol:literal $dimension:ident [$($alias:literal),*]),+ $(,)?) => {
        /// A unit in which a quantity may be written.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum Unit {
            $($(#[$doc])* $name),+
        }

        impl Unit {
            /// Every unit.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// How the unit is printed.
            #[must_use]
            pub const fn symbol(self) -> &'static str {
                match self { $(Self::$name => $symbol),+ }
            }

            /// What it measures.
            #[must_use]
            pub const fn dimension(self) -> Dimension {
                match self { $(Self::$name => Dimension::$dimension),+ }
            }

            /// Other ways of writing it. Matched with their capitals first, then without.
            pub(crate) const fn aliases(self) -> &'static [&'static str] {
                match self { $(Self::$name => &[$($alias),*]),+ }
            }
        }
    };
}

units! {
    /// dB, a difference of levels.
    Decibel = "dB" Ratio [],
    /// dBu, re √0.6 V.
    Dbu = "dBu" Voltage ["dB u"],
    /// dBV, re 1 V.
    Dbv = "dBV" Voltage ["dB re 1 V", "dB re 1V"],
    /// Volts.
    Volt = "V" Voltage ["volt", "volts"],
    /// Millivolts.
    Millivolt = "mV" Voltage [],
    /// Microvolts.
    Microvolt = "µV" Voltage ["uV"],
    /// dB SPL, re 20 µPa.
    DecibelSpl = "dB SPL" SoundLevel ["dBSPL", "dB re 20 µPa", "dB re 20 uPa", "dB(SPL)"],
    /// dBA: a sound level, or a range, measured A-weighted.
    DecibelA = "dBA" SoundLevel ["dB(A)", "dB A", "dBA SPL", "dB(A) SPL", "dB-A"],
    /// Pascals.
    Pascal = "Pa" SoundLevel ["pascal"],
    /// dBFS, a full-scale sine being 0.
    DecibelFullScale = "dBFS" DigitalLevel ["dB FS"],
    /// Millivolts per pascal.
    MillivoltPerPascal = "mV/Pa" Sensitivity [],
    /// Volts per pascal.
    VoltPerPascal = "V/Pa" Sensitivity [],
    /// Millivolts per microbar; a microbar is a tenth of a pascal.
    MillivoltPerMicrobar = "mV/µbar" Sensitivity ["mV/ubar", "mV/µb"],
    /// dB re 1 V/Pa.
    DecibelVoltPerPascal = "dBV/Pa" Sensitivity
        ["dB re 1 V/Pa", "dB re 1V/Pa", "dBV re 1 Pa", "dBV re 1Pa", "dB V/Pa", "dB (1 V/Pa)"],
    /// dB re √0.6 V for each pascal.
    DecibelUPerPascal = "dBu/Pa" Sensitivity ["dBu re 1 Pa"],
    /// dB re 1 V/µbar, the footing of older sheets.
    DecibelVoltPerMicrobar = "dB re 1 V/µbar" Sensitivity
        ["dB re 1V/µbar", "dB re 1 V/ubar", "dB re 1V/ubar", "dBV/µbar", "dBV/ubar"],
    /// Ohms.
    Ohm = "Ω" Resistance ["ohm", "ohms", "R"],
    /// Kilohms.
    Kilohm = "kΩ" Resistance ["kohm", "kohms", "k ohm", "k ohms", "k Ω", "kilohm", "kilohms"],
    /// Megohms.
    Megohm = "MΩ" Resistance ["Mohm", "Mohms", "megohm", "megohms"],
    /// Henries.
    Henry = "H" Inductance ["henry"],
    /// Millihenries.
    Millihenry = "mH" Inductance [],
    /// Microhenries.
    Microhenry = "µH" Inductance ["uH"],
    /// Microfarads.
    Microfarad = "µF" Capacitance ["uF"],
    /// Nanofarads.
    Nanofarad = "nF" Capacitance [],
    /// Picofarads.
    Picofarad = "pF" Capacitance [],
    /// Picofarads per metre.
    PicofaradPerMetre = "pF/m" CapacitancePerLength [],
    /// Picofarads per foot.
    PicofaradPerFoot = "pF/ft" CapacitancePerLength [],
    /// Hertz.
    Hertz = "Hz" Frequency ["hertz"],
    /// Kilohertz.
    Kilohertz = "kHz" Frequency [],
    /// Megahertz.
    Megahertz = "MHz" Frequency [],
    /// Metres.
    Metre = "m" Length ["metre", "metres", "meter", "meters"],
    /// Centimetres.
    Centimetre = "cm" Length [],
    /// Millimetres.
    Millimetre = "mm" Length [],
    /// Feet.
    Foot = "ft" Length ["foot", "feet"],
    /// Inches.
    Inch = "in" Length ["inch", "inches", "″"],
    /// Seconds.
    Second = "s" Time ["second", "seconds"],
    /// Milliseconds.
    Millisecond = "ms" Time [],
    /// Microseconds.
    Microsecond = "µs" Time ["us"],
    /// Degrees Celsius.
    Celsius = "°C" Temperature ["deg C", "degC", "C"],
    /// Kelvins.
    Kelvin = "K" Temperature ["kelvin"],
    /// Nanovolts per root hertz.
    NanovoltPerRootHertz = "nV/√Hz" VoltageNoise ["nV/rtHz", "nV/sqrt(Hz)", "nV/sqrtHz", "nV/rt Hz"],
    /// Picoamperes per root hertz.
    PicoamperePerRootHertz = "pA/√Hz" CurrentNoise ["pA/rtHz", "pA/sqrt(Hz)", "pA/sqrtHz", "pA/rt Hz"],
    /// Femtoamperes per root hertz.
    FemtoamperePerRootHertz = "fA/√Hz" CurrentNoise ["fA/rtHz", "fA/sqrt(Hz)", "fA/sqrtHz", "fA/rt Hz"],
    /// Amperes.
    Ampere = "A" Current [],
    /// Milliamperes.
    Milliampere = "mA" Current [],
    /// Bits.
    Bit = "bit" Width ["bits"],
    /// Samples.
    Sample = "samples" Samples ["sample"],
    /// Noise rating; the number follows the letters.
    NoiseRating = "NR" NoiseRating [],
    /// Percent.
    Percent = "%" Share ["percent", "per cent"],
}

/// A microbar (a dyne per square centimetre) is 0.1 Pa, so a volt for each of them is ten for each pascal.
const MICROBAR_DB: f64 = 20.0;
const METRES_PER_FOOT: f64 = 0.3048;
const METRES_PER_INCH: f64 = 0.0254;

impl Unit {
    /// `number` of this unit in the base unit of its dimension: dB, dBu, dB SPL, dBFS, dBV/Pa, and SI units for the rest.
    /// Linear voltages, pressures and sensitivities must be positive: NaN otherwise.
    #[must_use]
    pub fn to_base(self, number: f64) -> f64 {
        match self {
            Self::Decibel
            | Self::Dbu
            | Self::DecibelSpl
            | Self::DecibelA
            | Self::DecibelFullScale
            | Self::DecibelVoltPerPascal
            | Self::Ohm
            | Self::Henry
            | Self::Hertz
            | Self::Metre
            | Self::Second
            | Self::Kelvin
            | Self::Ampere
            | Self::Bit
            | Self::Sample
            | Self::NoiseRating => number,
            Self::Dbv => Dbu::from(Dbv::new(number)).dbu(),
            Self::Volt => Dbu::from_volts(Volts::new(number)).dbu(),
            Self::Millivolt => Dbu::from_volts(Volts::new(number / 1e3)).dbu(),
            Self::Microvolt => Dbu::from_volts(Volts::new(number / 1e6)).dbu(),
            Self::Pascal => 20.0 * log10(number / crate::SPL_REFERENCE_PASCALS),
            Self::VoltPerPascal => 20.0 * log10(number),
            Self::MillivoltPerPascal => 20.0 * log10(number / 1e3),
            Self::MillivoltPerMicrobar => 20.0 * log10(number / 1e3) + MICROBAR_DB,
            Self::DecibelVoltPerMicrobar => number + MICROBAR_DB,
            Self::DecibelUPerPascal => Dbv::from(Dbu::new(number)).dbv(),
            Self::Kilohm | Self::Kilohertz => number * 1e3,
            Self::Megohm | Self::Megahertz => number * 1e6,
            Self::Millihenry | Self::Millisecond | Self::Milliampere | Self::Millimetre => number / 1e3,
            Self::Microhenry | Self::Microfarad | Self::Microsecond => number / 1e6,
            Self::Nanofarad | Self::NanovoltPerRootHertz => number / 1e9,
            Self::Picofarad | Self::PicofaradPerMetre | Self::PicoamperePerRootHertz => number / 1e12,
            Self::PicofaradPerFoot => number / 1e12 / METRES_PER_FOOT,
            Self::FemtoamperePerRootHertz => number / 1e15,
            Self::Centimetre | Self::Percent => number / 1e2,
            Self::Foot => number * METRES_PER_FOOT,
            Self::Inch => number * METRES_PER_INCH,
            Self::Celsius => number + 273.15,
        }
    }

    /// Whether equal steps of this unit are equal ratios.
    #[must_use]
    pub const fn is_logarithmic(self) -> bool {
        matches!(
            self,
            Self::Decibel
                | Self::Dbu
                | Self::Dbv
                | Self::DecibelSpl
                | Self::DecibelA
                | Self::DecibelFullScale
                | Self::DecibelVoltPerPascal
                | Self::DecibelUPerPascal
                | Self::DecibelVoltPerMicrobar
        )
    }
}

impl Dimension {
    /// Smallest and largest number in the base unit that can be meant seriously; beyond them the text holds a slip.
    #[must_use]
    pub const fn possible(self) -> (f64, f64) {
        match self {
            Self::Ratio => (-200.0, 250.0),
            Self::Voltage => (-250.0, 80.0),
            Self::SoundLevel => (-60.0, 200.0),
            Self::DigitalLevel => (-250.0, 60.0),
            Self::Sensitivity => (-140.0, 20.0),
            Self::Resistance => (0.0, 1e10),
            Self::Inductance => (0.0, 1e3),
            Self::Capacitance => (0.0, 1.0),
            Self::CapacitancePerLength => (0.0, 1e-8),
            Self::Frequency => (0.0, 1e9),
            Self::Length => (0.0, 1e4),
            Self::Time => (0.0, 1e3),
            Self::Temperature => (173.15, 373.15),
            Self::VoltageNoise => (0.0, 1e-3),
            Self::CurrentNoise => (0.0, 1e-6),
            Self::Current => (0.0, 10.0),
            Self::Width => (8.0, 64.0),
            Self::Samples => (0.0, 1e7),
            Self::NoiseRating => (-50.0, 130.0),
            Self::Share => (0.0, 1.0),
        }
    }

    /// The unit in which [`Self::possible`] and [`Unit::to_base`] count.
    #[must_use]
    pub const fn base_unit(self) -> &'static str {
        match self {
            Self::Ratio => "dB",
            Self::Voltage => "dBu",
            Self::SoundLevel => "dB SPL",
            Self::DigitalLevel => "dBFS",
            Self::Sensitivity => "dBV/Pa",
            Self::Resistance => "Ω",
            Self::Inductance => "H",
            Self::Capacitance => "F",
            Self::CapacitancePerLength => "F/m",
            Self::Frequency => "Hz",
            Self::Length => "m",
            Self::Time => "s",
            Self::Temperature => "K",
            Self::VoltageNoise => "V/√Hz",
            Self::CurrentNoise => "A/√Hz",
            Self::Current => "A",
            Self::Width => "bit",
            Self::Samples => "samples",
            Self::NoiseRating => "NR",
            Self::Share => "of 1",
        }
    }

    /// Whether the base unit of this dimension is logarithmic, so that tolerances become decibels.
    #[must_use]
    pub const fn is_logarithmic(self) -> bool {
        matches!(
            self,
            Self::Ratio | Self::Voltage | Self::SoundLevel | Self::DigitalLevel | Self::Sensitivity
        )
    }

    /// A ratio of amplitudes in decibels; how a percentage on a level is read.
    pub(crate) fn percent_in_db(percent: f64) -> f64 {
        Decibels::from_amplitude_ratio(1.0 + percent / 100.0).db()
    }
}
