//! What happens when something goes wrong in the middle: killed processes, full and read-only disks, two writers.
//!
//! The children are this same test program, started with a variable that tells them what to do. What a power cut does between a
//! write and the disk is not tested here: that the order of the steps is right for it (file through to the disk, then its name,
//! then the folder) can only be read.
#![cfg(test)]
#![cfg(unix)]

mod disks;
#[cfg(target_os = "linux")]
mod editor;
mod processes;
#[cfg(target_os = "linux")]
mod steps;
mod told;

use gainsay_folder::folder::{FileName, Folder, Place, SaveError, Version};
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::SystemTime;

const ROLE: &str = "GAINSAY_FOLDER_TEST_ROLE";
const WHERE: &str = "GAINSAY_FOLDER_TEST_WHERE";

/// SplitMix64 (Steele, Lea and Flood 2014).
struct Random(u64);

impl Random {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % n
    }
}

fn name() -> FileName {
    FileName::parse("quintet.toml").unwrap()
}

/// The name that a file is given.
fn other_name() -> FileName {
    FileName::parse("evening.toml").unwrap()
}

/// A text that is seen to be whole or not: `length` lines with its number.
fn text(number: u64, length: usize) -> String {
    format!("number = {number}\n# {number:020}\n") + &format!("# {number:020}\n").repeat(length)
}

fn now() -> SystemTime {
    SystemTime::now()
}

/// Starts this program in a role.
fn child(role: &str, folder: &Path) -> Child {
    child_of(Command::new(std::env::current_exe().unwrap()), role, folder)
}

fn child_of(mut command: Command, role: &str, folder: &Path) -> Child {
    command
        .args(["--exact", "the_child", "--nocapture", "--test-threads", "1"])
        .env(ROLE, role)
        .env(WHERE, folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::inherit())
        .spawn()
        .unwrap()
}

/// What a started program does; nothing in the program that starts it.
#[test]
fn the_child() {
    let Ok(role) = std::env::var(ROLE) else { return };
    let folder = match Folder::open(&PathBuf::from(std::env::var_os(WHERE).unwrap())) {
        Ok(folder) => folder,
        Err(error) => return println!("\nsaid {error}"),
    };
    match role.as_str() {
        "saves" => {
            let read = folder.read(Place::Case, &name()).unwrap();
            let first: u64 =
                read.text.lines().next().unwrap().strip_prefix("number = ").unwrap().parse().unwrap();
            let mut base = read.version;
            for number in first + 1.. {
                println!("\nbegin {number}");
                base = folder.save(Place::Case, &name(), &text(number, 2000), Some(base), now()).unwrap();
                println!("\ndone {number}");
            }
        }
        "races" => {
            for line in std::io::stdin().lines() {
                let line = line.unwrap();
                let (base, text) = line.split_once(' ').unwrap();
                let answer = match folder.save(Place::Case, &name(), text, Version::parse(base), now()) {
                    Ok(version) => format!("won {version}"),
                    Err(SaveError::ChangedMeanwhile { theirs: Some(theirs) }) => {
                        format!("lost {}", theirs.version)
                    }
                    Err(other) => format!("failed {other}"),
                };
                println!("\n{answer}");
            }
        }
        "save" | "delete" | "rename" | "restore" => {
            let (case, name) = (Place::Case, name());
            let base = match folder.read(case, &name) {
                Ok(read) => read.version,
                Err(error) => return println!("\nsaid {error}"),
            };
            let first = Version::of(text(0, 500).as_bytes());
            println!("\nbegin");
            let done = match role.as_str() {
                "save" => folder.save(case, &name, &text(2, 500), Some(base), now()).map(|_| ()),
                "delete" => folder.delete(case, &name, base, now()),
                "rename" => folder.rename(case, &name, &other_name(), base, now()),
                _ => folder.restore(case, &name, first, Some(base), now()).map(|_| ()),
            };
            match done {
                Ok(()) => println!("\ndone"),
                Err(error) => println!("\nsaid {error}"),
            }
        }
        "small" => {
            let read = folder.read(Place::Case, &name()).unwrap();
            let error =
                folder.save(Place::Case, &name(), &text(2, 4000), Some(read.version), now()).unwrap_err();
            println!("\nsaid {error}");
        }
        other => panic!("no role {other}"),
    }
}

/// The next line of a child that begins with one of the words; nothing when it has ended.
fn next_line(lines: &mut BufReader<ChildStdout>, words: &[&str]) -> Option<String> {
    loop {
        let mut line = String::new();
        if lines.read_line(&mut line).unwrap_or(0) == 0 {
            return None;
        }
        if words.iter().any(|word| line.starts_with(word)) && line.ends_with('\n') {
            return Some(line.trim_end().to_owned());
        }
    }
}

fn leftovers(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(leftovers(&path));
        } else if path.extension().is_some_and(|ending| ending == "tmp") {
            found.push(path);
        }
    }
    found
}

/// Every text of the history is whole.
fn check_history(folder: &Folder, name: &FileName) -> Vec<Version> {
    let history = folder.history(Place::Case, name).unwrap();
    for earlier in &history {
        let read = folder.earlier(Place::Case, name, earlier.version).unwrap();
        assert_eq!(Version::of(read.text.as_bytes()), earlier.version);
    }
    history.into_iter().map(|earlier| earlier.version).collect()
}
