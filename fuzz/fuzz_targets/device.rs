//! A device file: no panic, and every problem has a message and a mend.
#![no_main]

use libfuzzer_sys::fuzz_target;
use std::path::Path;

fuzz_target!(|text: &str| {
    if let Err(report) = gainsay_folder::parse_device(Path::new("gear/device.toml"), text) {
        for problem in &report.problems {
            assert!(!problem.message.is_empty() && !problem.mend.is_empty());
            let _ = report.line_and_column(problem);
        }
    }
});
