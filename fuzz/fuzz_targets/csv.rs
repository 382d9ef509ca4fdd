//! Any bytes at all as a text table: encodings, separators, layout, headings, decisions and rows.
#![no_main]

use doughwright::dough::Purpose;
use doughwright::intake::{Known, Opened, Options, Source, write_set_aside};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let Ok(tables) = Opened::all(&Source::bytes("fuzz", data), &Known::default()) else { return };
    for table in tables {
        let _ = table.understood().to_toml();
        for purpose in [Purpose::Record, Purpose::Plan] {
            if let Ok(intake) = table.read(&Options { purpose }) {
                write_set_aside(&intake.headings, &intake.set_aside, table.separator(), Vec::new())
                    .expect("memory can be written to");
            }
        }
    }
});
