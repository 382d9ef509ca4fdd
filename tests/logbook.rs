//! The logbook loses nothing: imports are all or nothing and repeat without effect, former values stay,
//! and a file that is not its own is refused.

use doughwright::dough::{Batch, Column, Reading, SurroundingsPoint, Value, Vessel, YeastType};
use doughwright::logbook::{FitRecord, Logbook, LogbookError, Pushed, Source};
use rusqlite::Connection;
use tempfile::TempDir;

fn fresh() -> (TempDir, Logbook) {
    let folder = tempfile::tempdir().unwrap();
    let logbook = Logbook::open_or_create(folder.path().join("logbook.db")).unwrap();
    (folder, logbook)
}

fn batch(id: Option<&str>, date: &str, yeast_g: f64) -> Batch {
    Batch {
        batch_id: id.map(Into::into),
        date: date.parse().ok(),
        flour_g: Some(1000.0),
        water_g: Some(640.0),
        salt_g: Some(25.0),
        yeast_g: Some(yeast_g),
        yeast_type: Some(YeastType::Instant),
        cold_hours: Some(24.0),
        ..Batch::default()
    }
}

fn reading(id: &str, hours: f64, rise: Option<f64>, dough_temp_c: Option<f64>) -> Reading {
    Reading { batch_id: id.into(), hours, rise, dough_temp_c, vessel: Vessel::Dough }
}

#[test]
fn the_same_import_again_changes_nothing() {
    let (_folder, mut logbook) = fresh();
    let sheet = [batch(None, "2026-03-01", 2.0), batch(Some("B7"), "2026-03-02", 2.5)];
    let readings = [reading("B7", 1.0, Some(1.2), None), reading("2026-03-01-1", 2.0, None, Some(24.5))];
    let log = [SurroundingsPoint { batch_id: "B7".into(), hours: 0.0, surroundings_temp_c: 21.0 }];
    let source = Source::new("spring.csv");
    let first = logbook.import(&source, &sheet, &readings, &log).unwrap();
    assert_eq!((first.batches.added, first.readings.added, first.surroundings.added), (2, 2, 1));
    let hash = logbook.data_hash("home").unwrap();
    let again = logbook.import(&source, &sheet, &readings, &log).unwrap();
    assert_eq!(again.import, None);
    assert_eq!((again.batches.unchanged, again.readings.unchanged, again.surroundings.unchanged), (2, 2, 1));
    assert_eq!(logbook.imports().unwrap().len(), 1);
    assert_eq!(logbook.data_hash("home").unwrap(), hash);
    assert_eq!(logbook.readings("home").unwrap(), [readings[1].clone(), readings[0].clone()]);
    assert_eq!(logbook.surroundings("home").unwrap(), log);
}

#[test]
fn an_edited_row_changes_its_batch_and_the_former_values_stay() {
    let (_folder, mut logbook) = fresh();
    let mut row = batch(Some("B1"), "2026-03-01", 2.0);
    logbook.import(&Source::new("spring.csv"), &[row.clone()], &[], &[]).unwrap();
    let hash = logbook.data_hash("home").unwrap();
    row.yeast_g = Some(1.6);
    row.rise = Some(2.1);
    row.salt_g = None;
    let summary = logbook.import(&Source::new("spring v2.csv"), &[row.clone()], &[], &[]).unwrap();
    assert_eq!(summary.batches.changed, 1);
    let said: Vec<_> = summary.changes.iter().map(|c| (c.column, c.from.clone(), c.to.clone())).collect();
    assert_eq!(
        said,
        [
            (Column::salt_g, Some(Value::Number(25.0)), None),
            (Column::yeast_g, Some(Value::Number(2.0)), Some(Value::Number(1.6))),
            (Column::rise, None, Some(Value::Number(2.1))),
        ]
    );
    assert_ne!(logbook.data_hash("home").unwrap(), hash);
    let versions = logbook.history("home", "B1").unwrap();
    let told: Vec<_> =
        versions.iter().map(|v| (v.source.as_str(), v.batch.yeast_g, v.batch.rise, v.batch.salt_g)).collect();
    assert_eq!(
        told,
        [("spring.csv", Some(2.0), None, Some(25.0)), ("spring v2.csv", Some(1.6), Some(2.1), None)]
    );
    let undone = logbook.undo_last_import().unwrap();
    assert_eq!((undone.restored, undone.removed), (3, 0));
    assert_eq!(logbook.data_hash("home").unwrap(), hash);
    logbook.undo_last_import().unwrap();
    assert_eq!(logbook.batches("home").unwrap(), []);
    assert!(matches!(logbook.undo_last_import(), Err(LogbookError::NothingToUndo { .. })));
    logbook.check().unwrap();
}

#[test]
fn a_column_that_the_source_does_not_have_keeps_its_values() {
    let (_folder, mut logbook) = fresh();
    let full = Batch { crust_score: Some(7.0), ..batch(Some("B1"), "2026-03-01", 2.0) };
    logbook.import(&Source::new("a.csv"), std::slice::from_ref(&full), &[], &[]).unwrap();
    let columns = vec![Column::batch_id, Column::date, Column::yeast_g];
    let narrow = Batch { crust_score: None, yeast_g: Some(3.0), ..full.clone() };
    let source = Source { columns: Some(columns), ..Source::new("b.csv") };
    let summary = logbook.import(&source, &[narrow], &[], &[]).unwrap();
    assert_eq!(summary.changes.len(), 1);
    let now = logbook.batch("home", "B1").unwrap().unwrap();
    assert_eq!((now.crust_score, now.yeast_g), (Some(7.0), Some(3.0)));
}

#[test]
fn a_second_row_of_the_same_batch_is_not_taken() {
    let (_folder, mut logbook) = fresh();
    let source = Source::new("a.csv");
    let mut importer = logbook.importer(&source).unwrap();
    assert_eq!(importer.push(&batch(Some("B1"), "2026-03-01", 2.0)).unwrap(), Pushed::Added);
    assert_eq!(importer.push(&batch(Some("B1"), "2026-03-01", 2.0)).unwrap(), Pushed::Unchanged);
    assert_eq!(importer.push(&batch(Some("B1"), "2026-03-01", 9.0)).unwrap(), Pushed::Repeated);
    assert_eq!(importer.push_reading(&reading("B1", 1.0, Some(1.2), None)).unwrap(), Pushed::Added);
    assert_eq!(importer.push_reading(&reading("B1", 1.0, None, Some(22.0))).unwrap(), Pushed::Changed);
    assert_eq!(importer.push_reading(&reading("B1", 1.0, Some(1.3), None)).unwrap(), Pushed::Repeated);
    assert_eq!(importer.push_reading(&reading("B2", 1.0, Some(1.3), None)).unwrap(), Pushed::NoSuchBatch);
    let summary = importer.finish().unwrap();
    assert_eq!(summary.repeated.into_iter().collect::<Vec<_>>(), ["B1"]);
    assert_eq!(summary.without_batch.into_iter().collect::<Vec<_>>(), ["B2"]);
    assert_eq!(logbook.batch("home", "B1").unwrap().unwrap().yeast_g, Some(2.0));
    assert_eq!(logbook.readings("home").unwrap(), [reading("B1", 1.0, Some(1.2), Some(22.0))]);
}

#[test]
fn an_import_that_is_dropped_leaves_no_trace() {
    let (_folder, mut logbook) = fresh();
    let source = Source::new("a.csv");
    let mut importer = logbook.importer(&source).unwrap();
    importer.push(&batch(None, "2026-03-01", 2.0)).unwrap();
    drop(importer);
    assert_eq!(logbook.batches("home").unwrap(), []);
    assert_eq!(logbook.imports().unwrap(), []);
}

#[test]
fn a_number_that_is_none_is_refused() {
    let (_folder, mut logbook) = fresh();
    let refused = logbook.import(&Source::new("a.csv"), &[batch(None, "2026-03-01", f64::NAN)], &[], &[]);
    assert!(matches!(refused, Err(LogbookError::NotANumber { column: Column::yeast_g, .. })));
}

#[test]
fn batches_come_in_the_order_of_their_dates_and_the_latest_by_recipe() {
    let (_folder, mut logbook) = fresh();
    let tray = |id, date| Batch { recipe: Some("tray".into()), ..batch(Some(id), date, 1.0) };
    let sheet = [
        batch(Some("c"), "2026-03-03", 1.0),
        tray("a", "2026-03-01"),
        tray("b", "2026-03-02T07:00"),
        tray("b2", "2026-03-02"),
    ];
    logbook.import(&Source::new("a.csv"), &sheet, &[], &[]).unwrap();
    let ids: Vec<_> = logbook.batches("home").unwrap().into_iter().filter_map(|b| b.batch_id).collect();
    assert_eq!(ids, ["a", "b2", "b", "c"]);
    assert_eq!(logbook.latest("home", None).unwrap().unwrap().batch_id.as_deref(), Some("c"));
    assert_eq!(logbook.latest("home", Some("tray")).unwrap().unwrap().batch_id.as_deref(), Some("b"));
    assert_eq!(logbook.kitchens().unwrap(), ["home"]);
}

#[test]
fn a_fit_comes_back_as_it_was_kept() {
    let (_folder, mut logbook) = fresh();
    assert_eq!(logbook.latest_fit("home").unwrap(), None);
    let fit = |seed| FitRecord {
        kitchen: "home".into(),
        made_at: "2026-03-01T08:00:00Z".parse().unwrap(),
        program_version: "0.1.0".into(),
        method: "quick".into(),
        seed,
        settings: serde_json::json!({"starts": 4}),
        data_hash: "abc".into(),
        summary: serde_json::json!({"khat": 0.3}),
        names: vec!["a".into(), "b".into()],
        draws: vec![0.1, -2.5e-300, f64::MAX, 4.0],
    };
    for seed in [1, 2, 3, 4, u64::MAX] {
        logbook.keep_fit(&fit(seed)).unwrap();
    }
    assert_eq!(logbook.latest_fit("home").unwrap(), Some(fit(u64::MAX)));
    let all = logbook.fits("home").unwrap();
    assert_eq!(all[2], FitRecord { draws: vec![], ..fit(3) });
    assert_eq!(all[3], fit(4));
}

#[test]
fn a_plan_is_joined_to_the_batch_that_came_of_it() {
    let (_folder, mut logbook) = fresh();
    let plan = batch(None, "2026-03-05", 1.8);
    let at = "2026-03-04T18:00:00Z".parse().unwrap();
    let id = logbook.keep_plan(at, &plan, &serde_json::json!({"rise": 2.2})).unwrap();
    assert_eq!(id, "plan-2026-03-05-1");
    assert_eq!(logbook.plans("home").unwrap()[0].became, None);
    let baked = Batch { plan_id: Some(id.clone()), ..batch(Some("B9"), "2026-03-05", 1.9) };
    logbook.import(&Source::by_hand(), &[baked], &[], &[]).unwrap();
    let plans = logbook.plans("home").unwrap();
    assert_eq!((plans[0].plan.yeast_g, plans[0].became.as_ref().unwrap().yeast_g), (Some(1.8), Some(1.9)));
    assert_eq!(logbook.plan("home", &id).unwrap().unwrap(), plans[0]);
    assert_eq!(logbook.plan("home", "none").unwrap(), None);
    // The batch taken back, the plan waits again.
    logbook.undo_last_import().unwrap();
    assert_eq!(logbook.plans("home").unwrap()[0].became, None);
}

#[test]
fn a_column_map_is_kept_by_the_shape_of_its_sheet() {
    let (_folder, mut logbook) = fresh();
    assert_eq!(logbook.column_map("s1").unwrap(), None);
    logbook.keep_column_map("s1", "a = 1").unwrap();
    logbook.keep_column_map("s1", "a = 2").unwrap();
    assert_eq!(logbook.column_map("s1").unwrap().as_deref(), Some("a = 2"));
}

#[test]
fn a_second_writer_is_told() {
    let (folder, mut logbook) = fresh();
    let source = Source::new("a.csv");
    let importer = logbook.importer(&source).unwrap();
    let mut second = Logbook::open(folder.path().join("logbook.db")).unwrap();
    let refused = second.import(&source, &[batch(None, "2026-03-01", 2.0)], &[], &[]).unwrap_err();
    assert!(refused.is_passing());
    assert!(refused.to_string().contains("somebody else is writing"), "{refused}");
    assert_eq!(second.batches("home").unwrap(), []);
    drop(importer);
    second.import(&source, &[batch(None, "2026-03-01", 2.0)], &[], &[]).unwrap();
}

#[test]
fn what_is_no_logbook_of_this_program_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    assert!(matches!(Logbook::open(path("none.db")), Err(LogbookError::Missing { .. })));
    assert!(matches!(Logbook::open_or_create(path("none/a.db")), Err(LogbookError::NoFolder { .. })));
    assert!(matches!(Logbook::open(folder.path()), Err(LogbookError::CannotOpen { .. })));
    std::fs::write(path("sheet.csv"), "date,flour_g\n2026-03-01,1000\n".repeat(200)).unwrap();
    assert!(matches!(Logbook::open_or_create(path("sheet.csv")), Err(LogbookError::NotALogbook { .. })));
    Connection::open(path("other.db")).unwrap().execute_batch("CREATE TABLE t (x)").unwrap();
    assert!(matches!(Logbook::open_or_create(path("other.db")), Err(LogbookError::NotALogbook { .. })));
    std::fs::write(path("empty.db"), "").unwrap();
    assert!(matches!(Logbook::open(path("empty.db")), Err(LogbookError::NotALogbook { .. })));
    Logbook::open_or_create(path("empty.db")).unwrap();
    Logbook::open_read_only(path("empty.db")).unwrap();
}

#[test]
fn a_newer_logbook_is_refused() {
    for newer in ["PRAGMA user_version = 99", "ALTER TABLE batches ADD COLUMN moon_phase TEXT"] {
        let (folder, logbook) = fresh();
        drop(logbook);
        let path = folder.path().join("logbook.db");
        Connection::open(&path).unwrap().execute_batch(newer).unwrap();
        let refused = Logbook::open(&path).unwrap_err();
        assert!(matches!(refused, LogbookError::Newer { .. }), "{refused}");
        assert!(refused.to_string().contains("newer doughwright"), "{refused}");
    }
}
