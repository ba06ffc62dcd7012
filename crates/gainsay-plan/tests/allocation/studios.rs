//! Random studios out of the built-in kinds, read as any case is read, and their patches against the rules of plugging in: common
//! practice, no source. Channels of digital formats as in `inputs.rs`.

use crate::independent::case;
use crate::patched::broken;
use crate::problems::Dice;
use gainsay_folder::{Memory, load};
use gainsay_plan::Case;
use gainsay_plan::case::Pickup;
use std::fmt::Write as _;
use std::path::Path;

/// An interface whose line and instrument inputs share the converters of its microphone inputs; no built-in kind says so.
const COMBINED: &str = r#"name = "Combined inputs"
type = "interface"
like = "desk-interface-four-inputs"
[[microphone_inputs]]
count = 4
phantom = true
[[line_inputs]]
count = 4
instrument = false
shares_microphone_inputs = true
[[line_inputs]]
count = 2
instrument = true
shares_microphone_inputs = true
[[digital_inputs]]
format = "eight-channel-optical"
[device]
sample_rates_hz = [44100, 48000, 96000]
clock_sources = ["internal", "word-clock", "eight-channel-optical"]
word_clock_output = true
"#;

const FRONT_ENDS: [&str; 18] = [
    "combined",
    "interface-eight-inputs",
    "interface-eight-inputs",
    "desk-interface-four-inputs",
    "desk-interface-two-inputs",
    "interface-high-gain-two-inputs",
    "mixing-desk-interface-twelve",
    "portable-recorder-two-inputs",
    "budget-interface-one-input",
    "converter-box-eight-microphone-inputs",
    "converter-box-eight-microphone-inputs",
    "converter-eight-line-inputs",
    "converter-eight-microphone-inputs-network",
    "converter-two-line-mastering-grade",
    "preamp-eight-channel-analogue",
    "preamp-high-gain-70-db",
    "preamp-transparent-60-db",
    "preamp-valve-input",
];

const ACOUSTIC: [&str; 8] =
    ["fiddle", "cello", "piano", "snare drum", "sung voice", "speech normal", "flute", "hammered dulcimer"];

const ELECTRICAL: [&str; 3] = ["keyboard line output", "electric guitar direct", "active bass direct"];

const MICROPHONES: [&str; 7] = [
    "small-condenser-cardioid",
    "large-condenser-cardioid",
    "moving-coil-vocal",
    "moving-coil-instrument",
    "ribbon-figure-of-eight",
    "ribbon-active-figure-of-eight",
    "shotgun",
];

/// A case before it is text; it may do without its pins and links.
#[derive(Debug, Clone)]
struct Written {
    session: String,
    owned: Vec<(&'static str, u32)>,
    /// Each source without its pin.
    sources: Vec<String>,
    pins: Vec<Option<String>>,
    links: Vec<String>,
}

impl Written {
    fn text(&self, wishes: bool) -> String {
        let mut text = self.session.clone();
        for (source, pin) in self.sources.iter().zip(&self.pins) {
            text += source;
            if let (Some(pin), true) = (pin, wishes) {
                text += pin;
            }
        }
        for (device, count) in &self.owned {
            write!(text, "[[owned]]\ndevice = \"{device}\"\ncount = {count}\n").unwrap();
        }
        if wishes {
            self.links.iter().for_each(|link| text += link);
        }
        text
    }
}

/// A studio of at most so many sources and boxes.
fn studio(seed: u64, most_sources: u32, most_boxes: u32) -> Written {
    let mut dice = Dice::new(seed);
    let rate = dice.one_of(&["44.1 kHz", "48 kHz", "48 kHz", "96 kHz", "192 kHz"]);
    let mut owned: Vec<(&'static str, u32)> = Vec::new();
    let mut boxes = 0;
    while boxes < most_boxes {
        let device = dice.one_of(&FRONT_ENDS);
        let count = if dice.chance(25) { 2 } else { 1 }.min(most_boxes - boxes);
        if owned.iter().all(|(other, _)| *other != device) {
            owned.push((device, count));
            boxes += count;
        } else if dice.chance(30) {
            break;
        }
    }
    let mut sources: Vec<String> = Vec::new();
    let n_sources = dice.within(1, most_sources) as usize;
    let mut words = 0;
    while sources.len() < n_sources {
        let what = if dice.chance(15) {
            format!("kind = \"{}\"\n", dice.one_of(&ELECTRICAL))
        } else {
            let booster = if dice.chance(10) { "booster = \"booster-fet-20-db\"\n" } else { "" };
            format!(
                "kind = \"{}\"\nmicrophone = \"{}\"\n{booster}",
                dice.one_of(&ACOUSTIC),
                dice.one_of(&MICROPHONES)
            )
        };
        words += 1;
        let (count, more) = match dice.below(10) {
            0 | 1 => (2, format!("pair = \"pair {words}\"\n")),
            2 => (dice.within(2, 3), format!("turns = \"turns {words}\"\n")),
            _ => (1, String::new()),
        };
        for _ in 0..count {
            sources.push(format!("[[source]]\nname = \"Source {}\"\n{what}{more}", sources.len() + 1));
        }
    }
    let pins = vec![None; sources.len()];
    let session = format!("[session]\nsample_rate = \"{rate}\"\n");
    Written { session, owned, sources, pins, links: Vec::new() }
}

/// Adds pins that suit, and links.
fn add_wishes(written: &mut Written, case: &Case, dice: &mut Dice) {
    let mut taken: Vec<(usize, u32, u32, bool)> = Vec::new();
    for (source, pin) in case.sources.iter().zip(&mut written.pins) {
        if source.pair.is_some() || source.turns.is_some() || !dice.chance(40) {
            continue;
        }
        let at = dice.below(case.owned.len());
        let owned = &case.owned[at];
        let Some(front_end) = owned.device.front_end() else { continue };
        let by_line = matches!(source.pickup, Pickup::Electrical { .. });
        let inputs = if by_line {
            front_end.line_inputs.iter().map(|group| group.count.unwrap_or(1)).sum()
        } else {
            front_end.n_microphone_inputs()
        };
        if inputs == 0 {
            continue;
        }
        let (copy, number) = (dice.within(1, owned.count), dice.within(1, inputs));
        let place = (at, copy, number, by_line);
        if taken.contains(&place) {
            continue;
        }
        taken.push(place);
        let number = if dice.chance(70) { format!(", number = {number}") } else { String::new() };
        let copy = if owned.count > 1 { format!(", copy = {copy}") } else { String::new() };
        *pin = Some(format!("input = {{ device = \"{}\"{copy}{number} }}\n", owned.device.id));
    }
    for (from, _) in &written.owned {
        let outputs = from.starts_with("converter") || from.starts_with("preamp");
        if outputs && dice.chance(50) {
            let (to, _) = dice.one_of(&written.owned);
            written.links.push(format!("[[link]]\nfrom = \"{from}\"\nto = \"{to}\"\n"));
        }
    }
}

/// A random studio; with wishes, as far as the case file takes them.
fn random(seed: u64, most_sources: u32, most_boxes: u32, wishes: bool) -> (Case, String) {
    let mut written = studio(seed, most_sources, most_boxes);
    let text = written.text(false);
    let plain = case(&[("case.toml", &text), ("gear/combined.toml", COMBINED)]);
    if !wishes {
        return (plain, text);
    }
    let mut dice = Dice::new(seed ^ 0xffff);
    add_wishes(&mut written, &plain, &mut dice);
    // Which wishes can't be fulfilled is the case file's own check: they are left out one by one.
    let loads = |written: &Written| {
        let text = written.text(true);
        let files = Memory::new(&[("case.toml", &text), ("gear/combined.toml", COMBINED)]);
        load(&files, Path::new("case.toml")).is_ok()
    };
    let (pins, links) = (std::mem::take(&mut written.pins), std::mem::take(&mut written.links));
    written.pins = vec![None; pins.len()];
    for link in links {
        written.links.push(link);
        if !loads(&written) {
            written.links.pop();
        }
    }
    for (source, pin) in pins.into_iter().enumerate() {
        written.pins[source] = pin;
        if !loads(&written) {
            written.pins[source] = None;
        }
    }
    let text = written.text(true);
    (case(&[("case.toml", &text), ("gear/combined.toml", COMBINED)]), text)
}

#[track_caller]
fn check(seeds: std::ops::Range<u64>, most_sources: u32, most_boxes: u32, wishes: bool) {
    let (mut off, mut pins, mut links, mut used) = (Vec::new(), 0, 0, 0);
    for seed in seeds {
        let (case, text) = random(seed, most_sources, most_boxes, wishes);
        pins += case.sources.iter().filter(|source| source.pin.is_some()).count();
        links += case.links.len();
        let patch = gainsay_plan::patch::best(&case).unwrap();
        used += patch.used;
        if !patch.proven {
            let (used, needed) = (patch.used, patch.needed);
            off.push(format!("studio {seed}: not proven, {used} inputs used of {needed} needed\n{text}"));
        }
        let broken = broken(&case, &patch);
        if !broken.is_empty() {
            off.push(format!("studio {seed}: {}\n{text}", broken.join("\n  ")));
        }
    }
    assert!(used > 0, "no input is used in any studio");
    assert!(!wishes || pins > 0 && links > 0, "{pins} pins and {links} links are too few to check");
    assert!(off.is_empty(), "{} studios break the rules:\n{}", off.len(), off.join("\n"));
}

#[test]
fn small_studios_keep_the_rules() {
    check(0..60, 16, 6, false);
}

#[test]
fn small_studios_with_wishes_keep_the_rules() {
    check(100..160, 16, 6, true);
}

#[test]
fn large_studios_keep_the_rules() {
    check(200..212, 64, 24, false);
}

#[test]
fn large_studios_with_wishes_keep_the_rules() {
    check(300..312, 64, 24, true);
}
