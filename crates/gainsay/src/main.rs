//! Gainsay's command line: a thin face on the crates below it.

mod arguments;
mod commands;
mod exit;
mod output;
mod problems;

use arguments::{Arguments, Command};
use clap::Parser;
use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let result = match arguments.command {
        None => commands::serve::run(&commands::serve::Serve::default()),
        Some(Command::Check(check)) => commands::check::run(&check),
        Some(Command::Patch(patch)) => commands::patch::run(&patch),
        Some(Command::Options(options)) => commands::options::run(&options),
        Some(Command::Serve(serve)) => commands::serve::run(&serve),
        Some(Command::Sheet(sheet)) => commands::sheet::run(&sheet),
        Some(Command::Compare(compare)) => commands::compare::run(&compare),
        Some(Command::Gear(gear)) => commands::gear::run(&gear),
        Some(Command::Explain(explain)) => commands::explain::run(&explain),
        Some(Command::Quick(quick)) => commands::quick::run(&quick),
        Some(Command::Kinds(kinds)) => commands::kinds::run(&kinds),
        Some(Command::Schema { of }) => commands::schema::run(of),
        Some(Command::Demo { folder }) => commands::demo::run(&folder),
        Some(Command::Completions { shell }) => commands::completions::run(shell),
    };
    match result {
        Ok(code) => code.into(),
        Err(failure) => failure.report().into(),
    }
}
