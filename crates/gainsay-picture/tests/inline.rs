//! Pictures as elements of a page.
#![cfg(test)]

use gainsay_folder::{demo, load};
use gainsay_picture::{Style, lane, level_diagram, level_diagram_inline, rules};
use gainsay_plan::{Options, check};
use std::path::Path;

/// A page may forbid styles in its markup: then its own style sheet has to draw what stands in it.
#[test]
fn pictures_in_a_page_carry_no_style() {
    let case = load(&demo::tree(), Path::new("quintet.toml")).unwrap();
    let answer = check(&case, Options { stage_intervals: true, ..Options::default() }).unwrap();
    let of_page = level_diagram_inline(&answer, &Style::default());
    let large = lane(&answer.sources[0], &Style::default());
    let file = level_diagram(&answer, &Style::default());
    for svg in [&of_page, &large] {
        assert!(!svg.contains("<style") && !svg.contains("style="), "{svg}");
    }
    assert!(file.contains("<style>"));
    // Every rule of the file stands in the rules for pages, but for the colours and what is behind a whole document.
    let (_, style) = file.split_once("<style>").unwrap();
    let (style, _) = style.split_once("</style>").unwrap();
    let rules = rules();
    let own = style.lines().filter(|line| line.starts_with(".level-diagram"));
    let mut count = 0;
    for line in own {
        count += 1;
        assert!(rules.lines().any(|rule| rule == line), "{line}");
    }
    assert!(count > 30, "{count}");
}
