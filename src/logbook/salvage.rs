//! What is left of a damaged file: every row that can still be read and is as it was written.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use rusqlite::{Connection, OpenFlags, Row};

use super::Logbook;
use super::cells::{NUMBER, batch_of, select_batches};
use super::error::{At, Fault, LogbookError, Place};
use super::logs::{READINGS, SURROUNDINGS};
use super::open::connect;
use super::read::{point_of, reading_of};
use super::schema::{Found, refuse_foreign};
use crate::dough::{Batch, Reading, SurroundingsPoint};

/// What could be saved.
#[derive(Debug, Default)]
pub struct Salvaged {
    /// By kitchen.
    pub kitchens: BTreeMap<String, Rows>,
    /// Rows that no page of the file leads to any more, found by looking through all pages: they are as they were
    /// written, but may have been changed or taken back since.
    pub loose: usize,
    /// What could not be read, each fault once.
    pub faults: BTreeSet<String>,
}

/// What could be saved of one kitchen.
#[derive(Debug, Default)]
pub struct Rows {
    /// Batches, in the order in which they came.
    pub batches: Vec<Batch>,
    /// Readings of these batches.
    pub readings: Vec<Reading>,
    /// Temperature logs of these batches.
    pub surroundings: Vec<SurroundingsPoint>,
}

impl Logbook {
    /// Reads every sound row of a damaged logbook. The present values only: the history is left.
    ///
    /// # Errors
    /// When nothing can be read: the file is missing, is no logbook, or its first page is damaged.
    pub fn salvage(path: impl AsRef<Path>) -> Result<Salvaged, LogbookError> {
        let path = path.as_ref();
        if !path.exists() {
            return Err(LogbookError::Missing { path: path.into() });
        }
        salvage(path).at(&Place { path: path.into(), last_backup: None })
    }
}

fn salvage(path: &Path) -> Result<Salvaged, Fault> {
    let conn = connect(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    refuse_foreign(&Found::read(&conn)?, path, false)?;
    let mut saved = Salvaged::default();
    let mut batches = BTreeMap::new();
    each_number(&conn, &select_batches(""), &mut saved, |row, saved| {
        let batch = batch_of(row)?;
        let kitchen = batch.kitchen_name().to_string();
        batches.insert(
            row.get::<_, i64>(NUMBER)?,
            (kitchen.clone(), batch.batch_id.clone().unwrap_or_default()),
        );
        saved.kitchens.entry(kitchen).or_default().batches.push(batch);
        Ok(())
    })?;
    let batch_of_log = |row: &Row<'_>| {
        let gone = || Fault::Damaged("a reading or log of a batch that could not be read".into());
        batches.get(&row.get::<_, i64>("batch")?).cloned().ok_or_else(gone)
    };
    each_number(&conn, &READINGS.select(), &mut saved, |row, saved| {
        READINGS.verify(row)?;
        let (kitchen, id) = batch_of_log(row)?;
        saved.kitchens.entry(kitchen).or_default().readings.push(reading_of(id, row)?);
        Ok(())
    })?;
    each_number(&conn, &SURROUNDINGS.select(), &mut saved, |row, saved| {
        SURROUNDINGS.verify(row)?;
        let (kitchen, id) = batch_of_log(row)?;
        saved.kitchens.entry(kitchen).or_default().surroundings.push(point_of(id, row)?);
        Ok(())
    })?;
    Ok(saved)
}

/// Asks for one row after the other, so that one that cannot be read does not hide the next.
fn each_number(
    conn: &Connection,
    select: &str,
    saved: &mut Salvaged,
    mut take: impl FnMut(&Row<'_>, &mut Salvaged) -> Result<(), Fault>,
) -> Result<(), Fault> {
    let mut statement = conn.prepare(&format!("{select} WHERE n = ?"))?;
    for n in 1..=most_rows(conn)? {
        let taken = statement.query([n]).map_err(Fault::from).and_then(|mut rows| match rows.next()? {
            Some(row) => take(row, saved),
            None => Ok(()),
        });
        match taken {
            Ok(()) => (),
            Err(Fault::Damaged(what)) => drop(saved.faults.insert(what)),
            Err(Fault::Sqlite(error)) => drop(saved.faults.insert(error.to_string())),
            Err(Fault::Told(error)) => drop(saved.faults.insert(error.to_string())),
        }
    }
    Ok(())
}

/// A number that no row's exceeds: rows are numbered from 1 on, and none takes less than 16 bytes.
fn most_rows(conn: &Connection) -> rusqlite::Result<i64> {
    conn.query_row("SELECT page_count * page_size / 16 FROM pragma_page_count, pragma_page_size", [], |row| {
        row.get(0)
    })
}
