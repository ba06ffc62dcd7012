//! What options and what-ifs find, written into case files. The check of the file afterwards has to say what the search said of
//! the plan, which never saw a file: the two come to their case in different ways.
#![cfg(test)]

use gainsay_folder::adopt::{AdoptError, adopt_changes, adopt_what_if};
use gainsay_folder::{Memory, demo, load};
use gainsay_gear::Catalogue;
use gainsay_plan::case::{Case, Pickup};
use gainsay_plan::options::{Change, OptionsAnswer, Plan, options};
use gainsay_plan::patch::possible_inputs;
use gainsay_plan::{Draws, Options, WhatIf, check};
use gainsay_units::{Decibels, Metres};
use std::ops::ControlFlow;
use std::path::Path;
use std::sync::Arc;

const WITH: Options = Options { draws: Draws { count: 10_000, seed: 1 }, stage_intervals: false };

/// The demo's files with one text in the place of its own.
fn case_of(file: &str, text: &str) -> Case {
    let mut files: Vec<(&str, &str)> =
        demo::FILES.iter().filter(|(name, _)| *name != file).copied().collect();
    files.push((file, text));
    load(&Memory::new(&files), Path::new(file)).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

fn demo_text(file: &str) -> &'static str {
    demo::FILES.iter().find(|(name, _)| *name == file).unwrap().1
}

fn search(case: &Case) -> OptionsAnswer {
    options(case, WITH, &mut |_| ControlFlow::Continue(())).unwrap()
}

/// Every line of the text before is there afterwards, in its order, but for those that say what was changed.
fn lines_kept(before: &str, after: &str, most_gone: usize) {
    let mut rest = after.lines();
    let gone: Vec<&str> = before.lines().filter(|line| !rest.by_ref().any(|other| other == *line)).collect();
    // Behind a line that is gone the search has run to the end: look from the start again.
    let gone: Vec<&str> =
        gone.into_iter().filter(|line| !after.lines().any(|other| other == *line)).collect();
    assert!(gone.len() <= most_gone, "gone: {gone:#?}");
    for comment in before.lines().filter(|line| line.trim_start().starts_with('#')) {
        assert!(after.contains(comment), "{comment} is gone");
    }
}

#[track_caller]
fn holds(file: &str, text: &str, case: &Case, plan: &Plan) {
    let after = adopt_changes(text, case, &plan.changes).unwrap();
    // Of a source that is left out, and of an option that speaks of it, every line.
    lines_kept(text, &after, 8 * plan.changes.len());
    let answer = check(&case_of(file, &after), WITH).unwrap();
    for of in &plan.sources {
        let source = answer.sources.iter().find(|source| source.name == of.source);
        let source = source.unwrap_or_else(|| panic!("{} is gone: {after}", of.source));
        let verdict = source.result.as_ref().map(|result| result.verdict);
        assert_eq!(
            verdict,
            source.input.as_ref().map(|_| of.verdict),
            "{}: {:?}\n{after}",
            of.source,
            plan.words
        );
        let penalty = source.result.as_ref().map(|result| result.penalty_db.median);
        let (got, want) = (penalty.unwrap_or(f64::NAN), of.penalty_db.unwrap_or(f64::NAN));
        assert!((got - want).abs() < 0.05 || got.is_nan() && want.is_nan(), "{}: {got}, {want}", of.source);
    }
    let there: Vec<&String> = answer.sources.iter().map(|source| &source.name).collect();
    let wanted: Vec<&String> = plan.sources.iter().map(|source| &source.source).collect();
    assert_eq!(there, wanted, "{after}");
}

fn all_plans(answer: &OptionsAnswer) -> impl Iterator<Item = &Plan> {
    answer.frontier.iter().chain(&answer.without_changes).chain(&answer.reserves)
}

#[test]
fn every_plan_of_the_demo_comes_to_what_was_said() {
    for file in ["quintet.toml", "storyteller-pocket-recorder.toml"] {
        let text = demo_text(file);
        let case = case_of(file, text);
        let answer = search(&case);
        let changed = all_plans(&answer).filter(|plan| !plan.changes.is_empty()).count();
        assert!(changed > 0 || file == "quintet.toml", "{file}: nothing to do");
        for plan in all_plans(&answer) {
            holds(file, text, &case, plan);
        }
    }
}

/// Four at once on two inputs; two could take turns, one could be left out, and the whisper is too far away.
const CROWDED: &str = r#"# An evening with too few inputs.
title = "Too many"

[session]
sample_rate = "96 kHz" # somebody said so

[[source]]
name = "Teller"
kind = "whisper"
microphone = "moving-coil-broadcast"
distance = { value = "0.6 m", from = "measured", note = "with a rule" }
quiet = "35 dB SPL"
loud = "50 dB SPL"

# Left and right of the door.
[[source]]
name = "Left"
kind = "speech normal"
microphone = "small-condenser-cardioid"
pair = "door"

[[source]]
name = "Right"
kind = "speech normal"
microphone = "large-condenser-usual"
pair = "door"

[[source]]
name = "Clock"
kind = "frame drum"
microphone = "moving-coil-instrument"

[[owned]]
device = "kitchen-interface" # two inputs

[[owned]]
device = "moving-coil-broadcast"

[[owned]]
device = "small-condenser-cardioid"

[[owned]]
device = "large-condenser-usual"

[[owned]]
device = "moving-coil-instrument"

[[owned]]
device = "usual-booster"

[[option]]
turns = ["Left", "Right"]

[[option]]
source = "Clock"
leave_out = true

[[option]]
source = "Teller"
distance = "10 cm"
"#;

#[test]
fn every_kind_of_change_comes_to_what_was_said() {
    let case = case_of("crowded.toml", CROWDED);
    let answer = search(&case);
    let mut seen = [false; 2];
    for plan in all_plans(&answer) {
        for change in &plan.changes {
            match change {
                Change::Turns { .. } => seen[0] = true,
                Change::LeaveOut { .. } => seen[1] = true,
                _ => {}
            }
        }
        holds("crowded.toml", CROWDED, &case, plan);
    }
    assert_eq!(seen, [true; 2], "turns, left out");
}

/// A source with its own levels, which hold at the microphone, comes to what it comes to in a case that is changed itself.
#[test]
fn a_closer_microphone_comes_to_what_was_said() {
    let case = case_of("crowded.toml", CROWDED);
    let Pickup::Acoustic { distance: from, .. } = &case.sources[0].pickup else { panic!() };
    let to = gainsay_units::Figure::exact(Metres::new(0.1), "10 cm");
    let change = Change::Closer { source: "Teller".to_owned(), from: from.clone(), to };
    let after = adopt_changes(CROWDED, &case, &[change]).unwrap();
    let got = check(&case_of("crowded.toml", &after), WITH).unwrap();
    let mut changed = case.clone();
    changed.sources[0] =
        WhatIf { distance: Some(Metres::new(0.1)), ..WhatIf::default() }.of(&case.sources[0]);
    let want = check(&changed, WITH).unwrap();
    let before = check(&case, WITH).unwrap();
    let peak = |answer: &gainsay_plan::Answer| answer.sources[0].result.as_ref().unwrap().peak_dbfs.median;
    assert!((peak(&got) - peak(&want)).abs() < 1e-9, "{} {}", peak(&got), peak(&want));
    // Nearer than the source is large the level rises no more; 60 cm to 10 cm is at most 15.6 dB.
    let rise = peak(&got) - peak(&before);
    assert!(rise > 6.0 && rise < 15.7, "{rise}");
}

fn device(id: &str) -> Arc<gainsay_gear::Device> {
    let mut device = Catalogue::embedded().device(id).unwrap();
    Catalogue::embedded().fill(&mut device);
    Arc::new(device)
}

#[test]
fn single_changes_are_written_as_one_would_by_hand() {
    let case = case_of("crowded.toml", CROWDED);
    let adopt = |change: Change| adopt_changes(CROWDED, &case, &[change]).unwrap();
    let source = |name: &str| name.to_owned();
    let microphone = device("large-condenser-usual");
    let after =
        adopt(Change::Microphone { source: source("Teller"), from: Arc::clone(&microphone), to: microphone });
    assert_eq!(after, CROWDED.replacen("moving-coil-broadcast", "large-condenser-usual", 1));
    let after = adopt(Change::Booster { source: source("Clock"), booster: device("usual-booster") });
    assert!(
        after.contains("microphone = \"moving-coil-instrument\"\nbooster = \"usual-booster\"\n"),
        "{after}"
    );
    let none = gainsay_plan::Price::NOTHING;
    let after = adopt(Change::Add { device: device("usual-booster"), count: 2, each: none });
    assert!(after.contains("device = \"usual-booster\"\ncount = 3\n"), "{after}");
    let after = adopt(Change::Add { device: device("usual-interface"), count: 1, each: none });
    assert!(after.contains("[[owned]]\ndevice = \"usual-interface\"\n"), "{after}");
    let rate = gainsay_units::Figure::exact(gainsay_units::Hertz::new(48_000.0), "48 kHz");
    let after = adopt(Change::SampleRate { from: rate.clone(), to: rate });
    assert_eq!(after, CROWDED.replace("96 kHz", "48 kHz"));
    // Levels that held at the microphone hold where it was; that the old distance was measured is not said of the new one.
    let Pickup::Acoustic { distance: from, .. } = &case.sources[0].pickup else { panic!() };
    let to = gainsay_units::Figure::exact(Metres::new(0.1), "10 cm");
    let after = adopt(Change::Closer { source: source("Teller"), from: from.clone(), to });
    assert!(after.contains("levels_at = \"0.6 m\""), "{after}");
    assert!(after.contains("distance = { value = \"10 cm\" }"), "{after}");
    let after = adopt(Change::LeaveOut { source: source("Clock") });
    assert!(!after.contains("Clock") && after.contains("turns = [\"Left\", \"Right\"]"), "{after}");
    let after = adopt(Change::Turns { sources: vec![source("Left"), source("Right")] });
    let both = case_of("crowded.toml", &after);
    assert_eq!(both.sources[1].turns, both.sources[2].turns);
    assert_eq!(both.sources[2].microphone().unwrap().id, "small-condenser-cardioid");
    assert!(both.sources.iter().all(|source| source.pair.is_none()), "{after}");
    // Two that are left out one after the other, the last of the file among them.
    let two = [Change::LeaveOut { source: source("Teller") }, Change::LeaveOut { source: source("Clock") }];
    let after = adopt_changes(CROWDED, &case, &two).unwrap();
    let left: Vec<String> =
        case_of("crowded.toml", &after).sources.into_iter().map(|source| source.name).collect();
    assert_eq!(left, ["Left", "Right"], "{after}");
}

#[test]
fn sources_of_an_included_file_are_not_changed_from_here() {
    let text = demo_text("quintet-96-khz.toml");
    let case = case_of("quintet-96-khz.toml", text);
    let change = Change::Booster { source: "Fiddle".to_owned(), booster: device("usual-booster") };
    assert_eq!(
        adopt_changes(text, &case, &[change]),
        Err(AdoptError::Elsewhere { source: "Fiddle".to_owned() })
    );
    // Its own can be.
    let change = Change::Booster { source: "Frame drum behind".to_owned(), booster: device("usual-booster") };
    let after = adopt_changes(text, &case, &[change]).unwrap();
    let case = case_of("quintet-96-khz.toml", &after);
    let drum = case.sources.iter().find(|source| source.name == "Frame drum behind").unwrap();
    assert_eq!(drum.booster.as_ref().unwrap().id, "usual-booster");
}

#[test]
fn what_ifs_are_kept() {
    for (file, index) in [("storyteller.toml", 0), ("quintet.toml", 2)] {
        let text = demo_text(file);
        let case = case_of(file, text);
        let input = possible_inputs(&case, index).into_iter().next_back().unwrap();
        let what_if = WhatIf {
            gain: Some(Decibels::new(31.0)),
            distance: Some(Metres::new(0.17)),
            louder: Some(Decibels::new(-4.0)),
            cable: Some(Metres::new(22.0)),
            microphone: Some(device("large-condenser-usual")),
            booster: Some(Some(device("usual-booster"))),
        };
        let after = adopt_what_if(text, &case, index, &what_if, Some(&input)).unwrap();
        lines_kept(text, &after, 6);
        let kept = case_of(file, &after);
        let (kept, want) = (&kept.sources[index], what_if.of(&case.sources[index]));
        assert_eq!(kept.gain, want.gain);
        assert_eq!(kept.booster, want.booster);
        assert!((kept.cable_length.value.metres() - 22.0).abs() < 1e-9);
        assert_eq!(kept.pin.as_ref().unwrap().number, Some(input.number));
        let (
            Pickup::Acoustic { microphone, distance, levels_at, quiet, loud, .. },
            Pickup::Acoustic { microphone: m, distance: d, levels_at: l, quiet: q, loud: o, .. },
        ) = (&kept.pickup, &want.pickup)
        else {
            panic!()
        };
        assert_eq!((microphone, levels_at), (m, l));
        assert!((distance.value.metres() - d.value.metres()).abs() < 1e-9);
        for (got, want) in [(quiet, q), (loud, o)] {
            assert!((got.value.db_spl() - want.value.db_spl()).abs() < 0.051, "{got:?}, {want:?}");
            let (a, b) = (got.spread.half_widths_95(), want.spread.half_widths_95());
            assert!((a.0 - b.0).abs() < 0.1 && (a.1 - b.1).abs() < 0.1, "{got:?}, {want:?}");
        }
    }
}
