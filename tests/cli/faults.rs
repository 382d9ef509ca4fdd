//! Faults from outside: a report that is interrupted, several processes at once, a clock that was set back, no network. What
//! was acknowledged is there afterwards. (Kills while the logbook is written: `tests/logbook_kill.rs`; bytes changed and
//! files cut short: `tests/logbook_damage.rs`; no room and no right to write: `system.rs`.)
//!
//! What a system does not allow to be set up is passed over, and said.

use std::collections::BTreeSet;
use std::fs;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use crate::bench::{Bench, PROGRAM, Told, demo_data};

/// The program at work beside others.
fn begun(bench: &Bench, words: &[&str]) -> Child {
    let mut command = Command::new(PROGRAM);
    command.current_dir(bench.folder()).env_remove("DOUGHWRIGHT_LOGBOOK").args(words);
    command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
}

fn ids(bench: &Bench) -> BTreeSet<String> {
    let listed = bench.json(&["list"]);
    let batches = listed["batches"].as_array().unwrap();
    batches.iter().map(|b| b["batch_id"].as_str().unwrap().to_string()).collect()
}

/// The report's name always leads to a whole page: that before, or the new one.
#[test]
fn issue_8_a_report_that_is_killed_leaves_the_page_before_it() {
    let bench = Bench::with_logbook();
    bench.run(&["report"]).done();
    let whole = bench.read("report.html").len();
    let (mut killed, mut ended) = (0, 0);
    for after_ms in (0..).step_by(60) {
        let mut child = begun(&bench, &["report"]);
        std::thread::sleep(Duration::from_millis(after_ms));
        child.kill().unwrap();
        if child.wait().unwrap().success() {
            ended += 1
        } else {
            killed += 1
        }
        let page = bench.read("report.html");
        assert!(page.trim_end().ends_with("</html>"), "after {after_ms} ms");
        assert!(page.len().abs_diff(whole) < whole / 100, "after {after_ms} ms: {} bytes", page.len());
        if ended > 2 {
            break;
        }
    }
    assert!(killed > 5, "it was killed {killed} times only");
    let left = |name: &str| name.starts_with(".doughwright-");
    // A kill while it is written may leave the part behind, under a name of its own; never more than one a kill.
    let parts = fs::read_dir(bench.folder())
        .unwrap()
        .filter(|e| left(&e.as_ref().unwrap().file_name().to_string_lossy()));
    assert!(parts.count() <= killed);
}

/// Ten processes write to one logbook; each either says that it did, and its rows are there, or that it could not.
#[test]
fn issue_8_processes_that_write_at_once_lose_nothing() {
    let bench = Bench::with_logbook();
    let before = ids(&bench);
    let table = |n: usize| {
        let row = |i: usize| format!("p{n}-{i},hall,2026-10-{:02},1000,650,2,instant\n", 1 + i % 28);
        let rows: String = (0..300).map(row).collect();
        bench.file(
            &format!("{n}.csv"),
            format!("batch_id,kitchen,date,flour_g,water_g,yeast_g,yeast_type\n{rows}"),
        );
        format!("{n}.csv")
    };
    let tables: Vec<String> = (0..10).map(table).collect();
    let children: Vec<Child> = tables.iter().map(|t| begun(&bench, &["import", t])).collect();
    let mut wanted = before;
    let mut taken = 0;
    for (n, child) in children.into_iter().enumerate() {
        let told = Told::from(child.wait_with_output().unwrap());
        if told.code == 0 {
            taken += 1;
            wanted.extend((0..300).map(|i| format!("p{n}-{i}")));
        } else {
            told.refused(1, &["logbook.db"]);
        }
    }
    assert!(taken > 0);
    let there = ids(&bench);
    let odd: Vec<&String> = there.symmetric_difference(&wanted).take(5).collect();
    assert!(odd.is_empty(), "{taken} of 10 were taken; lost, or there unasked: {odd:?}");
}

/// Under a clock that stands elsewhere (libfaketime).
fn under_clock(bench: &Bench, day: &str, words: &[&str]) -> Option<Told> {
    let mut command = Command::new("faketime");
    command.args(["-f", day, PROGRAM]).args(words).current_dir(bench.folder());
    match command.env_remove("DOUGHWRIGHT_LOGBOOK").output() {
        Ok(output) => Some(output.into()),
        Err(e) => {
            eprintln!("passed over: no other clock can be had here (faketime): {e}");
            None
        }
    }
}

/// What is done last counts as last, though the clock then says that it was done two years before.
#[test]
fn issue_8_a_clock_set_back_loses_nothing_and_undoes_in_order() {
    let bench = Bench::with_logbook();
    let (late, early) = ("@2027-06-01 12:00:00", "@2025-06-01 12:00:00");
    let first = &["record", "--batch", "hall-001", "--set", "notes=first"];
    let Some(told) = under_clock(&bench, late, first) else { return };
    told.done();
    let second = &["record", "--batch", "hall-001", "--set", "notes=second"];
    under_clock(&bench, early, second).unwrap().done();
    let notes = || bench.json(&["show", "hall-001"])["batch"]["notes"].clone();
    assert_eq!(notes(), "second");
    let history = bench.run(&["show", "hall-001", "--history"]).done().out;
    assert!(history.contains("2027-06-01") && history.contains("2025-06-01"), "{history}");
    under_clock(&bench, early, &["undo"]).unwrap().done();
    assert_eq!(notes(), "first");
    under_clock(&bench, early, &["fit", "--method", "quick"]).unwrap().done();
    under_clock(&bench, early, &["recommend", "--cold-hours", "24"]).unwrap().done();
    assert_eq!(ids(&bench).len(), 120);
}

/// Every kind of command, in a network namespace without so much as a loopback device.
#[test]
fn issue_8_no_network_is_needed() {
    let bench = Bench::new();
    fs::copy(demo_data("batches.csv"), bench.path("batches.csv")).unwrap();
    let calls: [&[&str]; 12] = [
        &["import", "batches.csv"],
        &["fit"],
        &["recommend", "--cold-hours", "24"],
        &["predict", "--yeast-g", "4", "--cold-hours", "24"],
        &["adjust", "--yeast-g", "4", "--cold-hours", "24", "--reading", "12=1.3"],
        &["residuals"],
        &["charts", "--png"],
        &["consistency"],
        &["crust"],
        &["report"],
        &["export", "all.xlsx"],
        &["demo", "--out", "demo"],
    ];
    for words in calls {
        let mut command = Command::new("unshare");
        command.args(["-n", PROGRAM]).args(words).current_dir(bench.folder());
        match command.env_remove("DOUGHWRIGHT_LOGBOOK").output().map(Told::from) {
            Ok(told) if !told.err.contains("unshare") => drop(told.done()),
            other => return eprintln!("passed over: no network of its own can be had here: {other:?}"),
        }
    }
}
