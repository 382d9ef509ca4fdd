//! What is in the logbook.

use rusqlite::{Connection, OptionalExtension, Row, params};

use super::Logbook;
use super::cells::{Seal, all_quoted, batch_of, value_ref};
use super::error::{Fault, LogbookError};
use super::logs::{LogTable, READINGS, SURROUNDINGS};
use crate::dough::{Batch, Column, Reading, SurroundingsPoint};

impl Logbook {
    /// The kitchens that have batches, by name.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn kitchens(&self) -> Result<Vec<String>, LogbookError> {
        kitchens(&self.conn).map_err(|e| Fault::from(e).at(&self.path))
    }

    /// How many batches a kitchen has.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn count(&self, kitchen: &str) -> Result<usize, LogbookError> {
        let count =
            self.conn.query_row("SELECT count(*) FROM batches WHERE kitchen = ?", [kitchen], |r| r.get(0));
        count.map(|n: i64| n.unsigned_abs() as usize).map_err(|e| Fault::from(e).at(&self.path))
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
    pub fn each_batch(&self, kitchen: &str, mut take: impl FnMut(Batch)) -> Result<(), LogbookError> {
        each_row(&self.conn, &in_date_order(), kitchen, |row| {
            take(batch_of(row)?);
            Ok(())
        })
        .map_err(|e| e.at(&self.path))
    }

    /// One batch.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn batch(&self, kitchen: &str, batch_id: &str) -> Result<Option<Batch>, LogbookError> {
        let condition = "kitchen = ? AND batch_id = ?";
        one_batch(&self.conn, condition, [kitchen, batch_id]).map_err(|e| e.at(&self.path))
    }

    /// The batch of the latest date, of one recipe or of any.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn latest(&self, kitchen: &str, recipe: Option<&str>) -> Result<Option<Batch>, LogbookError> {
        let condition = "kitchen = ?1 AND (?2 IS NULL OR recipe = ?2) ORDER BY date DESC, n DESC LIMIT 1";
        one_batch(&self.conn, condition, params![kitchen, recipe]).map_err(|e| e.at(&self.path))
    }

    /// The readings of a kitchen, by the date of their batch, then vessel and hour.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn readings(&self, kitchen: &str) -> Result<Vec<Reading>, LogbookError> {
        let mut all = Vec::new();
        each_log(&self.conn, &READINGS, kitchen, |id, row| {
            let vessel: String = row.get("vessel")?;
            all.push(Reading {
                batch_id: id,
                hours: row.get("hours")?,
                rise: row.get("rise")?,
                dough_temp_c: row.get("dough_temp_c")?,
                vessel: vessel
                    .parse()
                    .map_err(|()| Fault::Damaged(format!("a reading in the vessel '{vessel}'")))?,
            });
            Ok(())
        })
        .map_err(|e| e.at(&self.path))?;
        Ok(all)
    }

    /// The temperature logs of a kitchen, by the date of their batch, then the hour.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn surroundings(&self, kitchen: &str) -> Result<Vec<SurroundingsPoint>, LogbookError> {
        let mut all = Vec::new();
        each_log(&self.conn, &SURROUNDINGS, kitchen, |id, row| {
            all.push(SurroundingsPoint {
                batch_id: id,
                hours: row.get("hours")?,
                surroundings_temp_c: row.get("surroundings_temp_c")?,
            });
            Ok(())
        })
        .map_err(|e| e.at(&self.path))?;
        Ok(all)
    }

    /// A hash (BLAKE3, hexadecimal) over all data of a kitchen that a fit could depend on: every batch
    /// but its notes, every reading, every log. It depends on what is in them only, not on the file, nor
    /// on the order in which they came.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn data_hash(&self, kitchen: &str) -> Result<String, LogbookError> {
        self.hash_of_data(kitchen).map_err(|e| e.at(&self.path))
    }

    fn hash_of_data(&self, kitchen: &str) -> Result<String, Fault> {
        let mut hasher = blake3::Hasher::new();
        let sql = format!("SELECT {}, seal FROM batches WHERE kitchen = ? ORDER BY batch_id", all_quoted());
        each_row(&self.conn, &sql, kitchen, |row| {
            let batch = batch_of(row)?;
            let mut seal = Seal::new();
            for &column in Column::ALL.iter().filter(|&&c| c != Column::notes) {
                if let Some(value) = batch.get(column) {
                    seal.cell(column.name(), value_ref(&value));
                }
            }
            hasher.update(seal.bytes());
            Ok(())
        })?;
        for table in [&READINGS, &SURROUNDINGS] {
            each_log(&self.conn, table, kitchen, |id, row| {
                let mut seal = Seal::new();
                seal.cell("batch_id", rusqlite::types::ValueRef::Text(id.as_bytes()));
                for &name in table.keys.iter().chain(table.values).filter(|&&c| c != "batch") {
                    seal.cell(name, row.get_ref(name)?);
                }
                hasher.update(seal.bytes());
                Ok(())
            })?;
        }
        Ok(hasher.finalize().to_hex().to_string())
    }
}

/// The kitchens that have batches, by name.
pub(super) fn kitchens(conn: &Connection) -> rusqlite::Result<Vec<String>> {
    conn.prepare_cached("SELECT DISTINCT kitchen FROM batches ORDER BY kitchen")?
        .query_map([], |row| row.get(0))?
        .collect()
}

fn in_date_order() -> String {
    format!("SELECT {}, seal FROM batches WHERE kitchen = ? ORDER BY date, n", all_quoted())
}

fn each_row(
    conn: &Connection,
    sql: &str,
    kitchen: &str,
    mut take: impl FnMut(&Row<'_>) -> Result<(), Fault>,
) -> Result<(), Fault> {
    let mut statement = conn.prepare_cached(sql)?;
    let mut rows = statement.query([kitchen])?;
    while let Some(row) = rows.next()? {
        take(row)?;
    }
    Ok(())
}

fn one_batch(
    conn: &Connection,
    condition: &str,
    given: impl rusqlite::Params,
) -> Result<Option<Batch>, Fault> {
    let sql = format!("SELECT {}, seal FROM batches WHERE {condition}", all_quoted());
    conn.prepare_cached(&sql)?.query_row(given, |row| Ok(batch_of(row))).optional()?.transpose()
}

/// Every sound row of a log, with the id of its batch.
fn each_log(
    conn: &Connection,
    table: &LogTable,
    kitchen: &str,
    mut take: impl FnMut(String, &Row<'_>) -> Result<(), Fault>,
) -> Result<(), Fault> {
    let own = table.columns().map(|c| format!("log.{c}")).collect::<Vec<_>>();
    let known_by = table.keys[1..].iter().map(|k| format!("log.{k}")).collect::<Vec<_>>();
    let sql = format!(
        "SELECT {}, log.seal, batches.batch_id FROM {} AS log JOIN batches ON batches.n = log.batch
         WHERE batches.kitchen = ? ORDER BY batches.date, batches.batch_id, {}",
        own.join(", "),
        table.name,
        known_by.join(", ")
    );
    each_row(conn, &sql, kitchen, |row| {
        let id: String = row.get("batch_id")?;
        table.verify(row, &id)?;
        take(id, row)
    })
}
