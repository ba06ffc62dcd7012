//! `gainsay options` as a user meets it.

use crate::run::{command, folder, gainsay, gainsay_in};
use std::path::Path;

fn demo() -> tempfile::TempDir {
    let folder = folder(&[]);
    assert_eq!(gainsay_in(folder.path(), &["demo", "."]).code, Some(0));
    folder
}

#[track_caller]
fn text(folder: &Path, arguments: &[&str]) -> String {
    let run = gainsay_in(folder, &[&["options"], arguments].concat());
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    assert_eq!(run.stderr, "", "nothing goes to standard error");
    run.stdout
}

#[track_caller]
fn json(folder: &Path, arguments: &[&str]) -> serde_json::Value {
    serde_json::from_str(&text(folder, &[arguments, &["--json"]].concat())).expect("JSON")
}

#[test]
fn the_storyteller_buys_nothing() {
    let folder = demo();
    insta::assert_snapshot!(text(folder.path(), &["storyteller.toml"]));
}

#[test]
fn the_pocket_recorder_wants_a_booster() {
    let folder = demo();
    insta::assert_snapshot!(text(folder.path(), &["storyteller-pocket-recorder.toml"]));
}

#[test]
fn the_quintet_at_96_khz() {
    let folder = demo();
    insta::assert_snapshot!(text(folder.path(), &["quintet-96-khz.toml"]));
}

#[test]
fn help_tells_how_it_weighs() {
    insta::assert_snapshot!(gainsay(&["options", "--help"]).stdout);
}

#[test]
fn all_shows_every_source_and_figure() {
    let folder = demo();
    let short = text(folder.path(), &["storyteller.toml"]);
    let whole = text(folder.path(), &["storyteller.toml", "--all"]);
    let figures = |text: &str| text.lines().filter(|line| line.starts_with("    – ")).count();
    assert_eq!(figures(&short), 3, "{short}");
    assert!(figures(&whole) > 3, "{whole}");
    // Nothing is in doubt here, so nothing is said of it unless it is asked for.
    let sure = text(folder.path(), &["storyteller-pocket-recorder.toml"]);
    assert_eq!(figures(&sure), 0, "{sure}");
    assert!(figures(&text(folder.path(), &["storyteller-pocket-recorder.toml", "--all"])) > 0);
}

#[test]
fn narrow_terminals_get_a_list() {
    let folder = demo();
    for case in ["storyteller-pocket-recorder.toml", "quintet-96-khz.toml"] {
        let output = command(44, folder.path()).args(["options", case]).output().expect("it runs");
        let text = String::from_utf8(output.stdout).expect("text");
        for line in text.lines() {
            assert!(line.chars().count() <= 44, "{} characters: {line}", line.chars().count());
        }
        assert!(text.contains("\n→ "), "the plan to follow is not marked:\n{text}");
    }
}

#[test]
fn json_has_what_other_programs_read() {
    let folder = demo();
    let answer = json(folder.path(), &["storyteller-pocket-recorder.toml"]);
    let recommended = answer["recommended"].as_u64().expect("an index") as usize;
    let plan = &answer["frontier"][recommended];
    assert_eq!(plan["price"], 85);
    assert_eq!(plan["verdict"], "enough");
    assert_eq!(plan["result"], serde_json::json!({ "left_out": 0, "short": 0, "tight": 0 }));
    assert_eq!(plan["changes"].as_array().map(Vec::len), Some(1));
    assert!(plan["chance_enough"].as_f64().is_some_and(|chance| (0.0..=1.0).contains(&chance)));
    assert_eq!(plan["sources"][0]["source"], "Storyteller");
    assert_eq!(answer["today"]["price"], 0);
    assert_eq!(answer["today"]["verdict"], "short");
    assert_eq!(answer["why_not"].as_array().map(Vec::len), Some(4));
    for reason in answer["why_not"].as_array().expect("reasons") {
        assert!(reason["reason"].as_str().is_some_and(|reason| !reason.is_empty()), "{reason}");
    }
    assert_eq!(answer["bound"]["price"], 85);
    assert_eq!(answer["gap"], 0);
    assert_eq!(answer["proven"], true);
    assert_eq!(answer["stopped"], false);
    for key in ["ask", "turning_points", "reserves", "influences", "without_changes", "budget", "cautions"] {
        assert!(answer.get(key).is_some(), "{key} is missing");
    }
}

#[test]
fn csv_is_read_by_a_csv_reader() {
    let folder = demo();
    let csv = text(folder.path(), &["storyteller-pocket-recorder.toml", "--csv"]);
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let head = reader.headers().expect("a head").clone();
    let column = |name: &str| head.iter().position(|h| h == name).expect("the column");
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    let followed: Vec<&csv::StringRecord> =
        rows.iter().filter(|row| &row[column("to_follow")] == "yes").collect();
    assert_eq!(followed.len(), 1, "one plan is to be followed");
    assert_eq!(&followed[0][column("price")], "85");
    assert_eq!(&followed[0][column("sources_short")], "0");
    assert_eq!(&rows[0][column("list")], "as it is");
    assert_eq!(&rows[0][column("sources_short")], "1");
}

#[test]
fn a_budget_of_nothing() {
    let folder = demo();
    let case = "storyteller-pocket-recorder.toml";
    let answer = json(folder.path(), &[case, "--budget", "0"]);
    assert_eq!(answer["budget"], 0);
    for plan in answer["frontier"].as_array().expect("plans") {
        assert_eq!(plan["price"], 0, "{plan}");
    }
    let strict = gainsay_in(folder.path(), &["options", case, "--budget", "0", "--strict"]);
    assert_eq!(strict.code, Some(4), "it stays short");
    assert!(strict.stdout.contains("only what costs nothing was weighed"), "{}", strict.stdout);
    assert_eq!(gainsay_in(folder.path(), &["options", case, "--strict"]).code, Some(0), "85 mends it");
    // The budget of the command line stands instead of that of the case.
    let answer = json(folder.path(), &["quintet-96-khz.toml", "--budget", "69.5"]);
    assert_eq!(answer["budget"], 69.5);
    let unchanged = answer["without_changes"].as_array().expect("plans");
    assert!(unchanged.iter().all(|plan| plan["price"].as_f64().is_some_and(|price| price <= 69.5)));
}

#[test]
fn what_is_no_budget_and_no_time() {
    for wrong in ["-5", "180 €", "NaN", "inf", "1e30", ""] {
        let run = gainsay(&["options", "--budget", wrong]);
        assert_eq!(run.code, Some(2), "{wrong}: {}", run.stdout);
        assert!(run.stderr.contains("write a number without a currency, 0 or more"), "{}", run.stderr);
    }
    for wrong in ["0", "-1", "NaN", "soon", "1e300"] {
        let run = gainsay(&["options", "--time-limit", wrong]);
        assert_eq!(run.code, Some(2), "{wrong}: {}", run.stdout);
        assert!(run.stderr.contains("write a number of seconds above 0"), "{}", run.stderr);
    }
}

#[test]
fn a_generous_time_limit_changes_nothing() {
    let folder = demo();
    let case = "storyteller-pocket-recorder.toml";
    assert_eq!(text(folder.path(), &[case, "--time-limit", "500"]), text(folder.path(), &[case]));
}

#[test]
fn a_search_out_of_time_says_so_or_has_no_answer() {
    let folder = demo();
    let run =
        gainsay_in(folder.path(), &["options", "quintet-96-khz.toml", "--time-limit", "0.000001", "--json"]);
    match run.code {
        Some(0) => {
            let answer: serde_json::Value = serde_json::from_str(&run.stdout).expect("JSON");
            assert_eq!(answer["stopped"], true, "it claims to have looked at everything");
            assert_eq!(answer["proven"], false, "it claims a proof");
        }
        Some(130) => assert!(run.stderr.contains("there is no answer yet"), "{}", run.stderr),
        code => panic!("exit code {code:?}: {}", run.stderr),
    }
}

#[test]
fn the_picture_is_written() {
    let folder = demo();
    let case = "storyteller-pocket-recorder.toml";
    let run = gainsay_in(folder.path(), &["options", case, "--plot", "options.svg"]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    assert!(run.stdout.ends_with("Picture of the options: options.svg\n"), "{}", run.stdout);
    let svg = std::fs::read_to_string(folder.path().join("options.svg")).expect("the picture");
    assert!(svg.starts_with("<?xml"), "no picture: {svg:.40}");
    let run = gainsay_in(folder.path(), &["options", case, "--plot", "nowhere/options.svg"]);
    assert_eq!(run.code, Some(3), "{}", run.stderr);
}

const PLAIN: &str = "title = \"A case\"\n\n[[source]]\nname = \"Voice\"\nkind = \"speech normal\"\n\
                     microphone = \"moving-coil-vocal\"\n\n[[owned]]\ndevice = \"usual-interface\"\n";

#[test]
fn no_candidates() {
    let folder = folder(&[("case.toml", PLAIN)]);
    let text = text(folder.path(), &["case.toml"]);
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("No device is named that could be added"), "{text}");
    assert!(words.contains("[[option]] device = \"…\", price = …"), "it does not say how:\n{text}");
    assert!(!text.contains("Why not"), "{text}");
}

#[test]
fn a_candidate_without_a_price() {
    let case = format!("{PLAIN}\n[[option]]\ndevice = \"usual-booster\"\n");
    let folder = folder(&[("case.toml", &case)]);
    let answer = json(folder.path(), &["case.toml"]);
    assert_eq!(answer["why_not"][0]["price"], serde_json::Value::Null);
    let text = text(folder.path(), &["case.toml"]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("(no price): Nobody says what it costs"), "{text}");
    assert!(text.contains("Without a price, and so not weighed"), "{text}");
}

/// Runs it and looks for exit code 1, a place and words in the message.
#[track_caller]
fn refused(case: &str, place: &str, words: &[&str]) {
    let folder = folder(&[("case.toml", case)]);
    let run = gainsay_in(folder.path(), &["options", "case.toml"]);
    assert_eq!(run.code, Some(1), "exit code; standard error:\n{}", run.stderr);
    assert_eq!(run.stdout, "", "nothing goes to standard output");
    let message = run.stderr.split_whitespace().collect::<Vec<_>>().join(" ").replace(" │ ", " ");
    for wanted in std::iter::once(&place).chain(words) {
        assert!(message.contains(wanted), "no \"{wanted}\" in:\n{}", run.stderr);
    }
    assert!(!run.stderr.contains("panicked") && !message.contains("report it"), "{}", run.stderr);
}

#[test]
fn two_sources_pinned_to_one_input() {
    let case = "[[source]]\nname = \"Voice\"\nkind = \"speech normal\"\ninput = { device = \"usual-interface\", number = 1 }\n\
                [[source]]\nname = \"Fiddle\"\nkind = \"fiddle\"\ninput = { device = \"usual-interface\", number = 1 }\n\
                [[owned]]\ndevice = \"usual-interface\"\n[[option]]\ndevice = \"usual-booster\"\nprice = 85\n";
    refused(
        case,
        "case.toml:8:",
        &["Voice and Fiddle are both on input 1", "give one of them another number"],
    );
}

#[test]
fn options_that_say_two_things_or_none() {
    let option = |lines: &str| format!("{PLAIN}\n[[option]]\n{lines}\n");
    refused(
        &option("device = \"usual-booster\"\nleave_out = true"),
        "case.toml:12:10",
        &["one option can't have `device` and `leave_out`", "write an [[option]] for each"],
    );
    refused(&option("note = \"a thought\""), "case.toml", &["an option that says nothing"]);
}

#[test]
fn options_that_name_what_is_not_there() {
    let option = |lines: &str| format!("{PLAIN}\n[[option]]\n{lines}\n");
    refused(
        &option("leave_out = true\nsource = \"Voise\""),
        "case.toml:13:10",
        &["\"Voise\"", "did you mean \"Voice\"?"],
    );
    refused(
        &option("device = \"usual-boster\"\nprice = 85"),
        "case.toml:12:10",
        &["there is no device \"usual-boster\"", "did you mean \"usual-booster\"?"],
    );
}

#[test]
fn prices_that_cannot_be() {
    let option = |price: &str| format!("{PLAIN}\n[[option]]\ndevice = \"usual-booster\"\nprice = {price}\n");
    refused(
        &option("-85"),
        "case.toml:13:9",
        &["-85 is not a price", "write a number without a currency, 0 or more"],
    );
    refused(&option("inf"), "case.toml:13:9", &["write"]);
    refused(&format!("{PLAIN}\n[options]\nbudget = -1\n"), "case.toml:12:10", &["-1 is not a budget"]);
}
