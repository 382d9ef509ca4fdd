//! Logbooks that are missing, locked, damaged, foreign or newer: said so, and left as they are.

use std::fs;

use rusqlite::Connection;

use crate::bench::{Bench, demo_data};

fn batches() -> String {
    demo_data("batches.csv").display().to_string()
}

/// Every command that opens a logbook.
fn commands() -> Vec<Vec<String>> {
    let words = |w: &[&str]| w.iter().map(|s| (*s).to_string()).collect();
    vec![
        words(&["import", &batches()]),
        words(&["fit"]),
        words(&["recommend", "--cold-hours", "24"]),
        words(&["predict"]),
        words(&["residuals"]),
        words(&["consistency"]),
        words(&["report"]),
        words(&["list"]),
        words(&["show", "hall-001"]),
        words(&["export", "-"]),
    ]
}

#[test]
fn issue_2_a_missing_logbook_says_how_to_begin() {
    let bench = Bench::new();
    for words in commands().iter().skip(1) {
        // A plan is answered without records too, but not one that cannot be.
        match words[0].as_str() {
            "recommend" => bench.refuses(words, 2, &["no target_rise"]),
            "predict" => bench.refuses(words, 2, &["yeast"]),
            _ => bench.refuses(words, 1, &["no logbook at logbook.db", "import", "--logbook"]),
        }
        let named: Vec<String> =
            words.iter().cloned().chain(["--logbook".into(), "named.db".into()]).collect();
        bench.refuses(&named, 1, &["no logbook at named.db", "import", "--logbook"]);
    }
    assert_eq!(fs::read_dir(bench.folder()).unwrap().count(), 0, "nothing is made on the way");
    bench.refuses(
        &["import", &batches(), "--logbook", "no/book.db"],
        1,
        &["no/book.db", "folder does not exist"],
    );
    bench.refuses(&["import", &batches(), "--logbook", "."], 1, &["it is a folder"]);
}

#[test]
fn issue_2_a_logbook_that_another_writes_to_is_waited_for_and_then_left() {
    let bench = Bench::with_logbook();
    let other = Connection::open(bench.path("logbook.db")).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let said = ["logbook.db", "somebody else is writing", "wait"];
    bench.refuses(&["import", &batches()], 1, &said);
    bench.refuses(&["fit"], 1, &said);
    // Readers are not kept out.
    assert!(bench.run(&["list"]).done().out.contains("120 batches"));
    other.execute_batch("ROLLBACK").unwrap();
    bench.run(&["import", &batches()]).done();
}

#[test]
fn issue_2_a_logbook_cut_short_is_damaged() {
    let bench = Bench::with_logbook();
    let whole = bench.logbook();
    bench.file("logbook.db", &whole[..whole.len() / 2]);
    for words in commands().iter().filter(|w| w[0] != "export") {
        bench.refuses(words, 1, &["logbook.db", "damaged"]);
    }
    // The batches stand in the first half: they are all there, and it is said that the rest is not.
    let told = bench.run(&["export", "-"]);
    assert_eq!(told.code, 3, "{}", told.err);
    assert!(told.err.contains("damaged; 120 of its batches could be read"), "{}", told.err);
    let sound = Bench::with_logbook();
    assert_eq!(told.out, sound.run(&["export", "-"]).done().out);
    // Of the begin alone nothing can be read.
    bench.file("logbook.db", &whole[..5000]);
    bench.refuses(&["export", "-"], 1, &["logbook.db", "damaged", "no batch", "bring back a copy"]);
}

#[test]
fn issue_2_an_overwritten_page_is_found_and_what_is_sound_can_be_saved() {
    let bench = Bench::with_logbook();
    let mut bytes = bench.logbook();
    // The page where the table of fits begins is overwritten; the batches are elsewhere.
    let book = Connection::open(bench.path("logbook.db")).unwrap();
    let page: u32 =
        book.query_row("SELECT rootpage FROM sqlite_schema WHERE name = 'fits'", [], |r| r.get(0)).unwrap();
    let size: u32 = book.query_row("PRAGMA page_size", [], |r| r.get(0)).unwrap();
    drop(book);
    bytes[((page - 1) * size) as usize..(page * size) as usize].fill(0x41);
    bench.file("logbook.db", bytes);
    for words in commands().iter().filter(|w| w[0] != "export") {
        bench.refuses(words, 1, &["logbook.db", "damaged", "way back", "`export`"]);
    }
    let told = bench.run(&["export", "saved.csv"]);
    assert_eq!(told.code, 3, "{told:?}");
    assert!(told.err.contains("damaged; 120 of its batches could be read"), "{told:?}");
    let sound = Bench::with_logbook();
    sound.run(&["export", "all.csv"]).done();
    assert_eq!(bench.read("saved.csv"), sound.read("all.csv"));
    bench.run(&["import", "saved.csv", "--logbook", "new.db"]).done();
}

#[test]
fn issue_2_what_is_no_logbook_is_left_alone() {
    let bench = Bench::new();
    for bytes in [b"notes of mine, not a logbook".to_vec(), vec![7_u8; 20_000]] {
        bench.file("logbook.db", bytes);
        for words in commands() {
            bench.refuses(&words, 1, &["logbook.db", "not a doughwright logbook", "--logbook"]);
        }
    }
    fs::remove_file(bench.path("logbook.db")).unwrap();
    let other = Connection::open(bench.path("logbook.db")).unwrap();
    other.execute_batch("CREATE TABLE songs (title TEXT); INSERT INTO songs VALUES ('a song')").unwrap();
    drop(other);
    for words in commands() {
        bench.refuses(&words, 1, &["another program", "--logbook"]);
    }
}

#[test]
fn issue_2_a_newer_schema_is_refused() {
    let bench = Bench::with_logbook();
    let book = Connection::open(bench.path("logbook.db")).unwrap();
    book.execute_batch("PRAGMA user_version = 99").unwrap();
    drop(book);
    for words in commands() {
        bench.refuses(&words, 1, &["logbook.db", "newer doughwright", "use that version"]);
    }
}
