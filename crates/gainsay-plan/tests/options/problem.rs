//! A model as `model.py` reads it.

use crate::json::as_json;
use gainsay_plan::options::Model;
use serde_json::{Value, json};

/// A clash of clocks that was met: the wires, with how many there were of each device and what was in use.
#[derive(Debug, Clone)]
pub(crate) struct Clash {
    pub(crate) wires: Vec<usize>,
    pub(crate) counts: Vec<u32>,
    pub(crate) in_use: Vec<usize>,
}

/// A model as the mixed-integer program reads it.
pub(crate) fn problem(name: &str, model: &Model, clashes: &[Clash], frontier: bool) -> Value {
    let lasting = model.lasting_clashes().into_iter().map(|(one, other)| vec![one, other]);
    let mut problem = as_json(name, false, &model.allocation, &lasting.collect::<Vec<_>>());
    let devices = model.devices.iter().map(|d| json!([d.base, d.most, d.price.hundredths()]));
    let clashes = clashes
        .iter()
        .map(|clash| json!({ "wires": clash.wires, "counts": clash.counts, "in_use": clash.in_use }));
    for (key, value) in [
        ("devices", devices.collect()),
        ("boxes", model.boxes.iter().map(|of| json!([of.device, of.copy])).collect()),
        ("box_of", json!(model.box_of)),
        ("resource_of", json!(model.resource_of)),
        ("needs", json!(model.needs)),
        ("budget", json!(model.budget.map(gainsay_plan::Price::hundredths))),
        ("clashes", clashes.collect()),
        ("frontier", json!(frontier)),
    ] {
        if let Some(fields) = problem.as_object_mut() {
            fields.insert(key.to_owned(), value);
        }
    }
    problem
}
