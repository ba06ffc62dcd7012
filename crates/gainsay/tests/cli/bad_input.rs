//! What a user reads who gets something wrong: what is wrong, where, and how to mend it. Never a panic.

use crate::run::{folder, gainsay, gainsay_in};

/// A case with one source of which a line is replaced.
fn case(lines: &str) -> String {
    format!(
        "title = \"A case\"\n\n[[source]]\nname = \"Voice\"\nkind = \"speech normal\"\n{lines}\n\n[[owned]]\ndevice = \"usual-interface\"\n"
    )
}

/// Checks a case and looks for exit code 1, a place and words in the message.
#[track_caller]
pub(crate) fn refused(files: &[(&str, &str)], place: &str, words: &[&str]) {
    let folder = folder(files);
    let run = gainsay_in(folder.path(), &["check", "case.toml"]);
    assert_eq!(run.code, Some(1), "exit code; standard error:\n{}", run.stderr);
    assert_eq!(run.stdout, "", "nothing goes to standard output");
    let message: String = run.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(message.contains(place), "no {place} in:\n{}", run.stderr);
    for word in words {
        // The frame of the message may break a line anywhere between words.
        let squeezed = message.replace(" │ ", " ");
        assert!(squeezed.contains(word), "no \"{word}\" in:\n{}", run.stderr);
    }
    assert!(!run.stderr.contains("panicked"), "{}", run.stderr);
}

#[test]
fn an_unknown_field() {
    let text = case("distence = \"0.3 m\"");
    refused(
        &[("case.toml", &text)],
        "case.toml:6:1",
        &["\"distence\" is not a field that belongs here", "did you mean \"distance\"?"],
    );
}

#[test]
fn a_misspelt_kind() {
    let text = case("").replace("speech normal", "speach normal");
    refused(
        &[("case.toml", &text)],
        "case.toml:5:8",
        &["there is no kind of source \"speach normal\"", "did you mean \"speech normal\"?"],
    );
}

#[test]
fn a_misspelt_device() {
    let text = case("microphone = \"moving-coil-vokal\"");
    refused(
        &[("case.toml", &text)],
        "case.toml:6:14",
        &["there is no device \"moving-coil-vokal\"", "did you mean \"moving-coil-vocal\"?"],
    );
}

#[test]
fn a_unit_of_the_wrong_dimension() {
    let text = case("distance = \"3 dBu\"");
    refused(
        &[("case.toml", &text)],
        "case.toml:6:12",
        &["3 dBu is a voltage level, where a length belongs", "write for example 0.6 m"],
    );
}

#[test]
fn a_number_without_a_unit() {
    let text = case("distance = 0.3");
    refused(&[("case.toml", &text)], "case.toml:6:12", &["write the number with its unit in quotes"]);
}

#[test]
fn a_negative_distance() {
    let text = case("distance = \"-0.3 m\"");
    refused(&[("case.toml", &text)], "case.toml:6:12", &["−0.3 m is not possible for a length"]);
    let text = case("distance = \"0 m\"");
    refused(&[("case.toml", &text)], "case.toml:6:12", &["the distance must be above zero"]);
}

#[test]
fn not_a_number() {
    for nan in ["distance = \"NaN m\"", "distance = nan", "loud = \"inf dB SPL\""] {
        refused(&[("case.toml", &case(nan))], "case.toml:6", &["write"]);
    }
}

#[test]
fn names_that_stand_twice() {
    let text = format!("{}\n[[source]]\nname = \"voice\"\nkind = \"fiddle\"\n", case(""));
    refused(
        &[("case.toml", &text)],
        "case.toml:12:8",
        &["there are two sources named \"voice\"", "give each its own name"],
    );
    let device = "name = \"Box\"\ntype = \"interface\"\n[[microphone_inputs]]\ncount = 1\n";
    refused(
        &[("case.toml", &case("")), ("gear/a.toml", device), ("gear/b.toml", device)],
        "b.toml:1:9",
        &["has the same name", "give each device its own name"],
    );
}

#[test]
fn an_impossible_ein() {
    let device = |ein: &str| {
        format!("name = \"Box\"\ntype = \"interface\"\n[[microphone_inputs]]\ncount = 1\nein = \"{ein}\"\n")
    };
    refused(
        &[("case.toml", &case("")), ("gear/box.toml", &device("-133 dBu (150 ohm)"))],
        "box.toml:5:7",
        &[
            "is impossible: the thermal noise of 150 Ω alone is −130.9 dBu unweighted at 20 °C",
            "check the weighting",
        ],
    );
    refused(
        &[("case.toml", &case("")), ("gear/box.toml", &device("-135 dBu"))],
        "box.toml:5:7",
        &["no source is stated", "add \"(A-weighted)\" or \"(0 ohm)\""],
    );
    // A-weighted, the limit lies 2.05 dB lower: what is impossible above is possible here.
    let folder =
        folder(&[("case.toml", &case("")), ("gear/box.toml", &device("-132 dBu (A-weighted, 150 ohm)"))]);
    assert_eq!(gainsay_in(folder.path(), &["check", "case.toml"]).code, Some(0));
}

#[test]
fn a_missing_file() {
    let folder = folder(&[]);
    let run = gainsay_in(folder.path(), &["check", "nothing.toml"]);
    assert_eq!(run.code, Some(1));
    assert!(run.stderr.contains("there is no file nothing.toml"), "{}", run.stderr);
    assert!(run.stderr.contains("gainsay demo"), "{}", run.stderr);
    let run = gainsay_in(folder.path(), &["check", "."]);
    assert_eq!(run.code, Some(1));
    assert!(run.stderr.contains("is not a file"), "{}", run.stderr);
    let run = gainsay(&["quick", "fiddle", "--into", "nothing.toml"]);
    assert_eq!(run.code, Some(1));
    assert!(run.stderr.contains("there is no file nothing.toml"), "{}", run.stderr);
}

#[test]
fn an_include_loop() {
    let a = format!("include = [\"other.toml\"]\n{}", case(""));
    refused(
        &[("case.toml", &a), ("other.toml", "include = [\"case.toml\"]\n")],
        "other.toml:1:12",
        &["case.toml includes itself", "take one of the `include` lines out"],
    );
    let a = format!("include = [\"case.toml\"]\n{}", case(""));
    refused(&[("case.toml", &a)], "case.toml:1:12", &["includes itself"]);
    let a = format!("include = [\"missing.toml\"]\n{}", case(""));
    refused(&[("case.toml", &a)], "case.toml:1:12", &["there is no file missing.toml", "check the path"]);
}

#[test]
fn a_file_of_fifty_megabytes() {
    let folder = folder(&[]);
    let path = folder.path().join("case.toml");
    std::fs::write(&path, vec![b'#'; 50_000_000]).expect("a large file");
    let run = gainsay_in(folder.path(), &["check", "case.toml"]);
    assert_eq!(run.code, Some(1));
    assert!(run.stderr.contains("case.toml is larger than 1024 KiB"), "{}", run.stderr);
}

#[test]
fn binary_junk() {
    let folder = folder(&[]);
    let path = folder.path().join("case.toml");
    std::fs::write(&path, [b'a', b'\n', 0xff, 0xfe, 0x00]).expect("a file");
    let run = gainsay_in(folder.path(), &["check", "case.toml"]);
    assert_eq!(run.code, Some(1));
    assert!(run.stderr.contains("case.toml is not text: line 2"), "{}", run.stderr);
    std::fs::write(&path, b"title = \"a\"\n\0").expect("a file");
    let run = gainsay_in(folder.path(), &["check", "case.toml"]);
    assert_eq!(run.code, Some(1));
    assert!(run.stderr.contains("line 2 holds a zero byte"), "{}", run.stderr);
}

#[test]
fn broken_toml() {
    refused(&[("case.toml", "title = \"A case\n")], "case.toml:1", &[]);
    refused(&[("case.toml", "title = 3\n")], "case.toml:1:9", &["expected a string"]);
    refused(
        &[("case.toml", "[[source]]\nkind = \"fiddle\"\nkind = \"cello\"\n")],
        "case.toml:3:1",
        &["duplicate key"],
    );
    refused(&[("case.toml", "")], "case.toml", &["the case has no source", "add what is to be recorded"]);
}

#[test]
fn levels_that_contradict_each_other() {
    let text = case("quiet = \"90 dBA\"\nloud = \"60 dBA\"");
    refused(
        &[("case.toml", &text)],
        "case.toml:6:9",
        &["the quietest passage (90 dBA) is louder than the loudest (60 dBA)"],
    );
    let text = case("").replace("[[source]]", "[room]\nnoise = \"30 dB SPL\"\n[[source]]");
    refused(&[("case.toml", &text)], "case.toml:4:9", &["has no weighting", "\"28 dBA\""]);
    let text = case("").replace("[[source]]", "[session]\npeak_target = \"6 dBFS\"\n[[source]]");
    refused(&[("case.toml", &text)], "case.toml:4:15", &["lies above full scale"]);
}

#[test]
fn a_device_of_the_wrong_type() {
    let text = case("microphone = \"usual-interface\"");
    refused(&[("case.toml", &text)], "case.toml:6:14", &["is an interface, not a microphone"]);
    let text = case("booster = \"moving-coil-vocal\"");
    refused(&[("case.toml", &text)], "case.toml:6:11", &["is a microphone, not a booster"]);
}

#[test]
fn every_wrong_figure_is_told() {
    let text = case("distance = \"3 dBu\"\nloud = \"90\"\ncable = \"long\"");
    let folder = folder(&[("case.toml", &text)]);
    let run = gainsay_in(folder.path(), &["check", "case.toml"]);
    for place in ["case.toml:6:12", "case.toml:7:8", "case.toml:8:9", "3 problems"] {
        assert!(run.stderr.contains(place), "no {place} in:\n{}", run.stderr);
    }
}

#[test]
fn a_wrong_command_line() {
    let run = gainsay(&["quick", "fidle"]);
    assert_eq!(run.code, Some(1));
    assert!(run.stderr.contains("KIND: there is no kind of source \"fidle\""), "{}", run.stderr);
    assert!(run.stderr.contains("did you mean \"fiddle\"?"), "{}", run.stderr);
    let run = gainsay(&["quick", "fiddle", "--distance", "-1 m"]);
    assert!(run.stderr.contains("--distance: −1 m is not possible for a length"), "{}", run.stderr);
    let run = gainsay(&["quick", "fi\"\n[x]ddle"]);
    assert_eq!(run.code, Some(1));
    assert_eq!(gainsay(&["chekc"]).code, Some(2));
    assert_eq!(gainsay(&["check", "--draws", "0"]).code, Some(2));
    let run = gainsay(&["explain", "--source", "Fidle"]);
    assert!(run.stderr.contains("did you mean \"Fiddle\"?"), "{}", run.stderr);
    let run = gainsay(&["explain"]);
    assert!(run.stderr.contains("add --source with one of \"Fiddle\""), "{}", run.stderr);
    let run = gainsay(&["kinds", "fidle"]);
    assert!(run.stderr.contains("did you mean \"fiddle\"?"), "{}", run.stderr);
}

#[test]
fn what_can_t_be_written() {
    let folder = folder(&[("there/quintet.toml", "mine\n")]);
    let run = gainsay_in(folder.path(), &["demo", "there"]);
    assert_eq!(run.code, Some(3));
    assert!(
        run.stderr.contains("quintet.toml is there already, and nothing is overwritten"),
        "{}",
        run.stderr
    );
    assert_eq!(
        std::fs::read_to_string(folder.path().join("there/quintet.toml")).expect("still there"),
        "mine\n"
    );
    assert!(!folder.path().join("there/storyteller.toml").exists(), "nothing is half-written");
    let run = gainsay_in(folder.path(), &["check", "--diagram", "missing/picture.svg"]);
    assert_eq!(run.code, Some(3));
    assert!(run.stderr.contains("can't be written"), "{}", run.stderr);
}
