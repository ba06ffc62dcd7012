//! Units as sheets spell them, longest first.

use super::is_space;
use gainsay_units::{Unit, Weighting};
use winnow::Result;
use winnow::error::{ContextError, ParserError};
use winnow::prelude::*;
use winnow::token::take_while;

/// A unit on a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum SheetUnit {
    /// One that device files know.
    Known(Unit),
    /// dBm: a power, and the same number of dBu only into 600 Ω.
    Dbm,
    /// Volts from peak to peak.
    PeakToPeak(Unit),
    /// Volts of the peak.
    Peak(Unit),
    /// One that no field of a device file takes: watts, kilograms, degrees.
    Other,
}

/// A unit and the weighting that its spelling implies: dBu(A), dBqps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct UnitText {
    pub(crate) unit: SheetUnit,
    pub(crate) weighting: Option<Weighting>,
}

use SheetUnit::{Dbm, Known, Other, Peak, PeakToPeak};
use Unit as U;

/// Spelling, unit, implied weighting. Spaces may stand where a space is written here, or be missing.
const SPELLINGS: &[(&str, SheetUnit, Option<Weighting>)] = &[
    ("dB", Known(U::Decibel), None),
    ("-dB", Known(U::Decibel), None),
    ("dBu", Known(U::Dbu), None),
    ("dB u", Known(U::Dbu), None),
    ("dB(u)", Known(U::Dbu), None),
    ("dBu(A)", Known(U::Dbu), Some(Weighting::A)),
    ("dBu (A)", Known(U::Dbu), Some(Weighting::A)),
    ("dBuA", Known(U::Dbu), Some(Weighting::A)),
    ("dBu A", Known(U::Dbu), Some(Weighting::A)),
    ("dBu(CCIR)", Known(U::Dbu), Some(Weighting::Itu468QuasiPeak)),
    ("dBqp", Known(U::Decibel), Some(Weighting::Itu468QuasiPeak)),
    ("dBqps", Known(U::Dbu), Some(Weighting::Itu468QuasiPeak)),
    ("dBV", Known(U::Dbv), None),
    ("dB(V)", Known(U::Dbv), None),
    ("dBV(A)", Known(U::Dbv), Some(Weighting::A)),
    ("dBV (A)", Known(U::Dbv), Some(Weighting::A)),
    ("dBVA", Known(U::Dbv), Some(Weighting::A)),
    ("dBV A", Known(U::Dbv), Some(Weighting::A)),
    ("dBm", Dbm, None),
    ("dBm(A)", Dbm, Some(Weighting::A)),
    ("dBr", Other, None),
    ("dBc", Other, None),
    ("dB/oct", Other, None),
    ("dB/octave", Other, None),
    ("dB/Oktave", Other, None),
    ("dB per octave", Other, None),
    ("dBA", Known(U::DecibelA), None),
    ("dB A", Known(U::DecibelA), None),
    ("dB(A)", Known(U::DecibelA), None),
    ("dB (A)", Known(U::DecibelA), None),
    ("dB-A", Known(U::DecibelA), None),
    ("dB[A]", Known(U::DecibelA), None),
    ("dBA SPL", Known(U::DecibelA), None),
    ("dB(A) SPL", Known(U::DecibelA), None),
    ("dB A SPL", Known(U::DecibelA), None),
    ("dB-A SPL", Known(U::DecibelA), None),
    ("dB SPL", Known(U::DecibelSpl), None),
    ("dBSPL", Known(U::DecibelSpl), None),
    ("dB(SPL)", Known(U::DecibelSpl), None),
    ("dB SPL(A)", Known(U::DecibelA), None),
    ("dB SPL (A)", Known(U::DecibelA), None),
    ("dB SPL A", Known(U::DecibelA), None),
    ("dB SPL-A", Known(U::DecibelA), None),
    ("dB(CCIR)", Known(U::Decibel), Some(Weighting::Itu468QuasiPeak)),
    ("dB CCIR", Known(U::Decibel), Some(Weighting::Itu468QuasiPeak)),
    ("dB-CCIR", Known(U::Decibel), Some(Weighting::Itu468QuasiPeak)),
    ("dBFS", Known(U::DecibelFullScale), None),
    ("dB FS", Known(U::DecibelFullScale), None),
    ("dBFS(A)", Known(U::DecibelFullScale), Some(Weighting::A)),
    ("mV/Pa", Known(U::MillivoltPerPascal), None),
    ("mV / Pa", Known(U::MillivoltPerPascal), None),
    ("mV per Pa", Known(U::MillivoltPerPascal), None),
    ("mV per pascal", Known(U::MillivoltPerPascal), None),
    ("V/Pa", Known(U::VoltPerPascal), None),
    ("mV/µbar", Known(U::MillivoltPerMicrobar), None),
    ("mV/ubar", Known(U::MillivoltPerMicrobar), None),
    ("mV / µbar", Known(U::MillivoltPerMicrobar), None),
    ("dBV/Pa", Known(U::DecibelVoltPerPascal), None),
    ("dBV / Pa", Known(U::DecibelVoltPerPascal), None),
    ("dB V/Pa", Known(U::DecibelVoltPerPascal), None),
    ("dB(V/Pa)", Known(U::DecibelVoltPerPascal), None),
    ("dBu/Pa", Known(U::DecibelUPerPascal), None),
    ("dBV/µbar", Known(U::DecibelVoltPerMicrobar), None),
    ("dBV/ubar", Known(U::DecibelVoltPerMicrobar), None),
    ("Ω", Known(U::Ohm), None),
    ("ohm", Known(U::Ohm), None),
    ("ohms", Known(U::Ohm), None),
    ("R", Known(U::Ohm), None),
    ("kΩ", Known(U::Kilohm), None),
    ("k Ω", Known(U::Kilohm), None),
    ("kohm", Known(U::Kilohm), None),
    ("kohms", Known(U::Kilohm), None),
    ("k ohm", Known(U::Kilohm), None),
    ("k ohms", Known(U::Kilohm), None),
    ("k-ohm", Known(U::Kilohm), None),
    ("kilohm", Known(U::Kilohm), None),
    ("kilohms", Known(U::Kilohm), None),
    ("k", Known(U::Kilohm), None),
    ("MΩ", Known(U::Megohm), None),
    ("M Ω", Known(U::Megohm), None),
    ("Mohm", Known(U::Megohm), None),
    ("M ohm", Known(U::Megohm), None),
    ("Mohms", Known(U::Megohm), None),
    ("Megohm", Known(U::Megohm), None),
    ("Megohms", Known(U::Megohm), None),
    ("megohm", Known(U::Megohm), None),
    ("megohms", Known(U::Megohm), None),
    ("Meg", Known(U::Megohm), None),
    ("V", Known(U::Volt), None),
    ("volt", Known(U::Volt), None),
    ("volts", Known(U::Volt), None),
    ("V DC", Known(U::Volt), None),
    ("V rms", Known(U::Volt), None),
    ("V eff", Known(U::Volt), None),
    ("mV", Known(U::Millivolt), None),
    ("mV rms", Known(U::Millivolt), None),
    ("µV", Known(U::Microvolt), None),
    ("uV", Known(U::Microvolt), None),
    ("µV rms", Known(U::Microvolt), None),
    ("V pp", PeakToPeak(U::Volt), None),
    ("V p-p", PeakToPeak(U::Volt), None),
    ("mV pp", PeakToPeak(U::Millivolt), None),
    ("mV p-p", PeakToPeak(U::Millivolt), None),
    ("V peak", Peak(U::Volt), None),
    ("Vpk", Peak(U::Volt), None),
    ("Pa", Known(U::Pascal), None),
    ("pascal", Known(U::Pascal), None),
    ("nV/√Hz", Known(U::NanovoltPerRootHertz), None),
    ("nV / √Hz", Known(U::NanovoltPerRootHertz), None),
    ("nV/√ Hz", Known(U::NanovoltPerRootHertz), None),
    ("nV/√(Hz)", Known(U::NanovoltPerRootHertz), None),
    ("nV/rtHz", Known(U::NanovoltPerRootHertz), None),
    ("nV/rt Hz", Known(U::NanovoltPerRootHertz), None),
    ("nV/rt(Hz)", Known(U::NanovoltPerRootHertz), None),
    ("nV/sqrt(Hz)", Known(U::NanovoltPerRootHertz), None),
    ("nV/sqrtHz", Known(U::NanovoltPerRootHertz), None),
    ("nV/Hz^0.5", Known(U::NanovoltPerRootHertz), None),
    ("nV/Hz½", Known(U::NanovoltPerRootHertz), None),
    ("pA/√Hz", Known(U::PicoamperePerRootHertz), None),
    ("pA / √Hz", Known(U::PicoamperePerRootHertz), None),
    ("pA/rtHz", Known(U::PicoamperePerRootHertz), None),
    ("pA/rt Hz", Known(U::PicoamperePerRootHertz), None),
    ("pA/sqrt(Hz)", Known(U::PicoamperePerRootHertz), None),
    ("fA/√Hz", Known(U::FemtoamperePerRootHertz), None),
    ("mA", Known(U::Milliampere), None),
    ("Hz", Known(U::Hertz), None),
    ("hertz", Known(U::Hertz), None),
    ("kHz", Known(U::Kilohertz), None),
    ("MHz", Known(U::Megahertz), None),
    ("bit", Known(U::Bit), None),
    ("bits", Known(U::Bit), None),
    ("-bit", Known(U::Bit), None),
    ("ms", Known(U::Millisecond), None),
    ("µs", Known(U::Microsecond), None),
    ("us", Known(U::Microsecond), None),
    ("samples", Known(U::Sample), None),
    ("sample", Known(U::Sample), None),
    ("Abtastwerte", Known(U::Sample), None),
    ("échantillons", Known(U::Sample), None),
    ("mH", Known(U::Millihenry), None),
    ("µH", Known(U::Microhenry), None),
    ("%", Known(U::Percent), None),
    ("percent", Known(U::Percent), None),
    ("per cent", Known(U::Percent), None),
    ("pF", Known(U::Picofarad), None),
    ("nF", Known(U::Nanofarad), None),
    ("s", Other, None),
    ("ns", Other, None),
    ("ps", Other, None),
    ("m", Other, None),
    ("cm", Other, None),
    ("mm", Other, None),
    ("inch", Other, None),
    ("inches", Other, None),
    ("″", Other, None),
    ("\"", Other, None),
    ("kg", Other, None),
    ("g", Other, None),
    ("lb", Other, None),
    ("lbs", Other, None),
    ("oz", Other, None),
    ("W", Other, None),
    ("mW", Other, None),
    ("VA", Other, None),
    ("V AC", Other, None),
    ("VAC", Other, None),
    ("V~", Other, None),
    ("°", Other, None),
    ("° C", Other, None),
    ("°C", Other, None),
    ("°F", Other, None),
    ("ppm", Other, None),
    ("V/µs", Other, None),
    ("GB", Other, None),
    ("MB", Other, None),
    ("h", Other, None),
    ("hours", Other, None),
    ("min", Other, None),
    ("years", Other, None),
    ("HE", Other, None),
    ("U", Other, None),
    ("RU", Other, None),
    ("HU", Other, None),
    ("U high", Other, None),
    ("A", Other, None),
];

/// How many characters of `text` the spelling takes, if a unit may end there. Capitals must be the same only where they tell
/// milli from mega and a unit of one letter from a word.
fn taken(text: &str, spelling: &str) -> Option<usize> {
    let strict = spelling.chars().count() <= 1;
    let mut rest = text;
    let mut first = true;
    for wanted in spelling.chars() {
        if wanted == ' ' {
            rest = rest.trim_start_matches(is_space);
            continue;
        }
        let mut chars = rest.chars();
        let c = fold(chars.next()?);
        let prefix = first
            && matches!(wanted, 'm' | 'M')
            && !spelling.starts_with("Meg")
            && !spelling.starts_with("meg");
        // "dBu (a)" refers to a footnote.
        let mark = wanted == 'A' && c == 'a' && (spelling.ends_with(" (A)") || spelling.ends_with(" A"));
        let same = if strict || prefix || mark { c == wanted } else { c.eq_ignore_ascii_case(&wanted) };
        if !same {
            return None;
        }
        first = false;
        rest = chars.as_str();
    }
    let next = rest.chars().next();
    let mut second = rest.chars().skip(1);
    let ends = match next {
        None => true,
        // "dBu1" with a lost superscript: one digit that is a mark.
        Some(c) if c.is_ascii_digit() => {
            !strict && spelling != "dB" && !second.next().is_some_and(char::is_alphanumeric)
        }
        Some('/') if spelling.ends_with('V') || spelling == "nV" => {
            !rest.starts_with("/Pa")
                && !rest.starts_with("/µ")
                && !rest.starts_with("/u")
                && !rest.starts_with("/√")
        }
        // "dB A-weighted" is dB and a condition.
        Some(c) if super::is_dash(c) => {
            !(spelling.ends_with(" A") || spelling == "A" || spelling == "k")
                || !second.next().is_some_and(char::is_alphabetic)
        }
        Some(' ') if spelling.ends_with(" A") => {
            let word: String =
                rest.trim_start_matches(is_space).chars().take(5).collect::<String>().to_lowercase();
            !(word.starts_with("weig")
                || word.starts_with("wtd")
                || word.starts_with("wght")
                || word.starts_with("bew")
                || word.starts_with("gew"))
        }
        Some(c) => !c.is_alphanumeric() || matches!(c, '¹' | '²' | '³' | '⁴' | '⁵' | '⁶' | '⁷' | '⁸' | '⁹'),
    };
    ends.then_some(text.len() - rest.len())
}

/// One spelling for micro signs, ohm signs and roots.
const fn fold(c: char) -> char {
    match c {
        'μ' => 'µ',
        '\u{2126}' | 'ω' => 'Ω',
        '∕' | '⁄' => '/',
        '−' | '–' | '‐' | '‑' | '‒' => '-',
        c => c,
    }
}

/// Spaces and a unit.
pub(crate) fn unit(input: &mut &str) -> Result<UnitText> {
    let start = *input;
    let blank = take_while(0..=2, is_space).parse_next(input)?;
    // "48-V-Phantomspeisung", "a 20-dB pad"
    let hyphen = blank.is_empty()
        && input.starts_with(['-', '‑'])
        && input.chars().nth(1).is_some_and(|c| c.is_alphabetic() || c == 'Ω');
    if hyphen && !input.get(1..).is_some_and(|rest| rest.starts_with("bit") || rest.starts_with("dB")) {
        *input = input.strip_prefix(['-', '‑']).unwrap_or(input);
    }
    let head = input.chars().next().map(fold);
    let mut best: Option<(usize, UnitText)> = None;
    for (spelling, unit, weighting) in SPELLINGS {
        // Most spellings fall at the first letter.
        let same_head = head.zip(spelling.chars().next()).is_some_and(|(a, b)| a.eq_ignore_ascii_case(&b));
        if !same_head {
            continue;
        }
        // "150R" and "10k" are written close; apart they are words. "4 s", "2 A" and "1 g" hardly ever are figures of interest.
        if !blank.is_empty() && matches!(*spelling, "R" | "k" | "\"" | "min") {
            continue;
        }
        if let Some(length) = taken(input, spelling)
            && best.is_none_or(|(longest, _)| length > longest)
        {
            best = Some((length, UnitText { unit: *unit, weighting: *weighting }));
        }
    }
    match best {
        Some((length, unit)) => {
            *input = input.get(length..).unwrap_or_default();
            Ok(unit)
        }
        None => {
            *input = start;
            Err(ContextError::from_input(input))
        }
    }
}

/// A unit that stands without a number, and how many bytes it takes.
pub(crate) fn lone_unit(text: &str) -> Option<(UnitText, usize)> {
    let mut rest = text;
    let found = unit(&mut rest).ok()?;
    let length = text.len() - rest.len();
    // Single letters are words more often than units.
    let written = text.get(..length)?;
    let known = matches!(found.unit, SheetUnit::Known(_) | SheetUnit::Dbm);
    (known && (written.chars().count() > 1 || matches!(written, "Ω" | "V" | "%"))).then_some((found, length))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings() {
        for (text, want, rest) in [
            ("dBu", Known(U::Dbu), ""),
            (" DBU, A", Known(U::Dbu), ", A"),
            (" dB A-weighted", Known(U::Decibel), " A-weighted"),
            (" dB-A", Known(U::DecibelA), ""),
            (" dB SPL (A)", Known(U::DecibelA), ""),
            ("kOhm", Known(U::Kilohm), ""),
            (" MOhm", Known(U::Megohm), ""),
            (" mV/Pa", Known(U::MillivoltPerPascal), ""),
            (" mV @", Known(U::Millivolt), " @"),
            (" dBu¹", Known(U::Dbu), "¹"),
            (" nV/√Hz", Known(U::NanovoltPerRootHertz), ""),
            ("-bit", Known(U::Bit), ""),
            (" Vpp", PeakToPeak(U::Volt), ""),
        ] {
            let mut input = text;
            let got = unit(&mut input).unwrap_or_else(|_| panic!("no unit in {text:?}"));
            assert_eq!((got.unit, input), (want, rest), "reading {text:?}");
        }
        for text in [" in", " mΩ", " Mbit", " Combo"] {
            let mut input = text;
            assert!(unit(&mut input).is_err(), "{text:?} is no unit");
        }
    }
}
