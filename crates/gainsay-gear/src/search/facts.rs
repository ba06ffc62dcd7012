//! Facts of a device that conditions ask for.

use crate::connection::ComputerLink;
use crate::microphone::PhantomNeed;
use crate::{Device, FrontEnd, Model};
use serde::Serialize;
use std::fmt::{self, Display, Formatter};

/// What can be asked for.
pub(super) const KEYS: [&str; 14] = [
    "type",
    "id",
    "name",
    "like",
    "price",
    "inputs",
    "phantom",
    "transducer",
    "pattern",
    "connector",
    "stage",
    "computer",
    "format",
    "clock",
];

/// Facts as keys and words; numbers are words too. The device has been filled with what is typical.
pub(super) fn of(device: &Device) -> Vec<(&'static str, String)> {
    let mut facts = vec![
        ("type", device.device_type().word().to_owned()),
        ("id", device.id.clone()),
        ("name", device.name.clone()),
    ];
    facts.extend(device.like.as_ref().map(|like| ("like", like.value.clone())));
    facts.extend(device.price.map(|price| ("price", price.to_string())));
    match &device.model {
        Model::Microphone(microphone) => {
            add(&mut facts, "transducer", microphone.transducer);
            add(&mut facts, "pattern", microphone.pattern);
            add(&mut facts, "connector", microphone.connector);
            add(&mut facts, "phantom", microphone.phantom);
            let needs = microphone.phantom == Some(PhantomNeed::Required);
            facts.push(("phantom", yes_or_no(needs)));
        }
        Model::Booster(booster) => {
            add(&mut facts, "stage", booster.input_stage);
            facts.push(("inputs", "1".to_owned()));
        }
        Model::Preamp(front_end) | Model::Interface(front_end) | Model::Converter(front_end) => {
            of_front_end(&mut facts, front_end);
        }
        Model::Cable(cable) => {
            add(&mut facts, "connector", cable.from_connector);
            add(&mut facts, "connector", cable.to_connector);
        }
    }
    facts
}

fn of_front_end(facts: &mut Vec<(&'static str, String)>, front_end: &FrontEnd) {
    facts.push(("inputs", front_end.n_microphone_inputs().to_string()));
    let supplies = front_end.microphone_inputs.iter().any(|group| group.phantom == Some(true));
    facts.push(("phantom", yes_or_no(supplies)));
    for group in &front_end.microphone_inputs {
        add(facts, "connector", group.connector);
        add(facts, "stage", group.input_stage);
    }
    for group in &front_end.line_inputs {
        add(facts, "connector", group.connector);
    }
    for port in front_end.digital_inputs.iter().chain(&front_end.digital_outputs) {
        add(facts, "format", port.format);
        port.switchable_to.iter().flatten().for_each(|format| add(facts, "format", Some(*format)));
    }
    front_end.whole.clock_sources.iter().flatten().for_each(|clock| add(facts, "clock", Some(*clock)));
    add(facts, "computer", front_end.whole.computer);
    if front_end.whole.computer == Some(ComputerLink::Recorder) {
        facts.push(("type", "recorder".to_owned()));
    }
}

/// A word of the file format, as a file writes it.
fn add<T: Serialize>(facts: &mut Vec<(&'static str, String)>, key: &'static str, value: Option<T>) {
    facts.extend(value.map(|value| (key, Word(value).to_string())));
}

/// One of the words of the file format: a formatter writes the name of a variant.
struct Word<T>(T);

impl<T: Serialize> Display for Word<T> {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        self.0.serialize(f)
    }
}

fn yes_or_no(is: bool) -> String {
    if is { "yes" } else { "no" }.to_owned()
}
