//! Figures as fields of a file: what was written, where, and once resolved the typed figure.

use crate::{Figure, Measurable, Origin, Problem, Quantity, RawFigure};
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::{Deserialize, Deserializer};
use serde_spanned::Spanned;
use std::borrow::Cow;
use std::ops::Range;

/// A figure in a file.
///
/// Reading a file keeps the text; [`FileStruct::resolve`] turns it into a typed figure and reports every one that can't be
/// read, not only the first.
#[derive(Debug, Clone, PartialEq)]
pub struct Stated<T> {
    raw: RawFigure,
    span: Range<usize>,
    figure: Option<Figure<T>>,
    replaced: Option<Figure<T>>,
}

/// A figure of a file as a row of a list: its field, what is used, and what a measurement has replaced.
#[derive(Debug, Clone, PartialEq)]
pub struct FigureRow {
    /// Name of its field.
    pub field: &'static str,
    /// The figure that is used, as it was written.
    pub written: String,
    /// Where that came from.
    pub origin: Origin,
    /// What the file states beside a measured figure, as it was written, and where that came from.
    pub replaced: Option<(String, Origin)>,
    /// A source or remark.
    pub note: Option<String>,
}

impl<T: Measurable> Stated<T> {
    /// A figure that stands in no file.
    #[must_use]
    pub fn from_figure(figure: Figure<T>) -> Self {
        Self {
            raw: RawFigure { value: figure.written.clone(), ..RawFigure::default() },
            span: 0..0,
            figure: Some(figure),
            replaced: None,
        }
    }

    /// The typed figure; none before it is resolved, or where it could not be read.
    #[must_use]
    pub fn figure(&self) -> Option<&Figure<T>> {
        self.figure.as_ref()
    }

    /// What the file states beside the measured figure that is used in its place; none where nothing was measured.
    #[must_use]
    pub fn replaced(&self) -> Option<&Figure<T>> {
        self.replaced.as_ref()
    }

    /// The quantity as written, if it can be read: the measured one where there is one.
    #[must_use]
    pub fn quantity(&self) -> Option<Quantity> {
        let stated = self.raw.quantity().ok()?;
        Some(self.raw.measured_quantity().ok()?.unwrap_or(stated))
    }

    /// As a row of a list; none before it is resolved, or where it could not be read.
    #[must_use]
    pub fn row(&self, field: &'static str) -> Option<FigureRow> {
        let figure = self.figure.as_ref()?;
        Some(FigureRow {
            field,
            written: figure.written.clone(),
            origin: figure.origin,
            replaced: self.replaced.as_ref().map(|stated| (stated.written.clone(), stated.origin)),
            note: figure.note.clone(),
        })
    }

    /// Bytes of the file where it stands.
    #[must_use]
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Reads the text as a typed figure. `default_origin` holds where the file does not say where the figure came from. A
    /// measured figure takes the place of the stated one, which is kept beside it.
    pub fn resolve(&mut self, default_origin: Origin, problems: &mut Vec<Problem>) {
        let origin = self.raw.from.unwrap_or(default_origin);
        let read = self.raw.quantity().and_then(|stated| Ok((stated, self.raw.measured_quantity()?)));
        let (stated, measured) = match read {
            Ok(read) => read,
            Err(error) => {
                problems.push(Problem::new(self.span(), error.message(), error.mend()));
                return;
            }
        };
        let stated = self.typed(&stated, origin, problems);
        let measured = measured.map(|quantity| self.typed(&quantity, Origin::Measured, problems));
        (self.figure, self.replaced) = match measured {
            None => (stated, None),
            Some(None) => (None, None),
            Some(Some(measured)) => (Some(measured), stated),
        };
    }

    /// A quantity as a figure; none, and a problem, where it measures something else or is not possible.
    fn typed(&self, quantity: &Quantity, origin: Origin, problems: &mut Vec<Problem>) -> Option<Figure<T>> {
        match Figure::<T>::from_quantity(quantity, origin) {
            Ok(figure) => {
                let (low, high) = T::DIMENSION.possible();
                let base = figure.value.to_base();
                if base < low || base > high {
                    problems.push(Problem::new(
                        self.span(),
                        format!("{} is not possible for {}", figure.written, T::DIMENSION.words()),
                        format!("it lies between {low} and {high} {}", T::DIMENSION.base_unit()),
                    ));
                    return None;
                }
                Some(Figure { note: self.raw.note.clone(), ..figure })
            }
            Err(error) => {
                problems.push(Problem::new(self.span(), error.message(), error.mend()));
                None
            }
        }
    }

    /// The same figure, marked as typical for its kind.
    #[must_use]
    pub fn as_typical(&self) -> Self {
        Self {
            raw: self.raw.clone(),
            span: 0..0,
            figure: self.figure.as_ref().map(Figure::as_typical),
            replaced: self.replaced.as_ref().map(Figure::as_typical),
        }
    }
}

impl<'de, T> Deserialize<'de> for Stated<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let spanned = Spanned::<RawFigure>::deserialize(deserializer)?;
        Ok(Self { span: spanned.span(), raw: spanned.into_inner(), figure: None, replaced: None })
    }
}

impl<T: Measurable> JsonSchema for Stated<T> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        RawFigure::schema_name()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let mut schema = generator.subschema_for::<RawFigure>();
        schema.insert("examples".to_owned(), vec![T::DIMENSION.example()].into());
        schema
    }
}

/// A table of a file whose figures can be resolved and filled from another of its kind.
pub trait FileStruct {
    /// Turns every figure into a typed one; what can't be read is added to `problems`.
    fn resolve(&mut self, default_origin: Origin, problems: &mut Vec<Problem>);

    /// Takes what is not given from `typical`, marked as typical.
    fn fill_from(&mut self, typical: &Self);
}

/// A table of a file that lists its figures.
pub trait FigureRows {
    /// Every figure that is there and could be read, in the order in which the table is documented.
    fn figure_rows(&self) -> Vec<FigureRow>;
}

/// Defines a table of a file: its struct with figures and other fields, all optional, and [`FileStruct`] for it.
///
/// The documentation of the fields is the text of the JSON Schema and of the reference.
#[macro_export]
macro_rules! file_struct {
    (
        $(#[$meta:meta])*
        pub struct $name:ident {
            figures { $( $(#[$figure_meta:meta])* $figure:ident: $measure:ty, )* }
            fields { $( $(#[$field_meta:meta])* $field:ident: $type:ty, )* }
        }
    ) => {
        $(#[$meta])*
        #[derive(Debug, Clone, PartialEq, Default, ::serde::Deserialize, ::schemars::JsonSchema)]
        #[serde(deny_unknown_fields, default)]
        pub struct $name {
            $( $(#[$field_meta])* pub $field: Option<$type>, )*
            $( $(#[$figure_meta])* pub $figure: Option<$crate::Stated<$measure>>, )*
        }

        impl $crate::FileStruct for $name {
            fn resolve(&mut self, default_origin: $crate::Origin, problems: &mut Vec<$crate::Problem>) {
                let _ = (&default_origin, &problems);
                $( if let Some(stated) = &mut self.$figure { stated.resolve(default_origin, problems); } )*
            }

            fn fill_from(&mut self, typical: &Self) {
                $( if self.$figure.is_none() {
                    self.$figure = typical.$figure.as_ref().map($crate::Stated::as_typical);
                } )*
                $( if self.$field.is_none() { self.$field.clone_from(&typical.$field); } )*
            }
        }

        impl $crate::FigureRows for $name {
            fn figure_rows(&self) -> Vec<$crate::FigureRow> {
                let rows: Vec<Option<$crate::FigureRow>> = vec![
                    $( self.$figure.as_ref().and_then(|stated| stated.row(stringify!($figure))), )*
                ];
                rows.into_iter().flatten().collect()
            }
        }
    };
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Dbu, Ohms, Sensitivity, Spread, Weighting};

    fn stated<T: Measurable>(value: &str, from: Option<Origin>, measured: &str) -> (Stated<T>, Vec<Problem>) {
        let raw = RawFigure {
            value: value.to_owned(),
            from,
            measured: Some(measured.to_owned()),
            note: Some("at 20 °C".to_owned()),
            ..RawFigure::default()
        };
        let mut stated = Stated { raw, span: 3..9, figure: None, replaced: None };
        let mut problems = Vec::new();
        stated.resolve(Origin::Sheet, &mut problems);
        (stated, problems)
    }

    #[test]
    fn a_measured_figure_is_used_and_the_sheets_is_kept() {
        let (ein, problems) = stated::<Dbu>("-128 dBu", None, "-127.2 dBu ± 0.3 dB");
        assert_eq!(problems, []);
        let used = ein.figure().unwrap();
        assert_eq!((used.value, used.origin), (Dbu::new(-127.2), Origin::Measured));
        assert_eq!(used.note.as_deref(), Some("at 20 °C"));
        assert_eq!(used.written, "−127.2 dBu ± 0.3 dB");
        match used.spread {
            Spread::Rectangular { below, above } => {
                assert!(
                    (below - 0.3).abs() < 1e-12 && (above - 0.3).abs() < 1e-12,
                    "−{below} +{above} dB, want 0.3"
                );
            }
            other => panic!("{other:?}, not rectangular"),
        }
        let sheet = ein.replaced().unwrap();
        assert_eq!((sheet.value, sheet.origin), (Dbu::new(-128.0), Origin::Sheet));
        assert_eq!(sheet.written, "−128 dBu");
        assert_eq!(ein.quantity().unwrap().to_string(), "−127.2 dBu ± 0.3 dB");
        let row = ein.row("ein").unwrap();
        assert_eq!((row.field, row.origin), ("ein", Origin::Measured));
        assert_eq!(row.replaced, Some(("−128 dBu".to_owned(), Origin::Sheet)));
    }

    #[test]
    fn conditions_that_the_measurement_leaves_out_are_those_of_the_value() {
        let (ein, _) = stated::<Dbu>("-128 dBu (A-weighted, 150 ohm)", None, "-127 dBu");
        let conditions = ein.figure().unwrap().conditions;
        assert_eq!(conditions.weighting, Some(Weighting::A));
        assert_eq!(conditions.source_impedance, Some(Ohms::new(150.0)));
        let (ein, _) =
            stated::<Dbu>("-128 dBu (A-weighted, 150 ohm)", None, "-125 dBu (unweighted, 200 ohm)");
        let conditions = ein.figure().unwrap().conditions;
        assert_eq!(conditions.weighting, Some(Weighting::Flat));
        assert_eq!(conditions.source_impedance, Some(Ohms::new(200.0)));
    }

    #[test]
    fn the_value_says_where_it_came_from_and_cannot_be_measured_too() {
        let (given, problems) = stated::<Dbu>("-128 dBu", Some(Origin::Given), "-127 dBu");
        assert_eq!(problems, []);
        assert_eq!(given.replaced().map(|figure| figure.origin), Some(Origin::Given));
        let (twice, problems) = stated::<Dbu>("-128 dBu", Some(Origin::Measured), "-127 dBu");
        assert!(twice.figure().is_none());
        assert!(problems[0].message.contains("two measured"), "{problems:?}");
        assert_eq!(problems[0].span, 3..9);
    }

    #[test]
    fn a_wrong_measured_figure_is_refused_and_the_sheets_does_not_slip_in() {
        for (measured, words) in
            [("150 ohm", "a resistance"), ("loud", ""), ("400 dBu", "not possible"), ("", "")]
        {
            let (ein, problems) = stated::<Dbu>("-128 dBu", None, measured);
            assert!(ein.figure().is_none() && ein.replaced().is_none(), "{measured}: {ein:?}");
            assert_eq!(problems.len(), 1, "{measured}: {problems:?}");
            assert!(problems[0].message.contains(words), "{measured}: {problems:?}");
        }
    }

    #[test]
    fn units_of_both_may_differ() {
        let (sensitivity, problems) = stated::<Sensitivity>("-56 dBV/Pa ± 2 dB", None, "1.7 mV/Pa ± 3 %");
        assert_eq!(problems, []);
        let used = sensitivity.figure().unwrap().value.volts_per_pascal();
        assert!((used - 1.7e-3).abs() < 1e-15, "{used} V/Pa, want 0.0017");
        assert_eq!(sensitivity.replaced().unwrap().written, "−56 dBV/Pa ± 2 dB");
    }

    #[test]
    fn typical_figures_keep_both_and_are_marked() {
        let (ein, _) = stated::<Dbu>("-128 dBu", None, "-127 dBu");
        let typical = ein.as_typical();
        assert_eq!(typical.figure().map(|figure| figure.origin), Some(Origin::Typical));
        assert_eq!(typical.replaced().map(|figure| figure.origin), Some(Origin::Typical));
    }
}
