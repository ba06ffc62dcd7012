//! One source's levels on the continuous axis: everything in dBu.

use crate::columns::Column;
use gainsay_plan::stages::{Contributor, Stage, StageLevels, level};
use gainsay_plan::{Ceiling, Estimate, LevelAnswer, SourceAnswer};

/// Levels at a column.
#[derive(Debug, Clone)]
pub(crate) struct Point {
    pub(crate) column: Column,
    /// Peak of the loudest passage.
    pub(crate) peak: Estimate,
    /// RMS of the quietest passage.
    pub(crate) quiet: Estimate,
    /// A-weighted level of each contributor.
    pub(crate) noise: Vec<(Contributor, f64)>,
    /// dBu of the zero of the column's own unit.
    pub(crate) zero: f64,
}

impl Point {
    /// All noise.
    pub(crate) fn total(&self) -> f64 {
        level(self.noise.iter().map(|(_, db)| power(*db)).sum())
    }
}

/// Which ceiling a line stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum CeilingKind {
    Microphone,
    Booster,
    /// The input at this gain.
    Input,
    /// The output of a preamp of its own.
    Output,
    FullScale,
}

impl CeilingKind {
    pub(crate) const fn words(self) -> &'static str {
        match self {
            Self::Microphone => "microphone’s limit",
            Self::Booster => "booster’s limit",
            Self::Input => "input’s limit",
            Self::Output => "preamp’s limit",
            Self::FullScale => "full scale",
        }
    }

    /// The ceiling of the answer that it belongs to.
    pub(crate) const fn answer(self) -> Ceiling {
        match self {
            Self::Microphone => Ceiling::Microphone,
            Self::Booster => Ceiling::Booster,
            Self::Input | Self::Output | Self::FullScale => Ceiling::Input,
        }
    }
}

/// A ceiling over a stage.
#[derive(Debug, Clone)]
pub(crate) struct CeilingLine {
    pub(crate) kind: CeilingKind,
    pub(crate) column: Column,
    /// In dBu.
    pub(crate) level: f64,
    /// In the unit of its stage.
    pub(crate) own: f64,
    pub(crate) unit: &'static str,
}

/// Levels of a source from air to file.
#[derive(Debug, Clone)]
pub(crate) struct Track {
    pub(crate) points: Vec<Point>,
    pub(crate) ceilings: Vec<CeilingLine>,
    /// dBu of 0 dB SPL; none of an electrical source.
    pub(crate) air: Option<f64>,
    /// dBu of 0 dBFS.
    pub(crate) full_scale: f64,
    /// Gains with the columns between which they lie.
    pub(crate) gains: Vec<(Column, Column, f64)>,
    /// Loss of a pad that is on, with the columns between which it lies.
    pub(crate) pad: Option<(Column, Column, f64)>,
    /// The contributors that are drawn, by their mean share, the largest first.
    pub(crate) strata: Vec<(Contributor, f64)>,
}

/// Contributors of at least this share have a stratum and a label of their own (the others are named together).
pub(crate) const LEAST_SHARE: f64 = 0.01;

/// A level as a power.
fn power(db: f64) -> f64 {
    gainsay_units::Decibels::new(db).power_ratio()
}

fn moved(estimate: Estimate, by: f64) -> Estimate {
    Estimate { median: estimate.median + by, low: estimate.low + by, high: estimate.high + by }
}

impl Track {
    /// From an answer; none without an input, or without stages.
    pub(crate) fn new(source: &SourceAnswer) -> Option<Self> {
        let result = source.result.as_ref()?;
        let stage = |wanted: Stage| result.stages.iter().find(|s| s.stage == wanted);
        let file = stage(Stage::File)?;
        let last = result.stages.iter().rev().find(|s| s.stage != Stage::File)?;
        let full_scale = last.peak - file.peak;
        let air = match (stage(Stage::Air), stage(Stage::Microphone)) {
            (Some(air), Some(microphone)) => Some(microphone.peak - air.peak),
            _ => None,
        };
        let mut points = Vec::new();
        for levels in &result.stages {
            let zero = match levels.stage {
                Stage::Air => air?,
                Stage::File => full_scale,
                _ => 0.0,
            };
            let mut noise = noise_at(levels, zero);
            if levels.stage == Stage::BoosterIn {
                // The booster's noise is stated at its input, and first counted behind its gain.
                let behind = stage(Stage::BoosterOut);
                let own =
                    behind.and_then(|b| noise_at(b, 0.0).into_iter().find(|n| n.0 == Contributor::Booster));
                let gain = behind.and_then(|b| b.gain);
                if let (Some((contributor, db)), Some(gain)) = (own, gain) {
                    noise.push((contributor, db - gain.db()));
                }
            }
            let (peak, quiet) = estimates(result, levels);
            let (peak, quiet) = (moved(peak, zero), moved(quiet, zero));
            if levels.stage == Stage::File {
                let mut converted = noise.clone();
                converted.retain(|(contributor, _)| *contributor != Contributor::Dither);
                points.push(Point { column: Column::Converter, peak, quiet, noise: converted, zero: 0.0 });
            }
            points.push(Point { column: Column::of(levels.stage), peak, quiet, noise, zero });
        }
        let mut strata: Vec<(Contributor, f64)> =
            result.noise_shares.iter().map(|share| (share.contributor, share.mean)).collect();
        strata.sort_by(|a, b| b.1.total_cmp(&a.1));
        Some(Self {
            ceilings: ceilings(&result.stages, air),
            gains: gains(result),
            pad: pad(result),
            points,
            air,
            full_scale,
            strata,
        })
    }

    pub(crate) fn point(&self, column: Column) -> Option<&Point> {
        self.points.iter().find(|point| point.column == column)
    }

    /// Strata with a share large enough to be drawn.
    pub(crate) fn drawn_strata(&self) -> impl Iterator<Item = (Contributor, f64)> + '_ {
        self.strata.iter().copied().filter(|(_, share)| *share >= LEAST_SHARE)
    }

    /// Contributors too small to be drawn.
    pub(crate) fn rest(&self) -> impl Iterator<Item = (Contributor, f64)> + '_ {
        self.strata.iter().copied().filter(|(_, share)| *share < LEAST_SHARE)
    }
}

fn noise_at(levels: &StageLevels, zero: f64) -> Vec<(Contributor, f64)> {
    levels
        .noise
        .iter()
        .filter(|c| c.a_weighted > 0.0)
        .map(|c| (c.contributor, level(c.a_weighted) + zero))
        .collect()
}

/// Peak and quietest passage at a stage in its own unit, with their intervals: its own where it has them; before a gain those of
/// the stage before, else those of the stage behind, moved to its best estimate.
fn estimates(result: &LevelAnswer, levels: &StageLevels) -> (Estimate, Estimate) {
    if levels.stage == Stage::File {
        return (result.peak_dbfs, result.quiet_dbfs);
    }
    if let Some(own) = result.stage_intervals.iter().find(|i| i.stage == levels.stage) {
        return (own.peak, own.quiet);
    }
    let like = if levels.stage == Stage::BoosterIn {
        result.stage_intervals.iter().rev().find(|i| i.stage < levels.stage)
    } else {
        result.stage_intervals.iter().find(|i| i.stage > levels.stage)
    };
    let like = like.and_then(|i| result.stages.iter().find(|s| s.stage == i.stage).map(|best| (i, best)));
    match like {
        Some((interval, best)) => {
            (moved(interval.peak, levels.peak - best.peak), moved(interval.quiet, levels.quiet - best.quiet))
        }
        None => {
            let exact = |value: f64| Estimate { median: value, low: value, high: value };
            (exact(levels.peak), exact(levels.quiet))
        }
    }
}

fn ceilings(stages: &[StageLevels], air: Option<f64>) -> Vec<CeilingLine> {
    let has_line = stages.iter().any(|s| s.stage == Stage::LineIn);
    stages
        .iter()
        .filter_map(|levels| {
            let own = levels.ceiling?;
            let kind = match levels.stage {
                Stage::Air => CeilingKind::Microphone,
                Stage::BoosterOut => CeilingKind::Booster,
                Stage::PreampIn => CeilingKind::Input,
                Stage::PreampOut if has_line => CeilingKind::Output,
                Stage::PreampOut | Stage::LineIn => CeilingKind::FullScale,
                Stage::Microphone | Stage::BoosterIn | Stage::File => return None,
            };
            let zero = if levels.stage == Stage::Air { air? } else { 0.0 };
            let column = Column::of(levels.stage);
            Some(CeilingLine { kind, column, level: own + zero, own, unit: levels.stage.unit() })
        })
        .collect()
}

fn gains(result: &LevelAnswer) -> Vec<(Column, Column, f64)> {
    result
        .stages
        .windows(2)
        .filter_map(|pair| {
            let [before, behind] = pair else { return None };
            let gain = behind.gain?.db();
            // The control says what it is set to; its error is the picture's own business.
            let gain = if behind.stage == Stage::PreampOut { result.gain_db.unwrap_or(gain) } else { gain };
            Some((Column::of(before.stage), Column::of(behind.stage), gain))
        })
        .collect()
}

fn pad(result: &LevelAnswer) -> Option<(Column, Column, f64)> {
    let at = result.stages.iter().position(|s| s.stage == Stage::PreampIn)?;
    let before = result.stages.get(at.checked_sub(1)?)?;
    (result.pad_db > 0.0).then(|| (Column::of(before.stage), Column::PreampIn, -result.pad_db))
}
