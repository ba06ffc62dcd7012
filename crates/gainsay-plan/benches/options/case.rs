//! Three rounds of sixteen sources, twelve devices that take half of them, and forty candidates with made-up prices.

use gainsay_folder::{Memory, load};
use gainsay_plan::Case;
use std::fmt::Write as _;
use std::path::Path;

/// Device and how many: 12 in all.
const OWNED: [(&str, u32); 8] = [
    ("interface-eight-inputs", 1),
    ("converter-box-eight-microphone-inputs", 1),
    ("converter-eight-line-inputs", 1),
    ("preamp-eight-channel-analogue", 1),
    ("preamp-transparent-60-db", 2),
    ("desk-interface-two-inputs", 1),
    ("preamp-budget-single", 2),
    ("booster-fet-20-db", 3),
];

/// Device, price, and how many of it there may be.
const CANDIDATES: [(&str, &str, u32); 40] = [
    ("converter-two-line-mastering-grade", "980", 1),
    ("converter-eight-line-inputs", "640", 2),
    ("converter-sixteen-line-aes10", "1450", 1),
    ("converter-eight-microphone-inputs-network", "1190", 1),
    ("converter-box-eight-microphone-inputs", "520", 2),
    ("interface-eight-inputs", "590", 2),
    ("desk-interface-four-inputs", "260", 2),
    ("desk-interface-two-inputs", "150", 2),
    ("budget-interface-one-input", "79.5", 1),
    ("interface-high-gain-two-inputs", "210", 2),
    ("mixing-desk-interface-twelve", "730", 1),
    ("portable-recorder-two-inputs", "240", 1),
    ("preamp-valve-input", "410", 1),
    ("preamp-transparent-60-db", "320", 3),
    ("preamp-transformer-colour", "690", 1),
    ("preamp-transformer-colour-with-output-control", "760", 1),
    ("preamp-budget-single", "79.5", 3),
    ("preamp-eight-channel-analogue", "880", 1),
    ("preamp-high-gain-70-db", "390", 3),
    ("booster-phantom-through-12-db", "95", 3),
    ("booster-fet-20-db", "99", 4),
    ("booster-fet-25-db", "110", 4),
    ("booster-low-noise-bipolar", "129", 4),
    ("booster-transformer-20-db", "140", 3),
    ("usual-booster", "85", 4),
    ("moving-coil-broadcast", "380", 1),
    ("moving-coil-instrument", "99", 2),
    ("moving-coil-vocal", "110", 2),
    ("moving-coil-bass-drum", "180", 1),
    ("boundary", "230", 1),
    ("large-condenser-usual", "190", 2),
    ("large-condenser-cardioid", "290", 2),
    ("small-condenser-omni", "240", 2),
    ("small-condenser-cardioid", "220", 2),
    ("electret-lavalier", "120", 2),
    ("ribbon-figure-of-eight", "350", 2),
    ("ribbon-active-figure-of-eight", "490", 1),
    ("budget-large-condenser", "89", 2),
    ("shotgun", "260", 1),
    ("valve-condenser-large", "980", 1),
];

/// Kind, microphone (none: electrical) and whatever else.
const SOURCES: [(&str, &str, &str); 16] = [
    ("fiddle", "small-condenser-cardioid", "distance = \"0.5 m\"\n"),
    ("viola", "small-condenser-omni", "distance = \"0.6 m\"\n"),
    ("cello", "large-condenser-usual", "distance = \"0.6 m\"\n"),
    ("upright bass plucked", "large-condenser-cardioid", "distance = \"0.4 m\"\n"),
    ("acoustic guitar fingerpicked", "ribbon-figure-of-eight", "distance = \"0.35 m\"\n"),
    ("acoustic guitar strummed", "ribbon-active-figure-of-eight", "distance = \"0.4 m\"\n"),
    ("harp", "moving-coil-vocal", "distance = \"0.7 m\"\n"),
    ("mandolin", "budget-large-condenser", "distance = \"0.35 m\"\n"),
    ("banjo", "moving-coil-instrument", "distance = \"0.4 m\"\n"),
    ("piano", "valve-condenser-large", "distance = \"1.2 m\"\n"),
    ("flute", "shotgun", "distance = \"0.6 m\"\n"),
    ("snare drum", "moving-coil-instrument", "distance = \"0.1 m\"\n"),
    ("whisper", "moving-coil-broadcast", "distance = \"0.12 m\"\n"),
    ("sung voice", "large-condenser-usual", "distance = \"0.25 m\"\n"),
    ("keyboard line output", "", ""),
    ("electric guitar direct", "", ""),
];

/// The studio, read as any case is read.
pub(crate) fn studio() -> Case {
    let mut text =
        "title = \"Forty-eight at once\"\n[session]\nsample_rate = \"48 kHz\"\n[room]\nnoise = \"NR 10 ± 4\"\n".to_owned();
    for (device, count) in OWNED {
        write!(text, "[[owned]]\ndevice = \"{device}\"\ncount = {count}\n").expect("a string takes any text");
    }
    for (device, price, count) in CANDIDATES {
        write!(text, "[[option]]\ndevice = \"{device}\"\ncount = {count}\nprice = {price}\n")
            .expect("a string takes any text");
    }
    for round in 1..=3 {
        for (index, (kind, microphone, more)) in SOURCES.iter().enumerate() {
            // Cables of other lengths make other sources of them.
            let cable = 4 + 3 * round + index;
            let microphone = if microphone.is_empty() {
                String::new()
            } else {
                format!("microphone = \"{microphone}\"\n")
            };
            write!(
                text,
                "[[source]]\nname = \"{kind} {round}\"\nkind = \"{kind}\"\ncable = \"{cable} m\"\n{microphone}{more}"
            )
            .expect("a string takes any text");
        }
    }
    load(&Memory::new(&[("studio.toml", &text)]), Path::new("studio.toml"))
        .expect("the studio is a sound case")
}
