//! From text to a reading: all steps in order, and the checks at the end.

use crate::NotASheet;
use crate::doubts::{self, Doubt, DoubtKind, doubts_of};
use crate::facts::{Fact, facts};
use crate::kind;
use crate::lexicon::Atom as A;
use crate::losses;
use crate::place::{Overview, channels_in_words, merge, place};
use crate::reading::{About, Answers, Candidate, Entry, Path, Question, Reading, Table, Value};
use crate::rows::{Role, Sheet, rows};
use crate::words;
use gainsay_gear::{Device, DeviceType};
use gainsay_units::{Origin, Quantity};

pub(crate) fn read(text: &str, kind: Option<DeviceType>, answers: &Answers) -> Result<Reading, NotASheet> {
    if kind == Some(DeviceType::Cable) {
        return Err(NotASheet::new(words::not_a_sheet::cable()));
    }
    let sheet = rows(text);
    let mut all = facts(&sheet);
    let figures = losses::figures(&all);
    let mut questions = Vec::new();
    let mut doubts = Vec::new();
    choose_column(&sheet, &mut all, answers, &mut questions, &mut doubts);
    let device_type = choose_kind(&sheet, &all, kind, answers, &mut questions, &mut doubts);
    let overview = Overview {
        kind: device_type,
        microphone: all.iter().any(|f| f.channel.has(A::Microphone) && !f.side.has(A::Output))
            || sheet.title_atoms.has(A::Preamp),
        other_inputs: all.iter().any(|f| {
            (f.channel.has(A::Line) || f.channel.has(A::Instrument))
                && (f.side.has(A::Input) || !f.side.has(A::Output))
        }),
        title: sheet.title.as_ref().and_then(|_| sheet.rows.first()).map(|row| row.line),
    };
    let (placed, mut unplaced) = place(text, &all, overview);
    let lowest = lowest_input(&placed);
    let fields: Vec<(usize, Path)> = placed.iter().map(|one| (one.fact, one.path.clone())).collect();
    let mut merged = merge(placed, &all, answers);
    doubts.append(&mut merged.doubts);
    questions.append(&mut merged.questions);
    unplaced.append(&mut merged.unplaced);
    let mut entries = merged.entries;
    losses::list(text, &sheet, &all, figures, &losses::stated(&all, &fields, &entries), &mut unplaced);
    if entries.is_empty() {
        return Err(NotASheet::new(words::not_a_sheet::nothing(text.lines().count())));
    }
    doubts.extend(title_count(&sheet, device_type, &mut entries));
    structure(&mut entries);
    doubts.extend(doubts::sheet::doubts(&all, device_type));
    if let Some(lowest) = lowest {
        doubts.extend(range_doubt(&entries, lowest));
    }
    order(&mut entries);
    unplaced.sort_by_key(|u| (u.line, u.span.start));
    unplaced.dedup_by(|a, b| a.line == b.line && a.why == b.why && a.words == b.words);
    let name = sheet.title.clone().filter(|t| !t.trim().is_empty() && t.chars().count() <= 100);
    let name = name.unwrap_or_else(|| words::plain_name(device_type).to_owned());
    let mut reading = Reading { device_type, name, entries, doubts, unplaced, questions };
    check(&mut reading);
    reading.doubts.sort_by_key(|d| (d.line.is_none(), d.line, d.kind));
    Ok(reading)
}

/// Where a table has a column for each variant, only one of them is the device.
fn choose_column(
    sheet: &Sheet,
    facts: &mut Vec<Fact>,
    answers: &Answers,
    questions: &mut Vec<Question>,
    doubts: &mut Vec<Doubt>,
) {
    let mut titles: Vec<(usize, String)> = Vec::new();
    for fact in facts.iter() {
        if let Some((index, Role::Variant)) = fact.column
            && let Some(column) = sheet.columns.get(index)
            && !titles.iter().any(|(_, title)| *title == column.title)
        {
            titles.push((index, column.title.clone()));
        }
    }
    if titles.len() < 2 {
        return;
    }
    let answer = answers.to(&About::Variant).filter(|choice| *choice < titles.len());
    let chosen = answer.unwrap_or(0);
    let Some(title) = titles.get(chosen).map(|(_, title)| title.clone()) else { return };
    facts.retain(|fact| match fact.column {
        Some((index, Role::Variant)) => sheet.columns.get(index).is_some_and(|column| column.title == title),
        _ => true,
    });
    if answer.is_none() {
        doubts.push(Doubt {
            kind: DoubtKind::Ambiguous,
            field: None,
            line: None,
            sentence: words::column_supposed(&title),
        });
    }
    questions.push(Question {
        about: About::Variant,
        sentence: words::which_column(),
        choices: titles.into_iter().map(|(_, title)| title).collect(),
        chosen,
    });
}

fn choose_kind(
    sheet: &Sheet,
    facts: &[Fact],
    given: Option<DeviceType>,
    answers: &Answers,
    questions: &mut Vec<Question>,
    doubts: &mut Vec<Doubt>,
) -> DeviceType {
    if let Some(kind) = given {
        return kind;
    }
    let weights = kind::weigh(facts, sheet.title_atoms);
    let mut ranked = weights.iter();
    let (Some(first), Some(second)) = (ranked.next(), ranked.next()) else { return DeviceType::Interface };
    if first.1 - second.1 >= kind::CLEAR {
        return first.0;
    }
    let near: Vec<DeviceType> =
        weights.iter().filter(|(_, weight)| first.1 - weight < kind::CLEAR).map(|(kind, _)| *kind).collect();
    let answer = answers.to(&About::Kind).filter(|choice| *choice < near.len());
    let chosen = answer.unwrap_or(0);
    if answer.is_none() {
        doubts.push(Doubt {
            kind: DoubtKind::Ambiguous,
            field: None,
            line: None,
            sentence: words::kind_supposed(first.0, second.0),
        });
    }
    questions.push(Question {
        about: About::Kind,
        sentence: words::which_kind(),
        choices: near.iter().map(|kind| kind.word().to_owned()).collect(),
        chosen,
    });
    near.get(chosen).copied().unwrap_or(first.0)
}

/// A preamp that no line counts may be counted by its title.
fn title_count(sheet: &Sheet, kind: DeviceType, entries: &mut Vec<Entry>) -> Option<Doubt> {
    let mut groups = entries.iter().filter(|e| e.path.table == Table::MicrophoneInputs);
    let counted = groups.clone().any(|e| e.path.field == "count") || groups.any(|e| !e.path.group.is_empty());
    let title = sheet.title.as_deref().filter(|_| kind == DeviceType::Preamp && !counted)?;
    let (count, plain) = channels_in_words(title)?;
    let path = Path { table: Table::MicrophoneInputs, group: String::new(), field: "count" };
    let line = sheet.rows.first().map_or(1, |row| row.line);
    let span = sheet.rows.first().map_or(0..0, |row| row.span.clone());
    let reading = Candidate { value: Value::Count(count), span, line, words: title.to_owned(), how: None };
    // "Stereo", "dual" and "mono" may speak of something else.
    let doubt = (!plain).then(|| Doubt {
        kind: DoubtKind::TakenFromContext,
        field: Some(path.to_string()),
        line: Some(line),
        sentence: words::title_count_from_context(count, title),
    });
    entries.push(Entry { path, reading, others: Vec::new(), withheld: false });
    doubt
}

/// What groups of inputs are follows from where their figures stood.
fn structure(entries: &mut Vec<Entry>) {
    let groups: Vec<(Table, String)> = {
        let mut groups: Vec<(Table, String)> = Vec::new();
        for entry in entries.iter() {
            let group = (entry.path.table, entry.path.group.clone());
            if !groups.contains(&group) {
                groups.push(group);
            }
        }
        groups
    };
    let several = groups.iter().filter(|(table, _)| *table == Table::MicrophoneInputs).count() > 1;
    // Where columns make groups of their own, what the title counts is their sum.
    let unnamed = |e: &Entry| e.path.table == Table::MicrophoneInputs && e.path.group.is_empty();
    if several && entries.iter().filter(|e| unnamed(e)).all(|e| e.path.field == "count") {
        entries.retain(|e| !unnamed(e));
    }
    let mut add = |table: Table, group: &str, field: &'static str, value: Value| {
        let path = Path { table, group: group.to_owned(), field };
        let reading = Candidate { value, span: 0..0, line: 0, words: String::new(), how: None };
        entries.push(Entry { path, reading, others: Vec::new(), withheld: false });
    };
    for (table, group) in &groups {
        match (table, group.as_str()) {
            (Table::LineInputs, "instrument") => add(*table, group, "instrument", Value::Yes(true)),
            (Table::LineInputs, "return") | (Table::LineOutputs, "send") => {
                add(*table, group, "insert", Value::Yes(true))
            }
            (Table::MicrophoneInputs, label) if several && !label.is_empty() => {
                add(*table, group, "label", Value::Text(label.to_owned()));
            }
            _ => {}
        }
    }
    // A format is what makes a port.
    for (table, group) in &groups {
        let port = matches!(table, Table::DigitalInputs | Table::DigitalOutputs);
        let stated = entries
            .iter()
            .any(|e| e.path.table == *table && e.path.group == *group && e.path.field == "format");
        if port && !stated {
            entries.retain(|e| !(e.path.table == *table && e.path.group == *group));
        }
    }
}

/// In the order in which device files are written.
fn order(entries: &mut [Entry]) {
    const FIELDS: &[&str] = &[
        "label",
        "count",
        "transducer",
        "pattern",
        "format",
        "switchable_to",
        "instrument",
        "insert",
        "connector",
        "balanced",
        "input_stage",
        "phantom",
        "phantom_together",
        "passes_phantom",
        "output_level_control",
        "output_connector",
        "least_gain",
        "gain",
        "gain_range",
        "gain_step",
        "gain_accuracy",
        "maximum_input",
        "full_scale",
        "ein",
        "ein_second",
        "input_noise_voltage",
        "input_noise_current",
        "sensitivity",
        "impedance",
        "inductance",
        "self_noise",
        "maximum_spl",
        "input_impedance",
        "pad",
        "phantom_current",
        "dynamic_range",
        "maximum_output",
        "output_impedance",
        "directivity_index",
    ];
    let rank = |field: &str| FIELDS.iter().position(|f| *f == field).unwrap_or(FIELDS.len());
    let group = |path: &Path| match path.group.as_str() {
        "line" => 0,
        "" => 1,
        "instrument" => 2,
        _ => 3,
    };
    entries.sort_by(|a, b| {
        (a.path.table, group(&a.path), &a.path.group, rank(a.path.field), a.path.field).cmp(&(
            b.path.table,
            group(&b.path),
            &b.path.group,
            rank(b.path.field),
            b.path.field,
        ))
    });
}

/// The lowest input level in dBu, and its line.
fn lowest_input(placed: &[crate::place::Placed]) -> Option<(f64, usize)> {
    placed
        .iter()
        .filter(|p| p.path.field == "least_input")
        .find_map(|p| crate::place::base(&p.candidate.value).map(|level| (level, p.candidate.line)))
}

fn range_doubt(entries: &[Entry], lowest: (f64, usize)) -> Option<Doubt> {
    let find = |field: &str| {
        entries
            .iter()
            .find(|e| e.path.table == Table::MicrophoneInputs && e.path.field == field && !e.withheld)
    };
    let range = find("gain_range")?;
    let highest = find("maximum_input")?;
    let decibels = gainsay_units::Decibels::new(crate::place::base(&range.reading.value)?);
    let level = crate::place::base(&highest.reading.value)?;
    doubts::sheet::gain_range(decibels, (level, highest.reading.line), lowest, range.path.to_string())
}

/// Leaves out what a device file refuses, and adds the doubts that the figures raise.
fn check(reading: &mut Reading) {
    for entry in &mut reading.entries {
        let Value::Figure(quantity) = &entry.reading.value else { continue };
        let path = entry.path.to_string();
        if let Some((kind, sentence)) = refused(&entry.path, quantity) {
            entry.withheld = true;
            reading.doubts.push(Doubt { kind, field: Some(path), line: Some(entry.reading.line), sentence });
        }
    }
    // Whatever is refused still is left out one by one, so that the file that is written can always be read.
    for _ in 0..reading.entries.len() {
        match Device::from_toml(&reading.to_toml(), "sheet", Origin::Sheet) {
            Ok(device) => {
                for mut doubt in doubts_of(&device) {
                    let entry = reading.entries.iter().find(|e| Some(e.path.to_string()) == doubt.field);
                    doubt.line = entry.map(|e| e.reading.line).filter(|line| *line > 0);
                    let known = reading.doubts.iter().any(|d| d.kind == doubt.kind && d.field == doubt.field);
                    if !known {
                        reading.doubts.push(doubt);
                    }
                }
                return;
            }
            Err(problems) => {
                let text = reading.to_toml();
                let Some(problem) = problems.first() else { return };
                let line = text.get(..problem.span.start).unwrap_or_default().matches('\n').count();
                let field =
                    text.lines().nth(line).and_then(|l| l.split(" = ").next()).unwrap_or_default().to_owned();
                let heads = text.lines().take(line + 1).filter(|l| l.starts_with('[')).count();
                let Some(entry) = nth_group_field(&mut reading.entries, heads, &field) else { return };
                entry.withheld = true;
                let (path, line) = (entry.path.to_string(), entry.reading.line);
                reading.doubts.push(Doubt {
                    kind: DoubtKind::Impossible,
                    field: Some(path),
                    line: Some(line),
                    sentence: words::out_of_range(&problem.message),
                });
            }
        }
    }
}

/// The entry of a field in the table that has the `heads`-th head of the file.
fn nth_group_field<'a>(entries: &'a mut [Entry], heads: usize, field: &str) -> Option<&'a mut Entry> {
    let mut seen = 0;
    let mut current: Option<(Table, String)> = None;
    entries.iter_mut().find(|entry| {
        let group = (entry.path.table, entry.path.group.clone());
        if current.as_ref() != Some(&group) {
            seen += 1;
            current = Some(group);
        }
        seen == heads && entry.path.field == field && !entry.withheld
    })
}

/// Why a figure can't stand in a device file.
fn refused(path: &Path, quantity: &Quantity) -> Option<(DoubtKind, String)> {
    let base = quantity.unit.to_base(quantity.number);
    let dimension = quantity.unit.dimension();
    let (low, high) = dimension.possible();
    if !base.is_finite() || base < low || base > high {
        let message = format!("{quantity} is not possible for {}", dimension.words());
        return Some((DoubtKind::Impossible, words::out_of_range(&message)));
    }
    if path.field.starts_with("ein") {
        let limit = doubts::thermal_limit_of_file(quantity);
        if gainsay_units::Dbu::new(base) < limit {
            return Some((DoubtKind::EinBelowThermal, words::below_thermal(quantity, limit)));
        }
    }
    let positive = matches!(path.field, "input_impedance" | "output_impedance" | "impedance" | "gain_step");
    if positive && base <= 0.0 {
        let message = format!("{quantity} can't be, of {}", dimension.words());
        return Some((DoubtKind::Impossible, words::out_of_range(&message)));
    }
    None
}
