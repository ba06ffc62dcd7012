//! Random figures in random layouts are read back, and no text makes the reader stop or write a file that can't be read.
#![cfg(test)]

use gainsay_gear::{Device, DeviceType};
use gainsay_sheet::{Table, Value, read, text_of};
use gainsay_units::Origin;
use proptest::prelude::*;

/// A decimal number as one of three languages writes it.
fn number(value: f64, comma: bool, minus: usize) -> String {
    let text = format!("{:.1}", value.abs());
    let text = if comma { text.replace('.', ",") } else { text };
    let sign = ["-", "−", "–"][minus % 3];
    if value < 0.0 { format!("{sign}{text}") } else { text }
}

#[derive(Debug, Clone)]
struct Preamp {
    least: i32,
    range: i32,
    maximum: f64,
    ein: f64,
    input: f64,
    output: i32,
    layout: usize,
    language: usize,
    minus: usize,
    order: bool,
}

fn preamp() -> impl Strategy<Value = Preamp> {
    (
        (0..20_i32, 30..70_i32, 0..300_i32, 1190..1300_i32, 10..100_i32, 40..400_i32),
        (0..6_usize, 0..3_usize, 0..3_usize, any::<bool>()),
    )
        .prop_map(|((least, range, maximum, ein, input, output), (layout, language, minus, order))| {
            Preamp {
                least,
                range,
                maximum: f64::from(maximum) / 10.0,
                ein: -f64::from(ein) / 10.0,
                input: f64::from(input) / 10.0,
                output,
                layout,
                language,
                minus,
                order,
            }
        })
}

impl Preamp {
    fn text(&self) -> String {
        let comma = self.language > 0;
        let n = |value: f64| number(value, comma, self.minus);
        let (to, weighted) = [("to", "A-weighted"), ("bis", "A-bewertet"), ("à", "pondéré A")][self.language];
        let labels = [
            ["Gain", "Maximum input level", "EIN", "Input impedance", "Output impedance"],
            [
                "Verstärkung",
                "Maximaler Eingangspegel",
                "Äquivalentes Eingangsrauschen",
                "Eingangsimpedanz",
                "Ausgangsimpedanz",
            ],
            [
                "Gain",
                "Niveau d'entrée maximal",
                "Bruit équivalent en entrée",
                "Impédance d'entrée",
                "Impédance de sortie",
            ],
        ][self.language];
        let values = [
            format!("{} {to} {} dB", self.least, self.least + self.range),
            format!("+{} dBu", n(self.maximum)),
            format!("{} dBu (150 Ω, {weighted})", n(self.ein)),
            format!("{} kΩ", n(self.input)),
            format!("{} Ω", self.output),
        ];
        let mut rows: Vec<(&str, &String)> = labels.into_iter().zip(&values).collect();
        if self.order {
            rows.reverse();
        }
        let head = match self.layout {
            4 => "| Parameter | Value |\n|---|---|\n",
            _ => "",
        };
        let body: String = rows
            .iter()
            .map(|(label, value)| match self.layout {
                0 => format!("{label}: {value}\n"),
                1 => format!("{label} ............ {value}\n"),
                2 => format!("{label}\t{value}\n"),
                3 => format!("{label:<40}{value}\n"),
                4 => format!("| {label} | {value} |\n"),
                _ => format!("{label}\n{value}\n\n"),
            })
            .collect();
        format!("Preamp\n\n{head}{body}")
    }
}

fn figure(reading: &gainsay_sheet::Reading, field: &str) -> Option<f64> {
    let entry = reading.entry(Table::MicrophoneInputs, "", field)?;
    match &entry.reading.value {
        Value::Figure(quantity) => Some(quantity.unit.to_base(quantity.number)),
        _ => None,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn figures_are_read_back_from_any_layout(preamp in preamp()) {
        let text = preamp.text();
        let reading = read(&text, Some(DeviceType::Preamp)).map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?;
        for (field, want) in [
            ("least_gain", f64::from(preamp.least)),
            ("gain_range", f64::from(preamp.range)),
            ("maximum_input", preamp.maximum),
            ("ein", preamp.ein),
            ("input_impedance", preamp.input * 1e3),
            ("output_impedance", f64::from(preamp.output)),
        ] {
            let got = figure(&reading, field);
            prop_assert!(
                got.is_some_and(|got| (got - want).abs() < 1e-6 * want.abs().max(1.0)),
                "{} reads {:?} instead of {} in\n{}", field, got, want, text
            );
        }
    }

    #[test]
    fn no_text_stops_the_reader(text in "[ -~\n\tΩµ–−±¹†äéç]{0,400}") {
        if let Ok(reading) = read(&text, None) {
            let file = reading.to_toml();
            prop_assert!(Device::from_toml(&file, "sheet", Origin::Sheet).is_ok(), "{:?} gives\n{}", text, file);
            for entry in &reading.entries {
                prop_assert!(entry.reading.span.end <= text.len());
            }
        }
    }

    #[test]
    fn no_figure_with_a_unit_is_lost(pieces in prop::collection::vec(0..PIECES.len(), 1..40)) {
        let text: String = pieces.iter().filter_map(|index| PIECES.get(*index).copied()).collect();
        for kind in [None, Some(DeviceType::Microphone), Some(DeviceType::Preamp), Some(DeviceType::Converter)] {
            if let Ok(reading) = read(&text, kind) {
                let lost = lost(&reading, &text);
                prop_assert!(lost.is_empty(), "{:?} are told nowhere, of\n{}\n{}", lost, text, reading.to_toml_with_remarks());
            }
        }
    }

    #[test]
    fn no_figure_of_an_unknown_label_is_lost(
        lines in prop::collection::vec((0..LABELS.len(), 0..FIGURES.len(), 0..FIGURES.len(), 0..JOINTS.len(), 0..JOINTS.len()), 1..8)
    ) {
        let mut text = String::from("Preamp\n\nGain: 60 dB\n");
        for (label, first, second, joint, between) in lines {
            text.push_str(&format!("{}{}{}{}{}\n", LABELS[label], JOINTS[joint], FIGURES[first], JOINTS[between], FIGURES[second]));
        }
        for kind in [None, Some(DeviceType::Microphone), Some(DeviceType::Booster), Some(DeviceType::Interface)] {
            if let Ok(reading) = read(&text, kind) {
                let lost = lost(&reading, &text);
                prop_assert!(lost.is_empty(), "{:?} are told nowhere, of\n{}\n{}", lost, text, reading.to_toml_with_remarks());
            }
        }
    }

    #[test]
    fn pieces_of_sheets_in_any_order(pieces in prop::collection::vec(0..PIECES.len(), 1..40)) {
        let text: String = pieces.iter().filter_map(|index| PIECES.get(*index).copied()).collect();
        for kind in [None, Some(DeviceType::Microphone), Some(DeviceType::Booster), Some(DeviceType::Interface)] {
            if let Ok(reading) = read(&text, kind) {
                let file = reading.to_toml_with_remarks();
                prop_assert!(Device::from_toml(&file, "sheet", Origin::Sheet).is_ok(), "{:?} gives\n{}", text, file);
            }
        }
    }

    #[test]
    fn any_bytes_are_text_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        if let Err(error) = text_of(&bytes) {
            prop_assert!(!error.message().is_empty() && !error.mend().is_empty());
        }
    }
}

/// Units that the test itself looks for behind digits, so that it does not trust the reader's own grammar.
const UNITS: &[&str] =
    &["dBu", "dBV", "dB", "kΩ", "Ω", "mV/Pa", "mV", "mA", "kHz", "Hz", "nV/√Hz", "%", "V", "ms", "kg", "W"];

/// Numbers with a unit that stand in no entry, doubt or list of what found no place.
///
/// What is told quotes its line; a line that has only an entry counts for the figures between the ends of that entry, its
/// other readings, and for conditions in the label before it. A footnote is told by the lines that refer to it.
fn lost(reading: &gainsay_sheet::Reading, text: &str) -> Vec<String> {
    let mut told_lines: Vec<usize> = reading.unplaced.iter().map(|one| one.line).collect();
    told_lines.extend(reading.doubts.iter().filter_map(|doubt| doubt.line));
    let readings = || reading.entries.iter().flat_map(|e| std::iter::once(&e.reading).chain(&e.others));
    let mut all = Vec::new();
    let mut start = 0;
    for (index, line) in text.split('\n').enumerate() {
        let number = index + 1;
        for (at, figure) in figures_with_units(line) {
            let place = start + at;
            let entry = readings().any(|r| {
                (r.line == number && place < r.span.end)
                    || r.words.contains(&figure)
                    || r.value.to_string().contains(&figure)
            });
            let entry = entry || reading.unplaced.iter().any(|one| one.words.contains(&figure));
            if !entry && !told_lines.contains(&number) {
                all.push(format!("line {number}: {figure}"));
            }
        }
        start += line.len() + 1;
    }
    all
}

/// Digits with a unit behind them, and where they begin.
fn figures_with_units(line: &str) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(at) = line.get(from..).and_then(|rest| rest.find(|c: char| c.is_ascii_digit())) {
        let begin = from + at;
        let (before, digits) = line.split_at(begin);
        let length = digits.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(digits.len());
        let (_, behind) = digits.split_at(length);
        let behind = behind.strip_prefix(' ').unwrap_or(behind);
        let joined = before.ends_with(|c: char| c.is_alphanumeric());
        let ends = |rest: &str| !rest.starts_with(|c: char| c.is_alphanumeric() || c == '/');
        let unit = UNITS.iter().find(|unit| behind.strip_prefix(**unit).is_some_and(ends));
        if let Some(unit) = unit.filter(|_| !joined) {
            let end = line.len() - behind.len() + unit.len();
            found.push((begin, line.get(begin..end).unwrap_or_default().to_owned()));
        }
        from = begin + length;
    }
    found
}

/// The invented sheets lose nothing either.
#[test]
fn no_figure_of_the_invented_sheets_is_lost() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join("sheets");
    let mut figures = 0;
    for entry in std::fs::read_dir(folder).expect("the folder of sheets") {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|extension| extension != "txt") {
            continue;
        }
        let text = std::fs::read_to_string(&path).expect("a sheet");
        let reading = read(&text, None).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        figures += text.lines().map(|line| figures_with_units(line).len()).sum::<usize>();
        let lost = lost(&reading, &text);
        assert!(lost.is_empty(), "{}: {lost:?} are told nowhere", path.display());
    }
    assert!(figures > 700, "only {figures} figures were looked for");
}

/// Labels known and unknown.
const LABELS: &[&str] = &[
    "Gain",
    "Wobble",
    "Sensitivity",
    "Impédance de sortie",
    "Ausgangspegel",
    "Maximum SPL for 1 % THD",
    "Noise",
    "Something else entirely",
    "Output",
    "Phantom power",
    "Latency",
    "Quantity",
    "THD",
    "Bruit inconnu",
    "EIN (150 Ω)",
    "",
];

/// Figures with units.
const FIGURES: &[&str] = &[
    "12 dBu",
    "3 kΩ",
    "48 V",
    "7 mA",
    "96 kHz",
    "20 Hz to 20 kHz",
    "0.01 %",
    "-60 dB",
    "14 mV/Pa",
    "4 kg",
    "9 ms",
    "5 dBV",
    "1.5 nV/√Hz",
    "3 W",
];

/// What stands between a label and its value, and between values.
const JOINTS: &[&str] =
    &[": ", "\t", "    ", " = ", " | ", ", ", "; ", " (", " ", ". The ", "\n", " / ", " at ", ": about "];

/// What sheets are made of, for texts that are nearly sheets.
const PIECES: &[&str] = &[
    "EIN",
    ": ",
    "-128 dBu",
    " (150 Ω, A-weighted)",
    "\n",
    "\n",
    "\n\n",
    "\t",
    "   ",
    " | ",
    "Gain",
    " range",
    " 60 dB",
    "0 to 60 dB",
    "Maximum",
    " input level",
    " +12 dBu",
    "Line",
    " outputs",
    "Mic",
    " inputs",
    " 4 x XLR",
    "Phantom power",
    " 48 V",
    ", 14 mA",
    "Sensitivity",
    " -38 dB",
    " 12 mV/Pa",
    " (0 dB = 1 V/Pa)",
    "Impedance",
    " 0 Ω",
    " 1,500 ohm",
    " 1k5",
    "¹",
    "\n¹ ",
    "*",
    "\n* ",
    " [1]",
    "Optical in",
    " 8 channels",
    "Sample rates",
    " 44.1/48/96 kHz",
    " 24 bit",
    "Dynamic range",
    " 300 dB",
    "Parameter",
    " Min",
    " Max",
    " Unit",
    "Channels 1–2",
    "; ",
    ", ",
    " / ",
    "(",
    ")",
    "± 2 dB",
    " -200 dBu",
    "Self-noise",
    " 5 dBA",
    "Pad",
    " -20 dB",
    " with pad",
    "1e9",
    " 9999999999 kΩ",
    "Latency",
    " 5 ms at 48 kHz",
    "USB",
    "Polar pattern",
    " cardioid",
    " figure-8",
    "Max SPL",
    " 140 dB",
    "THD",
    " 0.1 %",
    "@",
    "=",
];
