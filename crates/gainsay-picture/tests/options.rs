//! The options as a document: well-formed, readable, true to the plans.

// Tells the lints that the functions below that are no tests themselves serve tests only.
#![cfg(test)]

use gainsay_picture::{
    Style, TextBox, Width, options_frontier, options_frontier_inline, options_text_boxes, options_text_twin,
};
use gainsay_plan::options::{Change, OptionsAnswer, Plan, Score, options};
use gainsay_plan::{Draws, Options, Price};
use roxmltree::Document;
use std::ops::ControlFlow;
use std::path::Path;
use std::sync::Arc;
use std::sync::LazyLock;

const WIDTHS: [Width; 2] = [Width::Wide, Width::Narrow];

/// The demo whose answer is to buy one thing.
static RECORDER: LazyLock<OptionsAnswer> = LazyLock::new(|| demo("storyteller-pocket-recorder.toml"));

fn demo(file: &str) -> OptionsAnswer {
    let case = gainsay_folder::load(&gainsay_folder::demo::tree(), Path::new(file)).unwrap();
    let with = Options { draws: Draws { count: 800, seed: 1 }, stage_intervals: false };
    options(&case, with, &mut |_| ControlFlow::Continue(())).unwrap()
}

fn style(width: Width) -> Style<'static> {
    Style { width, ..Style::default() }
}

const fn score(left_out: u32, short: u32, tight: u32) -> Score {
    Score { left_out, short, tight }
}

/// A plan that buys a device of a name.
fn plan(name: &str, units: u64, result: Score) -> Plan {
    let price = Price::of_hundredths(100 * units);
    let of_demo = RECORDER.frontier.last().unwrap();
    let Some(Change::Add { device, .. }) = of_demo.changes.first() else { panic!("{:?}", of_demo.words) };
    let mut device = (**device).clone();
    device.name = name.to_owned();
    Plan {
        price,
        result,
        words: vec![format!("buy \"{name}\" for {price}")],
        changes: vec![Change::Add { device: Arc::new(device), count: 1, each: price }],
        ..of_demo.clone()
    }
}

fn answer(frontier: Vec<Plan>, reserves: Vec<Plan>, budget: Option<u64>) -> OptionsAnswer {
    OptionsAnswer {
        recommended: frontier.len().saturating_sub(1),
        frontier,
        reserves,
        without_changes: Vec::new(),
        budget: budget.map(|units| Price::of_hundredths(100 * units)),
        ..RECORDER.clone()
    }
}

fn twelve() -> OptionsAnswer {
    let name = |n: usize| ["Box", "A box with a rather long name, two inputs, typical"][n % 2];
    let frontier: Vec<Plan> = (0..10_usize)
        .map(|n| plan(name(n), [20, 21, 22, 180, 181, 400, 401, 520, 530, 690][n], score(0, 0, 9 - n as u32)))
        .collect();
    let reserves = vec![plan("Reserve", 300, score(0, 0, 6)), plan("Other reserve", 700, score(0, 0, 0))];
    answer(frontier, reserves, Some(700))
}

/// Answers, some of which strain the picture.
fn sets() -> Vec<(&'static str, OptionsAnswer)> {
    let long = format!("<script>&\"{}\" \u{202e}turned", "A very long name of a box ".repeat(12));
    let unbroken = "x".repeat(300);
    let worst = score(64, 64, 64);
    vec![
        ("recorder", RECORDER.clone()),
        ("storyteller", demo("storyteller.toml")),
        ("quintet", demo("quintet-96-khz.toml")),
        ("one", answer(vec![plan("Box", 0, score(0, 0, 0))], Vec::new(), None)),
        ("none", answer(Vec::new(), Vec::new(), Some(0))),
        ("twelve", twelve()),
        (
            "names",
            answer(
                vec![
                    plan(&long, 1, worst),
                    plan(&unbroken, 2, score(0, 1, 0)),
                    plan(&long, 3, score(0, 0, 0)),
                ],
                vec![plan(&unbroken, 3, score(0, 0, 0)), plan("x", 3, score(0, 0, 0))],
                Some(2),
            ),
        ),
        (
            "prices",
            answer(
                vec![plan("a", 1, score(0, 1, 1)), plan("b", 9_999_999_999, score(0, 0, 0))],
                Vec::new(),
                Some(10_000_000_000),
            ),
        ),
        ("budget", answer(vec![plan("a", 70, score(0, 0, 0))], Vec::new(), Some(70_000))),
    ]
}

#[test]
fn every_picture_is_well_formed_and_names_itself() {
    for (name, answer) in sets() {
        for width in WIDTHS {
            let svg = options_frontier(&answer, &style(width));
            let document = Document::parse(&svg).unwrap_or_else(|error| panic!("{name}: {error}"));
            let root = document.root_element();
            assert_eq!(root.attribute("role"), Some("img"), "{name}");
            for (attribute, tag) in [("aria-labelledby", "title"), ("aria-describedby", "desc")] {
                let id = root.attribute(attribute).unwrap();
                let named = root.children().find(|n| n.has_tag_name(tag)).and_then(|n| n.attribute("id"));
                assert_eq!(named, Some(id), "{name}: {attribute}");
            }
            for attribute in document.descendants().flat_map(|node| node.attributes()) {
                let value = attribute.value();
                assert!(!value.contains("NaN") && !value.contains("inf"), "{name}: {attribute:?}");
            }
            Document::parse(&options_frontier_inline(&answer, &style(width)))
                .unwrap_or_else(|error| panic!("{name}, inline: {error}"));
        }
    }
}

#[test]
fn no_text_covers_another_or_leaves_the_picture() {
    for (name, answer) in sets() {
        for width in WIDTHS {
            let boxes: Vec<TextBox> = options_text_boxes(&answer, &style(width));
            let right = if width == Width::Wide { 1216.0 } else { 360.0 };
            for (index, a) in boxes.iter().enumerate() {
                for b in boxes.iter().skip(index + 1) {
                    if let Some(over) = a.overlap(b) {
                        panic!(
                            "{name}, {width:?}: \"{}\" and \"{}\" overlap by {over:.1} px",
                            a.text, b.text
                        );
                    }
                }
                assert!(a.left >= 0.0, "{name}, {width:?}: \"{}\" begins at {:.1}", a.text, a.left);
                assert!(a.right <= right, "{name}, {width:?}: \"{}\" ends at {:.1}", a.text, a.right);
            }
        }
    }
}

/// Numbers of attributes of all circles of a class.
fn circles(svg: &str, class: &str) -> Vec<(f64, f64)> {
    let document = Document::parse(svg).unwrap();
    document
        .descendants()
        .filter(|node| node.has_tag_name("circle") && node.attribute("class") == Some(class))
        .map(|node| {
            let number = |name: &str| node.attribute(name).unwrap().parse::<f64>().unwrap();
            (number("cx"), number("cy"))
        })
        .collect()
}

// Without its legend there is one mark a plan. A price of twice as much lies twice as far to the right; a better result lies
// higher.
#[test]
fn marks_stand_where_price_and_result_are() {
    let answer = answer(
        vec![plan("a", 100, score(0, 1, 0)), plan("b", 200, score(0, 0, 3)), plan("c", 400, score(0, 0, 0))],
        Vec::new(),
        None,
    );
    let svg = options_frontier(&answer, &Style { legend: false, ..Style::default() });
    let mut plans = circles(&svg, "plan");
    plans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let [(a, a_y), (b, b_y), (c, c_y)] = plans[..] else { panic!("not three marks: {plans:?}") };
    assert!(
        (2.0 * (b - a) - (c - b)).abs() < 0.3,
        "from {a} over {b} to {c}: off by {}",
        2.0 * (b - a) - (c - b)
    );
    assert!(a_y > b_y && b_y > c_y, "{a_y}, {b_y}, {c_y} do not rise");
    // The one to follow is ringed.
    assert_eq!(circles(&svg, "ring"), [(c, c_y)]);
    // The steps go through all three.
    let document = Document::parse(&svg).unwrap();
    let steps = document.descendants().find(|n| n.attribute("class") == Some("steps")).unwrap();
    let d = steps.attribute("d").unwrap();
    let text = |value: f64| format!("{value:.1}").trim_end_matches(".0").to_owned();
    assert!(d.starts_with(&format!("M{} {}H{}V{}", text(a), text(a_y), text(b), text(b_y))), "{d}");
    assert!(d.contains(&format!("H{}V{}", text(c), text(c_y))), "{d}");
}

#[test]
fn chances_are_as_long_as_they_are_likely() {
    let of = |chance: f64| Plan { chance_enough: chance, ..plan("a", 100, score(0, 0, 1)) };
    let style = Style { legend: false, ..Style::default() };
    for (chance, length) in [(1.0, "50"), (0.5, "25"), (0.13, "6.5")] {
        let mut answer = answer(vec![of(chance)], Vec::new(), None);
        answer.today.chance_enough = 0.0;
        let svg = options_frontier(&answer, &style);
        let document = Document::parse(&svg).unwrap();
        let bars: Vec<&str> = document
            .descendants()
            .filter(|node| node.attribute("class") == Some("chance"))
            .filter_map(|node| node.attribute("d"))
            .collect();
        assert_eq!(bars.len(), 1, "{chance}: as it is has no chance and no bar: {bars:?}");
        assert!(bars[0].contains(&format!("h{length}v7")), "{chance}: {}", bars[0]);
    }
}

// Colour never carries meaning alone: rings, squares, diamonds and hollow marks tell the plans apart, dashes the lines.
#[test]
fn marks_differ_in_more_than_colour() {
    let mut answer = answer(
        vec![plan("a", 100, score(0, 1, 0)), plan("b", 200, score(0, 0, 0))],
        vec![plan("r", 300, score(0, 0, 0))],
        None,
    );
    answer.without_changes = vec![plan("u", 250, score(0, 0, 0))];
    answer.today.result = score(1, 1, 1);
    let svg = options_frontier(&answer, &Style::default());
    // Each once in the legend and once in the picture.
    assert_eq!(circles(&svg, "plan").len(), 4);
    assert_eq!(circles(&svg, "ring").len(), 2);
    assert_eq!(circles(&svg, "hollow").len(), 2);
    let document = Document::parse(&svg).unwrap();
    let hollow: Vec<&str> = document
        .descendants()
        .filter(|node| node.has_tag_name("path") && node.attribute("class") == Some("hollow"))
        .filter_map(|node| node.attribute("d"))
        .collect();
    assert_eq!(hollow.iter().filter(|d| d.ends_with("h10v10h-10Z")).count(), 2, "squares of what there is");
    assert_eq!(hollow.iter().filter(|d| d.ends_with("l6 6l-6 6l-6-6Z")).count(), 2, "diamonds");
    assert_eq!(document.descendants().filter(|n| n.attribute("class") == Some("other-steps")).count(), 1);
    assert!(svg.contains(".other-steps{stroke:var(--ink);stroke-width:1;stroke-dasharray"), "no dashes");
}

#[test]
fn the_text_twin_tells_the_same() {
    for (name, answer) in sets() {
        let twin = options_text_twin(&answer);
        for sentence in &answer.answer {
            assert!(twin.contains(sentence.as_str()), "{name}: {sentence} is missing");
        }
        for plan in answer.frontier.iter().chain(&answer.reserves).chain(&answer.without_changes) {
            let wanted = format!("At a price of {}: ", plan.price);
            assert!(twin.contains(&wanted), "{name}: {wanted} is missing in {twin}");
        }
        if let Some(budget) = answer.budget {
            assert!(twin.contains(&format!("Budget: {budget}.")), "{name}");
        }
    }
}

#[test]
fn what_has_no_place_is_counted() {
    for width in WIDTHS {
        let svg = options_frontier(&twelve(), &Style { most_lanes: 5, legend: false, ..style(width) });
        assert_eq!(circles(&svg, "plan").len() + circles(&svg, "hollow").len(), 5, "{width:?}");
        assert_eq!(circles(&svg, "ring").len(), 1, "{width:?}: the plan to follow is always drawn");
        assert!(svg.contains("and 8 more"), "{width:?}: thirteen plans with what there is");
    }
}

#[test]
fn the_same_answer_makes_the_same_bytes() {
    assert_eq!(
        options_frontier(&twelve(), &Style::default()),
        options_frontier(&twelve(), &Style::default())
    );
}

#[test]
fn the_recorder() {
    insta::assert_snapshot!("options_recorder_text", options_text_twin(&RECORDER));
}
