//! A case: levels, noise, inputs, verdicts.
//!
//! ```text
//! case files ─ CaseFile ─ assemble ─ Case ─ patch::best ─ Patch
//!                                      └─ Chain per source ─ stages (best estimate)
//!                                                          └ kernel (draws) ─ check ─ Answer
//! ```
//!
//! Pure computation: no files, clocks, threads or sockets.

mod answer;
pub mod case;
pub mod chain;
mod check;
mod draws;
mod ein;
pub mod footing;
pub mod information;
mod kernel;
pub mod network;
pub mod options;
pub mod patch;
mod price;
pub mod stages;
pub mod thresholds;
mod unfold;
mod what_if;
pub mod words;

pub use answer::{
    Answer, Ask, Assumption, BoosterAnswer, CeilingAnswer, Estimate, InputsAnswer, LevelAnswer, Limit, Share,
    SourceAnswer, StageInterval, Verdict,
};
pub use case::Case;
pub use chain::Chain;
pub use check::{Options, chain_of, check, check_one};
pub use draws::Draws;
pub use kernel::Ceiling;
pub use price::Price;
pub use unfold::{Ingredient, Step, UnfoldedStage, unfold};
pub use what_if::WhatIf;
