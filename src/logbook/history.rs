//! Former values, and taking the last import back.

use std::collections::BTreeMap;

use jiff::Timestamp;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, Row, Transaction, TransactionBehavior, params};
use serde::Serialize;

use super::Logbook;
use super::cells::{Cell, value_of, with_value};
use super::error::{Fault, LogbookError};
use super::import::{reseal_batch, seal_of_change};
use super::logs::{READINGS, SURROUNDINGS};
use crate::dough::{Batch, Column, Value};

/// One state of a batch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Version {
    /// Since when it stood so.
    pub at: Timestamp,
    /// Where that came from: a file's name, or `record`.
    pub source: String,
    /// The columns that changed then; empty in the first version.
    pub changed: Vec<Column>,
    /// The batch as it stood.
    pub batch: Batch,
}

/// One import that changed something.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ImportRecord {
    /// Its number.
    pub id: i64,
    /// When.
    pub at: Timestamp,
    /// Where from.
    pub source: String,
    /// A hash of the file's bytes, when it was a file.
    pub content_hash: Option<String>,
    /// Rows added: batches, readings and lines of logs.
    pub added: usize,
    /// Rows changed.
    pub changed: usize,
    /// When it was taken back, if it was.
    pub undone_at: Option<Timestamp>,
}

/// What taking an import back did.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Undone {
    /// The import.
    pub import: ImportRecord,
    /// Rows taken out.
    pub removed: usize,
    /// Values put back to what they were.
    pub restored: usize,
}

impl Logbook {
    /// The imports that changed something, the latest last.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn imports(&self) -> Result<Vec<ImportRecord>, LogbookError> {
        imports(&self.conn, "1").map_err(|e| e.at(&self.path))
    }

    /// The states that a batch has been in, the present one last; empty when there is no such batch.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn history(&self, kitchen: &str, batch_id: &str) -> Result<Vec<Version>, LogbookError> {
        let Some(batch) = self.batch(kitchen, batch_id)? else { return Ok(Vec::new()) };
        self.versions(batch, kitchen, batch_id).map_err(|e| e.at(&self.path))
    }

    fn versions(&self, mut batch: Batch, kitchen: &str, batch_id: &str) -> Result<Vec<Version>, Fault> {
        let (n, added_by): (i64, i64) = self.conn.query_row(
            "SELECT n, added_by FROM batches WHERE kitchen = ? AND batch_id = ?",
            [kitchen, batch_id],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )?;
        let mut steps: BTreeMap<i64, Vec<(Column, Option<Value>)>> = BTreeMap::from([(added_by, Vec::new())]);
        let mut statement =
            self.conn.prepare_cached(&format!("{CHANGES} WHERE subject = 'batches' AND n = ?"))?;
        let mut rows = statement.query([n])?;
        while let Some(row) = rows.next()? {
            let change = Former::read(row)?;
            if let Ok(column) = change.column.parse() {
                steps.entry(change.import).or_default().push((column, change.value));
            }
        }
        let mut versions = Vec::new();
        for (import, former) in steps.into_iter().rev() {
            let (at, source) =
                self.conn.query_row("SELECT at, source FROM imports WHERE id = ?", [import], |row| {
                    Ok((row.get::<_, String>(0)?, row.get(1)?))
                })?;
            let changed = former.iter().map(|(c, _)| *c).collect();
            versions.push(Version { at: time(&at)?, source, changed, batch: batch.clone() });
            for (column, value) in former {
                batch = with_value(&batch, column, value.as_ref())?;
            }
        }
        versions.reverse();
        Ok(versions)
    }

    /// Takes the last import back: what it added goes, what it changed is as before. The import stays in
    /// [`Logbook::imports`], marked. Called again, it takes back the one before.
    ///
    /// # Errors
    /// When there is none, another process is writing, or the file is damaged.
    pub fn undo_last_import(&mut self) -> Result<Undone, LogbookError> {
        self.undo().map_err(|e| e.at(&self.path))
    }

    fn undo(&self) -> Result<Undone, Fault> {
        let tx = Transaction::new_unchecked(&self.conn, TransactionBehavior::Immediate)?;
        let Some(mut import) = imports(&tx, "undone_at IS NULL")?.pop() else {
            return Err(LogbookError::NothingToUndo { path: self.path.clone() }.into());
        };
        let restored = restore(&tx, import.id)?;
        let mut removed = 0;
        for table in [READINGS.name, SURROUNDINGS.name, "batches"] {
            removed += tx.execute(&format!("DELETE FROM {table} WHERE added_by = ?"), [import.id])?;
        }
        let now = Timestamp::now();
        tx.execute("UPDATE imports SET undone_at = ? WHERE id = ?", params![now.to_string(), import.id])?;
        tx.commit()?;
        import.undone_at = Some(now);
        Ok(Undone { import, removed, restored })
    }
}

/// Puts back what an import changed.
fn restore(conn: &Connection, import: i64) -> Result<usize, Fault> {
    let mut changes = Vec::new();
    {
        let mut statement = conn.prepare(&format!("{CHANGES} WHERE import = ?"))?;
        let mut rows = statement.query([import])?;
        while let Some(row) = rows.next()? {
            changes.push(Former::read(row)?);
        }
    }
    for change in &changes {
        let Former { subject, n, column, value, .. } = change;
        let cell = Cell(value.as_ref().map_or(ValueRef::Null, super::cells::value_ref));
        conn.prepare_cached(&format!("UPDATE {subject} SET \"{column}\" = ? WHERE n = ?"))?
            .execute(params![cell, n])?;
        match subject.as_str() {
            "batches" => reseal_batch(conn, *n)?,
            "readings" => READINGS.reseal(conn, *n)?,
            _ => SURROUNDINGS.reseal(conn, *n)?,
        }
    }
    conn.execute("DELETE FROM changes WHERE import = ?", [import])?;
    Ok(changes.len())
}

const CHANGES: &str = "SELECT subject, n, import, col, former, seal FROM changes";

/// What stood in a cell before an import changed it.
struct Former {
    subject: String,
    n: i64,
    import: i64,
    column: String,
    value: Option<Value>,
}

impl Former {
    /// A row of [`CHANGES`]; refused when it is not as it was written.
    fn read(row: &Row<'_>) -> Result<Self, Fault> {
        let (subject, n, import, column): (String, i64, i64, String) =
            (row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?);
        let cell = row.get_ref(4)?;
        if row.get::<_, i64>(5)? != seal_of_change(&subject, n, import, &column, cell) {
            return Err(Fault::Damaged(format!("the history of {column} is not as it was written")));
        }
        Ok(Self { subject, n, import, column, value: value_of(cell) })
    }
}

fn imports(conn: &Connection, condition: &str) -> Result<Vec<ImportRecord>, Fault> {
    let sql = format!(
        "SELECT id, at, source, content_hash, added, changed, undone_at FROM imports WHERE {condition} ORDER BY id"
    );
    let mut statement = conn.prepare(&sql)?;
    let mut rows = statement.query([])?;
    let mut all = Vec::new();
    while let Some(row) = rows.next()? {
        all.push(ImportRecord {
            id: row.get(0)?,
            at: time(&row.get::<_, String>(1)?)?,
            source: row.get(2)?,
            content_hash: row.get(3)?,
            added: row.get::<_, i64>(4)?.unsigned_abs() as usize,
            changed: row.get::<_, i64>(5)?.unsigned_abs() as usize,
            undone_at: row.get::<_, Option<String>>(6)?.as_deref().map(time).transpose()?,
        });
    }
    Ok(all)
}

/// A time as it was written.
pub(super) fn time(text: &str) -> Result<Timestamp, Fault> {
    text.parse().map_err(|_| Fault::Damaged(format!("'{text}' is not a time")))
}
