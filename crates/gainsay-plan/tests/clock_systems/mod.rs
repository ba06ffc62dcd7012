//! Small clock systems by hand and at random, and everything that a device in one could do.

#![allow(clippy::indexing_slicing, reason = "only tests use this")]

use gainsay_gear::connection::{ClockSource, DigitalFormat};
use gainsay_plan::patch::clock::{AudioLink, ClockDevice, ClockPath, ClockRole, ClockSystem, FreePorts};

pub(crate) type Device = ClockDevice;

pub(crate) fn device(sources: &[ClockSource]) -> Device {
    ClockDevice { sources: sources.to_vec(), ..ClockDevice::default() }
}

pub(crate) fn link(from: usize, to: usize, format: DigitalFormat) -> AudioLink {
    AudioLink { from, to, format, converts_rate: false }
}

pub(crate) fn aes3() -> DigitalFormat {
    DigitalFormat::Aes3
}

pub(crate) fn coaxial() -> DigitalFormat {
    DigitalFormat::Iec60958Coaxial
}

pub(crate) fn optical8() -> DigitalFormat {
    DigitalFormat::EightChannelOptical
}

/// Which clock source reads which format: written out here once more, from the names of the sources.
fn reads(source: ClockSource, format: DigitalFormat) -> bool {
    match source {
        ClockSource::Internal | ClockSource::WordClock => false,
        ClockSource::Aes11 | ClockSource::Aes3 => format == DigitalFormat::Aes3,
        ClockSource::Iec60958Coaxial => format == DigitalFormat::Iec60958Coaxial,
        ClockSource::Iec60958Optical => format == DigitalFormat::Iec60958Optical,
        ClockSource::EightChannelOptical => format == DigitalFormat::EightChannelOptical,
        ClockSource::Aes10 => matches!(format, DigitalFormat::Aes10 | DigitalFormat::Aes10Varispeed),
        ClockSource::Aes67 => format == DigitalFormat::Aes67,
    }
}

/// For each device the set that it is connected with, in whatever way.
fn sets(system: &ClockSystem) -> Vec<usize> {
    let mut set: Vec<usize> = (0..system.devices.len()).collect();
    let mut pairs: Vec<(usize, usize)> = system.links.iter().map(|link| (link.from, link.to)).collect();
    for group in &system.together {
        pairs.extend(group.iter().map(|device| (group[0], *device)));
    }
    for _ in 0..system.devices.len() {
        for (a, b) in &pairs {
            let least = set[*a].min(set[*b]);
            set[*a] = least;
            set[*b] = least;
        }
    }
    set
}

/// Whether all devices are connected.
pub(crate) fn is_connected(system: &ClockSystem) -> bool {
    sets(system).iter().all(|set| *set == 0)
}

/// Everything that a device could do, without regard to the others.
pub(crate) fn options(system: &ClockSystem, device: usize) -> Vec<ClockRole> {
    let me = &system.devices[device];
    let sets = sets(system);
    let mut options = Vec::new();
    for &source in &me.sources {
        if source == ClockSource::Internal {
            options.push(ClockRole::Leads);
        }
        for (from, other) in system.devices.iter().enumerate() {
            if from == device || sets[from] != sets[device] {
                continue;
            }
            let mut follow = |by| options.push(ClockRole::Follows { from, source, by });
            if source == ClockSource::WordClock && other.word_clock_output {
                follow(ClockPath::WordClock);
            }
            if source == ClockSource::Aes67 {
                let port =
                    |ports: &FreePorts| ports.count > 0 && ports.formats.contains(&DigitalFormat::Aes67);
                let linked = system.links.iter().any(|link| {
                    link.format == DigitalFormat::Aes67 && (link.from == from || link.to == from)
                });
                if other.outputs.iter().any(port) || other.inputs.iter().any(port) || linked {
                    follow(ClockPath::Network);
                }
                continue;
            }
            for (index, link) in system.links.iter().enumerate() {
                if link.from == from && link.to == device && reads(source, link.format) {
                    follow(ClockPath::Link(index));
                }
            }
            for output in other.outputs.iter().filter(|ports| ports.count > 0) {
                for input in me.inputs.iter().filter(|ports| ports.count > 0) {
                    for format in output.formats.iter().filter(|format| input.formats.contains(format)) {
                        if reads(source, *format) {
                            let (output_group, input_group) = (output.group, input.group);
                            follow(ClockPath::Cable { output_group, input_group, format: *format });
                        }
                    }
                }
            }
        }
    }
    options
}

/// How many assignments there are.
pub(crate) fn count_options(system: &ClockSystem) -> usize {
    (0..system.devices.len()).fold(1, |product, device| product * options(system, device).len().max(1))
}

/// Numbers at random (SplitMix64), the same on every machine.
pub(crate) struct Random(pub(crate) u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, limit: usize) -> usize {
        (self.next() % limit as u64) as usize
    }

    fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    fn of<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[self.below(choices.len())]
    }
}

const FORMATS: [DigitalFormat; 7] = [
    DigitalFormat::Aes3,
    DigitalFormat::Aes3,
    DigitalFormat::Iec60958Coaxial,
    DigitalFormat::EightChannelOptical,
    DigitalFormat::EightChannelOptical,
    DigitalFormat::Aes10,
    DigitalFormat::Aes67,
];

const SOURCES: [ClockSource; 7] = [
    ClockSource::WordClock,
    ClockSource::Aes3,
    ClockSource::Aes11,
    ClockSource::Iec60958Coaxial,
    ClockSource::EightChannelOptical,
    ClockSource::Aes10,
    ClockSource::Aes67,
];

fn ports(random: &mut Random, few: &[DigitalFormat], percent: usize) -> Vec<FreePorts> {
    let mut groups = Vec::new();
    while groups.len() < 2 && random.chance(percent) {
        let mut formats = vec![random.of(few)];
        if random.chance(30) {
            let other = random.of(few);
            if !formats.contains(&other) {
                formats.push(other);
            }
        }
        groups.push(FreePorts { group: groups.len() * 2 + 1, formats, count: random.below(3) as u32 });
    }
    groups
}

/// A system of one to eight devices. Each draws its formats from a few, so that ends meet often.
pub(crate) fn random_system(random: &mut Random) -> ClockSystem {
    let n = 1 + random.below(8);
    let few: Vec<DigitalFormat> = (0..1 + random.below(3)).map(|_| random.of(&FORMATS)).collect();
    let own_clock = random.of(&[30, 60, 90]);
    let port_chance = random.of(&[15, 35, 60]);
    let word_chance = random.of(&[10, 35]);
    let devices = (0..n)
        .map(|_| {
            let mut sources = Vec::new();
            if random.chance(own_clock) {
                sources.push(ClockSource::Internal);
            }
            for source in SOURCES {
                let fits =
                    source == ClockSource::WordClock || few.iter().any(|format| reads(source, *format));
                if random.chance(if fits { 45 } else { 3 }) {
                    sources.push(source);
                }
            }
            ClockDevice {
                sources,
                word_clock_output: random.chance(word_chance),
                outputs: ports(random, &few, port_chance),
                inputs: ports(random, &few, port_chance),
            }
        })
        .collect();
    let converting = random.of(&[0, 20, 70]);
    let mut links = Vec::new();
    for _ in 0..random.below(n + 2) {
        let (from, to) = (random.below(n), random.below(n));
        if from != to {
            links.push(AudioLink {
                from,
                to,
                format: random.of(&few),
                converts_rate: random.chance(converting),
            });
        }
    }
    let mut together = Vec::new();
    while random.chance(30) && together.len() < 2 {
        together.push((0..2 + random.below(2)).map(|_| random.below(n)).collect());
    }
    let leader = random.chance(25).then(|| random.below(n));
    ClockSystem { devices, links, together, leader }
}
