//! The patch diagram as a document: well-formed, readable, every line where the patch says.

// Tells the lints that the functions below that are no tests themselves serve tests only.
#![cfg(test)]

#[allow(dead_code, reason = "the example's own entry point")]
#[path = "../examples/draw_patch.rs"]
mod draw_patch;

use draw_patch::{large_session, patched, pictures};
use gainsay_folder::Memory;
use gainsay_picture::{
    Style, TextBox, Width, patch_diagram, patch_diagram_inline, patch_text_boxes, patch_text_twin,
};
use gainsay_plan::Answer;
use gainsay_plan::patch::sheet::PatchSheet;
use gainsay_plan::patch::{Clock, Hop, Input};
use roxmltree::{Document, Node};
use std::collections::BTreeSet;
use std::path::Path;

const WIDTHS: [Width; 2] = [Width::Wide, Width::Narrow];

fn style(width: Width) -> Style<'static> {
    Style { width, ..Style::default() }
}

fn microphones(count: u32) -> String {
    format!("[[microphone_inputs]]\ncount = {count}\nphantom = true\n")
}

fn port(direction: &str, format: &str, count: u32) -> String {
    format!("[[digital_{direction}]]\ncount = {count}\nformat = \"{format}\"\n")
}

const DEVICE: &str = "[device]\nsample_rates_hz = [44100, 48000, 88200, 96000]\nclock_sources = [\"internal\", \
                      \"word-clock\"]\nword_clock_output = true\n";

/// A case with sources (name and the rest) and devices (type, name, the rest).
fn case(rate: &str, sources: &[(String, &str)], devices: &[(&str, &str, String)]) -> Memory {
    let mut text =
        format!("title = \"A case\"\n[session]\nsample_rate = \"{rate}\"\n[room]\nnoise = \"25 dBA\"\n");
    let mut files = Vec::new();
    for (name, what) in sources {
        text += &format!("[[source]]\nname = \"{name}\"\n{what}\n");
    }
    for (index, (device_type, name, what)) in devices.iter().enumerate() {
        text += &format!("[[owned]]\ndevice = \"device-{index}\"\n");
        files.push((
            format!("gear/device-{index}.toml"),
            format!("name = \"{name}\"\ntype = \"{device_type}\"\n{what}"),
        ));
    }
    files.push(("case.toml".to_owned(), text));
    let files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
    Memory::new(&files)
}

const CONDENSER: &str = "kind = \"speech normal\"\nmicrophone = \"small-condenser-cardioid\"";
const COIL: &str = "kind = \"speech normal\"\nmicrophone = \"moving-coil-vocal\"\ncable = \"3 m\"";
const BOOSTED: &str =
    "kind = \"speech normal\"\nmicrophone = \"moving-coil-vocal\"\nbooster = \"booster-fet-20-db\"";
const KEYBOARD: &str = "kind = \"keyboard line output\"";

fn voices(count: usize, what: &[&'static str]) -> Vec<(String, &'static str)> {
    (1..=count).map(|n| (format!("Voice {n}"), what[n % what.len()])).collect()
}

/// Interface with four inputs, two optical ports and four line inputs; converters over optical; a preamp.
fn studio(rate: &str, sources: usize, converters: usize, preamps: usize) -> Memory {
    let line = "[[line_inputs]]\ncount = 4\nfull_scale = \"+18 dBu\"\n";
    let interface = microphones(4) + line + &port("inputs", "eight-channel-optical", 3) + DEVICE;
    let converter = microphones(8) + &port("outputs", "eight-channel-optical", 2) + DEVICE;
    // Equal devices differ in their names alone, as those of one maker do.
    let names = |what: &str, count: usize| {
        (1..=count).map(|n| format!("{what}, number {n}")).collect::<Vec<String>>()
    };
    let (converters, preamps) =
        (names("Converter with eight inputs", converters), names("Preamp with two channels", preamps));
    let mut devices = vec![("interface", "Interface with four inputs", interface)];
    devices.extend(converters.iter().map(|name| ("converter", name.as_str(), converter.clone())));
    devices.extend(preamps.iter().map(|name| ("preamp", name.as_str(), microphones(2))));
    case(rate, &voices(sources, &[CONDENSER, COIL, BOOSTED, KEYBOARD]), &devices)
}

/// A box behind a box: the planner leads one interface over another only if it has to, so the way of one that goes straight to
/// the computer is led through the first interface here.
fn chained() -> (PatchSheet, Answer) {
    let far = microphones(2) + &port("outputs", "aes3", 1) + DEVICE;
    let middle = microphones(2) + &port("inputs", "aes3", 1) + DEVICE;
    let devices = [
        ("interface", "Interface", microphones(1) + DEVICE),
        ("interface", "Middle box", middle),
        ("converter", "Far box", far),
    ];
    let (mut sheet, mut answer) =
        patched(&case("48 kHz", &voices(5, &[COIL]), &devices), "case.toml").unwrap();
    let patch = &mut answer.patch;
    let main = patch.boxes[0].device.clone();
    let mut link =
        patch.links.iter().find(|link| (link.from, link.to) == (2, 1)).expect("far to middle").clone();
    let index = patch.links.len();
    let mut channels = 0;
    for input in patch.inputs.iter_mut().flatten() {
        let end = input.hops.last().map_or(input.at, |hop| patch.links[hop.link].to);
        if end == 1 {
            let (cable, channel) =
                (channels / link.channels_per_cable + 1, channels % link.channels_per_cable + 1);
            let hop = Hop { link: index, into: main.clone(), format: link.format, cable, channel };
            input.hops.push(hop);
            channels += 1;
        }
    }
    (link.from, link.to, link.channels) = (1, 0, channels);
    patch.links.push(link);
    // The middle box no longer goes to the computer itself.
    sheet.connections.retain(|connection| connection.from_box != 1 || connection.to_box.is_some());
    (sheet, answer)
}

fn odd_names() -> Memory {
    let long =
        "Somebody with a name that goes on and on, longer than any column can be, and then some more of it";
    let names = [
        "<script>alert(1)</script> & 'quotes'",
        long,
        "🎻🎻👩‍👩‍👧‍👦🥁🥁🥁🥁🥁🥁🥁🥁🥁🥁🥁🥁🥁🥁🥁🥁🥁🥁🥁🥁🥁🥁",
        "קול \u{202e}שני עود",
        "漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字漢字",
        "Awordthathasnospacesatallandneverendsandgoesonforeverandever",
    ];
    let sources: Vec<(String, &str)> = names.iter().map(|name| ((*name).to_owned(), CONDENSER)).collect();
    let interface = microphones(2) + &port("inputs", "eight-channel-optical", 1) + DEVICE;
    let converter = microphones(3) + &port("outputs", "eight-channel-optical", 1) + DEVICE;
    let name =
        "Interface whose name is much too long for its frame whatever the picture tries to do about it";
    let converter_name = "Converterwithoutanyspaceinitsnamewhichcannotbebrokenanywhere & <more>";
    case("48 kHz", &sources, &[("interface", name, interface), ("converter", converter_name, converter)])
}

/// All cases, by name.
fn all() -> Vec<(String, PatchSheet, Answer)> {
    let demo = gainsay_folder::demo::tree();
    let mut cases: Vec<(String, Memory, &str)> = vec![
        ("quintet".to_owned(), demo.clone(), "quintet.toml"),
        ("storyteller".to_owned(), demo.clone(), "storyteller.toml"),
        ("recorder".to_owned(), demo, "storyteller-pocket-recorder.toml"),
        ("twenty-four".to_owned(), large_session(), "case.toml"),
        ("odd names".to_owned(), odd_names(), "case.toml"),
    ];
    for (rate, sources, converters, preamps) in [
        ("48 kHz", 3, 0, 0),
        ("48 kHz", 9, 0, 2),
        ("48 kHz", 17, 1, 1),
        ("96 kHz", 17, 1, 0),
        ("96 kHz", 23, 2, 2),
        ("48 kHz", 33, 3, 2),
    ] {
        let name = format!("{sources} sources at {rate}, {converters} converters, {preamps} preamps");
        cases.push((name, studio(rate, sources, converters, preamps), "case.toml"));
    }
    cases
        .into_iter()
        .map(|(name, tree, file)| {
            let (sheet, answer) = patched(&tree, file).unwrap_or_else(|error| panic!("{name}: {error}"));
            (name, sheet, answer)
        })
        .chain(std::iter::once(chained()).map(|(sheet, answer)| ("chained".to_owned(), sheet, answer)))
        .collect()
}

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

fn number(node: Node<'_, '_>, attribute: &str) -> f64 {
    node.attribute(attribute).and_then(|value| value.parse().ok()).unwrap_or_else(|| panic!("no {attribute}"))
}

/// A straight piece of a line.
type Piece = ((f64, f64), (f64, f64));

/// The pieces of a path of the commands M, H, V, h, v, l and Z.
fn pieces(d: &str) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let (mut at, mut start) = ((0.0, 0.0), (0.0, 0.0));
    let letters: Vec<usize> =
        d.char_indices().filter(|(_, c)| c.is_ascii_alphabetic()).map(|(index, _)| index).collect();
    for (order, index) in letters.iter().enumerate() {
        let end = letters.get(order + 1).copied().unwrap_or(d.len());
        let text = d.get(index + 1..end).unwrap().replace('-', " -");
        let n: Vec<f64> = text.split_whitespace().map(|n| n.parse().unwrap()).collect();
        let next = match d.get(*index..=*index).unwrap() {
            "M" => {
                at = (n[0], n[1]);
                start = at;
                continue;
            }
            "H" => (n[0], at.1),
            "V" => (at.0, n[0]),
            "h" => (at.0 + n[0], at.1),
            "v" => (at.0, at.1 + n[0]),
            "l" => (at.0 + n[0], at.1 + n[1]),
            "Z" => start,
            other => panic!("command {other} in {d}"),
        };
        pieces.push((at, next));
        at = next;
    }
    pieces
}

/// A rectangle: left, top, right, bottom.
fn rectangles(document: &Document<'_>, class: &str) -> Vec<(f64, f64, f64, f64)> {
    document
        .descendants()
        .filter(|n| n.has_tag_name("rect") && n.attribute("class") == Some(class))
        .map(|n| {
            let (x, y) = (number(n, "x"), number(n, "y"));
            (x, y, x + number(n, "width"), y + number(n, "height"))
        })
        .collect()
}

/// The pieces of every channel's line, with the number of its track.
fn channel_lines(document: &Document<'_>) -> Vec<(u32, Vec<Piece>)> {
    document
        .descendants()
        .filter_map(|n| Some((n.attribute("data-track")?.parse().unwrap(), pieces(n.attribute("d")?))))
        .collect()
}

#[test]
fn every_picture_is_well_formed_and_names_itself() {
    for (name, sheet, answer) in all() {
        for width in WIDTHS {
            let svg = patch_diagram(&sheet, &answer.patch, &style(width));
            assert!(
                svg.starts_with("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg "),
                "{name}: no header"
            );
            let document = parse(&svg, &name);
            let root = document.root_element();
            assert_eq!(root.attribute("role"), Some("img"), "{name}");
            for (attribute, tag) in [("aria-labelledby", "title"), ("aria-describedby", "desc")] {
                let id = root.attribute(attribute).unwrap();
                let named = root.children().find(|n| n.has_tag_name(tag)).and_then(|n| n.attribute("id"));
                assert_eq!(named, Some(id), "{name}: {attribute}");
            }
            parse(&patch_diagram_inline(&sheet, &answer.patch, &style(width)), &name);
        }
    }
}

#[test]
fn no_text_covers_another_or_leaves_the_picture() {
    for (name, sheet, answer) in all() {
        for width in WIDTHS {
            let boxes = patch_text_boxes(&sheet, &answer.patch, &style(width));
            for (index, a) in boxes.iter().enumerate() {
                for b in boxes.iter().skip(index + 1) {
                    if let Some(over) = a.overlap(b) {
                        panic!(
                            "{name}, {width:?}: \"{}\" and \"{}\" overlap by {over:.1} px",
                            a.text, b.text
                        );
                    }
                }
            }
            let svg = patch_diagram(&sheet, &answer.patch, &style(width));
            let document = parse(&svg, &name);
            let (right, bottom) =
                (number(document.root_element(), "width"), number(document.root_element(), "height"));
            for text in &boxes {
                let inside =
                    text.left >= 0.0 && text.right <= right && text.top >= 0.0 && text.bottom <= bottom;
                assert!(
                    inside,
                    "{name}, {width:?}: \"{}\" from {:.1} to {:.1} leaves the picture of {right} × {bottom}",
                    text.text, text.left, text.right
                );
            }
            if width == Width::Narrow {
                assert!((right - 360.0).abs() < 1e-9, "{name}: narrow is {right} wide");
            }
        }
    }
}

/// How far a piece of a line runs inside a text's box; the box as the widest usual font would make it.
fn crosses(text: &TextBox, ((x1, y1), (x2, y2)): Piece) -> bool {
    let (left, right) = (x1.min(x2), x1.max(x2));
    let (top, bottom) = (y1.min(y2), y1.max(y2));
    right > text.left + 0.2 && left < text.right - 0.2 && bottom > text.top + 0.2 && top < text.bottom - 0.2
}

#[test]
fn no_line_crosses_a_text() {
    for (name, sheet, answer) in all() {
        for width in WIDTHS {
            let svg = patch_diagram(&sheet, &answer.patch, &style(width));
            let document = parse(&svg, &name);
            let mut all_pieces: Vec<(String, Piece)> = Vec::new();
            for node in document.descendants().filter(|n| n.has_tag_name("path")) {
                if node.attribute("transform").is_some() {
                    continue;
                }
                let class = node.attribute("class").unwrap_or_default().to_owned();
                all_pieces
                    .extend(pieces(node.attribute("d").unwrap()).into_iter().map(|p| (class.clone(), p)));
            }
            for class in ["box", "sleeve"] {
                for (l, t, r, b) in rectangles(&document, class) {
                    for piece in [((l, t), (r, t)), ((r, t), (r, b)), ((r, b), (l, b)), ((l, b), (l, t))] {
                        all_pieces.push((class.to_owned(), piece));
                    }
                }
            }
            for text in patch_text_boxes(&sheet, &answer.patch, &style(width)) {
                for (class, piece) in &all_pieces {
                    assert!(
                        !crosses(&text, *piece),
                        "{name}, {width:?}: {class} {piece:?} crosses \"{}\" ({:.1} to {:.1}, {:.1} to {:.1})",
                        text.text,
                        text.left,
                        text.right,
                        text.top,
                        text.bottom
                    );
                }
            }
        }
    }
}

/// Followed with a finger: from its microphone to the first box, out of that at the same height, and so on to its track.
#[test]
fn every_channel_has_a_line_from_its_source_to_the_computer() {
    for (name, sheet, answer) in all() {
        let svg = patch_diagram(&sheet, &answer.patch, &style(Width::Wide));
        let document = parse(&svg, &name);
        let boxes = rectangles(&document, "box");
        let computer = boxes.iter().copied().max_by(|a, b| a.0.total_cmp(&b.0)).unwrap();
        let lines = channel_lines(&document);
        let tracks: BTreeSet<u32> = lines.iter().map(|(track, _)| *track).collect();
        let rows: BTreeSet<u32> = sheet.rows.iter().map(|row| row.channel).collect();
        assert_eq!(tracks, rows, "{name}: tracks drawn and channels of the patch");
        assert_eq!(lines.len(), sheet.rows.len(), "{name}: lines");
        let first_box = boxes.iter().map(|b| b.0).fold(f64::INFINITY, f64::min);
        for row in &sheet.rows {
            let (_, line) = lines.iter().find(|(track, _)| *track == row.channel).unwrap();
            let input: &Input = answer.patch.inputs[row.source].as_ref().unwrap();
            // As many boxes as the patch says, and the computer.
            let through = 1 + usize::from(input.line.is_some()) + input.hops.len();
            assert_eq!(line.len(), through + 1, "{name}, track {}: pieces of its line", row.channel);
            let y = line[0].0.1;
            assert!(line[0].0.0 < first_box, "{name}, track {}: begins at {:.1}", row.channel, line[0].0.0);
            for (from, to) in line {
                assert!((from.1 - y).abs() < 1e-9 && (to.1 - y).abs() < 1e-9, "{name}: not level: {line:?}");
                assert!(to.0 > from.0, "{name}: runs backwards: {line:?}");
            }
            for pair in line.windows(2) {
                let (end, begin) = (pair[0].1.0, pair[1].0.0);
                let holds = boxes.iter().any(|(l, t, r, b)| {
                    (l - end).abs() < 0.11 && (r - begin).abs() < 0.11 && *t < y && y < *b
                });
                assert!(holds, "{name}, track {}: no box from {end} to {begin} at {y}", row.channel);
            }
            let end = line[line.len() - 1].1.0;
            assert!(
                (end - computer.0).abs() < 0.11 && computer.1 < y && y < computer.3,
                "{name}, track {}: ends at {end} {y}, the computer is {computer:?}",
                row.channel
            );
        }
        // Level lines at different heights never cross.
        let mut heights: Vec<f64> = lines.iter().map(|(_, line)| line[0].0.1).collect();
        heights.sort_by(f64::total_cmp);
        for pair in heights.windows(2) {
            assert!(pair[1] - pair[0] >= 20.0, "{name}: lines at {} and {}", pair[0], pair[1]);
        }
    }
}

/// Each box once, around its channels and no others: the order has left none of them elsewhere.
#[test]
fn channels_of_a_box_lie_together_in_the_order_of_its_inputs() {
    for (name, sheet, answer) in all() {
        let svg = patch_diagram(&sheet, &answer.patch, &style(Width::Wide));
        let document = parse(&svg, &name);
        let mut used: BTreeSet<usize> = BTreeSet::new();
        for input in answer.patch.inputs.iter().flatten() {
            used.insert(input.at);
            used.extend(input.line.iter().map(|line| line.at));
            used.extend(input.hops.iter().map(|hop| answer.patch.links[hop.link].to));
        }
        // The computer is one more.
        assert_eq!(rectangles(&document, "box").len(), used.len() + 1, "{name}: boxes");
        let cables: u32 = answer.patch.links.iter().map(gainsay_plan::patch::Link::cables).sum();
        let to_computer = sheet.connections.iter().filter(|c| c.to_box.is_none()).count();
        let legend = usize::from(cables > 0 || to_computer > 0);
        let sleeves = rectangles(&document, "sleeve").len();
        assert_eq!(sleeves, cables as usize + to_computer + legend, "{name}: sleeves");
        let lines = channel_lines(&document);
        let height = |channel: u32| lines.iter().find(|(track, _)| *track == channel).unwrap().1[0].0.1;
        for a in &sheet.rows {
            for b in &sheet.rows {
                if a.at == b.at && a.input_sort == b.input_sort && a.input < b.input {
                    assert!(height(a.channel) < height(b.channel), "{name}: {} above {}", b.track, a.track);
                }
            }
        }
    }
}

#[test]
fn what_is_marked_is_what_the_patch_says() {
    for (name, sheet, answer) in all() {
        for width in WIDTHS {
            let svg = patch_diagram(&sheet, &answer.patch, &Style { legend: false, ..style(width) });
            let document = parse(&svg, &name);
            let shown = texts(&document);
            let phantom =
                shown.iter().flat_map(|text| text.split(", ")).filter(|part| *part == "P48").count();
            let wanted = sheet.rows.iter().filter(|row| row.phantom).count();
            // A long row of small facts may be broken within; never in the wide picture.
            let all_of_them = shown.join(" ").matches("P48").count();
            let is = if width == Width::Wide { phantom } else { all_of_them };
            assert_eq!(is, wanted, "{name}, {width:?}: inputs with phantom power");
            let together = shown.join(" ");
            for link in &answer.patch.links {
                let carries = link.channels_per_cable * link.cables();
                let words = format!("{} of {carries} channels", link.channels);
                assert!(together.contains(&words), "{name}, {width:?}: \"{words}\" is missing");
                assert!(together.contains(link.format.words()), "{name}: {} is missing", link.format.words());
            }
            for without in &sheet.without_input {
                let is_listed = document.descendants().any(|n| {
                    (n.has_tag_name("text") && seen(n) == without.source)
                        || (n.has_tag_name("title") && n.text() == Some(&without.source))
                });
                // What may not stand in a picture is taken out of a name.
                let plain = without.source.chars().all(|c| c != '\u{202e}');
                assert!(is_listed || !plain, "{name}, {width:?}: {} is not listed", without.source);
            }
            let heads = document.descendants().filter(|n| n.attribute("class") == Some("clock-head")).count();
            let following = answer
                .patch
                .clocks
                .iter()
                .flatten()
                .filter(|clock| matches!(clock, Clock::Follows { .. }))
                .count();
            assert_eq!(heads, following, "{name}, {width:?}: clock arrows");
            for shift in sheet.timing.shifts.iter().filter(|shift| shift.samples > 0) {
                let words = format!("+{} sample", shift.samples);
                assert!(together.contains(&words), "{name}, {width:?}: \"{words}\" is missing");
            }
        }
    }
}

/// Where any path is late, every channel stands under exactly one bracket, and the bracket of the late ones says by how much.
#[test]
fn brackets_say_of_every_channel_whether_it_is_late() {
    for (name, sheet, answer) in all() {
        let svg = patch_diagram(&sheet, &answer.patch, &Style::default());
        let document = parse(&svg, &name);
        let brackets: Vec<(f64, f64)> = document
            .descendants()
            .filter(|n| n.attribute("class") == Some("bracket"))
            .map(|n| pieces(n.attribute("d").unwrap()))
            .map(|p| (p[1].0.1, p[1].1.1))
            .collect();
        let is_late = sheet.timing.shifts.iter().any(|shift| shift.samples > 0);
        assert_eq!(!brackets.is_empty(), is_late, "{name}: brackets");
        let labels: Vec<(f64, String)> = document
            .descendants()
            .filter(|n| n.has_tag_name("text"))
            .map(|n| (number(n, "y"), seen(n)))
            .filter(|(_, text)| text == "the earliest" || text.starts_with('+'))
            .collect();
        assert_eq!(labels.len(), brackets.len(), "{name}: labels of brackets");
        for (track, line) in channel_lines(&document).iter().filter(|_| is_late) {
            let y = line[0].0.1;
            let over: Vec<&(f64, f64)> = brackets.iter().filter(|(from, to)| *from < y && y < *to).collect();
            assert_eq!(over.len(), 1, "{name}, track {track}: brackets over it");
            let (from, to) = over[0];
            let label =
                labels.iter().find(|(y, _)| from - 6.0 < *y && *y < to + 6.0).map(|(_, text)| text.as_str());
            let samples = sheet.timing.shifts.iter().find(|shift| shift.channel == *track).unwrap().samples;
            let wanted = match samples {
                0 => "the earliest".to_owned(),
                1 => "+1 sample".to_owned(),
                n => format!("+{n} samples"),
            };
            assert_eq!(label, Some(wanted.as_str()), "{name}, track {track}");
        }
    }
}

/// The clock is told from the sound without any colour, and keeps below it.
#[test]
fn the_clock_is_dashed_and_in_a_lane_of_its_own() {
    let (sheet, answer) = patched(&large_session(), "case.toml").unwrap();
    let svg = patch_diagram(&sheet, &answer.patch, &Style { legend: false, ..Style::default() });
    let rule = svg.lines().find(|line| line.starts_with(".level-diagram .clock{")).unwrap();
    assert!(rule.contains("stroke-dasharray"), "{rule}");
    let document = parse(&svg, "twenty-four");
    let of = |class: &str| -> Vec<Piece> {
        document
            .descendants()
            .filter(|n| n.attribute("class") == Some(class))
            .flat_map(|n| pieces(n.attribute("d").unwrap()))
            .collect()
    };
    let lowest_sound = of("sound").iter().map(|p| p.0.1.max(p.1.1)).fold(0.0, f64::max);
    let highest_clock = of("clock").iter().map(|p| p.0.1.min(p.1.1)).fold(f64::INFINITY, f64::min);
    assert!(highest_clock > lowest_sound + 20.0, "clock at {highest_clock}, sound down to {lowest_sound}");
    assert!(texts(&document).iter().any(|text| text == "word clock cable"), "the arrow has no label");
}

#[test]
fn twenty_four_channels_through_six_boxes_have_room() {
    let (sheet, answer) = patched(&large_session(), "case.toml").unwrap();
    assert_eq!(sheet.rows.len(), 24, "channels");
    let used: BTreeSet<usize> = answer
        .patch
        .inputs
        .iter()
        .flatten()
        .flat_map(|input| {
            std::iter::once(input.at).chain(input.hops.iter().map(|h| answer.patch.links[h.link].to))
        })
        .collect();
    assert_eq!(used.len(), 6, "boxes");
    let svg = patch_diagram(&sheet, &answer.patch, &Style::default());
    let document = parse(&svg, "twenty-four");
    let (width, height) =
        (number(document.root_element(), "width"), number(document.root_element(), "height"));
    // A page of ISO 216 is √2 times as high as wide: the picture fills one without being made smaller for its height.
    assert!(width <= 1216.0 && height <= width * std::f64::consts::SQRT_2, "{width} × {height}");
    for row in &sheet.rows {
        let number = format!("{:02}", row.channel);
        assert!(texts(&document).contains(&number), "track {number} is missing");
    }
}

#[test]
fn a_box_behind_a_box_has_a_column_of_its_own() {
    let (sheet, answer) = chained();
    let longest = answer.patch.inputs.iter().flatten().map(|input| input.hops.len()).max();
    assert_eq!(longest, Some(2), "the case no longer has a box behind a box");
    let svg = patch_diagram(&sheet, &answer.patch, &Style::default());
    let document = parse(&svg, "chained");
    let lefts: BTreeSet<i64> = rectangles(&document, "box").iter().map(|b| (10.0 * b.0) as i64).collect();
    assert_eq!(lefts.len(), 4, "columns of boxes, with the computer");
}

#[test]
fn odd_names_are_cut_and_kept_whole_in_titles() {
    let (sheet, answer) = patched(&odd_names(), "case.toml").unwrap();
    for width in WIDTHS {
        let svg = patch_diagram(&sheet, &answer.patch, &style(width));
        assert!(!svg.contains("<script"), "a name became an element");
        assert!(!svg.contains('\u{202e}'), "an override of direction is in the picture");
        let document = parse(&svg, "odd names");
        let titles: Vec<&str> =
            document.descendants().filter(|n| n.has_tag_name("title")).filter_map(|n| n.text()).collect();
        let long =
            sheet.rows.iter().map(|row| row.sources[0].as_str()).find(|name| name.chars().count() > 80);
        let long = long.expect("the long name has an input");
        assert!(titles.contains(&long), "{width:?}: \"{long}\" is not a title");
    }
}

#[test]
fn the_text_says_all_that_the_picture_shows() {
    for (name, sheet, answer) in all() {
        let twin = patch_text_twin(&sheet, &answer.patch);
        let svg = patch_diagram(&sheet, &answer.patch, &Style::default());
        let document = parse(&svg, &name);
        let description = document.descendants().find(|n| n.has_tag_name("desc")).and_then(|n| n.text());
        assert_eq!(description, Some(twin.as_str()), "{name}: the description is another text");
        for row in &sheet.rows {
            let track = row.track.replace('\u{202e}', "");
            let line = twin.lines().find(|line| line.starts_with(&format!("Track {track}:")));
            let line = line.unwrap_or_else(|| panic!("{name}: no line about {track}"));
            assert_eq!(line.contains("phantom power on"), row.phantom, "{name}: {line}");
            assert!(line.contains(&format!("{} {}", row.input_sort, row.input)), "{name}: {line}");
        }
        for without in &sheet.without_input {
            let words = format!("Not connected: {}", without.source.replace('\u{202e}', ""));
            assert!(twin.contains(&words), "{name}: \"{words}\" is missing");
        }
        if sheet.clocks.len() > 1 {
            for clock in &sheet.clocks {
                assert!(twin.contains(&format!("set it to {}.", clock.setting)), "{name}: {}", clock.device);
            }
        }
    }
}

#[test]
fn no_more_channels_than_asked_for() {
    let (sheet, answer) = patched(&large_session(), "case.toml").unwrap();
    for width in WIDTHS {
        let svg = patch_diagram(&sheet, &answer.patch, &Style { most_lanes: 5, ..style(width) });
        let document = parse(&svg, "twenty-four");
        assert_eq!(channel_lines(&document).len(), 5, "{width:?}: lines");
        assert!(
            texts(&document).contains(&"and 19 more".to_owned()),
            "{width:?}: what is left out is not said"
        );
    }
}

#[test]
fn a_patch_without_channels_can_be_drawn() {
    let (mut sheet, mut answer) = patched(&gainsay_folder::demo::tree(), "quintet.toml").unwrap();
    let whole = sheet.clone();
    sheet.rows.clear();
    for width in WIDTHS {
        parse(&patch_diagram(&sheet, &answer.patch, &style(width)), "without rows");
    }
    // A patch that does not belong to the sheet.
    answer.patch.boxes.clear();
    answer.patch.links.clear();
    answer.patch.clocks.clear();
    for width in WIDTHS {
        parse(&patch_diagram(&whole, &answer.patch, &style(width)), "without boxes");
    }
    answer.patch.inputs.clear();
    for width in WIDTHS {
        parse(&patch_diagram(&whole, &answer.patch, &style(width)), "without inputs");
    }
}

#[test]
fn the_quintet_as_a_picture() {
    let (sheet, answer) = patched(&gainsay_folder::demo::tree(), "quintet.toml").unwrap();
    insta::assert_snapshot!("patch_quintet", patch_diagram(&sheet, &answer.patch, &Style::default()));
    insta::assert_snapshot!("patch_quintet_text", patch_text_twin(&sheet, &answer.patch));
}

/// The pictures that the documents show are those that the code makes: `cargo run --example draw_patch -- docs/pictures`.
#[test]
fn the_pictures_of_the_documents_are_up_to_date() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/pictures");
    for (picture, sheet, answer, width) in pictures().unwrap() {
        let kept = std::fs::read_to_string(folder.join(picture)).unwrap_or_else(|e| panic!("{picture}: {e}"));
        let made =
            patch_diagram(&sheet, &answer.patch, &Style { width, prefix: "patch", ..Style::default() });
        let differs = kept.lines().zip(made.lines()).position(|(a, b)| a != b);
        assert!(kept == made, "{picture} differs, first in line {}", differs.map_or(0, |line| line + 1));
    }
}

/// Draws every case into the folder that the environment names, to be looked at.
#[test]
#[ignore = "draws, and checks nothing"]
fn draw_all() {
    let Some(folder) = std::env::var_os("GAINSAY_DRAW_INTO") else { return };
    for (name, sheet, answer) in all() {
        for (width, words) in [(Width::Wide, "wide"), (Width::Narrow, "narrow")] {
            let svg = patch_diagram(&sheet, &answer.patch, &style(width));
            let file = format!("{}-{words}.svg", name.replace([' ', ','], "_"));
            std::fs::write(Path::new(&folder).join(file), svg).unwrap();
        }
    }
}
