//! A corpus of small invented sheets, each with one difficulty, and what must come of it: what was
//! understood, every batch, every row set aside and every message, word for word.
//!
//! `NAME.csv` is the sheet, `NAME.map.toml` (where there is one) what the baker says about it, and
//! `NAME.expected` the answer. With the variable `WRITE_EXPECTED` set, the answers are written instead of
//! compared: each is then to be read by a person before it is committed.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use doughwright::dough::{Batch, Column, Purpose};
use doughwright::intake::{ColumnMap, Intake, IntakeError, Known, Opened, Options, Source, write_set_aside};

fn sheets() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/intake/sheets");
    let known = ["csv", "tsv", "gz", "xlsx", "xls", "ods", "jsonl"];
    let is_sheet = |p: &PathBuf| p.extension().and_then(|e| e.to_str()).is_some_and(|e| known.contains(&e));
    let mut found: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).filter(is_sheet).collect();
    found.sort();
    found
}

fn known(sheet: &Path) -> Result<Known, IntakeError> {
    let name = sheet.file_name().unwrap().to_string_lossy().into_owned();
    let stem = name.split('.').next().unwrap();
    let map = match fs::read_to_string(sheet.with_file_name(format!("{stem}.map.toml"))) {
        Ok(text) => ColumnMap::from_toml(&format!("{stem}.map.toml"), &text)?,
        Err(_) => ColumnMap::default(),
    };
    Ok(Known { map, ..Known::default() })
}

fn answer(sheet: &Path) -> String {
    let name = sheet.file_name().unwrap().to_string_lossy().into_owned();
    let purpose = if name.starts_with("plan") { Purpose::Plan } else { Purpose::Record };
    // Messages name the file as it was given: here without the folder, so that they are the same everywhere.
    let source = Source::bytes(&name, fs::read(sheet).unwrap());
    let opened = match known(sheet).and_then(|known| Opened::all(&source, &known)) {
        Ok(opened) => opened,
        Err(error) => return refusal(&error),
    };
    let mut said = String::new();
    for table in opened {
        write!(said, "{}", table.understood()).unwrap();
        match table.read(&Options { purpose }) {
            Ok(intake) => said.push_str(&told(&intake)),
            Err(error) => said.push_str(&refusal(&error)),
        }
    }
    said
}

fn refusal(error: &IntakeError) -> String {
    format!(
        "refused, {}:\n{error}\n",
        if error.is_form() { "the form is wrong" } else { "it could not be done" }
    )
}

fn told(intake: &Intake) -> String {
    let mut said = String::new();
    for row in &intake.batches {
        writeln!(said, "row {}: {}", row.row, columns(&row.value)).unwrap();
    }
    for row in &intake.readings {
        writeln!(said, "row {}: {}", row.row, serde_json::to_string(&row.value).unwrap()).unwrap();
    }
    for row in &intake.surroundings {
        writeln!(said, "row {}: {}", row.row, serde_json::to_string(&row.value).unwrap()).unwrap();
    }
    for (row, first) in &intake.repeated {
        writeln!(said, "row {row} repeats row {first}").unwrap();
    }
    for p in intake.problems() {
        writeln!(said, "set aside: {}, row {}, {}: '{}': {}", p.file, p.row, p.column, p.value, p.message)
            .unwrap();
    }
    said
}

fn columns(batch: &Batch) -> String {
    let filled = Column::ALL.iter().filter_map(|c| batch.get(*c).map(|v| format!("{c}={v}")));
    filled.collect::<Vec<_>>().join(" | ").replace('\n', "\\n")
}

#[test]
fn every_sheet_gives_what_is_expected() {
    let write = std::env::var_os("WRITE_EXPECTED").is_some();
    let mut wrong = Vec::new();
    for sheet in sheets() {
        let answer = answer(&sheet);
        let place =
            sheet.with_file_name(format!("{}.expected", sheet.file_name().unwrap().to_string_lossy()));
        if write {
            fs::write(&place, &answer).unwrap();
        } else if fs::read_to_string(&place).ok().as_ref() != Some(&answer) {
            wrong.push(format!("== {}\n{answer}", sheet.display()));
        }
    }
    assert!(
        wrong.is_empty(),
        "{} sheets give something else than expected:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

#[test]
fn the_corpus_is_there() {
    assert!(sheets().len() >= 60, "only {} sheets", sheets().len());
}

#[test]
fn what_was_understood_can_be_written_and_applied() {
    for sheet in sheets() {
        let source = Source::bytes("sheet", fs::read(&sheet).unwrap());
        let Ok(tables) = known(&sheet).and_then(|known| Opened::all(&source, &known)) else { continue };
        for table in tables {
            let Ok(first) = table.read(&Options::default()) else { continue };
            let map = ColumnMap::from_toml("map.toml", &table.understood().to_toml()).unwrap();
            assert_eq!(map, table.understood().to_map(), "{}", sheet.display());
            let known = Known { map, ..Known::default() };
            let same = |t: &Opened| t.understood().kind == table.understood().kind;
            let again = Opened::all(&source, &known).unwrap().into_iter().find(same).unwrap();
            let again = again.read(&Options::default()).unwrap();
            assert_eq!(again.batches, first.batches, "{}", sheet.display());
            assert_eq!(again.readings, first.readings, "{}", sheet.display());
            assert_eq!(again.surroundings, first.surroundings, "{}", sheet.display());
        }
    }
}

#[test]
fn rows_set_aside_come_back_with_the_same_faults() {
    for sheet in sheets() {
        let source = Source::bytes("sheet", fs::read(&sheet).unwrap());
        let Ok(tables) = known(&sheet).and_then(|known| Opened::all(&source, &known)) else { continue };
        for table in tables {
            let Ok(first) = table.read(&Options::default()) else { continue };
            let mut bytes = Vec::new();
            write_set_aside(&first.headings, &first.set_aside, table.separator(), &mut bytes).unwrap();
            let shape = table.understood().shape.clone();
            let mut map = table.understood().to_map();
            map.sheet = None;
            let known = Known { remembered: [(shape.clone(), map)].into(), ..Known::default() };
            let again = Opened::all(&Source::bytes("sheet", bytes), &known).unwrap().remove(0);
            assert_eq!(again.understood().shape, shape, "{}", sheet.display());
            let again = again.read(&Options::default()).unwrap();
            let faults = |intake: &Intake| -> Vec<(String, String)> {
                // Cells beyond the headings stand behind the problem, and rows of one name have moved.
                let kept = intake
                    .problems()
                    .filter(|p| !p.message.contains("the same batch_id") && p.column.len() > 1);
                kept.map(|p| (p.column.clone(), p.value.clone())).collect()
            };
            assert_eq!(faults(&again), faults(&first), "{}", sheet.display());
            assert!(
                again.batches.is_empty() || first.problems().any(|p| p.column.len() == 1),
                "{}",
                sheet.display()
            );
        }
    }
}
