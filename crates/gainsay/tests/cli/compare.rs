//! `gainsay compare` as a user meets it.

use crate::run::{command, folder, gainsay, gainsay_in};

const EXACT: &str = "name = \"Plain box\"\ntype = \"interface\"\nprice = 120\n[[microphone_inputs]]\ncount = 2\nphantom = true\n\
    gain_range = \"50 dB\"\nmaximum_input = \"+10 dBu\"\nein = \"-128 dBu (unweighted, 150 ohm)\"\n\
    input_noise_current = \"1 pA/√Hz\"\ninput_impedance = \"3 kΩ\"\ndynamic_range = \"110 dB (A-weighted)\"\n\
    [device]\ncomputer = \"usb\"\n";

const LOUD: &str = "name = \"Hot box\"\ntype = \"interface\"\n[[microphone_inputs]]\ncount = 2\nphantom = true\n\
    gain_range = \"60 dB\"\nmaximum_input = \"+24 dBu\"\nein = \"-128 dBu\"\n[device]\ncomputer = \"usb\"\n";

fn json(arguments: &[&str], folder: &std::path::Path) -> serde_json::Value {
    let run = gainsay_in(folder, &[arguments, &["--json"]].concat());
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    serde_json::from_str(&run.stdout).expect("JSON")
}

// Common practice, no source: +10 dBu and 50 dB reach full scale at −40 dBu; +24 dBu and 60 dB only at −36 dBu.
#[test]
fn devices_of_files_and_kinds_stand_side_by_side() {
    let folder = folder(&[("plain.toml", EXACT), ("hot.toml", LOUD)]);
    let answer = json(&["compare", "plain.toml", "hot.toml", "usual-preamp"], folder.path());
    let devices = answer["devices"].as_array().expect("devices");
    assert_eq!(devices.len(), 3);
    let full_scale = |index: usize| devices[index]["groups"][0]["full_scale_sensitivity_dbu"].clone();
    for (index, want) in [(0, -40.0), (1, -36.0)] {
        let got = full_scale(index)["median"].as_f64().expect("a number");
        assert!((got - want).abs() < 1e-3, "device {index} reaches full scale at {got} dBu, want {want}");
        assert_eq!(full_scale(index)["from"], "sheet");
    }
    assert_eq!(full_scale(2)["from"], "typical");
    // Thermal noise of 150 Ω (Nyquist 1928): √(4kTRB) at 293.15 K in 19 980 Hz is −130.92 dBu.
    let limit = answer["thermal_limit_150_ohm_dbu"].as_f64().expect("a number");
    assert!((limit + 130.922).abs() < 0.001, "thermal limit {limit} dBu, want −130.922");
    assert!(answer["recording"].is_null());
}

#[test]
fn the_table_fits_an_ordinary_terminal_and_a_narrow_one_gets_a_list() {
    let folder = folder(&[("plain.toml", EXACT), ("hot.toml", LOUD)]);
    let arguments = ["compare", "plain.toml", "hot.toml", "--source", "whisper", "--room", "NR 15"];
    let wide = gainsay_in(folder.path(), &arguments);
    assert_eq!(wide.code, Some(0), "{}", wide.stderr);
    insta::assert_snapshot!("compared", wide.stdout);
    let output = command(44, folder.path()).args(arguments).output().expect("it runs");
    let text = String::from_utf8(output.stdout).expect("text");
    for line in text.lines() {
        assert!(line.chars().count() <= 44, "{} characters: {line}", line.chars().count());
    }
    assert!(text.contains("full scale from (most gain)"), "{text}");
}

#[test]
fn what_the_sheet_leaves_unclear_is_said() {
    let folder = folder(&[("hot.toml", LOUD)]);
    let text = gainsay_in(folder.path(), &["compare", "hot.toml"]).stdout;
    assert!(text.contains("Unclear on the sheet") && text.contains("2.05 dB"), "{text}");
}

// A room of 55 dBA is louder than any preamp (common practice, no source).
#[test]
fn a_difference_that_nobody_hears_is_called_that() {
    let noisy = LOUD.replace("-128 dBu", "-112 dBu (A-weighted, 150 ohm)");
    let folder = folder(&[("plain.toml", EXACT), ("noisy.toml", &noisy)]);
    let compare = |room: &str| {
        let arguments = [
            "compare",
            "noisy.toml",
            "plain.toml",
            "--source",
            "whisper",
            "--microphone",
            "moving-coil-broadcast",
            "--distance",
            "20 cm",
            "--room",
            room,
        ];
        json(&arguments, folder.path())["recording"].clone()
    };
    let loud = compare("55 dBA");
    assert_eq!(loud["recordings"][1]["place"], 1, "{}", loud["conclusion"]);
    assert_eq!(loud["recordings"][1]["apart"], "too-small", "{}", loud["conclusion"]);
    let quiet = compare("NR 10");
    assert_eq!(quiet["recordings"][0]["name"], "Plain box", "{}", quiet["conclusion"]);
    assert_eq!(quiet["recordings"][1]["apart"], "heard", "{}", quiet["conclusion"]);
    let more = |part: &str| quiet["recordings"][1]["more_noise_db"][part].as_f64().expect("a number");
    assert!(more("low") <= more("median") && more("median") <= more("high"));
    assert!(more("median") > 3.0, "only {} dB apart", more("median"));
}

// The box behind a preamp or converter has inputs of its own; they are not what is compared.
#[test]
fn a_source_goes_into_the_device_that_is_compared() {
    let run = |device: &str| json(&["compare", device, "--source", "fiddle"], &std::env::temp_dir());
    let input = run("preamp-valve-input")["recording"]["recordings"][0]["input"].clone();
    assert!(input.as_str().is_some_and(|input| input.starts_with("Preamp with valve")), "{input}");
    let answer = run("converter-eight-line-inputs");
    assert_eq!(answer["recording"]["recordings"][0]["apart"], "no-input", "{answer}");
}

#[test]
fn microphones_and_boosters_are_compared_through_an_interface() {
    let answer = json(
        &["compare", "moving-coil-vocal", "small-condenser-cardioid", "--source", "fiddle"],
        &std::env::temp_dir(),
    );
    assert_eq!(answer["recording"]["recordings"].as_array().map(Vec::len), Some(2));
    assert!(answer["devices"][0]["groups"][0]["equivalent_noise_dba"]["median"].is_f64());
    let text = gainsay(&["compare", "booster-fet-20-db", "booster-fet-25-db", "--source", "whisper"]);
    assert_eq!(text.code, Some(0), "{}", text.stderr);
}

#[test]
fn spreadsheets_get_a_row_for_each_group() {
    let named = EXACT.replace("Plain box", "=Plain, \\\"quoted\\\" box");
    let folder = folder(&[("plain.toml", &named), ("hot.toml", LOUD)]);
    let run =
        gainsay_in(folder.path(), &["compare", "plain.toml", "hot.toml", "--source", "fiddle", "--csv"]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    let mut reader = csv::Reader::from_reader(run.stdout.as_bytes());
    let head = reader.headers().expect("a head").clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    assert_eq!(rows.len(), 2);
    let cell = |row: usize, column: &str| {
        let at = head.iter().position(|name| name == column).unwrap_or_else(|| panic!("no column {column}"));
        rows[row][at].to_owned()
    };
    // No spreadsheet takes the name for a formula.
    assert_eq!(cell(0, "device"), "'=Plain, \"quoted\" box");
    assert_eq!(cell(0, "full_scale_sensitivity_dbu"), "-40");
    assert_eq!(cell(0, "price"), "120");
    assert_eq!(cell(1, "full_scale_sensitivity_dbu_from"), "sheet");
    assert!(!cell(1, "doubts").is_empty());
    assert!(cell(0, "place").parse::<usize>().is_ok());
}

#[test]
fn the_picture_is_written_whole() {
    let folder = folder(&[]);
    let run = gainsay_in(
        folder.path(),
        &["compare", "desk-interface-two-inputs", "usual-preamp", "--diagram", "windows.svg"],
    );
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    let svg = std::fs::read_to_string(folder.path().join("windows.svg")).expect("the picture");
    assert!(svg.contains("<svg") && svg.contains("Usable windows"));
    assert!(!folder.path().join("windows.svg.part").exists());
}

#[test]
fn what_can_not_be_compared_is_refused_with_a_mend() {
    for (arguments, code, words) in [
        (&["compare"][..], 2, "required"),
        (&["compare", "moving-coil-vocal", "usual-interface"], 1, "nothing in common"),
        (&["compare", "moving-coil-vocal", "booster-fet-20-db"], 1, "nothing in common"),
        (&["compare", "usual-booster", "usual-interface"], 1, "compare boosters with boosters"),
        (&["compare", "star-quad-cable"], 1, "cable"),
        (&["compare", "usual-interfaec"], 1, "did you mean \"usual-interface\""),
        (&["compare", "nowhere.toml"], 1, "there is no file nowhere.toml"),
        (&["compare", "usual-interface", "--microphone", "moving-coil-vocal"], 2, "--source"),
        (&["compare", "usual-interface", "--source", "fidle"], 1, "did you mean \"fiddle\""),
        (
            &["compare", "usual-interface", "--source", "fiddle", "--microphone", "usual-preamp"],
            1,
            "name a microphone",
        ),
        (&["compare", "usual-interface", "--source", "fiddle", "--into", "usual-preamp"], 1, "--into"),
        (
            &["compare", "moving-coil-vocal", "--source", "fiddle", "--microphone", "ribbon-figure-of-eight"],
            1,
            "--microphone",
        ),
        (
            &["compare", "moving-coil-vocal", "--source", "fiddle", "--into", "usual-booster"],
            1,
            "box with inputs",
        ),
        (&["compare", "usual-interface", "--source", "fiddle", "--room", "loud"], 1, "--room"),
        (&["compare", "usual-interface", "--json", "--csv"], 2, "--csv"),
    ] {
        let run = gainsay(arguments);
        assert_eq!(run.code, Some(code), "{arguments:?}: {}", run.stderr);
        assert!(run.stderr.contains(words), "{arguments:?}: {}", run.stderr);
        assert_eq!(run.stdout, "", "{arguments:?}");
    }
}

#[test]
fn a_box_without_inputs_is_refused() {
    let folder = folder(&[("empty.toml", "name = \"Empty box\"\ntype = \"interface\"\n")]);
    let run = gainsay_in(folder.path(), &["compare", "empty.toml"]);
    assert_eq!(run.code, Some(1), "{}", run.stdout);
    assert!(run.stderr.contains("no input that could be compared"), "{}", run.stderr);
}
