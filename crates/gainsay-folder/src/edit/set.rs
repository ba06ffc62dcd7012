//! Setting a field.

use super::layout::{Layout, has_header};
use super::path::written;
use super::splice::Splices;
use super::{EditError, FieldPath, Node, Segment, Value, Walk, has_comment, list};
use toml_edit::{InlineTable, Table, TableLike, Value as Toml};

/// Keys beside `value` by which a table is known to be a figure.
const REMARKS: &[&str] = &["tolerance", "from", "note", "measured"];

/// Whether steps lead to a remark on a figure.
pub(super) fn is_remark(steps: &[Segment]) -> bool {
    matches!(steps, [Segment::Key(key)] if REMARKS.contains(&key.as_str()))
}

/// Sets the field at a path.
pub(super) fn set(
    layout: &Layout<'_>,
    splices: &mut Splices,
    path: &FieldPath,
    value: &Value,
) -> Result<(), EditError> {
    let walk = Walk::along(layout, path)?;
    let Some(node) = walk.last() else { return Ok(()) };
    if !walk.rest.is_empty() {
        return insert(layout, splices, path, &walk, node, value);
    }
    match node {
        Node::Tables(_) => Err(EditError::IsTable { path: path.to_string() }),
        Node::Value(value_there) if value_there.as_inline_table().is_none() => {
            replace(layout, splices, path, value_there, value)
        }
        node => {
            let table = node.as_table().filter(|table| is_figure(*table));
            let table = table.ok_or_else(|| EditError::IsTable { path: path.to_string() })?;
            match table.get("value") {
                Some(toml_edit::Item::Value(there)) => replace(layout, splices, path, there, value),
                Some(_) => Err(EditError::IsTable { path: format!("{path}.value") }),
                None => set(layout, splices, &FieldPath::parse(&format!("{path}.value"))?, value),
            }
        }
    }
}

fn is_figure(table: &dyn TableLike) -> bool {
    table.contains_key("value") || REMARKS.iter().any(|key| table.contains_key(key))
}

/// Puts a value in the place of another.
fn replace(
    layout: &Layout<'_>,
    splices: &mut Splices,
    path: &FieldPath,
    there: &Toml,
    value: &Value,
) -> Result<(), EditError> {
    if value.is_said_by(there) {
        return Ok(());
    }
    let Some(span) = there.span() else { return Ok(()) };
    match (there, value) {
        (Toml::InlineTable(_), _) => Err(EditError::IsTable { path: path.to_string() }),
        (Toml::Array(array), Value::List(values)) => list::set(layout, splices, array, values),
        _ if there.is_array() && has_comment(layout.part(span.clone())) => {
            Err(EditError::Unusual { path: path.to_string() })
        }
        _ => {
            splices.replace(span, value.written()?);
            Ok(())
        }
    }
}

/// Puts in what is not there yet.
fn insert(
    layout: &Layout<'_>,
    splices: &mut Splices,
    path: &FieldPath,
    walk: &Walk<'_>,
    node: Node<'_>,
    value: &Value,
) -> Result<(), EditError> {
    let depth = path.segments().len() - walk.rest.len();
    let (holder, _) = path.segments().split_at(depth);
    let missing = || EditError::Missing { path: written(holder) };
    let Some((Segment::Key(key), inner)) = walk.rest.split_first() else { return Err(missing()) };
    let text = nested(inner, value).ok_or_else(missing)??;
    match node {
        Node::Table(table) if holder.is_empty() && !inner.is_empty() => {
            let Some((Segment::Key(first), rest)) = inner.split_first() else { return Err(missing()) };
            let text = nested(rest, value).ok_or_else(missing)??;
            let line_break = layout.line_break();
            let at = new_table_place(layout, table);
            splices.insert_block(layout, at, &format!("[{key}]{line_break}{first} = {text}{line_break}"));
            Ok(())
        }
        Node::Table(_) if holder.is_empty() => {
            insert_at_top(layout, splices, &format!("{key} = {text}"));
            Ok(())
        }
        Node::Table(table) => insert_in_table(layout, splices, holder, table, key, &text),
        Node::Value(Toml::InlineTable(table)) => {
            let (entries, whole) = inline(table, holder)?;
            let text = format!("{key} = {text}");
            let text = if entries.is_empty() && layout.part(whole.clone()).len() == 2 {
                format!(" {text} ")
            } else {
                text
            };
            list::push(layout, splices, &entries, &whole, &text);
            Ok(())
        }
        Node::Value(figure @ Toml::String(_)) => {
            let Some(span) = figure.span() else { return Ok(()) };
            splices.insert(span.start, "{ value = ");
            splices.insert(span.end, format!(", {key} = {text} }}"));
            Ok(())
        }
        Node::Value(_) | Node::Tables(_) => Err(EditError::NotTable { path: written(holder) }),
    }
}

/// A value inside tables that are not there yet; nothing if a step is a place in a list.
fn nested(steps: &[Segment], value: &Value) -> Option<Result<String, EditError>> {
    match steps.split_first() {
        None => Some(value.written()),
        Some((Segment::Key(key), rest)) => {
            Some(nested(rest, value)?.map(|text| format!("{{ {key} = {text} }}")))
        }
        Some((Segment::Index(_), _)) => None,
    }
}

/// Puts a line behind the last field at the top of the file.
fn insert_at_top(layout: &Layout<'_>, splices: &mut Splices, line: &str) {
    match (layout.body_end(None), layout.sections.first()) {
        (Some(at), _) => splices.insert_line(layout, at, line),
        (None, Some(first)) => {
            let at = layout.comment_above(first.start);
            splices.insert_line(layout, at, line);
            splices.insert(at, layout.line_break());
        }
        (None, None) => splices.insert_line(layout, layout.text.len(), line),
    }
}

/// Where a new table goes: behind the plain tables that stand before the first of the lists of tables.
fn new_table_place(layout: &Layout<'_>, root: &Table) -> usize {
    let in_list = |key: &Segment| matches!(key, Segment::Key(key) if root.get(key).is_some_and(|item| item.is_array_of_tables()));
    let is_listed = |path: &[Segment]| path.first().is_some_and(in_list);
    let before_lists = layout.sections.iter().take_while(|section| !is_listed(&section.path));
    if let Some(last) = before_lists.last() {
        return layout.lines_of(last).end;
    }
    match layout.sections.first() {
        Some(first) => layout.comment_above(first.start),
        None => layout.text.len(),
    }
}

/// Puts a line into a table of several lines.
fn insert_in_table(
    layout: &Layout<'_>,
    splices: &mut Splices,
    path: &[Segment],
    table: &Table,
    key: &str,
    text: &str,
) -> Result<(), EditError> {
    if has_header(table) {
        let section = layout.sections.iter().find(|section| section.path == path);
        let section = section.ok_or_else(|| EditError::Unusual { path: written(path) })?;
        let at = layout.lines_of(section).end;
        let last =
            layout.fields.iter().rfind(|field| field.lines.end == at && field.lines.start > section.start);
        let indent = layout.indent_at(last.map_or(section.start, |field| field.lines.start));
        splices.insert_line(layout, at, &format!("{indent}{key} = {text}"));
        return Ok(());
    }
    if table.is_dotted() {
        // `input.device = "x"` makes the table: the new key gets a line of the same kind behind it.
        let last = layout.fields.iter().rfind(|field| field.path.starts_with(path));
        let last = last.ok_or_else(|| EditError::Unusual { path: written(path) })?;
        let line = layout.part(last.lines.clone());
        let indent = layout.indent_at(last.lines.start);
        let above = layout.sections.iter().rfind(|section| section.start <= last.lines.start);
        let depth = above.map_or(0, |section| section.path.len());
        let (_, steps) = path.split_at(depth.min(path.len()));
        if steps.is_empty() || line.is_empty() {
            return Err(EditError::Unusual { path: written(path) });
        }
        splices.insert_line(layout, last.lines.end, &format!("{indent}{}.{key} = {text}", dotted(steps)));
        return Ok(());
    }
    // Only tables inside it have headers.
    let first = layout.sections_in(path).next().ok_or_else(|| EditError::Unusual { path: written(path) })?;
    if path.iter().any(|step| matches!(step, Segment::Index(_))) {
        return Err(EditError::Unusual { path: written(path) });
    }
    let line_break = layout.line_break();
    let block = format!("[{}]{line_break}{key} = {text}{line_break}", dotted(path));
    splices.insert_block(layout, layout.comment_above(first.start), &block);
    Ok(())
}

/// Keys with dots between, in quotes where they need them.
pub(super) fn dotted(steps: &[Segment]) -> String {
    let keys = steps.iter().filter_map(|step| match step {
        Segment::Key(key) => Some(toml_edit::Key::new(key).to_string()),
        Segment::Index(_) => None,
    });
    keys.collect::<Vec<_>>().join(".")
}

/// Places of the entries of an inline table at a path, and of the whole.
pub(super) fn inline(
    table: &InlineTable,
    path: &[Segment],
) -> Result<(Vec<std::ops::Range<usize>>, std::ops::Range<usize>), EditError> {
    let unusual = || EditError::Unusual { path: written(path) };
    let entries = list::inline_entries(table).filter(|_| !table.is_dotted()).ok_or_else(unusual)?;
    Ok((entries, table.span().ok_or_else(unusual)?))
}
