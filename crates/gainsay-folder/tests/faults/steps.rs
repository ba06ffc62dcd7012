//! A save is stopped, or refused by the system, at each of its calls in turn; and its calls come in the order that a power cut
//! asks for. A tracer of system calls (`strace`) does it, where there is one that may.

use crate::{check_history, child_of, leftovers, name, next_line, now, text};
use gainsay_folder::folder::{Folder, Place, Version};
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

/// Lets the child save once under the tracer; what it said, and the log. Nothing where there is no tracer.
fn traced(folder: &Path, options: &[&str]) -> Option<(Vec<String>, String)> {
    let log = tempfile::NamedTempFile::new().unwrap();
    let mut command = Command::new("strace");
    command
        .args(["-f", "-y", "-s", "200", "-o"])
        .arg(log.path())
        .args(options)
        .arg(std::env::current_exe().unwrap());
    if Command::new("strace").args(["-o", "/dev/null", "true"]).status().is_ok_and(|status| status.success())
    {
        let mut process = child_of(command, "once", folder);
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

/// The calls that a save makes: each with its name, and how many of that name its thread has made by then.
fn calls() -> Option<Vec<(String, usize)>> {
    let (directory, _) = folder_with_history();
    let (said, log) = traced(directory.path(), &["-e", &format!("trace={CALLS}")])?;
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

/// The file is one of the two texts, whole, and neither the former nor the history is lost.
fn check_after(directory: &Path, said: &[String], context: &str) -> bool {
    let path = directory.join(name().as_str());
    let is = fs::read_to_string(&path).unwrap_or_else(|error| panic!("{context}: {error}"));
    let (former, new) = (text(1, 500), text(2, 500));
    assert!(is == former || is == new, "{context}: {:?}", is.lines().next());
    if said.last().is_some_and(|last| last == "done") {
        assert_eq!(is, new, "{context}");
    }
    let folder = Folder::open(directory).unwrap();
    assert_eq!(leftovers(directory), Vec::<PathBuf>::new(), "{context}");
    let history = check_history(&folder);
    for number in [0, 1] {
        assert!(history.contains(&Version::of(text(number, 500).as_bytes())), "{context}: {number} is lost");
    }
    let base = folder.read(Place::Case, &name()).unwrap().version;
    folder.save(Place::Case, &name(), &text(3, 500), Some(base), now()).unwrap();
    is == new
}

#[test]
fn killed_at_every_call() {
    let Some(calls) = calls() else { return };
    let (mut killed, mut new) = (0, 0);
    for (call, count) in &calls {
        let (directory, _) = folder_with_history();
        let inject = format!("inject={call}:signal=SIGKILL:when={count}");
        let trace = format!("trace={CALLS}");
        let (said, _) = traced(directory.path(), &["-e", &trace, "-e", &inject]).unwrap();
        killed += u32::from(said.last().is_some_and(|last| last == "begin"));
        new += u32::from(check_after(directory.path(), &said, &format!("{call} {count}, {said:?}")));
    }
    println!("killed at each of {} calls: {killed} in the save; the new text in place in {new}", calls.len());
    assert!(killed > 20 && new > 2);
}

#[test]
fn refused_at_every_call() {
    let Some(calls) = calls() else { return };
    for error in ["EIO", "ENOSPC"] {
        let (mut refused, mut saved) = (0, 0);
        for (call, count) in &calls {
            let (directory, _) = folder_with_history();
            let inject = format!("inject={call}:error={error}:when={count}");
            let trace = format!("trace={CALLS}");
            let (said, _) = traced(directory.path(), &["-e", &trace, "-e", &inject]).unwrap();
            match said.last().map(String::as_str) {
                Some("done") => {
                    assert_ne!(call, "fsync", "said to be saved, and may not be: {count}");
                    saved += 1;
                }
                Some(last) if last.starts_with("said ") => refused += 1,
                // The child's own line could not be written.
                _ => {}
            }
            check_after(directory.path(), &said, &format!("{error} at {call} {count}, {said:?}"));
        }
        println!("{error} at each of {} calls: {refused} saves refused, {saved} done", calls.len());
        assert!(refused > 10);
    }
}

#[test]
fn the_order_is_right_for_a_power_cut() {
    let (directory, folder) = folder_with_history();
    let Some((said, log)) = traced(directory.path(), &["-e", "trace=fsync,rename,renameat2"]) else { return };
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
