//! The level diagram as a document: well-formed, readable, true to the answer.

// Tells the lints that the functions below that are no tests themselves serve tests only.
#![cfg(test)]

mod cases;

use cases::{all, demo_answer, hard_answer};
use gainsay_picture::{
    COLOURS, Style, Width, lane, level_diagram, level_diagram_inline, text_boxes, text_twin,
};
use gainsay_plan::stages::Stage;
use gainsay_plan::words::{decimals, number, percent};
use gainsay_plan::{Answer, Estimate};
use gainsay_units::math::pow;
use roxmltree::{Document, Node};
use std::path::Path;

fn style(width: Width) -> Style<'static> {
    Style { width, ..Style::default() }
}

const WIDTHS: [Width; 2] = [Width::Wide, Width::Narrow];

fn parse<'a>(svg: &'a str, name: &str) -> Document<'a> {
    Document::parse(svg).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// What a reader sees of a text: without the titles that only a pointer shows.
fn seen(node: Node<'_, '_>) -> String {
    node.descendants()
        .filter(|n| n.is_text() && !n.ancestors().any(|a| a.has_tag_name("title")))
        .filter_map(|n| n.text())
        .collect()
}

fn texts(document: &Document<'_>) -> Vec<String> {
    document.descendants().filter(|n| n.has_tag_name("text")).map(seen).collect()
}

#[test]
fn every_picture_is_well_formed_and_names_itself() {
    for (name, answer) in all() {
        for width in WIDTHS {
            let svg = level_diagram(&answer, &style(width));
            assert!(
                svg.starts_with("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg "),
                "{name}: no header"
            );
            let document = parse(&svg, name);
            let root = document.root_element();
            assert_eq!(root.tag_name().namespace(), Some("http://www.w3.org/2000/svg"), "{name}");
            assert_eq!(root.attribute("role"), Some("img"), "{name}");
            for (attribute, tag) in [("aria-labelledby", "title"), ("aria-describedby", "desc")] {
                let id = root.attribute(attribute).unwrap();
                let named = root.children().find(|n| n.has_tag_name(tag)).and_then(|n| n.attribute("id"));
                assert_eq!(named, Some(id), "{name}: {attribute}");
            }
            parse(&level_diagram_inline(&answer, &style(width)), name);
            for source in &answer.sources {
                parse(&lane(source, &style(width)), &source.name);
            }
        }
    }
}

#[test]
fn identifiers_are_unique_and_references_lead_somewhere() {
    for (name, answer) in all() {
        let svg = level_diagram(&answer, &Style::default());
        let document = parse(&svg, name);
        let ids: Vec<&str> = document.descendants().filter_map(|n| n.attribute("id")).collect();
        for (index, id) in ids.iter().enumerate() {
            assert!(!ids.iter().skip(index + 1).any(|other| other == id), "{name}: {id} twice");
        }
        for node in document.descendants() {
            for attribute in node.attributes() {
                if let Some(id) = attribute.value().strip_prefix("url(#").and_then(|v| v.strip_suffix(')')) {
                    assert!(ids.contains(&id), "{name}: {id} is not defined");
                }
            }
        }
    }
}

#[test]
fn no_text_covers_another_or_leaves_the_picture() {
    let before = demo_answer("storyteller-pocket-recorder.toml");
    for (name, answer) in all() {
        for width in WIDTHS {
            for before in [None, Some(&before)] {
                let style = Style { before, ..style(width) };
                let boxes = text_boxes(&answer, &style);
                for (index, a) in boxes.iter().enumerate() {
                    for b in boxes.iter().skip(index + 1) {
                        if let Some(over) = a.overlap(b) {
                            panic!(
                                "{name}, {width:?}: \"{}\" and \"{}\" overlap by {over:.1} px",
                                a.text, b.text
                            );
                        }
                    }
                    let right = if width == Width::Wide { 1216.0 } else { 360.0 };
                    assert!(a.left >= 0.0, "{name}, {width:?}: \"{}\" begins at {:.1}", a.text, a.left);
                    assert!(a.right <= right, "{name}, {width:?}: \"{}\" ends at {:.1}", a.text, a.right);
                }
            }
        }
    }
}

/// An estimate as the picture must show it.
fn shown(estimate: &Estimate, unit: &str) -> String {
    format!("{}\u{2009}{unit}", number(estimate.median, decimals(estimate)))
}

#[test]
fn figures_are_those_of_the_answer() {
    for (name, answer) in all() {
        for width in WIDTHS {
            let svg = level_diagram(&answer, &style(width));
            let all_texts = texts(&parse(&svg, name)).join("\n");
            for source in &answer.sources {
                let Some(result) = &source.result else { continue };
                let mut wanted = vec![
                    format!("peak {}", shown(&result.peak_dbfs, "dBFS")),
                    format!("noise {}", shown(&result.noise_dbfs_a, "dBFS(A)")),
                ];
                let quiet = if width == Width::Wide { "quietest" } else { "quietest passage" };
                wanted.push(format!("{quiet} {}", shown(&result.quiet_dbfs, "dBFS")));
                for share in result.noise_shares.iter().filter(|share| share.mean >= 0.01) {
                    let percent = percent(share.mean).replace(' ', "\u{2009}");
                    wanted.push(format!("{percent} {}", share.contributor.words()));
                }
                if let Some(gain) = result.gain_db {
                    let sign = if number(gain, 0).starts_with(['−', '0']) { "" } else { "+" };
                    wanted.push(format!("{sign}{}\u{2009}dB", number(gain, 0)));
                }
                for figure in wanted {
                    assert!(all_texts.contains(&figure), "{name}, {}: \"{figure}\" is missing", source.name);
                }
            }
        }
    }
}

#[test]
fn shares_in_a_picture_add_up() {
    for (name, answer) in all() {
        let svg = level_diagram(&answer, &Style::default());
        let document = parse(&svg, name);
        let bars: Vec<f64> = document
            .descendants()
            .filter(|n| n.attribute("class") == Some("segment"))
            .filter_map(|n| n.attribute("height")?.parse().ok())
            .collect();
        let lanes = answer.sources.iter().filter(|s| s.result.is_some()).count() as f64;
        let plot = if answer.sources.len() > 4 { 104.0 } else { 236.0 };
        let sum: f64 = bars.iter().sum();
        let off = (sum - lanes * plot).abs();
        // Every segment is printed to a tenth; up to 0.2 may be left out.
        let allowed = 0.05 * bars.len() as f64 + 0.2 * lanes;
        assert!(off <= allowed, "{name}: bars of shares are {sum:.1} px instead of {:.1}", lanes * plot);
    }
}

/// Points of a path of absolute M and L commands.
fn points(d: &str) -> Vec<(f64, f64)> {
    d.split(['M', 'L'])
        .filter(|part| !part.is_empty())
        .map(|part| {
            let mut numbers = part.split(' ').map(|n| n.parse::<f64>().unwrap());
            (numbers.next().unwrap(), numbers.next().unwrap())
        })
        .collect()
}

/// All paths of a class that go through points.
fn document_paths(document: &Document<'_>, class: &str) -> Vec<Vec<(f64, f64)>> {
    document
        .descendants()
        .filter(|n| n.attribute("class") == Some(class))
        .map(|n| n.attribute("d").unwrap())
        .filter(|d| d.contains('L') && !d.contains('V'))
        .map(points)
        .collect()
}

/// The scale that the figures beside an axis state: level against y, through two of them.
fn scale(document: &Document<'_>, x: impl Fn(f64) -> bool) -> impl Fn(f64) -> f64 {
    let ticks: Vec<(f64, f64)> = document
        .descendants()
        .filter(|n| n.has_tag_name("text") && n.attribute("class") == Some("tick quiet"))
        .filter(|n| x(n.attribute("x").unwrap().parse().unwrap()))
        .filter_map(|n| {
            let level: f64 = seen(n).replace('−', "-").parse().ok()?;
            // Figures hang 3.8 px below their line.
            Some((level, n.attribute("y")?.parse::<f64>().ok()? - 3.8))
        })
        .collect();
    let (first, last) = (ticks[0], ticks[ticks.len() - 1]);
    move |y| first.0 + (y - first.1) * (last.0 - first.0) / (last.1 - first.1)
}

/// Read as a reader does it: the left scale at the band's beginning gives dB SPL, the right scale at its end dBFS.
#[test]
fn the_scales_read_what_the_answer_says() {
    for name in ["storyteller.toml", "storyteller-pocket-recorder.toml"] {
        let answer = demo_answer(name);
        let result = answer.sources[0].result.as_ref().unwrap();
        let svg = level_diagram(&answer, &Style::default());
        let document = parse(&svg, name);
        let left = scale(&document, |x| x < 60.0);
        let right = scale(&document, |x| (800.0..840.0).contains(&x));
        // What ties both ends to the axis: the microphone's maximum sound level, and full scale.
        let ceilings: Vec<Vec<(f64, f64)>> = document_paths(&document, "ceiling");
        let (first, last) = (&ceilings[ceilings.len() - 3], &ceilings[ceilings.len() - 1]);
        let maximum = result.stages[0].ceiling.unwrap();
        let (limit, full_scale) = (left(first[0].1), right(last[last.len() - 1].1));
        assert!((limit - maximum).abs() < 0.2, "{name}: limit {limit:.2} dB SPL, answer {maximum:.2}");
        assert!(full_scale.abs() < 0.2, "{name}: full scale at {full_scale:.2} dBFS");
        let air = result.stage_intervals.iter().find(|i| i.stage == Stage::Air).unwrap();
        for (class, start, end) in [
            ("edge", air.peak.median, result.peak_dbfs.median),
            ("quiet-edge", air.quiet.median, result.quiet_dbfs.median),
        ] {
            let lines = document_paths(&document, class);
            // The legend's marks are drawn with other commands.
            assert_eq!(lines.len(), 1, "{name}: lines of class {class}");
            let line = &lines[0];
            let (read_start, read_end) = (left(line[0].1), right(line[line.len() - 1].1));
            // Coordinates to a tenth of a pixel, about 1.4 px for each dB, scales through rounded ticks.
            assert!(
                (read_start - start).abs() < 0.2,
                "{name}, {class}: {read_start:.2} dB SPL, answer {start:.2}"
            );
            assert!((read_end - end).abs() < 0.2, "{name}, {class}: {read_end:.2} dBFS, answer {end:.2}");
        }
    }
}

#[test]
fn a_ceiling_is_passed_in_the_picture_only_where_it_may_be() {
    for (name, answer) in all() {
        let svg = level_diagram(&answer, &Style::default());
        let drawn = svg.matches("class=\"over\"").count();
        // The upper end of a 95 % interval: passed with at least 2.5 %.
        let likely = answer
            .sources
            .iter()
            .filter_map(|s| s.result.as_ref())
            .any(|r| r.ceilings.iter().any(|c| c.probability >= 0.04));
        let unlikely = answer
            .sources
            .iter()
            .filter_map(|s| s.result.as_ref())
            .all(|r| r.ceilings.iter().all(|c| c.probability < 0.01));
        assert!(!(likely && drawn == 0), "{name}: passed, and not shown");
        assert!(!(unlikely && drawn > 0), "{name}: shown {drawn} times, and not passed");
    }
}

#[test]
fn odd_names_are_escaped_cut_and_kept_whole_in_titles() {
    let answer = hard_answer("names");
    for width in WIDTHS {
        let svg = level_diagram(&answer, &style(width));
        assert!(!svg.contains("<script"), "a name became an element");
        let document = parse(&svg, "names");
        let titles: Vec<&str> =
            document.descendants().filter(|n| n.has_tag_name("title")).filter_map(|n| n.text()).collect();
        for source in answer.sources.iter().filter(|s| s.name.chars().count() > 60) {
            assert!(titles.contains(&source.name.as_str()), "{} is not a title", source.name);
        }
        for forbidden in ['\u{7}', '\u{202e}'] {
            assert!(!svg.contains(forbidden), "{forbidden:?} is in the picture");
        }
    }
}

#[test]
fn the_text_says_all_that_the_picture_shows() {
    for (name, answer) in all() {
        let twin = text_twin(&answer);
        let svg = level_diagram(&answer, &Style::default());
        let document = parse(&svg, name);
        let description = document.descendants().find(|n| n.has_tag_name("desc")).and_then(|n| n.text());
        assert_eq!(description, Some(twin.as_str()), "{name}: the description is another text");
        for source in &answer.sources {
            // Characters that may not stand in a picture are left out of the text, too.
            let plain: String = source.name.chars().filter(|c| !matches!(c, '\u{7}' | '\u{202e}')).collect();
            let verdict = source.result.as_ref().map_or("no input", |r| r.verdict.word());
            let sentence = format!("{verdict}; {}", source.sentence);
            assert!(twin.replace('\u{fffd}', "").contains(&plain), "{name}: {plain} is missing");
            assert!(twin.contains(&sentence), "{name}: \"{sentence}\" is missing");
            let Some(result) = &source.result else { continue };
            for share in &result.noise_shares {
                let percent = percent(share.mean).replace(" %", "\u{2009}%");
                let words = format!("{} {percent}", share.contributor.words());
                assert!(twin.contains(&words), "{name}, {}: \"{words}\" is missing", source.name);
            }
        }
    }
}

#[test]
fn no_more_lanes_than_asked_for() {
    let answer = hard_answer("twelve");
    let style = Style { most_lanes: 3, ..Style::default() };
    let all_texts = texts(&parse(&level_diagram(&answer, &style), "twelve")).join("\n");
    assert!(all_texts.contains("and 9 more"), "what is left out is not said");
    assert!(!all_texts.contains(&answer.sources[3].name), "a fourth lane is drawn");
}

#[test]
fn an_answer_without_sources_or_intervals_can_be_drawn() {
    let mut answer = demo_answer("storyteller.toml");
    answer.sources[0].result.as_mut().unwrap().stage_intervals.clear();
    parse(&level_diagram(&answer, &Style::default()), "without intervals");
    answer.sources[0].result.as_mut().unwrap().stages.clear();
    parse(&level_diagram(&answer, &Style::default()), "without stages");
    answer.sources.clear();
    for width in WIDTHS {
        parse(&level_diagram(&answer, &style(width)), "without sources");
    }
}

/// Contrast of two colours (Web Content Accessibility Guidelines 2.2, definitions of relative luminance and contrast ratio).
fn contrast(a: &str, b: &str) -> f64 {
    let luminance = |colour: &str| -> f64 {
        let digits = colour.trim_start_matches('#');
        let long: String =
            if digits.len() == 3 { digits.chars().flat_map(|c| [c, c]).collect() } else { digits.to_owned() };
        let part = |at: usize| {
            let c = f64::from(u8::from_str_radix(long.get(at..at + 2).unwrap(), 16).unwrap()) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { pow((c + 0.055) / 1.055, 2.4) }
        };
        0.2126 * part(0) + 0.7152 * part(2) + 0.0722 * part(4)
    };
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn texts_and_lines_have_contrast() {
    for part in COLOURS.split(":root{").skip(1) {
        let part = part.split('}').next().unwrap();
        let colour = |name: &str| {
            part.split(';')
                .filter_map(|rule| rule.split_once(':'))
                .find(|(known, _)| *known == format!("--{name}"))
                .unwrap_or_else(|| panic!("no {name} in {part}"))
                .1
        };
        // Level AA: 4.5 for texts, 3 for what a picture needs to be understood.
        for (a, b, least) in [
            ("ink", "paper", 4.5),
            ("quiet-ink", "paper", 4.5),
            ("warning", "paper", 4.5),
            ("signal-edge", "paper", 4.5),
            ("on-signal", "signal", 4.5),
            ("noise-4", "paper", 3.0),
            ("noise-4", "noise-1", 3.0),
        ] {
            let is = contrast(colour(a), colour(b));
            assert!(is >= least, "{a} on {b}: {is:.2} instead of {least} in {part}");
        }
    }
}

fn story() -> Answer {
    demo_answer("storyteller.toml")
}

#[test]
fn the_storyteller_as_a_picture() {
    insta::assert_snapshot!("storyteller", level_diagram(&story(), &Style::default()));
}

#[test]
fn the_storyteller_as_text() {
    insta::assert_snapshot!("storyteller_text", text_twin(&story()));
}

/// The pictures that the documents show are those that the code makes: `cargo run --example draw -- docs/pictures`.
#[test]
fn the_pictures_of_the_documents_are_up_to_date() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/pictures");
    for (case, picture) in [
        ("quintet.toml", "quintet.svg"),
        ("storyteller.toml", "storyteller.svg"),
        ("storyteller-pocket-recorder.toml", "pocket-recorder.svg"),
    ] {
        let kept = std::fs::read_to_string(folder.join(picture)).unwrap_or_else(|e| panic!("{picture}: {e}"));
        let made = level_diagram(&demo_answer(case), &Style::default());
        let differs = kept.lines().zip(made.lines()).position(|(a, b)| a != b);
        assert!(kept == made, "{picture} differs, first in line {}", differs.map_or(0, |line| line + 1));
    }
}
