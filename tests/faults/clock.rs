//! A clock that is set back between two commands (faketime).

use std::process::Command;

use crate::bench::{PROGRAM, Told};
use crate::kitchen::{ids, kitchen};

/// What is done last counts as last, though the clock then says that it was done two years before.
pub fn set_back() {
    let bench = kitchen(12);
    let at = |time: &str, words: &[&str]| -> Told {
        let mut command = Command::new("faketime");
        command.args(["-f", time, PROGRAM]).args(words).current_dir(bench.folder());
        Told::from(command.env_remove("DOUGHWRIGHT_LOGBOOK").output().unwrap()).done()
    };
    let (late, early) = ("@2027-06-01 12:00:00", "@2025-06-01 12:00:00");
    let before = ids(&bench, "logbook.db");
    let note = |words| ["record", "--batch", "b-1", "--set", words];
    at(late, &note("notes=first"));
    at(early, &note("notes=second"));
    let notes = || bench.json(&["show", "b-1"])["batch"]["notes"].clone();
    assert_eq!(notes(), "second");
    let history = bench.run(&["show", "b-1", "--history"]).done().out;
    let (first, second) = (history.find("2027-06-01"), history.find("2025-06-01"));
    assert!(first.is_some() && second.is_some(), "both are told: {history}");
    at(early, &["undo"]);
    assert_eq!(notes(), "first");
    // A fit and a plan of the later clock do not stand before those made afterwards.
    at(late, &["fit", "--method", "quick", "--draws", "200"]);
    at(early, &["record", "--batch", "b-2", "--set", "rise=2.9"]);
    let fit = at(early, &["fit", "--method", "quick", "--draws", "200", "--json"]).json();
    assert!(fit.is_object());
    let plan = at(early, &["recommend", "--cold-hours", "24", "--json"]).json()["plan_ids"][0].clone();
    let sheet = at(early, &["adjust", "--reading", "12=1.3", "--json"]).json();
    assert!(plan.is_string() && sheet["options"].is_array(), "{sheet}");
    assert_eq!(ids(&bench, "logbook.db"), before);
}
