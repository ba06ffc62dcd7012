//! Random edits on the demo's files and on files made up at random: what the text says afterwards is what a model of the edit
//! says, no comment is lost that should stay, and lines that an edit doesn't concern stay byte for byte.
//!
//! The model works on the data that another reader of TOML gives (the `toml` crate, which shares its lexer with the one that
//! finds the places, but none of the code that edits).
#![cfg(test)]

mod files;
mod model;
mod plain;

use files::{Comment, Made, Random};
use gainsay_folder::demo;
use gainsay_folder::edit::{Edit, EditError, apply};
use std::collections::BTreeMap;

const RUNS: u64 = 30_000;

/// How often each text stands there.
fn counted<'a>(items: impl Iterator<Item = &'a str>) -> BTreeMap<&'a str, usize> {
    let mut counts = BTreeMap::new();
    for item in items {
        *counts.entry(item).or_insert(0) += 1;
    }
    counts
}

/// How many of the first are missing from the second.
fn lost(before: &BTreeMap<&str, usize>, after: &BTreeMap<&str, usize>) -> usize {
    before.iter().map(|(item, count)| count.saturating_sub(*after.get(item).unwrap_or(&0))).sum()
}

fn lines(text: &str) -> impl Iterator<Item = &str> {
    let text = text.trim_start_matches('\u{feff}');
    text.split('\n').map(|line| line.trim_end_matches('\r')).filter(|line| !line.trim().is_empty())
}

/// What stays of the lines: nothing is lost that the edit doesn't concern.
fn check_lines(edit: &Edit, before: &str, after: &str, context: &str) {
    let (old, new) = (counted(lines(before)), counted(lines(after)));
    let (gone, come) = (lost(&old, &new), lost(&new, &old));
    match edit {
        Edit::MoveTable { .. } => {
            let in_brackets = gone > 0;
            // Tables in brackets stand on one line, which says something else afterwards.
            assert!(gone == come && gone <= 4, "{context}: {gone} lines gone, {come} come");
            if !in_brackets {
                assert_eq!(old, new, "{context}");
            }
        }
        Edit::AddTable { .. } => assert!(gone <= 1, "{context}: {gone} lines gone"),
        // A value of several lines is at most a list of the generator: seven lines.
        Edit::Set { .. } => assert!(gone <= 7, "{context}: {gone} lines gone"),
        // What is left of a list or a table in brackets is on lines that are there already, but for the one that is cut.
        Edit::Remove { .. } | Edit::RemoveTable { .. } => assert!(come <= 2, "{context}: {come} lines come"),
    }
    if gone == 0 && come == 0 {
        return;
    }
    if matches!(edit, Edit::MoveTable { .. }) {
        return;
    }
    // One place changes, except where a table's parts are scattered.
    let (old, new): (Vec<&str>, Vec<&str>) = (before.split('\n').collect(), after.split('\n').collect());
    let head = old.iter().zip(&new).take_while(|(a, b)| a == b).count();
    let most = old.len().min(new.len()) - head;
    let tail = old.iter().rev().zip(new.iter().rev()).take(most).take_while(|(a, b)| a == b).count();
    if matches!(edit, Edit::Set { .. } | Edit::AddTable { .. }) {
        assert!(
            old.len() - head - tail <= 8,
            "{context}: lines {head} to {} of {}",
            old.len() - tail,
            old.len()
        );
    }
}

fn check_comments(edit: &Edit, comments: &[Comment], after: &str, context: &str) {
    let removed = match edit {
        Edit::Remove { path } => Some(path.to_string()),
        Edit::RemoveTable { array, index } => Some(format!("{array}[{index}]")),
        _ => None,
    };
    for comment in comments {
        let belongs = removed.as_ref().is_some_and(|removed| {
            comment.of.as_ref().is_some_and(|of| {
                of == removed
                    || of.strip_prefix(removed.as_str()).is_some_and(|rest| rest.starts_with(['.', '[']))
            })
        });
        let count = after.matches(comment.text.as_str()).count();
        assert!(count == 1 || (count == 0 && belongs), "{context}: {count} times {:?}", comment.text);
    }
}

/// Applies an edit and compares with the model; the text afterwards, or nothing where it was refused.
fn try_edit(text: &str, edit: &Edit, context: &str, unusual: &mut u64) -> Option<String> {
    let data: toml::Table = toml::from_str(text).unwrap();
    let mut expected = data;
    let wanted = model::apply(&mut expected, edit);
    let context = format!("{context}\n--- before\n{text}\n--- edit {edit:?}");
    match apply(text, edit) {
        Ok(after) => {
            let context = format!("{context}\n--- after\n{after}");
            assert!(wanted.is_some(), "accepted, refused by the model: {context}");
            let said: toml::Table =
                toml::from_str(&after).unwrap_or_else(|error| panic!("{error}: {context}"));
            if said != expected && lines(text).any(|line| line.trim_start().starts_with("input.")) {
                // A table that only lines such as `input.device = "x"` make is gone with the last of them.
                model::drop_emptied(&mut expected, edit);
            }
            assert_eq!(said, expected, "{context}");
            check_lines(edit, text, &after, &context);
            if text.contains("\r\n") {
                assert_eq!(after.matches('\n').count(), after.matches("\r\n").count(), "{context}");
            }
            Some(after)
        }
        Err(error) => {
            assert!(!error.message().is_empty() && !error.mend().is_empty());
            if wanted.is_some() {
                assert!(matches!(error, EditError::Unusual { .. }), "{error}: {context}");
                *unusual += 1;
            }
            None
        }
    }
}

#[test]
fn random_edits_on_random_files() {
    let (mut accepted, mut refused, mut unusual) = (0_u64, 0_u64, 0_u64);
    let mut kinds = [0_u64; 5];
    for seed in 0..RUNS {
        let mut random = Random(seed);
        let Made { text, comments } = files::made(&mut random);
        let edit = model::edit(&mut random, &toml::from_str(&text).unwrap_or_else(|e| panic!("{e}: {text}")));
        match try_edit(&text, &edit, &format!("seed {seed}"), &mut unusual) {
            Some(after) => {
                check_comments(
                    &edit,
                    &comments,
                    &after,
                    &format!("seed {seed}\n{text}\n--- {edit:?}\n{after}"),
                );
                accepted += 1;
                kinds[model::kind(&edit)] += 1;
            }
            None => refused += 1,
        }
    }
    println!("{accepted} accepted {kinds:?}, {refused} refused, {unusual} of them because unusual");
    assert!(accepted > RUNS * 6 / 10, "{accepted} accepted, {refused} refused");
    assert!(kinds.iter().all(|count| *count > RUNS / 50), "{kinds:?}");
    assert!(unusual < RUNS / 50, "{unusual} unusual");
}

#[test]
fn a_hundred_random_edits_in_a_row_on_each_demo_file() {
    let mut unusual = 0;
    for (name, original) in demo::FILES {
        for seed in 0..5 {
            let mut random = Random(seed);
            let mut text = (*original).to_owned();
            for step in 0..100 {
                let edit = model::edit(&mut random, &toml::from_str(&text).unwrap());
                let before = plain::comments(&text);
                if let Some(after) = try_edit(&text, &edit, &format!("{name} {seed} {step}"), &mut unusual) {
                    // All comments of the demo stand above tables, where nothing takes them away.
                    assert_eq!(before, plain::comments(&after), "{name} {seed} {step} {edit:?}\n{text}");
                    text = after;
                }
            }
        }
    }
    assert!(unusual < 50, "{unusual} unusual");
}
