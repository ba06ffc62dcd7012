//! All that is known of devices, for machines.

use super::{DeviceFooting, GroupRows, Recordings, thermal_limit};
use crate::draws::Draws;
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

/// Devices side by side.
#[derive(Debug, Serialize)]
pub struct Compared<'a> {
    thermal_limit_150_ohm_dbu: f64,
    devices: &'a [DeviceFooting],
    recording: Option<&'a Recordings>,
    draws: usize,
    seed: u64,
}

impl<'a> Compared<'a> {
    /// Devices on one footing, and what each would record where that was asked for; `draws` are those that were made.
    #[must_use]
    pub fn new(devices: &'a [DeviceFooting], recording: Option<&'a Recordings>, draws: Draws) -> Self {
        Self {
            thermal_limit_150_ohm_dbu: thermal_limit().dbu(),
            devices,
            recording,
            draws: draws.count,
            seed: draws.seed,
        }
    }
}
