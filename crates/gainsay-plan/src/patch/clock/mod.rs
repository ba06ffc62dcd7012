//! Which device leads the clock and how the others follow it.
//!
//! Devices that an audio link joins must run on one clock, unless the link's input converts its sample rate; so must devices
//! that go into one computer. On one clock, exactly one device leads and every other follows, directly or through others.
//!
//! ```text
//! ClockSystem ─ Wiring (who can feed whom) ─ components ─ cores (must be on one clock) ─ blocks (share a leader)
//!                                                                                        └ cheapest tree of each block
//! ```

mod block;
mod conflict;
mod partition;
mod set;
mod wiring;

use gainsay_gear::connection::{ClockSource, DigitalFormat};
use wiring::{Kept, Wiring};

/// A device as far as its clock goes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ClockDevice {
    /// Where it can take its clock from.
    pub sources: Vec<ClockSource>,
    /// Whether it gives word clock.
    pub word_clock_output: bool,
    /// Digital outputs that no audio link takes.
    pub outputs: Vec<FreePorts>,
    /// Digital inputs that no audio link takes.
    pub inputs: Vec<FreePorts>,
}

/// Equal digital ports that no audio link takes.
#[derive(Debug, Clone, PartialEq)]
pub struct FreePorts {
    /// Which group of the device's ports they belong to; handed back with the answer.
    pub group: usize,
    /// The formats that each of them can be switched to.
    pub formats: Vec<DigitalFormat>,
    /// How many there are.
    pub count: u32,
}

/// A digital audio connection from one device to another.
#[derive(Debug, Clone, PartialEq)]
pub struct AudioLink {
    /// Index of the device that sends.
    pub from: usize,
    /// Index of the device that receives.
    pub to: usize,
    /// The format.
    pub format: DigitalFormat,
    /// Whether the receiving input converts the sample rate, so that the ends may run on different clocks.
    pub converts_rate: bool,
}

/// Devices, their audio links, and what must be on one clock.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ClockSystem {
    /// The devices.
    pub devices: Vec<ClockDevice>,
    /// The audio links between them.
    pub links: Vec<AudioLink>,
    /// Devices that must be on one clock though no link joins them, because they go into one computer.
    pub together: Vec<Vec<usize>>,
    /// The device that the user wants to lead.
    pub leader: Option<usize>,
}

/// What a device does for the clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockRole {
    /// It runs on its own clock, and others may follow it.
    Leads,
    /// It follows another device.
    Follows {
        /// Index of the device that feeds it.
        from: usize,
        /// What its clock source is to be set to.
        source: ClockSource,
        /// How the clock gets there.
        by: ClockPath,
    },
}

/// How a clock gets from one device to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockPath {
    /// Embedded in an audio link: its index.
    Link(usize),
    /// Over a word clock cable; one output feeds any number of devices through T pieces.
    WordClock,
    /// Over the network.
    Network,
    /// Over a digital cable that is there for the clock alone.
    Cable {
        /// The group of the sending device's outputs ([`FreePorts::group`]).
        output_group: usize,
        /// The group of the receiving device's inputs.
        input_group: usize,
        /// The format that both are set to.
        format: DigitalFormat,
    },
}

/// Every device's role.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Clocking {
    /// For each device of the system its role.
    pub roles: Vec<ClockRole>,
    /// Links whose ends run on different clocks, through a sample-rate converter.
    pub converted: Vec<usize>,
}

impl Clocking {
    /// Digital cables that are there for the clock alone.
    #[must_use]
    pub fn cables(&self) -> usize {
        self.count(|by| matches!(by, ClockPath::Cable { .. }))
    }

    /// Devices that take word clock.
    #[must_use]
    pub fn word_clock_cables(&self) -> usize {
        self.count(|by| by == ClockPath::WordClock)
    }

    fn count(&self, wanted: impl Fn(ClockPath) -> bool) -> usize {
        let roles = self.roles.iter();
        roles.filter(|role| matches!(role, ClockRole::Follows { by, .. } if wanted(*by))).count()
    }

    /// The device that leads the clock on which `device` runs.
    #[must_use]
    pub fn leader_of(&self, device: usize) -> Option<usize> {
        let mut at = device;
        for _ in 0..=self.roles.len() {
            match self.roles.get(at)? {
                ClockRole::Leads => return Some(at),
                ClockRole::Follows { from, .. } => at = *from,
            }
        }
        None
    }
}

/// Devices that can't run on one clock though they must.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClockConflict {
    /// The devices.
    pub devices: Vec<usize>,
    /// The links that force them onto one clock: if any of these converted the sample rate, the others could stay. Empty where
    /// a device has no clock whatever it is joined to. For a loop: the links along it.
    pub links: Vec<usize>,
    /// The groups in [`ClockSystem::together`] that force them onto one clock, in the same sense.
    pub together: Vec<usize>,
    /// Why they can't.
    pub reason: ConflictReason,
}

/// Why devices can't run on one clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ConflictReason {
    /// Two devices have nothing to follow, so that each can only lead.
    OnlyLead(usize, usize),
    /// A device can't lead, and there is nothing that it could follow.
    NothingToFollow {
        /// The device.
        device: usize,
    },
    /// Each of the devices could only follow another of them, and none can lead.
    Loop,
    /// The device that was to lead has no clock of its own, or is not there.
    LeaderCannotLead {
        /// The device.
        device: usize,
    },
    /// The device that was to lead can't, because another can only lead.
    LeaderAgainst {
        /// The device that was to lead.
        leader: usize,
        /// The one that can only lead.
        other: usize,
    },
    /// With this device as the leader, another is left without a clock.
    LeaderDoesNotReach {
        /// The device that was to lead.
        leader: usize,
    },
    /// Whichever of the devices leads, another is left without a clock.
    NobodyReachesAll,
}

/// Gives every device its role: with the fewest cables that are there for the clock alone; then with the fewest word clock
/// cables; then with the fewest clocks, so that links that convert the sample rate carry one clock too where that costs no
/// cable; then with the earliest devices as leaders. The same system always gets the same answer.
///
/// A clock may come from any device that is connected, in whatever way, with the one that follows. Indices that name no device
/// are ignored, apart from the leader's. The search is exhaustive, with one limit: where sample-rate converters keep more than
/// twelve sets of devices apart in one connected system, it shares out the sets only by joining them pair by pair.
///
/// # Errors
/// When there is no such assignment: a smallest set of links and groups that can't all stay as they are, and why.
pub fn assign(system: &ClockSystem) -> Result<Clocking, ClockConflict> {
    let wiring = Wiring::new(system);
    if let Some(device) = system.leader
        && !wiring.leads(device)
    {
        let reason = ConflictReason::LeaderCannotLead { device };
        return Err(ClockConflict { devices: vec![device], links: Vec::new(), together: Vec::new(), reason });
    }
    let kept = Kept::all(system);
    let mut roles = vec![ClockRole::Leads; system.devices.len()];
    for component in wiring.components() {
        let cores = wiring.cores(&component, &kept);
        let Some(plans) = partition::cheapest(&wiring, &cores, system.leader) else {
            return Err(conflict::explain(&wiring, &component));
        };
        for (block, plan) in &plans {
            block.write_roles(&wiring, plan, &mut roles);
        }
    }
    let mut clocking = Clocking { roles, converted: Vec::new() };
    clocking.converted = system
        .links
        .iter()
        .enumerate()
        .filter(|(_, link)| link.from < system.devices.len() && link.to < system.devices.len())
        .filter(|(_, link)| clocking.leader_of(link.from) != clocking.leader_of(link.to))
        .map(|(index, _)| index)
        .collect();
    Ok(clocking)
}
