#![cfg(test)]
//! Which source goes into which input. How many channels a format carries: AES3 and IEC 60958 two; AES10-2008 64 at 48 kHz;
//! eight-channel optical eight, halved at each doubling of the rate (sample multiplexing). That condensers and boosters need
//! phantom power: IEC 61938. All else is common practice, no source.

mod independent;

use gainsay_plan::patch::{Input, NoInput, Patch, Socket, UnusableBecause};
use gainsay_plan::{Answer, Case, Draws, Options, Verdict, check};
use independent::case;
use std::path::Path;

/// A microphone that needs phantom power, one that does not, and a booster, by what the case file says of the source.
const CONDENSER: &str = "kind = \"speech normal\"\nmicrophone = \"small-condenser-cardioid\"\n";
const COIL: &str = "kind = \"speech normal\"\nmicrophone = \"moving-coil-vocal\"\n";
const BOOSTED: &str =
    "kind = \"speech normal\"\nmicrophone = \"moving-coil-vocal\"\nbooster = \"booster-fet-20-db\"\n";
const KEYBOARD: &str = "kind = \"keyboard line output\"\n";
const GUITAR: &str = "kind = \"electric guitar direct\"\n";

fn microphones(count: u32, phantom: bool) -> String {
    format!("[[microphone_inputs]]\ncount = {count}\nphantom = {phantom}\n")
}

fn line(count: u32, instrument: bool) -> String {
    format!("[[line_inputs]]\ncount = {count}\ninstrument = {instrument}\n")
}

fn optical(direction: &str, count: u32) -> String {
    format!("[[digital_{direction}]]\ncount = {count}\nformat = \"eight-channel-optical\"\n")
}

/// Two devices that go into one computer need a common clock.
const WORD_CLOCK: &str =
    "[device]\nclock_sources = [\"internal\", \"word-clock\"]\nword_clock_output = true\n";

const ALL_RATES: &str = "[device]\nsample_rates_hz = [44100, 48000, 88200, 96000, 176400, 192000]\n";

/// A case with sources in this order and devices (type, name, what the file says) in this order.
fn studio(rate: &str, sources: &[(&str, &str)], devices: &[(&str, &str, String)]) -> Case {
    let mut text = format!("[session]\nsample_rate = \"{rate}\"\n");
    let mut files = Vec::new();
    for (name, what) in sources {
        text += &format!("[[source]]\nname = \"{name}\"\n{what}");
    }
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

fn best(case: &Case) -> Patch {
    gainsay_plan::patch::best(case).unwrap()
}

fn answer(case: &Case) -> Answer {
    check(case, Options { draws: Draws { count: 400, seed: 1 }, stage_intervals: false }).unwrap()
}

/// Each source's device and number of its input, or why it has none.
fn taken(patch: &Patch) -> Vec<Result<(String, u32), NoInput>> {
    patch
        .inputs
        .iter()
        .map(|input| input.as_ref().map(|i| (i.device.name.clone(), i.number)).map_err(|e| *e))
        .collect()
}

fn there(device: &str, number: u32) -> Result<(String, u32), NoInput> {
    Ok((device.to_owned(), number))
}

#[test]
fn sources_take_inputs_in_order() {
    let case = studio(
        "48 kHz",
        &[("A", CONDENSER), ("B", COIL), ("C", CONDENSER)],
        &[("interface", "box", microphones(4, true))],
    );
    let patch = best(&case);
    assert_eq!(taken(&patch), [there("box", 1), there("box", 2), there("box", 3)]);
    assert_eq!((patch.needed, patch.used, patch.microphone_inputs), (3, 3, 4));
    assert_eq!(answer(&case).inputs.verdict, Verdict::Enough);
}

#[test]
fn who_comes_last_has_no_input() {
    let case = studio(
        "48 kHz",
        &[("Fiddle", CONDENSER), ("Drum", COIL), ("Harp", CONDENSER), ("Flute", COIL)],
        &[("interface", "box", microphones(2, true))],
    );
    let patch = best(&case);
    assert_eq!(taken(&patch), [there("box", 1), there("box", 2), Err(NoInput::RunOut), Err(NoInput::RunOut)]);
    let answer = answer(&case);
    assert_eq!(answer.inputs.without_input, ["Harp", "Flute"]);
    assert_eq!((answer.inputs.verdict, answer.verdict), (Verdict::Short, Verdict::Short));
    assert_eq!((answer.inputs.needed, answer.inputs.used), (4, 2));
    assert!(answer.answer[0].contains("Harp and Flute"), "{:?}", answer.answer[0]);
    assert!(answer.sources[2].result.is_none() && answer.sources[2].input.is_none());
    assert!(answer.sources[1].result.is_some());
}

#[test]
fn condensers_and_boosters_need_phantom_power() {
    let case = studio(
        "48 kHz",
        &[("A", CONDENSER), ("B", COIL), ("C", BOOSTED)],
        &[("interface", "box", microphones(4, false))],
    );
    let patch = best(&case);
    assert_eq!(taken(&patch), [Err(NoInput::NoPhantom), there("box", 1), Err(NoInput::NoPhantom)]);
    // Phantom power is off where nothing needs it, though the input could give it.
    let case = studio(
        "48 kHz",
        &[("A", CONDENSER), ("B", COIL), ("C", BOOSTED)],
        &[("interface", "box", microphones(4, true))],
    );
    let phantom: Vec<bool> =
        answer(&case).sources.iter().map(|s| s.result.as_ref().unwrap().phantom).collect();
    assert_eq!(phantom, [true, false, true]);
}

#[test]
fn inputs_without_phantom_power_stay_free_for_others() {
    let groups = microphones(2, false) + &microphones(2, true);
    // The condenser passes the first group over; the coils then take what is free from the first on.
    let case = studio(
        "48 kHz",
        &[("A", CONDENSER), ("B", COIL), ("C", COIL), ("D", CONDENSER)],
        &[("interface", "box", groups.clone())],
    );
    let patch = best(&case);
    assert_eq!(taken(&patch), [there("box", 3), there("box", 1), there("box", 2), there("box", 4)]);
    // Coils first: they take the first inputs, condensers those with phantom power.
    let case = studio(
        "48 kHz",
        &[("A", COIL), ("B", CONDENSER), ("C", COIL), ("D", CONDENSER), ("E", CONDENSER)],
        &[("interface", "box", groups)],
    );
    let patch = best(&case);
    assert_eq!(
        taken(&patch),
        [there("box", 1), there("box", 3), there("box", 2), there("box", 4), Err(NoInput::RunOut)]
    );
}

#[test]
fn a_second_device_helps_out() {
    let case = studio(
        "48 kHz",
        &[("A", CONDENSER), ("B", COIL), ("C", CONDENSER)],
        &[
            ("interface", "plain", microphones(2, false) + WORD_CLOCK),
            ("interface", "powered", microphones(1, true) + WORD_CLOCK),
        ],
    );
    let patch = best(&case);
    assert_eq!(taken(&patch), [there("powered", 1), there("plain", 1), Err(NoInput::RunOut)]);
}

#[test]
fn several_equal_devices_are_told_apart() {
    let text = "[[source]]\nname = \"A\"\nkind = \"speech normal\"\n[[source]]\nname = \"B\"\nkind = \"speech normal\"\n[[owned]]\n\
                device = \"box\"\ncount = 2\n";
    let device = format!("name = \"box\"\ntype = \"interface\"\n{}{WORD_CLOCK}", microphones(1, true));
    let case = case(&[("case.toml", text), ("gear/box.toml", &device)]);
    let patch = best(&case);
    let words: Vec<String> = patch.inputs.iter().map(|i| i.as_ref().unwrap().words()).collect();
    assert_eq!(words, ["box no. 1, input 1", "box no. 2, input 1"]);
}

#[test]
fn sources_in_turns_share_a_microphone_and_its_input() {
    let turns = |what: &str, word: &str| format!("{what}turns = \"{word}\"\n");
    let (one, other) = (turns(CONDENSER, "singers"), turns(COIL, "singers"));
    let (boosted, actors) = (turns(BOOSTED, "singers"), turns(CONDENSER, "actors"));
    let case = studio(
        "48 kHz",
        &[
            ("Low", &one),
            ("Drum", COIL),
            ("High", &one),
            // Another microphone, another line, another round: each its own input.
            ("Coil", &other),
            ("Boosted", &boosted),
            ("Actor", &actors),
            ("Middle", &one),
        ],
        &[("interface", "box", microphones(8, true))],
    );
    let patch = best(&case);
    let numbers: Vec<u32> = patch.inputs.iter().map(|i| i.as_ref().unwrap().number).collect();
    assert_eq!(numbers, [1, 2, 1, 3, 4, 5, 1]);
    assert_eq!((patch.needed, patch.used), (5, 5));
    // As many sources as possible: two that share an input go before one that needs it alone.
    let case = studio(
        "48 kHz",
        &[("Drum", COIL), ("Low", &one), ("High", &one)],
        &[("interface", "box", microphones(1, true))],
    );
    let patch = best(&case);
    assert_eq!(taken(&patch), [Err(NoInput::RunOut), there("box", 1), there("box", 1)]);
    assert_eq!((patch.needed, patch.used), (2, 1));
    assert_eq!(answer(&case).inputs.without_input, ["Drum"]);
}

fn box_with_two_and_optical(ports: u32) -> (&'static str, &'static str, String) {
    ("interface", "box", microphones(2, true) + &optical("inputs", ports) + ALL_RATES)
}

fn eight_over_optical(name: &str) -> (&'static str, &str, String) {
    ("converter", name, microphones(8, true) + &optical("outputs", 1) + ALL_RATES)
}

/// The same, giving and taking word clock.
fn clocked(name: &str) -> (&'static str, &str, String) {
    let (device_type, name, what) = eight_over_optical(name);
    (device_type, name, what + "clock_sources = [\"internal\", \"word-clock\"]\nword_clock_output = true\n")
}

#[test]
fn a_converter_over_optical_brings_eight_and_half_of_it_at_double_rate() {
    let names: Vec<String> = (1..=12).map(|n| format!("Source {n}")).collect();
    let sources: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), CONDENSER)).collect();
    for (rate, carried) in
        [("44.1 kHz", 8), ("48 kHz", 8), ("88.2 kHz", 4), ("96 kHz", 4), ("176.4 kHz", 2), ("192 kHz", 2)]
    {
        let case = studio(rate, &sources, &[box_with_two_and_optical(1), eight_over_optical("eight")]);
        let patch = best(&case);
        let over: Vec<&Input> = patch
            .inputs
            .iter()
            .filter_map(|input| input.as_ref().ok())
            .filter(|input| !input.hops.is_empty())
            .collect();
        assert_eq!(over.len(), carried, "channels over optical at {rate}");
        assert_eq!(patch.used as usize, 2 + carried, "inputs used at {rate}");
        assert_eq!(patch.microphone_inputs as usize, 2 + carried, "microphone inputs at {rate}");
        for (index, input) in over.iter().enumerate() {
            let hop = &input.hops[0];
            assert_eq!((hop.into.name.as_str(), hop.channel as usize), ("box", index + 1), "at {rate}");
        }
        assert!(patch.unusable.is_empty(), "at {rate}: {:?}", patch.unusable);
    }
}

#[test]
fn a_converter_without_a_port_is_not_used() {
    let why = |case: &Case| {
        let patch = best(case);
        assert_eq!(patch.unusable.len(), 1, "{:?}", patch.unusable);
        (patch.unusable[0].device.name.clone(), patch.unusable[0].why, patch.microphone_inputs)
    };
    let sources = [("A", COIL), ("B", COIL), ("C", COIL)];
    // No digital input at all.
    let case = studio(
        "48 kHz",
        &sources,
        &[("interface", "box", microphones(2, true)), eight_over_optical("eight")],
    );
    assert_eq!(why(&case), ("eight".to_owned(), UnusableBecause::NoDigitalInput, 2));
    assert_eq!(taken(&best(&case))[2], Err(NoInput::RunOut));
    assert!(
        answer(&case).remarks.iter().any(|r| r.contains("\"eight\" is not used")),
        "{:?}",
        answer(&case).remarks
    );
    // Another format.
    let coaxial = "[[digital_inputs]]\nformat = \"iec60958-coaxial\"\n";
    let case = studio(
        "48 kHz",
        &sources,
        &[("interface", "box", microphones(2, true) + coaxial), eight_over_optical("eight")],
    );
    assert_eq!(why(&case), ("eight".to_owned(), UnusableBecause::NoDigitalInput, 2));
    // Two converters at one port.
    let case = studio(
        "48 kHz",
        &sources,
        &[box_with_two_and_optical(1), eight_over_optical("eight"), eight_over_optical("more")],
    );
    let patch = best(&case);
    assert_eq!((patch.unusable.len(), patch.microphone_inputs), (0, 10));
    assert_eq!(patch.links.len(), 1, "one converter at one port: {:?}", patch.links);
    // It does not run at this rate.
    let slow = microphones(8, true) + &optical("outputs", 1) + "[device]\nsample_rates_hz = [44100, 48000]\n";
    let case = studio("96 kHz", &sources, &[box_with_two_and_optical(1), ("converter", "slow", slow)]);
    assert_eq!(why(&case), ("slow".to_owned(), UnusableBecause::SampleRate, 2));
}

#[test]
fn formats_and_ports() {
    let microphones_at = |rate: &str, ports: &str, outputs: &str, count: u32| {
        let case = studio(
            rate,
            &[("A", COIL)],
            &[
                ("interface", "box", microphones(2, true) + ports + ALL_RATES),
                ("converter", "far", microphones(count, true) + outputs + ALL_RATES),
            ],
        );
        best(&case).microphone_inputs
    };
    let port = |direction: &str, format: &str, more: &str| {
        format!("[[digital_{direction}]]\nformat = \"{format}\"\n{more}")
    };
    let both = |rate: &str, format: &str, count: u32| {
        microphones_at(rate, &port("inputs", format, ""), &port("outputs", format, ""), count) - 2
    };
    for (rate, format, channels) in [
        ("48 kHz", "aes3", 2),
        ("192 kHz", "aes3", 2),
        ("48 kHz", "iec60958-optical", 2),
        ("48 kHz", "aes10", 64),
        ("96 kHz", "aes10", 32),
        ("192 kHz", "aes10", 16),
        ("48 kHz", "aes67", 8),
    ] {
        assert_eq!(both(rate, format, 64), channels, "{format} at {rate}");
        assert_eq!(both(rate, format, 1), 1, "{format} at {rate}, one input behind it");
    }
    // A port that can be switched to the other's format, at either end.
    let switched = "switchable_to = [\"eight-channel-optical\"]\n";
    let eight = port("outputs", "eight-channel-optical", "");
    assert_eq!(microphones_at("48 kHz", &port("inputs", "iec60958-optical", switched), &eight, 8), 10);
    let eight = port("inputs", "eight-channel-optical", "");
    assert_eq!(microphones_at("48 kHz", &eight, &port("outputs", "iec60958-optical", switched), 8), 10);
    // A port with fewer channels than its format allows.
    let four = port("inputs", "eight-channel-optical", "channels = 4\n");
    assert_eq!(microphones_at("48 kHz", &four, &port("outputs", "eight-channel-optical", ""), 8), 6);
    // Two ports take two converters.
    let case =
        studio("48 kHz", &[("A", COIL)], &[box_with_two_and_optical(2), clocked("eight"), clocked("more")]);
    assert_eq!(best(&case).microphone_inputs, 18);
    // Unless neither can follow the other.
    let case = studio(
        "48 kHz",
        &[("A", COIL)],
        &[box_with_two_and_optical(2), eight_over_optical("eight"), eight_over_optical("more")],
    );
    assert_eq!(best(&case).microphone_inputs, 10);
}

#[test]
fn a_preamp_needs_a_line_input() {
    let preamp = |count: u32| ("preamp", "preamp", microphones(count, true));
    let sources = [("A", CONDENSER), ("B", CONDENSER), ("C", CONDENSER), ("D", CONDENSER)];
    // Two line inputs for four preamps.
    let case = studio(
        "48 kHz",
        &sources,
        &[("interface", "box", microphones(1, true) + &line(2, false)), preamp(4)],
    );
    let patch = best(&case);
    assert_eq!(
        taken(&patch),
        [there("box", 1), there("preamp", 1), there("preamp", 2), Err(NoInput::RunOut)]
    );
    let lines: Vec<(String, u32)> = patch
        .inputs
        .iter()
        .filter_map(|input| input.as_ref().ok()?.line.as_ref())
        .map(|line| (line.device.name.clone(), line.number))
        .collect();
    assert_eq!(lines, [("box".to_owned(), 1), ("box".to_owned(), 2)]);
    assert_eq!(patch.microphone_inputs, 3);
    // Devices are tried in the order in which they are owned.
    let case = studio(
        "48 kHz",
        &sources,
        &[preamp(4), ("interface", "box", microphones(1, true) + &line(2, false))],
    );
    let patch = best(&case);
    assert_eq!(
        taken(&patch),
        [there("preamp", 1), there("preamp", 2), there("box", 1), Err(NoInput::RunOut)]
    );
    // No line input, or only one for instruments, or no interface.
    let boxes: [&[(&str, &str, String)]; 3] = [
        &[preamp(4), ("interface", "box", microphones(1, true))],
        &[preamp(4), ("interface", "box", microphones(1, true) + &line(2, true))],
        &[preamp(4)],
    ];
    for devices in boxes {
        let patch = best(&studio("48 kHz", &sources, devices));
        assert_eq!(patch.unusable.len(), 1, "{:?}", patch.unusable);
        assert_eq!(patch.unusable[0].why, UnusableBecause::NoLineInput);
        assert_eq!(patch.microphone_inputs as usize, devices.len() - 1);
    }
    assert_eq!(taken(&best(&studio("48 kHz", &sources, &[preamp(4)])))[0], Err(NoInput::NoneOfItsKind));
}

#[test]
fn electrical_sources_take_line_and_instrument_inputs() {
    let case = studio(
        "48 kHz",
        &[
            ("Keyboard", KEYBOARD),
            ("Guitar", GUITAR),
            ("Voice", COIL),
            ("Second keyboard", KEYBOARD),
            ("Second guitar", GUITAR),
        ],
        &[("interface", "box", microphones(4, true) + &line(1, true) + &line(1, false))],
    );
    let patch = best(&case);
    let words: Vec<String> =
        patch.inputs.iter().map(|i| i.as_ref().map_or_else(|e| format!("{e:?}"), Input::words)).collect();
    assert_eq!(words[0], "box, line input 1");
    assert_eq!(words[1], "box, instrument input 1");
    assert_eq!(words[2], "box, input 1");
    assert_eq!(words[3..], ["RunOut", "RunOut"]);
    assert!(
        matches!(patch.inputs[1].as_ref().unwrap().socket, Socket::Line(ref g) if g.instrument == Some(true))
    );
    // Microphone inputs are no substitute.
    let case = studio(
        "48 kHz",
        &[("Keyboard", KEYBOARD), ("Guitar", GUITAR)],
        &[("interface", "box", microphones(4, true))],
    );
    assert_eq!(taken(&best(&case)), [Err(NoInput::NoneOfItsKind), Err(NoInput::NoneOfItsKind)]);
    // Nor is a line input for a passive pickup, nor an instrument input for a line output.
    let case = studio(
        "48 kHz",
        &[("Keyboard", KEYBOARD), ("Guitar", GUITAR)],
        &[("interface", "box", line(4, false))],
    );
    assert_eq!(taken(&best(&case)), [there("box", 1), Err(NoInput::NoneOfItsKind)]);
    // A source and a preamp do not get the same line input.
    let case = studio(
        "48 kHz",
        &[("Keyboard", KEYBOARD), ("Voice", COIL)],
        &[("preamp", "preamp", microphones(1, true)), ("interface", "box", line(1, false))],
    );
    assert_eq!(taken(&best(&case)), [there("box", 1), Err(NoInput::RunOut)]);
}

#[test]
fn no_more_than_the_computer_takes() {
    let sources = [("A", COIL), ("B", COIL), ("C", COIL), ("D", COIL), ("E", KEYBOARD)];
    let channels = |line: &str| format!("[device]\nsample_rates_hz = [48000, 96000]\n{line}");
    let used = |rate: &str, device: String| {
        let patch = best(&studio(rate, &sources, &[("interface", "box", device)]));
        (patch.used, patch.microphone_inputs)
    };
    let inputs = microphones(4, true) + &line(2, false);
    assert_eq!(used("48 kHz", inputs.clone() + &channels("")), (5, 4), "no limit stated");
    assert_eq!(used("48 kHz", inputs.clone() + &channels("computer_channels = 3\n")), (3, 3));
    let both = channels("computer_channels = 6\ncomputer_channels_96 = 2\n");
    assert_eq!(used("48 kHz", inputs.clone() + &both), (5, 4));
    assert_eq!(used("96 kHz", inputs + &both), (2, 2));
}

// What a converter sends goes through the interface into the computer, and takes of its channels.
#[test]
fn a_converter_takes_of_the_interfaces_channels() {
    let names: Vec<String> = (1..=12).map(|n| format!("Source {n}")).collect();
    let sources: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), COIL)).collect();
    let (device_type, name, what) = box_with_two_and_optical(1);
    for (limit, want) in [(6, 6), (9, 9), (10, 10), (40, 10)] {
        let limited = format!("{what}computer_channels = {limit}\n");
        let case = studio("48 kHz", &sources, &[(device_type, name, limited), eight_over_optical("eight")]);
        let patch = best(&case);
        assert_eq!(patch.used, want, "inputs used with {limit} channels to the computer");
        assert_eq!(patch.microphone_inputs, want, "microphone inputs with {limit} channels to the computer");
    }
}

#[test]
fn a_device_that_does_not_run_at_this_rate_is_not_used() {
    let slow = microphones(2, true) + "[device]\nsample_rates_hz = [44100, 48000]\n";
    let case = studio("96 kHz", &[("A", COIL)], &[("interface", "box", slow)]);
    let patch = best(&case);
    assert_eq!(patch.unusable[0].why, UnusableBecause::SampleRate);
    assert_eq!((patch.used, patch.microphone_inputs), (0, 0));
    assert_eq!(answer(&case).verdict, Verdict::Short);
}

// A file may state any count that a 32-bit number holds; one without sense is refused, and nothing is made of that size.
#[test]
fn counts_without_sense_are_refused() {
    for count in [0, 1025, u32::MAX] {
        for inputs in [microphones(count, true), line(count, false), line(count, true)] {
            let device = format!("name = \"box\"\ntype = \"interface\"\n{inputs}");
            let report = gainsay_folder::parse_device(Path::new("gear/box.toml"), &device).unwrap_err();
            let problem = &report.problems[0];
            assert_eq!(problem.message, format!("a group with a count of {count} is not possible"));
        }
    }
}

/// A control that is set stays where it is, and the file follows it decibel for decibel (arithmetic).
#[test]
fn a_gain_that_is_set_is_kept() {
    let interface =
        || vec![("interface", "Box", format!("{}gain_range = \"60 dB\"\n", microphones(1, true)))];
    let at = |gain: &str| {
        let source = format!("{CONDENSER}{gain}");
        let case = studio("48 kHz", &[("Voice", &source)], &interface());
        let answer = check(&case, Options { draws: Draws::default(), stage_intervals: false }).unwrap();
        let result = answer.sources[0].result.clone().unwrap();
        (result.gain_db.unwrap(), result.peak_dbfs.median, result.headroom)
    };
    let (low, low_peak, _) = at("gain = \"20 dB\"\n");
    let (high, high_peak, _) = at("gain = \"32 dB\"\n");
    assert!((low - 20.0).abs() < 1e-9 && (high - 32.0).abs() < 1e-9, "set to 20 and 32 dB: {low} and {high}");
    let off = high_peak - low_peak - 12.0;
    assert!(off.abs() < 1e-9, "12 dB more gain raise the peak by {} dB", 12.0 + off);
    let (most, _, headroom) = at("gain = \"90 dB\"\n");
    assert!((most - 60.0).abs() < 1e-9, "no more than the control has, 60 dB: {most}");
    assert_eq!(headroom, Verdict::Short, "with all the gain speech clips");
    let (chosen, ..) = at("");
    assert!(chosen > 0.0 && chosen < 60.0, "chosen where none is set: {chosen}");
}
