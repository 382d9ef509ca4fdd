//! Any text in a cell of each kind: amounts, temperatures, spans of time, percentages, dates, words.
#![no_main]

use doughwright::intake::{Decimal, Known, Opened, Options, Source};
use libfuzzer_sys::fuzz_target;

const HEADINGS: &str =
    "Date,Start,Flour,Water g,Hydration,IDY,Room,Bulk,Mix time,Rise,Poolish yeast %,Ripeness,Notes";

fuzz_target!(|text: &str| {
    let cell = format!("\"{}\"", text.replace('"', "\"\""));
    let rows = [vec![cell.as_str(); 13].join(","), format!("2026-03-01,,1000,620,,2,,2,8,{cell},,,")];
    let csv = format!("{HEADINGS}\n{}\n", rows.join("\n"));
    for decimal in [None, Some(Decimal::Point), Some(Decimal::Comma)] {
        let mut known = Known::default();
        known.map.decimal = decimal;
        let Ok(tables) = Opened::all(&Source::bytes("fuzz", csv.as_bytes()), &known) else { return };
        let _ = tables[0].read(&Options::default());
    }
});
