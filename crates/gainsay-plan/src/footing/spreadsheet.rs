//! The comparison for spreadsheets (RFC 4180): a row for each group of inputs.

use super::{DeviceFooting, Footed, Measure, Recordings};

/// Columns of what is recorded, where that is compared.
const RECORDED: [&str; 10] = [
    "place",
    "noise_equivalent_dba",
    "more_noise_db",
    "more_noise_db_low",
    "more_noise_db_high",
    "penalty_db",
    "peak_dbfs",
    "clipping_probability",
    "verdict",
    "apart",
];

/// The comparison as comma-separated values; lines end as RFC 4180 has it. What a spreadsheet would take for a formula is kept
/// from becoming one.
#[must_use]
pub fn spreadsheet(devices: &[DeviceFooting], recordings: Option<&Recordings>) -> String {
    let groups = || devices.iter().flat_map(|device| device.compared().map(move |group| (device, group)));
    let mut measures: Vec<Measure> = Vec::new();
    for (_, group) in groups() {
        for (measure, _) in &group.figures {
            if !measures.contains(measure) {
                measures.push(*measure);
            }
        }
    }
    let mut head: Vec<String> =
        ["device", "id", "inputs", "type", "price", "count"].map(str::to_owned).to_vec();
    for measure in &measures {
        let key = measure.key();
        head.extend([key.to_owned(), format!("{key}_low"), format!("{key}_high"), format!("{key}_from")]);
    }
    head.push("doubts".to_owned());
    if recordings.is_some() {
        head.extend(RECORDED.map(str::to_owned));
    }
    let columns = head.len();
    let mut lines = vec![head];
    for (index, (device, group)) in groups().enumerate() {
        let mut row = vec![
            device.name.clone(),
            device.id.clone(),
            group.label.clone().unwrap_or_default(),
            device.device_type.word().to_owned(),
            device.price.map(|price| price.to_string()).unwrap_or_default(),
            group.count.to_string(),
        ];
        for measure in &measures {
            row.extend(figure(group.get(*measure)));
        }
        row.push(group.doubts.join("; "));
        // What a device records stands beside its first group.
        let first = groups().position(|(other, _)| std::ptr::eq(other, device)) == Some(index);
        if let Some(recordings) = recordings {
            row.extend(recorded(recordings, &device.name).filter(|_| first).unwrap_or_default());
        }
        row.resize(columns, String::new());
        lines.push(row);
    }
    written(&lines)
}

fn figure(footed: Option<Footed>) -> [String; 4] {
    footed.map_or_else(Default::default, |footed| {
        let e = footed.estimate;
        [decimals(e.median), decimals(e.low), decimals(e.high), footed.from.word().to_owned()]
    })
}

fn recorded(recordings: &Recordings, name: &str) -> Option<Vec<String>> {
    let recording = recordings.recordings.iter().find(|recording| recording.name == name)?;
    let result = recording.result.as_ref()?;
    let more = recording.more_noise_db;
    let optional = |value: Option<f64>| value.map(decimals).unwrap_or_default();
    Some(vec![
        recording.place.to_string(),
        optional(result.noise_equivalent_dba.map(|e| e.median)),
        optional(more.map(|e| e.median)),
        optional(more.map(|e| e.low)),
        optional(more.map(|e| e.high)),
        decimals(result.penalty_db.median),
        decimals(result.peak_dbfs.median),
        decimals(result.clipping_probability),
        result.verdict.word().to_owned(),
        recording.sentence.clone(),
    ])
}

/// Four decimals, which is finer than any of them is known, and no minus before zero.
fn decimals(value: f64) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// The lines as text.
fn written(lines: &[Vec<String>]) -> String {
    let mut text = String::new();
    for line in lines {
        let cells: Vec<String> = line.iter().map(|cell| quoted(&no_formula(cell))).collect();
        text.push_str(&cells.join(","));
        text.push_str("\r\n");
    }
    text
}

/// A cell in quotes where it needs them.
fn quoted(cell: &str) -> String {
    if cell.contains(['"', ',', '\r', '\n']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}

/// What a spreadsheet would take for a formula is kept from becoming one.
fn no_formula(cell: &str) -> String {
    let is_number = cell.parse::<f64>().is_ok();
    let risky = !is_number && cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
    if risky { format!("'{cell}") } else { cell.to_owned() }
}
