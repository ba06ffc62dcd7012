//! Draws the demo's level diagrams as SVG files into a folder: `cargo run --example draw -- docs/pictures`.

use gainsay_plan::{Answer, Options, check};
use std::error::Error;
use std::path::Path;

/// Files of the demo and the pictures made of them.
const PICTURES: [(&str, &str); 3] = [
    ("quintet.toml", "quintet.svg"),
    ("storyteller.toml", "storyteller.svg"),
    ("storyteller-pocket-recorder.toml", "pocket-recorder.svg"),
];

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("name the folder to draw into")?;
    std::fs::create_dir_all(&folder)?;
    let tree = gainsay_folder::demo::tree();
    for (case, picture) in PICTURES {
        let case = gainsay_folder::load(&tree, Path::new(case)).map_err(|error| error.to_string())?;
        let answer: Answer = check(&case, Options { stage_intervals: true, ..Options::default() })
            .map_err(|error| format!("{error:?}"))?;
        let svg = gainsay_picture::level_diagram(&answer, &gainsay_picture::Style::default());
        std::fs::write(Path::new(&folder).join(picture), svg)?;
    }
    Ok(())
}
