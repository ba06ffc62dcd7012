//! What an edit means, on data without a text; and edits at random.

use crate::files::{KEYS, Random};
use gainsay_folder::edit::{Edit, FieldPath, Segment, Value};
use toml::Value as Data;

const REMARKS: &[&str] = &["tolerance", "from", "note", "measured"];

fn data(value: &Value) -> Data {
    match value {
        Value::Text(text) => Data::String(text.clone()),
        Value::Number(number) => Data::Float(*number),
        Value::Whole(number) => Data::Integer(*number),
        Value::Flag(flag) => Data::Boolean(*flag),
        Value::List(values) => Data::Array(values.iter().map(data).collect()),
    }
}

fn set(at: &mut Data, steps: &[Segment], value: &Value) -> Option<()> {
    let Some((step, rest)) = steps.split_first() else {
        match at {
            Data::Table(table) => {
                let is_figure =
                    table.contains_key("value") || REMARKS.iter().any(|key| table.contains_key(*key));
                if !is_figure || table.get("value").is_some_and(Data::is_table) {
                    return None;
                }
                table.insert("value".to_owned(), data(value));
            }
            Data::Array(list) if list.iter().any(Data::is_table) && list.iter().all(Data::is_table) => {
                // A list of tables is not replaced as a whole where each has a header; in brackets it is.
                *at = data(value);
            }
            _ => *at = data(value),
        }
        return Some(());
    };
    match (step, at) {
        (Segment::Key(key), at @ Data::String(_)) if rest.is_empty() && REMARKS.contains(&key.as_str()) => {
            let table = [("value".to_owned(), at.clone()), (key.clone(), data(value))];
            *at = Data::Table(table.into_iter().collect());
            Some(())
        }
        (Segment::Key(key), Data::Table(table)) => match table.get_mut(key) {
            Some(inner) => set(inner, rest, value),
            None => {
                let new = rest.iter().rev().try_fold(data(value), |inner, step| match step {
                    Segment::Key(key) => Some(Data::Table([(key.clone(), inner)].into_iter().collect())),
                    Segment::Index(_) => None,
                })?;
                table.insert(key.clone(), new);
                Some(())
            }
        },
        (Segment::Index(index), Data::Array(list)) => set(list.get_mut(*index)?, rest, value),
        _ => None,
    }
}

fn remove(at: &mut Data, steps: &[Segment]) -> Option<()> {
    match (steps, at) {
        ([Segment::Key(key)], Data::Table(table)) => table.remove(key).map(|_| ()),
        ([Segment::Index(index)], Data::Array(list)) => {
            (*index < list.len()).then(|| drop(list.remove(*index)))
        }
        ([Segment::Key(key), rest @ ..], Data::Table(table)) => remove(table.get_mut(key)?, rest),
        ([Segment::Index(index), rest @ ..], Data::Array(list)) => remove(list.get_mut(*index)?, rest),
        _ => None,
    }
}

/// Makes a change; nothing if it can't be made.
pub(crate) fn apply(root: &mut toml::Table, edit: &Edit) -> Option<()> {
    // Tables under headers vanish with the last of them, tables in brackets leave an empty list: told apart by the name.
    let mut whole = Data::Table(root.clone());
    match edit {
        Edit::Set { path, value } => {
            if let [Segment::Key(key)] = path.segments()
                && under_headers(key)
                && root.contains_key(key)
            {
                return None;
            }
            set(&mut whole, path.segments(), value)?;
        }
        Edit::Remove { path } => {
            if let [Segment::Key(key)] = path.segments()
                && under_headers(key)
            {
                return None;
            }
            remove(&mut whole, path.segments())?;
        }
        Edit::AddTable { array, fields } => {
            let table: toml::Table = fields.iter().map(|(key, value)| (key.clone(), data(value))).collect();
            let list = whole.as_table_mut()?.entry(array.to_string()).or_insert(Data::Array(Vec::new()));
            list.as_array_mut()?.push(Data::Table(table));
        }
        Edit::RemoveTable { array, index } => {
            remove(whole.get_mut(array.to_string())?, &[Segment::Index(*index)])?;
        }
        Edit::MoveTable { array, from, to } => {
            let list = whole.get_mut(array.to_string())?.as_array_mut()?;
            if *from >= list.len() || *to >= list.len() {
                return None;
            }
            let moved = list.remove(*from);
            list.insert(*to, moved);
        }
    }
    *root = whole.as_table()?.clone();
    root.retain(|key, value| !(under_headers(key) && value.as_array().is_some_and(Vec::is_empty)));
    Some(())
}

/// Removes the table that a removed field was the last of.
pub(crate) fn drop_emptied(root: &mut toml::Table, edit: &Edit) {
    let Edit::Remove { path } = edit else { return };
    let Some((_, above)) = path.segments().split_last() else { return };
    let mut whole = Data::Table(root.clone());
    let found = above.iter().try_fold(&whole, |at, step| match step {
        Segment::Key(key) => at.get(key),
        Segment::Index(index) => at.get(*index),
    });
    if found.and_then(Data::as_table).is_some_and(toml::Table::is_empty) {
        remove(&mut whole, above).unwrap();
        *root = whole.as_table().unwrap().clone();
    }
}

/// Names that stand under headers in all files of the tests.
fn under_headers(key: &str) -> bool {
    const NAMES: &[&str] = &[
        "source",
        "option",
        "owned",
        "microphone_inputs",
        "line_inputs",
        "line_outputs",
        "digital_inputs",
        "digital_outputs",
    ];
    NAMES.contains(&key)
}

fn paths(at: &Data, so_far: &str, found: &mut Vec<String>) {
    match at {
        Data::Table(table) => {
            for (key, inner) in table {
                let path = if so_far.is_empty() { key.clone() } else { format!("{so_far}.{key}") };
                found.push(path.clone());
                paths(inner, &path, found);
            }
        }
        Data::Array(list) => {
            for (index, inner) in list.iter().enumerate() {
                let path = format!("{so_far}[{index}]");
                found.push(path.clone());
                paths(inner, &path, found);
            }
        }
        _ => {}
    }
}

fn scalar(random: &mut Random) -> Value {
    match random.below(8) {
        0 => Value::Whole(random.next() as i64 >> random.below(60)),
        1 => Value::Number((random.next() as i64 >> 40) as f64 / 64.0),
        2 => Value::Flag(random.chance(50)),
        3 => Value::Text("it's \"both\" \\ # no comment".to_owned()),
        4 => Value::Text("two\nlines\r\nand a tab\t\u{7f}".to_owned()),
        _ => Value::Text((*random.pick(&["0.7 m", "-127 dBu", "3 kΩ", "", "a", "b"])).to_owned()),
    }
}

fn value(random: &mut Random) -> Value {
    match random.below(5) {
        0 => Value::List((0..random.below(5)).map(|_| word(random)).collect()),
        _ => scalar(random),
    }
}

fn word(random: &mut Random) -> Value {
    Value::from(*random.pick(&["a", "b", "c", "d", "e"]))
}

/// An edit that mostly can be made.
pub(crate) fn edit(random: &mut Random, root: &toml::Table) -> Edit {
    let mut there = Vec::new();
    paths(&Data::Table(root.clone()), "", &mut there);
    let lists: Vec<String> = root
        .iter()
        .filter(|(_, value)| value.as_array().is_some_and(|list| list.iter().any(Data::is_table)))
        .map(|(key, _)| key.clone())
        .collect();
    let some = |random: &mut Random| match there.is_empty() {
        true => "title".to_owned(),
        false => random.pick(&there).clone(),
    };
    let list = |random: &mut Random| match lists.is_empty() {
        true => "source".to_owned(),
        false => random.pick(&lists).clone(),
    };
    let count = |name: &str| root.get(name).and_then(Data::as_array).map_or(0, Vec::len);
    let path = |text: &str| FieldPath::parse(text).unwrap();
    match random.below(12) {
        0..2 => Edit::Set { path: path(&some(random)), value: value(random) },
        2 => {
            // A list is set to one like it.
            let lists: Vec<&String> =
                there.iter().filter(|path| path.ends_with("keep") || path.ends_with("]")).collect();
            let at = if lists.is_empty() { "keep".to_owned() } else { (*random.pick(&lists)).clone() };
            let at = at
                .rsplit_once('[')
                .filter(|_| random.chance(70))
                .map_or(at.clone(), |(list, _)| list.to_owned());
            Edit::Set {
                path: path(&at),
                value: Value::List((0..random.below(5)).map(|_| word(random)).collect()),
            }
        }
        3..5 => {
            let inside = some(random);
            let key = *random.pick(&["note", "value", "new", "input.device", "cable", "tolerance"]);
            Edit::Set { path: path(&format!("{inside}.{key}")), value: scalar(random) }
        }
        5 => {
            let table = *random.pick(&["room", "session", "options", "title", "question"]);
            let key = *random.pick(KEYS);
            let at = if random.chance(40) { table.to_owned() } else { format!("{table}.{key}") };
            Edit::Set { path: path(&at), value: value(random) }
        }
        6..8 => Edit::Remove { path: path(&some(random)) },
        8 => {
            let mut keys = KEYS.to_vec();
            let fields = (0..random.below(4)).map(|_| (keys.remove(random.below(keys.len())), value(random)));
            let fields = fields.map(|(key, value)| (key.to_owned(), value)).collect();
            let array = if random.chance(70) { list(random) } else { "owned".to_owned() };
            Edit::AddTable { array: path(&array), fields }
        }
        9 => {
            let array = list(random);
            Edit::RemoveTable { index: random.below(count(&array) + 1), array: path(&array) }
        }
        _ => {
            let array = list(random);
            let count = count(&array);
            Edit::MoveTable { from: random.below(count), to: random.below(count), array: path(&array) }
        }
    }
}

/// Which kind an edit is, for counting.
pub(crate) fn kind(edit: &Edit) -> usize {
    match edit {
        Edit::Set { .. } => 0,
        Edit::Remove { .. } => 1,
        Edit::AddTable { .. } => 2,
        Edit::RemoveTable { .. } => 3,
        Edit::MoveTable { .. } => 4,
    }
}
