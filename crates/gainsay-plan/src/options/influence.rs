//! What each source's result depends on.

use crate::case::Case;
use crate::chain::Chain;
use crate::check::{Judge, Options, Swing};
use crate::words;
use serde::Serialize;

/// How many figures are told of each source.
const MOST_FIGURES: usize = 6;

/// What a source's result depends on, the strongest first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SourceInfluences {
    /// The source.
    pub source: String,
    /// The figures.
    pub figures: Vec<Influence>,
}

/// What a figure's uncertainty does to a source: the mean of the draws in its lowest and in its highest tenth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Influence {
    /// The figure.
    pub figure: String,
    /// Its key.
    #[serde(skip)]
    pub key: String,
    /// Its lowest tenth, in words.
    pub low: String,
    /// Its highest tenth.
    pub high: String,
    /// What a perfect preamp would gain with the lowest tenth.
    pub penalty_low_db: f64,
    /// The same with the highest.
    pub penalty_high_db: f64,
    /// Probability that the source is enough with the lowest tenth.
    pub chance_low: f64,
    /// The same with the highest.
    pub chance_high: f64,
}

impl Influence {
    /// How far the penalty moves.
    #[must_use]
    pub fn swing_db(&self) -> f64 {
        (self.penalty_high_db - self.penalty_low_db).abs()
    }
}

pub(super) fn influences(
    chains: &[Option<(Chain, Vec<u8>)>],
    case: &Case,
    with: Options,
) -> Vec<SourceInfluences> {
    let mut judge = Judge::new(case, with);
    let mut all = Vec::new();
    for (chain, _) in chains.iter().flatten() {
        let mut figures: Vec<Influence> =
            judge.swings(chain).iter().filter_map(|swing| influence(chain, swing)).collect();
        judge.forget_source();
        let strength =
            |figure: &Influence| figure.swing_db() + 10.0 * (figure.chance_high - figure.chance_low).abs();
        figures.sort_by(|a, b| strength(b).total_cmp(&strength(a)));
        figures.truncate(MOST_FIGURES);
        // What moves nothing that anyone could read is left out.
        figures.retain(|figure| strength(figure) >= 0.05);
        all.push(SourceInfluences { source: chain.source.clone(), figures });
    }
    all
}

fn influence(chain: &Chain, swing: &Swing) -> Option<Influence> {
    let parameter = chain.parameter(swing.id)?;
    let value = |value: f64| words::options::value(parameter, value);
    Some(Influence {
        figure: parameter.label.clone(),
        key: parameter.key.clone(),
        low: value(swing.low.value),
        high: value(swing.high.value),
        penalty_low_db: swing.low.penalty_db,
        penalty_high_db: swing.high.penalty_db,
        chance_low: swing.low.enough,
        chance_high: swing.high.enough,
    })
}
