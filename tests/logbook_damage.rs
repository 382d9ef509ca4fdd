//! Damage is found, never passed on: whatever byte of the file changes, the logbook either says so or
//! answers as before. And there is a way back.

use std::fs;
use std::path::Path;

use doughwright::dough::{Batch, Reading, SurroundingsPoint, Vessel};
use doughwright::logbook::{FitRecord, Logbook, LogbookError, Source};
use tempfile::TempDir;

fn batch(i: u32) -> Batch {
    Batch {
        batch_id: Some(format!("B{i:03}")),
        date: format!("2026-{:02}-{:02}", 1 + i / 28, 1 + i % 28).parse().ok(),
        flour_g: Some(1000.0),
        water_g: Some(600.0 + f64::from(i) / 7.0),
        yeast_g: Some(1.0 + f64::from(i) / 100.0),
        recipe: Some("invented tray bread".into()),
        ..Batch::default()
    }
}

fn readings(i: u32) -> Vec<Reading> {
    let one = |hours: u32| Reading {
        batch_id: format!("B{i:03}"),
        hours: hours.into(),
        rise: Some(1.0 + f64::from(hours) / 9.0),
        dough_temp_c: None,
        vessel: Vessel::Dough,
    };
    (1..4).map(one).collect()
}

/// A logbook with something of everything, closed, so that it is one file.
fn sample() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let mut logbook = Logbook::open_or_create(folder.path().join("a.db")).unwrap();
    let batches: Vec<Batch> = (0..60).map(batch).collect();
    let told: Vec<Reading> = (0..60).flat_map(readings).collect();
    let log = SurroundingsPoint { batch_id: "B001".into(), hours: 1.5, surroundings_temp_c: 21.25 };
    logbook.import(&Source::new("invented.csv"), &batches, &told, &[log]).unwrap();
    let edited = Batch { yeast_g: Some(9.0), ..batch(7) };
    logbook.import(&Source::new("edited.csv"), &[edited], &[], &[]).unwrap();
    logbook.keep_plan(jiff::Timestamp::UNIX_EPOCH, &batch(70), &serde_json::json!({"rise": 2.0})).unwrap();
    logbook.keep_column_map("shape", "flour = 1").unwrap();
    let fit = FitRecord {
        kitchen: "home".into(),
        made_at: jiff::Timestamp::UNIX_EPOCH,
        program_version: "0.1.0".into(),
        method: "quick".into(),
        seed: 7,
        settings: serde_json::json!({"starts": 4}),
        data_hash: "abc".into(),
        summary: serde_json::json!({}),
        names: vec!["a".into(), "b".into()],
        draws: (0..800).map(|i| f64::from(i) / 3.0).collect(),
    };
    logbook.keep_fit(&fit).unwrap();
    folder
}

/// Where the water of B033 lies in the file, a figure that no other row has. Earlier copies of a row may lie
/// about in the free space of pages that were filled before; the last one is the row.
fn place_of_a_figure(bytes: &[u8]) -> usize {
    let figure = (600.0 + 33.0 / 7.0_f64).to_be_bytes();
    (0..bytes.len() - 8).rfind(|&at| bytes[at..].starts_with(&figure)).unwrap()
}

fn clear_page(bytes: &mut [u8], at: usize) {
    let start = at / 4096 * 4096;
    bytes[start..start + 4096].fill(0);
}

/// Everything that can be asked of a logbook.
fn everything(path: &Path) -> Result<String, LogbookError> {
    let logbook = Logbook::open_read_only(path)?;
    let mut told = format!("{:?} {:?}", logbook.imports()?, logbook.column_map("shape")?);
    for kitchen in logbook.kitchens()? {
        told += &format!("{:?} {:?}", logbook.batches(&kitchen)?, logbook.readings(&kitchen)?);
        told += &format!("{:?} {:?}", logbook.surroundings(&kitchen)?, logbook.fits(&kitchen)?);
        told += &format!("{:?} {:?}", logbook.plans(&kitchen)?, logbook.history(&kitchen, "B007")?);
    }
    Ok(told)
}

#[test]
fn a_changed_byte_is_found_or_does_no_harm() {
    let folder = sample();
    let path = folder.path().join("a.db");
    let sound = fs::read(&path).unwrap();
    let wanted = everything(&path).unwrap();
    let flipped = folder.path().join("flipped.db");
    let (mut found, mut tried) = (0, 0);
    // A step that shares no factor with the page size, so that the places in a page differ.
    for (at, bit) in (0..sound.len()).step_by(41).zip((0..8).cycle()) {
        let mut bytes = sound.clone();
        bytes[at] ^= 1 << bit;
        fs::write(&flipped, &bytes).unwrap();
        tried += 1;
        match everything(&flipped) {
            Err(_) => found += 1,
            Ok(told) => assert!(told == wanted, "byte {at}, bit {bit} changed an answer"),
        }
    }
    // The rest fell on free space: each table and index has pages of its own, most of them hardly filled.
    assert!(found * 4 > tried, "{found} of {tried} were noticed");
}

#[test]
fn a_figure_changed_inside_a_row_is_told_with_its_batch() {
    let folder = sample();
    let path = folder.path().join("a.db");
    let mut bytes = fs::read(&path).unwrap();
    let at = place_of_a_figure(&bytes);
    bytes[at + 6] ^= 4;
    fs::write(&path, bytes).unwrap();
    let logbook = Logbook::open(&path).unwrap();
    assert!(logbook.batch("home", "B032").unwrap().is_some());
    let told = logbook.batches("home").map(|_| ()).unwrap_err();
    assert!(matches!(told, LogbookError::Damaged { .. }));
    assert!(told.to_string().contains("batch 'B033'"), "{told}");
    let saved = Logbook::salvage(&path).unwrap();
    let home = &saved.kitchens["home"];
    assert_eq!((home.batches.len(), home.readings.len(), home.surroundings.len()), (59, 177, 1));
    assert!(saved.faults.iter().any(|f| f.contains("B033")), "{:?}", saved.faults);
}

#[test]
fn a_file_cut_short_is_found() {
    let folder = sample();
    let path = folder.path().join("a.db");
    let sound = fs::read(&path).unwrap();
    for keep in [sound.len() - 1, sound.len() - 4096, sound.len() / 2, 4096, 1000, 50] {
        fs::write(&path, &sound[..keep]).unwrap();
        let told = Logbook::open(&path).unwrap_err();
        let fits = matches!(told, LogbookError::Damaged { .. } | LogbookError::NotALogbook { .. });
        assert!(fits, "{keep} bytes: {told}");
        assert!(everything(&path).is_err());
    }
}

#[test]
fn a_lost_page_leaves_the_other_rows_to_salvage() {
    let folder = sample();
    let path = folder.path().join("a.db");
    let mut bytes = fs::read(&path).unwrap();
    let at = place_of_a_figure(&bytes);
    clear_page(&mut bytes, at);
    fs::write(&path, bytes).unwrap();
    assert!(matches!(Logbook::open(&path), Err(LogbookError::Damaged { .. })));
    let saved = Logbook::salvage(&path).unwrap();
    let kept = &saved.kitchens["home"].batches;
    assert!(kept.len() > 20 && kept.len() < 60, "{} batches", kept.len());
    for found in kept {
        let i: u32 = found.batch_id.as_ref().unwrap()[1..].parse().unwrap();
        let yeast_g = if i == 7 { Some(9.0) } else { batch(i).yeast_g };
        assert_eq!(found, &Batch { yeast_g, kitchen: Some("home".into()), ..batch(i) });
    }
    assert!(!saved.faults.is_empty());
}

#[test]
fn a_backup_is_the_way_back_and_the_logbook_says_where_it_is() {
    let folder = sample();
    let (path, copy) = (folder.path().join("a.db"), folder.path().join("copy.db"));
    let mut logbook = Logbook::open(&path).unwrap();
    let wanted = logbook.data_hash("home").unwrap();
    logbook.backup(&copy).unwrap();
    logbook.backup(&copy).unwrap();
    drop(logbook);
    assert_eq!(Logbook::open_read_only(&copy).unwrap().data_hash("home").unwrap(), wanted);

    let mut bytes = fs::read(&path).unwrap();
    let at = place_of_a_figure(&bytes);
    clear_page(&mut bytes, at);
    fs::write(&path, &bytes).unwrap();
    let told = Logbook::open(&path).unwrap_err().to_string();
    assert!(told.contains("copy.db") && told.contains("-wal"), "{told}");
    fs::copy(&copy, &path).unwrap();
    assert_eq!(Logbook::open(&path).unwrap().data_hash("home").unwrap(), wanted);
}

#[test]
fn a_backup_overwrites_no_other_file() {
    let folder = sample();
    let path = folder.path().join("a.db");
    let other = folder.path().join("sheet.csv");
    fs::write(&other, "date,flour_g\n").unwrap();
    let mut logbook = Logbook::open(&path).unwrap();
    for to in [&other, &path] {
        let refused = logbook.backup(to).unwrap_err();
        assert!(matches!(refused, LogbookError::NoBackup { .. }), "{refused}");
    }
    assert_eq!(fs::read_to_string(&other).unwrap(), "date,flour_g\n");
    assert!(matches!(logbook.backup(folder.path().join("none/b.db")), Err(LogbookError::NoFolder { .. })));
    let names: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|f| f.unwrap().file_name()).collect();
    assert!(names.iter().all(|n| !n.to_string_lossy().ends_with("-part")), "{names:?}");
}

#[test]
fn a_backup_may_be_made_while_somebody_writes() {
    let folder = sample();
    let path = folder.path().join("a.db");
    let mut reader = Logbook::open(&path).unwrap();
    let wanted = reader.data_hash("home").unwrap();
    let mut writer = Logbook::open(&path).unwrap();
    let source = Source::new("more.csv");
    let mut importer = writer.importer(&source).unwrap();
    importer.push(&batch(61)).unwrap();
    // The copy is made; only the note of where it is has to wait for the writer, and is told so.
    let told = reader.backup(folder.path().join("copy.db")).unwrap_err();
    assert!(matches!(told, LogbookError::Locked { .. }), "{told}");
    importer.finish().unwrap();
    let copy = Logbook::open_read_only(folder.path().join("copy.db")).unwrap();
    assert_eq!(copy.data_hash("home").unwrap(), wanted);
}

/// A large enough logbook cut at any length gives back the batches on the pages that are left, as they were, and no
/// other; what it says of itself is damage.
#[test]
fn a_logbook_cut_short_gives_back_what_its_pages_hold() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.db");
    let mut logbook = Logbook::open_or_create(&path).unwrap();
    let batch = |i: u32| Batch {
        batch_id: Some(format!("B{i:04}")),
        date: "2026-03-01".parse().ok(),
        flour_g: Some(1000.0),
        water_g: Some(600.0 + f64::from(i) / 7.0),
        // Some rows go on in pages of their own.
        notes: Some("invented ".repeat(if i % 50 == 0 { 900 } else { 3 })),
        ..Batch::default()
    };
    let batches: Vec<Batch> = (0..2000).map(batch).collect();
    let told: Vec<Reading> =
        (0..2000).map(|i| Reading { batch_id: format!("B{i:04}"), ..readings(1)[0].clone() }).collect();
    logbook.import(&Source::new("a"), &batches, &told, &[]).unwrap();
    let sound = logbook.batches("home").unwrap();
    drop(logbook);
    let whole = fs::read(&path).unwrap();
    let mut before = usize::MAX;
    for percent in [95, 80, 60, 40, 25] {
        fs::write(&path, &whole[..whole.len() * percent / 100]).unwrap();
        assert!(matches!(Logbook::open(&path), Err(LogbookError::Damaged { .. })));
        let saved = Logbook::salvage(&path).unwrap();
        let rows = &saved.kitchens["home"];
        assert!(rows.batches.iter().all(|b| sound.contains(b)), "{percent} %: a batch is not as it was");
        assert!(rows.readings.iter().all(|r| r.rise == told[0].rise));
        assert!(!saved.faults.is_empty() && saved.loose <= rows.batches.len() + rows.readings.len());
        let n = rows.batches.len();
        eprintln!(
            "{percent} % of the file: {n} of 2000 batches, {} readings, {} rows loose",
            rows.readings.len(),
            saved.loose
        );
        assert!(n <= before, "less of the file gives more of it");
        before = n;
        // The rows of batches stand before their index and the readings, so that a third of the file holds some.
        assert!(n * 100 >= 2000 * percent / 2, "{percent} % of the file gave only {n} batches");
    }
}
