//! Tables of published values (see README.md beside them), and how far a result is off one.

#![allow(dead_code, reason = "each test program uses some of the tables")]
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "only tests use this")]

/// A table with a header, its cells apart by commas.
pub(crate) struct Table {
    name: &'static str,
    header: Vec<&'static str>,
    rows: Vec<Vec<&'static str>>,
}

impl Table {
    /// How many rows there are below the header.
    pub(crate) fn len(&self) -> usize {
        self.rows.len()
    }

    /// The text of a cell; empty where the row ends before it.
    pub(crate) fn text(&self, row: usize, column: &str) -> &'static str {
        let at = self
            .header
            .iter()
            .position(|name| *name == column)
            .unwrap_or_else(|| panic!("{} has no column {column:?}, only {:?}", self.name, self.header));
        self.rows[row].get(at).copied().unwrap_or_default()
    }

    /// The number in a cell.
    pub(crate) fn number(&self, row: usize, column: &str) -> f64 {
        let text = self.text(row, column);
        text.parse()
            .unwrap_or_else(|_| panic!("{}, row {row}, {column}: {text:?} is not a number", self.name))
    }

    /// The row whose cell in `column` is this number.
    pub(crate) fn row_where(&self, column: &str, number: f64) -> usize {
        (0..self.len())
            .find(|&row| (self.number(row, column) - number).abs() < 1e-9)
            .unwrap_or_else(|| panic!("{} has no row where {column} is {number}", self.name))
    }
}

fn read(name: &'static str, text: &'static str) -> Table {
    let mut lines = text.lines().filter(|line| !line.trim().is_empty()).map(|line| line.split(',').collect());
    let header = lines.next().unwrap();
    Table { name, header, rows: lines.collect() }
}

macro_rules! tables {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {
        $($(#[$doc])*
        pub(crate) fn $name() -> Table {
            read(stringify!($name), include_str!(concat!(stringify!($name), ".csv")))
        })+
    };
}

tables! {
    /// IEC 61672-1:2013.
    weighting_a_c,
    /// ITU-R BS.468-4.
    weighting_bs468,
    /// IEC 61260-1:2014.
    third_octave_bands,
    /// IEC 61260-1:2014.
    octave_bands,
    /// ISO/R 1996:1971.
    nr_coefficients,
    /// ISO/R 1996:1971 and ANSI S12.2.
    room_noise_curves,
    /// ISO 389-7.
    iso389_7_thresholds,
    /// Nyquist 1928.
    thermal_noise,
}

/// Fails where `got` is farther than `tolerance` from `want`, saying by how much.
#[track_caller]
pub(crate) fn near(what: impl std::fmt::Display, got: f64, want: f64, tolerance: f64) {
    let off = got - want;
    // NaN is near nothing.
    assert!(off.abs() <= tolerance, "{what}: got {got}, want {want}: off by {off:+.6}, allowed {tolerance}");
}
