//! A studio with 64 sources and 24 devices out of the built-in kinds: inputs that differ, preamps before line inputs, converter
//! boxes on optical and network cables, and more sources than channels get to the computer cheaply.

use gainsay_folder::{Memory, load};
use gainsay_plan::Case;
use std::fmt::Write as _;
use std::path::Path;

/// Device and how many: 24 in all.
const OWNED: [(&str, u32); 11] = [
    ("interface-eight-inputs", 4),
    ("desk-interface-four-inputs", 2),
    ("interface-high-gain-two-inputs", 1),
    ("converter-box-eight-microphone-inputs", 4),
    ("converter-eight-line-inputs", 3),
    ("converter-two-line-mastering-grade", 2),
    ("preamp-eight-channel-analogue", 2),
    ("preamp-high-gain-70-db", 1),
    ("preamp-transparent-60-db", 3),
    ("preamp-transformer-colour-with-output-control", 1),
    ("preamp-valve-input", 1),
];

/// Kind, microphone (none: electrical) and whatever else.
const SOURCES: [(&str, &str, &str); 16] = [
    ("fiddle", "small-condenser-cardioid", "distance = \"0.5 m\"\n"),
    ("viola", "small-condenser-omni", "distance = \"0.6 m\"\n"),
    ("cello", "large-condenser-usual", "distance = \"0.6 m\"\n"),
    ("upright bass plucked", "large-condenser-cardioid", "distance = \"0.4 m\"\n"),
    ("acoustic guitar fingerpicked", "ribbon-figure-of-eight", "distance = \"0.35 m\"\n"),
    ("acoustic guitar strummed", "ribbon-active-figure-of-eight", "distance = \"0.4 m\"\n"),
    ("harp", "boundary", "distance = \"0.7 m\"\n"),
    ("mandolin", "budget-large-condenser", "distance = \"0.35 m\"\n"),
    ("banjo", "moving-coil-instrument", "distance = \"0.4 m\"\n"),
    ("piano", "valve-condenser-large", "distance = \"1.2 m\"\n"),
    ("flute", "shotgun", "distance = \"0.6 m\"\n"),
    ("snare drum", "moving-coil-instrument", "distance = \"0.1 m\"\n"),
    ("storytelling", "moving-coil-broadcast", "distance = \"0.12 m\"\nbooster = \"booster-fet-20-db\"\n"),
    ("sung voice", "large-condenser-usual", "distance = \"0.25 m\"\n"),
    ("keyboard line output", "", ""),
    ("electric guitar direct", "", ""),
];

/// The studio, read as any case is read.
pub(crate) fn studio() -> Case {
    let mut text =
        "title = \"Sixty-four at once\"\n[session]\nsample_rate = \"48 kHz\"\n[room]\nnoise = \"NR 10 ± 4\"\n".to_owned();
    for (device, count) in OWNED {
        write!(text, "[[owned]]\ndevice = \"{device}\"\ncount = {count}\n").expect("a string takes any text");
    }
    for round in 1..=4 {
        for (index, (kind, microphone, more)) in SOURCES.iter().enumerate() {
            // Cables of other lengths make other sources of them.
            let cable = 4 + 3 * round + index;
            let microphone = if microphone.is_empty() {
                String::new()
            } else {
                format!("microphone = \"{microphone}\"\n")
            };
            // Every piano and every harp is taken in stereo, by rounds.
            let pair = match *kind {
                "piano" | "harp" => format!("pair = \"{kind} {}\"\n", round.div_ceil(2)),
                _ => String::new(),
            };
            write!(
                text,
                "[[source]]\nname = \"{kind} {round}\"\nkind = \"{kind}\"\ncable = \"{cable} m\"\n{microphone}{more}{pair}"
            )
            .expect("a string takes any text");
        }
    }
    load(&Memory::new(&[("studio.toml", &text)]), Path::new("studio.toml"))
        .expect("the studio is a sound case")
}
