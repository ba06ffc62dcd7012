//! Random cases with candidates out of the built-in kinds and a few devices of their own, as the text of their files.

use super::dice::Dice;
use std::fmt::Write as _;

/// Devices that no built-in kind is like in what can be had of them: a supply that runs out, a port that two formats share,
/// a converter with little before it. Their figures are made up.
pub(crate) const GEAR: [(&str, &str); 3] = [
    (
        "thrifty",
        r#"name = "Thrifty interface"
type = "interface"
like = "desk-interface-two-inputs"
[[microphone_inputs]]
count = 4
phantom = true
[[digital_inputs]]
count = 1
format = "eight-channel-optical"
switchable_to = ["iec60958-optical"]
[device]
phantom_current_total = "7 mA"
sample_rates_hz = [44100, 48000, 96000]
clock_sources = ["internal", "eight-channel-optical", "iec60958-optical"]
"#,
    ),
    (
        "stereo-sender",
        r#"name = "Two inputs on a stereo cable"
type = "converter"
like = "usual-converter"
[[microphone_inputs]]
count = 2
phantom = true
[[digital_outputs]]
count = 1
format = "iec60958-optical"
[device]
sample_rates_hz = [44100, 48000, 96000]
clock_sources = ["internal"]
"#,
    ),
    (
        "line-taker",
        r#"name = "Line inputs and nothing else"
type = "interface"
like = "usual-interface"
[[line_inputs]]
count = 4
instrument = false
[device]
sample_rates_hz = [44100, 48000, 96000]
clock_sources = ["internal", "word-clock"]
"#,
    ),
];

const OWNED: [&str; 10] = [
    "budget-interface-one-input",
    "desk-interface-two-inputs",
    "desk-interface-four-inputs",
    "older-interface-two-inputs",
    "interface-high-gain-two-inputs",
    "thrifty",
    "line-taker",
    "converter-two-line-mastering-grade",
    "preamp-transparent-60-db",
    "preamp-budget-single",
];

/// What could be bought: front ends, boosters and microphones.
const CANDIDATES: [&str; 24] = [
    "budget-interface-one-input",
    "desk-interface-two-inputs",
    "desk-interface-four-inputs",
    "interface-high-gain-two-inputs",
    "interface-eight-inputs",
    "thrifty",
    "line-taker",
    "stereo-sender",
    "converter-box-eight-microphone-inputs",
    "converter-eight-line-inputs",
    "converter-two-line-mastering-grade",
    "preamp-transparent-60-db",
    "preamp-high-gain-70-db",
    "preamp-budget-single",
    "preamp-eight-channel-analogue",
    "preamp-transformer-colour",
    "booster-fet-20-db",
    "booster-transformer-20-db",
    "booster-phantom-through-12-db",
    "usual-booster",
    "small-condenser-cardioid",
    "large-condenser-usual",
    "large-condenser-cardioid",
    "moving-coil-vocal",
];

const ACOUSTIC: [&str; 9] = [
    "whisper",
    "storytelling",
    "speech normal",
    "fiddle",
    "acoustic guitar fingerpicked",
    "harp",
    "flute",
    "snare drum",
    "sung voice",
];

const ELECTRICAL: [&str; 2] = ["keyboard line output", "electric guitar direct"];

const MICROPHONES: [&str; 8] = [
    "moving-coil-broadcast",
    "moving-coil-vocal",
    "moving-coil-instrument",
    "ribbon-figure-of-eight",
    "small-condenser-cardioid",
    "large-condenser-usual",
    "electret-lavalier",
    "shotgun",
];

const DISTANCES: [&str; 6] = ["0.05 m", "0.1 m", "0.2 m", "0.4 m", "0.8 m", "1.5 m"];

const ROOMS: [&str; 3] = ["NR 5", "NR 10", "NR 15"];

const PRICES: [&str; 9] = ["49", "79.5", "100", "100", "150", "199.99", "250", "300", "420"];

/// How large cases are.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Size {
    pub(crate) sources: (usize, usize),
    pub(crate) owned: (usize, usize),
    pub(crate) candidates: (usize, usize),
    /// Sets of additions, at most.
    pub(crate) sets: usize,
}

/// The text of a case.
pub(crate) fn case(seed: u64, size: Size) -> String {
    let mut dice = Dice::new(seed);
    let mut text = String::new();
    let rate = dice.one_of(&["48 kHz", "48 kHz", "96 kHz"]);
    writeln!(text, "[session]\nsample_rate = \"{rate}\"").unwrap();
    writeln!(text, "[room]\nnoise = \"{} ± 3\"", dice.one_of(&ROOMS)).unwrap();
    options(&mut text, &mut dice);
    let names = sources(&mut text, &mut dice, size.sources);
    let mut taken: Vec<&str> = Vec::new();
    for _ in 0..dice.within(size.owned.0, size.owned.1) {
        let device = dice.one_of(&OWNED);
        if !taken.contains(&device) {
            taken.push(device);
            let count = if dice.chance(15) { 2 } else { 1 };
            writeln!(text, "[[owned]]\ndevice = \"{device}\"\ncount = {count}").unwrap();
        }
    }
    if dice.chance(60) {
        for _ in 0..dice.within(1, 2) {
            let device = dice.one_of(&MICROPHONES);
            if !taken.contains(&device) {
                taken.push(device);
                writeln!(text, "[[owned]]\ndevice = \"{device}\"\ncount = {}", dice.within(1, 2)).unwrap();
            }
        }
    }
    if dice.chance(15) {
        writeln!(text, "[[owned]]\ndevice = \"booster-fet-25-db\"").unwrap();
    }
    candidates(&mut text, &mut dice, size);
    changes(&mut text, &mut dice, &names);
    text
}

fn options(text: &mut String, dice: &mut Dice) {
    let keep: Vec<String> = ["distances", "microphones", "sample-rate"]
        .iter()
        .filter(|_| dice.chance(40))
        .map(|keep| format!("\"{keep}\""))
        .collect();
    writeln!(text, "[options]\nkeep = [{}]", keep.join(", ")).unwrap();
    if dice.chance(30) {
        writeln!(text, "budget = {}", dice.within(1, 10) * 60).unwrap();
    }
}

/// Names of sources, and whether they are electrical.
fn sources(text: &mut String, dice: &mut Dice, (least, most): (usize, usize)) -> Vec<(String, bool)> {
    let mut names: Vec<(String, bool)> = Vec::new();
    let n = dice.within(least, most);
    while names.len() < n {
        let is_electrical = dice.chance(12);
        let what = if is_electrical {
            format!("kind = \"{}\"\n", dice.one_of(&ELECTRICAL))
        } else {
            let booster = if dice.chance(8) { "booster = \"booster-fet-20-db\"\n" } else { "" };
            format!(
                "kind = \"{}\"\nmicrophone = \"{}\"\ndistance = \"{}\"\n{booster}",
                dice.one_of(&ACOUSTIC),
                dice.one_of(&MICROPHONES),
                dice.one_of(&DISTANCES)
            )
        };
        let (count, more) = match dice.below(12) {
            0 | 1 => (2, format!("pair = \"pair {}\"\n", names.len())),
            2 => (dice.within(2, 3), format!("turns = \"turns {}\"\n", names.len())),
            _ => (1, String::new()),
        };
        for _ in 0..count {
            let name = format!("Source {}", names.len() + 1);
            write!(text, "[[source]]\nname = \"{name}\"\n{what}{more}").unwrap();
            names.push((name, is_electrical));
        }
    }
    names
}

fn candidates(text: &mut String, dice: &mut Dice, size: Size) {
    let mut named: Vec<&str> = Vec::new();
    let mut sets = 1;
    let n = dice.within(size.candidates.0, size.candidates.1);
    let price_of_all = dice.chance(10).then(|| dice.one_of(&PRICES));
    while named.len() < n {
        let device = dice.one_of(&CANDIDATES);
        if named.contains(&device) {
            continue;
        }
        let mut count = if dice.chance(30) { 2 } else { 1 };
        if sets * (count + 1) > size.sets {
            count = 1;
        }
        if sets * (count + 1) > size.sets {
            break;
        }
        sets *= count + 1;
        named.push(device);
        let price = if dice.chance(8) { "0" } else { price_of_all.unwrap_or_else(|| dice.one_of(&PRICES)) };
        writeln!(text, "[[option]]\ndevice = \"{device}\"\ncount = {count}\nprice = {price}").unwrap();
    }
}

fn changes(text: &mut String, dice: &mut Dice, names: &[(String, bool)]) {
    for (name, is_electrical) in names {
        if dice.chance(10) {
            writeln!(text, "[[option]]\nsource = \"{name}\"\nleave_out = true").unwrap();
        }
        if dice.chance(10) && !*is_electrical {
            writeln!(text, "[[option]]\nsource = \"{name}\"\ndistance = \"0.07 m\"").unwrap();
        }
    }
}
