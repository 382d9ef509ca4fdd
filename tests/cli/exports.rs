//! What is exported imports again to the same logbook, in every form, with its readings and surroundings.

use std::path::Path;

use doughwright::dough::{Batch, Column, Kind, Reading, SurroundingsPoint, Value, Vessel};
use doughwright::logbook::{Logbook, Source};
use proptest::prelude::*;

use crate::bench::Bench;

/// The ways out, and the files that each makes.
const FORMS: [(&str, &[&str]); 3] = [
    ("all.csv", &["all.csv", "all.readings.csv", "all.surroundings.csv"]),
    ("all.xlsx", &["all.xlsx"]),
    ("all.jsonl", &["all.jsonl"]),
];

/// A kitchen with all that is in it.
type Kitchen = (String, Vec<Batch>, Vec<Reading>, Vec<SurroundingsPoint>);

/// All that is in a logbook, kitchen by kitchen.
fn all(path: &Path) -> Vec<Kitchen> {
    let book = Logbook::open(path).unwrap();
    let of = |k: String| {
        let mut batches = book.batches(&k).unwrap();
        batches.sort_by(|a, b| a.batch_id.cmp(&b.batch_id));
        let (mut readings, mut points) = (book.readings(&k).unwrap(), book.surroundings(&k).unwrap());
        readings.sort_by_key(|r| (r.batch_id.clone(), r.vessel.to_string(), r.hours.to_bits()));
        points.sort_by_key(|p| (p.batch_id.clone(), p.hours.to_bits()));
        (k, batches, readings, points)
    };
    book.kitchens().unwrap().into_iter().map(of).collect()
}

/// Exports in every form, imports each into a new logbook, and compares.
fn comes_back(bench: &Bench) {
    let before = all(&bench.path("logbook.db"));
    for (form, files) in FORMS {
        bench.run(&["export", form]).done();
        let there: Vec<&str> = files.iter().copied().filter(|f| bench.path(f).exists()).collect();
        let book = format!("{form}.db");
        let mut words = vec!["import", "--logbook", &book];
        words.extend(there);
        let told = bench.run(&words);
        assert_eq!(told.code, 0, "{form}: {told:?}");
        assert_eq!(all(&bench.path(&book)), before, "{form}");
    }
}

#[test]
fn the_invented_year_comes_back_in_every_form() {
    comes_back(&Bench::with_logbook());
}

#[test]
fn a_formula_is_text_in_every_form() {
    let bench = Bench::new();
    let notes = "=HYPERLINK(\"http://x\")";
    let set = ["date=2026-10-01", "flour_g=1000", "water_g=600", "yeast_g=2", "yeast_type=fresh"];
    for (id, text) in [("a", notes), ("b", "+1+1"), ("c", "-2 days"), ("d", "@SUM(A1)"), ("e", "'=quoted")] {
        let (id, notes) = (format!("batch_id={id}"), format!("notes={text}"));
        let words: Vec<&str> =
            ["record", "--set"].into_iter().chain(set).chain([id.as_str(), notes.as_str()]).collect();
        bench.run(&words).done();
    }
    comes_back(&bench);
    // In CSV none stands at the begin of a cell, where a spreadsheet would reckon it.
    let csv = bench.read("all.csv");
    assert!(csv.contains("'=HYPERLINK") && csv.contains("'+1+1") && csv.contains("'@SUM"), "{csv}");
}

#[test]
fn a_name_with_a_path_in_it_stays_a_name() {
    let bench = Bench::new();
    let (id, recipe) = ("batch_id=../../etc/x", "recipe=C:\\x\\..\\y");
    let set = ["date=2026-10-01", "flour_g=1000", "water_g=600", "yeast_g=2", "yeast_type=fresh", id, recipe];
    let words: Vec<&str> =
        ["record", "--kitchen", "../up/\"; DROP TABLE batches", "--set"].into_iter().chain(set).collect();
    bench.run(&words).done();
    comes_back(&bench);
    bench.run(&["show", "../../etc/x"]).done();
}

fn text() -> impl Strategy<Value = String> {
    // Letters of one to four bytes, marks of CSV, formulas, and a line break within.
    "[=+@'\\-a-zA-Z0-9é北🍞,;\"<&][ a-zA-Z0-9é北🍞,;\"'<&_\n\t]{0,10}[a-zA-Z0-9é北🍞,;\"'<&_]"
}

fn value(column: Column) -> BoxedStrategy<Value> {
    match column.kind() {
        Kind::Number { min, max, .. } => (min..=max).prop_map(Value::Number).boxed(),
        Kind::Choice(words) => proptest::sample::select(words).prop_map(|w| Value::Text(w.into())).boxed(),
        Kind::When => {
            ("20[0-9][0-9]-0[1-9]-[01][1-9]", proptest::option::of("T[01][0-9]:[0-5][0-9](:[0-5][1-9])?"))
                .prop_map(|(day, clock)| Value::Text(day + &clock.unwrap_or_default()))
                .boxed()
        }
        Kind::Text => text().prop_map(Value::Text).boxed(),
    }
}

/// A batch that passes the checks, with any figures in the columns that no check ties to others.
fn batch() -> impl Strategy<Value = Batch> {
    let free = [
        Column::date,
        Column::recipe,
        Column::flour_name,
        Column::flour_lot,
        Column::flour_protein_pct,
        Column::baker,
        Column::flour_temp_c,
        Column::room_temp_c,
        Column::water_temp_c,
        Column::mix_method,
        Column::mix_minutes,
        Column::dough_temp_c,
        Column::cold_hours,
        Column::cold_temp_c,
        Column::temper_temp_c,
        Column::container,
        Column::target_rise,
        Column::ripeness,
        Column::bake_temp_c,
        Column::crust_score,
        Column::plan_id,
        Column::notes,
    ];
    let cells: Vec<_> =
        free.into_iter().map(|c| proptest::option::of(value(c)).prop_map(move |v| (c, v))).collect();
    let amounts = (10.0..6e5f64, 0.31..1.49f64, 0.0005..0.09f64, 0.8..12.0f64);
    (cells, amounts, value(Column::yeast_type), value(Column::date)).prop_map(
        |(cells, amounts, kind, date)| {
            let mut b = Batch::default();
            let (flour, water, yeast, rise) = amounts;
            b.set(Column::date, &date).unwrap();
            for (column, value) in cells {
                if let Some(value) = value {
                    b.set(column, &value).unwrap();
                }
            }
            let numbers = [
                (Column::flour_g, flour),
                (Column::water_g, flour * water),
                (Column::yeast_g, flour * yeast),
                (Column::bulk_hours, rise),
                (Column::rise, rise),
            ];
            numbers.iter().for_each(|(c, x)| b.set(*c, &Value::Number(*x)).unwrap());
            b.set(Column::yeast_type, &kind).unwrap();
            b
        },
    )
}

/// Batches of two kitchens that share their names, the odd ones.
fn batches() -> impl Strategy<Value = Vec<Batch>> {
    let id = prop_oneof![
        text(),
        Just("Mean".into()),
        Just("total".into()),
        Just("007".into()),
        Just("1e5".into())
    ];
    proptest::collection::vec((id, batch(), 0..3usize), 1..5).prop_map(|all| {
        let name = |(i, (id, batch, kitchen)): (usize, (String, Batch, usize))| Batch {
            batch_id: Some(if kitchen == 2 {
                format!("same-{}", i / 2)
            } else {
                format!("{id}{}", if i == 0 { String::new() } else { i.to_string() })
            }),
            kitchen: Some(
                ["home", "hall", "north, \"old\""][if kitchen == 2 { i % 2 } else { kitchen }].into(),
            ),
            ..batch
        };
        all.into_iter().enumerate().map(name).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn export_and_import_is_the_identity(
        batches in batches(),
        hours in proptest::collection::btree_set(0..48_000u32, 0..4),
        rise in 0.8..12.0f64,
        temp in -25.0..60.0f64,
    ) {
        let bench = Bench::new();
        let mut book = Logbook::open_or_create(bench.path("logbook.db")).unwrap();
        book.import(&Source::new("made"), &batches, &[], &[]).unwrap();
        for b in &batches {
            let id = b.batch_id.clone().unwrap();
            let mut source = Source::new("made too");
            source.kitchen = b.kitchen.clone();
            let hour = |h: &u32| f64::from(*h) / 1000.0;
            let reading = |h: &u32| Reading {
                batch_id: id.clone(),
                hours: hour(h),
                rise: Some(rise),
                dough_temp_c: (h.is_multiple_of(2)).then_some(temp.abs() / 2.0),
                vessel: if h.is_multiple_of(3) { Vessel::Preferment } else { Vessel::Dough },
            };
            let point = |h: &u32| SurroundingsPoint { batch_id: id.clone(), hours: hour(h), surroundings_temp_c: temp };
            let readings: Vec<Reading> = hours.iter().map(reading).collect();
            let points: Vec<SurroundingsPoint> = hours.iter().map(point).collect();
            book.import(&source, &[], &readings, &points).unwrap();
        }
        drop(book);
        comes_back(&bench);
    }
}
