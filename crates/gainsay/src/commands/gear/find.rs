//! `gainsay gear find`.

use super::{Shelf, list};
use crate::exit::{Exit, Failure};
use crate::output;
use gainsay_gear::Search;

pub(super) fn run(shelf: &Shelf, words: &[String], json: bool) -> Result<Exit, Failure> {
    let search =
        Search::parse(&words.join(" ")).map_err(|problem| Failure::Input(problem.message, problem.mend))?;
    let entries = shelf.library.found(&search);
    if json {
        output::print(&list::json(&entries)?)?;
        return Ok(Exit::Answered);
    }
    let mut blocks = vec![if entries.is_empty() {
        format!("nothing in {} fits", shelf.folder.display())
    } else {
        list::table(&entries)
    }];
    blocks.extend(shelf.broken_words());
    output::print(&blocks.join("\n\n"))?;
    Ok(Exit::Answered)
}
