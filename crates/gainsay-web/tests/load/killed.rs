//! A server that is killed while it saves what a browser has sent.

use crate::served::{Process, connect, demo, form, get, send};
use gainsay_folder::folder::{FileName, Folder, Place, Version};
use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

const ROUNDS: u64 = 60;

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

/// The case with a long remark behind it: a text that takes its time to be written, and is seen to be whole.
fn text(case: &str, number: u64) -> String {
    let remark = format!("# {number:030}\n");
    format!("{case}\n{}", remark.repeat(3000))
}

fn leftovers(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries
        .flat_map(|path| if path.is_dir() { leftovers(&path) } else { vec![path] })
        .filter(|path| path.extension().is_some_and(|ending| ending == "tmp"))
        .collect()
}

#[test]
fn killed_at_sixty_moments_of_a_save_it_has_the_old_text_or_the_new() {
    let (_kept, folder) = demo();
    let file = folder.join("storyteller.toml");
    let name = FileName::parse("storyteller.toml").unwrap();
    let case = fs::read_to_string(&file).unwrap();
    let mut server = Process::start(&folder);
    let save = |server: &Process, number: u64| {
        let base = Version::of(fs::read_to_string(&file).unwrap().as_bytes()).to_string();
        let text = text(&case, number);
        let fields = [("text", text.as_str()), ("base", base.as_str())];
        (form(server.address, "/cases/storyteller/file", &fields), text)
    };
    // How long a save takes here and now, so that the moments lie in it: the longest of some.
    let mut longest = Duration::ZERO;
    for number in 0..5 {
        let (request, _) = save(&server, number);
        let began = Instant::now();
        assert_eq!(send(server.address, &request).unwrap().status, 303);
        longest = longest.max(began.elapsed());
    }
    let longest = u64::try_from(longest.as_micros()).unwrap();
    let mut random = Random(11);
    let (mut old, mut new, mut answered, mut with_leftovers) = (0, 0, 0, 0);
    for round in 0..ROUNDS {
        let before = fs::read_to_string(&file).unwrap();
        let (request, after) = save(&server, 100 + round);
        let mut stream = connect(server.address);
        stream.write_all(&request).unwrap();
        std::thread::sleep(Duration::from_micros(random.below(longest)));
        server.kill();
        let mut said = Vec::new();
        let _ = stream.read_to_end(&mut said);
        let is_answered = said.starts_with(b"HTTP/1.1 303");
        let is = fs::read_to_string(&file).unwrap();
        assert!(is == before || is == after, "round {round}: torn, ends {:?}", is.lines().last());
        assert!(is == after || !is_answered, "round {round}: said to be saved, and is not");
        old += u32::from(is == before);
        new += u32::from(is == after);
        answered += u32::from(is_answered);
        with_leftovers += u32::from(!leftovers(&folder).is_empty());
        // Started again, it is tidy, tells what stands there, and can save.
        server = Process::start(&folder);
        assert_eq!(leftovers(&folder), Vec::<PathBuf>::new(), "round {round}");
        assert_eq!(get(server.address, "/cases/storyteller").status, 200, "round {round}");
        let opened = Folder::open(&folder).unwrap();
        let history = opened.history(Place::Case, &name).unwrap();
        let known = |text: &str| history.iter().any(|one| one.version == Version::of(text.as_bytes()));
        assert!(known(&before) && known(&is), "round {round}: an earlier text is lost");
    }
    let (request, after) = save(&server, 1000);
    assert_eq!(send(server.address, &request).unwrap().status, 303);
    assert_eq!(fs::read_to_string(&file).unwrap(), after);
    server.kill();
    println!(
        "of {ROUNDS} the old text stands in {old}, the new in {new}, {answered} answered; {with_leftovers} with leftovers"
    );
    assert!(old > 0 && new > 0, "the moments are badly chosen: {old} old, {new} new");
}
