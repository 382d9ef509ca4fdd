//! Logbooks of every released schema stay readable, and columns that came later are added to them.
//!
//! `tests/logbook/schema-N.sql` is what SQLite's shell dumps of a logbook that schema N wrote, with the two
//! pragmas that a dump leaves out. A new schema gets a fixture of its own beside the old ones.

use std::fs;
use std::path::Path;

use doughwright::dough::{Ripeness, Vessel, YeastType};
use doughwright::logbook::{Logbook, LogbookError};
use rusqlite::Connection;
use tempfile::TempDir;

const SCHEMA_1: &str = include_str!("logbook/schema-1.sql");

fn written_by(dump: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    Connection::open(folder.path().join("a.db")).unwrap().execute_batch(dump).unwrap();
    folder
}

fn alter(path: &Path, sql: &str) {
    Connection::open(path).unwrap().execute_batch(sql).unwrap();
}

/// Everything that the fixture holds.
fn holds_it_all(logbook: &Logbook) {
    assert_eq!(logbook.kitchens().unwrap(), ["hall", "home"]);
    let batches = logbook.batches("home").unwrap();
    let ids: Vec<_> = batches.iter().map(|b| b.batch_id.as_deref().unwrap()).collect();
    assert_eq!(ids, ["2026-03-01-1", "2026-03-02-1"]);
    let second = &batches[1];
    assert_eq!((second.water_g, second.salt_g, second.rise), (Some(622.0), None, Some(2.2)));
    assert_eq!((second.yeast_type, second.ripeness), (Some(YeastType::Fresh), Some(Ripeness::Ready)));
    assert_eq!(second.date.unwrap().to_string(), "2026-03-02T08:30");

    let versions = logbook.history("home", "2026-03-02-1").unwrap();
    let told: Vec<_> =
        versions.iter().map(|v| (v.source.as_str(), v.at.to_string(), v.batch.salt_g)).collect();
    assert_eq!(
        told,
        [
            ("invented.csv", "2026-03-04T10:00:00Z".into(), Some(25.0)),
            ("edited.csv", "2026-03-05T10:00:00Z".into(), None)
        ]
    );
    let imports = logbook.imports().unwrap();
    assert_eq!(imports.iter().map(|i| i.undone_at.is_some()).collect::<Vec<_>>(), [false, false, true]);

    let reading = &logbook.readings("home").unwrap()[0];
    assert_eq!((reading.rise, reading.dough_temp_c, reading.vessel), (Some(1.25), Some(23.5), Vessel::Dough));
    assert_eq!(logbook.readings("hall").unwrap()[0].vessel, Vessel::Preferment);
    assert_eq!(logbook.surroundings("hall").unwrap()[0].surroundings_temp_c, 21.5);

    let fit = logbook.latest_fit("home").unwrap().unwrap();
    assert_eq!((fit.seed, fit.draws.as_slice()), (u64::MAX, [0.5, -1.5, 1.0 / 3.0, 2.0].as_slice()));
    assert_eq!(fit.data_hash, logbook.data_hash("home").unwrap());
    let plan = &logbook.plans("home").unwrap()[0];
    assert_eq!((plan.plan.target_rise, plan.became.as_ref().unwrap().rise), (Some(2.1), Some(2.2)));
    assert_eq!(logbook.column_map("shape").unwrap().as_deref(), Some("flour = \"flour_g\""));
    logbook.check().unwrap();
}

#[test]
fn a_logbook_of_schema_1_is_read_in_full() {
    let folder = written_by(SCHEMA_1);
    let path = folder.path().join("a.db");
    holds_it_all(&Logbook::open(&path).unwrap());
    holds_it_all(&Logbook::open_read_only(&path).unwrap());
    let mut logbook = Logbook::open(&path).unwrap();
    assert_eq!(logbook.undo_last_import().unwrap().restored, 3);
    assert_eq!(logbook.batch("home", "2026-03-02-1").unwrap().unwrap().salt_g, Some(25.0));
}

#[test]
fn columns_that_came_later_are_added() {
    let folder = written_by(SCHEMA_1);
    let path = folder.path().join("a.db");
    // As if the table of columns had lacked these when the file was made.
    alter(&path, "ALTER TABLE batches DROP COLUMN ice_g; ALTER TABLE batches DROP COLUMN notes;");
    let before = fs::read(&path).unwrap();
    let refused = Logbook::open_read_only(&path).unwrap_err();
    assert!(matches!(refused, LogbookError::Older { .. }), "{refused}");
    assert!(fs::read(&path).unwrap() == before, "reading changed the file");

    holds_it_all(&Logbook::open(&path).unwrap());
    let mut logbook = Logbook::open(&path).unwrap();
    let mut batch = logbook.batch("hall", "B3").unwrap().unwrap();
    (batch.ice_g, batch.notes) = (Some(80.0), Some("with ice".into()));
    let source = doughwright::logbook::Source::new("ice.csv");
    logbook.import(&source, std::slice::from_ref(&batch), &[], &[]).unwrap();
    assert_eq!(logbook.batch("hall", "B3").unwrap(), Some(batch));
}

#[test]
fn a_damaged_column_name_is_not_taken_for_a_newer_version() {
    let folder = written_by(SCHEMA_1);
    let path = folder.path().join("a.db");
    alter(&path, "ALTER TABLE batches RENAME COLUMN rise TO rice");
    let refused = Logbook::open(&path).unwrap_err();
    assert!(matches!(refused, LogbookError::Damaged { .. }), "{refused}");
}

#[test]
fn a_making_that_was_cut_short_is_taken_up_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.db");
    // As far as the first write goes: a file in write-ahead mode without a table.
    alter(&path, "PRAGMA journal_mode = wal");
    assert!(matches!(Logbook::open(&path), Err(LogbookError::NotALogbook { .. })));
    Logbook::open_or_create(&path).unwrap();
    Logbook::open(&path).unwrap();
}

/// Root may write everywhere, so this says something only when the tests are run by somebody else.
#[cfg(unix)]
#[test]
fn a_logbook_in_a_folder_that_may_not_be_written_can_be_read() {
    use std::os::unix::fs::PermissionsExt;
    let folder = written_by(SCHEMA_1);
    let path = folder.path().join("a.db");
    drop(Logbook::open(&path).unwrap());
    let allow = |mode| fs::set_permissions(folder.path(), fs::Permissions::from_mode(mode)).unwrap();
    allow(0o555);
    let read = Logbook::open_read_only(&path);
    let written = Logbook::open(&path);
    let free = fs::write(folder.path().join("probe"), "").is_ok();
    allow(0o755);
    holds_it_all(&read.unwrap());
    if !free {
        let refused = written.unwrap_err();
        assert!(
            matches!(refused, LogbookError::ReadOnly { .. } | LogbookError::CannotOpen { .. }),
            "{refused}"
        );
    }
}
