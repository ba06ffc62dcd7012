//! `gainsay gear find`.

use super::{Entry, Shelf, list};
use crate::exit::{Exit, Failure};
use crate::output;
use gainsay_gear::Search;

pub(super) fn run(shelf: &Shelf, words: &[String], json: bool) -> Result<Exit, Failure> {
    let search =
        Search::parse(&words.join(" ")).map_err(|problem| Failure::Input(problem.message, problem.mend))?;
    let mut found: Vec<(usize, &Entry)> =
        shelf.entries.iter().filter_map(|entry| Some((search.distance(&entry.device)?, entry))).collect();
    // Nearest first; those as near keep the order of their names.
    found.sort_by_key(|(distance, _)| *distance);
    let entries: Vec<&Entry> = found.into_iter().map(|(_, entry)| entry).collect();
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
