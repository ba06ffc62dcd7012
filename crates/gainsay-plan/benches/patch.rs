//! How long it takes on one core to plug 64 sources into 24 devices.
//!
//! ```text
//! cargo bench -p gainsay-plan --bench patch                   prints times
//! cargo bench -p gainsay-plan --bench patch -- --dump FILE    writes the allocation problem for the mixed-integer model
//! ```

#![expect(clippy::print_stdout, reason = "a benchmark prints")]
#![expect(clippy::unwrap_used, clippy::expect_used, reason = "a benchmark may stop at the first surprise")]

#[path = "patch/case.rs"]
mod case;
#[path = "../tests/allocation/json.rs"]
mod json;

use gainsay_plan::patch::allocation::{Allocated, Allocation, solve};
use gainsay_plan::patch::{allocation_of, best};
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

const REPEATS: usize = 21;

/// Without clocks, which are not part of the problem that the other solver gets.
fn solved(problem: &Allocation) -> Allocated {
    solve(problem, &mut |_| None)
}

/// Best and median, in milliseconds.
fn time(mut what: impl FnMut()) -> (f64, f64) {
    let mut times: Vec<f64> = (0..REPEATS)
        .map(|_| {
            let start = Instant::now();
            what();
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    times.sort_by(f64::total_cmp);
    (times.first().copied().unwrap(), times.get(REPEATS / 2).copied().unwrap())
}

fn main() {
    let case = case::studio();
    let problem = allocation_of(&case).expect("every figure is there");
    let arguments: Vec<String> = std::env::args().collect();
    let dump_to = arguments.iter().position(|a| a == "--dump").and_then(|at| arguments.get(at + 1));
    if let Some(path) = dump_to {
        let text =
            serde_json::Value::from(vec![json::as_json("64 sources", false, &problem, &[])]).to_string();
        std::fs::write(Path::new(path), text).unwrap();
        return;
    }
    let boxes: u32 = case.owned.iter().map(|owned| owned.count).sum();
    let (patch, allocated) = (best(&case).unwrap(), solved(&problem));
    println!(
        "{} sources, {boxes} devices; {} inputs used, {} needed",
        case.sources.len(),
        patch.used,
        patch.needed
    );
    println!(
        "{} lines, {} choices, {} wires, {} points",
        problem.lines.len(),
        problem.choices.len(),
        problem.wires.len(),
        problem.points
    );
    println!("proven: {} with clocks, {} without", patch.proven, allocated.proven);
    let (best_all, median_all) = time(|| {
        black_box(best(black_box(&case)).unwrap());
    });
    let (best_costs, median_costs) = time(|| {
        black_box(allocation_of(black_box(&case)).unwrap());
    });
    let (best_solve, median_solve) = time(|| {
        black_box(solved(black_box(&problem)));
    });
    println!("in all: best {best_all:.2} ms, median {median_all:.2} ms of {REPEATS} (aim: under 200)");
    println!("of which the problem and its costs: best {best_costs:.2} ms, median {median_costs:.2} ms");
    println!("of which the allocation, without clocks: best {best_solve:.2} ms, median {median_solve:.2} ms");
    // For the script that compares.
    let cost = allocated.cost;
    println!(
        "best_ms={best_solve:.3} median_ms={median_solve:.3} cost={},{},{},{},{},{}",
        cost.left_out, cost.short, cost.tight, cost.changes, cost.penalty, cost.cables
    );
}
