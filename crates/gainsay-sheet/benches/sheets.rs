//! How many sheets are read in a minute on one core, over the corpus of the tests.
//!
//! ```text
//! cargo bench -p gainsay-sheet --bench sheets
//! ```

#![expect(clippy::print_stdout, reason = "a benchmark prints")]
#![expect(clippy::unwrap_used, clippy::expect_used, reason = "a benchmark may stop at the first surprise")]

use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

const REPEATS: usize = 20;

fn main() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sheets");
    let mut texts: Vec<String> = std::fs::read_dir(folder)
        .expect("the corpus")
        .filter_map(|entry| entry.ok().map(|e| e.path()))
        .filter(|path| path.extension().is_some_and(|extension| extension == "txt"))
        .map(|path| std::fs::read_to_string(path).expect("a sheet"))
        .collect();
    texts.sort();
    let mut times: Vec<f64> = (0..REPEATS)
        .map(|_| {
            let start = Instant::now();
            for text in &texts {
                let reading = gainsay_sheet::read(black_box(text), None).unwrap();
                black_box(reading.to_toml());
            }
            start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    let median = times.get(REPEATS / 2).copied().unwrap();
    let bytes: usize = texts.iter().map(String::len).sum();
    println!(
        "{} sheets, {} KiB, {:.2} ms for all (median of {REPEATS})",
        texts.len(),
        bytes / 1024,
        median * 1e3
    );
    println!("{:.0} sheets a minute on one core", 60.0 * texts.len() as f64 / median);
}
