//! Changes to the text of a case or device file that keep its comments, its order and every line that they don't concern.
//!
//! A change is worked out from the places that a TOML parser finds, and made in the text; what it doesn't touch stays byte for
//! byte. What is removed takes the comments on its own lines with it; a comment on the lines above it stays.

mod error;
mod layout;
mod list;
mod path;
mod remove;
mod set;
mod splice;
mod tables;
mod value;

pub use error::EditError;
pub use path::{FieldPath, Segment};
pub use value::{Value, quoted};

use layout::Layout;
use splice::Splices;
use toml_edit::{ArrayOfTables, Item, Table, TableLike, Value as Toml};

/// A change to a file.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// Sets a field. Of a figure that is written as a table its value is set, and what else it says is kept. A table that is not
    /// there yet is made. Remarks can be set on a figure that is only text: `room.noise.note`.
    Set {
        /// Which field.
        path: FieldPath,
        /// To what.
        value: Value,
    },
    /// Removes a field, a table, or an entry of a list. A table that only lines such as `input.device = "x"` make is gone with
    /// the last of them.
    Remove {
        /// Which.
        path: FieldPath,
    },
    /// Adds a table behind the last of its name: a source, an option.
    AddTable {
        /// The name.
        array: FieldPath,
        /// Its fields in order.
        fields: Vec<(String, Value)>,
    },
    /// Removes one of the tables of one name.
    RemoveTable {
        /// The name.
        array: FieldPath,
        /// Which, from 0.
        index: usize,
    },
    /// Moves one of the tables of one name, with the comment directly above it.
    MoveTable {
        /// The name.
        array: FieldPath,
        /// Which, from 0.
        from: usize,
        /// Its place afterwards.
        to: usize,
    },
}

/// Makes a change.
///
/// # Errors
/// When the text is no TOML or the change can't be made; the text then stays as it is.
pub fn apply(text: &str, edit: &Edit) -> Result<String, EditError> {
    let layout = Layout::of(text)?;
    let mut splices = Splices::default();
    let path = match edit {
        Edit::Set { path, value } => {
            set::set(&layout, &mut splices, path, value)?;
            path
        }
        Edit::Remove { path } => {
            remove::remove(&layout, &mut splices, path)?;
            path
        }
        Edit::AddTable { array, fields } => {
            tables::add(&layout, &mut splices, array, fields)?;
            array
        }
        Edit::RemoveTable { array, index } => {
            tables::remove(&layout, &mut splices, array, *index)?;
            array
        }
        Edit::MoveTable { array, from, to } => {
            tables::shift(&layout, &mut splices, array, *from, *to)?;
            array
        }
    };
    let edited = splices.applied(text);
    // Whatever the file looks like: a text that can be read is not turned into one that can't.
    match Layout::of(&edited) {
        Ok(_) => Ok(edited),
        Err(_) => Err(EditError::Unusual { path: path.to_string() }),
    }
}

/// Makes changes one after the other; all of them or none.
///
/// # Errors
/// At the first that can't be made.
pub fn apply_all(text: &str, edits: &[Edit]) -> Result<String, EditError> {
    edits.iter().try_fold(text.to_owned(), |text, edit| apply(&text, edit))
}

/// Something that a file holds.
#[derive(Clone, Copy)]
enum Node<'a> {
    Table(&'a Table),
    Tables(&'a ArrayOfTables),
    Value(&'a Toml),
}

impl<'a> Node<'a> {
    const fn of(item: &'a Item) -> Option<Self> {
        match item {
            Item::None => None,
            Item::Value(value) => Some(Self::Value(value)),
            Item::Table(table) => Some(Self::Table(table)),
            Item::ArrayOfTables(tables) => Some(Self::Tables(tables)),
        }
    }

    fn as_table(self) -> Option<&'a dyn TableLike> {
        match self {
            Self::Table(table) => Some(table),
            Self::Value(Toml::InlineTable(table)) => Some(table),
            _ => None,
        }
    }

    /// What stands in it at a step.
    fn at(self, step: &Segment, so_far: &[Segment]) -> Result<Option<Self>, EditError> {
        let path = || path::written(so_far);
        match (step, self) {
            (Segment::Key(key), node) => {
                let table = node.as_table().ok_or_else(|| EditError::NotTable { path: path() })?;
                Ok(table.get(key).and_then(Self::of))
            }
            (Segment::Index(index), Self::Tables(tables)) => {
                let table = tables.get(*index).map(Self::Table);
                table.map(Some).ok_or_else(|| EditError::TooFew { path: path(), count: tables.len() })
            }
            (Segment::Index(index), Self::Value(Toml::Array(array))) => {
                let value = array.get(*index).map(Self::Value);
                value.map(Some).ok_or_else(|| EditError::TooFew { path: path(), count: array.len() })
            }
            (Segment::Index(_), _) => Err(EditError::NotList { path: path() }),
        }
    }
}

/// How far a path leads.
struct Walk<'a> {
    /// What it leads to, from the root of the file on.
    nodes: Vec<Node<'a>>,
    /// The steps for which there is nothing.
    rest: Vec<Segment>,
}

impl<'a> Walk<'a> {
    fn along(layout: &'a Layout<'_>, path: &FieldPath) -> Result<Self, EditError> {
        let mut node = Node::Table(layout.document.as_table());
        let mut nodes = vec![node];
        for (index, step) in path.segments().iter().enumerate() {
            let (so_far, rest) = path.segments().split_at(index);
            // A remark on a figure that is only text.
            if matches!(node, Node::Value(Toml::String(_))) && set::is_remark(rest) {
                return Ok(Self { nodes, rest: rest.to_vec() });
            }
            match node.at(step, so_far)? {
                Some(next) => {
                    nodes.push(next);
                    node = next;
                }
                None => return Ok(Self { nodes, rest: rest.to_vec() }),
            }
        }
        Ok(Self { nodes, rest: Vec::new() })
    }

    /// What it led to last.
    fn last(&self) -> Option<Node<'a>> {
        self.nodes.last().copied()
    }

    /// What holds what it led to last.
    fn holder(&self) -> Option<Node<'a>> {
        self.nodes.len().checked_sub(2).and_then(|index| self.nodes.get(index)).copied()
    }
}

/// Whether a part of a text, which begins outside strings, holds a comment.
fn has_comment(part: &str) -> bool {
    let mut rest = part;
    while let Some(at) = rest.find(['#', '"', '\'']) {
        let (_, from) = rest.split_at(at);
        if from.starts_with('#') {
            return true;
        }
        let quote = ["\"\"\"", "'''", "\"", "'"].into_iter().find(|quote| from.starts_with(quote));
        let Some(quote) = quote else { return false };
        let (_, inside) = from.split_at(quote.len());
        rest = behind_string(inside, quote);
    }
    false
}

/// What follows a string, of which the opening quote is already left out.
fn behind_string<'a>(inside: &'a str, quote: &str) -> &'a str {
    let mut from = inside;
    loop {
        let found = from.find(|c| quote.starts_with(c) || (c == '\\' && quote.starts_with('"')));
        let Some(at) = found else { return "" };
        let (_, at_mark) = from.split_at(at);
        if let Some(escape) = at_mark.strip_prefix('\\') {
            let mut chars = escape.chars();
            chars.next();
            from = chars.as_str();
        } else if let Some(behind) = at_mark.strip_prefix(quote) {
            // Up to two quotes may stand at the end of a long string, before the closing three.
            let mark = if quote.starts_with('"') { '"' } else { '\'' };
            return if quote.len() == 3 { behind.trim_start_matches(mark) } else { behind };
        } else {
            let mut chars = at_mark.chars();
            chars.next();
            from = chars.as_str();
        }
    }
}
