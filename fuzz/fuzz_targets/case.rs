//! A case file: no panic while it is read, and none while what was accepted is checked.
#![no_main]

use gainsay_folder::{Memory, load};
use gainsay_plan::{Draws, Options, check};
use libfuzzer_sys::fuzz_target;
use std::path::Path;

fuzz_target!(|text: &str| {
    let tree = Memory::new(&[("case.toml", text)]);
    if let Ok(case) = load(&tree, Path::new("case.toml")) {
        // A case with hundreds of sources is only slow, and shows nothing new.
        if case.sources.len() <= 8 {
            let _ = check(&case, Options { draws: Draws { count: 8, seed: 1 }, stage_intervals: true });
        }
    }
});
