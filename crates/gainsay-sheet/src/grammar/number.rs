//! Numbers as English, German and French sheets write them.

use super::{is_dash, is_space};
use winnow::Result;
use winnow::combinator::{alt, opt};
use winnow::error::{ContextError, ParserError};
use winnow::prelude::*;
use winnow::token::{one_of, take_while};

/// Which sign the sheet writes before decimals, as far as its other numbers show.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Convention {
    /// No number shows it.
    #[default]
    Unknown,
    /// 1.5
    Point,
    /// 1,5
    Comma,
}

/// A number without its unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Number {
    pub(crate) value: f64,
    /// What else the same digits may mean, where a point or comma may separate decimals or thousands.
    pub(crate) or: Option<f64>,
    /// Whether a sign was written.
    pub(crate) signed: bool,
    /// Whether a space stands between sign and digits, so that the sign may be a dash.
    pub(crate) loose_sign: bool,
}

/// An optional sign and digits.
pub(crate) fn number(input: &mut &str, convention: Convention) -> Result<Number> {
    let sign = opt(sign).parse_next(input)?;
    let loose = sign.is_some() && input.starts_with(is_space);
    if loose {
        take_while(1..=2, is_space).parse_next(input)?;
    }
    let (value, or) = digits(input, convention)?;
    let factor = if sign == Some(true) { -1.0 } else { 1.0 };
    Ok(Number {
        value: factor * value,
        or: or.map(|v| factor * v),
        signed: sign.is_some(),
        loose_sign: loose,
    })
}

/// Whether the number is negative.
fn sign(input: &mut &str) -> Result<bool> {
    alt((one_of(['+', '＋']).value(false), one_of(is_dash).value(true))).parse_next(input)
}

fn digit_run<'a>(input: &mut &'a str) -> Result<&'a str> {
    take_while(1.., |c: char| c.is_ascii_digit()).parse_next(input)
}

/// One more group of digits with the separator before it.
fn group<'a>(input: &mut &'a str) -> Result<(char, &'a str)> {
    let separator = one_of(|c: char| {
        matches!(c, '.' | ',' | '\'' | '’' | '·') || (is_space(c) && !matches!(c, '\t' | '\n' | '\r'))
    })
    .parse_next(input)?;
    let digits = digit_run(input)?;
    let spaces = is_space(separator) || matches!(separator, '\'' | '’');
    // A space separates thousands only: three digits, and no more of them.
    if spaces && digits.len() != 3 {
        return Err(ContextError::from_input(input));
    }
    Ok((separator, digits))
}

/// Digits with decimals and thousands, and what else they may mean.
fn digits(input: &mut &str, convention: Convention) -> Result<(f64, Option<f64>)> {
    let (whole, leading_point) = match opt(digit_run).parse_next(input)? {
        Some(run) => (run, None),
        None => {
            // ".5"
            let separator = one_of(['.', ',']).parse_next(input)?;
            ("0", Some((separator, digit_run(input)?)))
        }
    };
    let mut groups: Vec<(char, &str)> = leading_point.into_iter().collect();
    if whole.len() <= 3 || groups.is_empty() {
        let mut before = *input;
        while let Ok(next) = group(&mut before) {
            let spaced = is_space(next.0) || matches!(next.0, '\'' | '’');
            let first_spaced = groups.first().is_some_and(|(c, _)| is_space(*c) || matches!(c, '\'' | '’'));
            // A space after decimals begins something else, and so does one after more than three digits.
            if spaced && (whole.len() > 3 || (!groups.is_empty() && !first_spaced)) {
                break;
            }
            groups.push(next);
            *input = before;
            if groups.len() > 6 {
                break;
            }
        }
    }
    interpret(whole, &groups, convention).ok_or_else(|| ContextError::from_input(input))
}

fn interpret(whole: &str, groups: &[(char, &str)], convention: Convention) -> Option<(f64, Option<f64>)> {
    let joined: String = groups.iter().map(|(_, digits)| *digits).collect();
    let integer = || format!("{whole}{joined}").parse::<f64>().ok().filter(|v| v.is_finite());
    let decimal = |decimals: &str| {
        let head: String = joined.strip_suffix(decimals).unwrap_or_default().to_owned();
        format!("{whole}{head}.{decimals}").parse::<f64>().ok().filter(|v| v.is_finite())
    };
    let Some(((last, digits), before)) = groups.split_last() else { return Some((integer()?, None)) };
    if !matches!(last, '.' | ',' | '·') {
        return Some((integer()?, None));
    }
    if before.iter().any(|(separator, _)| separator != last) {
        return Some((decimal(digits)?, None));
    }
    if !before.is_empty() {
        // Two alike: thousands, if their groups are.
        let thousands = groups.iter().all(|(_, digits)| digits.len() == 3);
        return thousands.then(integer).flatten().map(|value| (value, None));
    }
    let may_be_thousand = digits.len() == 3 && whole.len() <= 3 && whole != "0";
    if !may_be_thousand {
        return Some((decimal(digits)?, None));
    }
    let (as_integer, as_decimal) = (integer()?, decimal(digits)?);
    Some(match (convention, last) {
        (Convention::Point, ',') | (Convention::Comma, '.') => (as_integer, None),
        (Convention::Point, _) | (Convention::Comma, _) => (as_decimal, None),
        (Convention::Unknown, ',') => (as_integer, Some(as_decimal)),
        (Convention::Unknown, _) => (as_decimal, Some(as_integer)),
    })
}

impl Convention {
    /// From the numbers of a text that can be read in one way only: "1,5" and "1.5", not "1,500".
    pub(crate) fn of(text: &str) -> Self {
        let bytes = text.as_bytes();
        let digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
        let (mut points, mut commas) = (0_u32, 0_u32);
        for (at, byte) in bytes.iter().enumerate().filter(|(_, b)| matches!(b, b'.' | b',')) {
            if at == 0 || !digit(at - 1) || !digit(at + 1) {
                continue;
            }
            let decimals = (1..=5).take_while(|n| digit(at + n)).count();
            let next = bytes.get(at + 1 + decimals);
            let goes_on = matches!(next, Some(b'.' | b',')) && digit(at + 2 + decimals);
            let zero_first = bytes.get(at - 1) == Some(&b'0') && (at < 2 || !digit(at - 2));
            // Dates, versions and lists such as "1.2.3" show nothing; "0,005" does.
            if goes_on || (decimals == 3 && !zero_first) {
                continue;
            }
            if *byte == b'.' { points += 1 } else { commas += 1 }
        }
        match points.cmp(&commas) {
            std::cmp::Ordering::Greater => Self::Point,
            std::cmp::Ordering::Less => Self::Comma,
            std::cmp::Ordering::Equal => Self::Unknown,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_of_three_languages() {
        use Convention::{Comma, Point, Unknown};
        for (text, convention, want, or) in [
            ("1.5", Unknown, 1.5, None),
            ("1,5", Unknown, 1.5, None),
            ("−128", Unknown, -128.0, None),
            ("– 56", Unknown, -56.0, None),
            ("10 000", Unknown, 10_000.0, None),
            ("10\u{202f}000", Unknown, 10_000.0, None),
            ("192'000", Unknown, 192_000.0, None),
            ("1.234.567,8", Unknown, 1_234_567.8, None),
            ("1,234.5", Unknown, 1234.5, None),
            ("1,500", Unknown, 1500.0, Some(1.5)),
            ("1,500", Point, 1500.0, None),
            ("1,500", Comma, 1.5, None),
            ("1.500", Comma, 1500.0, None),
            ("0,775", Unknown, 0.775, None),
            (".5", Unknown, 0.5, None),
            ("44100", Unknown, 44_100.0, None),
        ] {
            let mut rest = text;
            let got = number(&mut rest, convention).unwrap_or_else(|e| panic!("{text:?}: {e}"));
            assert!((got.value - want).abs() < 1e-9, "{text:?} reads {} instead of {want}", got.value);
            assert_eq!(got.or, or, "the other reading of {text:?}");
            assert_eq!(rest, "", "what is left of {text:?}");
        }
        let mut rest = "48 100 ms";
        assert!((number(&mut rest, Unknown).unwrap().value - 48_100.0).abs() < 1e-9);
        let mut rest = "44.1 100";
        assert!(
            (number(&mut rest, Unknown).unwrap().value - 44.1).abs() < 1e-9,
            "a space after decimals ends it"
        );
    }

    #[test]
    fn the_sheet_shows_its_own_convention() {
        assert_eq!(Convention::of("1,5 kΩ und 2,2 kΩ"), Convention::Comma);
        assert_eq!(Convention::of("1.5 kΩ, 2,200 Ω"), Convention::Point);
        assert_eq!(Convention::of("1,500 Ω"), Convention::Unknown);
        assert_eq!(Convention::of("0,005 %"), Convention::Comma);
    }
}
