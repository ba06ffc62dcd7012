//! `gainsay options`.

use crate::exit::{Exit, Failure};
use crate::output;
use clap::{Args, ValueHint};
use gainsay_plan::Options as Effort;
use std::ops::ControlFlow;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct Options {
    /// The case's TOML file; the embedded demo if not given
    #[arg(value_hint = ValueHint::FilePath)]
    case: Option<PathBuf>,
    /// Print everything as JSON, with units in the field names
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(arguments: &Options) -> Result<Exit, Failure> {
    let case = super::load(arguments.case.as_ref())?;
    let with = Effort { draws: gainsay_plan::Draws::default(), stage_intervals: false };
    let answer = gainsay_plan::options::options(&case, with, &mut |_| ControlFlow::Continue(()))
        .map_err(|error| Failure::Output(error.to_string(), "report it".to_owned()))?;
    if arguments.json {
        output::print(&super::check::json(&answer)?)?;
    } else {
        output::print(&answer.answer.join("\n"))?;
    }
    Ok(Exit::Answered)
}
