//! Files in, checked batches out.

use doughwright::dough::{Column, YeastType};
use doughwright::intake::{Intake, IntakeError, Options, TableKind, read_bytes, read_path, write_set_aside};

const HEAD: &str = "batch_id,date,flour_g,water_g,salt_g,yeast_g,yeast_type,bulk_hours,rise,notes\n";

fn read(text: &str) -> Result<Intake, IntakeError> {
    read_bytes("sheet.csv", text.as_bytes(), &Options::default())
}

fn good(rows: &str) -> Intake {
    read(&format!("{HEAD}{rows}")).expect("the sheet reads")
}

#[test]
fn a_sound_row_becomes_a_batch() {
    let intake = good("a1,2026-03-01T08:30,1000,620,28,2.5,fresh,1,1.8,\"two\nlines, one cell\"\n");
    assert_eq!(intake.understood.kind, TableKind::Batches);
    assert_eq!(intake.set_aside, []);
    let batch = &intake.batches[0].value;
    assert_eq!(batch.flour_g, Some(1000.0));
    assert_eq!(batch.yeast_type, Some(YeastType::Fresh));
    assert_eq!(batch.notes.as_deref(), Some("two\nlines, one cell"));
    assert_eq!(batch.get(Column::date).unwrap().to_string(), "2026-03-01T08:30");
}

#[test]
fn rows_are_numbered_as_a_spreadsheet_numbers_them() {
    for end in ["\n", "\r\n", "\r"] {
        let text = "\nbatch_id,date,flour_g,water_g,yeast_g,yeast_type,notes\n\
                    a,2026-03-01,1000,620,2,fresh,\"one\ntwo\"\n\n,,,,,,\n\
                    b,2026-03-02,1000,620,2,fresh,\nc,2026-03-03,1000,620,2,fresh,";
        let intake = read(&text.replace('\n', end)).unwrap();
        let rows: Vec<u64> = intake.batches.iter().map(|r| r.row).collect();
        assert_eq!((intake.understood.heading_row, rows), (2, vec![3, 6, 7]), "lines end in {end:?}");
    }
}

#[test]
fn a_bad_row_is_set_aside_whole_with_all_that_is_wrong() {
    let intake = good(
        "a,2026-03-01,1000,620,28,2,fresh,1,1.8,\n\
         b,2026-13-01,much,620,-3,2,wild,1,1.8,\n\
         c,2026-03-03,1000,62,28,,fresh,,1.8,\n",
    );
    let said: Vec<String> = (intake.problems())
        .map(|p| format!("{}, row {}, {}: '{}': {}", p.file, p.row, p.column, p.value, p.message))
        .collect();
    insta::assert_snapshot!(said.join("\n"), @r"
    sheet.csv, row 3, date: '2026-13-01': a date such as 2026-03-01, or 2026-03-01T08:30, is wanted
    sheet.csv, row 3, flour_g: 'much': a number is wanted, in g
    sheet.csv, row 3, salt_g: '-3': it lies between 0 and 100000 g
    sheet.csv, row 3, yeast_type: 'wild': one of instant, active_dry, fresh is wanted
    sheet.csv, row 4, yeast_g: '': yeast_g is needed: Yeast added to the final dough, as weighed; the preferment's is apart
    sheet.csv, row 4, water_g: '62': 62 g of water on 1000 g of flour is 6 %; 30 to 150 % is usual: check both (all flour and all water count, a preferment's too)
    sheet.csv, row 4, bulk_hours: '': a rise needs the time it took: give bulk_hours, cold_hours or temper_hours
    ");
    assert_eq!(intake.batches.len(), 1);
    let mut out = Vec::new();
    write_set_aside(&intake.headings, &intake.set_aside, &mut out).unwrap();
    let out = String::from_utf8(out).unwrap();
    assert!(out.starts_with(
        "batch_id,date,flour_g,water_g,salt_g,yeast_g,yeast_type,bulk_hours,rise,notes,problem\n"
    ));
    assert_eq!(out.lines().count(), 3);
}

#[test]
fn a_name_that_occurs_twice_must_say_the_same() {
    let row = "a,2026-03-01,1000,620,28,2,fresh,1,1.8,\n";
    let intake = good(&format!(
        "{row}{row}b,2026-03-02,1000,620,28,2,fresh,1,1.8,\nb,2026-03-02,1000,620,28,2,fresh,1,1.9,\n"
    ));
    assert_eq!(intake.batches.len(), 1);
    assert_eq!(intake.repeated, [(3, 2)]);
    let rows: Vec<u64> = intake.set_aside.iter().map(|r| r.row).collect();
    assert_eq!(rows, [4, 5]);
    assert!(intake.problems().next().unwrap().message.starts_with("row 5 has the same batch_id"));
}

#[test]
fn a_batch_without_a_name_gets_one_from_its_date() {
    let intake = good(
        ",2026-03-01,1000,620,28,2,fresh,1,1.8,\n\
         2026-03-01-2,2026-03-01,900,620,28,2,fresh,1,1.8,\n\
         ,2026-03-01,1100,620,28,2,fresh,1,1.8,\n",
    );
    let names: Vec<_> = intake.batches.iter().map(|r| r.value.batch_id.clone().unwrap()).collect();
    assert_eq!(names, ["2026-03-01-1", "2026-03-01-2", "2026-03-01-3"]);
}

#[test]
fn readings_and_surroundings_are_tables_of_their_own() {
    let readings =
        read("batch_id,hours,rise,dough_temp_c,vessel\na,1.5,1.2,24,\na,3,,,\nb,x,1.1,,jar\n,1,1.1,,\n")
            .unwrap();
    assert_eq!(readings.understood.kind, TableKind::Readings);
    assert_eq!((readings.readings.len(), readings.readings[0].row), (1, 2));
    let columns: Vec<&str> = readings.problems().map(|p| p.column.as_str()).collect();
    assert_eq!(columns, ["rise", "hours", "vessel", "batch_id"]);
    let log = read("batch_id,hours,surroundings_temp_c\na,0,24\na,2,4.5\na,3,200\n").unwrap();
    assert_eq!(log.understood.kind, TableKind::Surroundings);
    assert_eq!((log.surroundings.len(), log.set_aside.len()), (2, 1));
}

#[test]
fn a_file_that_is_no_table_says_why() {
    let said = |bytes: &[u8]| read_bytes("sheet.csv", bytes, &Options::default()).unwrap_err();
    let messages = [
        said(b""),
        said(b"\n\n  \n"),
        said(b"Dear baker,\nthe oven is hot; mind it.\n"),
        said(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"),
        said(
            b"date,flour_g,water_g,yeast_g,yeast_type,colour,,yeest\n2026-03-01,1000,620,2,fresh,brown,7,\n",
        ),
        said(b"date,flour_g,notes\n"),
        said(b"date,flour_g,water_g,yeast_g,yeast_type,flour_g\n"),
        said(format!("date,flour_g,notes\n2026-03-01,1,\"{}", "open ".repeat(300_000)).as_bytes()),
    ];
    assert!(messages.iter().all(IntakeError::is_form));
    insta::assert_snapshot!(messages.map(|m| m.to_string()).join("\n"), @"
    sheet.csv: it is empty: save the sheet again, with a row of headings and one row a batch
    sheet.csv: it is empty: save the sheet again, with a row of headings and one row a batch
    sheet.csv: no row of headings was found (row 1 begins 'Dear baker,'): the first row names the columns, such as date, flour_g, water_g, yeast_g, yeast_type
    sheet.csv: it is not a table (it has zero bytes): save the sheet as CSV or XLSX
    sheet.csv: row 1 has headings that are not known: 'colour' (nearest: flour_g); column G has cells but no heading; 'yeest' (nearest: yeast_g); rename them, or take the columns out
    sheet.csv: columns that every row needs are not there: water_g, yeast_g, yeast_type; add them to the sheet
    sheet.csv: columns B and F are both flour_g: keep one of them
    sheet.csv: row 2 is more than 1048576 bytes: look for a quotation mark that is not closed
    ");
    let missing = read_path("no-such-file.csv".as_ref(), &Options::default()).unwrap_err();
    assert!(!missing.is_form());
    insta::assert_snapshot!(missing, @"no-such-file.csv: there is no such file: check the name and the folder");
}
