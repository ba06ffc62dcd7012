//! Draws the demo's options as SVG files into a folder, and a studio with more plans than any demo has:
//! `cargo run --example draw_options -- docs/pictures`.

use gainsay_picture::{Style, Width};
use gainsay_plan::options::{OptionsAnswer, Plan, Score, options};
use gainsay_plan::{Options, Price};
use std::error::Error;
use std::ops::ControlFlow;
use std::path::Path;

/// Files of the demo and the pictures made of them.
const PICTURES: [(&str, &str); 3] = [
    ("storyteller.toml", "options-storyteller"),
    ("storyteller-pocket-recorder.toml", "options-pocket-recorder"),
    ("quintet-96-khz.toml", "options-quintet-96-khz"),
];

/// The same plan at another price and with another result.
fn like(plan: &Plan, price: u64, result: Score, chance_enough: f64) -> Plan {
    let plan = plan.clone();
    Plan {
        price: Price::of_hundredths(100 * price),
        result,
        chance_enough,
        words: vec![price.to_string()],
        ..plan
    }
}

/// A studio in which each plan brings a little more than the one before.
fn many(answer: &OptionsAnswer) -> Option<OptionsAnswer> {
    let (bought, free) = (answer.frontier.last()?, &answer.today);
    let score = |left_out, short, tight| Score { left_out, short, tight };
    let frontier = [
        (45, score(2, 2, 1), 0.0),
        (70, score(2, 1, 1), 0.0),
        (185, score(1, 2, 0), 0.0),
        (190, score(1, 1, 0), 0.0),
        (420, score(0, 1, 2), 0.14),
        (560, score(0, 0, 2), 0.41),
        (575, score(0, 0, 1), 0.55),
        (690, score(0, 0, 0), 0.93),
    ];
    let reserves = [(130, score(2, 1, 1), 0.0), (600, score(0, 0, 2), 0.6), (720, Score::ENOUGH, 0.97)];
    let plans = |all: &[(u64, Score, f64)]| {
        all.iter().map(|(price, result, chance)| like(bought, *price, *result, *chance)).collect::<Vec<_>>()
    };
    Some(OptionsAnswer {
        title: "A hall with many wishes".to_owned(),
        today: Plan { result: score(3, 2, 1), ..free.clone() },
        frontier: plans(&frontier),
        recommended: frontier.len() - 1,
        reserves: plans(&reserves),
        budget: Some(Price::of_hundredths(70_000)),
        ..answer.clone()
    })
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("name the folder to draw into")?;
    std::fs::create_dir_all(&folder)?;
    let tree = gainsay_folder::demo::tree();
    let mut answers = Vec::new();
    for (case, picture) in PICTURES {
        let case = gainsay_folder::load(&tree, Path::new(case)).map_err(|error| error.to_string())?;
        let answer = options(&case, Options::default(), &mut |_| ControlFlow::Continue(()))?;
        if picture == "options-pocket-recorder" {
            answers.extend(many(&answer).map(|many| ("options-many", many)));
        }
        answers.push((picture, answer));
    }
    for (picture, answer) in &answers {
        for (width, end) in [(Width::Wide, ""), (Width::Narrow, "-narrow")] {
            let style = Style { width, prefix: "options", ..Style::default() };
            let svg = gainsay_picture::options_frontier(answer, &style);
            std::fs::write(Path::new(&folder).join(format!("{picture}{end}.svg")), svg)?;
        }
    }
    Ok(())
}
