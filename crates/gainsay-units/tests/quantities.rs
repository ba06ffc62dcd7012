//! Quantities as text: whatever can be built prints to text that reads back, and no text makes the reader panic.
//!
//! There is no published grammar for figures on specification sheets; the table below holds the ways of writing that are
//! common practice (no source), with decimal signs and grouping as ISO 80000-1:2022, 7.3, allows them (comma or point, spaces
//! between groups of three).

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    reason = "tests"
)]
#![allow(
    clippy::disallowed_methods,
    reason = "numbers of every magnitude are wanted, not the same ones everywhere"
)]

use gainsay_units::{Conditions, Coverage, Dimension, Hertz, Ohms, Quantity, Tolerance, Unit, Weighting};
use proptest::prelude::*;
use proptest::sample::select;

const WEIGHTINGS: [Weighting; 5] =
    [Weighting::Flat, Weighting::A, Weighting::C, Weighting::Itu468QuasiPeak, Weighting::Itu468Rms];

fn cases(cases: u32) -> ProptestConfig {
    ProptestConfig { cases, failure_persistence: None, ..ProptestConfig::default() }
}

/// Numbers as people write them and numbers that nobody writes.
fn positive() -> impl Strategy<Value = f64> {
    use proptest::num::f64::{NORMAL, POSITIVE, SUBNORMAL, ZERO};
    prop_oneof![
        4 => (0..100_000_u32, 0..6_u32).prop_map(|(digits, places)| f64::from(digits) / f64::from(10_u32.pow(places))),
        2 => (1.0..10.0_f64, -20..20_i32).prop_map(|(mantissa, exponent)| mantissa * 10_f64.powi(exponent)),
        1 => POSITIVE | NORMAL | SUBNORMAL | ZERO,
    ]
}

fn number() -> impl Strategy<Value = f64> {
    (positive(), any::<bool>()).prop_map(|(size, negative)| if negative { -size } else { size })
}

fn conditions() -> impl Strategy<Value = Conditions> {
    let band = (positive(), positive()).prop_map(|(one, other)| {
        let low = one.min(other);
        (Hertz::new(low), Hertz::new(one.max(other).max(low.next_up())))
    });
    (
        proptest::option::of(select(WEIGHTINGS.to_vec())),
        proptest::option::of(positive().prop_map(Ohms::new)),
        proptest::option::of(band),
    )
        .prop_map(|(weighting, source_impedance, band)| Conditions { weighting, source_impedance, band })
}

/// Units that a tolerance on a figure in `unit` may have.
fn tolerance_units(unit: Unit) -> Vec<Unit> {
    let mut units: Vec<Unit> = Unit::ALL
        .iter()
        .copied()
        .filter(|other| other.dimension() == unit.dimension() && !other.is_logarithmic())
        .collect();
    if unit.dimension().is_logarithmic() {
        units.push(Unit::Decibel);
    }
    if !units.contains(&Unit::Percent) {
        units.push(Unit::Percent);
    }
    units
}

fn coverage() -> impl Strategy<Value = Coverage> {
    prop_oneof![
        positive().prop_map(|k| Coverage::Factor(k.max(f64::MIN_POSITIVE))),
        (1..1000_u32).prop_map(|permille| Coverage::Probability(f64::from(permille) / 1000.0)),
        (1..100_000_u32).prop_map(|ppm| Coverage::Probability(f64::from(ppm) / 100_000.0)),
        (1e-6..1.0_f64).prop_map(Coverage::Probability),
    ]
}

fn tolerance(unit: Unit) -> impl Strategy<Value = Tolerance> {
    (positive(), positive(), any::<bool>(), select(tolerance_units(unit)), proptest::option::of(coverage()))
        .prop_map(|(above, other, symmetric, unit, coverage)| Tolerance {
            below: if symmetric { above } else { other },
            above,
            unit,
            coverage,
        })
}

fn quantity() -> impl Strategy<Value = Quantity> {
    select(Unit::ALL.to_vec()).prop_flat_map(|unit| {
        (number(), conditions(), proptest::option::of(tolerance(unit)))
            .prop_map(move |(number, conditions, tolerance)| Quantity { number, unit, conditions, tolerance })
    })
}

/// Whether a text can be read; and what is wrong with the way in which it is read or refused, if anything is.
fn read_or_refused(text: &str) -> Result<bool, String> {
    match text.parse::<Quantity>() {
        Err(error) => {
            let silent = error.message().trim().is_empty() || error.mend().trim().is_empty();
            if silent { Err(format!("{text:?} is refused without a word: {error:?}")) } else { Ok(false) }
        }
        Ok(read) => {
            let printed = read.to_string();
            match printed.parse::<Quantity>() {
                Err(error) => Err(format!("{text:?} prints as {printed:?}, which is refused: {error}")),
                Ok(again) if again != read => {
                    Err(format!("{text:?} prints as {printed:?}, which reads as {again:?}, not {read:?}"))
                }
                Ok(again) if again.to_string() != printed => {
                    Err(format!("{text:?} prints as {printed:?} and then as {:?}", again.to_string()))
                }
                Ok(_) => Ok(true),
            }
        }
    }
}

proptest! {
    #![proptest_config(cases(4000))]

    #[test]
    fn what_is_built_prints_and_reads_back(built in quantity()) {
        let printed = built.to_string();
        let read: Quantity = match printed.parse() {
            Ok(read) => read,
            Err(error) => return Err(TestCaseError::fail(format!("{built:?} prints as {printed:?}: {error}"))),
        };
        prop_assert_eq!(read, built, "printed as {:?}", printed);
        prop_assert_eq!(read.to_string(), printed);
    }

    /// Hyphen, real minus or dash; spaces of any kind or none.
    #[test]
    fn spelling_does_not_matter(
        built in quantity(),
        minus in select(vec!["-", "−", "–", "—", "‑", "‒"]),
        space in select(vec!["", " ", "  ", "\u{a0}", "\u{202f}", "\u{2009}", "\t"]),
        plus_minus in select(vec!["±", "+/-", "+-", "+/−"]),
    ) {
        let printed = built.to_string();
        // The words of a band keep their spaces, and a noise rating the one that tells its minus from a hyphen ("NR-20").
        let mut text = printed.replace('−', minus).replace('±', plus_minus);
        for (tight, loose) in [
            (format!(" {}", built.unit.symbol()), format!("{space}{}", built.unit.symbol())),
            (" (".to_owned(), format!("{space}(")),
            (", ".to_owned(), format!(",{space}")),
            (" Ω".to_owned(), format!("{space}Ω")),
            (format!(" {plus_minus} "), format!("{space}{plus_minus}{space}")),
        ] {
            // "28 dB (A…" and "28 dB(A)" are two things only when the bracket holds nothing but the letter, which is never printed.
            text = text.replace(&tight, &loose);
        }
        let read: Quantity = match text.parse() {
            Ok(read) => read,
            Err(error) => return Err(TestCaseError::fail(format!("{text:?}, for {printed:?}: {error}"))),
        };
        prop_assert_eq!(read, built, "written as {:?}, for {:?}", text, printed);
    }

    /// Decimal comma and decimal point are one thing (ISO 80000-1), but for "1,000", which is refused with both readings.
    #[test]
    fn comma_or_point(
        whole in 0..100_000_u32,
        places in 0..7_usize,
        decimals in 0..1_000_000_u32,
        negative in any::<bool>(),
        unit in select(Unit::ALL.to_vec()),
    ) {
        let decimals = &format!("{decimals:06}")[..places];
        let sign = if negative { "−" } else { "" };
        let written = |mark: &str| {
            let mark = if places == 0 { "" } else { mark };
            let number = format!("{sign}{whole}{mark}{decimals}");
            if unit == Unit::NoiseRating { format!("NR {number}") } else { format!("{number} {}", unit.symbol()) }
        };
        let point: Quantity = written(".").parse().unwrap();
        let comma = written(",").parse::<Quantity>();
        if places == 3 && whole > 0 && whole < 1000 {
            let error = match comma {
                Ok(read) => return Err(TestCaseError::fail(format!("{:?} is read as {read}", written(",")))),
                Err(error) => error,
            };
            prop_assert!(error.message().contains("thousand"), "{:?}: {}", written(","), error);
        } else {
            prop_assert_eq!(comma.unwrap(), point, "{:?}", written(","));
        }
    }

    #[test]
    fn any_text_is_read_or_refused_with_words(text in any::<String>()) {
        prop_assert_eq!(read_or_refused(&text).err(), None);
    }

    #[test]
    fn any_text_of_our_letters_is_read_or_refused_with_words(
        text in "[-+−±0-9.,;eE()/ ]{0,12}[a-zA-Z0-9µμΩ√°% ().,;=/±+−-]{0,40}"
    ) {
        prop_assert_eq!(read_or_refused(&text).err(), None);
    }
}

/// Figures as they stand on specification sheets, and how they print.
const SHEETS: &[(&str, &str)] = &[
    // Sensitivity.
    ("-54 dBV/Pa", "−54 dBV/Pa"),
    ("−54,5 dBV/Pa (1,9 mV)", "error"),
    ("1.9mV/Pa", "1.9 mV/Pa"),
    ("2,0 mV/Pa", "2 mV/Pa"),
    ("20 mV/Pa ± 1 dB", "20 mV/Pa ± 1 dB"),
    ("20 mV/Pa +/- 1.5dB", "20 mV/Pa ± 1.5 dB"),
    ("8 mV / Pa", "error"),
    ("-37 dB re 1 V/Pa", "−37 dBV/Pa"),
    ("-37dB re 1V/Pa", "−37 dBV/Pa"),
    ("-37 dBV re 1 Pa", "−37 dBV/Pa"),
    ("−76 dBV/µbar", "−76 dB re 1 V/µbar"),
    ("0,15 mV/µbar", "0.15 mV/µbar"),
    ("22,4 mV/Pa ±2 dB", "22.4 mV/Pa ± 2 dB"),
    // Noise.
    ("-128 dBu, A-weighted, 150 Ω", "−128 dBu (A-weighted, 150 Ω)"),
    ("−129.5 dBu A-wtd (150 Ohm source)", "−129.5 dBu (A-weighted, 150 Ω)"),
    ("-127 dBu (150 ohms, 20 Hz - 20 kHz, unweighted)", "−127 dBu (unweighted, 150 Ω, 20 Hz to 20 kHz)"),
    ("-126,5 dBu (22 Hz–22 kHz; Rs=200 Ω)", "−126.5 dBu (200 Ω, 22 Hz to 22 kHz)"),
    ("-128 dBu (A) at 150 ohm", "−128 dBu (A-weighted, 150 Ω)"),
    ("-119 dBu ITU-R 468", "−119 dBu (ITU-R 468)"),
    ("−117 dBu (CCIR 468)", "−117 dBu (ITU-R 468)"),
    ("-97 dBFS (CCIR-RMS)", "−97 dBFS (CCIR-RMS)"),
    ("13 dB-A", "13 dBA"),
    ("13dB(A)", "13 dBA"),
    ("13 dB(A) SPL", "13 dBA"),
    ("7 dBA SPL", "7 dBA"),
    ("24 dB (ITU-R BS.468-4)", "24 dB (ITU-R 468)"),
    ("20 dB SPL (A-weighted)", "20 dB SPL (A-weighted)"),
    ("110 dB A-weighted", "110 dB (A-weighted)"),
    ("118dB A-weighted, 20 Hz–20 kHz", "118 dB (A-weighted, 20 Hz to 20 kHz)"),
    ("114 dB (A-weighted)", "114 dB (A-weighted)"),
    ("110 dB unweighted", "110 dB (unweighted)"),
    ("1,1 nV/√Hz", "1.1 nV/√Hz"),
    ("0.9 nV/sqrt(Hz)", "0.9 nV/√Hz"),
    ("2 pA/√Hz", "2 pA/√Hz"),
    ("400 fA/rtHz", "400 fA/√Hz"),
    // Levels.
    ("+24dBu", "24 dBu"),
    ("+ 24 dBu", "24 dBu"),
    ("+24 dBU", "24 dBu"),
    ("−10 dBV", "−10 dBV"),
    ("-10dBv", "−10 dBV"),
    ("+4 dBu ± 0,5 dB", "4 dBu ± 0.5 dB"),
    ("1,228 V", "error"),
    ("1.228 V", "1.228 V"),
    ("0,775 Volt", "0.775 V"),
    (".775 V", "0.775 V"),
    (",775 V", "0.775 V"),
    ("775 mV", "775 mV"),
    ("12 µV", "12 µV"),
    ("12 μV", "12 µV"),
    ("12uV", "12 µV"),
    ("0 dBFS", "0 dBFS"),
    ("-18 dB FS", "−18 dBFS"),
    ("140 dB SPL", "140 dB SPL"),
    ("140dBSPL", "140 dB SPL"),
    ("134 dB (SPL)", "error"),
    ("134 dB(SPL)", "134 dB SPL"),
    ("1 Pa", "1 Pa"),
    // Gains and their tolerances.
    ("60 dB", "60 dB"),
    ("60dB ±0.5dB", "60 dB ± 0.5 dB"),
    ("60 dB ± 1 dB (k = 2)", "60 dB ± 1 dB (k=2)"),
    ("60 dB ± 1 dB (k=2,0)", "60 dB ± 1 dB (k=2)"),
    ("60 dB ± 1 dB (7 %)", "60 dB ± 1 dB (7 %)"),
    ("60 dB ± 1 dB (99.7 %)", "60 dB ± 1 dB (99.7 %)"),
    ("60 dB ± 1 dB (68,27%)", "60 dB ± 1 dB (68.27 %)"),
    ("60 dB +2/−0 dB", "60 dB +2/−0 dB"),
    ("60 dB +0,5/-1,5 dB", "60 dB +0.5/−1.5 dB"),
    // Impedances, inductances, capacitances.
    ("150 Ohm", "150 Ω"),
    ("150 \u{2126}", "150 Ω"),
    ("150Ω ± 30 %", "150 Ω ± 30 %"),
    ("2,4 kΩ", "2.4 kΩ"),
    ("2.4 kOhm", "2.4 kΩ"),
    ("1,5 kΩ ±10%", "1.5 kΩ ± 10 %"),
    ("10 000 Ω", "10000 Ω"),
    ("10\u{202f}000 Ω", "10000 Ω"),
    ("1 234 567 Ω", "1234567 Ω"),
    ("10,000 Ω", "error"),
    ("1 MOhm", "1 MΩ"),
    ("2.2 MΩ ± 50 kΩ", "2.2 MΩ ± 50 kΩ"),
    ("4 H", "4 H"),
    ("1,2 mH", "1.2 mH"),
    ("220 pF", "220 pF"),
    ("100 pF/m", "100 pF/m"),
    ("30 pF/ft", "30 pF/ft"),
    ("0,1 µF", "0.1 µF"),
    // Frequencies, lengths, times, temperatures and the rest.
    ("44,1 kHz", "44.1 kHz"),
    ("44.1kHz", "44.1 kHz"),
    ("192 KHZ", "192 kHz"),
    ("12.288 MHz", "12.288 MHz"),
    ("30 cm", "30 cm"),
    ("0,3 m ± 5 cm", "0.3 m ± 5 cm"),
    ("6 ft", "6 ft"),
    ("1 inch", "1 in"),
    ("1,5 ms", "1.5 ms"),
    ("250 us", "250 µs"),
    ("22 °C ± 2 °C", "22 °C ± 2 °C"),
    ("293.15 K", "293.15 K"),
    ("7 mA", "7 mA"),
    ("24-bit", "error"),
    ("24 bits", "24 bit"),
    ("40 samples", "40 samples"),
    ("NR 15 ± 5", "NR 15 ± 5"),
    ("NR 15 ± 5 NR", "NR 15 ± 5"),
    ("NR 15 ± 20 %", "NR 15 ± 20 %"),
    ("NR -5", "NR −5"),
    ("NR-20", "error"),
    ("0,05 %", "0.05 %"),
    ("5 per cent", "5 %"),
];

#[test]
fn figures_as_sheets_write_them() {
    assert!(SHEETS.len() >= 60, "{} figures", SHEETS.len());
    let mut wrong = Vec::new();
    for &(text, want) in SHEETS {
        let got = match text.parse::<Quantity>() {
            Ok(quantity) => quantity.to_string(),
            Err(error) if want == "error" => {
                assert!(!error.message().is_empty() && !error.mend().is_empty(), "{text:?}: {error:?}");
                continue;
            }
            Err(error) => format!("error: {error}"),
        };
        if got != want {
            wrong.push(format!("{text:?} reads as {got:?}, want {want:?}"));
        }
        wrong.extend(read_or_refused(text).err());
    }
    assert!(wrong.is_empty(), "{} of {} figures:\n{}", wrong.len(), SHEETS.len(), wrong.join("\n"));
}

/// Refusals name the text or the trouble, and say what to write.
#[test]
fn refusals_say_what_to_write() {
    for (text, message, mend) in [
        ("1,228 V", "thousand", "1.228"),
        ("10,000 Ω", "thousand", "10000"),
        ("NR-20", "NR-20", "NR 20"),
        ("12 dBm", "dBm", "dBu"),
        ("134 dB (SPL)", "SPL", "note"),
        ("60 dB + 2 dB", "one side", "±"),
        ("60 dB ± -2 dB", "negative", "±"),
        ("60 dB ± 1 dB ± 2 dB", "two tolerances", "one"),
        ("60 dB (A-weighted, C-weighted)", "two weightings", "one"),
        ("-128 dBu (150 Ω, 200 Ω)", "two source impedances", "one"),
        ("-128 dBu (20 Hz to 20 kHz) (22 Hz to 22 kHz)", "two bands", "one"),
        ("60 dB ± 1 dB (k=2) (95 %)", "two coverages", "one"),
        ("150 Ω ± 3 mV", "mV", "Ω"),
        ("NR 20 ± 3 dB", "dB", "NR"),
        ("-56 dBV/Pa (1 kHz", "bracket", ")"),
        ("5 furlongs", "furlongs", "dBu"),
        ("5 kHzz", "kHzz", "kHz"),
        ("±3 dB", "does not begin with a number", "number"),
        ("≤ 16 dBA", "does not begin with a number", "number"),
        ("Infinity V", "does not begin with a number", "number"),
        ("1e400 V", "too large", "smaller"),
        (&"9".repeat(400), "too long", "note"),
    ] {
        let error = match text.parse::<Quantity>() {
            Ok(read) => panic!("{text:?} was read as {read}"),
            Err(error) => error,
        };
        assert!(
            error.message().contains(message),
            "{text:?}: message {:?} lacks {message:?}",
            error.message()
        );
        assert!(error.mend().contains(mend), "{text:?}: mend {:?} lacks {mend:?}", error.mend());
    }
}

/// What a mend proposes is itself readable.
#[test]
fn mends_can_be_followed() {
    for dimension in [
        Dimension::Ratio,
        Dimension::Voltage,
        Dimension::SoundLevel,
        Dimension::DigitalLevel,
        Dimension::Sensitivity,
        Dimension::Resistance,
        Dimension::Inductance,
        Dimension::Capacitance,
        Dimension::CapacitancePerLength,
        Dimension::Frequency,
        Dimension::Length,
        Dimension::Time,
        Dimension::Temperature,
        Dimension::VoltageNoise,
        Dimension::CurrentNoise,
        Dimension::Current,
        Dimension::Width,
        Dimension::Samples,
        Dimension::NoiseRating,
        Dimension::Share,
    ] {
        for example in dimension.example().split(" or ").flat_map(|part| part.split(", ")) {
            let read: Quantity =
                example.parse().unwrap_or_else(|error| panic!("example {example:?}: {error}"));
            assert_eq!(read.unit.dimension(), dimension, "example {example:?} of {}", dimension.words());
            let (low, high) = dimension.possible();
            let base = read.unit.to_base(read.number);
            assert!(low <= base && base <= high, "example {example:?} is {base}, outside {low} to {high}");
        }
    }
}

/// Every unit prints as something that reads back as the same unit, with and without a space.
#[test]
fn every_unit_reads_back() {
    for &unit in Unit::ALL {
        let built = Quantity::new(2.5, unit);
        let printed = built.to_string();
        for text in [printed.clone(), printed.replacen(' ', "", 1), format!("{printed} (A-weighted)")] {
            let read: Quantity = text.parse().unwrap_or_else(|error| panic!("{text:?}: {error}"));
            assert_eq!((read.unit, read.number), (unit, 2.5), "reading {text:?}");
        }
    }
}

/// Xorshift (Marsaglia 2003), so that this run is the same on every machine.
struct Dice(u64);

impl Dice {
    fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % limit as u64) as usize
    }
}

/// Letters that turn up in text copied from documents: look-alikes, invisible ones, combining ones, wide and tall ones.
const ODD: &[char] = &[
    '\u{0}',
    '\u{7}',
    '\u{a0}',
    '\u{ad}',
    '\u{200b}',
    '\u{200f}',
    '\u{202e}',
    '\u{202f}',
    '\u{2060}',
    '\u{feff}',
    '\u{300}',
    '\u{20ac}',
    '\u{212a}',
    '\u{2126}',
    '\u{fffd}',
    '\u{1f3a4}',
    '\u{10ffff}',
    '－',
    '＋',
    '١',
    '５',
    '½',
    '²',
    'İ',
    'ı',
    'ſ',
    'ß',
    'K',
    'Å',
    'µ',
    'μ',
    'Ω',
    '∞',
    '∓',
    '−',
    '–',
    '—',
    '±',
    '√',
    '°',
    '′',
    '″',
    '(',
    ')',
    ',',
    '.',
    '/',
    'e',
    'E',
    '+',
    '-',
    '0',
    '9',
    ' ',
    'k',
    'm',
    'M',
    '%',
];

#[test]
fn two_hundred_thousand_spoilt_figures() {
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    let mut read = 0_usize;
    for _ in 0..200_000 {
        let mut text: Vec<char> = SHEETS[dice.below(SHEETS.len())].0.chars().collect();
        for _ in 0..=dice.below(4) {
            let at = dice.below(text.len() + 1);
            match dice.below(6) {
                // Flip a bit of a letter.
                0 if at < text.len() => {
                    let flipped = u32::from(text[at]) ^ (1 << dice.below(8));
                    text[at] = char::from_u32(flipped).unwrap_or('\u{fffd}');
                }
                // Cut.
                1 => {
                    let end = (at + 1 + dice.below(5)).min(text.len());
                    text.drain(at.min(end)..end);
                }
                // Splice the end of another figure on.
                2 => {
                    let other: Vec<char> = SHEETS[dice.below(SHEETS.len())].0.chars().collect();
                    text.truncate(at);
                    text.extend_from_slice(&other[dice.below(other.len())..]);
                }
                // Repeat a part.
                3 => {
                    let end = (at + dice.below(6)).min(text.len());
                    let part = text[at..end].to_vec();
                    text.splice(at..at, part);
                }
                // Swap two letters.
                4 if text.len() > 1 => {
                    let (one, other) = (dice.below(text.len()), dice.below(text.len()));
                    text.swap(one, other);
                }
                _ => text.insert(at, ODD[dice.below(ODD.len())]),
            }
        }
        let text: String = text.into_iter().collect();
        read += usize::from(read_or_refused(&text).unwrap_or_else(|fault| panic!("{fault}")));
    }
    // A run in which nothing, or everything, can still be read would prove little.
    assert!((20_000..180_000).contains(&read), "{read} of 200 000 spoilt figures could be read");
}

/// Every way to cut a figure off in the middle of a letter's bytes is a way to panic.
#[test]
fn every_beginning_and_end_of_a_figure() {
    for (text, _) in SHEETS {
        for (at, _) in text.char_indices() {
            for part in [&text[..at], &text[at..]] {
                read_or_refused(part).unwrap_or_else(|fault| panic!("{fault}"));
            }
        }
    }
}
