#![cfg(test)]
//! The patch, in studios small enough to be worked out by hand. Channel counts: AES3 and IEC 60958 two; eight-channel optical
//! eight, halved at each doubling of the rate. Phantom currents: IEC 61938. The rest is common practice, no source.

mod independent;

use gainsay_plan::patch::sheet::{LevelFit, PatchSheet, patch_sheet};
use gainsay_plan::patch::{Clock, ClockCable, NoInput, Patch, Relief, best};
use gainsay_plan::{Answer, Case, Draws, Options, Verdict, check};
use independent::case;

const CONDENSER: &str = "kind = \"speech normal\"\nmicrophone = \"small-condenser-cardioid\"\n";
const COIL: &str = "kind = \"speech normal\"\nmicrophone = \"moving-coil-vocal\"\n";
const KEYBOARD: &str = "kind = \"keyboard line output\"\n";

fn answer(case: &Case) -> Answer {
    check(case, Options { draws: Draws { count: 400, seed: 1 }, stage_intervals: false }).unwrap()
}

fn sheet(case: &Case) -> PatchSheet {
    patch_sheet(case, &answer(case))
}

/// A case from what it says before its sources, its sources, and its devices (type, name, what the file says).
fn studio(head: &str, sources: &[(&str, &str)], devices: &[(&str, &str, &str)]) -> Case {
    let mut text = head.to_owned();
    for (name, what) in sources {
        text += &format!("[[source]]\nname = \"{name}\"\n{what}");
    }
    let mut files = Vec::new();
    for (device_type, name, what) in devices {
        text += &format!("[[owned]]\ndevice = \"{name}\"\n");
        files.push((
            format!("gear/{name}.toml"),
            format!("name = \"{name}\"\ntype = \"{device_type}\"\n{what}"),
        ));
    }
    files.insert(0, ("case.toml".to_owned(), text));
    let files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
    case(&files)
}

fn demo(name: &str) -> Case {
    gainsay_folder::load(&gainsay_folder::demo::tree(), std::path::Path::new(name)).unwrap()
}

fn at(patch: &Patch, source: usize) -> String {
    patch.inputs[source].as_ref().unwrap().words()
}

#[test]
fn the_quintet_needs_the_borrowed_box() {
    let case = demo("quintet.toml");
    let patch = best(&case).unwrap();
    assert_eq!((patch.needed, patch.used, patch.microphone_inputs), (5, 5, 12));
    assert!(patch.proven);
    // One of five goes over optical, which carries eight at 48 kHz.
    assert_eq!(patch.links.len(), 1);
    let link = &patch.links[0];
    assert_eq!(
        (link.format.words(), link.channels_per_cable, link.channels),
        ("eight-channel optical", 8, 1)
    );
    // The box has no digital input, so it leads, and the interface follows what comes in.
    let clock_of = |name: &str| {
        let index = patch.boxes.iter().position(|unit| unit.device.id == name).unwrap();
        patch.clocks[index].clone().unwrap()
    };
    assert_eq!(clock_of("borrowed-converter-box"), Clock::Leads);
    assert!(
        matches!(clock_of("boathouse-interface"), Clock::Follows { by: ClockCable::Link(0), .. }),
        "{:?}",
        clock_of("boathouse-interface")
    );
    // Its sheet says 44 samples, the interface's 31; the optical connection adds about 2.
    let sheet = sheet(&case);
    let late = &sheet.timing.paths[1];
    assert!((late.late_samples - (44.0 + 2.0 - 31.0)).abs() < 1e-9, "{} samples late", late.late_samples);
    let seconds = 15.0 / 48_000.0;
    assert!((late.first_notch_hz.unwrap() - 1.0 / (2.0 * seconds)).abs() < 1e-9, "{:?}", late.first_notch_hz);
    assert!((late.air_m - 343.2 * seconds).abs() < 1e-9, "{} m of air", late.air_m);
    let moved: Vec<(u32, u32)> =
        sheet.timing.shifts.iter().filter(|s| s.samples > 0).map(|s| (s.channel, s.samples)).collect();
    assert_eq!(moved, [(4, 15)], "tracks to move earlier");
}

#[test]
fn at_96_khz_the_optical_cable_carries_four_and_the_answer_changes() {
    let case = demo("quintet-96-khz.toml");
    let answer = answer(&case);
    let patch = &answer.patch;
    assert_eq!(patch.links[0].channels_per_cable, 4);
    assert_eq!((patch.needed, patch.used, patch.microphone_inputs), (9, 8, 8));
    assert_eq!(answer.verdict, Verdict::Short);
    let missing = patch.missing.as_ref().unwrap();
    assert_eq!(missing.sources.len(), 1, "the smallest set is one source");
    assert_eq!(missing.reliefs, [Relief::LowerRate { sources: 1 }]);
    // The same at 48 kHz finds room for all.
    let mut slower = case.clone();
    slower.session.sample_rate.value = gainsay_units::Hertz::new(48_000.0);
    assert_eq!(best(&slower).unwrap().used, 9);
}

const FOUR: &str = "[[microphone_inputs]]\nlabel = \"A\"\ncount = 2\nphantom = true\n\
    [[microphone_inputs]]\nlabel = \"B\"\ncount = 2\nphantom = true\n";

#[test]
fn a_pair_is_on_equal_inputs_side_by_side() {
    let left = format!("{CONDENSER}pair = \"room\"\n");
    let case = studio(
        "",
        &[("A", CONDENSER), ("Left", &left), ("B", COIL), ("Right", &left)],
        &[("interface", "box", FOUR)],
    );
    let patch = best(&case).unwrap();
    let numbers: Vec<u32> = patch.inputs.iter().map(|i| i.as_ref().unwrap().number).collect();
    let (l, r) = (numbers[1], numbers[3]);
    assert!(l % 2 == 1 && r == l + 1, "left and right on {l} and {r}");
    // Where no group holds both any more, one side goes rather than the pair apart.
    let pinned = |n: u32| format!("{COIL}input = {{ number = {n} }}\n");
    let (one, three) = (pinned(1), pinned(3));
    let case = studio(
        "",
        &[("One", &one), ("Three", &three), ("Left", &left), ("Right", &left)],
        &[("interface", "box", FOUR)],
    );
    let patch = best(&case).unwrap();
    let sides = [&patch.inputs[2], &patch.inputs[3]];
    assert_eq!(sides.iter().filter(|side| side.is_ok()).count(), 1, "{sides:?}");
    let warnings = sheet(&case).warnings;
    assert!(warnings.iter().any(|w| w.contains("only one side has an input")), "{warnings:?}");
}

#[test]
fn pins_hold_and_others_give_way() {
    let pinned = format!("{COIL}input = {{ device = \"box\", number = 2 }}\n");
    let case = studio("", &[("A", COIL), ("B", COIL), ("C", &pinned)], &[("interface", "box", FOUR)]);
    let patch = best(&case).unwrap();
    assert_eq!(
        [at(&patch, 0), at(&patch, 1), at(&patch, 2)],
        ["box, input 1", "box, input 3", "box, input 2"]
    );
}

#[test]
fn phantom_power_is_shared_out() {
    // A supply of 10 mA in all feeds two microphones of 4 mA, not three; the third goes where there is more.
    let hungry = "name = \"hungry\"\ntype = \"microphone\"\nlike = \"small-condenser-cardioid\"\n[microphone]\nphantom_current = \"4 mA\"\n";
    let weak = "[[microphone_inputs]]\ncount = 4\nphantom = true\n[device]\nphantom_current_total = \"10 mA\"\n\
        clock_sources = [\"internal\", \"word-clock\"]\nword_clock_output = true\n";
    let text = "[[source]]\nname = \"A\"\nkind = \"speech normal\"\nmicrophone = \"hungry\"\n[[source]]\nname = \"B\"\n\
        kind = \"speech normal\"\nmicrophone = \"hungry\"\n[[source]]\nname = \"C\"\nkind = \"speech normal\"\n\
        microphone = \"hungry\"\n[[owned]]\ndevice = \"weak\"\n";
    let device = format!("name = \"weak\"\ntype = \"interface\"\n{weak}");
    let alone = case(&[("case.toml", text), ("gear/weak.toml", &device), ("gear/hungry.toml", hungry)]);
    let patch = best(&alone).unwrap();
    assert_eq!(patch.used, 2, "4 + 4 mA of 10 mA");
    assert!(
        patch.missing.as_ref().unwrap().reliefs.contains(&Relief::Phantom { sources: 1 }),
        "{:?}",
        patch.missing
    );
    let helped = format!("{text}[[owned]]\ndevice = \"other\"\n");
    let other = format!("name = \"other\"\ntype = \"interface\"\n{}", weak.replace("10 mA", "4 mA"));
    let both = case(&[
        ("case.toml", &helped),
        ("gear/weak.toml", &device),
        ("gear/other.toml", &other),
        ("gear/hungry.toml", hungry),
    ]);
    let patch = best(&both).unwrap();
    assert_eq!(patch.used, 3);
    assert_eq!(patch.inputs.iter().filter(|i| i.as_ref().unwrap().device.name == "other").count(), 1);
}

#[test]
fn a_microphone_that_draws_more_than_an_input_gives_is_not_there() {
    let hungry = "name = \"hungry\"\ntype = \"microphone\"\nlike = \"small-condenser-cardioid\"\n[microphone]\nphantom_current = \"8 mA\"\n";
    let weak = "name = \"weak\"\ntype = \"interface\"\n[[microphone_inputs]]\ncount = 2\nphantom = true\nphantom_current = \"5 mA\"\n";
    let text = "[[source]]\nname = \"A\"\nkind = \"speech normal\"\nmicrophone = \"hungry\"\n[[owned]]\ndevice = \"weak\"\n";
    let case = case(&[("case.toml", text), ("gear/weak.toml", weak), ("gear/hungry.toml", hungry)]);
    assert_eq!(best(&case).unwrap().inputs, [Err(NoInput::NoPhantom)]);
}

#[test]
fn levels_between_preamp_and_line_input() {
    let interface = |full_scale: &str| format!("[[line_inputs]]\ncount = 1\nfull_scale = \"{full_scale}\"\n");
    let preamp = |output: &str, control: bool| {
        format!(
            "[[microphone_inputs]]\ncount = 1\nphantom = true\nmaximum_output = \"{output}\"\noutput_level_control = {control}\n"
        )
    };
    let joint = |output: &str, control: bool, full_scale: &str| {
        let case = studio(
            "",
            &[("A", COIL)],
            &[("preamp", "preamp", &preamp(output, control)), ("interface", "box", &interface(full_scale))],
        );
        let sheet = sheet(&case);
        (sheet.rows[0].joint.unwrap(), sheet.warnings)
    };
    let (fits, _) = joint("+18 dBu", false, "+18 dBu");
    assert_eq!(fits.fit, LevelFit::Fits);
    let (hot, warnings) = joint("+26 dBu", false, "+18 dBu");
    assert_eq!((hot.fit, hot.excess_db, hot.attenuator_db), (LevelFit::HotWhenDriven, 8.0, 8.0));
    assert!(warnings.iter().any(|w| w.contains("attenuator of 8 dB")), "{warnings:?}");
    let (_, warnings) = joint("+26 dBu", true, "+18 dBu");
    assert!(warnings.iter().any(|w| w.contains("output level down by 8 dB")), "{warnings:?}");
    // Too low by 10 dB: the converter's noise could be 10 dB less, which is worth its share of the noise.
    let (low, _) = joint("+14 dBu", false, "+24 dBu");
    assert_eq!((low.fit, low.excess_db), (LevelFit::Low, -10.0));
    assert!(low.noise_cost_db >= 0.0 && low.noise_cost_db < 10.0, "{} dB", low.noise_cost_db);
}

#[test]
fn line_inputs_on_the_sockets_of_microphone_inputs_take_them() {
    let combined = "[[microphone_inputs]]\ncount = 2\nphantom = true\n[[line_inputs]]\ncount = 2\nshares_microphone_inputs = true\n";
    let case = studio("", &[("A", COIL), ("Keys", KEYBOARD), ("B", COIL)], &[("interface", "box", combined)]);
    let patch = best(&case).unwrap();
    assert_eq!(patch.used, 2, "two sockets for three");
    let case = studio("", &[("A", COIL), ("Keys", KEYBOARD)], &[("interface", "box", combined)]);
    let patch = best(&case).unwrap();
    let (a, keys) = (patch.inputs[0].as_ref().unwrap().number, patch.inputs[1].as_ref().unwrap().number);
    assert_ne!(a, keys, "both on socket {a}");
}

#[test]
fn insert_sends_go_around_a_missing_digital_output() {
    // A desk with its own computer link that can't share a clock: its inserts feed the line inputs of the interface.
    let desk = "[[microphone_inputs]]\ncount = 4\nphantom = true\n[[line_outputs]]\ncount = 2\ninsert = true\n\
        maximum_output = \"+20 dBu\"\n[device]\nclock_sources = [\"internal\"]\n";
    let interface = "[[microphone_inputs]]\ncount = 1\nphantom = true\n[[line_inputs]]\ncount = 4\n[device]\n\
        clock_sources = [\"internal\"]\n";
    let names: Vec<String> = (1..=5).map(|n| format!("Source {n}")).collect();
    let sources: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), COIL)).collect();
    let case = studio("", &sources, &[("converter", "desk", desk), ("interface", "box", interface)]);
    let patch = best(&case).unwrap();
    // One own input, and two of the desk's four through its two sends.
    assert_eq!(patch.used, 3);
    assert_eq!(patch.microphone_inputs, 3);
    let through: Vec<u32> =
        patch.inputs.iter().flatten().filter(|i| i.line.is_some()).map(|input| input.number).collect();
    assert_eq!(through, [1, 2]);
}

const BOX: &str = "[[microphone_inputs]]\ncount = 8\nphantom = true\n[[digital_outputs]]\nformat = \"eight-channel-optical\"\n\
    [device]\nclock_sources = [\"internal\"]\n";

#[test]
fn two_boxes_that_can_only_lead_need_a_rate_converter() {
    let names: Vec<String> = (1..=10).map(|n| format!("Source {n}")).collect();
    let sources: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), COIL)).collect();
    let interface = |converts: bool| {
        format!(
            "[[digital_inputs]]\ncount = 2\nformat = \"eight-channel-optical\"\nsample_rate_converter = {converts}\n\
             [device]\nclock_sources = [\"internal\", \"eight-channel-optical\"]\n"
        )
    };
    let devices = |interface: &'static str| {
        [("interface", "box", interface), ("converter", "one", BOX), ("converter", "two", BOX)]
    };
    let plain: &'static str = interface(false).leak();
    let case = studio("", &sources, &devices(plain));
    let answer = answer(&case);
    assert_eq!(answer.patch.used, 8);
    let missing = answer.patch.missing.as_ref().unwrap();
    assert!(
        matches!(missing.reliefs[0], Relief::Clock { sources: 2, conflict: Some(_) }),
        "{:?}",
        missing.reliefs
    );
    let reliefs = patch_sheet(&case, &answer).reliefs;
    assert!(reliefs.iter().any(|r| r.contains("neither can be made to follow the other")), "{reliefs:?}");
    let converting: &'static str = interface(true).leak();
    let case = studio("", &sources, &devices(converting));
    let sheet = sheet(&case);
    assert!(sheet.without_input.is_empty());
    assert!(sheet.warnings.iter().any(|w| w.contains("converts the sample rate")), "{:?}", sheet.warnings);
}

#[test]
fn a_house_clock_leads_boxes_that_can_only_follow_word_clock() {
    let follower = "[[microphone_inputs]]\ncount = 2\nphantom = true\n[device]\nclock_sources = [\"internal\", \"word-clock\"]\n";
    let generator = "[device]\nclock_sources = [\"internal\"]\nword_clock_output = true\n";
    let sources = [("A", COIL), ("B", COIL), ("C", COIL), ("D", COIL)];
    let two = [("interface", "one", follower), ("interface", "two", follower)];
    assert_eq!(best(&studio("", &sources, &two)).unwrap().used, 2, "neither gives word clock");
    let three = [two[0], two[1], ("converter", "house clock", generator)];
    let patch = best(&studio("", &sources, &three)).unwrap();
    assert_eq!(patch.used, 4);
    assert_eq!(patch.clocks[2], Some(Clock::Leads));
    for follows in &patch.clocks[..2] {
        assert!(
            matches!(follows, Some(Clock::Follows { from: 2, by: ClockCable::WordClock, .. })),
            "{follows:?}"
        );
    }
}

#[test]
fn links_and_clock_leaders_that_the_case_settles_hold() {
    let interface = "[[digital_inputs]]\nlabel = \"first\"\nformat = \"eight-channel-optical\"\nswitchable_to = [\"iec60958-optical\"]\n\
        [device]\nclock_sources = [\"internal\", \"eight-channel-optical\", \"iec60958-optical\", \"word-clock\"]\nword_clock_output = true\n";
    let sender = "[[microphone_inputs]]\ncount = 8\nphantom = true\n[[digital_outputs]]\nformat = \"eight-channel-optical\"\n\
        switchable_to = [\"iec60958-optical\"]\n[device]\nclock_sources = [\"internal\", \"word-clock\"]\nword_clock_output = true\n";
    let devices = [("interface", "box", interface), ("converter", "far", sender)];
    let names: Vec<String> = (1..=4).map(|n| format!("Source {n}")).collect();
    let sources: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), COIL)).collect();
    let free = best(&studio("", &sources, &devices)).unwrap();
    assert_eq!((free.links[0].format.words(), free.used), ("eight-channel optical", 4));
    let head = "[[link]]\nfrom = \"far\"\nto = \"box\"\nformat = \"iec60958-optical\"\n";
    let settled = best(&studio(head, &sources, &devices)).unwrap();
    assert_eq!((settled.links[0].format.words(), settled.used), ("IEC 60958 optical", 2));
    for leader in ["box", "far"] {
        let patch = best(&studio(&format!("[session]\nclock = \"{leader}\"\n"), &sources, &devices)).unwrap();
        let index = patch.boxes.iter().position(|unit| unit.device.name == leader).unwrap();
        assert_eq!(patch.clocks[index], Some(Clock::Leads), "{leader} leads");
        assert_eq!(patch.used, 4);
    }
}

#[test]
fn phantom_power_into_a_ribbon_that_shares_a_switch_is_said_first() {
    let interface =
        "[[microphone_inputs]]\nlabel = \"Input 1–2\"\ncount = 2\nphantom = true\nphantom_together = true\n";
    let ribbon = "kind = \"speech normal\"\nmicrophone = \"ribbon-figure-of-eight\"\n";
    let case =
        studio("", &[("Ribbon", ribbon), ("Condenser", CONDENSER)], &[("interface", "box", interface)]);
    let sheet = sheet(&case);
    assert!(sheet.warnings[0].contains("phantom power"), "{:?}", sheet.warnings);
    let order: Vec<&str> = sheet.steps.iter().map(|step| step.phase).collect();
    let phantom_on = sheet.steps.iter().position(|s| s.what.starts_with("Only now")).unwrap();
    let phantom_off = sheet.steps.iter().position(|s| s.what.contains("phantom power off first")).unwrap();
    let last_plug = order.iter().rposition(|phase| *phase == "Plug").unwrap();
    assert!(
        last_plug < phantom_on && phantom_on < phantom_off,
        "plug, phantom on, phantom off first: {order:?}"
    );
}
