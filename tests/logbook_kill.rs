//! Killed at any instant, the logbook opens, is sound, and holds all or nothing of the step that was under
//! way; nothing acknowledged is lost, and the step can be done again.
//!
//! The victim is this test binary itself, run again as [`victim`]: it opens the logbook (making it, or
//! adding columns to an older one), then imports batch after batch of rows, keeps a fit after each
//! and records a batch by hand, saying so before and after every step. The parent kills it after a random time.

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use doughwright::dough::{Batch, Reading, Vessel};
use doughwright::logbook::{FitRecord, ImportSummary, Logbook, Source};
use rand::{RngExt, SeedableRng};

const KILLS: u64 = 200;
/// Kills on one file, before the next begins with a new one.
const ON_ONE_FILE: u64 = 10;
const ROWS: usize = 150;
/// The kitchen of what is recorded by hand.
const HAND: &str = "hand";
const LOGBOOK: &str = "DOUGHWRIGHT_TEST_VICTIM";

/// The rows of step `k`; every third step edits the rows of the step before.
fn rows(k: usize) -> (Vec<Batch>, Vec<Reading>) {
    let owner = if k % 3 == 2 { k - 1 } else { k };
    let batch = |i: usize| Batch {
        batch_id: Some(format!("{owner}-{i}")),
        date: "2026-03-01".parse().ok(),
        flour_g: Some(1000.0),
        water_g: Some(600.0 + k as f64),
        notes: Some("invented ".repeat(20)),
        ..Batch::default()
    };
    let reading = |i: usize| Reading {
        batch_id: format!("{owner}-{i}"),
        hours: 1.0,
        rise: Some(1.0 + k as f64),
        dough_temp_c: None,
        vessel: Vessel::Dough,
    };
    ((0..ROWS).map(batch).collect(), (0..ROWS).map(reading).collect())
}

fn import(logbook: &mut Logbook, k: usize) -> ImportSummary {
    let (batches, readings) = rows(k);
    logbook.import(&Source::new(format!("step {k}")), &batches, &readings, &[]).unwrap()
}

/// A batch written down by hand with a reading, as one step.
fn record(logbook: &mut Logbook, k: usize) {
    let mut by_hand = Source::by_hand();
    by_hand.kitchen = Some(HAND.into());
    let mut importer = logbook.importer(&by_hand).unwrap();
    let batch = Batch {
        kitchen: Some(HAND.into()),
        date: "2026-03-02".parse().ok(),
        flour_g: Some(1000.0),
        notes: Some(format!("{k}")),
        ..Batch::default()
    };
    importer.push(&batch).unwrap();
    let batch_id = importer.made_id().unwrap().to_string();
    importer
        .push_reading(&Reading {
            batch_id,
            hours: 1.0,
            rise: Some(1.5),
            dough_temp_c: None,
            vessel: Vessel::Dough,
        })
        .unwrap();
    importer.finish().unwrap();
}

/// Imports of whole steps, and batches recorded by hand.
fn steps(logbook: &Logbook) -> usize {
    logbook.imports().unwrap().iter().filter(|i| i.source.starts_with("step")).count()
}

fn fit(k: usize) -> FitRecord {
    FitRecord {
        kitchen: "home".into(),
        made_at: jiff::Timestamp::UNIX_EPOCH,
        program_version: "0.1.0".into(),
        method: "quick".into(),
        seed: k as u64,
        settings: serde_json::json!({}),
        data_hash: String::new(),
        summary: serde_json::json!({}),
        names: vec!["a".into()],
        draws: vec![k as f64; 20_000],
    }
}

#[test]
#[ignore = "run by the test below, which kills it"]
fn victim() {
    let Ok(path) = std::env::var(LOGBOOK) else { return };
    let say = |what: &str, k: usize| {
        let mut out = std::io::stdout();
        writeln!(out, "{what} {k}").unwrap();
        out.flush().unwrap();
    };
    let mut logbook = Logbook::open_or_create(path).unwrap();
    for k in steps(&logbook).. {
        say("importing", k);
        import(&mut logbook, k);
        say("imported", k);
        logbook.keep_fit(&fit(k)).unwrap();
        say("fitted", k);
        say("recording", k);
        record(&mut logbook, k);
        say("recorded", k);
    }
}

/// What the victim said before it was killed after `life`.
fn kill_after(life: Duration, path: &Path) -> Vec<(String, usize)> {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["victim", "--exact", "--ignored", "--nocapture"])
        .env(LOGBOOK, path)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    std::thread::sleep(life);
    assert!(child.try_wait().unwrap().is_none(), "the victim ended by itself");
    child.kill().unwrap();
    child.wait().unwrap();
    let lines = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
    lines
        .filter_map(|line| {
            let (what, k) = line.split_once(' ')?;
            let known = ["importing", "imported", "fitted", "recording", "recorded"].contains(&what);
            known.then_some((what.to_string(), k.parse().ok()?))
        })
        .collect()
}

/// Checks that the logbook holds exactly the first steps, all they acknowledged, and nothing by half.
fn holds_whole_steps(path: &Path, said: &[(String, usize)], acknowledged: &mut usize) {
    // Killed before its first write, the victim has left no file, or an empty one.
    let logbook = Logbook::open_or_create(path).unwrap();
    logbook.check().unwrap();
    let steps = steps(&logbook);
    let last = |what: &str| said.iter().rev().find(|(w, _)| w == what).map(|(_, k)| k + 1);
    *acknowledged = last("imported").unwrap_or(*acknowledged).max(*acknowledged);
    let begun = last("importing").unwrap_or(*acknowledged).max(*acknowledged);
    assert!(
        (*acknowledged..=begun).contains(&steps),
        "{steps} steps, {acknowledged} acknowledged, {begun} begun"
    );

    let mut wanted = std::collections::BTreeMap::new();
    for k in 0..steps {
        let (batches, readings) = rows(k);
        for (batch, reading) in batches.into_iter().zip(readings) {
            wanted.insert(reading.batch_id, (batch.water_g, reading.rise));
        }
    }
    let batches = logbook.batches("home").unwrap();
    assert_eq!(batches.len(), wanted.len());
    for batch in batches {
        assert_eq!(batch.water_g, wanted[batch.batch_id.as_ref().unwrap()].0);
    }
    let readings = logbook.readings("home").unwrap();
    assert_eq!(readings.len(), wanted.len());
    assert!(readings.iter().all(|r| r.rise == wanted[&r.batch_id].1));
    let by_hand: Vec<Batch> = logbook.batches(HAND).unwrap();
    let readings = logbook.readings(HAND).unwrap();
    assert_eq!(by_hand.len(), readings.len(), "a batch recorded by hand has lost its reading");
    let notes = |k: usize| by_hand.iter().any(|b| b.notes == Some(k.to_string()));
    if let Some(recorded) = last("recorded") {
        assert!(notes(recorded - 1), "an acknowledged record is lost");
    }
    let fits = logbook.fits("home").unwrap();
    if let Some(fitted) = last("fitted") {
        assert!(fits.iter().any(|f| f.seed + 1 >= fitted as u64), "an acknowledged fit is lost");
    }
    assert!(fits.iter().rev().take(2).all(|f| *f == fit(f.seed as usize)));
}

#[test]
fn two_hundred_kills_lose_nothing_acknowledged() {
    let folder = tempfile::tempdir().unwrap();
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(20260301);
    let (mut within_import, mut within_fit, mut within_record, mut within_opening) = (0, 0, 0, 0);
    let (mut path, mut acknowledged) = (folder.path().join("0.db"), 0);
    for kill in 0..KILLS {
        if kill % ON_ONE_FILE == 0 {
            path = folder.path().join(format!("{kill}.db"));
            acknowledged = 0;
        } else if kill % ON_ONE_FILE == 5 {
            // An older logbook: the next victim begins with adding a column.
            let conn = rusqlite::Connection::open(&path).unwrap();
            conn.execute_batch("ALTER TABLE batches DROP COLUMN tap_temp_c").unwrap();
        }
        let said = kill_after(Duration::from_micros(random.random_range(2_000..80_000)), &path);
        match said.last().map(|(what, _)| what.as_str()) {
            None => within_opening += 1,
            Some("importing") => within_import += 1,
            Some("imported") => within_fit += 1,
            Some("recording") => within_record += 1,
            Some(_) => (),
        }
        holds_whole_steps(&path, &said, &mut acknowledged);
        // The step that was cut short can be done again, and twice is once.
        let mut logbook = Logbook::open(&path).unwrap();
        let next = steps(&logbook);
        record(&mut logbook, next);
        assert!(import(&mut logbook, next).import.is_some());
        assert_eq!(import(&mut logbook, next).import, None);
        acknowledged = next + 1;
    }
    eprintln!(
        "killed while opening {within_opening}, importing {within_import}, keeping a fit {within_fit}, recording {within_record}"
    );
    assert!(
        within_opening > 5 && within_import > 20 && within_fit > 5 && within_record > 5,
        "the kills missed the steps"
    );
}
