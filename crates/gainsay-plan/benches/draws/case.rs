//! A studio with 24 sources at once: every kind of microphone and of input, figures given and figures typical.

use gainsay_folder::{Memory, load};
use gainsay_plan::Case;
use std::path::Path;

const STUDIO: &str = r#"
title = "Twenty-four at once"

[session]
sample_rate = "48 kHz"
bit_depth = "24 bit"

[room]
noise = "NR 10 ± 4"

[[owned]]
device = "interface-eight-inputs"

[[owned]]
device = "desk-interface-four-inputs"

[[owned]]
device = "preamp-eight-channel-analogue"

[[owned]]
device = "converter-box-eight-microphone-inputs"

[[owned]]
device = "portable-recorder-two-inputs"
"#;

/// Name, kind, microphone (none: electrical), distance, cable, and whatever else.
const SOURCES: [(&str, &str, &str, &str, &str, &str); 24] = [
    ("Keyboard", "keyboard line output", "", "", "6 m", ""),
    ("Fiddle", "fiddle", "small-condenser-cardioid", "0.5 m ± 20 %", "8 m", ""),
    ("Viola", "viola", "small-condenser-omni", "0.6 m ± 0.1 m", "8 m ± 1 m", ""),
    ("Cello", "cello", "large-condenser-usual", "0.6 m", "10 m", ""),
    ("Bass", "upright bass plucked", "large-condenser-cardioid", "0.4 m ± 20 %", "10 m", ""),
    ("Guitar", "acoustic guitar fingerpicked", "ribbon-figure-of-eight", "0.35 m ± 15 %", "12 m", ""),
    ("Second guitar", "acoustic guitar strummed", "ribbon-active-figure-of-eight", "0.4 m", "12 m ± 2 m", ""),
    ("Harp", "harp", "boundary", "0.7 m ± 0.2 m", "15 m", ""),
    ("Mandolin", "mandolin", "budget-large-condenser", "0.35 m", "6 m", ""),
    ("Banjo", "banjo", "moving-coil-instrument", "0.4 m ± 20 %", "6 m ± 10 %", ""),
    ("Piano", "piano", "valve-condenser-large", "1.2 m", "20 m", ""),
    ("Flute", "flute", "shotgun", "0.6 m ± 0.2 m", "10 m", ""),
    ("Clarinet", "clarinet", "small-condenser-cardioid", "0.4 m ± 25 %", "10 m", ""),
    ("Saxophone", "saxophone", "moving-coil-broadcast", "0.3 m", "8 m ± 1 m", ""),
    ("Trumpet", "trumpet", "ribbon-figure-of-eight", "0.8 m ± 0.2 m", "8 m", ""),
    ("Tuba", "tuba", "moving-coil-bass-drum", "0.6 m ± 20 %", "8 m", ""),
    (
        "Storyteller",
        "storytelling",
        "moving-coil-broadcast",
        "0.12 m ± 20 %",
        "6 m",
        "booster = \"usual-booster\"",
    ),
    ("Low voice", "sung voice", "large-condenser-usual", "0.25 m ± 30 %", "10 m", ""),
    ("High voice", "sung voice, trained", "large-condenser-cardioid", "0.6 m ± 20 %", "10 m", ""),
    ("Narrator", "speech normal", "moving-coil-broadcast", "0.12 m ± 20 %", "5 m ± 1 m", ""),
    ("Bass drum", "bass drum", "moving-coil-bass-drum", "0.3 m", "10 m", ""),
    ("Snare drum", "snare drum", "moving-coil-instrument", "0.1 m ± 20 %", "10 m", ""),
    (
        "Frame drum",
        "frame drum",
        "moving-coil-vocal",
        "0.4 m ± 0.1 m",
        "10 m ± 2 m",
        "booster = \"booster-fet-20-db\"",
    ),
    ("Electric guitar", "electric guitar direct", "", "", "4 m ± 1 m", "cable_kind = \"instrument-cable\""),
];

/// The studio, read as any case is read.
pub(crate) fn studio() -> Case {
    let mut text = STUDIO.to_owned();
    for (name, kind, microphone, distance, cable, more) in SOURCES {
        text.push_str(&format!("\n[[source]]\nname = \"{name}\"\nkind = \"{kind}\"\ncable = \"{cable}\"\n"));
        if !microphone.is_empty() {
            text.push_str(&format!("microphone = \"{microphone}\"\ndistance = \"{distance}\"\n"));
        }
        text.push_str(more);
        text.push('\n');
    }
    load(&Memory::new(&[("studio.toml", &text)]), Path::new("studio.toml"))
        .expect("the studio is a sound case")
}
