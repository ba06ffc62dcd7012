use super::print::Number;
use super::{Coverage, Quantity, Tolerance, Unit};
use crate::{Hertz, Ohms, Weighting};
use std::fmt::{self, Display, Formatter};
use std::str::FromStr;

/// Longest text that is looked at; what people write as one figure is far shorter. The longest that a quantity prints as,
/// every number in it with seventeen digits, is some 250 bytes.
const MAX_LENGTH: usize = 300;

/// Why a text is not a quantity, and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuantityError {
    message: String,
    mend: String,
}

impl QuantityError {
    pub(crate) fn new(message: impl Into<String>, mend: impl Into<String>) -> Self {
        Self { message: message.into(), mend: mend.into() }
    }

    /// What is wrong.
    #[must_use]
    pub fn message(&self) -> &str {
        &self.message
    }

    /// What to write instead.
    #[must_use]
    pub fn mend(&self) -> &str {
        &self.mend
    }
}

impl Display for QuantityError {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.message, self.mend)
    }
}

impl std::error::Error for QuantityError {}

impl FromStr for Quantity {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, QuantityError> {
        if text.len() > MAX_LENGTH {
            return Err(QuantityError::new(
                "this is too long for a figure",
                "write a number and a unit, and put explanations into `note`",
            ));
        }
        let folded = fold(text);
        let mut rest = folded.trim();
        if rest.is_empty() {
            return Err(QuantityError::new(
                "the figure is empty",
                "write a number and a unit, such as \"-56 dBV/Pa\"",
            ));
        }
        let (number, unit) = if let Some(after) = strip_word(rest, "NR") {
            rest = after.trim_start();
            let number = take_number(&mut rest)?;
            if after.starts_with('-') {
                let joined = Number(number.abs());
                return Err(QuantityError::new(
                    format!("\"NR-{joined}\" may mean NR {joined} or NR −{joined}"),
                    format!("write \"NR {joined}\" or \"NR −{joined}\""),
                ));
            }
            (number, Unit::NoiseRating)
        } else {
            let number = take_number(&mut rest)?;
            rest = rest.trim_start();
            let (unit, after) = take_unit(rest)?;
            rest = after;
            (number, unit)
        };
        let mut quantity = Self::new(number, unit);
        loop {
            rest = rest.trim_start().trim_start_matches([',', ';']).trim_start();
            if rest.is_empty() {
                break;
            }
            if starts_tolerance(rest) {
                if quantity.tolerance.is_some() {
                    return Err(QuantityError::new("there are two tolerances", "keep one of them"));
                }
                quantity.tolerance = Some(take_tolerance(&mut rest, unit)?);
            } else if let Some(inside) = rest.strip_prefix('(') {
                let Some((list, after)) = split_bracket(inside) else {
                    return Err(QuantityError::new(
                        "a bracket is not closed",
                        "add \")\" after the conditions",
                    ));
                };
                for item in list.split([',', ';']) {
                    take_condition(item.trim(), &mut quantity)?;
                }
                rest = after;
            } else {
                // Conditions without brackets: up to the tolerance or the next bracket or comma.
                let end = rest
                    .char_indices()
                    .find(|&(at, c)| {
                        matches!(c, '±' | '(' | ',' | ';')
                            || rest.get(at..).is_some_and(|r| at > 0 && starts_tolerance(r))
                    })
                    .map_or(rest.len(), |(at, _)| at);
                let (item, after) = rest.split_at(end);
                take_condition(item.trim(), &mut quantity)?;
                rest = after;
            }
        }
        Ok(quantity)
    }
}

/// One spelling for what looks alike: minus signs and dashes, micro signs, ohm signs, spaces.
fn fold(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '−' | '–' | '—' | '‐' | '‑' | '‒' => '-',
            'μ' => 'µ',
            '\u{2126}' => 'Ω',
            c if c.is_whitespace() => ' ',
            '\u{2060}' | '\u{feff}' => ' ',
            c => c,
        })
        .collect::<String>()
        .replace("+/-", "±")
        .replace("+-", "±")
}

/// The rest behind a word written in any case, if the text starts with it and a number or space follows.
fn strip_word<'a>(text: &'a str, word: &str) -> Option<&'a str> {
    let head = text.get(..word.len())?;
    let rest = text.get(word.len()..)?;
    (head.eq_ignore_ascii_case(word)
        && rest.starts_with([' ', '-', '+', '0', '1', '2', '3', '4', '5', '6', '7', '8', '9']))
    .then_some(rest)
}

/// A number: a sign, digits with a decimal point or comma, spaces between groups of three, an exponent.
fn take_number(rest: &mut &str) -> Result<f64, QuantityError> {
    let text = rest.trim_start();
    let mut clean = String::new();
    let mut chars = text.char_indices().peekable();
    let mut end = 0;
    let mut seen_digit = false;
    let mut comma = false;
    let mut separators = 0;
    while let Some(&(at, c)) = chars.peek() {
        let after = text.get(at + c.len_utf8()..).unwrap_or_default();
        match c {
            '+' | '-' if clean.is_empty() => {
                clean.push(c);
                // "- 56" is written too.
                if after.starts_with(' ') {
                    chars.next();
                }
            }
            '0'..='9' => {
                seen_digit = true;
                clean.push(c);
            }
            '.' | ',' if after.starts_with(|c: char| c.is_ascii_digit()) => {
                separators += 1;
                comma |= c == ',';
                clean.push('.');
            }
            // A group of exactly three digits goes on after a space.
            ' ' if seen_digit
                && separators == 0
                && after.len() >= 3
                && after.bytes().take(3).all(|b| b.is_ascii_digit())
                && !after.as_bytes().get(3).is_some_and(u8::is_ascii_digit) => {}
            'e' | 'E'
                if seen_digit
                    && after.trim_start_matches(['+', '-']).starts_with(|c: char| c.is_ascii_digit())
                    && !clean.contains('e') =>
            {
                clean.push('e');
                if let Some(sign) = after.chars().next().filter(|s| matches!(s, '+' | '-')) {
                    clean.push(sign);
                    chars.next();
                }
            }
            _ => break,
        }
        chars.next();
        end = chars.peek().map_or(text.len(), |&(next, _)| next);
    }
    let written = text.get(..end).unwrap_or_default();
    if !seen_digit {
        let head: String = text.chars().take(20).collect();
        return Err(QuantityError::new(
            format!("\"{head}\" does not begin with a number"),
            "write a number and a unit, such as \"-56 dBV/Pa\"",
        ));
    }
    if separators > 1 {
        return Err(QuantityError::new(
            format!("\"{written}\" has more than one decimal point or comma"),
            "leave out what separates thousands",
        ));
    }
    if comma {
        let mantissa = clean.split('e').next().unwrap_or_default();
        let (whole, decimals) = mantissa.split_once('.').unwrap_or((mantissa, ""));
        let whole = whole.trim_start_matches(['+', '-']);
        if decimals.len() == 3 && whole != "0" && (1..=3).contains(&whole.len()) {
            return Err(QuantityError::new(
                format!("\"{written}\" may mean a thousand or a decimal fraction"),
                format!("write \"{}\" or \"{}\"", clean.replace('.', ""), clean),
            ));
        }
    }
    let number: f64 = clean.parse().map_err(|_| {
        QuantityError::new(
            format!("\"{written}\" is not a number"),
            "write digits with at most one decimal point",
        )
    })?;
    if !number.is_finite() {
        return Err(QuantityError::new(format!("\"{written}\" is too large"), "write a smaller number"));
    }
    *rest = text.get(end..).unwrap_or_default();
    Ok(number)
}

/// The longest unit at the start of the text, with its capitals or, where that finds none, without.
fn take_unit(text: &str) -> Result<(Unit, &str), QuantityError> {
    let mut best: Option<(usize, bool, Unit)> = None;
    for &unit in Unit::ALL {
        for name in std::iter::once(unit.symbol()).chain(unit.aliases().iter().copied()) {
            let Some(length) = match_prefix(text, name) else { continue };
            let exact = text.get(..length).is_some_and(|head| {
                head.chars().filter(|c| *c != ' ').eq(name.chars().filter(|c| *c != ' '))
            });
            let candidate = (length, exact, unit);
            if best.is_none_or(|(l, e, _)| (length, exact) > (l, e)) {
                best = Some(candidate);
            }
        }
    }
    if let Some((length, _, unit)) = best {
        return Ok((unit, text.get(length..).unwrap_or_default()));
    }
    let word: String =
        text.chars().take_while(|c| !matches!(c, ' ' | '(' | '±' | ',' | ';')).take(20).collect();
    if word.is_empty() {
        return Err(QuantityError::new(
            "the unit is missing",
            "add it after the number, such as \"-56 dBV/Pa\"",
        ));
    }
    if word.eq_ignore_ascii_case("dBm") {
        return Err(QuantityError::new(
            "dBm is a power, and a voltage only into a stated load",
            "write dBu if it was measured into 600 ohm: 0 dBm is then 0 dBu",
        ));
    }
    let nearest = Unit::ALL
        .iter()
        .flat_map(|u| std::iter::once(u.symbol()).chain(u.aliases().iter().copied()))
        .min_by_key(|name| strsim::osa_distance(&name.to_lowercase(), &word.to_lowercase()))
        .filter(|name| strsim::osa_distance(&name.to_lowercase(), &word.to_lowercase()) <= 2);
    Err(QuantityError::new(
        format!("\"{word}\" is not a unit that is known here"),
        nearest.map_or_else(
            || "write for example dBu, dBV, dB SPL, dBA, mV/Pa, ohm, m, kHz".to_owned(),
            |name| format!("did you mean \"{name}\"?"),
        ),
    ))
}

/// How many bytes of `text` the unit `name` takes, ignoring case and spaces inside it, if a unit may end there.
fn match_prefix(text: &str, name: &str) -> Option<usize> {
    let mut chars = text.char_indices().peekable();
    let mut end = 0;
    for wanted in name.chars().filter(|c| *c != ' ') {
        if end > 0 && name.contains(' ') {
            while chars.next_if(|&(_, c)| c == ' ').is_some() {}
        }
        let (at, c) = chars.next()?;
        // Milli and mega must not be mistaken for each other.
        let same = if matches!(wanted, 'm' | 'M') && name.len() > 1 && at == 0 {
            c == wanted
        } else {
            c == wanted || c.to_lowercase().eq(wanted.to_lowercase())
        };
        if !same {
            return None;
        }
        end = at + c.len_utf8();
    }
    let mut behind = text.get(end..)?.chars();
    let next = behind.next();
    // "dB A-weighted" is dB and a condition, not "dB A".
    let goes_on = name.contains(' ') && next == Some('-') && behind.next().is_some_and(char::is_alphabetic);
    let ends = !goes_on && !next.is_some_and(|c| c.is_alphanumeric() || matches!(c, '/' | '√'));
    ends.then_some(end)
}

fn starts_tolerance(text: &str) -> bool {
    text.starts_with('±')
        || (text.starts_with('+')
            && text.get(1..).is_some_and(|t| t.trim_start().starts_with(|c: char| c.is_ascii_digit())))
}

/// `± 2 dB`, `+1/-3 dB`, with a coverage in brackets behind it.
fn take_tolerance(rest: &mut &str, figure_unit: Unit) -> Result<Tolerance, QuantityError> {
    let (above, below) = if let Some(after) = rest.strip_prefix('±') {
        *rest = after;
        let both = take_number(rest)?;
        (both, both)
    } else {
        let above = take_number(rest)?;
        let Some(after) = rest.trim_start().strip_prefix('/') else {
            return Err(QuantityError::new(
                "only one side of the tolerance is given",
                "write it as \"± 2 dB\" or \"+1/-3 dB\"",
            ));
        };
        *rest = after;
        (above, -take_number(rest)?)
    };
    if above < 0.0 || below < 0.0 {
        return Err(QuantityError::new("a tolerance is negative", "write it as \"± 2 dB\" or \"+1/-3 dB\""));
    }
    let after = rest.trim_start();
    let unit = if after.is_empty() || after.starts_with(['(', ',', ';']) {
        // "± 2" repeats the unit of the figure; on a level that is a number of decibels.
        *rest = after;
        if figure_unit.is_logarithmic() { Unit::Decibel } else { figure_unit }
    } else {
        let (unit, tail) = take_unit(after)?;
        *rest = tail;
        unit
    };
    let in_db = unit == Unit::Decibel && figure_unit.dimension().is_logarithmic();
    if !(in_db
        || unit == Unit::Percent
        || (unit.dimension() == figure_unit.dimension() && !unit.is_logarithmic()))
    {
        return Err(QuantityError::new(
            format!("a tolerance in {} does not fit a figure in {}", unit.symbol(), figure_unit.symbol()),
            if figure_unit.dimension().is_logarithmic() {
                "write it in dB or %".to_owned()
            } else {
                format!("write it in {} or %", figure_unit.symbol())
            },
        ));
    }
    let coverage = take_coverage(rest);
    Ok(Tolerance { below, above, unit, coverage })
}

/// `(k=2)` or `(95 %)`, if that is what follows.
fn take_coverage(rest: &mut &str) -> Option<Coverage> {
    let inside = rest.trim_start().strip_prefix('(')?;
    let (item, after) = split_bracket(inside)?;
    let coverage = coverage_from(item.trim())?;
    *rest = after;
    Some(coverage)
}

fn coverage_from(item: &str) -> Option<Coverage> {
    if let Some(k) = item.strip_prefix(['k', 'K']) {
        let k: f64 = k.trim_start().strip_prefix('=')?.trim().replace(',', ".").parse().ok()?;
        return (k.is_finite() && k > 0.0).then_some(Coverage::Factor(k));
    }
    let text = item.strip_suffix('%')?.trim().replace(',', ".").to_lowercase();
    let percent: f64 = text.parse().ok()?;
    // The decimal point is moved in the text: a division would round a second time, and 7 % would print as 7.000000000000001 %.
    let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
    let exponent: i32 = exponent.parse().ok()?;
    let fraction: f64 = format!("{mantissa}e{}", exponent.checked_sub(2)?).parse().ok()?;
    (percent > 0.0 && percent < 100.0 && fraction > 0.0).then_some(Coverage::Probability(fraction))
}

/// What stands before the closing bracket and after it; brackets inside are skipped.
fn split_bracket(inside: &str) -> Option<(&str, &str)> {
    let mut depth = 0;
    for (at, c) in inside.char_indices() {
        match c {
            '(' => depth += 1,
            ')' if depth == 0 => return Some((inside.get(..at)?, inside.get(at + 1..)?)),
            ')' => depth -= 1,
            _ => {}
        }
    }
    None
}

/// A weighting, a source impedance, a band, or words that only repeat what goes without saying.
fn take_condition(item: &str, quantity: &mut Quantity) -> Result<(), QuantityError> {
    if item.is_empty() {
        return Ok(());
    }
    let lower = item.to_lowercase();
    let words = lower.trim_start_matches("re ").trim();
    if let Some(weighting) = weighting_from(words) {
        return set(&mut quantity.conditions.weighting, weighting, "weightings");
    }
    if let Some(coverage) = coverage_from(item)
        && let Some(tolerance) = &mut quantity.tolerance
    {
        return set(&mut tolerance.coverage, coverage, "coverages of the tolerance");
    }
    if let Some(band) = band_from(item) {
        return set(&mut quantity.conditions.band, band, "bands");
    }
    let bare = lower
        .trim_start_matches("rs")
        .trim_start()
        .trim_start_matches('=')
        .trim_start_matches("source")
        .trim_start_matches("at ")
        .trim_end_matches("source")
        .trim();
    // The lower case has folded Ω; units are looked up without capitals anyway, and a source is never in megohms.
    if let Some(impedance) = impedance_from(bare) {
        return set(&mut quantity.conditions.source_impedance, impedance, "source impedances");
    }
    Err(QuantityError::new(
        format!("\"{item}\" is not a condition that is understood here"),
        "write a weighting (A-weighted), a source impedance (150 ohm) or a band (20 Hz to 20 kHz), and put the rest into `note`",
    ))
}

fn set<T>(place: &mut Option<T>, value: T, what: &str) -> Result<(), QuantityError> {
    if place.replace(value).is_some() {
        return Err(QuantityError::new(format!("there are two {what}"), "keep one of them"));
    }
    Ok(())
}

fn weighting_from(words: &str) -> Option<Weighting> {
    let compact: String = words.chars().filter(|c| !matches!(c, ' ' | '-' | '.')).collect();
    Some(match compact.as_str() {
        "a" | "aweighted" | "aweighting" | "aw" | "awtd" | "iec61672a" => Weighting::A,
        "c" | "cweighted" | "cweighting" => Weighting::C,
        "unweighted" | "flat" | "linear" | "lin" | "unwtd" | "z" | "zweighted" => Weighting::Flat,
        "itur468" | "itu468" | "468" | "bs468" | "ccir468" | "ccir" | "iturbs468" | "itur468weighted"
        | "468weighted" | "iturbs4684" | "quasipeak" => Weighting::Itu468QuasiPeak,
        "ccirrms" | "ccirarm" | "aes17" => Weighting::Itu468Rms,
        _ => return None,
    })
}

/// `20 Hz to 20 kHz`, `20 Hz - 20 kHz`, `22 Hz-22 kHz bandwidth`.
fn band_from(item: &str) -> Option<(Hertz, Hertz)> {
    let item = item.trim_end_matches("bandwidth").trim_end();
    let (low, high) =
        item.split_once(" to ").or_else(|| item.split_once('-')).or_else(|| item.split_once("..."))?;
    let mut high_text = high.trim();
    let high_number = take_number(&mut high_text).ok()?;
    let (high_unit, tail) = take_unit(high_text.trim_start()).ok()?;
    let mut low_text = low.trim();
    let low_number = take_number(&mut low_text).ok()?;
    let low_unit = match low_text.trim() {
        "" => high_unit,
        unit => take_unit(unit).ok().filter(|(_, tail)| tail.is_empty())?.0,
    };
    let is_frequency = |unit: Unit| unit.dimension() == super::Dimension::Frequency;
    let (low, high) = (low_unit.to_base(low_number), high_unit.to_base(high_number));
    (tail.trim().is_empty() && is_frequency(low_unit) && is_frequency(high_unit) && 0.0 <= low && low < high)
        .then_some((Hertz::new(low), Hertz::new(high)))
}

fn impedance_from(item: &str) -> Option<Ohms> {
    let mut text = item;
    let number = take_number(&mut text).ok()?;
    let (unit, tail) = take_unit(text.trim_start()).ok()?;
    let fits = tail.trim().is_empty() && unit.dimension() == super::Dimension::Resistance && number >= 0.0;
    fits.then(|| Ohms::new(unit.to_base(number)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, want: &str) {
        let got = match text.parse::<Quantity>() {
            Ok(quantity) => quantity.to_string(),
            Err(error) => format!("error: {error}"),
        };
        assert_eq!(got, want, "reading {text:?}");
    }

    #[test]
    fn as_people_write_them() {
        check("1.6 mV/Pa", "1.6 mV/Pa");
        check("1,6mV/Pa", "1.6 mV/Pa");
        check("-56 dBV/Pa ± 2 dB", "−56 dBV/Pa ± 2 dB");
        check("−74 dB re 1 V/µbar", "−74 dB re 1 V/µbar");
        check("-74 dB re 1V/ubar", "−74 dB re 1 V/µbar");
        check("+12 dBu", "12 dBu");
        check("+12dBu", "12 dBu");
        check("0.775 V", "0.775 V");
        check("0,775 V", "0.775 V");
        check("28 dBA", "28 dBA");
        check("28 dB(A)", "28 dBA");
        check("28 dB SPL (A)", "28 dB SPL (A-weighted)");
        check("NR 20", "NR 20");
        check("nr20", "NR 20");
        check("-128 dBu (A-weighted, 150 ohm)", "−128 dBu (A-weighted, 150 Ω)");
        check("-128 dBu A-weighted, 150 Ω", "−128 dBu (A-weighted, 150 Ω)");
        check(
            "-127 dBu (Rs = 200 Ω, 20 Hz–20 kHz, unweighted)",
            "−127 dBu (unweighted, 200 Ω, 20 Hz to 20 kHz)",
        );
        check("-127 dBu (22 Hz-22 kHz)", "−127 dBu (22 Hz to 22 kHz)");
        check("2.4 kΩ", "2.4 kΩ");
        check("2.4kohm", "2.4 kΩ");
        check("10 k ohm", "10 kΩ");
        check("1 MΩ", "1 MΩ");
        check("0.6 m", "0.6 m");
        check("48 kHz", "48 kHz");
        check("48khz", "48 kHz");
        check("10 000 ohm", "10000 Ω");
        check("150 ohm ±20%", "150 Ω ± 20 %");
        check("60 dB +1/-3 dB", "60 dB +1/−3 dB");
        check("60 dB ± 2", "60 dB ± 2 dB");
        check("62 dBA ± 6 dB (k=2)", "62 dBA ± 6 dB (k=2)");
        check("62 dBA ± 6 dB (95 %)", "62 dBA ± 6 dB (95 %)");
        check("1.5 nV/√Hz", "1.5 nV/√Hz");
        check("1.5 nV/rtHz", "1.5 nV/√Hz");
        check("110 dB (A)", "110 dB (A-weighted)");
        check("24 bit", "24 bit");
        check("20 °C", "20 °C");
        check("1e-3 V", "0.001 V");
        check("100 pF/m", "100 pF/m");
        check("- 56 dBV/Pa", "−56 dBV/Pa");
        check("22 dB re 20 µPa", "22 dB SPL");
    }

    #[test]
    fn what_is_wrong_and_how_to_mend_it() {
        check("", "error: the figure is empty; write a number and a unit, such as \"-56 dBV/Pa\"");
        check("12", "error: the unit is missing; add it after the number, such as \"-56 dBV/Pa\"");
        check(
            "loud",
            "error: \"loud\" does not begin with a number; write a number and a unit, such as \"-56 dBV/Pa\"",
        );
        check(
            "NaN dBu",
            "error: \"NaN dBu\" does not begin with a number; write a number and a unit, such as \"-56 dBV/Pa\"",
        );
        check("12 dBz", "error: \"dBz\" is not a unit that is known here; did you mean \"dB\"?");
        check(
            "1,000 ohm",
            "error: \"1,000\" may mean a thousand or a decimal fraction; write \"1000\" or \"1.000\"",
        );
        check(
            "1.000.000 ohm",
            "error: \"1.000.000\" has more than one decimal point or comma; leave out what separates thousands",
        );
        check("1e999 V", "error: \"1e999\" is too large; write a smaller number");
        check(
            "4 dBm",
            "error: dBm is a power, and a voltage only into a stated load; write dBu if it was measured into 600 ohm: 0 dBm is then 0 dBu",
        );
        check("150 ohm ± 2 dB", "error: a tolerance in dB does not fit a figure in Ω; write it in Ω or %");
        check("60 dB (A, C)", "error: there are two weightings; keep one of them");
        check("60 dB (A", "error: a bracket is not closed; add \")\" after the conditions");
    }

    #[test]
    fn milli_is_not_mega() {
        check("5 mΩ", "error: \"mΩ\" is not a unit that is known here; did you mean \"MΩ\"?");
        check("3 mohm", "error: \"mohm\" is not a unit that is known here; did you mean \"Mohm\"?");
        check("3 mV", "3 mV");
        check("2 MHz", "2 MHz");
    }
}
