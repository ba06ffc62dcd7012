//! No input panics, and whatever is refused is refused with a message: 200 000 spoilt case and device files, from a fixed seed.
#![cfg(test)]

use gainsay_folder::{Memory, load, parse_device};
use std::path::Path;

const RUNS: u64 = 200_000;

/// SplitMix64 (Steele, Lea and Flood 2014).
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }
}

const CASE: &str = r#"title = "A case"
include = ["studio.toml"]
[session]
sample_rate = "48 kHz"
peak_target = "-12 dBFS"
[room]
noise = { value = "NR 20 ± 4", from = "measured" }
[thresholds]
clipping_enough = "2 %"
[[source]]
name = "Voice"
kind = "speech normal"
microphone = "box-mic"
distance = "0.3 m"
quiet = "50 dBA ± 3 dB"
loud = "70 dB SPL"
turns = "a"
colour = true
[[source]]
name = "Keys"
kind = "keyboard line output"
[[owned]]
device = "usual-interface"
count = 2
"#;

const DEVICE: &str = r#"name = "Box"
type = "interface"
like = "usual-interface"
price = 120.0
[[microphone_inputs]]
count = 2
connector = "xlr"
gain_range = "50 dB"
gain_step = "1 dB"
maximum_input = "+10 dBu"
ein = "-128 dBu (A-weighted, 150 ohm)"
input_impedance = "3 kΩ ± 20 %"
dynamic_range = { value = "110 dB (A-weighted)", tolerance = "3 dB (k=2)", from = "sheet" }
[[digital_inputs]]
format = "eight-channel-optical"
[device]
sample_rates_hz = [44100, 48000]
"#;

const MICROPHONE: &str = r#"name = "box-mic"
type = "microphone"
[microphone]
transducer = "moving-coil"
pattern = "cardioid"
sensitivity = "−56 dBV/Pa ± 2 dB"
impedance = "200 ohm"
inductance = "1 mH"
maximum_spl = "150 dB SPL"
"#;

const SCRAPS: &[&str] = &[
    "\"",
    "[[",
    "]]",
    "=",
    "{",
    "}",
    "#",
    "\n",
    "'''",
    "NaN",
    "inf",
    "-0",
    "1e400",
    "−",
    "± ",
    " dB",
    " ohm",
    "\u{202e}",
    "é",
    "😀",
    "\u{0}",
    "99999999999999999999",
    "0x1F",
    "true",
    "[source]",
    "source",
    "kind = 3",
    "\\u0000",
    "include",
    "1979-05-27",
    "…",
];

fn spoil(text: &str, random: &mut Random) -> String {
    let mut chars: Vec<char> = text.chars().collect();
    // Mostly a slip or two in a number, sometimes worse: what is accepted must be met as often as what is refused.
    for _ in 0..=random.below(3) {
        let at = random.below(chars.len());
        match random.below(20) {
            0 => {
                chars.remove(at.min(chars.len().saturating_sub(1)));
            }
            1 => {
                let scrap = SCRAPS[random.below(SCRAPS.len())];
                chars.splice(at..at, scrap.chars());
            }
            2 => chars.truncate(at.max(1)),
            3 => {
                let other = random.below(chars.len());
                chars.swap(at, other);
            }
            4 => {
                // A piece again somewhere else.
                let end = (at + random.below(40)).min(chars.len());
                let piece: Vec<char> = chars[at..end].to_vec();
                let to = random.below(chars.len());
                chars.splice(to..to, piece);
            }
            5 => {
                chars[at] = char::from_u32(random.next() as u32 % 0x500).unwrap_or('x');
            }
            _ => {
                let digits: Vec<usize> = (0..chars.len()).filter(|i| chars[*i].is_ascii_digit()).collect();
                if let Some(at) = digits.get(random.below(digits.len())) {
                    chars[*at] = char::from(b'0' + random.below(10) as u8);
                }
            }
        }
        if chars.is_empty() {
            chars.push('x');
        }
    }
    chars.into_iter().collect()
}

#[test]
fn two_hundred_thousand_spoilt_files() {
    let mut random = Random(20_261_125);
    let (mut accepted, mut refused) = (0_u64, 0_u64);
    for run in 0..RUNS {
        let pick = |wanted: u64, text: &str, random: &mut Random| {
            if run % 3 == wanted { spoil(text, random) } else { text.to_owned() }
        };
        // A third each: the case, the interface, the microphone. The device files are read alone two times out of three,
        // because a case reads all its gear.
        if run % 3 != 0 && run % 2 == 0 {
            let text = if run % 3 == 1 { spoil(DEVICE, &mut random) } else { spoil(MICROPHONE, &mut random) };
            match parse_device(Path::new("gear/box.toml"), &text) {
                Ok(_) => accepted += 1,
                Err(report) => {
                    refused += 1;
                    for problem in &report.problems {
                        assert!(!problem.message.is_empty() && !problem.mend.is_empty(), "run {run}: {text}");
                        let (line, column) = report.line_and_column(problem);
                        assert!(line >= 1 && column >= 1, "run {run}");
                    }
                }
            }
            continue;
        }
        let case = pick(0, CASE, &mut random);
        let device = pick(1, DEVICE, &mut random);
        let microphone = pick(2, MICROPHONE, &mut random);
        let tree = Memory::new(&[
            ("case.toml", &case),
            ("studio.toml", "[room]\ntemperature = \"18 °C\"\n"),
            ("gear/box.toml", &device),
            ("gear/mic.toml", &microphone),
        ]);
        match load(&tree, Path::new("case.toml")) {
            Ok(case) => {
                accepted += 1;
                // What is accepted can be checked. A few draws are enough to meet every line of the engine.
                if accepted % 64 == 0 {
                    let draws = gainsay_plan::Draws { count: 8, seed: run };
                    let options = gainsay_plan::Options { draws, stage_intervals: true };
                    let answer =
                        gainsay_plan::check(&case, options).expect("every figure is there or filled");
                    assert!(!answer.answer.is_empty());
                }
            }
            Err(error) => {
                refused += 1;
                assert!(error.files.iter().all(|file| !file.problems.is_empty()), "run {run}");
            }
        }
    }
    assert!(
        accepted > RUNS / 20 && refused > RUNS / 20,
        "{accepted} accepted, {refused} refused: the spoiling is one-sided"
    );
}
