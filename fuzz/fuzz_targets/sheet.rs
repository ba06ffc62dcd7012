//! The text of a sheet: no panic, places inside the text, and the file that is written can be read.
#![no_main]

use gainsay_gear::Device;
use gainsay_units::Origin;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    if let Ok(reading) = gainsay_sheet::read(text, None) {
        for entry in &reading.entries {
            assert!(entry.reading.span.end <= text.len());
        }
        let file = reading.to_toml_with_remarks();
        if let Err(problems) = Device::from_toml(&file, "sheet", Origin::Sheet) {
            panic!("{problems:?}\n{file}");
        }
    }
});
