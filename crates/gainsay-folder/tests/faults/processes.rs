//! Processes that are killed, and two that save at once.

use crate::{Random, check_history, child, leftovers, name, next_line, now, text};
use gainsay_folder::folder::{Fault, Folder, Place, SaveError, Version};
use std::fs;
use std::io::{BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout};
use std::time::Duration;

#[test]
fn killed_at_250_random_points() {
    let directory = tempfile::tempdir().unwrap();
    let folder = Folder::open(directory.path()).unwrap();
    folder.save(Place::Case, &name(), &text(0, 2000), None, now()).unwrap();
    let mut random = Random(7);
    let (mut in_the_middle, mut new_in_place, mut with_leftovers) = (0, 0, 0);
    for round in 0..250 {
        let mut process = child("saves", directory.path());
        let mut lines = BufReader::new(process.stdout.take().unwrap());
        // Some saves, and then a moment of the next.
        let (mut begun, mut done) = (None, None);
        let mut saves = random.below(3);
        let number = |line: &str| line.split_once(' ').unwrap().1.parse::<u64>().unwrap();
        while let Some(line) = next_line(&mut lines, &["begin ", "done "]) {
            if line.starts_with("done") {
                done = Some(number(&line));
                continue;
            }
            begun = Some(number(&line));
            if saves == 0 {
                break;
            }
            saves -= 1;
        }
        std::thread::sleep(Duration::from_micros(random.below(16_000)));
        process.kill().unwrap();
        process.wait().unwrap();
        while let Some(line) = next_line(&mut lines, &["begin ", "done "]) {
            if line.starts_with("done") {
                done = Some(number(&line));
            } else {
                begun = Some(number(&line));
            }
        }
        let begun = begun.unwrap();
        let done = done.unwrap_or(begun - 1);
        let is = fs::read_to_string(folder.path_of(Place::Case, &name())).unwrap();
        let (former, latest) = (text(done, 2000), text(begun, 2000));
        assert!(is == former || is == latest, "round {round}: torn, or lost: begins {:?}", is.lines().next());
        in_the_middle += u32::from(begun != done);
        new_in_place += u32::from(begun != done && is == latest);
        with_leftovers += u32::from(!leftovers(directory.path()).is_empty());
        // Opened again, all is tidy, all history is whole, and what was there is in it.
        let folder = Folder::open(directory.path()).unwrap();
        assert_eq!(leftovers(directory.path()), Vec::<PathBuf>::new(), "round {round}");
        let history = check_history(&folder, &name());
        assert!(history.contains(&Version::of(former.as_bytes())), "round {round}");
        assert!(history.contains(&Version::of(is.as_bytes())), "round {round}");
        let base = folder.read(Place::Case, &name()).unwrap().version;
        folder.save(Place::Case, &name(), &text(begun + 1, 2000), Some(base), now()).unwrap();
    }
    println!(
        "{in_the_middle} of 250 in the middle of a save; the new text in place in {new_in_place}; {with_leftovers} with leftovers"
    );
    assert!(in_the_middle >= 200 && new_in_place > 0 && with_leftovers > 0, "the moments are badly chosen");
}

struct Racer {
    process: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
}

impl Racer {
    fn start(folder: &Path) -> Self {
        let mut process = child("races", folder);
        let (to, from) = (process.stdin.take().unwrap(), process.stdout.take().unwrap());
        Self { process, to, from: BufReader::new(from) }
    }
}

#[test]
fn of_two_who_save_at_once_one_wins() {
    let directory = tempfile::tempdir().unwrap();
    let folder = Folder::open(directory.path()).unwrap();
    let mut base = folder.save(Place::Case, &name(), "a = 0", None, now()).unwrap();
    let mut racers = [Racer::start(directory.path()), Racer::start(directory.path())];
    let mut wins = [0, 0];
    for round in 0..200 {
        let texts = [format!("left = {round}"), format!("right = {round}")];
        for turn in 0..2 {
            // Now one, now the other goes first.
            let racer = (round + turn) % 2;
            writeln!(racers[racer].to, "{base} {}", texts[racer]).unwrap();
        }
        let answers =
            [0, 1].map(|racer| next_line(&mut racers[racer].from, &["won ", "lost ", "failed "]).unwrap());
        let winner = usize::from(!answers[0].starts_with("won"));
        let version = Version::of(texts[winner].as_bytes());
        assert_eq!(answers[winner], format!("won {version}"), "round {round}: {answers:?}");
        assert_eq!(answers[1 - winner], format!("lost {version}"), "round {round}: {answers:?}");
        let read = folder.read(Place::Case, &name()).unwrap();
        assert_eq!(read.text, texts[winner], "round {round}");
        assert!(check_history(&folder, &name()).contains(&base), "round {round}");
        base = version;
        wins[winner] += 1;
    }
    println!("the first won {}, the second {}", wins[0], wins[1]);
    for Racer { process, to, .. } in &mut racers {
        process.kill().unwrap();
        process.wait().unwrap();
        let _ = to;
    }
}

/// The exchange of names alone lets no text get lost; the lock keeps the history and the temporary files of one save from another.
#[cfg(target_os = "linux")]
#[test]
fn a_save_waits_for_the_lock() {
    use rustix::fs::{FlockOperation, flock};
    let directory = tempfile::tempdir().unwrap();
    let folder = Folder::open(directory.path()).unwrap();
    folder.save(Place::Case, &name(), "a = 0", None, now()).unwrap();
    let lock = fs::File::open(directory.path().join(".history/lock")).unwrap();
    flock(&lock, FlockOperation::LockExclusive).unwrap();
    let base = Version::of(b"a = 0");
    std::thread::scope(|scope| {
        let save = scope.spawn(|| folder.save(Place::Case, &name(), "a = 1", Some(base), now()));
        std::thread::sleep(Duration::from_millis(300));
        assert!(!save.is_finished());
        assert_eq!(folder.read(Place::Case, &name()).unwrap().text, "a = 0");
        flock(&lock, FlockOperation::Unlock).unwrap();
        save.join().unwrap().unwrap();
    });
    assert_eq!(folder.read(Place::Case, &name()).unwrap().text, "a = 1");
    // And it doesn't wait for ever.
    flock(&lock, FlockOperation::LockExclusive).unwrap();
    let error = folder.save(Place::Case, &name(), "a = 2", Some(Version::of(b"a = 1")), now()).unwrap_err();
    assert!(matches!(error, SaveError::Folder(error) if error.fault == Fault::Busy));
}
