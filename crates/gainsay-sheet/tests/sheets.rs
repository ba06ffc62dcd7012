//! Whole sheets, with the right reading beside each: every folder under `tests` that holds `*.txt` with `*.expect`.
//!
//! The sheets are invented. An `.expect` file holds a line for each field, `microphone_inputs.ein = -128 dBu (150 ohm)`; a
//! line `doubt SLUG [FIELD]` for each doubt that must be told; `withheld FIELD` for a figure that must stand in the file as a
//! comment only; and `kind = …` where the reader is told what the device is.
#![cfg(test)]

use gainsay_gear::{Device, DeviceType};
use gainsay_sheet::{Reading, Value};
use gainsay_units::{Origin, Quantity};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

#[derive(Default)]
struct Expected {
    kind: Option<DeviceType>,
    fields: BTreeMap<String, String>,
    doubts: Vec<(String, Option<String>)>,
    withheld: Vec<String>,
}

fn device_type(word: &str) -> DeviceType {
    match word {
        "microphone" => DeviceType::Microphone,
        "booster" => DeviceType::Booster,
        "preamp" => DeviceType::Preamp,
        "interface" => DeviceType::Interface,
        "converter" => DeviceType::Converter,
        other => panic!("no such kind of device: {other}"),
    }
}

fn expected(path: &Path) -> Expected {
    let text = std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let mut all = Expected::default();
    for line in text.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#')) {
        if let Some(rest) = line.strip_prefix("doubt ") {
            let mut words = rest.split_whitespace();
            let slug = words.next().expect("a doubt has a name").to_owned();
            all.doubts.push((slug, words.next().map(str::to_owned)));
        } else if let Some(field) = line.strip_prefix("withheld ") {
            all.withheld.push(field.trim().to_owned());
        } else {
            let (field, value) = line.split_once('=').unwrap_or_else(|| panic!("{}: {line}", path.display()));
            if field.trim() == "kind" {
                all.kind = Some(device_type(value.trim()));
            } else {
                all.fields.insert(field.trim().to_owned(), value.trim().to_owned());
            }
        }
    }
    all
}

/// Whether a value is what was expected: figures by their size and conditions, lists in any order.
fn matches(value: &Value, want: &str) -> bool {
    match value {
        Value::Figure(got) => {
            let want: Quantity = want.parse().unwrap_or_else(|error| panic!("expectation {want:?}: {error}"));
            let (a, b) = (got.unit.to_base(got.number), want.unit.to_base(want.number));
            let ohms = |q: &Quantity| q.conditions.source_impedance.map(|o| o.ohms());
            let band = |q: &Quantity| q.conditions.band.map(|(low, high)| (low.hertz(), high.hertz()));
            (a - b).abs() <= 1e-6 * a.abs().max(1.0).min(b.abs().max(1e-9))
                && got.unit.dimension() == want.unit.dimension()
                && got.weighting() == want.weighting()
                && ohms(got) == ohms(&want)
                && band(got) == band(&want)
        }
        Value::RatesHz(rates) => {
            let mut got: Vec<String> = rates.iter().map(ToString::to_string).collect();
            sorted(&mut got) == sorted(&mut list(want))
        }
        Value::Words(words) => {
            let mut got: Vec<String> = words.iter().map(|w| (*w).to_owned()).collect();
            sorted(&mut got) == sorted(&mut list(want))
        }
        other => other.to_string() == want,
    }
}

fn list(text: &str) -> Vec<String> {
    text.split(',').map(|word| word.trim().to_owned()).collect()
}

fn sorted(words: &mut [String]) -> &[String] {
    words.sort();
    words
}

#[derive(Default)]
struct Score {
    right: usize,
    wanted: usize,
    /// What is wrong, missing or too much.
    faults: Vec<String>,
    /// Wrong figures that no doubt marks.
    unmarked: Vec<String>,
    doubts_told: usize,
    doubts_wanted: usize,
}

impl Score {
    /// How many fields are wrong or too much, marked or not.
    fn wrong(&self) -> usize {
        let wrong = |fault: &&String| {
            fault.ends_with(" is on no sheet") || fault.contains(", not ") && !fault.starts_with("type is")
        };
        self.faults.iter().filter(wrong).count()
    }
}

fn score(reading: &Reading, want: &Expected) -> Score {
    let mut score = Score { wanted: want.fields.len(), doubts_wanted: want.doubts.len(), ..Score::default() };
    let marked = |path: &str| reading.doubts.iter().any(|doubt| doubt.field.as_deref() == Some(path));
    for (field, value) in &want.fields {
        if field == "type" {
            if reading.device_type.word() == value {
                score.right += 1;
            } else {
                score.faults.push(format!("type is {}, not {value}", reading.device_type.word()));
            }
            continue;
        }
        let entry = reading.entries.iter().find(|e| e.path.to_string() == *field && !e.withheld);
        match entry {
            Some(entry) if matches(&entry.reading.value, value) => score.right += 1,
            Some(entry) => {
                score.faults.push(format!("{field} is {}, not {value}", entry.reading.value));
                if !marked(field) {
                    score.unmarked.push(field.clone());
                }
            }
            None => score.faults.push(format!("{field} = {value} is missing")),
        }
    }
    for entry in &reading.entries {
        let path = entry.path.to_string();
        let figure = matches!(entry.reading.value, Value::Figure(_) | Value::Count(_) | Value::RatesHz(_));
        if figure && !want.fields.contains_key(&path) && !want.withheld.contains(&path) {
            score.faults.push(format!("{path} = {} is on no sheet", entry.reading.value));
            if !marked(&path) {
                score.unmarked.push(path);
            }
        }
    }
    for path in &want.withheld {
        let withheld = reading.entries.iter().any(|e| e.path.to_string() == *path && e.withheld);
        if !withheld {
            score.faults.push(format!("{path} should stand as a comment only"));
        }
    }
    for (slug, field) in &want.doubts {
        let told = reading
            .doubts
            .iter()
            .any(|doubt| doubt.kind.slug() == slug && (field.is_none() || doubt.field == *field));
        if told {
            score.doubts_told += 1;
        } else {
            score.faults.push(format!("doubt {slug} {} is not told", field.clone().unwrap_or_default()));
        }
    }
    score
}

fn sheets(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut all: Vec<PathBuf> = entries
        .filter_map(|entry| entry.ok().map(|e| e.path()))
        .filter(|path| path.extension().is_some_and(|extension| extension == "txt"))
        .collect();
    all.sort();
    all
}

/// Reads every sheet of a folder and prints how it went. Right and wanted fields, and wrong ones without a doubt.
fn run(folder: &str) -> (usize, usize, Vec<String>, usize, usize) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join(folder);
    let (mut right, mut wanted, mut unmarked, mut told, mut doubts) = (0, 0, Vec::new(), 0, 0);
    let (mut missed, mut marked) = (0, 0);
    for path in sheets(&folder) {
        let name = path.file_stem().and_then(|stem| stem.to_str()).expect("a name").to_owned();
        let text = std::fs::read_to_string(&path).expect("a sheet");
        let want = expected(&path.with_extension("expect"));
        let reading = gainsay_sheet::read(&text, want.kind).unwrap_or_else(|error| panic!("{name}: {error}"));
        let file = reading.to_toml();
        if let Err(problems) = Device::from_toml(&file, "sheet", Origin::Sheet) {
            panic!("{name}: the file that is written can't be read: {problems:?}\n{file}");
        }
        let score = score(&reading, &want);
        println!(
            "{:>3} of {:>3} fields, {:>2} of {:>2} doubts  {name}",
            score.right, score.wanted, score.doubts_told, score.doubts_wanted
        );
        for fault in &score.faults {
            println!("      {fault}");
        }
        if std::env::var_os("SHEET_DETAILS").is_some() && !score.faults.is_empty() {
            println!("{}", reading.to_toml_with_remarks());
        }
        let missing = score.faults.iter().filter(|fault| fault.ends_with(" is missing")).count();
        missed += missing;
        marked += score.wrong().saturating_sub(score.unmarked.len());
        right += score.right;
        wanted += score.wanted;
        told += score.doubts_told;
        doubts += score.doubts_wanted;
        unmarked.extend(score.unmarked.into_iter().map(|field| format!("{name}: {field}")));
    }
    println!("{right} of {wanted} fields right, {told} of {doubts} doubts told");
    println!("{missed} missed, {marked} wrong and marked, {} wrong without a doubt", unmarked.len());
    (right, wanted, unmarked, told, doubts)
}

/// Shares of the sheets in `tests/sheets` that must be read right.
#[test]
fn the_sheets_of_the_corpus() {
    let (right, wanted, unmarked, told, doubts) = run("sheets");
    assert!(wanted > 400, "only {wanted} fields are looked for");
    assert!(right * 100 >= wanted * 98, "{right} of {wanted} fields are right, which is under 98 %");
    assert!(unmarked.is_empty(), "wrong without a doubt: {unmarked:?}");
    assert_eq!(told, doubts, "doubts that are told");
}

/// Sheets that are not all right: three sets by people who had not seen the reader. Two have been worked on since they were first
/// read (405 of 449 fields at first try, 3 wrong without a doubt; and, those whose names begin with g, 379 of 420, 3 wrong without
/// a doubt). The third has not been worked on at all (397 of 435 at first try, none wrong without a doubt). Over all sheets, of
/// this folder and of the others, 98 % have to be right.
#[test]
fn of_all_sheets_together_few_figures_are_missed_and_none_is_wrong_in_silence() {
    let (held_right, held_wanted, unmarked, _, _) = run("held_out");
    println!(
        "held out: {held_right} of {held_wanted}, {} wrong without a doubt: {unmarked:?}",
        unmarked.len()
    );
    assert!(unmarked.is_empty(), "wrong without a doubt: {unmarked:?}");
    let (right, wanted, ..) = run("sheets");
    let (right, wanted) = (right + held_right, wanted + held_wanted);
    println!("all together: {right} of {wanted}");
    assert!(right * 100 >= wanted * 98, "{right} of {wanted} fields are right, which is under 98 %");
}

/// The words of a text, each once.
fn words_of(text: &str) -> Vec<String> {
    let mut all: Vec<String> = text
        .split(|c: char| !c.is_alphabetic())
        .filter(|word| word.chars().count() >= 4)
        .map(str::to_owned)
        .collect();
    all.sort();
    all.dedup();
    all
}

/// The text with a word that no lexicon holds in place of every occurrence of one.
fn without_word(text: &str, word: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, behind)) = rest.split_once(word) {
        let joined = before.ends_with(char::is_alphabetic) || behind.starts_with(char::is_alphabetic);
        out.push_str(before);
        out.push_str(if joined { word } else { "vrulqzom" });
        rest = behind;
    }
    out + rest
}

/// Wording that the reader does not know, made by putting one unknown word in place of a known one, in every tenth word of
/// every tuned sheet: what is then read otherwise than the sheet means must carry a doubt, with few exceptions.
#[test]
fn unknown_wording_is_missed_or_marked_but_seldom_wrong_in_silence() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sheets");
    let (mut readings, mut marked, mut silent, mut marks, mut count) = (0, 0, 0, 0, 0);
    let mut fields: BTreeMap<String, usize> = BTreeMap::new();
    for path in sheets(&folder) {
        let text = std::fs::read_to_string(&path).expect("a sheet");
        let want = expected(&path.with_extension("expect"));
        let context = |reading: &Reading| {
            reading.doubts.iter().filter(|doubt| doubt.kind.slug() == "taken-from-context").count()
        };
        marks += gainsay_sheet::read(&text, want.kind).map_or(0, |reading| context(&reading));
        for word in words_of(&text) {
            count += 1;
            if count % 10 != 0 {
                continue;
            }
            let Ok(reading) = gainsay_sheet::read(&without_word(&text, &word), want.kind) else { continue };
            let score = score(&reading, &want);
            readings += 1;
            marked += score.wrong() - score.unmarked.len();
            silent += score.unmarked.len();
            for field in &score.unmarked {
                *fields.entry(field.clone()).or_default() += 1;
                if std::env::var_os("SHEET_DETAILS").is_some() {
                    println!("{} without {word:?}: {field}", path.display());
                }
            }
        }
    }
    println!("{marks} figures taken from context on the sheets as they are");
    println!("{readings} readings with a word unknown: {silent} wrong in silence, {marked} wrong and marked");
    println!("{fields:?}");
    assert!(readings > 500, "only {readings} readings");
    // Before labels with unknown words were marked, 26 of 573 readings' figures were wrong in silence.
    assert!(
        silent * 50 <= readings,
        "{silent} figures wrong in silence, more than one in fifty readings: {fields:?}"
    );
    assert!(marked > silent, "{marked} marked and {silent} silent");
    assert!(marks <= sheets(&folder).len(), "{marks} marks are more than one for each sheet");
}
