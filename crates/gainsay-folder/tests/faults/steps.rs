//! A save is stopped, or refused by the system, at each of its calls in turn; and its calls come in the order that a power cut
//! asks for. A tracer of system calls (`strace`) does it, where there is one that may.

use crate::{check_history, child_of, leftovers, name, next_line, now, other_name, text};
use gainsay_folder::folder::{FileName, Folder, Place, Version};
use std::fs;
use std::io::BufReader;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The calls by which something on the disk is made, changed or looked at.
const CALLS: &str = "openat,read,write,fsync,fdatasync,rename,renameat,renameat2,link,linkat,unlink,unlinkat,mkdir,mkdirat,\
                     chmod,fchmod,fchmodat,flock,statx,fstat,newfstatat,getdents64";

/// A folder with a file and one text before it.
fn folder_with_history() -> (tempfile::TempDir, Folder) {
    let directory = tempfile::tempdir().unwrap();
    let folder = Folder::open(directory.path()).unwrap();
    let base = folder.save(Place::Case, &name(), &text(0, 500), None, now()).unwrap();
    folder.save(Place::Case, &name(), &text(1, 500), Some(base), now()).unwrap();
    (directory, folder)
}

/// Lets the child do one thing (save, delete, rename, restore) under the tracer; what it said, and the log. Nothing where there is no tracer.
fn traced(action: &str, folder: &Path, options: &[&str]) -> Option<(Vec<String>, String)> {
    let log = tempfile::NamedTempFile::new().unwrap();
    let mut command = Command::new("strace");
    command
        .args(["-f", "-y", "-s", "200", "-o"])
        .arg(log.path())
        .args(options)
        .arg(std::env::current_exe().unwrap());
    if Command::new("strace").args(["-o", "/dev/null", "true"]).status().is_ok_and(|status| status.success())
    {
        let mut process = child_of(command, action, folder);
        let mut lines = BufReader::new(process.stdout.take().unwrap());
        let mut said = Vec::new();
        while let Some(line) = next_line(&mut lines, &["begin", "done", "said "]) {
            said.push(line);
        }
        process.wait().unwrap();
        return Some((said, fs::read_to_string(log.path()).unwrap()));
    }
    println!("not run: there is no strace here that may trace");
    None
}

/// The calls that an action makes: each with its name, and how many of that name its thread has made by then.
fn calls(action: &str) -> Option<Vec<(String, usize)>> {
    let (directory, _) = folder_with_history();
    let (said, log) = traced(action, directory.path(), &["-e", &format!("trace={CALLS}")])?;
    assert_eq!(said, ["begin", "done"]);
    let call = |line: &str| {
        let (thread, call) = line.split_once(' ')?;
        let (call, _) = call.trim_start().split_once('(')?;
        Some((thread.to_owned(), call.to_owned()))
    };
    let begin = log.lines().find(|line| line.contains("begin")).unwrap();
    let (thread, _) = call(begin).unwrap();
    let mut counts = std::collections::BTreeMap::new();
    let (mut calls, mut has_begun) = (Vec::new(), false);
    for line in log.lines() {
        let Some((_, name)) = call(line).filter(|(other, _)| *other == thread) else { continue };
        let count: &mut usize = counts.entry(name.clone()).or_default();
        *count += 1;
        if has_begun {
            calls.push((name, *count));
        }
        has_begun |= line == begin;
        if line.contains("done") {
            break;
        }
    }
    Some(calls)
}

/// What stands there is what stood there before or what should stand there now, whole, and none of the texts is lost; whether
/// it is what should.
fn check_after(action: &str, directory: &Path, said: &[String], context: &str) -> bool {
    let at = |name: &FileName| fs::read_to_string(directory.join(name.as_str())).ok();
    let is = (at(&name()), at(&other_name()));
    let (first, former) = (text(0, 500), text(1, 500));
    let old = (Some(former.clone()), None);
    let new = match action {
        "save" => (Some(text(2, 500)), None),
        "delete" => (None, None),
        "rename" => (None, Some(former.clone())),
        _ => (Some(first.clone()), None),
    };
    let begins = is.0.as_ref().and_then(|text| text.lines().next());
    assert!(is == old || is == new, "{context}: {begins:?}");
    if said.last().is_some_and(|last| last == "done") {
        assert_eq!(is, new, "{context}");
    }
    // Opened again, it is tidy.
    let folder = Folder::open(directory).unwrap();
    assert_eq!(leftovers(directory), Vec::<PathBuf>::new(), "{context}");
    let mut history = check_history(&folder, &name());
    history.extend(check_history(&folder, &other_name()));
    for text in [&first, &former] {
        assert!(history.contains(&Version::of(text.as_bytes())), "{context}: a text is lost");
    }
    // And the next save is none the worse for it.
    let base = folder.read(Place::Case, &name()).ok().map(|read| read.version);
    folder.save(Place::Case, &name(), &text(3, 500), base, now()).unwrap();
    is == new
}

/// Kills the child at each call of an action.
fn killed(action: &str) {
    let Some(calls) = calls(action) else { return };
    let (mut killed, mut new) = (0, 0);
    for (call, count) in &calls {
        let (directory, _) = folder_with_history();
        let inject = format!("inject={call}:signal=SIGKILL:when={count}");
        let trace = format!("trace={CALLS}");
        let (said, _) = traced(action, directory.path(), &["-e", &trace, "-e", &inject]).unwrap();
        killed += u32::from(said.last().is_some_and(|last| last == "begin"));
        let context = format!("{action}: {call} {count}, {said:?}");
        new += u32::from(check_after(action, directory.path(), &said, &context));
    }
    println!("{action}, killed at each of {} calls: {killed} in the middle; {new} done", calls.len());
    assert!(killed > 15 && new > 2);
}

#[test]
fn a_save_killed_at_every_call() {
    killed("save");
}

#[test]
fn a_deletion_killed_at_every_call() {
    killed("delete");
}

#[test]
fn a_new_name_killed_at_every_call() {
    killed("rename");
}

#[test]
fn a_restoring_killed_at_every_call() {
    killed("restore");
}

/// Lets the system refuse each call of an action.
fn refused(action: &str) {
    let Some(calls) = calls(action) else { return };
    for error in ["EIO", "ENOSPC"] {
        let (mut refused, mut done) = (0, 0);
        for (call, count) in &calls {
            let (directory, _) = folder_with_history();
            let inject = format!("inject={call}:error={error}:when={count}");
            let trace = format!("trace={CALLS}");
            let (said, _) = traced(action, directory.path(), &["-e", &trace, "-e", &inject]).unwrap();
            let context = format!("{action}: {error} at {call} {count}, {said:?}");
            let is_new = check_after(action, directory.path(), &said, &context);
            match said.last().map(String::as_str) {
                Some("done") => {
                    assert_ne!(call, "fsync", "said to be done, and may not be: {count}");
                    done += 1;
                }
                Some(last) if last.starts_with("said ") => {
                    // Whoever reads it knows which of the two it is.
                    let says_done = last.contains("it is done");
                    let says_kept = last.contains("the file is as it was");
                    let before = said.first().is_some_and(|first| first != "begin");
                    assert!(before || says_done != says_kept, "{context}");
                    assert!(before || says_done == is_new, "{context}");
                    refused += 1;
                }
                // The child's own line could not be written.
                _ => {}
            }
        }
        println!("{action}, {error} at each of {} calls: {refused} refused, {done} done", calls.len());
        assert!(refused > 8);
    }
}

#[test]
fn a_save_refused_at_every_call() {
    refused("save");
}

#[test]
fn a_deletion_refused_at_every_call() {
    refused("delete");
}

#[test]
fn a_new_name_refused_at_every_call() {
    refused("rename");
}

#[test]
fn a_restoring_refused_at_every_call() {
    refused("restore");
}

#[test]
fn the_order_is_right_for_a_power_cut() {
    let (directory, folder) = folder_with_history();
    let Some((said, log)) = traced("save", directory.path(), &["-e", "trace=fsync,rename,renameat2"]) else {
        return;
    };
    assert_eq!(said, ["begin", "done"]);
    let root = folder.root().to_str().unwrap();
    let history = format!("{root}/.history/case/quintet");
    let version = Version::of(text(2, 500).as_bytes());
    let steps = [
        // The new text into the history, through to the disk, before it gets its name there.
        format!("fsync(N<{history}/.text.{version}.tmp>)"),
        format!("rename(\"{history}/.text.{version}.tmp\""),
        format!("fsync(N<{history}>)"),
        // The new text through to the disk, before it takes the place of the former; then the names.
        format!("fsync(N<{root}/.quintet.{version}.tmp>)"),
        format!("renameat2(AT_FDCWD, \"{root}/.quintet.{version}.tmp\""),
        format!("fsync(N<{root}>)"),
    ];
    let mut lines = log.lines().map(|line| {
        // Numbers of open files differ.
        let call = line.split_once(' ').map_or(line, |(_, call)| call.trim_start());
        match call.split_once('<') {
            Some((start, rest)) if start.starts_with("fsync(") => format!("fsync(N<{rest}"),
            _ => call.replace("AT_FDCWD<", "AT_FDCWD, <"),
        }
    });
    for step in &steps {
        let wanted = step.trim_start_matches("renameat2(AT_FDCWD, ");
        assert!(lines.any(|line| line.contains(wanted)), "{step} is missing, or too late, in\n{log}");
    }
}
