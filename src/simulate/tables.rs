//! Records written as the tables that intake reads: text with commas, one heading a column.

use crate::dough::{Batch, Column, Reading, SurroundingsPoint};

/// The columns that any of the batches fills, in the order of the table, and those in `also`.
pub fn columns(batches: &[Batch], also: &[Column]) -> Vec<Column> {
    let used = |c: &Column| also.contains(c) || batches.iter().any(|b| b.get(*c).is_some());
    Column::ALL.iter().copied().filter(used).collect()
}

/// The batch table; columns that no batch fills are left out unless they stand in `also`.
///
/// # Errors
/// When the text cannot be written, which memory never refuses.
pub fn batches(batches: &[Batch], also: &[Column]) -> csv::Result<Vec<u8>> {
    let columns = columns(batches, also);
    let mut to = csv::Writer::from_writer(Vec::new());
    to.write_record(columns.iter().map(|c| c.name()))?;
    for batch in batches {
        to.write_record(columns.iter().map(|c| batch.get(*c).map_or_else(String::new, |v| v.to_string())))?;
    }
    bytes(to)
}

/// The table of readings.
///
/// # Errors
/// As for [`batches`].
pub fn readings(readings: &[Reading]) -> csv::Result<Vec<u8>> {
    let mut to = csv::Writer::from_writer(Vec::new());
    to.write_record(["batch_id", "vessel", "hours", "rise", "dough_temp_c"])?;
    let number = |x: Option<f64>| x.map_or_else(String::new, |x| x.to_string());
    for r in readings {
        let (vessel, hours) = (r.vessel.to_string(), r.hours.to_string());
        to.write_record([&r.batch_id, &vessel, &hours, &number(r.rise), &number(r.dough_temp_c)])?;
    }
    bytes(to)
}

/// The table of surroundings.
///
/// # Errors
/// As for [`batches`].
pub fn surroundings(points: &[SurroundingsPoint]) -> csv::Result<Vec<u8>> {
    let mut to = csv::Writer::from_writer(Vec::new());
    to.write_record(["batch_id", "hours", "surroundings_temp_c"])?;
    for p in points {
        to.write_record([&p.batch_id, &p.hours.to_string(), &p.surroundings_temp_c.to_string()])?;
    }
    bytes(to)
}

fn bytes(writer: csv::Writer<Vec<u8>>) -> csv::Result<Vec<u8>> {
    writer.into_inner().map_err(|e| e.into_error().into())
}
