//! The stages as columns.

use gainsay_plan::stages::Stage;

/// A place in the chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Column {
    Air,
    Microphone,
    BoosterIn,
    BoosterOut,
    PreampIn,
    PreampOut,
    LineIn,
    /// Where the signal becomes numbers; its levels are those of the stage before it.
    Converter,
    File,
}

impl Column {
    const ALL: [Self; 9] = [
        Self::Air,
        Self::Microphone,
        Self::BoosterIn,
        Self::BoosterOut,
        Self::PreampIn,
        Self::PreampOut,
        Self::LineIn,
        Self::Converter,
        Self::File,
    ];

    pub(crate) const fn of(stage: Stage) -> Self {
        match stage {
            Stage::Air => Self::Air,
            Stage::Microphone => Self::Microphone,
            Stage::BoosterIn => Self::BoosterIn,
            Stage::BoosterOut => Self::BoosterOut,
            Stage::PreampIn => Self::PreampIn,
            Stage::PreampOut => Self::PreampOut,
            Stage::LineIn => Self::LineIn,
            Stage::File => Self::File,
        }
    }

    pub(crate) const fn words(self) -> &'static str {
        match self {
            Self::Air => Stage::Air.words(),
            Self::Microphone => Stage::Microphone.words(),
            Self::BoosterIn => Stage::BoosterIn.words(),
            Self::BoosterOut => Stage::BoosterOut.words(),
            Self::PreampIn => Stage::PreampIn.words(),
            Self::PreampOut => Stage::PreampOut.words(),
            Self::LineIn => Stage::LineIn.words(),
            Self::Converter => "converter",
            Self::File => Stage::File.words(),
        }
    }

    /// How much room the way to this column takes: gain wants more.
    const fn room_before(self) -> f64 {
        match self {
            Self::BoosterOut | Self::PreampOut => 1.25,
            Self::BoosterIn => 0.7,
            Self::LineIn | Self::Converter => 0.8,
            _ => 1.0,
        }
    }
}

/// The columns that a picture has, each with its position from 0 to 1.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Columns {
    places: Vec<(Column, f64)>,
}

impl Columns {
    /// From the columns that its lanes have.
    pub(crate) fn new(present: impl IntoIterator<Item = Column>) -> Self {
        let present: Vec<Column> = present.into_iter().collect();
        let mut places = Vec::new();
        let mut at = 0.0;
        for column in Column::ALL.into_iter().filter(|column| present.contains(column)) {
            if !places.is_empty() {
                at += column.room_before();
            }
            places.push((column, at));
        }
        if at > 0.0 {
            places.iter_mut().for_each(|(_, place)| *place /= at);
        }
        Self { places }
    }

    /// Position of a column; 0 for one that the picture does not have.
    pub(crate) fn position(&self, column: Column) -> f64 {
        self.places.iter().find(|(known, _)| *known == column).map_or(0.0, |(_, place)| *place)
    }

    pub(crate) fn iter(&self) -> impl DoubleEndedIterator<Item = (Column, f64)> + '_ {
        self.places.iter().copied()
    }
}
