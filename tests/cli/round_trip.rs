//! What goes in comes out, once, with what stood there before.

use std::fs;

use crate::bench::{Bench, demo_data};

fn batches() -> String {
    demo_data("batches.csv").display().to_string()
}

#[test]
fn issue_2_importing_again_changes_nothing() {
    let bench = Bench::with_logbook();
    let tables =
        ["batches.csv", "readings.csv", "surroundings.csv"].map(|t| demo_data(t).display().to_string());
    bench.run(&["export", "before.jsonl"]).done();
    for table in tables {
        let answer = bench.json(&["import", &table]);
        let counts = ["added", "changed", "set_aside"].map(|k| answer[k].as_u64());
        assert_eq!(counts, [Some(0); 3], "{table}");
        assert!(answer["unchanged"].as_u64() > Some(0), "{table}");
    }
    bench.run(&["export", "after.jsonl"]).done();
    assert_eq!(bench.read("before.jsonl"), bench.read("after.jsonl"));
}

#[test]
fn issue_2_the_workbook_holds_the_same_batches_as_the_csv() {
    let bench = Bench::with_logbook();
    let workbook = demo_data("batches.xlsx").display().to_string();
    let answer = bench.json(&["import", &workbook]);
    assert_eq!((&answer["added"], &answer["changed"]), (&0.into(), &0.into()), "{answer}");
}

#[test]
fn issue_2_an_edited_row_changes_its_batch_and_the_former_value_stays() {
    let bench = Bench::with_logbook();
    let before = bench.json(&["show", "hall-001"])["batch"]["yeast_g"].clone();
    let table = fs::read_to_string(batches()).unwrap();
    let row = table.lines().nth(1).unwrap();
    let place = table.lines().next().unwrap().split(',').position(|h| h == "yeast_g").unwrap();
    let cells: Vec<&str> = row.split(',').collect();
    let edited: Vec<&str> =
        cells.iter().enumerate().map(|(i, c)| if i == place { "7.77" } else { c }).collect();
    bench.file("batches.csv", table.replacen(row, &edited.join(","), 1));
    let answer = bench.json(&["import", "batches.csv"]);
    assert_eq!((&answer["changed"], &answer["unchanged"]), (&1.into(), &119.into()));
    let after = bench.json(&["show", "hall-001", "--history"]);
    assert_eq!(after["batch"]["yeast_g"], 7.77);
    let versions = after["history"].as_array().unwrap();
    let yeasts: Vec<_> = versions.iter().map(|v| v["batch"]["yeast_g"].clone()).collect();
    assert!(yeasts.contains(&before) && yeasts.contains(&7.77.into()), "{yeasts:?}");
    let text = bench.run(&["show", "hall-001", "--history"]).done().out;
    let former = before.as_f64().unwrap();
    assert!(text.contains(&format!("yeast_g: {former} -> 7.77")), "{text}");
}

#[test]
fn issue_2_a_check_writes_nothing() {
    let bench = Bench::new();
    let answer = bench.json(&["import", &batches(), "--check"]);
    assert_eq!(answer["added"], 120);
    assert_eq!(fs::read_dir(bench.folder()).unwrap().count(), 0);

    let bench = Bench::with_logbook();
    bench.file("bad.csv", "date,flour_g,water_g,yeast_g,yeast_type\n2026-01-02,1000,650,lots,instant\n2026-01-03,1000,650,2,instant\n");
    let before = bench.logbook();
    let told = bench.run(&["import", "bad.csv", "--check"]);
    assert_eq!(told.code, 3);
    assert!(told.out.contains("bad.csv row 2") && told.out.contains("nothing was written"), "{told:?}");
    assert_eq!(bench.logbook(), before);
    assert!(!bench.path("bad.set-aside.csv").exists());
}

#[test]
fn issue_2_an_export_imports_again_to_the_same_export() {
    let name = "all.csv";
    let bench = Bench::with_logbook();
    bench.run(&["export", name]).done();
    assert_eq!(bench.json(&["import", name, "--logbook", "new.db"])["added"], 120);
    bench.run(&["export", "again.csv", "--logbook", "new.db"]).done();
    assert_eq!(bench.read(name), bench.read("again.csv"));
    let printed = bench.run(&["export", "-"]).done();
    assert_eq!(printed.out, bench.read(name));
}

#[test]
fn issue_2_a_note_that_looks_like_a_formula_comes_back_as_it_was() {
    let bench = Bench::new();
    bench.file("sheet.csv", "date,flour_g,water_g,yeast_g,yeast_type,notes\n2026-01-02,1000,650,2,instant,\"=1+1, \"\"quoted\"\"\nsecond line\"\n");
    bench.run(&["import", "sheet.csv"]).done();
    bench.run(&["export", "all.csv"]).done();
    bench.run(&["import", "all.csv", "--logbook", "new.db"]).done();
    let notes = |logbook: &str| bench.json(&["list", "--logbook", logbook])["batches"][0]["notes"].clone();
    assert_eq!(notes("new.db"), notes("logbook.db"));
    assert!(notes("new.db").as_str().unwrap().contains("1+1, \"quoted\"\nsecond line"));
}

#[test]
fn issue_2_standard_input_is_a_file_too() {
    let bench = Bench::new();
    let table = fs::read(batches()).unwrap();
    let output = bench.command(&["import", "-", "--json"]).write_stdin(table).output().unwrap();
    assert_eq!(crate::bench::Told::from(output).done().json()["added"], 120);
}
