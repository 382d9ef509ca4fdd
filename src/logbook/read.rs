//! What is in the logbook.

use rusqlite::{Connection, Row, params};

use super::Logbook;
use super::cells::{batch_of, select_batches};
use super::error::{At, Fault, LogbookError};
use super::logs::{READINGS, SURROUNDINGS};
use super::seal::Sealed;
use crate::dough::{Batch, Reading, SurroundingsPoint};

impl Logbook {
    /// The kitchens that have batches, by name.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn kitchens(&self) -> Result<Vec<String>, LogbookError> {
        kitchens(&self.conn).at(&self.place)
    }

    /// How many batches a kitchen has.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn count(&self, kitchen: &str) -> Result<usize, LogbookError> {
        let count =
            self.conn.query_row("SELECT count(*) FROM batches WHERE kitchen = ?", [kitchen], |r| r.get(0));
        count.map(|n: i64| n.unsigned_abs() as usize).at(&self.place)
    }

    /// The batches of a kitchen in the order of their dates; kitchen and id are filled in each.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn batches(&self, kitchen: &str) -> Result<Vec<Batch>, LogbookError> {
        let mut all = Vec::new();
        self.each_batch(kitchen, |batch| all.push(batch))?;
        Ok(all)
    }

    /// Hands the batches of a kitchen over one by one, in the order of their dates, for logbooks too large
    /// to hold in memory.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn each_batch(&self, kitchen: &str, take: impl FnMut(Batch)) -> Result<(), LogbookError> {
        each_batch(&self.conn, kitchen, "date, n", take).at(&self.place)
    }

    /// One batch.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn batch(&self, kitchen: &str, batch_id: &str) -> Result<Option<Batch>, LogbookError> {
        one_batch(&self.conn, "WHERE kitchen = ? AND batch_id = ?", [kitchen, batch_id]).at(&self.place)
    }

    /// The batch of the latest date, of one recipe or of any.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn latest(&self, kitchen: &str, recipe: Option<&str>) -> Result<Option<Batch>, LogbookError> {
        let rest = "WHERE kitchen = ?1 AND (?2 IS NULL OR recipe = ?2) ORDER BY date DESC, n DESC LIMIT 1";
        one_batch(&self.conn, rest, params![kitchen, recipe]).at(&self.place)
    }

    /// The readings of a kitchen, by the date of their batch, then vessel and hour.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn readings(&self, kitchen: &str) -> Result<Vec<Reading>, LogbookError> {
        let mut all = Vec::new();
        each_log(&self.conn, &READINGS, kitchen, |id, row| {
            all.push(reading_of(id, row)?);
            Ok(())
        })
        .at(&self.place)?;
        Ok(all)
    }

    /// The temperature logs of a kitchen, by the date of their batch, then the hour.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn surroundings(&self, kitchen: &str) -> Result<Vec<SurroundingsPoint>, LogbookError> {
        let mut all = Vec::new();
        each_log(&self.conn, &SURROUNDINGS, kitchen, |id, row| {
            all.push(point_of(id, row)?);
            Ok(())
        })
        .at(&self.place)?;
        Ok(all)
    }
}

/// A verified row of readings.
pub(super) fn reading_of(batch_id: String, row: &Row<'_>) -> Result<Reading, Fault> {
    let vessel: String = row.get("vessel")?;
    Ok(Reading {
        batch_id,
        hours: row.get("hours")?,
        rise: row.get("rise")?,
        dough_temp_c: row.get("dough_temp_c")?,
        vessel: vessel.parse().map_err(|()| Fault::Damaged(format!("a reading in the vessel '{vessel}'")))?,
    })
}

/// A verified row of a temperature log.
pub(super) fn point_of(batch_id: String, row: &Row<'_>) -> Result<SurroundingsPoint, Fault> {
    let (hours, surroundings_temp_c) = (row.get("hours")?, row.get("surroundings_temp_c")?);
    Ok(SurroundingsPoint { batch_id, hours, surroundings_temp_c })
}

/// The kitchens that have batches, by name.
pub(super) fn kitchens(conn: &Connection) -> rusqlite::Result<Vec<String>> {
    conn.prepare_cached("SELECT DISTINCT kitchen FROM batches ORDER BY kitchen")?
        .query_map([], |row| row.get(0))?
        .collect()
}

/// Every sound batch of a kitchen, in the order of `by`.
pub(super) fn each_batch(
    conn: &Connection,
    kitchen: &str,
    by: &str,
    mut take: impl FnMut(Batch),
) -> Result<(), Fault> {
    let mut statement = conn.prepare_cached(&select_batches(&format!("WHERE kitchen = ? ORDER BY {by}")))?;
    let mut rows = statement.query([kitchen])?;
    while let Some(row) = rows.next()? {
        take(batch_of(row)?);
    }
    Ok(())
}

fn one_batch(conn: &Connection, rest: &str, given: impl rusqlite::Params) -> Result<Option<Batch>, Fault> {
    let mut statement = conn.prepare_cached(&select_batches(rest))?;
    let mut rows = statement.query(given)?;
    rows.next()?.map(batch_of).transpose()
}

/// Every sound row of a log, with the id of its batch.
pub(super) fn each_log(
    conn: &Connection,
    table: &Sealed,
    kitchen: &str,
    mut take: impl FnMut(String, &Row<'_>) -> Result<(), Fault>,
) -> Result<(), Fault> {
    let Sealed { name, columns } = table;
    // The columns that a log is known by come first, the batch before all.
    let sql = format!(
        "SELECT {}, {name}.seal, batches.batch_id FROM {name} JOIN batches ON batches.n = {name}.batch
         WHERE batches.kitchen = ? ORDER BY batches.date, batches.batch_id, {}",
        table.qualified(),
        columns[1..].iter().map(|c| format!("{name}.{c}")).collect::<Vec<_>>().join(", ")
    );
    let mut statement = conn.prepare_cached(&sql)?;
    let mut rows = statement.query([kitchen])?;
    while let Some(row) = rows.next()? {
        table.verify(row)?;
        take(row.get("batch_id")?, row)?;
    }
    Ok(())
}
