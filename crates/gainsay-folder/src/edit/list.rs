//! What stands between commas: lists and inline tables.

use super::layout::Layout;
use super::splice::Splices;
use super::value::Value;
use super::{EditError, has_comment};
use std::ops::Range;
use toml_edit::{Array, InlineTable};

/// Places of a list's entries.
pub(super) fn entries(array: &Array) -> Vec<Range<usize>> {
    array.iter().filter_map(toml_edit::Value::span).collect()
}

/// Places of an inline table's entries, from key to value; nothing if a key has dots, because then several entries make one.
pub(super) fn inline_entries(table: &InlineTable) -> Option<Vec<Range<usize>>> {
    let mut entries = Vec::new();
    for (name, value) in table {
        if value.as_inline_table().is_some_and(InlineTable::is_dotted) {
            return None;
        }
        let key = table.key(name).and_then(toml_edit::Key::span)?;
        entries.push(key.start..value.span()?.end);
    }
    Some(entries)
}

/// Takes an entry out with one comma. Comments stay.
pub(super) fn cut(
    layout: &Layout<'_>,
    splices: &mut Splices,
    entries: &[Range<usize>],
    index: usize,
    end: usize,
) {
    let Some(entry) = entries.get(index).cloned() else { return };
    let next = entries.get(index + 1).map(|next| next.start);
    let previous = index.checked_sub(1).and_then(|before| entries.get(before)).map(|before| before.end);
    match (next, previous) {
        (Some(next), _) if !layout.part(entry.end..next).contains('#') => splices.cut(entry.start..next),
        (None, Some(previous)) if !layout.part(previous..entry.start).contains('#') => {
            splices.cut(previous..entry.end);
        }
        _ => {
            splices.cut(entry.clone());
            // A comma that is left before the end of a list or table is allowed; one at its beginning is not.
            if let Some(comma) = comma(layout, entry.end..next.unwrap_or(end)) {
                splices.cut(comma..comma + 1);
            }
        }
    }
}

/// Puts an entry behind the last of them, or into brackets that hold none.
pub(super) fn push(
    layout: &Layout<'_>,
    splices: &mut Splices,
    entries: &[Range<usize>],
    whole: &Range<usize>,
    text: &str,
) {
    match entries.last() {
        Some(last) => insert_behind(layout, splices, last, whole.end.saturating_sub(1), &[text.to_owned()]),
        None => splices.insert(whole.start + 1, text),
    }
}

/// Puts entries behind another: on lines of their own where that one has a line of its own. `limit` is where the next entry, or
/// the closing bracket, stands.
fn insert_behind(
    layout: &Layout<'_>,
    splices: &mut Splices,
    entry: &Range<usize>,
    limit: usize,
    texts: &[String],
) {
    let line = layout.line_start(entry.start);
    let has_own_line = layout.part(line..entry.start).trim().is_empty();
    let ends = layout.part(entry.end..limit).contains('\n');
    if !(has_own_line && ends) {
        let text: String = texts.iter().map(|text| format!(", {text}")).collect();
        return splices.insert(entry.end, text);
    }
    // Behind a comment on the line of that entry, not between the entry and its comment.
    let line_end = layout.line_end(entry.end).min(limit);
    let break_length = if layout.part(0..line_end).ends_with("\r\n") { 2 } else { 1 };
    let at = line_end - break_length;
    let comma = comma(layout, entry.end..limit);
    if comma.is_none() || comma.is_some_and(|comma| comma > at) {
        splices.insert(entry.end, ",");
    }
    let indent = layout.indent_at(line);
    // The comma that may follow on a later line then belongs to the last of the new ones.
    let with_comma = comma.is_some_and(|comma| comma <= at);
    let last = texts.len().saturating_sub(1);
    for (index, text) in texts.iter().enumerate() {
        let comma = if index < last || with_comma { "," } else { "" };
        splices.insert(at, format!("{}{indent}{text}{comma}", layout.line_break()));
    }
}

/// Makes a list say `values`. Entries that stay are not touched; comments stay.
pub(super) fn set(
    layout: &Layout<'_>,
    splices: &mut Splices,
    array: &Array,
    values: &[Value],
) -> Result<(), EditError> {
    let Some(whole) = array.span() else { return Ok(()) };
    let written: Vec<String> = values.iter().map(Value::written).collect::<Result<_, _>>()?;
    let places = entries(array);
    let (mut old, mut new) = (0, 0);
    for (kept_old, kept_new) in kept(array, values).into_iter().chain([(places.len(), values.len())]) {
        let new_texts = written.get(new..kept_new).unwrap_or(&[]);
        set_run(layout, splices, &whole, &places, old..kept_old, new_texts)?;
        (old, new) = (kept_old + 1, kept_new + 1);
    }
    Ok(())
}

/// Longest list of pairs of places at which old and new say the same.
fn kept(array: &Array, values: &[Value]) -> Vec<(usize, usize)> {
    let old: Vec<&toml_edit::Value> = array.iter().collect();
    // Lists of these files have a few entries; where somebody has made a huge one, all is written anew.
    if old.len().saturating_mul(values.len()) > 1_000_000 {
        return Vec::new();
    }
    // Length of the longest list of pairs from two places on.
    let mut lengths = vec![vec![0_u32; values.len() + 1]; old.len() + 1];
    let at = |lengths: &[Vec<u32>], i: usize, j: usize| {
        lengths.get(i).and_then(|row| row.get(j)).copied().unwrap_or(0)
    };
    for (i, toml) in old.iter().enumerate().rev() {
        for (j, value) in values.iter().enumerate().rev() {
            let longest = if value.is_said_by(toml) {
                at(&lengths, i + 1, j + 1) + 1
            } else {
                at(&lengths, i + 1, j).max(at(&lengths, i, j + 1))
            };
            if let Some(cell) = lengths.get_mut(i).and_then(|row| row.get_mut(j)) {
                *cell = longest;
            }
        }
    }
    let (mut i, mut j) = (0, 0);
    let mut pairs = Vec::new();
    while let (Some(toml), Some(value)) = (old.get(i), values.get(j)) {
        if value.is_said_by(toml) {
            pairs.push((i, j));
            (i, j) = (i + 1, j + 1);
        } else if at(&lengths, i + 1, j) >= at(&lengths, i, j + 1) {
            i += 1;
        } else {
            j += 1;
        }
    }
    pairs
}

/// Puts new entries in the place of neighbouring ones.
fn set_run(
    layout: &Layout<'_>,
    splices: &mut Splices,
    whole: &Range<usize>,
    places: &[Range<usize>],
    old: Range<usize>,
    new: &[String],
) -> Result<(), EditError> {
    let shared = old.len().min(new.len());
    for (place, text) in places.get(old.clone()).unwrap_or(&[]).iter().zip(new) {
        if has_comment(layout.part(place.clone())) {
            return Err(EditError::Unusual { path: layout.part(place.clone()).to_owned() });
        }
        splices.replace(place.clone(), text.clone());
    }
    let more = new.get(shared..).unwrap_or(&[]);
    if !more.is_empty() {
        let before = (old.start + shared).checked_sub(1).and_then(|before| places.get(before));
        let limit = places.get(old.start + shared).map_or(whole.end.saturating_sub(1), |next| next.start);
        match (before, places.first()) {
            (Some(before), _) => insert_behind(layout, splices, before, limit, more),
            (None, Some(next)) => splices.insert(next.start, format!("{}, ", more.join(", "))),
            (None, None) => splices.insert(whole.start + 1, more.join(", ")),
        }
    }
    cut_many(layout, splices, places, old.start + shared..old.end, whole)
}

/// Takes neighbouring entries out, one comma with each. Comments between them stay; those inside an entry would be lost.
fn cut_many(
    layout: &Layout<'_>,
    splices: &mut Splices,
    places: &[Range<usize>],
    which: Range<usize>,
    whole: &Range<usize>,
) -> Result<(), EditError> {
    let (Some(first), Some(last)) =
        (places.get(which.start), which.end.checked_sub(1).and_then(|i| places.get(i)))
    else {
        return Ok(());
    };
    if which.is_empty() {
        return Ok(());
    }
    let inside = layout.part(first.start..last.end);
    if !has_comment(inside) {
        // As if they were one entry.
        let mut merged: Vec<Range<usize>> = places.get(..which.start).unwrap_or(&[]).to_vec();
        merged.push(first.start..last.end);
        merged.extend(places.get(which.end..).unwrap_or(&[]).iter().cloned());
        cut(layout, splices, &merged, which.start, whole.end.saturating_sub(1));
        return Ok(());
    }
    for index in which {
        let Some(place) = places.get(index) else { continue };
        if has_comment(layout.part(place.clone())) {
            return Err(EditError::Unusual { path: layout.part(place.clone()).to_owned() });
        }
        splices.cut(place.clone());
        let limit = places.get(index + 1).map_or(whole.end.saturating_sub(1), |next| next.start);
        if let Some(comma) = comma(layout, place.end..limit) {
            splices.cut(comma..comma + 1);
        }
    }
    Ok(())
}

/// The comma in a part of the text between entries, outside comments.
fn comma(layout: &Layout<'_>, range: Range<usize>) -> Option<usize> {
    let mut in_comment = false;
    for (at, char) in layout.part(range.clone()).char_indices() {
        match char {
            '#' => in_comment = true,
            '\n' => in_comment = false,
            ',' if !in_comment => return Some(range.start + at),
            _ => {}
        }
    }
    None
}
