//! What a decibel refers to, where it is written behind it: "dB re 1 V/Pa", "dB (0 dB = 1 V/µbar)".

use super::is_space;
use gainsay_units::Unit;
use winnow::Result;
use winnow::ascii::Caseless;
use winnow::combinator::{alt, delimited, opt, preceded};
use winnow::prelude::*;
use winnow::token::{one_of, take_while};

fn blank<'a>(input: &mut &'a str) -> Result<&'a str> {
    take_while(0..=2, is_space).parse_next(input)
}

/// The reference behind dB or dBV, as the unit that both make together.
pub(crate) fn reference(input: &mut &str) -> Result<Unit> {
    alt((
        delimited((blank, opt((',', blank)), one_of(['(', '[']), blank), clause, (blank, one_of([')', ']']))),
        preceded((blank, opt((',', blank))), clause),
    ))
    .parse_next(input)
}

fn clause(input: &mut &str) -> Result<Unit> {
    let long = alt((
        Caseless("referred to"),
        Caseless("referenced to"),
        Caseless("relative to"),
        Caseless("bezogen auf"),
        Caseless("rel. to"),
    ));
    let short = alt((
        Caseless("ref."),
        Caseless("réf."),
        Caseless("ref"),
        Caseless("réf"),
        Caseless("rel."),
        Caseless("re."),
        Caseless("re"),
    ));
    let word = alt((long, short));
    let zero = (
        one_of('0'),
        blank,
        opt(alt((Caseless("dBV"), Caseless("dBu"), Caseless("dB")))),
        blank,
        one_of(['=', '≙', '≡']),
    );
    let lead = alt((zero.void(), (word, opt(one_of(':'))).void()));
    preceded((lead, blank), footing).parse_next(input)
}

/// "1 V/Pa", "1V/µbar", "20 µPa", "1 V", "0.775 V".
fn footing(input: &mut &str) -> Result<Unit> {
    let per = (blank, one_of(['/', '∕']), blank);
    let volt = (alt(("1.0", "1,0", "1")), blank, one_of(['V', 'v']));
    let pascal = (opt(('1', blank)), alt((Caseless("pascal"), Caseless("Pa"))));
    let microbar = (
        opt(('1', blank)),
        alt((
            Caseless("µbar"),
            Caseless("μbar"),
            Caseless("ubar"),
            Caseless("microbar"),
            Caseless("dyne/cm²"),
            Caseless("dyn/cm²"),
            Caseless("µb"),
        )),
    );
    let per_2 = (blank, one_of(['/', '∕']), blank);
    let volt_2 = (alt(("1.0", "1,0", "1")), blank, one_of(['V', 'v']));
    alt((
        (volt, per, microbar).value(Unit::DecibelVoltPerMicrobar),
        (volt_2, per_2, pascal).value(Unit::DecibelVoltPerPascal),
        ("20", blank, one_of(['µ', 'μ', 'u']), Caseless("Pa")).value(Unit::DecibelSpl),
        (alt(("0.775", "0,775", "0.7746", "0,7746", "0.78", "0,78")), blank, one_of(['V', 'v']))
            .value(Unit::Dbu),
        (alt(("1.0", "1,0", "1")), blank, one_of(['V', 'v'])).value(Unit::Dbv),
    ))
    .parse_next(input)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn references() {
        for (text, want) in [
            (" re 1 V/Pa", Unit::DecibelVoltPerPascal),
            (" re: 1V/Pa", Unit::DecibelVoltPerPascal),
            (" (0 dB = 1 V/µbar)", Unit::DecibelVoltPerMicrobar),
            (", 0 dB=1V/Pa", Unit::DecibelVoltPerPascal),
            (" (re. 1V/Pa)", Unit::DecibelVoltPerPascal),
            (" bezogen auf 1 V/Pa", Unit::DecibelVoltPerPascal),
            (" re 20 µPa", Unit::DecibelSpl),
            (" re 0.775 V", Unit::Dbu),
            (" re 1 V", Unit::Dbv),
        ] {
            let mut input = text;
            assert_eq!(reference(&mut input).ok(), Some(want), "reading {text:?}");
            assert_eq!(input, "", "what is left of {text:?}");
        }
    }
}
