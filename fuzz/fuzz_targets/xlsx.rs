//! Any bytes as a workbook, and any text as the sheet inside a sound one.
#![no_main]

use std::io::{Cursor, Write};

use doughwright::intake::{Known, Opened, Options, Source};
use libfuzzer_sys::fuzz_target;
use zip::CompressionMethod;
use zip::write::{SimpleFileOptions, ZipWriter};

const WORKBOOK: &str = r#"<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="Log" sheetId="1" r:id="rId1"/></sheets></workbook>"#;
const LINKS: &str = r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>"#;

fuzz_target!(|data: &[u8]| {
    let bytes = if data.starts_with(b"PK") { data.to_vec() } else { around(data) };
    let Ok(tables) = Opened::all(&Source::bytes("fuzz", bytes), &Known::default()) else { return };
    for table in tables {
        let _ = table.read(&Options::default());
    }
});

/// A workbook whose one sheet is this.
fn around(sheet: &[u8]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    let parts: [(&str, &[u8]); 3] = [
        ("xl/workbook.xml", WORKBOOK.as_bytes()),
        ("xl/_rels/workbook.xml.rels", LINKS.as_bytes()),
        ("xl/worksheets/sheet1.xml", sheet),
    ];
    for (name, content) in parts {
        zip.start_file(name, options).expect("memory can be written to");
        zip.write_all(content).expect("memory can be written to");
    }
    zip.finish().expect("memory can be written to").into_inner()
}
