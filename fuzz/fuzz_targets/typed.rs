//! Any text typed by hand, for every column, and as a reading.
#![no_main]

use doughwright::dough::Column;
use doughwright::intake::{typed, typed_reading};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    for column in Column::ALL {
        let _ = typed(*column, text);
    }
    let _ = typed_reading(text);
});
