//! Every figure that a device's file states, as it was written.

use gainsay_gear::{Device, Model};
use gainsay_units::{FigureRow, FigureRows};

/// The figures of one table of a device's file.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupRows {
    /// What the table is, with its label.
    pub title: String,
    /// Its figures.
    pub rows: Vec<FigureRow>,
}

/// The figures of a device, table by table; tables without figures are left out. Of a device as its file has it these are what
/// is stated, of one that the catalogue has filled also what is typical.
#[must_use]
pub fn figure_rows(device: &Device) -> Vec<GroupRows> {
    let mut groups = Vec::new();
    let mut add = |title: &str, label: Option<&String>, rows: Vec<FigureRow>| {
        if !rows.is_empty() {
            let title = label.map_or_else(|| title.to_owned(), |label| format!("{title}: {label}"));
            groups.push(GroupRows { title, rows });
        }
    };
    match &device.model {
        Model::Microphone(microphone) => add("microphone", None, microphone.figure_rows()),
        Model::Booster(booster) => add("booster", None, booster.figure_rows()),
        Model::Cable(cable) => add("cable", None, cable.figure_rows()),
        Model::Preamp(front_end) | Model::Interface(front_end) | Model::Converter(front_end) => {
            for group in &front_end.microphone_inputs {
                add("microphone inputs", group.label.as_ref(), group.figure_rows());
            }
            for group in &front_end.line_inputs {
                add("line inputs", group.label.as_ref(), group.figure_rows());
            }
            for group in &front_end.line_outputs {
                add("line outputs", group.label.as_ref(), group.figure_rows());
            }
            add("whole device", None, front_end.whole.figure_rows());
        }
    }
    groups
}
