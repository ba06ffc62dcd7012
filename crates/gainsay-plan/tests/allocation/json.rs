//! An allocation problem as the mixed-integer model reads it.

use gainsay_plan::patch::allocation::Allocation;
use serde_json::{Value, json};

/// The problem; `forbidden` are sets of wires that can't all be in use at once.
pub(crate) fn as_json(name: &str, is_assignment: bool, of: &Allocation, forbidden: &[Vec<usize>]) -> Value {
    json!({
        "name": name,
        "assignment": is_assignment,
        "points": of.points,
        "lines": of.lines.iter().map(|l| json!([l.sources, l.changes, l.rank])).collect::<Vec<_>>(),
        "choices": of.choices.iter().map(|c| {
            json!([c.line, c.place, c.short, c.tight, c.changes, c.penalty, c.cables, c.rank])
        }).collect::<Vec<_>>(),
        "wires": of.wires.iter().map(|w| json!([w.from, w.to, w.channels, w.per_cable, w.penalty])).collect::<Vec<_>>(),
        "ports": of.ports.iter().map(|p| json!({ "wires": p.wires, "count": p.count })).collect::<Vec<_>>(),
        "supplies": of.supplies.iter().map(|s| json!({ "draws": s.draws, "total": s.total })).collect::<Vec<_>>(),
        "pairs": of.pairs,
        "forbidden": forbidden,
    })
}
