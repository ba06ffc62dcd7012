//! All that is known of a device, for machines.

use super::{DeviceFooting, GroupRows};
use gainsay_gear::{Device, DeviceType};
use gainsay_units::Origin;
use serde::Serialize;

/// A device with every figure, its footing and its doubts.
#[derive(Debug, Serialize)]
pub struct Shown<'a> {
    name: &'a str,
    id: &'a str,
    #[serde(rename = "type")]
    device_type: DeviceType,
    price: Option<f64>,
    like: Option<&'a str>,
    note: Option<&'a str>,
    figures: Vec<Row<'a>>,
    on_one_footing: Option<&'a DeviceFooting>,
    doubts: &'a [String],
}

#[derive(Debug, Serialize)]
struct Row<'a> {
    group: &'a str,
    field: &'a str,
    value: &'a str,
    from: Origin,
    replaced: Option<Replaced<'a>>,
    note: Option<&'a str>,
}

#[derive(Debug, Serialize)]
struct Replaced<'a> {
    value: &'a str,
    from: Origin,
}

impl<'a> Shown<'a> {
    /// Of the device as its file has it; `groups` are its figures, those of its kind among them.
    #[must_use]
    pub fn new(
        device: &'a Device,
        groups: &'a [GroupRows],
        footing: Option<&'a DeviceFooting>,
        doubts: &'a [String],
    ) -> Self {
        let rows = groups.iter().flat_map(|group| group.rows.iter().map(move |row| (group, row)));
        Self {
            name: &device.name,
            id: &device.id,
            device_type: device.device_type(),
            price: device.price,
            like: device.like.as_ref().map(|like| like.value.as_str()),
            note: device.note.as_deref(),
            figures: rows
                .map(|(group, row)| Row {
                    group: &group.title,
                    field: row.field,
                    value: &row.written,
                    from: row.origin,
                    replaced: row.replaced.as_ref().map(|(value, from)| Replaced { value, from: *from }),
                    note: row.note.as_deref(),
                })
                .collect(),
            on_one_footing: footing,
            doubts,
        }
    }
}
