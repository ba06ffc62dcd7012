//! Full disks, disks that can only be read, and things in the way.

use crate::{check_history, child_of, leftovers, name, next_line, now, text};
use gainsay_folder::folder::{Fault, Folder, FolderError, Place, SaveError};
use std::fs;
use std::io::{BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A file system that is taken away again.
struct Mounted(PathBuf);

impl Mounted {
    /// Nothing where this program may not mount.
    fn new(arguments: &[&str], at: &Path) -> Option<Self> {
        let done = Command::new("mount").args(arguments).arg(at).stderr(Stdio::null()).status();
        done.is_ok_and(|status| status.success()).then(|| Self(at.to_owned()))
    }
}

impl Drop for Mounted {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(&self.0).status();
    }
}

fn folder_error(error: SaveError) -> FolderError {
    match error {
        SaveError::Folder(error) => error,
        other => panic!("{other}"),
    }
}

#[test]
fn a_full_disk_leaves_everything_as_it_was() {
    let directory = tempfile::tempdir().unwrap();
    let Some(_mounted) = Mounted::new(&["-t", "tmpfs", "-o", "size=512k", "tmpfs"], directory.path()) else {
        println!(
            "not run: this program may not mount a small file system; only the limit on lengths was tried"
        );
        return;
    };
    let folder = Folder::open(directory.path()).unwrap();
    let mut base = folder.save(Place::Case, &name(), &text(0, 500), None, now()).unwrap();
    let filler = directory.path().join("filler");
    let (mut refused, mut saved) = (0, 0);
    for number in 1..=60_u64 {
        // Fill it up but for so many pages: the shortage then comes at another step each time.
        let mut file = fs::File::create(&filler).unwrap();
        while file.write(&[1; 4096]).is_ok_and(|written| written > 0) {}
        let length = file.metadata().unwrap().len();
        file.set_len(length.saturating_sub(4096 * (number % 20))).unwrap();
        drop(file);
        let before = fs::read(folder.path_of(Place::Case, &name())).unwrap();
        match folder.save(Place::Case, &name(), &text(number, 500), Some(base), now()) {
            Ok(version) => {
                saved += 1;
                base = version;
            }
            Err(error) => {
                refused += 1;
                let error = folder_error(error);
                assert_eq!(error.fault, Fault::Full, "{error}");
                assert!(error.to_string().contains("full"), "{error}");
                assert_eq!(fs::read(folder.path_of(Place::Case, &name())).unwrap(), before);
                let left = leftovers(directory.path());
                assert!(left.is_empty(), "{left:?}");
                check_history(&folder, &name());
                assert!(Folder::open(directory.path()).is_ok());
            }
        }
        // With room again it goes on.
        fs::remove_file(&filler).unwrap();
        base = folder.save(Place::Case, &name(), &text(number + 1000, 500), Some(base), now()).unwrap();
        // The history would fill it by itself.
        fs::remove_dir_all(directory.path().join(".history/case")).unwrap();
    }
    println!("on a small file system: {refused} saves refused, {saved} done");
    assert!(refused > 10 && saved > 5, "{refused} refused, {saved} saved");
}

#[test]
fn a_limit_on_lengths_leaves_everything_as_it_was() {
    let directory = tempfile::tempdir().unwrap();
    let folder = Folder::open(directory.path()).unwrap();
    folder.save(Place::Case, &name(), &text(1, 10), None, now()).unwrap();
    let mut shell = Command::new("sh");
    // The signal that comes with the limit is ignored, so that the write fails instead.
    shell
        .args(["-c", "trap '' XFSZ; ulimit -f 16; exec \"$0\" \"$@\""])
        .arg(std::env::current_exe().unwrap());
    let mut process = child_of(shell, "small", directory.path());
    let mut lines = BufReader::new(process.stdout.take().unwrap());
    let said = next_line(&mut lines, &["said "]).unwrap();
    process.wait().unwrap();
    assert!(said.contains("the disk is full"), "{said}");
    assert_eq!(folder.read(Place::Case, &name()).unwrap().text, text(1, 10));
    assert!(leftovers(directory.path()).is_empty());
}

#[test]
fn a_folder_that_can_only_be_read_is_read() {
    let directory = tempfile::tempdir().unwrap();
    let folder = Folder::open(directory.path()).unwrap();
    let base = folder.save(Place::Case, &name(), "a = 1", None, now()).unwrap();
    let path = directory.path().to_str().unwrap();
    let Some(_mounted) = Mounted::new(&["--bind", path], directory.path()) else {
        println!("not run: this program may not mount");
        return;
    };
    let status = Command::new("mount").args(["-o", "remount,ro,bind", path]).status().unwrap();
    assert!(status.success());
    let folder = Folder::open(directory.path()).unwrap();
    assert_eq!(folder.read(Place::Case, &name()).unwrap().text, "a = 1");
    assert_eq!(folder.cases().unwrap().len(), 1);
    let errors = [
        folder.save(Place::Case, &name(), "a = 2", Some(base), now()).unwrap_err(),
        folder.delete(Place::Case, &name(), base, now()).unwrap_err(),
        folder.restore(Place::Case, &name(), base, None, now()).unwrap_err(),
    ];
    for error in errors {
        assert_eq!(folder_error(error).fault, Fault::ReadOnly);
    }
    assert_eq!(folder.read(Place::Case, &name()).unwrap().text, "a = 1");
}

#[test]
fn something_else_in_the_way_is_an_error_and_nothing_is_lost() {
    let directory = tempfile::tempdir().unwrap();
    fs::write(directory.path().join("quintet.toml"), "a = 1").unwrap();
    fs::write(directory.path().join("gear"), "").unwrap();
    fs::write(directory.path().join(".history"), "").unwrap();
    let folder = Folder::open(directory.path()).unwrap();
    let base = folder.read(Place::Case, &name()).unwrap().version;
    let error = folder.save(Place::Case, &name(), "a = 2", Some(base), now()).unwrap_err();
    assert_eq!(folder_error(error).fault, Fault::NotPlain);
    fs::remove_file(directory.path().join(".history")).unwrap();
    let error = folder.save(Place::Gear, &name(), "a = 2", None, now()).unwrap_err();
    assert_eq!(folder_error(error).fault, Fault::NotPlain);
    assert_eq!(folder.read(Place::Case, &name()).unwrap().text, "a = 1");
    // A folder where a temporary file would go, and one where the text of the history would.
    fs::create_dir_all(directory.path().join(".history/case")).unwrap();
    fs::write(directory.path().join(".history/case/quintet"), "").unwrap();
    let error = folder.save(Place::Case, &name(), "a = 2", Some(base), now()).unwrap_err();
    assert_eq!(folder_error(error).fault, Fault::NotPlain);
    assert_eq!(folder.read(Place::Case, &name()).unwrap().text, "a = 1");
}

#[test]
fn a_folder_that_vanishes_is_said_to_be_gone() {
    let directory = tempfile::tempdir().unwrap();
    let folder = Folder::open(directory.path()).unwrap();
    let base = folder.save(Place::Case, &name(), "a = 1", None, now()).unwrap();
    fs::remove_file(folder.path_of(Place::Case, &name())).unwrap();
    let error = folder.save(Place::Case, &name(), "a = 2", Some(base), now()).unwrap_err();
    assert_eq!(error, SaveError::ChangedMeanwhile { theirs: None });
    fs::remove_dir_all(directory.path()).unwrap();
    let error = folder.save(Place::Case, &name(), "a = 2", None, now()).unwrap_err();
    assert_eq!(folder_error(error).fault, Fault::Gone);
    assert_eq!(folder.read(Place::Case, &name()).unwrap_err().fault, Fault::Gone);
    assert_eq!(folder.cases().unwrap_err().fault, Fault::Gone);
    assert_eq!(folder.revision().unwrap_err().fault, Fault::Gone);
    assert!(!directory.path().exists(), "it has been made again");
}
