//! Any bytes as a file of JSON objects, one a line: of batches, readings and surroundings.
#![no_main]

use doughwright::intake::{Known, Opened, Options, Source};
use libfuzzer_sys::fuzz_target;

const LINE: &str = r#"{"batch_id":"a","date":"2026-03-01","flour_g":1000,"water_g":620,"yeast_g":2,"yeast_type":"instant"}"#;

fuzz_target!(|data: &[u8]| {
    let bytes = if data.starts_with(b"{") { data.to_vec() } else { [LINE.as_bytes(), b"\n", data].concat() };
    let Ok(tables) = Opened::all(&Source::bytes("fuzz", bytes), &Known::default()) else { return };
    for table in tables {
        let _ = table.read(&Options::default());
    }
});
