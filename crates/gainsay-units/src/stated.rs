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
}

impl<T: Measurable> Stated<T> {
    /// A figure that stands in no file.
    #[must_use]
    pub fn from_figure(figure: Figure<T>) -> Self {
        Self {
            raw: RawFigure { value: figure.written.clone(), ..RawFigure::default() },
            span: 0..0,
            figure: Some(figure),
        }
    }

    /// The typed figure; none before it is resolved, or where it could not be read.
    #[must_use]
    pub fn figure(&self) -> Option<&Figure<T>> {
        self.figure.as_ref()
    }

    /// The quantity as written, if it can be read.
    #[must_use]
    pub fn quantity(&self) -> Option<Quantity> {
        self.raw.quantity().ok()
    }

    /// Bytes of the file where it stands.
    #[must_use]
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Reads the text as a typed figure. `default_origin` holds where the file does not say where the figure came from.
    pub fn resolve(&mut self, default_origin: Origin, problems: &mut Vec<Problem>) {
        let origin = self.raw.from.unwrap_or(default_origin);
        match self.raw.quantity().and_then(|quantity| Figure::<T>::from_quantity(&quantity, origin)) {
            Ok(mut figure) => {
                let (low, high) = T::DIMENSION.possible();
                let base = figure.value.to_base();
                if base < low || base > high {
                    problems.push(Problem::new(
                        self.span(),
                        format!("{} is not possible for {}", figure.written, T::DIMENSION.words()),
                        format!("it lies between {low} and {high} {}", T::DIMENSION.base_unit()),
                    ));
                    return;
                }
                figure.note.clone_from(&self.raw.note);
                self.figure = Some(figure);
            }
            Err(error) => problems.push(Problem::new(self.span(), error.message(), error.mend())),
        }
    }

    /// The same figure, marked as typical for its kind.
    #[must_use]
    pub fn as_typical(&self) -> Self {
        Self { raw: self.raw.clone(), span: 0..0, figure: self.figure.as_ref().map(Figure::as_typical) }
    }
}

impl<'de, T> Deserialize<'de> for Stated<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let spanned = Spanned::<RawFigure>::deserialize(deserializer)?;
        Ok(Self { span: spanned.span(), raw: spanned.into_inner(), figure: None })
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
    };
}
