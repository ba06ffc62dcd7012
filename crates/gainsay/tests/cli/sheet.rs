//! `gainsay sheet` as a user meets it.

use crate::run::{Run, command, folder, gainsay_in};
use gainsay_gear::Device;
use gainsay_units::Origin;
use std::io::Write;
use std::process::Stdio;

const PREAMP: &str = "\
Two-channel microphone preamp

Gain range: +10 to +65 dB, 1 dB steps
Maximum input level: +12 dBu (pad off), +32 dBu (pad on)
EIN: –128 dBu¹
Input impedance: 2,4 kΩ
Phantom power: 48 V, 14 mA per channel
THD: 0,003 %
Serial interface: 9600 Hz

¹ A-weighted, 150 ohm source
";

/// Runs it with a text on standard input.
fn piped(text: &[u8], arguments: &[&str]) -> Run {
    let folder = folder(&[]);
    let mut child = command(100, folder.path())
        .arg("sheet")
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it runs");
    // A program that refuses the text early may close its input.
    let _ = child.stdin.take().expect("standard input").write_all(text);
    child.wait_with_output().expect("it ends").into()
}

#[test]
fn a_sheet_becomes_a_device_file() {
    let folder = folder(&[("preamp.txt", PREAMP)]);
    let run = gainsay_in(folder.path(), &["sheet", "preamp.txt"]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    let device = Device::from_toml(&run.stdout, "preamp", Origin::Sheet).expect("a device file");
    assert_eq!(device.name, "Two-channel microphone preamp");
    insta::assert_snapshot!("sheet_file", run.stdout);
    insta::assert_snapshot!("sheet_doubts", run.stderr);
}

#[test]
fn standard_input_is_read() {
    let run = piped(PREAMP.as_bytes(), &[]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    assert_eq!(run.stdout, piped(PREAMP.as_bytes(), &["-"]).stdout);
    assert!(run.stdout.contains("gain_range = { value = \"55 dB\""), "{}", run.stdout);
}

#[test]
fn nothing_is_overwritten_without_force() {
    let folder = folder(&[("preamp.txt", PREAMP), ("there.toml", "mine\n")]);
    let there = || std::fs::read_to_string(folder.path().join("there.toml")).expect("a file");
    let run = gainsay_in(folder.path(), &["sheet", "preamp.txt", "-o", "there.toml"]);
    assert_eq!(run.code, Some(3));
    assert!(run.stderr.contains("there.toml is there already, and nothing is overwritten"), "{}", run.stderr);
    assert_eq!(there(), "mine\n");
    let run = gainsay_in(
        folder.path(),
        &["sheet", "preamp.txt", "-o", "there.toml", "--force", "--name", "Borrowed preamp"],
    );
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    assert_eq!(run.stdout, "");
    let written = there();
    let device = Device::from_toml(&written, "there", Origin::Sheet).expect("a device file");
    assert_eq!(device.name, "Borrowed preamp");
    assert!(written.contains("# To doubt:"), "{written}");
    assert!(written.contains("# Not placed:"), "{written}");
}

#[test]
fn the_kind_can_be_given() {
    let text = "Gain: 25 dB\nInput impedance: 20 kΩ\n";
    let run = piped(text.as_bytes(), &["--kind", "booster"]);
    assert!(run.stdout.contains("type = \"booster\""), "{}", run.stdout);
    assert!(run.stdout.contains("gain = { value = \"25 dB\""), "{}", run.stdout);
    assert_eq!(piped(text.as_bytes(), &["--kind", "cable"]).code, Some(2));
}

#[test]
fn what_is_no_sheet_is_told() {
    let novel = "It was a dark night, and the wind blew over the hills.\n".repeat(2000);
    let large = "EIN: -128 dBu (150 ohm)\n".repeat(450_000);
    let endless = "-128 dBu 5 ".repeat(1000);
    for (bytes, words) in [
        (&b""[..], "the text is empty"),
        (endless.as_bytes(), "line 1 is longer than 8 kB"),
        (b"%PDF-1.7\n\xe2\xe3", "this is a PDF document, not text"),
        (b"EIN: -128 dBu\nCaf\xe9\n", "this is not UTF-8: line 2, byte 4 is not valid"),
        (b"EIN\0", "line 1 holds a zero byte"),
        (b"\xff\xfeE\0", "this is text in UTF-16"),
        (novel.as_bytes(), "nothing in 2000 lines reads like the specification of a device"),
        (large.as_bytes(), "the text is too large for a specification sheet: it is larger than 256 KiB"),
    ] {
        let run = piped(bytes, &[]);
        assert_eq!(run.code, Some(1), "{words}: {}", run.stderr);
        assert_eq!(run.stdout, "");
        assert!(run.stderr.contains(words), "no \"{words}\" in {}", run.stderr);
        assert!(run.stderr.contains("mend: "), "{}", run.stderr);
    }
    let folder = folder(&[]);
    let run = gainsay_in(folder.path(), &["sheet", "nothing.txt"]);
    assert_eq!(run.code, Some(1));
    assert!(run.stderr.contains("there is no file nothing.txt"), "{}", run.stderr);
    let run = gainsay_in(folder.path(), &["sheet", "."]);
    assert_eq!(run.code, Some(1));
    assert!(run.stderr.contains("is a folder"), "{}", run.stderr);
}

#[test]
fn contradictions_are_told_and_the_cautious_figure_is_taken() {
    let text =
        "Preamp\nGain range: 50 dB\nEIN: -128 dBu (A-weighted, 150 Ω)\nEIN: -124 dBu (A-weighted, 150 Ω)\n";
    let run = piped(text.as_bytes(), &[]);
    assert_eq!(run.code, Some(0));
    assert!(run.stdout.contains("ein = { value = \"−124 dBu"), "{}", run.stdout);
    let told: String = run.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("more than once"), "{told}");
}
