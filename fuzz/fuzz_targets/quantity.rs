//! A figure as anybody might write it: no panic, and what is read prints to text that reads back the same.
#![no_main]

use gainsay_units::Quantity;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    if let Ok(quantity) = text.parse::<Quantity>() {
        let printed = quantity.to_string();
        let again: Quantity = printed.parse().expect("what is printed can be read");
        assert_eq!(again, quantity, "{text:?} printed as {printed:?}");
    }
});
