//! The grammar of figures: numbers, units, ranges, lists, tolerances and references.

mod measure;
mod number;
mod reference;
mod unit;

pub(crate) use measure::{Measure, Numbers, between, implied_weighting, measure};
pub(crate) use number::Convention;
pub(crate) use unit::{SheetUnit, UnitText, lone_unit};

/// Spaces of every width that separate words on one line, and the end of a line inside a paragraph.
pub(crate) const fn is_space(c: char) -> bool {
    matches!(
        c,
        ' ' | '\t' | '\n' | '\r' | '\u{a0}' | '\u{2002}'
            ..='\u{200b}' | '\u{202f}' | '\u{205f}' | '\u{2060}' | '\u{3000}' | '\u{feff}'
    )
}

/// Dashes and minus signs.
pub(crate) const fn is_dash(c: char) -> bool {
    matches!(c, '-' | '−' | '–' | '—' | '‐' | '‑' | '‒' | '﹣' | '－')
}
