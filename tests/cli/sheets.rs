//! Sheets in a baker's own words: what is asked, what settles it, and that it is remembered; and the ways back.

use std::fs;

use super::bench::Bench;

/// An invented sheet: a heading that nobody knows, decimal commas, days first.
const SHEET: &str =
    "Day;Flour (kg);Water %;IDY;Warm spot;Rise\n14.03.2026;1;62;3,5;22;2,1\n15.03.2026;1;62;3;23;2,0\n";
const SETTLED: [&str; 6] = ["--column", "Warm spot=bulk_temp_c", "--unit", "IDY=g", "--fill", "bulk_hours=3"];

#[test]
fn issue_4_what_settled_a_sheet_is_remembered_for_the_next() {
    let bench = Bench::new();
    fs::write(bench.path("mine.csv"), SHEET).unwrap();
    bench.run(&["import", "mine.csv"]).refused(2, &["mine.csv", "Warm spot", "--column"]);
    let mut call = vec!["import", "mine.csv", "--save-columns", "map.toml"];
    call.extend(SETTLED);
    assert_eq!(bench.run(&call).code, 0);
    let again = bench.run(&["import", "mine.csv"]);
    assert_eq!((again.code, again.out.contains("2 as before")), (0, true), "{again:?}");
    let by_file = ["import", "mine.csv", "--columns", "map.toml", "--logbook", "other.db"];
    assert_eq!(bench.run(&by_file).code, 0);
    let shown = bench.run(&["list"]).out;
    assert_eq!(shown, bench.run(&["list", "--logbook", "other.db"]).out);
}

#[test]
fn issue_4_backup_and_undo_lead_back() {
    let bench = Bench::new();
    fs::write(bench.path("mine.csv"), SHEET).unwrap();
    let mut call = vec!["import", "mine.csv"];
    call.extend(SETTLED);
    assert_eq!(bench.run(&call).code, 0);
    assert_eq!(bench.run(&["backup", "copy.db"]).code, 0);
    assert_eq!(bench.run(&["undo"]).code, 0);
    assert!(bench.run(&["list"]).out.contains("0 batches"));
    assert!(bench.run(&["list", "--logbook", "copy.db"]).out.contains("2 batches"));
}
