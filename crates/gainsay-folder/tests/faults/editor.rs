//! Another program that writes in the folder and knows nothing of its lock.

use crate::{Random, leftovers, name, now};
use gainsay_folder::folder::{Folder, Place, SaveError};
use rustix::fs::{CWD, RenameFlags, renameat_with};
use std::collections::HashSet;
use std::fs;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// An editor that knows no lock writes all the time, by putting whole files in place as editors do. It learns what it displaced
/// by exchanging names, so that every text can be accounted for.
#[test]
fn a_program_without_the_lock_loses_nothing() {
    let directory = tempfile::tempdir().unwrap();
    let folder = Folder::open(directory.path()).unwrap();
    folder.save(Place::Case, &name(), "editor = 0", None, now()).unwrap();
    let path = folder.path_of(Place::Case, &name());
    let is_done = AtomicBool::new(false);
    let (displaced, (based_on, mine, clashes)) = std::thread::scope(|scope| {
        let editor = scope.spawn(|| {
            let mut random = Random(3);
            let mut displaced = Vec::new();
            let aside = directory.path().join("editor.tmp~");
            for number in 1.. {
                if is_done.load(Ordering::SeqCst) {
                    break;
                }
                fs::write(&aside, format!("editor = {number}")).unwrap();
                renameat_with(CWD, &aside, CWD, &path, RenameFlags::EXCHANGE).unwrap();
                displaced.push(fs::read_to_string(&aside).unwrap());
                std::thread::sleep(Duration::from_micros(random.below(6_000)));
            }
            displaced
        });
        let (mut based_on, mut mine, mut clashes) = (HashSet::new(), HashSet::new(), 0);
        for number in 0..3000 {
            let read = folder.read(Place::Case, &name()).unwrap();
            let text = format!("mine = {number}");
            match folder.save(Place::Case, &name(), &text, Some(read.version), now()) {
                Ok(_) => {
                    based_on.insert(read.text);
                    mine.insert(text);
                }
                Err(SaveError::ChangedMeanwhile { theirs }) => {
                    assert!(theirs.is_some());
                    clashes += 1;
                }
                Err(other) => panic!("{other}"),
            }
        }
        is_done.store(true, Ordering::SeqCst);
        (editor.join().unwrap(), (based_on, mine, clashes))
    });
    let last = fs::read_to_string(&path).unwrap();
    let mut back_and_forth = 0;
    for number in 0..displaced.len() as u64 {
        let text = format!("editor = {number}");
        // Displaced by the editor's own next text, or by a save of somebody who had read it, or still there.
        let seen = displaced.contains(&text) || based_on.contains(&text) || last == text;
        // The editor's next text came while ours was being taken back: then it is ours that it displaced, and this one is what it
        // would have displaced.
        let next = displaced.get(number as usize);
        let taken_back = next.is_some_and(|next| next.starts_with("mine") && !mine.contains(next));
        back_and_forth += u32::from(!seen && taken_back);
        assert!(seen || taken_back, "{text} is lost");
    }
    for text in &mine {
        assert!(displaced.contains(text) || based_on.contains(text) || last == *text, "{text} is lost");
    }
    println!(
        "{} texts of the editor, {} saves, {clashes} clashes, {back_and_forth} taken back late",
        displaced.len(),
        mine.len()
    );
    assert!(clashes > 100 && mine.len() > 100);
    assert!(leftovers(directory.path()).is_empty());
}
