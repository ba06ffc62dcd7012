//! How long the check of 24 sources takes on one core.
//!
//! ```text
//! cargo bench -p gainsay-plan --bench draws                   prints times
//! cargo bench -p gainsay-plan --bench draws -- --dump FILE    writes chains and results for the numpy program
//! ```

#![expect(clippy::print_stdout, reason = "a benchmark prints")]
#![expect(clippy::unwrap_used, clippy::expect_used, reason = "a benchmark may stop at the first surprise")]

#[path = "draws/case.rs"]
mod case;
#[path = "draws/dump.rs"]
mod dump;

use gainsay_plan::{Draws, Options, check};
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

const REPEATS: usize = 40;
const DRAWS: usize = 10_000;

fn main() {
    let case = case::studio();
    let arguments: Vec<String> = std::env::args().collect();
    let dump_to = arguments.iter().position(|a| a == "--dump").and_then(|at| arguments.get(at + 1));
    let options = Options { draws: Draws { count: DRAWS, seed: 1 }, stage_intervals: false };
    let answer = check(&case, options).expect("every figure is there");
    if let Some(path) = dump_to {
        // The results to compare with have a small Monte Carlo error of their own.
        let fine = Options { draws: Draws { count: 16 * DRAWS, seed: 1 }, stage_intervals: false };
        let answer = check(&case, fine).expect("every figure is there");
        let text = serde_json::to_string_pretty(&dump::all(&case, &answer, DRAWS)).unwrap();
        std::fs::write(Path::new(path), text).unwrap();
        return;
    }
    let sources = answer.sources.iter().filter(|source| source.result.is_some()).count();
    let boosted =
        answer.sources.iter().filter_map(|s| s.result.as_ref()).filter(|r| r.with_booster.is_some());
    let chains = sources + boosted.count();
    let mut times: Vec<f64> = (0..REPEATS)
        .map(|_| {
            let start = Instant::now();
            black_box(check(black_box(&case), options).unwrap());
            start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    let best = times.first().copied().unwrap();
    let median = times.get(REPEATS / 2).copied().unwrap();
    println!(
        "{sources} sources ({chains} chains, some with a booster for comparison), {} draws",
        answer.draws
    );
    println!("best {:.2} ms, median {:.2} ms of {REPEATS}", best * 1e3, median * 1e3);
    let draws = (answer.draws * sources) as f64;
    println!("{:.0} ns for each draw and source (median)", median * 1e9 / draws);
    // For the script that compares.
    println!("best_ms={:.3} median_ms={:.3}", best * 1e3, median * 1e3);
}
