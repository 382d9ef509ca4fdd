//! The empty sheet: it opens as a workbook, holds its drop-downs, and its example is not a batch.

use std::io::{Cursor, Read};

use crate::bench::Bench;

fn part(bench: &Bench, name: &str) -> String {
    let bytes = std::fs::read(bench.path("log.xlsx")).unwrap();
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut text = String::new();
    zip.by_name(name).unwrap().read_to_string(&mut text).unwrap();
    text
}

#[test]
fn a_template_has_its_words_as_drop_downs_and_its_example_is_passed_over() {
    let bench = Bench::new();
    let told = bench.run(&["template", "log.xlsx"]).done();
    assert!(told.out.contains("needed are date, flour_g") && told.out.contains("not imported"), "{told:?}");
    let sheet = part(&bench, "xl/worksheets/sheet1.xml");
    assert!(sheet.contains("instant,active_dry,fresh") && sheet.contains("under,ready,over,collapsed"));
    assert!(
        part(&bench, "xl/comments1.xml")
            .contains("All flour, that of a preferment included. In g, 10 to 1000000.")
    );

    let told = bench.json(&["import", "log.xlsx"]);
    assert_eq!((&told["added"], &told["set_aside"]), (&0.into(), &0.into()), "{told}");
    let text = bench.run(&["import", "log.xlsx"]).done().out;
    assert!(text.contains("the template's example passed over"), "{text}");
    assert!(text.contains("headings of readings, and no row below them"), "{text}");
    bench.refuses(&["template", "log.xlsx"], 2, &["log.xlsx", "may hold your records", "another name"]);
    bench.refuses(&["template", "log.csv"], 2, &["log.csv", ".xlsx"]);
}

#[test]
fn headings_without_rows_are_said_to_have_none() {
    let bench = Bench::new();
    bench.file("log.csv", format!("{}\n", crate::bench::HEADINGS));
    let said = ["log.csv: headings of batches, and no row below them", "write a row"];
    for words in
        [&["import", "log.csv"][..], &["import", "log.csv", "--check"], &["import", "log.csv", "--json"]]
    {
        bench.run(words).refused(2, &said);
    }
}
