//! How much is known of a device.

use super::figure_rows;
use gainsay_gear::{Catalogue, Device};
use gainsay_units::Origin;
use serde::Serialize;

/// How many figures of a device come from where.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Known {
    /// In the file, from a sheet or given.
    pub stated: usize,
    /// In the file, measured.
    pub measured: usize,
    /// Not in the file, or said there to be no more than usual: typical for its kind, or assumed.
    pub typical: usize,
}

impl Known {
    /// Counts the figures of a device, with those that come from the kind that it is like.
    #[must_use]
    pub fn of(device: &Device, catalogue: &Catalogue) -> Self {
        let mut device = device.clone();
        catalogue.fill(&mut device);
        let mut known = Self::default();
        for row in figure_rows(&device).iter().flat_map(|group| &group.rows) {
            match row.origin {
                Origin::Measured => known.measured += 1,
                Origin::Sheet | Origin::Given => known.stated += 1,
                Origin::Typical | Origin::Assumed => known.typical += 1,
            }
        }
        known
    }
}
