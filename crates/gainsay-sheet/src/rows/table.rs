//! Tables with a head: columns for channels, for variants of the device, for limits, units and conditions.

use super::{Value, bracketed};
use crate::grammar::Convention;
use crate::lexicon::{Atom, Atoms, CHANNELS, CONNECTORS, FORMATS, PLACES, QUANTITIES, SIDES};
use crate::scan::{Element, Kind, atoms_of, scan};
use crate::text::{Line, Separator};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Role {
    /// The labels.
    Label,
    /// Values.
    Value,
    /// Lower limits.
    Minimum,
    /// Typical values.
    Typical,
    /// Upper limits.
    Maximum,
    /// Units.
    Unit,
    /// Conditions and remarks.
    Condition,
    /// Values of one kind of input or output, or of some channels.
    Channel,
    /// Values of one quantity, in a table that lies on its side.
    Quantity,
    /// Values of one variant of the device.
    Variant,
}

/// A column of a table.
#[derive(Debug, Clone)]
pub(crate) struct Column {
    pub(crate) title: String,
    /// What its head says about the values in it.
    pub(crate) elements: Vec<Element>,
    pub(crate) role: Role,
    /// Column of text at which the head begins.
    at: usize,
    /// Whether no other column of the table is for microphone inputs.
    alone: bool,
}

impl Column {
    /// Whether it is for channels that its head names by number: "Channels 1–2".
    pub(crate) fn names_channels(&self) -> bool {
        self.role == Role::Channel
            && !self.alone
            && self.elements.iter().any(|e| e.figure().is_some_and(crate::grammar::Measure::is_bare))
            && atoms_of(&self.elements).any(Atoms::of(&[Atom::Channels, Atom::Input, Atom::Microphone]))
            && !atoms_of(&self.elements).any(Atoms::of(&[Atom::Line, Atom::Instrument, Atom::Output]))
    }
}

/// The columns of the table that is being read.
#[derive(Debug, Clone)]
pub(crate) struct Table {
    separator: Separator,
    /// For each cell of the head its index in the sheet's list of columns, and the column itself.
    columns: Vec<(usize, Column)>,
}

/// What stands over columns of labels, limits and units.
const HEADS: Atoms = Atoms::of(&[
    Atom::LabelHead,
    Atom::ValueHead,
    Atom::UnitHead,
    Atom::ConditionHead,
    Atom::Minimum,
    Atom::Typical,
    Atom::Maximum,
]);

fn role(elements: &[Element], first: bool) -> Role {
    let atoms = atoms_of(elements);
    let has = |atom: Atom| atoms.has(atom);
    if elements.is_empty() {
        return Role::Label;
    }
    // "Max SPL" heads a column of figures in a table that lies on its side; plain "Max" a column of limits.
    let plain = !atoms.any(QUANTITIES);
    if has(Atom::UnitHead) {
        Role::Unit
    } else if has(Atom::ConditionHead) {
        Role::Condition
    } else if has(Atom::Typical) && plain {
        Role::Typical
    } else if has(Atom::Minimum) && plain {
        Role::Minimum
    } else if has(Atom::Maximum) && plain {
        Role::Maximum
    } else if has(Atom::ValueHead) {
        Role::Value
    } else if has(Atom::LabelHead) || first {
        Role::Label
    } else if atoms.any(QUANTITIES) {
        Role::Quantity
    } else if atoms.any(CHANNELS.and(SIDES))
        || (has(Atom::Channels) && elements.iter().any(|e| e.figure().is_some()))
    {
        Role::Channel
    } else {
        Role::Variant
    }
}

impl Table {
    /// A table whose head this line is, if it is one. Its columns are added to the sheet's.
    pub(super) fn from_header(
        line: &Line<'_>,
        cells: &[Vec<Element>],
        next: Option<(&Line<'_>, &Vec<Vec<Element>>)>,
        running: Option<&Self>,
        alike_above: bool,
        columns: &mut Vec<Column>,
    ) -> Option<Self> {
        let (below, below_cells) = next?;
        let figures = |cells: &[Vec<Element>]| {
            cells.iter().flatten().any(|e| e.depth == 0 && e.figure().is_some_and(|m| !m.is_bare()))
        };
        let any_number =
            |cells: &[Vec<Element>]| cells.iter().skip(1).flatten().any(|e| e.figure().is_some());
        // Empty cells leave no trace in a table that is aligned by spaces.
        let headed = cells.iter().filter(|c| atoms_of(c).any(HEADS)).count() >= 2;
        let fits = below.separator == line.separator
            && (headed || below.cells.len() + 1 >= line.cells.len())
            && !figures(cells);
        if !fits || !any_number(below_cells) && !any_number(cells) && below_cells.len() < 2 {
            return None;
        }
        // In an aligned table the cell over the labels may be empty.
        let headless = matches!(line.separator, Separator::Gap | Separator::Tab)
            && (below.cells.len() > line.cells.len() || headed && line.indent > below.indent);
        let first = cells.first()?;
        let first_atoms = atoms_of(first);
        if !headless
            && first_atoms.without(Atoms::of(&[Atom::Level])).any(QUANTITIES)
            && !first_atoms.has(Atom::LabelHead)
        {
            return None;
        }
        // "Optical inputs   2 × optical": a count of something is a value.
        let counted = |cell: &Vec<Element>| cell.first().is_some_and(|e| e.figure().is_some());
        if cells.len() == 2 && !headless && cells.get(1).is_some_and(counted) {
            return None;
        }
        let mut roles: Vec<Role> =
            cells.iter().enumerate().map(|(index, cell)| role(cell, index == 0 && !headless)).collect();
        // "Section | Item | Specification": the last of several heads for labels stands over the values.
        if cells.len() > 1
            && roles.iter().all(|r| *r == Role::Label)
            && cells.iter().filter(|cell| atoms_of(cell).has(Atom::LabelHead)).count() >= 1
            && cells.last().is_some_and(|cell| atoms_of(cell).has(Atom::LabelHead))
            && let Some(last) = roles.last_mut()
        {
            *last = Role::Value;
        }
        let values = roles.iter().filter(|r| !matches!(r, Role::Label)).count();
        let variants = roles.iter().filter(|r| matches!(r, Role::Variant)).count();
        // Two cells of words are a label and its value, unless the second is the head of a column.
        // "Sources   internal, word clock": so are two cells whose first is no head.
        let single = values == 1
            && cells.len() == 2
            && !headless
            && !first.is_empty()
            && !first_atoms.any(HEADS)
            && cells.get(1).is_some_and(|cell| cell.iter().any(|e| matches!(e.kind, Kind::Comma)));
        if values == 0 || single || (variants == values && values < 2) {
            return None;
        }
        // A table that runs already goes on, unless the line is a head without doubt.
        let plain = |cell: &Vec<Element>| {
            let atoms = atoms_of(cell);
            !cell.is_empty()
                && atoms.any(PLACES)
                && !atoms.any(CONNECTORS.and(Atoms::of(&[Atom::Bnc, Atom::Usb, Atom::Ethernet])))
                && !cell.iter().any(|e| e.figure().is_some_and(|m| m.times) || matches!(e.kind, Kind::Comma))
        };
        let headed =
            headed || cells.len() > 2 && cells.iter().skip(1).all(plain) && !atoms_of(first).any(FORMATS);
        let goes_on = running.is_some_and(|table| table.holds(line) && table.columns.len() >= cells.len());
        if (goes_on || alike_above) && !line.after_blank && !headed {
            return None;
        }
        // Words in every cell of a table that runs already are values, not another head.
        if running.is_some_and(|table| table.holds(line)) && variants > 0 {
            return None;
        }
        // A row of words over a row of words is a row: its first cell names something known or its cells are connectors.
        let worded = cells
            .iter()
            .skip(1)
            .any(|cell| atoms_of(cell).any(crate::lexicon::CONNECTORS.and(crate::lexicon::PATTERNS)));
        if worded && variants > 0 {
            return None;
        }
        let mut found: Vec<(usize, Column)> = Vec::new();
        let over_all = !headless
            && first_atoms.any(SIDES)
            && !first_atoms.all(SIDES)
            && !first.iter().any(|e| e.figure().is_some());
        for ((cell, place), role) in cells.iter().zip(&line.cells).zip(roles) {
            // "OUTPUTS | Line | Headphones": the head of the labels says the side of all columns.
            let sided = role == Role::Channel && !atoms_of(cell).any(SIDES) && over_all;
            let column = Column {
                title: place.text.to_owned(),
                elements: if sided { [first.as_slice(), cell].concat() } else { cell.clone() },
                role,
                at: place.column,
                alone: false,
            };
            found.push((columns.len(), column.clone()));
            columns.push(column);
        }
        // One column that names its channels makes no groups.
        let names = |column: &Column| column.names_channels();
        if found.iter().filter(|(_, c)| names(c)).count() == 1
            && found.iter().filter(|(_, c)| c.role == Role::Channel).count() > 1
        {
            for (index, column) in &mut found {
                column.alone = true;
                if let Some(known) = columns.get_mut(*index) {
                    known.alone = true;
                }
            }
        }
        if headless {
            // The labels stand before the first head.
            let label =
                Column { title: String::new(), elements: Vec::new(), role: Role::Label, at: 0, alone: false };
            found.insert(0, (columns.len(), label.clone()));
            columns.push(label);
        }
        Some(Self { separator: line.separator, columns: found })
    }

    /// What the heads of columns say about how many there are: "Line inputs 1–4".
    pub(super) fn counts(&self, text: &str) -> Vec<Value> {
        self.columns
            .iter()
            .filter(|(_, column)| {
                column.role == Role::Channel
                    && !column.names_channels()
                    && super::counts::speaks(text, &column.elements)
            })
            .map(|(index, column)| Value { elements: column.elements.clone(), column: Some(*index) })
            .collect()
    }

    /// Whether a line belongs to the table.
    pub(super) fn holds(&self, line: &Line<'_>) -> bool {
        line.separator == self.separator
    }

    /// Whether a line with fewer cells behind an empty line ends a table whose columns are inputs and outputs.
    pub(super) fn ends_at(&self, line: &Line<'_>) -> bool {
        let places = self.columns.iter().any(|(_, column)| column.role == Role::Channel);
        places && line.after_blank && self.columns.len() >= 3 && line.cells.len() <= 2
    }

    /// Whether a column of labels groups the rows.
    pub(super) fn is_grouped(&self) -> bool {
        self.columns.iter().filter(|(_, c)| c.role == Role::Label).count() > 1
    }

    /// Whether there are columns of values.
    pub(super) fn has_columns(&self) -> bool {
        self.columns.len() > 1
    }

    /// Label and values of a line of the table.
    pub(super) fn row(
        &self,
        text: &str,
        line: &Line<'_>,
        cells: &[Vec<Element>],
        convention: Convention,
    ) -> (Option<Vec<Element>>, Vec<Element>, Vec<Value>) {
        let places = self.places(line);
        // The first of two columns of labels groups the rows; its empty cells repeat the one above.
        let grouped = self.columns.iter().filter(|(_, c)| c.role == Role::Label).count() > 1;
        let mut group = None;
        let mut label = Vec::new();
        let mut values = Vec::new();
        let (mut minimum, mut typical, mut maximum, mut unit, mut condition) =
            (None, None, None, None, Vec::new());
        for ((cell, place), column) in cells.iter().zip(&line.cells).zip(&places) {
            let Some((index, column)) = column.and_then(|c| self.columns.get(c)) else { continue };
            if cell.is_empty() || place.text.chars().all(|c| matches!(c, '-' | '–' | '—' | ' ' | '/')) {
                continue;
            }
            match column.role {
                Role::Label
                    if grouped
                        && group.is_none()
                        && self.columns.first().is_some_and(|(first, _)| first == index) =>
                {
                    group = Some(cell.clone());
                }
                Role::Label => label.extend(cell.clone()),
                Role::Minimum => minimum = Some((*index, place)),
                Role::Typical | Role::Value => typical = Some((*index, place)),
                Role::Maximum => maximum = Some((*index, place)),
                Role::Unit => unit = Some(place.text),
                Role::Condition => condition.extend(cell.clone()),
                Role::Channel | Role::Variant | Role::Quantity => {
                    values.push(Value { elements: cell.clone(), column: Some(*index) });
                }
            }
        }
        let gain = atoms_of(&label).has(Atom::Gain);
        let unit = unit.unwrap_or_default();
        let single = match (minimum, typical, maximum) {
            (Some((_, low)), None, Some((index, high))) if gain => {
                Some((index, low.start, format!("{} to {} {unit}", low.text, high.text)))
            }
            (_, Some((index, place)), _)
            | (_, None, Some((index, place)))
            | (Some((index, place)), None, None) => {
                Some((index, place.start, format!("{} {unit}", place.text)))
            }
            _ => None,
        };
        if let Some((_, start, written)) = single {
            let end = line.start + line.text.len();
            let mut elements = scan(written.trim(), start, convention);
            for element in &mut elements {
                // The text was put together, so that its places are only about right.
                element.span = element.span.start.min(end)..element.span.end.min(end);
                if text.get(element.span.clone()).is_none() {
                    element.span = line.start..end;
                }
            }
            values.push(Value { elements, column: None });
        }
        // Channel columns beside a column of units.
        if !unit.is_empty() && values.iter().any(|v| v.column.is_some()) {
            for value in values.iter_mut().filter(|v| v.column.is_some()) {
                let span = value.elements.first().map_or(line.start..line.start, |e| e.span.clone());
                let only_bare =
                    value.elements.iter().all(|e| e.figure().is_none_or(crate::grammar::Measure::is_bare));
                if only_bare
                    && let Some(cell) =
                        text.get(span.start..value.elements.last().map_or(span.end, |e| e.span.end))
                {
                    value.elements = scan(&format!("{cell} {unit}"), span.start, convention);
                    for element in &mut value.elements {
                        element.span = span.clone();
                    }
                }
            }
        }
        if !condition.is_empty() {
            for value in &mut values {
                if let Some(place) = value.elements.last().cloned() {
                    let place = Element { depth: 0, kind: Kind::Comma, ..place };
                    bracketed(&mut value.elements, condition.clone(), &place);
                }
            }
        }
        (group, label, values)
    }

    /// For each cell of a line the column that it stands in.
    fn places(&self, line: &Line<'_>) -> Vec<Option<usize>> {
        // A tab before the first cell was taken for an indent.
        if self.separator == Separator::Tab && line.indent > 0 && line.cells.len() + 1 == self.columns.len() {
            return (1..self.columns.len()).map(Some).collect();
        }
        if self.separator != Separator::Gap || line.cells.len() == self.columns.len() {
            return (0..line.cells.len()).map(Some).collect();
        }
        let mut last: Option<usize> = None;
        line.cells
            .iter()
            .map(|cell| {
                let from = last.map_or(0, |l| l + 1);
                let nearest = self
                    .columns
                    .iter()
                    .enumerate()
                    .skip(from)
                    .min_by_key(|(_, (_, column))| column.at.abs_diff(cell.column))
                    .map(|(index, _)| index);
                last = nearest.or(last);
                nearest
            })
            .collect()
    }
}
