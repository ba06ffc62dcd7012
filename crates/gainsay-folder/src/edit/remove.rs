//! Removing a field, a table or an entry.

use super::layout::{Layout, has_header};
use super::path::written;
use super::splice::Splices;
use super::{EditError, FieldPath, Node, Segment, Walk, list, set, tables};
use toml_edit::{Table, Value as Toml};

/// Removes what stands at a path.
pub(super) fn remove(layout: &Layout<'_>, splices: &mut Splices, path: &FieldPath) -> Result<(), EditError> {
    let walk = Walk::along(layout, path)?;
    if !walk.rest.is_empty() {
        return Err(EditError::Missing { path: path.to_string() });
    }
    let Some((last, above)) = path.segments().split_last() else { return Ok(()) };
    let (Some(node), Some(holder)) = (walk.last(), walk.holder()) else { return Ok(()) };
    match (last, holder, node) {
        (Segment::Index(index), Node::Value(Toml::Array(array)), _) => {
            let end = array.span().map_or(0, |span| span.end.saturating_sub(1));
            list::cut(layout, splices, &list::entries(array), *index, end);
            Ok(())
        }
        (Segment::Index(_), _, _) => {
            tables::cut_sections(layout, splices, path.segments());
            Ok(())
        }
        (Segment::Key(_), _, Node::Tables(_)) => Err(EditError::IsTable { path: path.to_string() }),
        (Segment::Key(_), _, Node::Table(table)) => {
            cut_table(layout, splices, path.segments(), table);
            Ok(())
        }
        (Segment::Key(key), Node::Value(Toml::InlineTable(table)), Node::Value(_)) => {
            let (entries, whole) = set::inline(table, above)?;
            let index = table.iter().position(|(name, _)| name == key);
            let index = index.ok_or_else(|| EditError::Missing { path: path.to_string() })?;
            list::cut(layout, splices, &entries, index, whole.end.saturating_sub(1));
            Ok(())
        }
        (Segment::Key(_), _, Node::Value(_)) => {
            let field = layout.fields.iter().find(|field| field.path == path.segments());
            let field = field.ok_or_else(|| EditError::Unusual { path: written(path.segments()) })?;
            splices.cut(field.lines.clone());
            Ok(())
        }
    }
}

/// Removes a table of several lines with everything in it.
fn cut_table(layout: &Layout<'_>, splices: &mut Splices, path: &[Segment], table: &Table) {
    tables::cut_sections(layout, splices, path);
    if !has_header(table) {
        // Lines such as `input.device = "x"` under the header of another table.
        let of_others = layout.fields.iter().filter(|field| field.path.starts_with(path)).filter(|field| {
            let above = layout.sections.iter().rfind(|section| section.start <= field.lines.start);
            !above.is_some_and(|section| section.path.starts_with(path))
        });
        for field in of_others {
            splices.cut(field.lines.clone());
        }
    }
}
