//! `gainsay options`: what would be enough, for how much, and what to ask next.

mod progress;
mod search;
mod spreadsheet;
mod text;

use crate::arguments::DrawArguments;
use crate::exit::{Exit, Failure};
use crate::output;
use clap::{Args, ValueHint};
use gainsay_plan::options::OptionsAnswer;
use gainsay_plan::{Options as Effort, Price, Verdict};
use std::path::PathBuf;
use std::time::Duration;

#[derive(Debug, Args)]
#[command(after_help = "\
Every set of additions and changes that the case allows ([[option]]) is weighed: first that every source has an input, then that \
nothing is short, then that nothing is tight, then the price, then the fewest changes. Prices are numbers in one currency, \
whichever it is.

Ctrl-C, or the end of the time limit, ends the search with the best so far, and the answer says so. A second Ctrl-C ends at \
once, with exit code 130; so does the first where there is no answer two seconds later.")]
pub(crate) struct Options {
    /// The case's TOML file; the embedded demo if not given
    #[arg(value_hint = ValueHint::FilePath)]
    case: Option<PathBuf>,
    /// The most that may be spent, instead of the case's own budget; 0 for nothing
    #[arg(long, value_name = "N", value_parser = budget, allow_hyphen_values = true)]
    budget: Option<Price>,
    /// Print everything as JSON, with units in the field names
    #[arg(long)]
    json: bool,
    /// Print the plans as a table for spreadsheets, a row a plan
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// Write a picture of the plans, price against result, to this SVG file
    #[arg(long, value_name = "FILE.svg", value_hint = ValueHint::FilePath)]
    plot: Option<PathBuf>,
    /// Say of every source what its result depends on, not only of those that are in doubt
    #[arg(long)]
    all: bool,
    /// End with exit code 4 if something is short even in the plan to follow
    #[arg(long)]
    strict: bool,
    /// Take the best so far after so many seconds; then the answer depends on how fast the machine is
    #[arg(long, value_name = "SECONDS", value_parser = seconds, allow_hyphen_values = true)]
    time_limit: Option<Duration>,
    /// Draws and seed
    #[command(flatten)]
    draws: DrawArguments,
}

fn budget(text: &str) -> Result<Price, String> {
    text.trim()
        .parse()
        .ok()
        .and_then(Price::of_units)
        .ok_or_else(|| "write a number without a currency, 0 or more, such as 180".to_owned())
}

fn seconds(text: &str) -> Result<Duration, String> {
    text.trim()
        .parse()
        .ok()
        .filter(|seconds: &f64| *seconds > 0.0)
        .and_then(|seconds| Duration::try_from_secs_f64(seconds).ok())
        .ok_or_else(|| "write a number of seconds above 0, such as 20".to_owned())
}

pub(crate) fn run(arguments: &Options) -> Result<Exit, Failure> {
    let mut case = super::load(arguments.case.as_ref())?;
    if arguments.budget.is_some() {
        case.additions.budget = arguments.budget;
    }
    let with = Effort { draws: arguments.draws.draws(), stage_intervals: false };
    let answer = search::run(case, with, arguments.time_limit)?;
    if let Some(path) = &arguments.plot {
        let style = gainsay_picture::Style { prefix: "options", ..gainsay_picture::Style::default() };
        output::write_file(path, &gainsay_picture::options_frontier(&answer, &style))?;
    }
    if arguments.json {
        output::print(&super::check::json(&answer)?)?;
    } else if arguments.csv {
        output::print(spreadsheet::text(&answer)?.trim_end())?;
    } else {
        output::print(&text::text(&answer, arguments.all))?;
        if let Some(path) = &arguments.plot {
            output::print(&format!("\nPicture of the options: {}", path.display()))?;
        }
    }
    let short = arguments.strict && to_follow(&answer).verdict == Verdict::Short;
    Ok(if short { Exit::Short } else { Exit::Answered })
}

/// The plan to follow; what there is where the search was stopped before it found one.
fn to_follow(answer: &OptionsAnswer) -> &gainsay_plan::options::Plan {
    answer.frontier.get(answer.recommended).unwrap_or(&answer.today)
}
