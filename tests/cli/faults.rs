//! Faults from outside that need nothing of the system: a report that is interrupted, several processes at once. What was
//! acknowledged is there afterwards. (Kills while the logbook is written: `tests/logbook_kill.rs`; bytes changed and files
//! cut short: `tests/logbook_damage.rs`; no right to write: `system.rs`; full disks, clocks, no network: `tests/faults`.)

use std::collections::BTreeSet;
use std::fs;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use crate::bench::{Bench, PROGRAM, Told};

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

/// Killed just when the new page is being written, which shows by its part beside it.
#[test]
fn issue_8_a_report_that_is_killed_while_it_is_written_is_whole() {
    let bench = Bench::with_logbook();
    bench.file("report.html", "the page before");
    let part = || {
        let mut names = fs::read_dir(bench.folder()).unwrap().map(|e| e.unwrap().file_name());
        names.any(|name| name.to_string_lossy().starts_with(".doughwright-"))
    };
    let mut within = 0;
    for _ in 0..10 {
        let mut child = begun(&bench, &["report"]);
        while child.try_wait().unwrap().is_none() {
            if part() {
                child.kill().unwrap();
                within += 1;
                break;
            }
        }
        child.wait().unwrap();
        let page = bench.read("report.html");
        assert!(page == "the page before" || page.trim_end().ends_with("</html>"), "{} bytes", page.len());
        // What a kill leaves behind is under a name of its own.
        for entry in fs::read_dir(bench.folder()).unwrap().map(Result::unwrap) {
            if entry.file_name().to_string_lossy().starts_with(".doughwright-") {
                fs::remove_file(entry.path()).unwrap();
            }
        }
    }
    eprintln!("{within} of 10 kills fell into the writing");
    assert!(within > 0, "no kill fell into the writing");
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
