//! Sentences on clocks.

use super::{capital, list};
use crate::patch::clock::{ClockConflict, ClockPath, ClockRole, Clocking, ConflictReason};
use gainsay_gear::connection::ClockSource;

/// A clock source as it is set on a device.
#[must_use]
pub const fn source(source: ClockSource) -> &'static str {
    match source {
        ClockSource::Internal => "internal",
        ClockSource::WordClock => "word clock",
        ClockSource::Aes11 => "AES11 reference",
        ClockSource::Aes3 => "AES3 input",
        ClockSource::Iec60958Coaxial => "coaxial input",
        ClockSource::Iec60958Optical => "optical input",
        ClockSource::EightChannelOptical => "eight-channel optical input",
        ClockSource::Aes10 => "AES10 input",
        ClockSource::Aes67 => "network",
    }
}

/// What to set on each device, in the order of the devices, of which `name` gives the names.
#[must_use]
pub fn settings(clocking: &Clocking, name: impl Fn(usize) -> String) -> Vec<String> {
    let is_followed = |device: usize| {
        let roles = clocking.roles.iter();
        roles.into_iter().any(|role| matches!(role, ClockRole::Follows { from, .. } if *from == device))
    };
    clocking
        .roles
        .iter()
        .enumerate()
        .map(|(device, role)| match role {
            ClockRole::Leads if is_followed(device) => {
                format!("Set the clock of {} to internal: it leads.", name(device))
            }
            ClockRole::Leads => format!("Set the clock of {} to internal.", name(device)),
            ClockRole::Follows { from, source: set, by } => {
                let how = match by {
                    ClockPath::Link(_) => String::new(),
                    ClockPath::WordClock => ", over a word clock cable".to_owned(),
                    ClockPath::Network => ", over the network".to_owned(),
                    ClockPath::Cable { format, .. } => {
                        format!(", over an {} cable of its own", format.words())
                    }
                };
                format!(
                    "Set the clock of {} to its {}: it follows {}{how}.",
                    name(device),
                    source(*set),
                    name(*from)
                )
            }
        })
        .collect()
}

/// Why there is no common clock.
#[must_use]
pub fn conflict(conflict: &ClockConflict, name: impl Fn(usize) -> String) -> String {
    let names: Vec<String> = conflict.devices.iter().map(|device| name(*device)).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let all = list(&names);
    let sentence = match conflict.reason {
        ConflictReason::OnlyLead(a, b) => format!(
            "{} and {} must run on one clock, but each can only run on its own: neither can be made to follow the other.",
            name(a),
            name(b)
        ),
        ConflictReason::NothingToFollow { device } => {
            format!(
                "{} has no clock of its own, and nothing here gives it one that it can follow.",
                name(device)
            )
        }
        ConflictReason::Loop => format!(
            "{all} would go round in a circle: each could only follow another of them, and none has a clock of its own."
        ),
        ConflictReason::LeaderCannotLead { device } => {
            format!("{} can't lead the clock: it has none of its own.", name(device))
        }
        ConflictReason::LeaderAgainst { leader, other } => format!(
            "{} can't lead the clock: {} must run on the same one, and it can only run on its own.",
            name(leader),
            name(other)
        ),
        ConflictReason::LeaderDoesNotReach { leader } => format!(
            "{} can't lead the clock of all that must run on one: another of {all} would be left without.",
            name(leader)
        ),
        ConflictReason::NobodyReachesAll => {
            format!("{all} must run on one clock, but whichever leads, another is left without.")
        }
    };
    capital(&sentence)
}
