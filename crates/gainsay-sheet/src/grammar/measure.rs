//! A figure: a number, range or list, with its unit and tolerance.

use super::number::{Convention, Number, number};
use super::reference::reference;
use super::unit::{SheetUnit, UnitText, unit};
use super::{is_dash, is_space};
use gainsay_units::{Tolerance, Unit, Weighting};
use winnow::Result;
use winnow::ascii::Caseless;
use winnow::combinator::{alt, not, opt, peek, preceded, terminated};
use winnow::error::{ContextError, ParserError};
use winnow::prelude::*;
use winnow::token::{any, one_of, take_while};

/// The numbers of a figure.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Numbers {
    /// One.
    One(f64),
    /// From one to another.
    Range(f64, f64),
    /// Several.
    List(Vec<f64>),
}

/// A figure as the sheet writes it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Measure {
    pub(crate) numbers: Numbers,
    /// The unit of the lower end of a range, where it is another: "20 Hz – 20 kHz".
    pub(crate) first_unit: Option<UnitText>,
    pub(crate) unit: Option<UnitText>,
    pub(crate) tolerance: Option<Tolerance>,
    /// The other reading of a number whose point or comma is ambiguous.
    pub(crate) or: Option<f64>,
    /// Whether a sign was written.
    pub(crate) signed: bool,
    /// Whether the sign may be a dash before the figure.
    pub(crate) loose_sign: bool,
    /// Whether it is nothing but a tolerance: "±1 dB".
    pub(crate) only_tolerance: bool,
    /// Whether "x" follows: "4 x XLR".
    pub(crate) times: bool,
}

impl Measure {
    /// The unit, if device files know it.
    pub(crate) fn known(&self) -> Option<Unit> {
        match self.unit?.unit {
            SheetUnit::Known(unit) => Some(unit),
            _ => None,
        }
    }

    /// So many of what follows.
    pub(crate) fn counted(number: f64) -> Self {
        Self { times: true, ..bare(number) }
    }

    /// The first or only number.
    pub(crate) fn first(&self) -> f64 {
        match &self.numbers {
            Numbers::One(value) | Numbers::Range(value, _) => *value,
            Numbers::List(values) => values.first().copied().unwrap_or_default(),
        }
    }

    /// Whether it is a number without unit.
    pub(crate) fn is_bare(&self) -> bool {
        self.unit.is_none()
    }
}

fn blank<'a>(input: &mut &'a str) -> Result<&'a str> {
    take_while(0..=3, is_space).parse_next(input)
}

/// "±", "+/-" or "+-".
fn plus_minus(input: &mut &str) -> Result<()> {
    alt((one_of('±').void(), (one_of('+'), opt(one_of(['/', ' '])), one_of(is_dash)).void()))
        .parse_next(input)
}

/// A unit, with what a decibel refers to.
fn full_unit(input: &mut &str) -> Result<UnitText> {
    let mut found = unit(input)?;
    if matches!(found.unit, SheetUnit::Known(Unit::Decibel | Unit::Dbv))
        && let Some(referred) = opt(reference).parse_next(input)?
    {
        // "dBV re 1 V" is dBV still; "dBV re 1 V/Pa" is not.
        found.unit = SheetUnit::Known(referred);
    }
    Ok(found)
}

/// Between the ends of a range.
fn range_sign(input: &mut &str) -> Result<()> {
    let dots = alt(("...", "..", "…", "⋯", "÷", "~", "→"));
    let word = alt((
        Caseless("through"),
        Caseless("up to"),
        Caseless("jusqu'à"),
        Caseless("bis zu"),
        Caseless("bis"),
        Caseless("to"),
        Caseless("à"),
        Caseless("a"),
    ));
    alt((
        (blank, dots, blank).void(),
        (take_while(1..=3, is_space), word, take_while(1..=3, is_space)).void(),
        (blank, one_of(is_dash), blank).void(),
    ))
    .parse_next(input)
}

/// Between the numbers of a list.
fn list_sign(input: &mut &str) -> Result<()> {
    let word = alt((
        Caseless("and"),
        Caseless("und"),
        Caseless("et"),
        Caseless("or"),
        Caseless("oder"),
        Caseless("ou"),
    ));
    alt((
        (blank, one_of(['/', '|', '&', ';']), blank).void(),
        (one_of(','), take_while(1..=3, is_space), opt((word, take_while(1..=2, is_space)))).void(),
        (
            take_while(1..=2, is_space),
            alt((
                Caseless("and"),
                Caseless("und"),
                Caseless("et"),
                Caseless("or"),
                Caseless("oder"),
                Caseless("ou"),
            )),
            take_while(1..=2, is_space),
        )
            .void(),
    ))
    .parse_next(input)
}

/// A figure.
pub(crate) fn measure(input: &mut &str, convention: Convention) -> Result<Measure> {
    if peek(opt(plus_minus)).parse_next(input)?.is_some() {
        let tolerance = tolerance(input, None, convention)?;
        return Ok(Measure { tolerance: Some(tolerance), only_tolerance: true, ..bare(0.0) });
    }
    let start = *input;
    let first = number(input, convention)?;
    if let Some(infix) = infix_prefix(input, first) {
        return Ok(infix);
    }
    let first_unit = opt(full_unit).parse_next(input)?;
    let mut found = Measure {
        or: first.or,
        signed: first.signed,
        loose_sign: first.loose_sign,
        unit: first_unit,
        ..bare(first.value)
    };
    // A range has a second number with the same kind of unit.
    let after_first = *input;
    if first_unit.is_none()
        && let Some((numbers, list_unit)) =
            opt(|i: &mut &str| dashed_list(i, first, convention)).parse_next(input)?
    {
        found.numbers = Numbers::List(numbers);
        found.unit = Some(list_unit);
        found.or = None;
    } else if let Some((second, second_unit)) =
        opt(|i: &mut &str| range_end(i, convention, first_unit)).parse_next(input)?
    {
        found.numbers = Numbers::Range(first.value, second.value);
        found.first_unit = first_unit;
        found.unit = second_unit.or(first_unit);
        found.or = None;
    } else {
        *input = after_first;
        if first_unit.is_none()
            && let Some((numbers, list_unit)) =
                opt(|i: &mut &str| list(i, first, convention)).parse_next(input)?
        {
            found.numbers = Numbers::List(numbers);
            found.unit = Some(list_unit);
            found.or = None;
        }
    }
    if let Some(unit) = found.unit {
        let mut ahead = *input;
        if let Ok(tolerance) = tolerance(&mut ahead, known(unit), convention) {
            *input = ahead;
            found.tolerance = Some(tolerance);
            // "−78 dB ± 2 dB, re 1 V/µbar"
            if unit.unit == SheetUnit::Known(Unit::Decibel)
                && let Some(referred) = opt(reference).parse_next(input)?
            {
                found.unit = Some(UnitText { unit: SheetUnit::Known(referred), ..unit });
            }
        }
    } else {
        // A number that goes on as a word, such as "3D" or "48V4", is none.
        if input.starts_with(|c: char| c.is_alphabetic() && c != 'x' && c != 'X' && c != '×') {
            *input = start;
            return Err(ContextError::from_input(input));
        }
        found.times = opt(terminated(
            (blank, one_of(['x', 'X', '×', '*'])),
            peek(alt((any.verify(|c: &char| !c.is_alphanumeric()).void(), winnow::combinator::eof.void()))),
        ))
        .parse_next(input)?
        .is_some();
    }
    Ok(found)
}

/// "between 20 dB and 65 dB": a range in words.
pub(crate) fn between(input: &mut &str, convention: Convention) -> Result<Measure> {
    alt((Caseless("between"), Caseless("zwischen"), Caseless("entre"))).parse_next(input)?;
    take_while(1..=2, is_space).parse_next(input)?;
    let first = number(input, convention)?;
    let first_unit = opt(full_unit).parse_next(input)?;
    take_while(1..=2, is_space).parse_next(input)?;
    alt((Caseless("and"), Caseless("und"), Caseless("et"))).parse_next(input)?;
    take_while(1..=2, is_space).parse_next(input)?;
    let second = number(input, convention)?;
    let unit = full_unit(input)?;
    Ok(Measure {
        numbers: Numbers::Range(first.value, second.value),
        first_unit,
        unit: Some(unit),
        signed: first.signed,
        ..bare(first.value)
    })
}

fn known(unit: UnitText) -> Option<Unit> {
    match unit.unit {
        SheetUnit::Known(unit) => Some(unit),
        SheetUnit::Dbm => Some(Unit::Dbu),
        _ => None,
    }
}

fn bare(value: f64) -> Measure {
    Measure {
        numbers: Numbers::One(value),
        first_unit: None,
        unit: None,
        tolerance: None,
        or: None,
        signed: false,
        loose_sign: false,
        only_tolerance: false,
        times: false,
    }
}

/// "1k5" and "2M2": the letter stands for the decimal point.
fn infix_prefix(input: &mut &str, first: Number) -> Option<Measure> {
    let mut ahead = *input;
    let parsed: Result<(char, &str)> =
        (one_of(['k', 'K', 'M']), take_while(1..=2, |c: char| c.is_ascii_digit())).parse_next(&mut ahead);
    let (letter, decimals) = parsed.ok()?;
    let _: Result<_> =
        opt((blank, alt((Caseless("ohms"), Caseless("ohm"), "Ω", "\u{2126}")))).parse_next(&mut ahead);
    if ahead.starts_with(char::is_alphanumeric) {
        return None;
    }
    let value: f64 = format!("{}.{decimals}", first.value).parse().ok()?;
    let unit = if letter == 'M' { Unit::Megohm } else { Unit::Kilohm };
    *input = ahead;
    Some(Measure { unit: Some(UnitText { unit: SheetUnit::Known(unit), weighting: None }), ..bare(value) })
}

/// The other end of a range.
fn range_end(
    input: &mut &str,
    convention: Convention,
    first_unit: Option<UnitText>,
) -> Result<(Number, Option<UnitText>)> {
    range_sign.parse_next(input)?;
    let second = number(input, convention)?;
    let second_unit = opt(full_unit).parse_next(input)?;
    let dimension = |unit: UnitText| match unit.unit {
        SheetUnit::Known(unit) => Some(unit.dimension()),
        SheetUnit::Dbm | SheetUnit::Peak(_) | SheetUnit::PeakToPeak(_) => Some(Unit::Dbu.dimension()),
        SheetUnit::Other => None,
    };
    match (first_unit, second_unit) {
        (Some(a), Some(b)) if dimension(a) != dimension(b) => Err(ContextError::from_input(input)),
        // "60 dB - 4" is no range.
        (Some(_), None) => Err(ContextError::from_input(input)),
        (None, None) if input.starts_with(char::is_alphabetic) => Err(ContextError::from_input(input)),
        _ => Ok((second, second_unit)),
    }
}

/// Whether a letter or sign that may begin a unit or word stands near: a row of nothing but numbers is no list of figures, and
/// reading it from each of its numbers takes long.
fn may_end_in_a_unit(input: &str) -> bool {
    const NEAR: usize = 128;
    input.chars().take(NEAR).any(|c| !(c.is_ascii_digit() || is_space(c) || ",.;/|&+-−–".contains(c)))
}

/// The rest of a list, up to its unit.
fn list(input: &mut &str, first: Number, convention: Convention) -> Result<(Vec<f64>, UnitText)> {
    if !may_end_in_a_unit(input) {
        return Err(ContextError::from_input(input));
    }
    let mut values = vec![first.value];
    loop {
        list_sign.parse_next(input)?;
        let next = number(input, convention)?;
        // "Line inputs 8, +24 dBu": a sign that only the second has begins another figure.
        if next.signed && !first.signed && first.value.abs() > 0.0 {
            return Err(ContextError::from_input(input));
        }
        values.push(next.value);
        if let Some(unit) = opt(full_unit).parse_next(input)? {
            return Ok((values, unit));
        }
        if values.len() > 12 {
            return Err(ContextError::from_input(input));
        }
    }
}

/// "44.1 – 48 – 88.2 kHz": three or more that rise, between dashes.
fn dashed_list(input: &mut &str, first: Number, convention: Convention) -> Result<(Vec<f64>, UnitText)> {
    let mut values = vec![first.value];
    loop {
        (blank, one_of(is_dash), blank).parse_next(input)?;
        let value = number(input, convention)?.value;
        if values.last().is_some_and(|last| value <= *last) || values.len() > 12 {
            return Err(ContextError::from_input(input));
        }
        values.push(value);
        if let Some(unit) = opt(full_unit).parse_next(input)? {
            return if values.len() > 2 { Ok((values, unit)) } else { Err(ContextError::from_input(input)) };
        }
    }
}

/// "± 2 dB", "+1/-3 dB", "(± 1 dB)".
fn tolerance(input: &mut &str, figure: Option<Unit>, convention: Convention) -> Result<Tolerance> {
    blank.parse_next(input)?;
    let bracket = opt(one_of(['(', '['])).parse_next(input)?;
    blank.parse_next(input)?;
    let plain = |input: &mut &str| -> Result<(f64, f64)> {
        preceded((plus_minus, blank), |i: &mut &str| number(i, convention))
            .map(|n| (n.value, n.value))
            .parse_next(input)
    };
    let two = |input: &mut &str| -> Result<(f64, f64)> {
        one_of('+').parse_next(input)?;
        let above = number(input, convention)?.value;
        (opt((blank, Caseless("dB"))), blank, opt(one_of(['/', ','])), blank, one_of(is_dash))
            .parse_next(input)?;
        Ok((number(input, convention)?.value, above))
    };
    let (below, above) = alt((plain, two)).parse_next(input)?;
    let text = opt(unit).parse_next(input)?;
    let written = text.and_then(known);
    // "±1 ppm" by itself is of no level.
    if figure.is_none() && text.is_some() && written.is_none() {
        return Err(ContextError::from_input(input));
    }
    not(one_of(|c: char| c.is_alphanumeric())).parse_next(input)?;
    if bracket.is_some() {
        (blank, one_of([')', ']'])).parse_next(input)?;
    }
    let natural = match figure {
        Some(unit) if unit.is_logarithmic() => Unit::Decibel,
        Some(unit) => unit,
        None => Unit::Decibel,
    };
    let unit = written.unwrap_or(natural);
    let fits = match figure {
        Some(figure) => {
            unit == Unit::Percent
                || (unit == Unit::Decibel && figure.dimension().is_logarithmic())
                || (unit.dimension() == figure.dimension() && !unit.is_logarithmic())
        }
        None => true,
    };
    if !fits || below < 0.0 || above < 0.0 {
        return Err(ContextError::from_input(input));
    }
    Ok(Tolerance { below, above, unit, coverage: None })
}

/// The weighting that the unit's spelling implies.
pub(crate) fn implied_weighting(measure: &Measure) -> Option<Weighting> {
    measure.unit.and_then(|unit| unit.weighting)
}
