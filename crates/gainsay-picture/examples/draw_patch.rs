//! Draws patch diagrams as SVG files into a folder: `cargo run --example draw_patch -- docs/pictures`.

use gainsay_folder::Memory;
use gainsay_picture::{Style, Width};
use gainsay_plan::patch::sheet::{PatchSheet, patch_sheet};
use gainsay_plan::{Answer, Options, check};
use std::error::Error;
use std::fmt::Write as _;
use std::path::Path;

/// A picture's name, what it shows, and how wide it is.
pub(crate) type Picture = (&'static str, PatchSheet, Answer, Width);

/// Pictures by name: the demo's quintet and a large session.
pub(crate) fn pictures() -> Result<Vec<Picture>, Box<dyn Error>> {
    let demo = gainsay_folder::demo::tree();
    let large = large_session();
    [
        ("patch-quintet.svg", &demo, "quintet.toml", Width::Wide),
        ("patch-quintet-narrow.svg", &demo, "quintet.toml", Width::Narrow),
        ("patch-twenty-four.svg", &large, "case.toml", Width::Wide),
    ]
    .into_iter()
    .map(|(picture, tree, case, width)| {
        let (sheet, answer) = patched(tree, case)?;
        Ok((picture, sheet, answer, width))
    })
    .collect()
}

/// A case with its answer and sheet.
pub(crate) fn patched(tree: &Memory, case: &str) -> Result<(PatchSheet, Answer), Box<dyn Error>> {
    let case = gainsay_folder::load(tree, Path::new(case)).map_err(|error| error.to_string())?;
    let answer = check(&case, Options::default()).map_err(|error| format!("{error:?}"))?;
    Ok((patch_sheet(&case, &answer), answer))
}

/// Everybody who plays, with what they are recorded by.
const PLAYERS: [(&str, &str, &str, u32); 24] = [
    ("First fiddle", "fiddle", "small-condenser-cardioid", 12),
    ("Second fiddle", "fiddle", "small-condenser-cardioid", 12),
    ("Viola", "fiddle", "small-condenser-cardioid", 12),
    ("Cello", "cello", "ribbon-figure-of-eight", 10),
    ("Upright bass", "upright bass plucked", "large-condenser-usual", 10),
    ("Hammered dulcimer", "hammered dulcimer", "small-condenser-cardioid", 8),
    ("Harp, high", "harp", "small-condenser-cardioid", 8),
    ("Harp, low", "harp", "small-condenser-cardioid", 8),
    ("Flute", "flute", "small-condenser-cardioid", 15),
    ("Oboe", "oboe", "small-condenser-cardioid", 15),
    ("Low whistle", "flute", "moving-coil-instrument", 15),
    ("Frame drum", "frame drum", "moving-coil-instrument", 6),
    ("Second frame drum", "frame drum", "moving-coil-instrument", 6),
    ("Glockenspiel", "glockenspiel", "small-condenser-cardioid", 6),
    ("Piano, high", "piano", "small-condenser-cardioid", 10),
    ("Piano, low", "piano", "small-condenser-cardioid", 10),
    ("Low voice", "sung voice", "large-condenser-usual", 10),
    ("High voice", "sung voice", "large-condenser-usual", 10),
    ("Storyteller", "speech normal", "moving-coil-vocal", 10),
    ("Choir, left", "choir", "small-condenser-cardioid", 20),
    ("Choir, middle", "choir", "small-condenser-cardioid", 20),
    ("Choir, right", "choir", "small-condenser-cardioid", 20),
    ("Room, left", "choir", "large-condenser-usual", 20),
    ("Room, right", "choir", "large-condenser-usual", 20),
];

/// Twenty-four channels through six boxes: three converters and two preamps at one interface, on one word clock.
pub(crate) fn large_session() -> Memory {
    let mut case = String::from(
        "title = \"A hall with twenty-four channels\"\nquestion = \"Does it plug together?\"\n\
         [session]\nsample_rate = \"48 kHz\"\n[room]\nnoise = \"NR 20\"\n",
    );
    for (name, kind, microphone, metres) in PLAYERS {
        let _ = write!(
            case,
            "[[source]]\nname = \"{name}\"\nkind = \"{kind}\"\nmicrophone = \"{microphone}\"\ncable = \"{metres} m\"\n"
        );
    }
    for device in ["hall-interface", "stage-box", "balcony-box", "gallery-box", "quiet-preamp", "warm-preamp"]
    {
        let _ = write!(case, "[[owned]]\ndevice = \"{device}\"\n");
    }
    let clock = "clock_sources = [\"internal\", \"word-clock\"]\nword_clock_output = true\n";
    let microphones = |count: u32| format!("[[microphone_inputs]]\ncount = {count}\nphantom = true\n");
    let port = |direction: &str, format: &str, count: u32| {
        format!("[[digital_{direction}]]\ncount = {count}\nformat = \"{format}\"\n")
    };
    let rates = "[device]\nsample_rates_hz = [44100, 48000, 88200, 96000]\n";
    let device =
        |name: &str, kind: &str, what: String| format!("name = \"{name}\"\ntype = \"{kind}\"\n{what}");
    let converter = |name: &str, format: &str, count: u32, latency: u32| {
        let what = format!(
            "{}{}{rates}{clock}input_latency = \"{latency} samples\"\n",
            microphones(count),
            port("outputs", format, 1)
        );
        device(name, "converter", what)
    };
    let interface = format!(
        "[[line_inputs]]\ncount = 4\nfull_scale = \"+18 dBu\"\n{}{}{rates}{clock}computer = \"usb\"\n\
         computer_channels = 64\ninput_latency = \"31 samples\"\n",
        port("inputs", "eight-channel-optical", 2),
        port("inputs", "aes10", 1),
    );
    let files = [
        ("case.toml", case),
        (
            "gear/hall-interface.toml",
            device("Hall interface, line and digital inputs", "interface", interface),
        ),
        (
            "gear/stage-box.toml",
            converter("Converter box on the stage, eight inputs", "eight-channel-optical", 8, 44),
        ),
        (
            "gear/balcony-box.toml",
            converter("Converter box on the balcony, eight inputs", "eight-channel-optical", 8, 44),
        ),
        ("gear/gallery-box.toml", converter("Converter box in the gallery, five inputs", "aes10", 5, 52)),
        ("gear/quiet-preamp.toml", device("Quiet preamp, two channels", "preamp", microphones(2))),
        ("gear/warm-preamp.toml", device("Warm preamp, one channel", "preamp", microphones(1))),
    ];
    let files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (*path, text.as_str())).collect();
    Memory::new(&files)
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("name the folder to draw into")?;
    std::fs::create_dir_all(&folder)?;
    for (name, sheet, answer, width) in pictures()? {
        let style = Style { width, prefix: "patch", ..Style::default() };
        let svg = gainsay_picture::patch_diagram(&sheet, &answer.patch, &style);
        std::fs::write(Path::new(&folder).join(name), svg)?;
    }
    Ok(())
}
