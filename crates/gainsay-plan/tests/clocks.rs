#![cfg(test)]
//! Who leads the clock: against every possible assignment, tried one by one, and by hand.
//!
//! The rules are those of digital audio practice: one leader for all that exchange samples without a converter (AES11), one
//! cable for every port. Nothing published lists assignments, so the check is the exhaustive search below, which shares no
//! code with the one that it checks.

mod clock_systems;

use clock_systems::{
    Device, Random, aes3, coaxial, count_options, device, is_connected, link, optical8, random_system,
};
use gainsay_gear::connection::{ClockSource, DigitalFormat};
use gainsay_plan::patch::clock::{
    AudioLink, ClockPath, ClockRole, ClockSystem, Clocking, ConflictReason, FreePorts, assign,
};

use ClockSource::{EightChannelOptical, Internal, WordClock};

/// What an assignment costs, in the order in which the costs count.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Price {
    cables: usize,
    words: usize,
    clocks: usize,
    leaders: Vec<usize>,
}

/// Everything that a device could do, without regard to the others.
fn options(system: &ClockSystem, device: usize) -> Vec<ClockRole> {
    clock_systems::options(system, device)
}

/// Which links and groups force their devices onto one clock.
struct Forced {
    links: Vec<bool>,
    together: Vec<bool>,
}

fn forced(system: &ClockSystem) -> Forced {
    Forced {
        links: system.links.iter().map(|link| !link.converts_rate).collect(),
        together: vec![true; system.together.len()],
    }
}

/// The price of an assignment, or what is wrong with it.
fn price(system: &ClockSystem, roles: &[ClockRole], forced: &Forced) -> Result<Price, String> {
    let n = system.devices.len();
    let mut leader_of = vec![usize::MAX; n];
    for (start, leader) in leader_of.iter_mut().enumerate() {
        let (mut at, mut steps) = (start, 0);
        while let ClockRole::Follows { from, .. } = roles[at] {
            at = from;
            steps += 1;
            if steps > n {
                return Err(format!("device {start} is in a loop"));
            }
        }
        *leader = at;
    }
    for (index, link) in system.links.iter().enumerate() {
        if forced.links[index] && leader_of[link.from] != leader_of[link.to] {
            return Err(format!("link {index} joins two clocks"));
        }
    }
    for (index, group) in system.together.iter().enumerate() {
        if forced.together[index] && group.iter().any(|device| leader_of[*device] != leader_of[group[0]]) {
            return Err(format!("group {index} is on two clocks"));
        }
    }
    if system.leader.is_some_and(|leader| roles[leader] != ClockRole::Leads) {
        return Err("the wanted leader follows".to_owned());
    }
    let mut used: Vec<(bool, usize, usize)> = Vec::new();
    let (mut cables, mut words) = (0, 0);
    for (to, role) in roles.iter().enumerate() {
        let ClockRole::Follows { from, by, .. } = role else { continue };
        match by {
            ClockPath::WordClock => words += 1,
            ClockPath::Cable { output_group, input_group, .. } => {
                cables += 1;
                used.push((true, *from, *output_group));
                used.push((false, to, *input_group));
            }
            ClockPath::Link(_) | ClockPath::Network => {}
        }
    }
    for port in &used {
        let (output, device, group) = *port;
        let device = &system.devices[device];
        let groups = if output { &device.outputs } else { &device.inputs };
        let free = groups.iter().find(|ports| ports.group == group).unwrap().count as usize;
        let taken = used.iter().filter(|other| *other == port).count();
        if taken > free {
            return Err(format!("{taken} cables at a group of {free} ports"));
        }
    }
    let leaders: Vec<usize> = (0..n).filter(|device| leader_of[*device] == *device).collect();
    Ok(Price { cables, words, clocks: leaders.len(), leaders })
}

/// The cheapest of all assignments, each looked at.
fn brute_force(system: &ClockSystem, forced: &Forced) -> Option<Price> {
    let options: Vec<Vec<ClockRole>> =
        (0..system.devices.len()).map(|device| options(system, device)).collect();
    if options.iter().any(Vec::is_empty) {
        return None;
    }
    let mut at = vec![0; options.len()];
    let mut best: Option<Price> = None;
    loop {
        let roles: Vec<ClockRole> = at.iter().zip(&options).map(|(at, options)| options[*at]).collect();
        if let Ok(price) = price(system, &roles, forced)
            && best.as_ref().is_none_or(|best| price < *best)
        {
            best = Some(price);
        }
        let Some(place) = (0..at.len()).find(|place| at[*place] + 1 < options[*place].len()) else {
            return best;
        };
        at[place] += 1;
        at[..place].fill(0);
    }
}

fn assert_valid(system: &ClockSystem, clocking: &Clocking) -> Price {
    assert_eq!(clocking.roles.len(), system.devices.len());
    for (device, role) in clocking.roles.iter().enumerate() {
        assert!(options(system, device).contains(role), "device {device} can't be {role:?} in {system:?}");
    }
    let price = price(system, &clocking.roles, &forced(system))
        .unwrap_or_else(|wrong| panic!("{wrong}: {clocking:?} for {system:?}"));
    let apart: Vec<usize> = (0..system.links.len())
        .filter(|index| {
            let link = &system.links[*index];
            clocking.leader_of(link.from) != clocking.leader_of(link.to)
        })
        .collect();
    assert_eq!(clocking.converted, apart, "links between two clocks in {clocking:?}");
    assert_eq!((clocking.cables(), clocking.word_clock_cables()), (price.cables, price.words));
    price
}

#[test]
fn the_cheapest_of_all_assignments() {
    let mut random = Random(20_261);
    let (mut tried, mut feasible, mut cabled, mut worded, mut many_clocks, mut pinned) = (0, 0, 0, 0, 0, 0);
    let mut sizes = [0; 9];
    while tried < 12_000 {
        let system = random_system(&mut random);
        if count_options(&system) > 30_000 {
            continue;
        }
        tried += 1;
        sizes[system.devices.len()] += 1;
        let want = brute_force(&system, &forced(&system));
        match (assign(&system), &want) {
            (Ok(clocking), Some(want)) => {
                let got = assert_valid(&system, &clocking);
                assert_eq!(got, *want, "system {tried}: {clocking:?} for {system:?}");
                feasible += 1;
                cabled += usize::from(want.cables > 0);
                worded += usize::from(want.words > 0);
                many_clocks += usize::from(want.clocks > 1 && want.cables + want.words > 0);
                pinned += usize::from(system.leader.is_some());
            }
            (Err(_), None) => {}
            (got, want) => panic!("system {tried}: {got:?} where {want:?} is possible in {system:?}"),
        }
    }
    eprintln!(
        "{tried} systems by size {sizes:?}: {feasible} feasible, {cabled} with cables, {worded} with word clock, \
         {many_clocks} with several clocks and cables, {pinned} with a wanted leader"
    );
    // The draw must reach every corner, or the comparison says little.
    for (what, count, least) in [
        ("feasible", feasible, 2_500),
        ("infeasible", tried - feasible, 2_500),
        ("with cables", cabled, 100),
        ("with word clock", worded, 300),
        ("with several clocks", many_clocks, 30),
        ("with a wanted leader", pinned, 300),
        ("of eight devices", sizes[8], 500),
    ] {
        assert!(count >= least, "only {count} systems {what}, at least {least} wanted");
    }
}

// Upholding only what the conflict names stays impossible; leaving out any one of it makes it possible.
#[test]
fn conflicts_are_smallest() {
    let mut random = Random(7);
    let (mut tried, mut reasons) = (0, [0; 7]);
    while tried < 700 {
        let system = random_system(&mut random);
        // In a system of several parts each may have a conflict of its own; only the first is named.
        if count_options(&system) > 8_000 || !is_connected(&system) {
            continue;
        }
        let Err(conflict) = assign(&system) else { continue };
        tried += 1;
        let says = format!("{conflict:?} for {system:?}");
        let upheld = |left_out_link: Option<usize>, left_out_group: Option<usize>| Forced {
            links: (0..system.links.len())
                .map(|link| conflict.links.contains(&link) && left_out_link != Some(link))
                .collect(),
            together: (0..system.together.len())
                .map(|group| conflict.together.contains(&group) && left_out_group != Some(group))
                .collect(),
        };
        let stuck = |device: usize| {
            let options = options(&system, device);
            options.iter().all(|role| *role == ClockRole::Leads)
        };
        let no_lead = |device: usize| !options(&system, device).contains(&ClockRole::Leads);
        let mut smallest = true;
        let at = match conflict.reason {
            ConflictReason::OnlyLead(a, b) => {
                assert!(a != b && stuck(a) && stuck(b) && !no_lead(a) && !no_lead(b), "{says}");
                assert!(conflict.devices.contains(&a) && conflict.devices.contains(&b), "{says}");
                0
            }
            ConflictReason::NothingToFollow { device } => {
                assert!(options(&system, device).is_empty(), "{says}");
                smallest = false;
                1
            }
            ConflictReason::Loop => {
                for device in &conflict.devices {
                    assert!(no_lead(*device), "{says}");
                    let fed = options(&system, *device).iter().any(
                        |role| matches!(role, ClockRole::Follows { from, .. } if conflict.devices.contains(from)),
                    );
                    assert!(fed, "device {device} has no part in the loop: {says}");
                }
                smallest = false;
                2
            }
            ConflictReason::LeaderCannotLead { device } => {
                assert!(system.leader == Some(device) && no_lead(device), "{says}");
                continue;
            }
            ConflictReason::LeaderAgainst { leader, other } => {
                assert!(system.leader == Some(leader) && leader != other && stuck(other), "{says}");
                3
            }
            ConflictReason::LeaderDoesNotReach { leader } => {
                assert!(system.leader == Some(leader), "{says}");
                4
            }
            ConflictReason::NobodyReachesAll => {
                smallest = !conflict.links.is_empty() || !conflict.together.is_empty();
                5 + usize::from(!smallest)
            }
        };
        reasons[at] += 1;
        assert_eq!(brute_force(&system, &upheld(None, None)), None, "what it names is possible: {says}");
        assert!(smallest != (conflict.links.is_empty() && conflict.together.is_empty()) || at == 2, "{says}");
        if smallest {
            for link in &conflict.links {
                let without = brute_force(&system, &upheld(Some(*link), None));
                assert!(without.is_some(), "link {link} is not needed: {says}");
            }
            for group in &conflict.together {
                let without = brute_force(&system, &upheld(None, Some(*group)));
                assert!(without.is_some(), "group {group} is not needed: {says}");
            }
        }
    }
    eprintln!("conflicts by reason: {reasons:?}");
    assert!(reasons[..6].iter().all(|count| *count >= 3), "every reason, at least three times: {reasons:?}");
}

fn follows(from: usize, source: ClockSource, by: ClockPath) -> ClockRole {
    ClockRole::Follows { from, source, by }
}

fn roles(system: &ClockSystem) -> Vec<ClockRole> {
    let clocking = assign(system).unwrap_or_else(|conflict| panic!("{conflict:?}"));
    assert_valid(system, &clocking);
    clocking.roles
}

fn system(devices: Vec<Device>, links: Vec<AudioLink>) -> ClockSystem {
    ClockSystem { devices, links, ..ClockSystem::default() }
}

// Common practice, no source: a box with an optical output and nothing else leads, and the interface is set to its optical
// input.
#[test]
fn an_interface_follows_a_box_that_can_only_lead() {
    let interface = device(&[Internal, EightChannelOptical]);
    let studio = system(vec![interface, device(&[Internal])], vec![link(1, 0, optical8())]);
    let by_link = follows(1, EightChannelOptical, ClockPath::Link(0));
    assert_eq!(roles(&studio), [by_link, ClockRole::Leads]);
    // The interface can't be made to lead then.
    let conflict = assign(&ClockSystem { leader: Some(0), ..studio.clone() }).unwrap_err();
    assert_eq!(conflict.reason, ConflictReason::LeaderAgainst { leader: 0, other: 1 });
    assert_eq!((conflict.devices, conflict.links), (vec![0, 1], vec![0]));
    let conflict = assign(&ClockSystem { leader: Some(2), ..studio }).unwrap_err();
    assert_eq!(conflict.reason, ConflictReason::LeaderCannotLead { device: 2 });
}

// Two such boxes can't be on one clock; one input that converts the sample rate is enough.
#[test]
fn two_boxes_that_can_only_lead() {
    let devices = || vec![device(&[Internal, EightChannelOptical]), device(&[Internal]), device(&[Internal])];
    let mut studio = system(devices(), vec![link(1, 0, optical8()), link(2, 0, optical8())]);
    let conflict = assign(&studio).unwrap_err();
    assert_eq!(conflict.reason, ConflictReason::OnlyLead(1, 2));
    assert_eq!((conflict.devices, conflict.links), (vec![0, 1, 2], vec![0, 1]));

    studio.links[1].converts_rate = true;
    let clocking = assign(&studio).unwrap();
    let by_link = follows(1, EightChannelOptical, ClockPath::Link(0));
    assert_eq!(clocking.roles, [by_link, ClockRole::Leads, ClockRole::Leads]);
    assert_eq!(clocking.converted, [1]);

    // Two interfaces in one computer, each with such a box: the computer is what forces them together.
    let mut studio = system(devices(), vec![]);
    studio.together = vec![vec![0, 1], vec![1, 2]];
    let conflict = assign(&studio).unwrap_err();
    assert_eq!(conflict.reason, ConflictReason::OnlyLead(0, 1), "no optical link, nothing to follow");
    assert_eq!((conflict.devices, conflict.together), (vec![0, 1], vec![0]));
}

// A link that converts the sample rate carries the clock too, where that costs nothing.
#[test]
fn one_clock_through_a_converting_link_where_it_is_free() {
    let mut through = link(0, 1, aes3());
    through.converts_rate = true;
    let follower = device(&[Internal, ClockSource::Aes3]);
    let studio = system(vec![device(&[Internal]), follower], vec![through.clone()]);
    assert_eq!(roles(&studio), [ClockRole::Leads, follows(0, ClockSource::Aes3, ClockPath::Link(0))]);
    // But no word clock cable is laid for it.
    let mut leader = device(&[Internal]);
    leader.word_clock_output = true;
    let studio = system(vec![leader, device(&[Internal, WordClock])], vec![through]);
    let clocking = assign(&studio).unwrap();
    assert_eq!(clocking.roles, [ClockRole::Leads, ClockRole::Leads]);
    assert_eq!(clocking.converted, [0]);
}

#[test]
fn a_loop_and_a_device_with_nothing_to_follow() {
    let follower = || device(&[ClockSource::Aes3]);
    let studio = system(vec![follower(), follower()], vec![link(0, 1, aes3()), link(1, 0, aes3())]);
    let conflict = assign(&studio).unwrap_err();
    assert_eq!(conflict.reason, ConflictReason::Loop);
    assert_eq!((conflict.devices, conflict.links), (vec![0, 1], vec![0, 1]));
    // One of the two with a clock of its own ends the loop, whichever comes first.
    let studio = system(
        vec![follower(), device(&[Internal, ClockSource::Aes3])],
        vec![link(0, 1, aes3()), link(1, 0, aes3())],
    );
    assert_eq!(roles(&studio), [follows(1, ClockSource::Aes3, ClockPath::Link(1)), ClockRole::Leads]);

    let studio = system(vec![device(&[Internal]), device(&[WordClock])], vec![link(0, 1, aes3())]);
    let conflict = assign(&studio).unwrap_err();
    assert_eq!(conflict.reason, ConflictReason::NothingToFollow { device: 1 });
    assert_eq!((conflict.devices, conflict.links), (vec![1], vec![]));
}

// AES11: a reference over an AES3 output of its own, where the audio goes the other way.
#[test]
fn aes11_reference_over_a_cable_of_its_own() {
    let mut recorder = device(&[Internal]);
    recorder.outputs = vec![FreePorts { group: 3, formats: vec![coaxial(), aes3()], count: 1 }];
    let mut converter = device(&[ClockSource::Aes11]);
    converter.inputs = vec![FreePorts { group: 5, formats: vec![aes3()], count: 1 }];
    let studio = system(vec![recorder, converter.clone()], vec![link(1, 0, aes3())]);
    let by = ClockPath::Cable { output_group: 3, input_group: 5, format: DigitalFormat::Aes3 };
    assert_eq!(roles(&studio), [ClockRole::Leads, follows(0, ClockSource::Aes11, by)]);
    // A second converter finds the one output taken.
    let mut two = studio.clone();
    two.devices.push(converter);
    two.links.push(link(2, 0, aes3()));
    let conflict = assign(&two).unwrap_err();
    assert_eq!(conflict.reason, ConflictReason::NobodyReachesAll);
    // Word clock, where there is some, spares the cable.
    let mut word = studio;
    word.devices[0].word_clock_output = true;
    word.devices[1].sources.push(WordClock);
    assert_eq!(roles(&word), [ClockRole::Leads, follows(0, WordClock, ClockPath::WordClock)]);
}

// One word clock output feeds all through T pieces; a box at the end of an optical link passes it on.
#[test]
fn word_clock_for_many_and_onward() {
    let follower = || device(&[Internal, WordClock]);
    let mut leader = device(&[Internal]);
    leader.word_clock_output = true;
    let links = vec![link(1, 0, optical8()), link(2, 0, optical8()), link(3, 0, optical8())];
    let studio = system(vec![leader, follower(), follower(), follower()], links);
    let word = follows(0, WordClock, ClockPath::WordClock);
    assert_eq!(roles(&studio), [ClockRole::Leads, word, word, word]);

    // The interface has no word clock, but its optical output feeds a box that has.
    let mut box_with_word = device(&[Internal, EightChannelOptical]);
    box_with_word.word_clock_output = true;
    let studio = system(
        vec![device(&[Internal]), box_with_word, device(&[WordClock])],
        vec![link(0, 1, optical8()), link(1, 0, optical8()), link(2, 0, optical8())],
    );
    assert_eq!(
        roles(&studio),
        [
            ClockRole::Leads,
            follows(0, EightChannelOptical, ClockPath::Link(0)),
            follows(1, WordClock, ClockPath::WordClock)
        ]
    );
}

// Led by the first device, the third needs the digital cable and the second word clock from it; led by the second, the first
// follows over the audio link and the cable is all. The later leader is the cheaper one.
#[test]
fn a_later_leader_that_spares_a_cable() {
    let out = || vec![FreePorts { group: 0, formats: vec![aes3()], count: 1 }];
    let first = Device { outputs: out(), ..device(&[Internal, ClockSource::Aes3]) };
    let second = device(&[Internal, WordClock]);
    let third = Device { inputs: out(), word_clock_output: true, ..device(&[WordClock, ClockSource::Aes3]) };
    let mut studio = system(vec![first, second, third], vec![link(1, 0, aes3())]);
    studio.together = vec![vec![0, 1, 2]];
    let by = ClockPath::Cable { output_group: 0, input_group: 0, format: DigitalFormat::Aes3 };
    assert_eq!(
        roles(&studio),
        [
            follows(1, ClockSource::Aes3, ClockPath::Link(0)),
            ClockRole::Leads,
            follows(0, ClockSource::Aes3, by)
        ]
    );
    studio.leader = Some(0);
    let word = follows(2, WordClock, ClockPath::WordClock);
    assert_eq!(roles(&studio), [ClockRole::Leads, word, follows(0, ClockSource::Aes3, by)]);
}

#[test]
fn the_network_feeds_all_that_take_it() {
    let on_network = || {
        let mut device = device(&[Internal, ClockSource::Aes67]);
        device.inputs = vec![FreePorts { group: 0, formats: vec![DigitalFormat::Aes67], count: 1 }];
        device
    };
    let mut studio = system(vec![on_network(), on_network(), on_network()], vec![]);
    studio.together = vec![vec![0, 1, 2]];
    studio.leader = Some(1);
    let network = follows(1, ClockSource::Aes67, ClockPath::Network);
    assert_eq!(roles(&studio), [network, ClockRole::Leads, network]);
}

// Indices that name nothing, no devices, a link from a device to itself.
#[test]
fn odd_systems_are_answered() {
    assert_eq!(assign(&ClockSystem::default()).unwrap().roles, []);
    let mut studio = system(vec![device(&[Internal])], vec![link(0, 9, aes3()), link(0, 0, aes3())]);
    studio.together = vec![vec![], vec![0, 7], vec![0, 0]];
    let clocking = assign(&studio).unwrap();
    assert_eq!((clocking.roles, clocking.converted), (vec![ClockRole::Leads], vec![]));
}

#[test]
fn settings_and_conflicts_in_words() {
    let names = ["the interface", "the box", "the converter"];
    let name = |device: usize| names[device].to_owned();
    let interface = device(&[Internal, EightChannelOptical]);
    let mut studio = system(
        vec![interface, device(&[Internal]), device(&[ClockSource::Aes3, WordClock])],
        vec![link(1, 0, optical8()), link(2, 0, aes3())],
    );
    studio.devices[1].word_clock_output = true;
    assert_eq!(
        gainsay_plan::words::clock::settings(&assign(&studio).unwrap(), name),
        [
            "Set the clock of the interface to its eight-channel optical input: it follows the box.",
            "Set the clock of the box to internal: it leads.",
            "Set the clock of the converter to its word clock: it follows the box, over a word clock cable."
        ]
    );
    let say = |studio: &ClockSystem| gainsay_plan::words::clock::conflict(&assign(studio).unwrap_err(), name);
    studio.devices[1].word_clock_output = false;
    assert_eq!(
        say(&studio),
        "The converter has no clock of its own, and nothing here gives it one that it can follow."
    );
    studio.devices[2].sources = vec![Internal];
    assert_eq!(
        say(&studio),
        "The interface and the converter must run on one clock, but whichever leads, another is left without."
    );
}

// Many devices: a studio of twenty-four, and one in which sample-rate converters keep many apart.
#[test]
fn many_devices() {
    let mut leader = device(&[Internal]);
    leader.word_clock_output = true;
    let mut devices = vec![leader];
    let mut links = Vec::new();
    for box_number in 1..24 {
        let sources =
            if box_number % 2 == 0 { [Internal, WordClock] } else { [Internal, EightChannelOptical] };
        devices.push(device(&sources));
        let (from, to) = if box_number % 2 == 0 { (box_number, 0) } else { (0, box_number) };
        links.push(link(from, to, optical8()));
    }
    let mut studio = system(devices, links);
    let price = assert_valid(&studio, &assign(&studio).unwrap());
    assert_eq!(price, Price { cables: 0, words: 11, clocks: 1, leaders: vec![0] });
    // Converters at the leader's inputs spare all the word clock cables.
    for link in studio.links.iter_mut().filter(|link| link.to == 0) {
        link.converts_rate = true;
    }
    let price = assert_valid(&studio, &assign(&studio).unwrap());
    assert_eq!((price.cables, price.words, price.clocks), (0, 0, 12));
    // Two that can only lead among them.
    studio.links.iter_mut().for_each(|link| link.converts_rate = false);
    for stubborn in [6, 14] {
        studio.devices[stubborn].sources = vec![Internal];
    }
    let conflict = assign(&studio).unwrap_err();
    assert_eq!(conflict.reason, ConflictReason::OnlyLead(0, 6));
    assert_eq!(conflict.links.len(), 1, "{conflict:?}");
}
