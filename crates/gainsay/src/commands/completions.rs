//! `gainsay completions`.

use crate::arguments::Arguments;
use crate::exit::{Exit, Failure};
use crate::output;
use clap::CommandFactory;

pub(crate) fn run(shell: clap_complete::Shell) -> Result<Exit, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "gainsay", &mut script);
    output::print(&String::from_utf8_lossy(&script))?;
    Ok(Exit::Answered)
}
