//! `gainsay gear` as a user meets it.

use crate::run::{command, folder, gainsay_in};

const MEASURED: &str = "name = \"Chapel moving coil\"\ntype = \"microphone\"\nlike = \"moving-coil-vocal\"\nprice = 80\n\
    note = \"Bought second hand for the choir.\"\n[microphone]\ntransducer = \"moving-coil\"\nphantom = \"ignored\"\n\
    sensitivity = { value = \"-56 dBV/Pa\", measured = \"1.7 mV/Pa ± 0.5 dB\", note = \"against a borrowed reference\" }\n";

const VAGUE: &str = "name = \"Silver preamp\"\ntype = \"preamp\"\nprice = 149.5\n[[microphone_inputs]]\ncount = 2\nphantom = true\n\
    gain_range = \"60 dB\"\nein = \"-128 dBu\"\n";

const RIBBON: &str = "name = \"Tall ribbon\"\ntype = \"microphone\"\nprice = 400\n[microphone]\ntransducer = \"ribbon\"\n\
    phantom = \"harmful\"\nimpedance = \"250 ohm\"\n";

fn gear() -> tempfile::TempDir {
    folder(&[("gear/chapel.toml", MEASURED), ("gear/silver.toml", VAGUE), ("gear/ribbon.toml", RIBBON)])
}

#[test]
fn the_folder_is_listed_with_what_its_figures_rest_on() {
    let folder = gear();
    let run = gainsay_in(folder.path(), &["gear", "list"]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    insta::assert_snapshot!("gear_list", run.stdout);
    let run = gainsay_in(folder.path(), &["gear", "list", "--json"]);
    let listed: serde_json::Value = serde_json::from_str(&run.stdout).expect("JSON");
    let chapel = &listed[0];
    assert_eq!((chapel["id"].as_str(), chapel["type"].as_str()), (Some("chapel"), Some("microphone")));
    assert_eq!(chapel["figures"]["measured"], 1);
    let output = command(44, folder.path()).args(["gear", "list"]).output().expect("it runs");
    let text = String::from_utf8(output.stdout).expect("text");
    assert!(text.lines().all(|line| line.chars().count() <= 44), "{text}");
}

#[test]
fn devices_are_found_by_words_and_conditions() {
    let folder = gear();
    let find = |words: &[&str]| {
        let run = gainsay_in(folder.path(), &[&["gear", "find", "--json"], words].concat());
        assert_eq!(run.code, Some(0), "{words:?}: {}", run.stderr);
        let found: serde_json::Value = serde_json::from_str(&run.stdout).expect("JSON");
        let ids =
            found.as_array().expect("a list").iter().map(|d| d["id"].as_str().expect("an id").to_owned());
        ids.collect::<Vec<String>>()
    };
    assert_eq!(find(&["type=microphone"]), ["chapel", "ribbon"]);
    assert_eq!(find(&["phantom=no"]), ["chapel", "ribbon"]);
    assert_eq!(find(&["phantom=harmful"]), ["ribbon"]);
    assert_eq!(find(&["phantom=yes"]), ["silver"]);
    assert_eq!(find(&["transducer=ribbon"]), ["ribbon"]);
    assert_eq!(find(&["price<100"]), ["chapel"]);
    assert_eq!(find(&["price>100", "type=preamp"]), ["silver"]);
    assert_eq!(find(&["inputs>1"]), ["silver"]);
    // Words in names, ids, notes and types, one letter in four wrong, all of which must hold.
    assert_eq!(find(&["ribon"]), ["ribbon"]);
    assert_eq!(find(&["prea"]), ["silver"]);
    assert_eq!(find(&["choir"]), ["chapel"]);
    assert_eq!(find(&["microphone", "tall"]), ["ribbon"]);
    assert_eq!(find(&["silver microphone"]), Vec::<String>::new());
    for (words, mend) in [("prize<100", "did you mean \"price\""), ("price<cheap", "needs a number")] {
        let run = gainsay_in(folder.path(), &["gear", "find", words]);
        assert_eq!(run.code, Some(1), "{words}");
        assert!(run.stderr.contains(mend), "{words}: {}", run.stderr);
    }
}

#[test]
fn a_device_is_shown_with_sheet_and_measurement() {
    let folder = gear();
    for name in ["chapel", "Chapel moving coil", "gear/chapel.toml"] {
        let text = gainsay_in(folder.path(), &["gear", "show", name]).stdout;
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            flat.contains("sensitivity: 1.7 mV/Pa ± 0.5 dB (measured); the sheet says −56 dBV/Pa; against a borrowed reference"),
            "{name}: {text}"
        );
        assert!(flat.contains("On one footing") && flat.contains("(typical)"), "{name}: {text}");
    }
    insta::assert_snapshot!("gear_show", gainsay_in(folder.path(), &["gear", "show", "chapel"]).stdout);
    let run = gainsay_in(folder.path(), &["gear", "show", "chapel", "--json"]);
    let shown: serde_json::Value = serde_json::from_str(&run.stdout).expect("JSON");
    let sensitivity = &shown["figures"][0];
    assert_eq!(sensitivity["from"], "measured");
    assert_eq!(sensitivity["replaced"]["value"], "−56 dBV/Pa");
    assert_eq!(sensitivity["replaced"]["from"], "sheet");
    // Built-in kinds are shown where the folder has none of that name, also without a folder.
    assert_eq!(gainsay_in(folder.path(), &["gear", "show", "usual-booster"]).code, Some(0));
    let run = gainsay_in(folder.path(), &["gear", "show", "chapl"]);
    assert_eq!(run.code, Some(1));
    assert!(run.stderr.contains("did you mean \"chapel\""), "{}", run.stderr);
}

#[test]
fn every_file_is_checked() {
    let folder = gear();
    let run = gainsay_in(folder.path(), &["gear", "check"]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    assert!(run.stdout.contains("3 device files in gear, and nothing is wrong in them"), "{}", run.stdout);
    assert!(run.stdout.contains("without its weighting"), "{}", run.stdout);
    let write = |path: &str, text: &str| std::fs::write(folder.path().join(path), text).expect("a file");
    write("gear/wrong.toml", "name = \"W\"\ntype = \"booster\"\n[booster]\ngain = \"20 dBu\"\n");
    write("gear/twin.toml", VAGUE);
    write("gear/unlike.toml", "name = \"U\"\ntype = \"booster\"\nlike = \"usual-boster\"\n");
    write(
        "gear/measured-twice.toml",
        "name = \"M\"\ntype = \"booster\"\n[booster]\n\
         gain = { value = \"20 dB\", from = \"measured\", measured = \"19 dB\" }\n",
    );
    let run = gainsay_in(folder.path(), &["gear", "check"]);
    assert_eq!(run.code, Some(1), "{}", run.stdout);
    assert!(run.stdout.contains("7 device files in gear; in 4 of them something is wrong"), "{}", run.stdout);
    for words in [
        "wrong.toml:4:8",
        "a gain or range",
        "has the same name",
        "did you mean \"usual-booster\"",
        "two measured figures",
    ] {
        assert!(run.stderr.contains(words), "\"{words}\" is missing:\n{}", run.stderr);
    }
    let run = gainsay_in(folder.path(), &["gear", "check", "--json"]);
    assert_eq!(run.code, Some(1));
    let found: serde_json::Value = serde_json::from_str(&run.stdout).expect("JSON");
    assert_eq!(found["files"], 7);
    assert_eq!(found["problems"].as_array().map(Vec::len), Some(4));
    let wrong =
        found["problems"].as_array().and_then(|all| all.iter().find(|p| p["file"] == "gear/wrong.toml"));
    assert_eq!(wrong.map(|p| p["line"].clone()), Some(4.into()));
    // The other commands go on with what can be read, and say that there is more.
    let run = gainsay_in(folder.path(), &["gear", "list"]);
    assert!(run.stdout.contains("can't be read: gainsay gear check"), "{}", run.stdout);
}

#[test]
fn a_folder_that_is_not_there() {
    let folder = folder(&[]);
    for command in
        [&["gear", "list"][..], &["gear", "check", "--folder", "elsewhere"], &["gear", "find", "x"]]
    {
        let run = gainsay_in(folder.path(), command);
        assert_eq!(run.code, Some(1), "{command:?}");
        assert!(run.stderr.contains("there is no folder"), "{command:?}: {}", run.stderr);
    }
}
