//! `gainsay patch` as a user meets it.

use crate::bad_input::refused;
use crate::run::{command, folder, gainsay, gainsay_in};

fn demo() -> tempfile::TempDir {
    let folder = folder(&[]);
    assert_eq!(gainsay_in(folder.path(), &["demo", "."]).code, Some(0));
    folder
}

#[test]
fn the_quintet() {
    insta::assert_snapshot!(gainsay(&["patch"]).stdout);
}

#[test]
fn the_quintet_at_96_khz() {
    let folder = demo();
    let run = gainsay_in(folder.path(), &["patch", "quintet-96-khz.toml", "--strict"]);
    assert_eq!(run.code, Some(4), "one source has no input");
    insta::assert_snapshot!(run.stdout);
}

#[test]
fn csv_is_read_by_a_csv_reader() {
    let run = gainsay(&["patch", "--csv"]);
    let mut reader = csv::Reader::from_reader(run.stdout.as_bytes());
    let head = reader.headers().expect("a head").clone();
    let column = |name: &str| head.iter().position(|h| h == name).expect("the column");
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    assert_eq!(rows.len(), 5, "a row a channel");
    assert_eq!(&rows[3][column("source")], "Frame drum");
    assert_eq!(&rows[3][column("move_earlier_samples")], "15");
    assert_eq!(&rows[4][column("source")], "Low voice and High voice");
}

#[test]
fn json_has_units_in_its_names() {
    let run = gainsay(&["patch", "--json"]);
    let sheet: serde_json::Value = serde_json::from_str(&run.stdout).expect("JSON");
    assert_eq!(sheet["sample_rate_hz"], 48000.0);
    assert_eq!(sheet["rows"].as_array().map(Vec::len), Some(5));
    assert_eq!(sheet["connections"][0]["carries"], 8);
    assert_eq!(sheet["clocks"][0]["setting"], "internal");
    assert_eq!(sheet["timing"]["paths"][1]["late_samples"], 15.0);
    assert_eq!(sheet["proven"], true);
}

#[test]
fn narrow_terminals_get_a_list() {
    let folder = demo();
    let output = command(44, folder.path()).args(["patch", "quintet.toml"]).output().expect("it runs");
    let text = String::from_utf8(output.stdout).expect("text");
    for line in text.lines() {
        assert!(line.chars().count() <= 44, "{} characters: {line}", line.chars().count());
    }
}

#[test]
fn the_picture_is_written() {
    let folder = demo();
    let run = gainsay_in(folder.path(), &["patch", "quintet.toml", "--diagram", "patch.svg"]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    let svg = std::fs::read_to_string(folder.path().join("patch.svg")).expect("the picture");
    assert!(svg.starts_with("<svg") || svg.starts_with("<?xml"), "no picture: {svg:.40}");
    let run = gainsay_in(folder.path(), &["patch", "quintet.toml", "--diagram", "nowhere/patch.svg"]);
    assert_eq!(run.code, Some(3), "{}", run.stderr);
}

/// A desk interface with one optical input, a box with an optical output, and what else a case says of them.
fn studio(lines: &str) -> Vec<(&'static str, String)> {
    let interface = "name = \"desk\"\ntype = \"interface\"\n[[microphone_inputs]]\ncount = 2\nphantom = true\n[[digital_inputs]]\n\
                     format = \"eight-channel-optical\"\n[device]\nsample_rates_hz = [48000, 192000]\n";
    let far = "name = \"box\"\ntype = \"converter\"\n[[microphone_inputs]]\ncount = 8\nphantom = false\n[[digital_outputs]]\n\
               format = \"eight-channel-optical\"\n[device]\nsample_rates_hz = [48000]\n";
    let coaxial = "name = \"coaxial\"\ntype = \"converter\"\n[[microphone_inputs]]\ncount = 2\n[[digital_outputs]]\n\
                   format = \"iec60958-coaxial\"\n";
    let case = format!(
        "{lines}\n[[owned]]\ndevice = \"desk\"\n[[owned]]\ndevice = \"box\"\n[[owned]]\ndevice = \"coaxial\"\n[[owned]]\n\
         device = \"moving-coil-vocal\"\n"
    );
    vec![
        ("case.toml", case),
        ("gear/desk.toml", interface.to_owned()),
        ("gear/box.toml", far.to_owned()),
        ("gear/coaxial.toml", coaxial.to_owned()),
    ]
}

#[track_caller]
fn refused_studio(lines: &str, place: &str, words: &[&str]) {
    let files = studio(lines);
    let files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (*path, text.as_str())).collect();
    refused(&files, place, words);
}

const VOICE: &str =
    "[[source]]\nname = \"Voice\"\nkind = \"speech normal\"\nmicrophone = \"moving-coil-vocal\"\n";
const CONDENSER: &str =
    "[[source]]\nname = \"Harp\"\nkind = \"harp\"\nmicrophone = \"small-condenser-cardioid\"\n";

#[test]
fn an_input_that_does_not_exist() {
    refused_studio(
        &format!("{VOICE}input = {{ device = \"desk\", number = 3 }}"),
        "case.toml:5:37",
        &["\"desk\" has no input 3 of this kind", "write 1 to 2"],
    );
    refused_studio(
        &format!("{VOICE}input = {{ device = \"dsk\", number = 1 }}"),
        "case.toml:5:20",
        &["\"dsk\" is not among the owned devices", "did you mean \"desk\"?"],
    );
    refused_studio(
        &format!("{VOICE}input = {{ number = 1 }}"),
        "case.toml:5:20",
        &["does not say on which device", "input = { device = "],
    );
    refused_studio(
        &format!("{VOICE}input = {{ device = \"desk\", copy = 2, number = 1 }}"),
        "case.toml:5:35",
        &["there is no \"desk\" number 2: only one is owned", "leave `copy` out"],
    );
}

#[test]
fn a_pinned_source_that_cannot_be_there() {
    refused_studio(
        &format!("{CONDENSER}input = {{ device = \"box\", number = 1 }}"),
        "case.toml:5:36",
        &["it needs a microphone input with phantom power", "choose another input"],
    );
    refused_studio(
        &format!("[session]\nsample_rate = \"192 kHz\"\n{VOICE}input = {{ device = \"box\", number = 1 }}"),
        "case.toml:7:36",
        &["\"box\", which does not run at 192 kHz", "choose another device or another sample rate"],
    );
    refused_studio(
        "[[source]]\nname = \"Keys\"\nkind = \"keyboard line output\"\ninput = { device = \"desk\", number = 1 }",
        "case.toml:4:37",
        &["Keys needs a line input, and \"desk\" has none"],
    );
    refused_studio(
        &format!(
            "{VOICE}input = {{ device = \"desk\", number = 1 }}\n{}input = {{ device = \"desk\", number = 1 }}",
            VOICE.replace("Voice", "Second voice")
        ),
        "case.toml:10:37",
        &["Voice and Second voice are both on input 1", "give one of them another number"],
    );
    refused_studio(
        &format!("{VOICE}input = {{ device = \"moving-coil-vocal\" }}"),
        "case.toml:5:20",
        &["is a microphone, which can't be an input"],
    );
}

#[test]
fn a_pair_with_one_side() {
    refused_studio(
        &format!("{VOICE}pair = \"room\""),
        "case.toml:5:8",
        &["the pair \"room\" has 1 side", "write the same word in exactly two sources"],
    );
}

#[test]
fn a_link_between_formats_that_cannot_meet() {
    let link = |text: &str| format!("{VOICE}[[link]]\n{text}");
    refused_studio(
        &link("from = \"coaxial\"\nto = \"desk\""),
        "case.toml:7:6",
        &["can't meet: the one sends IEC 60958 coaxial", "a format in common"],
    );
    refused_studio(
        &link("from = \"box\"\nto = \"desk\"\nformat = \"aes3\""),
        "case.toml:8:10",
        &["\"box\" has no AES3 output; it has eight-channel optical", "a format that both ends have"],
    );
    refused_studio(
        &link("from = \"box\"\nto = \"desk\"\nformat = \"optical-eight\""),
        "case.toml:8:10",
        &["\"optical-eight\" is not a word that belongs here"],
    );
    refused_studio(
        &link("from = \"desk\"\nto = \"box\""),
        "case.toml:7:6",
        &["\"desk\" has no digital output"],
    );
    refused_studio(&link("from = \"box\""), "case.toml:6:8", &["a link needs both ends"]);
    refused_studio(&link("from = \"box\"\nto = \"box\""), "case.toml:7:6", &["can't be linked to itself"]);
}

#[test]
fn a_port_used_twice() {
    refused_studio(
        &format!("{VOICE}[[link]]\nfrom = \"box\"\nto = \"desk\"\n[[link]]\nfrom = \"box\"\nto = \"desk\""),
        "case.toml:9:8",
        &["\"box\" is linked twice: its one port is taken by a link above", "take one of the two links out"],
    );
}

#[test]
fn a_leader_that_is_not_there() {
    refused_studio(
        &format!("[session]\nclock = \"house\"\n{VOICE}"),
        "case.toml:2:9",
        &["\"house\" is not among the owned devices"],
    );
}
