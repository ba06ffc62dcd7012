//! The commands as a user meets them.

use crate::run::{command, folder, gainsay, gainsay_in};
use std::io::Read;
use std::process::Stdio;

/// The demo's files, written by the program itself.
fn demo() -> tempfile::TempDir {
    let folder = folder(&[]);
    let run = gainsay_in(folder.path(), &["demo", "."]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    folder
}

#[test]
fn the_demo_as_text() {
    insta::assert_snapshot!(gainsay(&["check"]).stdout);
}

#[test]
fn the_demo_on_disk_is_the_embedded_demo() {
    let folder = demo();
    let on_disk = gainsay_in(folder.path(), &["check", "quintet.toml", "--json"]).stdout;
    assert_eq!(on_disk, gainsay(&["check", "--json"]).stdout);
}

#[test]
fn the_storytellers() {
    let folder = demo();
    insta::assert_snapshot!(
        "storyteller",
        gainsay_in(folder.path(), &["check", "storyteller.toml", "--all"]).stdout
    );
    insta::assert_snapshot!(
        "pocket_recorder",
        gainsay_in(folder.path(), &["check", "storyteller-pocket-recorder.toml"]).stdout
    );
    insta::assert_snapshot!("explained", gainsay_in(folder.path(), &["explain", "storyteller.toml"]).stdout);
}

#[test]
fn narrow_terminals_get_a_list() {
    let folder = demo();
    let output = command(44, folder.path()).args(["check", "storyteller.toml"]).output().expect("it runs");
    let text = String::from_utf8(output.stdout).expect("text");
    for line in text.lines().filter(|line| !line.starts_with("Every number unfolded")) {
        assert!(line.chars().count() <= 44, "{} characters: {line}", line.chars().count());
    }
    insta::assert_snapshot!(text);
}

#[test]
fn json_has_units_in_its_names_and_intervals() {
    let run = gainsay(&["check", "--json"]);
    let answer: serde_json::Value = serde_json::from_str(&run.stdout).expect("JSON");
    let source = &answer["sources"][0];
    for field in ["gain_db", "verdict", "reach", "noise", "headroom"] {
        assert!(!source[field].is_null(), "{field} is missing");
    }
    for field in
        ["peak_dbfs", "quiet_dbfs", "noise_dbfs_a", "penalty_db", "noise_equivalent_dba", "replay_rise_db"]
    {
        let estimate =
            |part: &str| source[field][part].as_f64().unwrap_or_else(|| panic!("{field}.{part} is missing"));
        assert!(estimate("low") <= estimate("median") && estimate("median") <= estimate("high"), "{field}");
    }
    let shares = source["noise_shares"].as_object().expect("shares");
    let sum: f64 = shares.values().map(|share| share["mean"].as_f64().expect("a mean")).sum();
    assert!((sum - 1.0).abs() < 1e-3, "the shares add up to {sum}, off by {}", sum - 1.0);
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_seed_others() {
    let one = gainsay(&["check", "--json", "--seed", "7"]).stdout;
    assert_eq!(one, gainsay(&["check", "--json", "--seed", "7"]).stdout);
    assert_ne!(one, gainsay(&["check", "--json", "--seed", "8"]).stdout);
}

#[test]
fn strict_ends_with_a_code_of_its_own() {
    let folder = demo();
    let code = |case: &str| gainsay_in(folder.path(), &["check", case, "--strict"]).code;
    assert_eq!(code("quintet.toml"), Some(0));
    assert_eq!(code("storyteller-pocket-recorder.toml"), Some(4));
}

#[test]
fn the_diagram_is_a_picture() {
    let folder = demo();
    let run = gainsay_in(folder.path(), &["check", "storyteller.toml", "--diagram", "picture.svg"]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    let svg = std::fs::read_to_string(folder.path().join("picture.svg")).expect("the picture");
    assert!(svg.contains("<svg") && svg.contains("Storyteller"));
    assert!(!folder.path().join("picture.svg.part").exists());
}

#[test]
fn quick_answers_without_a_file() {
    let run = gainsay(&[
        "quick",
        "whisper",
        "--microphone",
        "moving-coil-broadcast",
        "--into",
        "desk-interface-two-inputs",
        "--distance",
        "10cm",
        "--room",
        "NR 15",
    ]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    insta::assert_snapshot!(run.stdout);
    for into in ["usual-preamp", "usual-converter", "converter-box-eight-microphone-inputs"] {
        let run = gainsay(&["quick", "fiddle", "--into", into]);
        assert!(!run.stdout.contains("Not enough inputs"), "into {into}:\n{}", run.stdout);
    }
}

#[test]
fn quick_prints_the_case_that_asks_the_same() {
    let arguments = ["quick", "fiddle", "--distance", "50 cm", "--loud", "95 dB SPL ± 3 dB"];
    let case = gainsay(&[&arguments[..], &["--as-case"]].concat()).stdout;
    let folder = folder(&[("case.toml", &case)]);
    let of_file = gainsay_in(folder.path(), &["check", "case.toml", "--json"]).stdout;
    let of_line = gainsay(&[&arguments[..], &["--json"]].concat()).stdout;
    assert_eq!(of_file, of_line);
}

#[test]
fn quick_takes_device_files() {
    let folder = demo();
    let run = gainsay_in(folder.path(), &["quick", "whisper", "--into", "gear/pocket-recorder.toml"]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    assert!(run.stdout.contains("Pocket recorder"), "{}", run.stdout);
}

#[test]
fn kinds_are_listed() {
    insta::assert_snapshot!("kinds", gainsay(&["kinds"]).stdout);
    insta::assert_snapshot!("kinds_of_booster", gainsay(&["kinds", "boosters"]).stdout);
    insta::assert_snapshot!("one_kind", gainsay(&["kinds", "whisper"]).stdout);
    for family in ["sources", "microphones", "preamps", "interfaces", "converters", "cables", "microphone"] {
        let run = gainsay(&["kinds", family]);
        assert_eq!(run.code, Some(0), "{family}: {}", run.stderr);
        assert!(run.stdout.lines().count() > 3, "{family}");
    }
    assert!(gainsay(&["kinds", "usual-booster"]).stdout.contains("type = \"booster\""));
}

#[test]
fn help_teaches() {
    insta::assert_snapshot!("help", gainsay(&["--help"]).stdout);
    insta::assert_snapshot!("help_check", gainsay(&["check", "--help"]).stdout);
    insta::assert_snapshot!("help_quick", gainsay(&["quick", "--help"]).stdout);
}

#[test]
fn completions_for_every_shell() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let run = gainsay(&["completions", shell]);
        assert_eq!(run.code, Some(0), "{shell}");
        assert!(run.stdout.contains("gainsay"), "{shell}");
    }
}

#[test]
fn no_colour_in_a_pipe_and_colour_where_it_is_forced() {
    assert!(!gainsay(&["check"]).stdout.contains('\u{1b}'));
    let forced = command(100, &std::env::temp_dir())
        .env("CLICOLOR_FORCE", "1")
        .arg("check")
        .output()
        .expect("it runs");
    assert!(forced.stdout.contains(&0x1b), "CLICOLOR_FORCE is ignored");
    let refused = command(100, &std::env::temp_dir())
        .env("NO_COLOR", "1")
        .env("TERM", "xterm-256color")
        .arg("check")
        .output()
        .expect("it runs");
    assert!(!refused.stdout.contains(&0x1b), "NO_COLOR is ignored");
}

#[test]
fn a_reader_that_leaves_is_no_error() {
    let mut child = command(100, &std::env::temp_dir())
        .args(["kinds", "sources"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    drop(child.stdout.take());
    let mut errors = String::new();
    child.stderr.take().expect("standard error").read_to_string(&mut errors).expect("text");
    assert_eq!(child.wait().expect("it ends").code(), Some(0), "{errors}");
    assert_eq!(errors, "");
}

#[test]
fn a_studio_that_cases_share() {
    let studio = "[room]\nnoise = \"NR 20\"\n[[owned]]\ndevice = \"usual-interface\"\n";
    let case = "include = [\"shared/studio.toml\"]\n[[source]]\nname = \"Voice\"\nkind = \"speech normal\"\n";
    let folder = folder(&[("case.toml", case), ("shared/studio.toml", studio)]);
    let run = gainsay_in(folder.path(), &["check", "case.toml"]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    assert!(run.stdout.contains("one microphone input"), "{}", run.stdout);
}
