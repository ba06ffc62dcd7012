//! A folder that is read and written.
#![cfg(test)]

use gainsay_folder::demo;
use gainsay_folder::folder::{Fault, FileName, Folder, Place, SaveError, Version};
use gainsay_folder::{Tree, load};
use std::fs;
use std::path::Path;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

const CASE: Place = Place::Case;

fn name(text: &str) -> FileName {
    FileName::parse(text).unwrap()
}

fn at(seconds: u64) -> SystemTime {
    UNIX_EPOCH + Duration::from_secs(seconds)
}

fn empty() -> (tempfile::TempDir, Folder) {
    let directory = tempfile::tempdir().unwrap();
    let folder = Folder::open(directory.path()).unwrap();
    (directory, folder)
}

fn fault(error: SaveError) -> Fault {
    match error {
        SaveError::Folder(error) => {
            assert!(!error.message.is_empty() && !error.mend.is_empty());
            error.fault
        }
        other => panic!("{other}"),
    }
}

/// Names in a folder that are left by an unfinished save.
fn leftovers(folder: &Folder) -> Vec<String> {
    let names =
        fs::read_dir(folder.root()).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
    names.filter(|name| name.ends_with(".tmp")).collect()
}

#[test]
fn names_lead_nowhere_else() {
    for good in ["quintet.toml", "a.toml", "96-khz.toml", "com.toml", "com10.toml", "console.toml"] {
        assert_eq!(name(good).as_str(), good);
    }
    // Reserved names: Microsoft's "Naming Files, Paths, and Namespaces".
    for bad in [
        "",
        ".toml",
        "..",
        "../a.toml",
        "/a.toml",
        "a/b.toml",
        "a\\b.toml",
        "..\\a.toml",
        "C:a.toml",
        "a.toml\0",
        "a\0.toml",
        "A.toml",
        "é.toml",
        "a b.toml",
        "a_b.toml",
        "a.b.toml",
        "a.toml.",
        "a.toml ",
        "a.TOML",
        "a",
        ".history",
        "con.toml",
        "nul.toml",
        "aux.toml",
        "prn.toml",
        "com1.toml",
        "lpt9.toml",
        "com0.toml",
        "\u{202e}a.toml",
        "a.toml/",
        "a\n.toml",
    ] {
        assert_eq!(FileName::parse(bad).unwrap_err().fault, Fault::BadName, "{bad:?}");
    }
    assert!(FileName::parse(&format!("{}.toml", "a".repeat(64))).is_ok());
    assert!(FileName::parse(&format!("{}.toml", "a".repeat(65))).is_err());
    assert_eq!(
        FileName::from_title("The storyteller's table, 96 kHz!").unwrap(),
        name("the-storytellers-table-96-khz.toml")
    );
    assert_eq!(FileName::from_title(&"long ".repeat(40)).unwrap().stem().len(), 64);
    assert!(FileName::from_title("../..").is_err() && FileName::from_title("Con").is_err());
}

#[test]
fn a_version_is_a_sha_256() {
    // FIPS 180-4's example "abc", from memory.
    let digits = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    let version = Version::of(b"abc");
    assert_eq!(version.to_string(), digits);
    assert_eq!(Version::parse(digits), Some(version));
    for bad in ["", "ba78", &digits.to_uppercase(), &format!("{digits}0"), &"é".repeat(32)] {
        assert_eq!(Version::parse(bad), None, "{bad}");
    }
}

#[test]
fn a_change_made_elsewhere_is_never_overwritten() {
    let (_directory, folder) = empty();
    let quintet = name("quintet.toml");
    let first = folder.save(CASE, &quintet, "title = 1\n", None, at(1)).unwrap();
    assert_eq!(folder.read(CASE, &quintet).unwrap().version, first);
    // New where there is one already.
    let error = folder.save(CASE, &quintet, "title = 2\n", None, at(2)).unwrap_err();
    assert_eq!(error.their_version(), Some(first));
    // Changed in an editor.
    fs::write(folder.path_of(CASE, &quintet), "title = 3\n").unwrap();
    match folder.save(CASE, &quintet, "title = 4\n", Some(first), at(3)).unwrap_err() {
        SaveError::ChangedMeanwhile { theirs: Some(theirs) } => {
            assert_eq!(theirs.text, "title = 3\n");
            assert_eq!(theirs.version, Version::of(b"title = 3\n"));
            // Having seen it, one may save on top of it.
            folder.save(CASE, &quintet, "title = 4\n", Some(theirs.version), at(4)).unwrap();
        }
        other => panic!("{other}"),
    }
    // The same text is no clash, whatever it was made from.
    folder.save(CASE, &quintet, "title = 4\n", Some(first), at(5)).unwrap();
    let texts: Vec<String> = folder
        .history(CASE, &quintet)
        .unwrap()
        .iter()
        .map(|earlier| folder.earlier(CASE, &quintet, earlier.version).unwrap().text)
        .collect();
    // What the editor wrote has the editor's time, which is later than that of this test; what it overwrote is there too.
    assert_eq!(texts, ["title = 4\n", "title = 3\n", "title = 1\n"]);
    // Deleted elsewhere.
    let version = folder.read(CASE, &quintet).unwrap().version;
    fs::remove_file(folder.path_of(CASE, &quintet)).unwrap();
    let error = folder.save(CASE, &quintet, "title = 5\n", Some(version), at(6)).unwrap_err();
    assert_eq!(error, SaveError::ChangedMeanwhile { theirs: None });
    assert_eq!(folder.read(CASE, &quintet).unwrap_err().fault, Fault::Missing);
    folder.save(CASE, &quintet, "title = 5\n", None, at(7)).unwrap();
    assert!(leftovers(&folder).is_empty());
}

#[test]
fn what_is_deleted_can_be_brought_back() {
    let (_directory, folder) = empty();
    let solo = name("solo.toml");
    let version = folder.save(Place::Gear, &solo, "name = \"Box\"\n", None, at(1)).unwrap();
    let other = Version::of(b"other");
    assert!(matches!(
        folder.delete(Place::Gear, &solo, other, at(2)),
        Err(SaveError::ChangedMeanwhile { .. })
    ));
    folder.delete(Place::Gear, &solo, version, at(2)).unwrap();
    assert!(!folder.path_of(Place::Gear, &solo).exists());
    let deleted = folder.deleted().unwrap();
    assert_eq!(deleted.len(), 1);
    assert_eq!((deleted[0].0, &deleted[0].1, deleted[0].2.time), (Place::Gear, &solo, at(2)));
    folder.restore(Place::Gear, &solo, version, None, at(3)).unwrap();
    assert_eq!(folder.read(Place::Gear, &solo).unwrap().text, "name = \"Box\"\n");
    assert!(folder.deleted().unwrap().is_empty());
    assert!(matches!(
        folder.delete(CASE, &solo, version, at(4)),
        Err(SaveError::ChangedMeanwhile { theirs: None })
    ));
}

#[test]
fn a_new_name_takes_the_history_along() {
    let (_directory, folder) = empty();
    let (old, new) = (name("old.toml"), name("new.toml"));
    let one = folder.save(CASE, &old, "a = 1", None, at(1)).unwrap();
    let two = folder.save(CASE, &old, "a = 2", Some(one), at(2)).unwrap();
    let taken = folder.save(CASE, &new, "b = 1", None, at(3)).unwrap();
    assert_eq!(fault(folder.rename(CASE, &old, &new, two, at(4)).unwrap_err()), Fault::Exists);
    folder.delete(CASE, &new, taken, at(5)).unwrap();
    assert!(matches!(folder.rename(CASE, &old, &new, one, at(6)), Err(SaveError::ChangedMeanwhile { .. })));
    folder.rename(CASE, &old, &new, two, at(7)).unwrap();
    assert_eq!(folder.read(CASE, &new).unwrap().version, two);
    assert!(folder.history(CASE, &old).unwrap().is_empty());
    let versions: Vec<Version> =
        folder.history(CASE, &new).unwrap().iter().map(|earlier| earlier.version).collect();
    assert_eq!(versions.len(), 3);
    assert!(versions.contains(&one) && versions.contains(&taken) && versions.contains(&two), "{versions:?}");
}

#[test]
fn the_history_keeps_the_last_hundred_and_each_text_once() {
    let (_directory, folder) = empty();
    let quintet = name("quintet.toml");
    let mut base = None;
    for number in 0..130 {
        // The clock is set back in between.
        let now = at(if number < 60 { 1000 + number } else { number });
        base = Some(folder.save(CASE, &quintet, &format!("a = {number}"), base, now).unwrap());
    }
    let history = folder.history(CASE, &quintet).unwrap();
    assert_eq!(history.len(), 100);
    for (earlier, number) in history.iter().zip((30..130).rev()) {
        assert_eq!(earlier.version, Version::of(format!("a = {number}").as_bytes()), "{number}");
    }
    assert!(history.windows(2).all(|pair| pair[0].time > pair[1].time));
    // To and fro between two texts.
    for number in 0..10 {
        base = Some(
            folder.save(CASE, &quintet, &format!("b = {}", number % 2), base, at(5000 + number)).unwrap(),
        );
    }
    let history = folder.history(CASE, &quintet).unwrap();
    assert_eq!(history.len(), 100);
    for text in ["b = 0", "b = 1"] {
        let count = history.iter().filter(|earlier| earlier.version == Version::of(text.as_bytes())).count();
        assert_eq!(count, 1, "{text}");
    }
    // A damaged one is known as such, and written anew when it is needed again.
    let damaged = history[0].version;
    let file = fs::read_dir(folder.root().join(".history/case/quintet")).unwrap().find_map(|entry| {
        let path = entry.unwrap().path();
        path.to_string_lossy().contains(&damaged.to_string()).then_some(path)
    });
    fs::write(file.unwrap(), "spoilt").unwrap();
    assert_eq!(folder.earlier(CASE, &quintet, damaged).unwrap_err().fault, Fault::NotText);
    let missing = Version::of(b"never");
    assert_eq!(folder.earlier(CASE, &quintet, missing).unwrap_err().fault, Fault::Missing);
}

#[test]
fn what_a_stopped_save_leaves_behind_is_tidied_up() {
    let (directory, folder) = empty();
    let quintet = name("quintet.toml");
    folder.save(CASE, &quintet, "a = 1", None, at(1)).unwrap();
    let temporary = |said: &str| folder.root().join(format!(".quintet.{}.tmp", Version::of(said.as_bytes())));
    // Half written; written and never put in its place; and what was put out by a text that stands in its place now.
    fs::write(temporary("a = 2222222"), "a = 22").unwrap();
    fs::write(temporary("a = 3"), "a = 3").unwrap();
    fs::write(temporary("a = 1"), "a = 0").unwrap();
    fs::write(folder.root().join(".history/case/.x.tmp"), "not ours").unwrap();
    let folder = Folder::open(directory.path()).unwrap();
    assert!(leftovers(&folder).is_empty());
    let mut texts: Vec<String> = folder
        .history(CASE, &quintet)
        .unwrap()
        .iter()
        .map(|earlier| folder.earlier(CASE, &quintet, earlier.version).unwrap().text)
        .collect();
    texts.sort();
    assert_eq!(texts, ["a = 0", "a = 1", "a = 3"]);
    assert_eq!(folder.read(CASE, &quintet).unwrap().text, "a = 1");
}

#[test]
fn only_text_of_a_sensible_length_is_saved() {
    let (_directory, folder) = empty();
    let big = "#".repeat((1 << 20) + 1);
    assert_eq!(fault(folder.save(CASE, &name("a.toml"), &big, None, at(1)).unwrap_err()), Fault::NotText);
    assert_eq!(fault(folder.save(CASE, &name("a.toml"), "a\0", None, at(1)).unwrap_err()), Fault::NotText);
    fs::write(folder.root().join("a.toml"), b"\xff\xfe").unwrap();
    assert_eq!(folder.read(CASE, &name("a.toml")).unwrap_err().fault, Fault::NotText);
    assert!(matches!(
        folder.save(CASE, &name("a.toml"), "a = 1", None, at(1)),
        Err(SaveError::ChangedMeanwhile { theirs: Some(_) })
    ));
    assert_eq!(Folder::open(&folder.root().join("nowhere")).unwrap_err().fault, Fault::Gone);
}

#[cfg(unix)]
#[test]
fn links_lead_nowhere_and_pipes_are_not_waited_for() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let (_directory, folder) = empty();
    let outside = tempfile::tempdir().unwrap();
    fs::write(outside.path().join("secret.toml"), "title = \"secret\"").unwrap();
    symlink(outside.path().join("secret.toml"), folder.root().join("link.toml")).unwrap();
    symlink(outside.path(), folder.root().join("gear")).unwrap();
    let status = std::process::Command::new("mkfifo").arg(folder.root().join("pipe.toml")).status().unwrap();
    assert!(status.success());
    for (place, file) in [(CASE, "link.toml"), (CASE, "pipe.toml"), (Place::Gear, "secret.toml")] {
        assert_eq!(folder.read(place, &name(file)).unwrap_err().fault, Fault::NotPlain, "{file}");
        let error = folder.save(place, &name(file), "a = 1", None, at(1)).unwrap_err();
        assert_eq!(fault(error), Fault::NotPlain, "{file}");
    }
    assert!(folder.cases().unwrap().is_empty());
    assert_eq!(folder.unusable().unwrap_err().fault, Fault::NotPlain);
    fs::remove_file(folder.root().join("gear")).unwrap();
    assert_eq!(folder.unusable().unwrap().len(), 2);
    assert_eq!(fs::read_to_string(outside.path().join("secret.toml")).unwrap(), "title = \"secret\"");
    // A case that includes what is outside, by a path or through a link.
    for include in
        ["../secret.toml", "link.toml", ".history/lock", outside.path().join("secret.toml").to_str().unwrap()]
    {
        fs::write(folder.root().join("case.toml"), format!("include = [{include:?}]")).unwrap();
        let error = load(&folder, Path::new("case.toml")).unwrap_err().to_string();
        assert!(error.contains("is not in this folder"), "{include}: {error}");
    }
    // The next version has the permissions of the last; what is marked as not to be changed is not.
    let version = folder.save(CASE, &name("a.toml"), "a = 1", None, at(1)).unwrap();
    let path = folder.root().join("a.toml");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    let version = folder.save(CASE, &name("a.toml"), "a = 2", Some(version), at(2)).unwrap();
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
    fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
    let error = folder.save(CASE, &name("a.toml"), "a = 3", Some(version), at(3)).unwrap_err();
    assert_eq!(fault(error), Fault::Denied);
    assert!(matches!(folder.delete(CASE, &name("a.toml"), version, at(3)), Err(SaveError::Folder(_))));
}

#[test]
fn the_lists_tell_what_is_there() {
    let directory = tempfile::tempdir().unwrap();
    let path = directory.path().join("data/of/demo");
    let folder = Folder::demo(&path).unwrap();
    let cases = folder.cases().unwrap();
    assert_eq!(cases.len() + folder.gear().unwrap().len(), demo::FILES.len());
    let quintet = cases.iter().find(|case| case.name.as_str() == demo::MAIN).unwrap();
    assert_eq!(quintet.title.as_deref(), Some("A quintet in the boathouse"));
    assert!(quintet.question.as_deref().unwrap().ends_with('?') && quintet.problem.is_none());
    let gear = folder.gear().unwrap();
    let kitchen = gear.iter().find(|device| device.name.stem() == "kitchen-interface").unwrap();
    assert_eq!(kitchen.device_type.as_deref(), Some("interface"));
    assert_eq!(kitchen.title.as_deref(), Some("Kitchen interface, two microphone inputs"));
    fs::write(path.join("broken.toml"), "title = \"A\"\nb = = 3\n").unwrap();
    fs::write(path.join("My Case.toml"), "title = \"A\"").unwrap();
    let broken = folder.cases().unwrap().into_iter().find(|case| case.name.stem() == "broken").unwrap();
    assert!(broken.problem.unwrap().starts_with("line 2: "));
    assert_eq!(folder.unusable().unwrap()[0].name, "My Case.toml");
    // The demo is read by the same code as on the disk.
    for case in [demo::MAIN, demo::SECOND] {
        load(&folder, Path::new(case)).unwrap();
    }
    // Opening it again changes nothing and brings nothing back.
    fs::write(path.join("quintet.toml"), "mine").unwrap();
    fs::remove_file(path.join("storyteller.toml")).unwrap();
    let again = Folder::demo(&path).unwrap();
    assert_eq!(fs::read_to_string(path.join("quintet.toml")).unwrap(), "mine");
    assert!(!path.join("storyteller.toml").exists() && again == folder);
    // Stopped before its end, it goes on the next time.
    fs::remove_file(path.join(".history/demo")).unwrap();
    Folder::demo(&path).unwrap();
    assert_eq!(fs::read_to_string(path.join("quintet.toml")).unwrap(), "mine");
    assert!(path.join("storyteller.toml").exists());
}

#[test]
fn a_draft_is_looked_at_before_it_is_saved() {
    let directory = tempfile::tempdir().unwrap();
    let folder = Folder::demo(directory.path()).unwrap();
    let text = folder.read(CASE, &name("storyteller.toml")).unwrap().text.replace("0.1 m", "0.2 m");
    let draft = folder.with_draft(CASE, &name("storyteller.toml"), &text);
    assert_eq!(draft.read(Path::new("./storyteller.toml")).unwrap(), text);
    assert_ne!(
        load(&draft, Path::new("storyteller.toml")).unwrap(),
        load(&folder, Path::new("storyteller.toml")).unwrap()
    );
    let device = "name = \"New box\"\ntype = \"interface\"\n";
    let draft = folder.with_draft(Place::Gear, &name("new-box.toml"), device);
    let files = draft.toml_files(Path::new("gear")).unwrap();
    assert_eq!(files.len(), folder.gear().unwrap().len() + 1);
    assert!(load(&draft, Path::new("storyteller.toml")).is_ok());
}

#[test]
fn the_revision_changes_with_every_change() {
    let (_directory, folder) = empty();
    let mut seen = vec![folder.revision().unwrap()];
    let mut changed = |folder: &Folder, what: &str| {
        let revision = folder.revision().unwrap();
        assert_eq!(revision, folder.revision().unwrap());
        assert!(!seen.contains(&revision), "{what}");
        seen.push(revision);
    };
    let a = name("a.toml");
    let one = folder.save(CASE, &a, "a = 1", None, at(1)).unwrap();
    changed(&folder, "new");
    let two = folder.save(CASE, &a, "a = 2", Some(one), at(2)).unwrap();
    changed(&folder, "of the same length");
    folder.save(Place::Gear, &a, "a = 2", None, at(2)).unwrap();
    changed(&folder, "gear");
    fs::write(folder.root().join("a.toml"), "a = 333").unwrap();
    changed(&folder, "in an editor");
    // Another file in its place, of the same length and time.
    let time = fs::metadata(folder.root().join("a.toml")).unwrap().modified().unwrap();
    fs::write(folder.root().join("other"), "a = 444").unwrap();
    fs::File::options().write(true).open(folder.root().join("other")).unwrap().set_modified(time).unwrap();
    fs::rename(folder.root().join("other"), folder.root().join("a.toml")).unwrap();
    changed(&folder, "of the same length and time");
    fs::rename(folder.root().join("a.toml"), folder.root().join("b.toml")).unwrap();
    changed(&folder, "renamed");
    fs::remove_file(folder.root().join("b.toml")).unwrap();
    changed(&folder, "deleted");
    let before = folder.revision().unwrap();
    fs::write(folder.root().join("notes.txt"), "x").unwrap();
    assert!(folder.save(CASE, &a, "a = 4", Some(two), at(3)).is_err());
    assert_eq!(folder.revision().unwrap(), before);
}
