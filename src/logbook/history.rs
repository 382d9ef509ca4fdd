//! Former values, and taking the last import back.

use std::collections::BTreeMap;

use jiff::Timestamp;
use rusqlite::{Connection, Transaction, TransactionBehavior, params};
use schemars::JsonSchema;
use serde::Serialize;

use super::Logbook;
use super::cells::with_value;
use super::changes::{BATCHES, Former, restore};
use super::error::{At, Fault, LogbookError};
use super::logs::{READINGS, SURROUNDINGS};
use super::seal::Sealed;
use crate::dough::{Batch, Column};

/// One state of a batch.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Version {
    /// Since when it stood so.
    #[schemars(with = "String")]
    pub at: Timestamp,
    /// Where that came from: a file's name, or `record`.
    pub source: String,
    /// The columns that changed then; empty in the first version.
    pub changed: Vec<Column>,
    /// The batch as it stood.
    pub batch: Batch,
}

/// One import that changed something.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ImportRecord {
    /// Its number.
    pub n: i64,
    /// When.
    #[schemars(with = "String")]
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
    #[schemars(with = "Option<String>")]
    pub undone_at: Option<Timestamp>,
}

/// What taking an import back did.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Undone {
    /// The import.
    pub import: ImportRecord,
    /// Rows taken out.
    pub removed: usize,
    /// Values put back to what they were.
    pub restored: usize,
    /// The batches that it is about, in the order they came.
    pub batches: Vec<String>,
}

impl Logbook {
    /// The imports that changed something, the latest last.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn imports(&self) -> Result<Vec<ImportRecord>, LogbookError> {
        imports(&self.conn, "1", []).at(&self.place)
    }

    /// The states that a batch has been in, the present one last; empty when there is no such batch.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn history(&self, kitchen: &str, batch_id: &str) -> Result<Vec<Version>, LogbookError> {
        let Some(batch) = self.batch(kitchen, batch_id)? else { return Ok(Vec::new()) };
        self.versions(batch, kitchen, batch_id).at(&self.place)
    }

    fn versions(&self, mut batch: Batch, kitchen: &str, batch_id: &str) -> Result<Vec<Version>, Fault> {
        let (n, added_by): (i64, i64) = self.conn.query_row(
            "SELECT n, added_by FROM batches WHERE kitchen = ? AND batch_id = ?",
            [kitchen, batch_id],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )?;
        let mut steps = BTreeMap::from([(added_by, Vec::new())]);
        for former in Former::find(&self.conn, "subject = ? AND row = ?", params![BATCHES, n])? {
            let unknown = |_| Fault::Damaged(format!("a former value of '{}'", former.column));
            let column: Column = former.column.parse().map_err(unknown)?;
            steps.entry(former.import).or_default().push((column, former.value));
        }
        let mut versions = Vec::new();
        for (import, former) in steps.into_iter().rev() {
            let gone = || Fault::Damaged(format!("import {import} is gone"));
            let import = imports(&self.conn, "n = ?", [import])?.pop().ok_or_else(gone)?;
            let changed = former.iter().map(|(c, _)| *c).collect();
            versions.push(Version { at: import.at, source: import.source, changed, batch: batch.clone() });
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
        self.undo().at(&self.place)
    }

    fn undo(&self) -> Result<Undone, Fault> {
        let tx = Transaction::new_unchecked(&self.conn, TransactionBehavior::Immediate)?;
        let Some(mut import) = imports(&tx, "undone_at IS NULL", [])?.pop() else {
            return Err(LogbookError::NothingToUndo { path: self.place.path.clone() }.into());
        };
        let batches = touched(&tx, import.n)?;
        let restored = restore(&tx, import.n)?;
        let mut removed = 0;
        for table in [READINGS.name, SURROUNDINGS.name, BATCHES] {
            removed += tx.execute(&format!("DELETE FROM {table} WHERE added_by = ?"), [import.n])?;
        }
        let now = Timestamp::now();
        tx.execute("UPDATE imports SET undone_at = ? WHERE n = ?", params![now.to_string(), import.n])?;
        IMPORTS.reseal(&tx, import.n)?;
        tx.commit()?;
        import.undone_at = Some(now);
        Ok(Undone { import, removed, restored, batches })
    }
}

/// The batches that an import added, changed, or wrote a line of a log for.
fn touched(conn: &Connection, import: i64) -> Result<Vec<String>, Fault> {
    let logs = [READINGS.name, SURROUNDINGS.name].map(|log| {
        format!(
            " OR n IN (SELECT batch FROM {log} WHERE added_by = ?1 OR n IN
               (SELECT row FROM changes WHERE import = ?1 AND subject = '{log}'))"
        )
    });
    let sql = format!(
        "SELECT batch_id FROM batches WHERE added_by = ?1
         OR n IN (SELECT row FROM changes WHERE import = ?1 AND subject = '{BATCHES}'){} ORDER BY n",
        logs.concat()
    );
    let mut statement = conn.prepare(&sql)?;
    let ids = statement.query_map([import], |row| row.get(0))?;
    Ok(ids.collect::<Result<_, _>>()?)
}

/// The imports.
pub(super) const IMPORTS: Sealed =
    Sealed { name: "imports", columns: &["at", "source", "content_hash", "added", "changed", "undone_at"] };

fn imports(
    conn: &Connection,
    condition: &str,
    given: impl rusqlite::Params,
) -> Result<Vec<ImportRecord>, Fault> {
    let sql =
        format!("SELECT {}, seal, n FROM imports WHERE {condition} ORDER BY n", IMPORTS.columns.join(", "));
    let mut statement = conn.prepare_cached(&sql)?;
    let mut rows = statement.query(given)?;
    let mut all = Vec::new();
    while let Some(row) = rows.next()? {
        IMPORTS.verify(row)?;
        all.push(ImportRecord {
            n: row.get("n")?,
            at: time(&row.get::<_, String>("at")?)?,
            source: row.get("source")?,
            content_hash: row.get("content_hash")?,
            added: row.get::<_, i64>("added")?.unsigned_abs() as usize,
            changed: row.get::<_, i64>("changed")?.unsigned_abs() as usize,
            undone_at: row.get::<_, Option<String>>("undone_at")?.as_deref().map(time).transpose()?,
        });
    }
    Ok(all)
}

/// A time as it was written.
pub(super) fn time(text: &str) -> Result<Timestamp, Fault> {
    text.parse().map_err(|_| Fault::Damaged(format!("'{text}' is not a time")))
}
