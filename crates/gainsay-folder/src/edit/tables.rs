//! Tables of one name: adding, removing and moving.

use super::layout::{Layout, Section};
use super::path::is_bare_key;
use super::splice::Splices;
use super::{EditError, FieldPath, Node, Segment, Value, Walk, list};
use std::ops::Range;
use toml_edit::Value as Toml;

/// The name of the tables: lists of tables inside others are in no file of this program.
fn name(array: &FieldPath) -> Result<&str, EditError> {
    match array.segments() {
        [Segment::Key(name)] => Ok(name),
        _ => Err(EditError::Unusual { path: array.to_string() }),
    }
}

fn path_of(name: &str, index: usize) -> [Segment; 2] {
    [Segment::Key(name.to_owned()), Segment::Index(index)]
}

/// Adds a table behind the last of its name, or at the end of the file.
pub(super) fn add(
    layout: &Layout<'_>,
    splices: &mut Splices,
    array: &FieldPath,
    fields: &[(String, Value)],
) -> Result<(), EditError> {
    let name = name(array)?;
    let mut lines = Vec::new();
    for (index, (key, value)) in fields.iter().enumerate() {
        let is_twice = fields.iter().take(index).any(|(other, _)| other == key);
        if !is_bare_key(key) || is_twice {
            return Err(EditError::BadKey { key: key.clone() });
        }
        lines.push(format!("{key} = {}", value.written()?));
    }
    let walk = Walk::along(layout, array)?;
    let at = match walk.last() {
        Some(Node::Value(Toml::Array(there))) => {
            let Some(whole) = there.span() else { return Ok(()) };
            let text = if lines.is_empty() { "{}".to_owned() } else { format!("{{ {} }}", lines.join(", ")) };
            list::push(layout, splices, &list::entries(there), &whole, &text);
            return Ok(());
        }
        Some(Node::Tables(there)) => {
            let path = path_of(name, there.len().saturating_sub(1));
            layout.sections_in(&path).last().map(|section| layout.lines_of(section).end)
        }
        _ if !walk.rest.is_empty() => None,
        _ => return Err(EditError::NotList { path: array.to_string() }),
    };
    let line_break = layout.line_break();
    let mut block = format!("[[{name}]]{line_break}");
    for line in lines {
        block.push_str(&line);
        block.push_str(line_break);
    }
    splices.insert_block(layout, at.unwrap_or(layout.text.len()), &block);
    Ok(())
}

/// Removes one of the tables.
pub(super) fn remove(
    layout: &Layout<'_>,
    splices: &mut Splices,
    array: &FieldPath,
    index: usize,
) -> Result<(), EditError> {
    match listed(layout, array, index)? {
        Listed::Tables => cut_sections(layout, splices, &path_of(name(array)?, index)),
        Listed::Entries(entries, whole) => {
            list::cut(layout, splices, &entries, index, whole.end.saturating_sub(1));
        }
    }
    Ok(())
}

/// Moves one of the tables.
pub(super) fn shift(
    layout: &Layout<'_>,
    splices: &mut Splices,
    array: &FieldPath,
    from: usize,
    to: usize,
) -> Result<(), EditError> {
    listed(layout, array, to)?;
    match listed(layout, array, from)? {
        _ if from == to => {}
        Listed::Entries(entries, _) => {
            let mut order: Vec<Range<usize>> = entries.clone();
            let moved = order.remove(from);
            order.insert(to, moved);
            for (place, new) in entries.into_iter().zip(order).filter(|(place, new)| place != new) {
                splices.replace(place, layout.part(new));
            }
        }
        Listed::Tables => shift_sections(layout, splices, name(array)?, from, to),
    }
    Ok(())
}

/// How the tables are written.
enum Listed {
    /// Each under a header.
    Tables,
    /// In brackets: the places of each and of the whole.
    Entries(Vec<Range<usize>>, Range<usize>),
}

fn listed(layout: &Layout<'_>, array: &FieldPath, index: usize) -> Result<Listed, EditError> {
    name(array)?;
    let path = array.to_string();
    let walk = Walk::along(layout, array)?;
    let (found, count) = match walk.last() {
        _ if !walk.rest.is_empty() => return Err(EditError::Missing { path }),
        Some(Node::Tables(tables)) => (Listed::Tables, tables.len()),
        Some(Node::Value(Toml::Array(there))) => {
            (Listed::Entries(list::entries(there), there.span().unwrap_or(0..0)), there.len())
        }
        _ => return Err(EditError::NotList { path }),
    };
    if index < count { Ok(found) } else { Err(EditError::TooFew { path, count }) }
}

/// Removes the sections of a table and of all in it.
pub(super) fn cut_sections(layout: &Layout<'_>, splices: &mut Splices, path: &[Segment]) {
    for section in layout.sections_in(path) {
        splices.cut_block(layout, layout.lines_of(section));
    }
}

fn shift_sections(layout: &Layout<'_>, splices: &mut Splices, name: &str, from: usize, to: usize) {
    let (moved, target) = (path_of(name, from), path_of(name, to));
    let with_comment = |section: &Section| {
        let lines = layout.lines_of(section);
        layout.comment_above(lines.start)..lines.end
    };
    let mut block = String::new();
    for section in layout.sections_in(&moved) {
        let lines = with_comment(section);
        if !block.is_empty() && layout.is_free_above(lines.start) {
            block.push_str(layout.line_break());
        }
        block.push_str(layout.part(lines.clone()));
        if !block.ends_with('\n') {
            block.push_str(layout.line_break());
        }
        splices.cut_block(layout, lines);
    }
    let mut sections = layout.sections_in(&target);
    let place = if to < from {
        sections.next().map(|section| with_comment(section).start)
    } else {
        sections.next_back().map(|section| layout.lines_of(section).end)
    };
    if let Some(place) = place {
        splices.insert_block(layout, place, &block);
    }
}
