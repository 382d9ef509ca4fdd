//! Files that are damaged, hostile or not there: each is refused in words, in bounded memory, without a panic.

use std::fs;
use std::io::{Cursor, Read, Write};
use std::path::{Path, PathBuf};

use doughwright::dough::Column;
use doughwright::intake::{
    Decimal, IntakeError, Known, Opened, Options, Source, read_path, typed, typed_reading,
};
use zip::write::{SimpleFileOptions, ZipWriter};
use zip::{CompressionMethod, ZipArchive};

fn sheets() -> impl Iterator<Item = PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/intake/sheets");
    let all = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    all.filter(|p| p.extension().is_some_and(|e| e != "expected" && e != "toml"))
}

/// Opens and reads whatever the bytes hold; only that it ends, in an answer or in words, is asked.
fn survive(bytes: Vec<u8>) {
    match Opened::all(&Source::bytes("damaged", bytes), &Known::default()) {
        Err(error) => assert!(!error.to_string().is_empty()),
        Ok(tables) => tables.iter().for_each(|table| {
            assert!(!table.understood().to_string().is_empty());
            if let Ok(intake) = table.read(&Options::default()) {
                assert!(
                    intake.problems().all(|p| p.row > 0 && !p.column.is_empty() && !p.message.is_empty())
                );
            }
        }),
    }
}

/// The next of a fixed sequence of numbers (xorshift), so that every run damages alike.
fn next(state: &mut u64) -> usize {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    usize::try_from(*state >> 33).unwrap()
}

/// Changes, drops, repeats or puts in a few bytes.
fn damage(bytes: &mut Vec<u8>, state: &mut u64) {
    const TELLING: &[u8] = b",;\t\"\n\r.0159-+=%'\xff\x00\xe2<>/&";
    for _ in 0..=next(state) % 4 {
        if bytes.is_empty() {
            return;
        }
        let at = next(state) % bytes.len();
        let upto = (at + 1 + next(state) % 12).min(bytes.len());
        match next(state) % 4 {
            0 => bytes[at] = TELLING[next(state) % TELLING.len()],
            1 => drop(bytes.drain(at..upto)),
            2 => bytes.insert(at, TELLING[next(state) % TELLING.len()]),
            _ => {
                let piece = bytes[at..upto].to_vec();
                bytes.splice(at..at, piece);
            }
        }
    }
}

/// Text in a cell of every kind, under every decimal mark, and typed by hand.
fn survive_as_cell(text: &str) {
    for column in Column::ALL {
        let _ = typed(*column, text);
    }
    let _ = typed_reading(text);
    let cell = format!("\"{}\"", text.replace('"', "\"\""));
    let headings =
        "Date,Start,Flour,Water g,Hydration,IDY,Room,Bulk,Mix time,Rise,Poolish yeast %,Ripeness,Notes";
    let csv = format!(
        "{headings}\n{}\n2026-03-01,,1000,620,,2,,2,8,{cell},,,\n",
        vec![cell.as_str(); 13].join(",")
    );
    for decimal in [None, Some(Decimal::Point), Some(Decimal::Comma)] {
        let mut known = Known::default();
        known.map.decimal = decimal;
        if let Ok(tables) = Opened::all(&Source::bytes("cell", csv.as_bytes()), &known) {
            let _ = tables[0].read(&Options::default());
        }
    }
}

/// What fuzzing found once, each by what it was found with.
#[test]
fn what_fuzzing_found_stays_mended() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/intake/fuzzed");
    let mut found = 0;
    for entry in fs::read_dir(folder).unwrap() {
        let bytes = fs::read(entry.unwrap().path()).unwrap();
        survive_as_cell(&String::from_utf8_lossy(&bytes));
        survive(bytes);
        found += 1;
    }
    assert!(found >= 4, "only {found} inputs");
}

/// A short run of what fuzzing does at length: entries as people write them, damaged in a fixed sequence.
#[test]
fn damaged_cells_end_in_a_value_or_in_words() {
    const ENTRIES: [&str; 12] = [
        "1h30",
        "1 lb 4 oz",
        "2,5 g",
        "72 °F",
        "1½ h",
        "1.250,75",
        "2d 4h",
        "1/3/2026 8:30 pm",
        "March 1st, 2026",
        "65 %",
        "3.5=1.4",
        "=1+1",
    ];
    let mut state = 0x2026_0303;
    for _ in 0..150 {
        for entry in ENTRIES {
            let mut bytes = entry.as_bytes().to_vec();
            damage(&mut bytes, &mut state);
            survive_as_cell(&String::from_utf8_lossy(&bytes));
        }
    }
}

#[test]
fn damaged_files_end_in_an_answer_or_in_words() {
    let mut state = 0x2026_0301;
    for sheet in sheets() {
        let whole = fs::read(&sheet).unwrap();
        for _ in 0..if whole.len() > 20_000 { 2 } else { 40 } {
            let mut bytes = whole.clone();
            damage(&mut bytes, &mut state);
            survive(bytes);
        }
    }
}

#[test]
fn damaged_parts_of_workbooks_end_in_an_answer_or_in_words() {
    let mut state = 0x2026_0302;
    let packed = sheets().filter(|p| p.extension().is_some_and(|e| e == "xlsx" || e == "ods"));
    for sheet in packed {
        let Ok(mut zip) = ZipArchive::new(Cursor::new(fs::read(&sheet).unwrap())) else { continue };
        let mut parts: Vec<(String, Vec<u8>)> = Vec::new();
        for i in 0..zip.len() {
            let mut part = zip.by_index(i).unwrap();
            let mut content = Vec::new();
            part.read_to_end(&mut content).unwrap();
            parts.push((part.name().unwrap().into_owned(), content));
        }
        for _ in 0..30 {
            let mut damaged = parts.clone();
            let at = next(&mut state) % damaged.len();
            damage(&mut damaged[at].1, &mut state);
            survive(packed_again(&damaged, CompressionMethod::Stored));
        }
    }
}

fn packed_again(parts: &[(String, Vec<u8>)], method: CompressionMethod) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in parts {
        zip.start_file(name, SimpleFileOptions::default().compression_method(method)).unwrap();
        zip.write_all(content).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

#[test]
fn a_bomb_is_refused_before_it_is_unpacked() {
    let huge = vec![b' '; 300 << 20];
    let bytes = packed_again(&[("xl/worksheets/sheet1.xml".into(), huge)], CompressionMethod::Deflated);
    assert!(bytes.len() < 2 << 20, "the bomb is small: {}", bytes.len());
    let error = Opened::all(&Source::bytes("bomb.xlsx", bytes), &Known::default()).unwrap_err();
    insta::assert_snapshot!(error, @"bomb.xlsx: the workbook is more than 256 MB when unpacked: save the sheet as CSV, or check that it is what it says");
}

#[test]
fn too_many_cells_are_refused() {
    let error = Opened::new(Source::bytes("wide.csv", "date,".repeat(20_000).into_bytes())).unwrap_err();
    insta::assert_snapshot!(error, @"wide.csv: row 1 is more than 16384 cells: take the empty columns out");
}

#[test]
fn a_file_that_cannot_be_opened_is_no_fault_of_its_form() {
    let missing = read_path("no-such-file.csv".as_ref(), &Options::default()).unwrap_err();
    assert!(!missing.is_form());
    insta::assert_snapshot!(missing, @"no-such-file.csv: there is no such file: check the name and the folder");
    let folder = read_path(Path::new(env!("CARGO_MANIFEST_DIR")), &Options::default()).unwrap_err();
    assert!(matches!(folder, IntakeError::Unreadable { .. }) && !folder.is_form());
}
