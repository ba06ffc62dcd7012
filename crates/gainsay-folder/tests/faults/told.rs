//! What is said when something can't be saved: what is wrong, how to mend it, and that nothing is lost.

use crate::{check_history, leftovers, name, now, text};
use gainsay_folder::folder::{Fault, FileName, Folder, FolderError, Place, SaveError, Version};
use std::fs;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::Path;

/// A folder with one case, and its version.
fn folder() -> (tempfile::TempDir, Folder, Version) {
    let directory = tempfile::tempdir().unwrap();
    let folder = Folder::open(directory.path()).unwrap();
    let version = folder.save(Place::Case, &name(), &text(1, 5), None, now()).unwrap();
    (directory, folder, version)
}

/// The words of a save that was not made.
#[track_caller]
fn told(error: SaveError, fault: Fault, shown: &str) -> FolderError {
    let SaveError::Folder(error) = error else { panic!("{error}") };
    assert_eq!(error.fault, fault, "{error}");
    assert!(error.message.contains(shown), "{error}: which is it?");
    let said = error.to_string();
    assert!(said.contains("; ") && said.contains("try again"), "{said}: what now?");
    assert!(said.contains("the file is as it was"), "{said}: is it lost?");
    assert!(!said.contains("os error"), "{said}: whose words are these?");
    error
}

#[track_caller]
fn unharmed(directory: &Path, folder: &Folder) {
    assert_eq!(fs::read_to_string(directory.join("quintet.toml")).unwrap(), text(1, 5));
    assert!(leftovers(directory).is_empty());
    assert!(!check_history(folder, &name()).is_empty());
}

/// Tries to save another text.
fn save(folder: &Folder, base: Version) -> SaveError {
    folder.save(Place::Case, &name(), &text(2, 5), Some(base), now()).unwrap_err()
}

#[test]
fn a_link_in_the_place_of_what_is_written_leads_nowhere() {
    let outside = tempfile::tempdir().unwrap();
    let target = outside.path().join("secret");
    for place in ["lock", "case", "case/quintet"] {
        let (directory, folder, base) = folder();
        let path = folder.root().join(".history").join(place);
        let aside = directory.path().join("aside");
        fs::rename(&path, &aside).unwrap();
        fs::write(&target, "secret").unwrap();
        symlink(if place == "lock" { &target } else { outside.path() }, &path).unwrap();
        told(save(&folder, base), Fault::NotPlain, place);
        fs::remove_file(&path).unwrap();
        fs::rename(&aside, &path).unwrap();
        unharmed(directory.path(), &folder);
        let seen: Vec<_> = fs::read_dir(outside.path()).unwrap().collect();
        assert_eq!((seen.len(), fs::read_to_string(&target).unwrap().as_str()), (1, "secret"), "{place}");
        folder.save(Place::Case, &name(), &text(2, 5), Some(base), now()).unwrap();
    }
    // The folder that holds all of them.
    let (directory, folder, base) = folder();
    fs::rename(directory.path().join(".history"), directory.path().join("aside")).unwrap();
    symlink(outside.path(), directory.path().join(".history")).unwrap();
    told(save(&folder, base), Fault::NotPlain, ".history");
    assert_eq!(fs::read_dir(outside.path()).unwrap().count(), 1);
}

#[test]
fn a_file_replaced_meanwhile_is_left_alone() {
    let outside = tempfile::tempdir().unwrap();
    fs::write(outside.path().join("theirs.toml"), text(1, 5)).unwrap();
    let (directory, folder, base) = folder();
    let path = directory.path().join("quintet.toml");
    // A link to the same text elsewhere is not the file that was read.
    fs::remove_file(&path).unwrap();
    symlink(outside.path().join("theirs.toml"), &path).unwrap();
    told(save(&folder, base), Fault::NotPlain, "quintet.toml");
    assert!(fs::symlink_metadata(&path).unwrap().is_symlink());
    assert_eq!(fs::read_to_string(outside.path().join("theirs.toml")).unwrap(), text(1, 5));
    // A folder.
    fs::remove_file(&path).unwrap();
    fs::create_dir(&path).unwrap();
    told(save(&folder, base), Fault::NotPlain, "quintet.toml");
    fs::remove_dir(&path).unwrap();
    // Nothing: then it is said that it was deleted, and the text can be saved as a new one.
    let error = save(&folder, base);
    assert_eq!(error, SaveError::ChangedMeanwhile { theirs: None });
    assert!(
        error.to_string().contains("deleted elsewhere") && error.to_string().contains("save it as a new one")
    );
    folder.save(Place::Case, &name(), &text(2, 5), None, now()).unwrap();
    // Another text: it is there to choose from.
    fs::write(&path, "a = 1\n").unwrap();
    let error = folder.save(Place::Case, &name(), "a = 2\n", Some(base), now()).unwrap_err();
    assert_eq!(error.their_version(), Some(Version::of(b"a = 1\n")), "{error}");
    assert!(error.to_string().contains("changed elsewhere") && error.to_string().contains("both texts"));
    assert_eq!(fs::read_to_string(&path).unwrap(), "a = 1\n");
}

#[test]
fn what_may_not_be_changed_is_said_so() {
    let (directory, folder, base) = folder();
    let path = directory.path().join("quintet.toml");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
    told(save(&folder, base), Fault::Denied, "quintet.toml");
    told(folder.delete(Place::Case, &name(), base, now()).unwrap_err(), Fault::Denied, "quintet.toml");
    unharmed(directory.path(), &folder);
}

#[test]
fn a_name_that_leads_elsewhere_is_refused_with_the_reason() {
    for bad in ["../quintet.toml", "/etc/passwd.toml", "a/b.toml", "..", "con.toml", &"a".repeat(300)] {
        let error = FileName::parse(bad).unwrap_err();
        assert_eq!(error.fault, Fault::BadName);
        assert!(error.to_string().contains("can't be the name of a file here; "), "{error}");
        assert!(error.message.len() < 200, "{error}");
    }
}
