//! Laws of intake: what is written as a table is read back the same, whatever the order of its columns and
//! whatever units it is told in.

use doughwright::dough::{Batch, Column, Kind, Value};
use doughwright::intake::{Decimal, Intake, Known, Opened, Options, Source, guarded};
use proptest::prelude::*;
use proptest::sample::Index;

fn read(csv: &[u8], decimal: Option<Decimal>) -> Intake {
    let mut known = Known::default();
    known.map.decimal = decimal;
    let opened = Opened::all(&Source::bytes("table.csv", csv), &known).expect("the table opens").remove(0);
    opened.read(&Options::default()).expect("the table reads")
}

fn write(batches: &[Batch], columns: &[(Column, String, f64)]) -> Vec<u8> {
    let mut csv = csv::Writer::from_writer(Vec::new());
    csv.write_record(columns.iter().map(|(_, heading, _)| heading)).unwrap();
    for batch in batches {
        let cell = |(column, _, scale): &(Column, String, f64)| match batch.get(*column) {
            None => String::new(),
            Some(Value::Number(x)) if column.unit() == "°C" && *scale != 1.0 => (x * 1.8 + 32.0).to_string(),
            Some(Value::Number(x)) => (x / scale).to_string(),
            Some(Value::Text(text)) => guarded(&text).into_owned(),
        };
        csv.write_record(columns.iter().map(cell)).unwrap();
    }
    csv.into_inner().unwrap()
}

/// Headings of the contract.
fn plainly() -> Vec<(Column, String, f64)> {
    Column::ALL.iter().map(|c| (*c, c.name().to_string(), 1.0)).collect()
}

/// The unit of a number, in another one: heading word and size.
fn others(unit: &str) -> &'static [(&'static str, f64)] {
    match unit {
        "g" => &[("g", 1.0), ("kg", 1000.0), ("lb", 453.592_37), ("oz", 28.349_523_125)],
        "h" => &[("h", 1.0), ("min", 1.0 / 60.0), ("days", 24.0)],
        "min" => &[("min", 1.0), ("s", 1.0 / 60.0)],
        "°C" => &[("°C", 1.0), ("°F", 0.0)],
        _ => &[],
    }
}

/// Headings of the contract without their unit, and another unit instead.
fn in_other_units(choices: &[Index]) -> Vec<(Column, String, f64)> {
    let choose = |column: &Column, choice: &Index| {
        let units = others(column.unit());
        if units.is_empty() {
            return (*column, column.name().to_string(), 1.0);
        }
        let (unit, scale) = units[choice.index(units.len())];
        let bare = column.name().trim_end_matches("_g").trim_end_matches("_c");
        let bare = bare.trim_end_matches("_hours").trim_end_matches("_minutes");
        (*column, format!("{bare} ({unit})"), scale)
    };
    Column::ALL.iter().zip(choices).map(|(c, i)| choose(c, i)).collect()
}

fn text() -> impl Strategy<Value = String> {
    "[=+@'\\-]{0,2}[a-zA-Zé;,\"\n][a-zA-Z0-9 ;,\"]{0,8}[a-z0-9]"
}

/// Values to two decimals, as a kitchen's scale and thermometer give them.
fn batch() -> impl Strategy<Value = Batch> {
    let amounts = (200..9000i32, 40..120i32, 5..50i32, 1..500i32);
    let stages = (0..800i32, 100..4800i32, -100..1400i32, 1000..4000i32);
    let texts = proptest::option::of(text());
    (amounts, stages, texts, 0..3usize, 1..28i8, proptest::option::of(90..400i32)).prop_map(
        |((flour, water, salt, yeast), (bulk, cold, fridge, room), notes, kind, day, rise)| {
            let mut b = Batch::default();
            let mut put = |c: Column, x: f64| b.set(c, &Value::Number(x)).unwrap();
            let flour = f64::from(flour);
            put(Column::flour_g, flour);
            put(Column::water_g, (flour * f64::from(water) / 100.0).round());
            put(Column::salt_g, (flour * f64::from(salt) / 10.0).round() / 100.0);
            put(Column::yeast_g, f64::from(yeast) / 100.0 * flour / 1000.0);
            put(Column::bulk_hours, f64::from(bulk + 10) / 100.0);
            put(Column::cold_hours, f64::from(cold) / 100.0);
            put(Column::cold_temp_c, f64::from(fridge) / 100.0);
            put(Column::room_temp_c, f64::from(room) / 100.0);
            put(Column::mix_minutes, f64::from(salt));
            if let Some(rise) = rise {
                put(Column::rise, f64::from(rise) / 100.0);
            }
            let mut say = |c: Column, t: &str| b.set(c, &Value::Text(t.into())).unwrap();
            say(Column::date, &format!("2026-03-{day:02}"));
            say(Column::yeast_type, ["instant", "active_dry", "fresh"][kind]);
            if let Some(notes) = &notes {
                say(Column::notes, notes);
                say(Column::recipe, notes);
            }
            b
        },
    )
}

/// Batches with names of their own; the yeast's last digits are what a table shows.
fn batches() -> impl Strategy<Value = Vec<Batch>> {
    proptest::collection::vec(batch(), 1..6).prop_map(|mut all| {
        for (i, b) in all.iter_mut().enumerate() {
            b.batch_id = Some(format!("b{i}"));
            b.yeast_g = b.yeast_g.map(|y| (y * 1000.0).round() / 1000.0 + 0.001);
        }
        all
    })
}

fn taken(intake: Intake) -> Vec<Batch> {
    let faults: Vec<String> = intake.problems().map(|p| format!("{p:?}")).collect();
    assert!(faults.is_empty(), "{faults:?}");
    intake.batches.into_iter().map(|row| row.value).collect()
}

fn is_number(column: Column) -> bool {
    matches!(column.kind(), Kind::Number { .. })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_table_written_and_read_is_the_same(all in batches()) {
        prop_assert_eq!(taken(read(&write(&all, &plainly()), None)), all);
    }

    #[test]
    fn the_order_of_columns_does_not_matter(all in batches(), columns in Just(plainly()).prop_shuffle()) {
        prop_assert_eq!(taken(read(&write(&all, &columns), None)), all);
    }

    #[test]
    fn units_do_not_matter(
        all in batches(),
        choices in proptest::collection::vec(any::<Index>(), Column::ALL.len()),
    ) {
        // Which mark is the decimal one is not the question here: thirds of a unit can look like thousands.
        let found = taken(read(&write(&all, &in_other_units(&choices)), Some(Decimal::Point)));
        prop_assert_eq!(found.len(), all.len());
        for (found, made) in found.iter().zip(&all) {
            for &column in Column::ALL {
                match (found.get(column), made.get(column)) {
                    (Some(Value::Number(a)), Some(Value::Number(b))) if is_number(column) => {
                        // 12 figures are kept when a unit is converted; °F loses some to its offset of 32.
                        prop_assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "{column}: {a} and {b}");
                    }
                    (a, b) => prop_assert_eq!(a, b),
                }
            }
        }
    }
}
