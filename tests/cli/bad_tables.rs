//! Tables that cannot be taken, wholly or in part.

use crate::bench::{Bench, HEADINGS, demo_data};

#[test]
fn issue_2_a_missing_file_is_named() {
    let bench = Bench::with_logbook();
    bench.refuses(&["import", "nowhere.csv"], 1, &["nowhere.csv", "no such file", "check the name"]);
    bench.refuses(&["recommend", "nowhere.csv"], 1, &["nowhere.csv", "no such file"]);
}

#[test]
fn issue_2_one_missing_file_of_two_changes_nothing() {
    let bench = Bench::new();
    let batches = demo_data("batches.csv").display().to_string();
    bench.refuses(&["import", &batches, "nowhere.csv"], 1, &["nowhere.csv"]);
    assert!(!bench.path("logbook.db").exists());
}

#[test]
fn issue_2_a_folder_is_no_file() {
    let bench = Bench::with_logbook();
    std::fs::create_dir(bench.path("sheets")).unwrap();
    bench.refuses(&["import", "sheets"], 1, &["sheets", "cannot be read", "check that it is a file"]);
}

#[test]
fn issue_2_bytes_that_are_no_table_are_refused() {
    let bench = Bench::with_logbook();
    // PNG signature and the begin of its first chunk: ISO/IEC 15948, 5.2 and 11.2.
    bench.file("photo.csv", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\x02\0\0\0");
    bench.refuses(
        &["import", "photo.csv"],
        2,
        &["photo.csv", "not a table", "save the sheet as CSV or XLSX"],
    );
    let noise: Vec<u8> = (0..4000_u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    bench.file("noise.xlsx", noise);
    bench.refuses(&["import", "noise.xlsx"], 2, &["noise.xlsx"]);
    bench.file("cut.xlsx", &std::fs::read(demo_data("batches.xlsx")).unwrap()[..9000]);
    bench.refuses(&["import", "cut.xlsx"], 2, &["cut.xlsx"]);
}

#[test]
fn issue_2_an_encoding_that_does_not_hold_is_named_with_its_row() {
    let bench = Bench::with_logbook();
    // The byte order mark says UTF-8 (Unicode 15.0, 2.13); E9 followed by "t" is not UTF-8 (RFC 3629).
    let mut bytes = b"\xef\xbb\xbf".to_vec();
    bytes.extend(format!("{HEADINGS},recipe\n2026-01-02,1000,650,2,instant,P").bytes());
    bytes.extend(b"\xe9trie\n");
    bench.file("accents.csv", bytes);
    bench.refuses(&["import", "accents.csv"], 2, &["accents.csv", "row 2", "UTF-8"]);
}

#[test]
fn issue_2_an_older_encoding_is_read_as_it_was_meant() {
    let bench = Bench::new();
    // E9 is é in Windows-1252 and ISO 8859-1 alike.
    let mut bytes = format!("{HEADINGS},recipe\n2026-01-02,1000,650,2,instant,P").into_bytes();
    bytes.extend(b"\xe9trie\n");
    bench.file("accents.csv", bytes);
    bench.run(&["import", "accents.csv"]).done();
    assert!(bench.run(&["list"]).done().out.contains("Pétrie"));
}

#[test]
fn issue_2_an_empty_file_is_refused() {
    let bench = Bench::with_logbook();
    bench.file("empty.csv", "");
    bench.refuses(&["import", "empty.csv"], 2, &["empty.csv", "it is empty", "a row of headings"]);
    bench.file("blank.csv", "\n\n  \n");
    bench.refuses(&["import", "blank.csv"], 2, &["blank.csv"]);
}

#[test]
fn issue_2_unknown_columns_are_named() {
    let bench = Bench::with_logbook();
    bench.file("other.csv", "foo,bar\n1,2\n");
    bench.refuses(
        &["import", "other.csv"],
        2,
        &["other.csv", "no row of headings", "date, flour_g, water_g"],
    );
    bench.file("extra.csv", format!("{HEADINGS},moonphase\n2026-01-02,1000,650,2,instant,full\n"));
    bench.refuses(&["import", "extra.csv"], 2, &["extra.csv", "moonphase", "not known"]);
}

/// A bad cell: what is put into which column, and what is said of it.
const BAD_CELLS: [(&str, &str, &str); 8] = [
    ("yeast_g", "lots", "a number is wanted"),
    ("flour_g", "-1000", "between"),
    ("water_g", "1e12", "between"),
    ("cold_hours", "100000", "between"),
    ("cold_hours", "-3", "between"),
    ("cold_temp_c", "400", "between"),
    ("yeast_type", "mushroom", "instant, active_dry, fresh"),
    ("date", "2026-13-05", "2026-03-01"),
];

#[test]
fn issue_2_a_bad_cell_is_set_aside_with_its_place_and_the_good_rows_go_in() {
    for (column, value, said) in BAD_CELLS {
        let bench = Bench::new();
        let table = table_with(column, value);
        bench.file("sheet.csv", table);
        let told = bench.run(&["import", "sheet.csv", "--json"]);
        assert_eq!(told.code, 3, "{told:?}");
        let answer = told.json();
        assert_eq!((&answer["added"], &answer["set_aside"]), (&1.into(), &1.into()), "{column} {value}");
        let problem = &answer["problems"][0];
        assert_eq!(problem["file"], "sheet.csv");
        assert_eq!(problem["row"], 3);
        assert_eq!(problem["column"], column);
        assert_eq!(problem["value"], value);
        assert!(problem["message"].as_str().unwrap().contains(said), "{problem}");
        assert_eq!(answer["set_aside_file"], "sheet.set-aside.csv");
        assert!(bench.read("sheet.set-aside.csv").contains(value));
    }
}

/// A good row, and one with a bad cell.
fn table_with(column: &str, value: &str) -> String {
    let headings = format!("{HEADINGS},cold_hours,cold_temp_c");
    let cell =
        |(name, good): (&str, &'static str)| if name == column { value.to_string() } else { good.into() };
    let good = ["2026-01-02", "1000", "650", "2", "instant", "24", "4"];
    let bad: Vec<String> = headings.split(',').zip(good).map(cell).collect();
    format!("{headings}\n{}\n{}\n", good.join(","), bad.join(","))
}

#[test]
fn issue_2_a_rise_without_a_stage_to_rise_in_is_set_aside() {
    let bench = Bench::new();
    bench.file("sheet.csv", format!("{HEADINGS},rise,rise_at\n2026-01-02,1000,650,2,instant,2.2,cold\n"));
    let told = bench.run(&["import", "sheet.csv"]);
    assert_eq!(told.code, 3, "{told:?}");
    assert!(told.out.contains("sheet.csv row 2"), "{told:?}");
    assert!(!told.out.contains("1 new"), "{told:?}");
}

#[test]
fn issue_2_a_preferment_larger_than_its_dough_is_set_aside() {
    let bench = Bench::new();
    bench.file("sheet.csv", format!("{HEADINGS},preferment_flour_g\n2026-01-02,1000,650,2,instant,1500\n"));
    let told = bench.run(&["import", "sheet.csv"]);
    assert_eq!(told.code, 3, "{told:?}");
    assert!(told.out.contains("preferment_flour_g"), "{told:?}");
}

#[test]
fn issue_2_rows_set_aside_go_in_once_corrected() {
    let bench = Bench::new();
    bench.file("sheet.csv", table_with("yeast_g", "lots"));
    assert_eq!(bench.run(&["import", "sheet.csv"]).code, 3);
    let corrected = bench.read("sheet.set-aside.csv").replacen("lots", "2.5", 1);
    bench.file("sheet.set-aside.csv", corrected);
    let answer = bench.json(&["import", "sheet.set-aside.csv"]);
    assert_eq!((&answer["added"], &answer["set_aside"]), (&1.into(), &0.into()), "{answer}");
    assert_eq!(bench.json(&["list"])["batches"].as_array().unwrap().len(), 2);
}

#[test]
fn issue_2_corrections_in_a_set_aside_file_are_never_written_over() {
    let bench = Bench::new();
    bench.file("sheet.csv", table_with("yeast_g", "lots"));
    for _ in 0..2 {
        // The same rows again need no second file.
        assert_eq!(bench.run(&["import", "sheet.csv"]).code, 3);
        assert!(!bench.path("sheet.set-aside-2.csv").exists());
    }
    let corrected = bench.read("sheet.set-aside.csv").replacen("lots", "2.5", 1);
    bench.file("sheet.set-aside.csv", &corrected);
    let told = bench.run(&["import", "sheet.csv"]);
    assert!(told.out.contains("sheet.set-aside-2.csv"), "{told:?}");
    assert_eq!(bench.read("sheet.set-aside.csv"), corrected);
    assert!(bench.read("sheet.set-aside-2.csv").contains("lots"));
}

#[test]
fn issue_2_readings_of_an_unknown_batch_are_set_aside() {
    let bench = Bench::with_logbook();
    bench.file("jar.csv", "batch_id,hours,rise\nnobody-1,3,1.5\nhall-001,3,1.2\n");
    let told = bench.run(&["import", "jar.csv"]);
    assert_eq!(told.code, 3, "{told:?}");
    assert!(told.out.contains("jar.csv row 2") && told.out.contains("import its batch first"), "{told:?}");
}
