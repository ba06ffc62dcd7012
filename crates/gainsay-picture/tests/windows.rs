//! The usable windows as a document: well-formed, readable, true to the figures.

// Tells the lints that the functions below that are no tests themselves serve tests only.
#![cfg(test)]

use gainsay_gear::{Catalogue, Device, DeviceType};
use gainsay_picture::{
    Style, TextBox, Width, usable_windows, usable_windows_inline, windows_text_boxes, windows_text_twin,
};
use gainsay_plan::Draws;
use gainsay_plan::footing::{DeviceFooting, Measure, footing, thermal_limit};
use gainsay_units::Origin;
use roxmltree::Document;

const DRAWS: Draws = Draws { count: 800, seed: 1 };
const WIDTHS: [Width; 2] = [Width::Wide, Width::Narrow];

fn style(width: Width) -> Style<'static> {
    Style { width, ..Style::default() }
}

fn on_footing(device: &Device) -> DeviceFooting {
    footing(device, Catalogue::embedded(), DRAWS).unwrap_or_else(|error| panic!("{}: {error}", device.name))
}

fn built_in(names: &[&str]) -> Vec<DeviceFooting> {
    names.iter().map(|name| on_footing(&Catalogue::embedded().device(name).unwrap())).collect()
}

fn exact(name: &str, gain_range: f64, maximum_input: f64) -> DeviceFooting {
    let text = format!(
        "name = '{name}'\ntype = \"interface\"\n[[microphone_inputs]]\ncount = 2\ngain_range = \"{gain_range} dB\"\n\
         maximum_input = \"{maximum_input} dBu\"\nein = \"-128 dBu (unweighted, 150 ohm)\"\ninput_noise_current = \"1 pA/√Hz\"\n\
         dynamic_range = \"110 dB (A-weighted)\"\ninput_impedance = \"3 kΩ\"\n"
    );
    on_footing(&Device::from_toml(&text, "exact", Origin::Sheet).unwrap_or_else(|e| panic!("{text}: {e:?}")))
}

/// Sets of devices, some of which strain the picture.
fn sets() -> Vec<(&'static str, Vec<DeviceFooting>)> {
    let catalogue = Catalogue::embedded();
    let all = |device_type| catalogue.devices(device_type).iter().map(on_footing).collect::<Vec<_>>();
    let long = format!("<script>&\"{}\" \u{202e}turned", "A very long name of a box ".repeat(8));
    vec![
        ("one", built_in(&["desk-interface-two-inputs"])),
        ("two", built_in(&["desk-interface-two-inputs", "preamp-transparent-60-db"])),
        ("interfaces", all(DeviceType::Interface)),
        ("preamps", all(DeviceType::Preamp)),
        ("converters", all(DeviceType::Converter)),
        ("boosters", all(DeviceType::Booster)),
        ("microphones", all(DeviceType::Microphone)),
        ("no gain", vec![exact("fixed", 0.0, 10.0), exact("usual", 60.0, 10.0)]),
        ("hot", vec![exact("hot", 80.0, 30.0), exact("cold", 10.0, -20.0)]),
        ("names", vec![exact(&long, 50.0, 10.0), exact("x", 50.0, 10.0)]),
        ("none", Vec::new()),
    ]
}

#[test]
fn every_picture_is_well_formed_and_names_itself() {
    for (name, devices) in sets() {
        for width in WIDTHS {
            let svg = usable_windows(&devices, &style(width));
            assert!(
                svg.starts_with("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg "),
                "{name}: no header"
            );
            let document = Document::parse(&svg).unwrap_or_else(|error| panic!("{name}: {error}"));
            let root = document.root_element();
            assert_eq!(root.attribute("role"), Some("img"), "{name}");
            for (attribute, tag) in [("aria-labelledby", "title"), ("aria-describedby", "desc")] {
                let id = root.attribute(attribute).unwrap();
                let named = root.children().find(|n| n.has_tag_name(tag)).and_then(|n| n.attribute("id"));
                assert_eq!(named, Some(id), "{name}: {attribute}");
            }
            let ids: Vec<&str> = document.descendants().filter_map(|n| n.attribute("id")).collect();
            for (index, id) in ids.iter().enumerate() {
                assert!(!ids.iter().skip(index + 1).any(|other| other == id), "{name}: {id} twice");
            }
            for attribute in document.descendants().flat_map(|node| node.attributes()) {
                if let Some(id) = attribute.value().strip_prefix("url(#").and_then(|v| v.strip_suffix(')')) {
                    assert!(ids.contains(&id), "{name}: {id} is not defined");
                }
                assert!(!attribute.value().contains("NaN"), "{name}: {attribute:?}");
            }
            Document::parse(&usable_windows_inline(&devices, &style(width)))
                .unwrap_or_else(|error| panic!("{name}, inline: {error}"));
        }
    }
}

#[test]
fn no_text_covers_another_or_leaves_the_picture() {
    for (name, devices) in sets() {
        for width in WIDTHS {
            let boxes: Vec<TextBox> = windows_text_boxes(&devices, &style(width));
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

/// Texts of a picture as they are seen.
fn texts(svg: &str) -> Vec<(String, f64, f64)> {
    let document = Document::parse(svg).unwrap();
    document
        .descendants()
        .filter(|node| node.has_tag_name("text"))
        .map(|node| {
            let text = node.descendants().filter(|n| n.is_text()).filter_map(|n| n.text()).collect();
            let number = |name: &str| node.attribute(name).unwrap().parse::<f64>().unwrap();
            (text, number("x"), number("y"))
        })
        .collect()
}

// Common practice, no source: +10 dBu and 50 dB fill the file from −40 dBu, +24 dBu and 60 dB only from −36 dBu.
#[test]
fn figures_stand_where_they_belong() {
    for width in WIDTHS {
        let svg = usable_windows(&[exact("a", 50.0, 10.0), exact("b", 60.0, 24.0)], &style(width));
        let all: Vec<String> =
            texts(&svg).into_iter().map(|(text, ..)| text.replace('\u{2009}', " ")).collect();
        for wanted in [
            "takes up to +10 dBu",
            "full from −40 dBu",
            "takes up to +24 dBu",
            "full from −36 dBu",
            "noise −128 dBu",
        ] {
            assert!(
                all.iter().any(|text| text == wanted),
                "{width:?}: \"{wanted}\" is missing among {all:?}"
            );
        }
    }
}

// The scale beside the panel tells how many px a decibel is; the ceiling falls by the gain range and no more.
#[test]
fn the_ceiling_falls_by_the_gain_range() {
    for (range, maximum) in [(50.0, 10.0), (60.0, 24.0), (35.0, 18.0)] {
        let svg = usable_windows(&[exact("a", range, maximum)], &style(Width::Wide));
        let all = texts(&svg);
        let y_of = |wanted: &str| {
            all.iter().find(|(text, x, _)| text == wanted && *x < 56.0).map(|(.., y)| *y).unwrap()
        };
        let pixels_per_decibel = (y_of("−100") - y_of("0")) / 100.0;
        let document = Document::parse(&svg).unwrap();
        // The first ceiling is the legend's.
        let d = document
            .descendants()
            .filter(|node| node.attribute("class") == Some("ceiling"))
            .filter_map(|node| node.attribute("d"))
            .find(|d| d.contains('L'))
            .unwrap();
        let points: Vec<(f64, f64)> = d
            .split(['M', 'L'])
            .filter(|part| !part.is_empty())
            .map(|part| {
                let (x, y) = part.split_once(' ').unwrap();
                (x.parse().unwrap(), y.parse().unwrap())
            })
            .collect();
        let (first, last) = (points[0], points[points.len() - 1]);
        let fall = (last.1 - first.1) / pixels_per_decibel;
        assert!((fall - range).abs() < 0.2, "falls by {fall} dB, want {range}: off by {}", fall - range);
        let level = (y_of("0") - 4.0 - first.1) / pixels_per_decibel;
        assert!(
            (level - maximum).abs() < 0.2,
            "begins at {level} dBu, want {maximum}: off by {}",
            level - maximum
        );
        assert!(last.0 > first.0, "gain runs from left to right");
    }
}

// Colour never carries meaning alone: each ceiling is hatched, each noise has its pattern, what is only to compare is dotted.
#[test]
fn marks_differ_in_more_than_colour() {
    let svg =
        usable_windows(&built_in(&["desk-interface-two-inputs", "preamp-valve-input"]), &style(Width::Wide));
    let document = Document::parse(&svg).unwrap();
    let count = |class: &str| document.descendants().filter(|n| n.attribute("class") == Some(class)).count();
    let patterned =
        document.descendants().filter(|n| n.attribute("fill") == Some("url(#levels-noise)")).count();
    // Each once in the legend and once in each of two panels; the outline of the first stands in the second only. The legend
    // shows the ceiling once alone and once with where it may lie.
    assert_eq!(count("hatch"), 3);
    assert_eq!(patterned, 3);
    assert_eq!(count("ceiling"), 4);
    assert_eq!(count("before"), 2);
    assert_eq!(count("limit"), 3);
}

#[test]
fn the_text_twin_tells_the_same() {
    for (name, devices) in sets() {
        let twin = windows_text_twin(&devices);
        for device in &devices {
            for group in device.compared() {
                let shown = device.name_of(group).replace('\u{202e}', "");
                assert!(twin.contains(shown.trim_end_matches('.')), "{name}: {shown} is missing");
                for doubt in &group.doubts {
                    assert!(twin.contains(doubt.as_str()), "{name}: {doubt} is missing");
                }
            }
        }
        if devices.iter().any(|d| d.compared().any(|g| g.get(Measure::Ein).is_some())) {
            assert!(twin.contains("−130.9"), "{name}: the thermal limit is {} dBu", thermal_limit().dbu());
        }
    }
}

#[test]
fn the_same_devices_make_the_same_bytes() {
    let draw = || {
        usable_windows(&built_in(&["desk-interface-two-inputs", "preamp-valve-input"]), &style(Width::Wide))
    };
    assert_eq!(draw(), draw());
}
