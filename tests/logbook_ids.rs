//! Rows without an id find their batches when a sheet is imported again, however it has grown.

use std::collections::BTreeMap;

use doughwright::dough::{Batch, Column, Kind, Value, When, YeastType};
use doughwright::logbook::{Logbook, Source};
use proptest::prelude::*;
use tempfile::TempDir;

fn fresh() -> (TempDir, Logbook) {
    let folder = tempfile::tempdir().unwrap();
    let logbook = Logbook::open_or_create(folder.path().join("logbook.db")).unwrap();
    (folder, logbook)
}

/// A row without an id, told apart by its yeast and rise.
fn row(date: &str, yeast_g: f64, rise: Option<f64>) -> Batch {
    Batch {
        date: date.parse().ok(),
        flour_g: Some(1000.0),
        water_g: Some(640.0),
        yeast_g: Some(yeast_g),
        yeast_type: Some(YeastType::Instant),
        cold_hours: Some(24.0),
        recipe: Some("tray".into()),
        rise,
        ..Batch::default()
    }
}

/// Id, yeast and rise of every batch.
fn stands(logbook: &Logbook) -> Vec<(String, f64, Option<f64>)> {
    let mut all: Vec<_> = logbook
        .batches("home")
        .unwrap()
        .into_iter()
        .map(|b| (b.batch_id.unwrap(), b.yeast_g.unwrap(), b.rise))
        .collect();
    all.sort_by(|a, b| a.0.cmp(&b.0));
    all
}

fn import(logbook: &mut Logbook, name: &str, rows: &[Batch]) -> (usize, usize, usize) {
    let counts = logbook.import(&Source::new(name), rows, &[], &[]).unwrap().batches;
    (counts.added, counts.changed, counts.unchanged)
}

const DAY: &str = "2026-03-01";

#[test]
fn a_rise_filled_in_later_goes_to_its_batch() {
    let (_folder, mut logbook) = fresh();
    import(&mut logbook, "log.csv", &[row(DAY, 2.0, None), row(DAY, 3.0, None)]);
    let filled = [row(DAY, 2.0, Some(2.1)), row(DAY, 3.0, Some(2.6))];
    assert_eq!(import(&mut logbook, "log.csv", &filled), (0, 2, 0));
    let told = [("2026-03-01-1".into(), 2.0, Some(2.1)), ("2026-03-01-2".into(), 3.0, Some(2.6))];
    assert_eq!(stands(&logbook), told);
}

#[test]
fn a_row_put_in_front_does_not_push_the_others_on() {
    let (_folder, mut logbook) = fresh();
    import(&mut logbook, "log.csv", &[row(DAY, 2.0, Some(2.0)), row(DAY, 3.0, Some(3.0))]);
    let grown = [row(DAY, 1.0, Some(1.5)), row(DAY, 2.0, Some(2.0)), row(DAY, 3.0, Some(3.0))];
    assert_eq!(import(&mut logbook, "log.csv", &grown), (1, 0, 2));
    assert_eq!(stands(&logbook)[2], ("2026-03-01-3".into(), 1.0, Some(1.5)));
    assert_eq!(import(&mut logbook, "log.csv", &grown), (0, 0, 3));
}

#[test]
fn an_edited_row_goes_to_the_nearest_batch_though_another_was_taken_out() {
    let (_folder, mut logbook) = fresh();
    import(&mut logbook, "log.csv", &[row(DAY, 2.0, Some(2.0)), row(DAY, 3.0, Some(3.0))]);
    assert_eq!(import(&mut logbook, "log.csv", &[row(DAY, 3.0, Some(2.9))]), (0, 1, 0));
    assert_eq!(stands(&logbook)[0], ("2026-03-01-1".into(), 2.0, Some(2.0)));
    assert_eq!(stands(&logbook)[1], ("2026-03-01-2".into(), 3.0, Some(2.9)));
}

#[test]
fn two_equal_rows_are_two_batches_each_time() {
    let (_folder, mut logbook) = fresh();
    let twins = [row(DAY, 2.0, None), row(DAY, 2.0, None)];
    assert_eq!(import(&mut logbook, "log.csv", &twins), (2, 0, 0));
    assert_eq!(import(&mut logbook, "log.csv", &twins), (0, 0, 2));
}

#[test]
fn another_sheet_of_the_same_day_adds_and_says_what_looks_alike() {
    let (_folder, mut logbook) = fresh();
    import(&mut logbook, "morning.csv", &[row(DAY, 2.0, Some(2.0))]);
    let evening = [row(DAY, 2.5, Some(2.0))];
    let summary = logbook.import(&Source::new("evening.csv"), &evening, &[], &[]).unwrap();
    assert_eq!((summary.batches.added, summary.batches.changed), (1, 0));
    let alike = &summary.look_alikes[0];
    assert_eq!((alike.added.as_str(), alike.existing.as_str()), ("2026-03-01-2", "2026-03-01-1"));
    assert_eq!(stands(&logbook)[0].1, 2.0);
}

#[test]
fn a_renamed_sheet_is_known_by_the_batches_it_repeats() {
    let (_folder, mut logbook) = fresh();
    import(&mut logbook, "log.csv", &[row(DAY, 2.0, Some(2.0)), row("2026-03-02", 3.0, None)]);
    let renamed = [row(DAY, 2.0, Some(2.0)), row("2026-03-02", 3.0, Some(2.4))];
    assert_eq!(import(&mut logbook, "log (2).csv", &renamed), (0, 1, 1));
}

#[test]
fn a_wholly_other_row_of_the_same_day_is_another_batch() {
    let (_folder, mut logbook) = fresh();
    import(&mut logbook, "log.csv", &[row(DAY, 2.0, Some(2.0))]);
    let other = Batch {
        flour_g: Some(500.0),
        water_g: Some(400.0),
        yeast_type: Some(YeastType::Fresh),
        cold_hours: Some(2.0),
        recipe: Some("rolls".into()),
        ..row(DAY, 9.0, Some(1.4))
    };
    assert_eq!(import(&mut logbook, "log.csv", &[other]), (1, 0, 0));
}

#[test]
fn what_is_typed_by_hand_is_always_a_new_batch() {
    let (_folder, mut logbook) = fresh();
    for _ in 0..2 {
        let summary = logbook.import(&Source::by_hand(), &[row(DAY, 2.0, None)], &[], &[]).unwrap();
        assert_eq!(summary.batches.added, 1);
    }
    let with_id = Batch { batch_id: Some("2026-03-01-3".into()), ..row(DAY, 4.0, None) };
    logbook.import(&Source::by_hand(), &[with_id, row(DAY, 5.0, None)], &[], &[]).unwrap();
    let ids: Vec<_> = stands(&logbook).into_iter().map(|b| b.0).collect();
    assert_eq!(ids, ["2026-03-01-1", "2026-03-01-2", "2026-03-01-3", "2026-03-01-4"]);
}

#[test]
fn an_exported_batch_keeps_its_id() {
    let (_folder, mut logbook) = fresh();
    let sheet = [row(DAY, 2.0, None), row(DAY, 3.0, None)];
    import(&mut logbook, "log.csv", &sheet);
    let mut exported = logbook.batches("home").unwrap();
    assert_eq!(import(&mut logbook, "exported.csv", &exported), (0, 0, 2));
    exported[1].rise = Some(2.2);
    assert_eq!(import(&mut logbook, "exported.csv", &exported), (0, 1, 1));
    // The old sheet still finds its batches, and its blank takes the rise out again.
    assert_eq!(import(&mut logbook, "log.csv", &sheet), (0, 1, 1));
}

/// Any batch that the table of columns lets in.
fn any_batch() -> impl Strategy<Value = Batch> {
    let cells = Column::ALL.iter().map(|&column| prop::option::of(any_value(column))).collect::<Vec<_>>();
    cells.prop_map(|cells| {
        let mut batch = Batch::default();
        for (&column, value) in Column::ALL.iter().zip(&cells) {
            if let Some(value) = value {
                batch.set(column, value).expect("the value was made for this column");
            }
        }
        batch
    })
}

fn any_value(column: Column) -> BoxedStrategy<Value> {
    match column.kind() {
        Kind::Number { min, max, .. } => (min..=max).prop_map(Value::Number).boxed(),
        Kind::Choice(words) => prop::sample::select(words).prop_map(|w| Value::Text(w.into())).boxed(),
        Kind::Text => any::<String>().prop_map(Value::Text).boxed(),
        Kind::When => (0..40_000_i64, prop::option::of(0..86_400_i64))
            .prop_map(|(day, second)| {
                let days = jiff::Span::new().days(day);
                let date = jiff::civil::date(1950, 1, 1).checked_add(days).expect("within the calendar");
                let when = second.map_or(When::on(date), |s| {
                    When::at(
                        date.at(0, 0, 0, 0).checked_add(jiff::Span::new().seconds(s)).expect("the same day"),
                    )
                });
                Value::Text(when.to_string())
            })
            .boxed(),
    }
}

/// As the logbook gives it back.
fn filled(batch: &Batch, id: &str) -> Batch {
    let kitchen = Some(batch.kitchen_name().to_string());
    Batch { batch_id: Some(id.into()), kitchen, ..batch.clone() }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn what_went_in_comes_out(batches in prop::collection::vec(any_batch(), 1..12)) {
        let (_folder, mut logbook) = fresh();
        // Distinct ids; the drawn text stays part of them.
        let batches: Vec<Batch> = batches
            .iter()
            .enumerate()
            .map(|(i, b)| filled(b, &format!("{i} {}", b.batch_id.as_deref().unwrap_or_default())))
            .collect();
        logbook.import(&Source::new("a"), &batches, &[], &[]).unwrap();
        let wanted: BTreeMap<_, _> = batches.iter().map(|b| (b.batch_id.clone(), b.clone())).collect();
        let mut found = BTreeMap::new();
        for kitchen in logbook.kitchens().unwrap() {
            let of_kitchen = logbook.batches(&kitchen).unwrap();
            prop_assert!(of_kitchen.windows(2).all(|w| w[0].date.map(|d| d.days()) <= w[1].date.map(|d| d.days())));
            found.extend(of_kitchen.into_iter().map(|b| (b.batch_id.clone(), b)));
        }
        prop_assert_eq!(found, wanted);
        let again = logbook.import(&Source::new("b"), &batches, &[], &[]).unwrap();
        prop_assert_eq!((again.import, again.batches.unchanged), (None, batches.len()));
    }

    #[test]
    fn undo_is_the_way_back(states in prop::collection::vec(prop::collection::vec(any_batch(), 3), 1..5)) {
        let (_folder, mut logbook) = fresh();
        let hash = |l: &Logbook| l.kitchens().unwrap().iter().map(|k| l.data_hash(k).unwrap()).collect::<Vec<_>>();
        let all = |l: &Logbook| l.kitchens().unwrap().iter().map(|k| l.batches(k).unwrap()).collect::<Vec<_>>();
        let mut before = Vec::new();
        for (i, state) in states.iter().enumerate() {
            let rows: Vec<Batch> = state
                .iter()
                .enumerate()
                .map(|(i, b)| Batch { kitchen: None, ..filled(b, &i.to_string()) })
                .collect();
            let was = (hash(&logbook), all(&logbook));
            if logbook.import(&Source::new(i.to_string()), &rows, &[], &[]).unwrap().import.is_some() {
                before.push(was);
            }
            // Each state that was is still told, the last one last.
            let versions = logbook.history("home", "1").unwrap();
            prop_assert_eq!(&versions.last().unwrap().batch, &Batch { kitchen: Some("home".into()), ..rows[1].clone() });
        }
        for was in before.into_iter().rev() {
            logbook.undo_last_import().unwrap();
            prop_assert_eq!((hash(&logbook), all(&logbook)), was);
        }
        logbook.check().unwrap();
    }

    /// Any sheet without ids, imported again with one cell edited, changes that batch and no other.
    #[test]
    fn one_edit_is_one_change(
        rows in prop::collection::vec((0..3_u8, 0..30_u8), 2..14),
        which in any::<prop::sample::Index>(),
    ) {
        let (_folder, mut logbook) = fresh();
        let mut sheet: Vec<Batch> = rows
            .iter()
            .map(|(day, yeast)| row(&format!("2026-03-0{}", day + 1), 1.0 + f64::from(*yeast) / 10.0, None))
            .collect();
        import(&mut logbook, "log.csv", &sheet);
        let edited = which.index(sheet.len());
        sheet[edited].rise = Some(2.25);
        prop_assert_eq!(import(&mut logbook, "log.csv", &sheet), (0, 1, sheet.len() - 1));
        prop_assert_eq!(import(&mut logbook, "log.csv", &sheet), (0, 0, sheet.len()));
        let risen: Vec<_> = stands(&logbook).into_iter().filter(|b| b.2.is_some()).collect();
        prop_assert_eq!(risen.len(), 1);
        prop_assert_eq!(Some(risen[0].1), sheet[edited].yeast_g);
    }
}
