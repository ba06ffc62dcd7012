//! Answers to draw: the demo's cases and some that strain the picture.

use gainsay_folder::{Memory, demo, load};
use gainsay_plan::{Answer, Options, check};
use std::path::Path;

/// Cases of the demo.
pub(crate) const DEMO: [&str; 3] = ["quintet.toml", "storyteller.toml", "storyteller-pocket-recorder.toml"];

/// Cases with every kind of chain, by name.
pub(crate) const HARD: &[(&str, &str)] = &[
    ("booster", include_str!("booster.toml")),
    ("loud", include_str!("loud.toml")),
    ("preamp", include_str!("preamp.toml")),
    ("twelve", include_str!("twelve.toml")),
    ("names", include_str!("names.toml")),
];

fn answer(case: &gainsay_plan::Case, name: &str) -> Answer {
    let options = Options { stage_intervals: true, ..Options::default() };
    check(case, options).unwrap_or_else(|error| panic!("{name}: {error:?}"))
}

/// The answer to a case of the demo.
pub(crate) fn demo_answer(name: &str) -> Answer {
    let case = load(&demo::tree(), Path::new(name)).unwrap_or_else(|error| panic!("{name}: {error}"));
    answer(&case, name)
}

/// The answer to a case of [`HARD`].
pub(crate) fn hard_answer(name: &str) -> Answer {
    let (_, text) = HARD.iter().find(|(known, _)| *known == name).unwrap_or_else(|| panic!("no case {name}"));
    let tree = Memory::new(&[("case.toml", text)]);
    let case = load(&tree, Path::new("case.toml")).unwrap_or_else(|error| panic!("{name}: {error}"));
    answer(&case, name)
}

/// All of them, with their names.
pub(crate) fn all() -> Vec<(&'static str, Answer)> {
    let demo = DEMO.iter().map(|name| (*name, demo_answer(name)));
    demo.chain(HARD.iter().map(|(name, _)| (*name, hard_answer(name)))).collect()
}
