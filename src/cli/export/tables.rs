//! The three tables of an export: batches in all columns, readings, surroundings.

use std::collections::BTreeMap;

use crate::dough::{Batch, Column, Value};
use crate::logbook::salvage::Rows;

/// One table: its headings, and its rows with a blank where nothing stands.
#[derive(Debug)]
pub struct Table {
    /// What it holds.
    pub name: &'static str,
    /// One a column.
    pub headings: Vec<&'static str>,
    /// As long as the headings, each.
    pub rows: Vec<Vec<Option<Value>>>,
}

/// All tables of an export.
#[derive(Debug)]
pub struct Tables {
    /// Every column of the batch table.
    pub batches: Table,
    /// With the kitchen, since two may have a batch of the same name.
    pub readings: Table,
    /// As the readings.
    pub surroundings: Table,
}

impl Tables {
    /// Of kitchens by their names.
    pub fn of(kitchens: &BTreeMap<String, Rows>) -> Self {
        let text = |t: &str| Some(Value::Text(t.into()));
        let number = |x: Option<f64>| x.map(Value::Number);
        let (mut batches, mut readings, mut surroundings) = (Vec::new(), Vec::new(), Vec::new());
        for (kitchen, rows) in kitchens {
            batches.extend(rows.batches.iter().map(batch));
            readings.extend(rows.readings.iter().map(|r| {
                let values = [number(Some(r.hours)), number(r.rise), number(r.dough_temp_c)];
                let [hours, rise, temp] = values;
                vec![text(&r.batch_id), hours, rise, temp, text(&r.vessel.to_string()), text(kitchen)]
            }));
            surroundings.extend(rows.surroundings.iter().map(|p| {
                vec![
                    text(&p.batch_id),
                    number(Some(p.hours)),
                    number(Some(p.surroundings_temp_c)),
                    text(kitchen),
                ]
            }));
        }
        Self {
            batches: Table {
                name: "batches",
                headings: Column::ALL.iter().map(|c| c.name()).collect(),
                rows: batches,
            },
            readings: Table {
                name: "readings",
                headings: vec!["batch_id", "hours", "rise", "dough_temp_c", "vessel", "kitchen"],
                rows: readings,
            },
            surroundings: Table {
                name: "surroundings",
                headings: vec!["batch_id", "hours", "surroundings_temp_c", "kitchen"],
                rows: surroundings,
            },
        }
    }

    /// In the order in which they are imported.
    pub fn all(&self) -> [&Table; 3] {
        [&self.batches, &self.readings, &self.surroundings]
    }
}

fn batch(batch: &Batch) -> Vec<Option<Value>> {
    Column::ALL.iter().map(|c| batch.get(*c)).collect()
}
