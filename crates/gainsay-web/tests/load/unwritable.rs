//! A disk that is full or can only be read: the page says so, and still shows what was typed.

use crate::served::{Answer, Served, form, get, patient, send, serve};
use gainsay_folder::folder::Version;
use std::fs;
use std::path::PathBuf;
use std::process::{Command, Stdio};

/// A file system in the place of the served folder, taken away again at the end.
struct Mounted(PathBuf);

fn mount(arguments: &[&str], at: &PathBuf) -> bool {
    let done = Command::new("mount").args(arguments).arg(at).stderr(Stdio::null()).status();
    done.is_ok_and(|status| status.success())
}

impl Drop for Mounted {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(&self.0).status();
    }
}

/// Saves another text by each of the ways that the page has: the text of the file, its form, a what-if, a new case.
fn tries(served: &Served) -> Vec<(&'static str, Answer)> {
    let before = fs::read_to_string(served.folder.join("storyteller.toml")).unwrap();
    let base = Version::of(before.as_bytes()).to_string();
    let typed = format!("{before}# typed by hand\n");
    let ways: [(&str, &[(&str, &str)]); 4] = [
        ("/cases/storyteller/file", &[("text", &typed), ("base", &base)]),
        ("/cases/storyteller/edit", &[("title", "typed by hand"), ("base", &base), ("do", "save")]),
        ("/cases/storyteller/sources/1", &[("distance", "0.33"), ("base", &base)]),
        ("/cases", &[("kind", "whisper")]),
    ];
    ways.into_iter()
        .map(|(path, fields)| (path, send(served.address, &form(served.address, path, fields)).unwrap()))
        .collect()
}

fn check(served: &Served, why: &str) {
    let before = fs::read_to_string(served.folder.join("storyteller.toml")).unwrap();
    for (path, answer) in tries(served) {
        assert_eq!(answer.status, 507, "{path}: {answer:?}");
        assert!(answer.says(why) && answer.says("the file is as it was"), "{path}: {answer:?}");
        answer.is_plain();
        match path {
            "/cases/storyteller/file" | "/cases/storyteller/edit" => {
                assert!(answer.body.contains("typed by hand"), "{path}: what was typed is lost");
            }
            "/cases/storyteller/sources/1" => assert!(answer.body.contains("0.33"), "{path}: {answer:?}"),
            _ => {}
        }
    }
    assert_eq!(fs::read_to_string(served.folder.join("storyteller.toml")).unwrap(), before);
    // What is there can still be looked at.
    assert_eq!(get(served.address, "/cases/storyteller").status, 200);
}

#[test]
fn a_full_disk_is_told_and_what_was_typed_is_still_there() {
    let served = serve(patient());
    if !mount(&["-t", "tmpfs", "-o", "size=256k", "tmpfs"], &served.folder) {
        println!("not run: this program may not mount a small file system");
        return;
    }
    let _mounted = Mounted(served.folder.clone());
    for (name, text) in gainsay_folder::demo::FILES {
        let to = served.folder.join(name);
        fs::create_dir_all(to.parent().unwrap()).unwrap();
        fs::write(to, text).unwrap();
    }
    assert_eq!(get(served.address, "/cases/storyteller").status, 200);
    // Not a byte is left.
    let mut filler = fs::File::create(served.folder.join("filler")).unwrap();
    while std::io::Write::write(&mut filler, &[1; 4096]).is_ok_and(|written| written > 0) {}
    check(&served, "the disk is full");
    // With room again it is saved.
    drop(filler);
    fs::remove_file(served.folder.join("filler")).unwrap();
    let tried = tries(&served);
    assert_eq!(tried[0].1.status, 303, "{tried:?}");
}

#[test]
fn a_disk_that_can_only_be_read_is_told_and_what_was_typed_is_still_there() {
    let served = serve(patient());
    let path = served.folder.to_str().unwrap().to_owned();
    if !mount(&["--bind", &path], &served.folder) {
        println!("not run: this program may not mount");
        return;
    }
    let _mounted = Mounted(served.folder.clone());
    assert!(mount(&["-o", "remount,ro,bind"], &served.folder));
    check(&served, "can only be read");
}

#[test]
fn a_folder_that_has_gone_is_told() {
    let served = serve(patient());
    fs::rename(&served.folder, served.folder.with_extension("away")).unwrap();
    for path in ["/cases", "/cases/storyteller", "/cases/storyteller/sources/1"] {
        let answer = get(served.address, path);
        assert!(answer.says("is no longer there"), "{path}: {answer:?}");
        answer.is_plain();
    }
    for path in ["/gear", "/revision", "/cases/storyteller/file"] {
        get(served.address, path).is_plain();
    }
    let fields = [("text", "title = \"typed by hand\"\n"), ("base", "")];
    let answer = send(served.address, &form(served.address, "/cases/evening/file", &fields)).unwrap();
    assert!(answer.says("is no longer there") || answer.status == 422, "{answer:?}");
    assert!(answer.body.contains("typed by hand"), "{answer:?}");
    assert!(!served.folder.exists(), "it has been made again");
    // Brought back, all is as before.
    fs::rename(served.folder.with_extension("away"), &served.folder).unwrap();
    assert_eq!(get(served.address, "/cases/storyteller").status, 200);
}
