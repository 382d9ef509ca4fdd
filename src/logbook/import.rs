//! Batches going in, all or nothing.
//!
//! An import is one transaction. It names its source and the time; what it changes keeps its former
//! value beside the import's number. An import that changes nothing leaves nothing behind.
//!
//! What a source does not say is left alone: a column that it does not have keeps its values, a batch
//! that it does not have stays. A cell that it leaves blank is blank afterwards, with the former value
//! in the history.

use std::collections::{BTreeSet, HashMap};
use std::path::Path;

use jiff::Timestamp;
use rusqlite::{CachedStatement, Connection, Statement, Transaction, TransactionBehavior, params};
use serde::Serialize;

use super::Logbook;
use super::cells::{Keyed, Seal, all_quoted, batch_of, seal_of_row, value_of, value_ref};
use super::error::{Fault, LogbookError};
use super::ids::Days;
use super::logs::Logs;
use crate::dough::{Batch, Column, Reading, SurroundingsPoint, Value};

/// Changes that a summary lists; the logbook keeps every one.
pub const CHANGES_LISTED: usize = 10_000;

/// Where rows come from.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// The file's name without its folder, or `record` for what was typed by hand.
    pub name: String,
    /// When.
    pub at: Timestamp,
    /// A hash of the file's bytes, when it was a file.
    pub content_hash: Option<String>,
    /// The columns that it has; `None` when it has all. Values in other columns are left as they are.
    pub columns: Option<Vec<Column>>,
    /// The kitchen that its readings and logs belong to; needed only where two kitchens use one batch id.
    pub kitchen: Option<String>,
}

impl Source {
    /// A source with all columns, now.
    pub fn new(name: impl Into<String>) -> Self {
        Self { name: name.into(), at: Timestamp::now(), content_hash: None, columns: None, kitchen: None }
    }
}

/// What became of one row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pushed {
    /// It was not there before.
    Added,
    /// It was there with other values, which are now in the history.
    Changed,
    /// It was there just so.
    Unchanged,
    /// It has no id and may be an edited batch; that is settled when all rows are known.
    Waiting,
    /// The source has had the same batch, or reading, already, with other values: not taken.
    Repeated,
    /// A reading of a batch that is not in the logbook: not taken.
    NoSuchBatch,
    /// A reading of a batch id that several kitchens have: not taken; say which kitchen.
    SeveralKitchens,
}

/// One value that an import changed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Change {
    /// The kitchen.
    pub kitchen: String,
    /// The batch.
    pub batch_id: String,
    /// The column.
    pub column: Column,
    /// What stood there; `None` for blank.
    pub from: Option<Value>,
    /// What stands there now.
    pub to: Option<Value>,
}

/// A batch that came without an id and was added, though one of the same day is nearly the same.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LookAlike {
    /// The batch that was added.
    pub added: String,
    /// The one that it looks like.
    pub existing: String,
}

/// How many rows went which way.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// New rows.
    pub added: usize,
    /// Rows with other values than before.
    pub changed: usize,
    /// Rows that were there just so.
    pub unchanged: usize,
}

impl Counts {
    pub(super) fn count(&mut self, pushed: Pushed) {
        match pushed {
            Pushed::Added => self.added += 1,
            Pushed::Changed => self.changed += 1,
            Pushed::Unchanged => self.unchanged += 1,
            Pushed::Waiting | Pushed::Repeated | Pushed::NoSuchBatch | Pushed::SeveralKitchens => (),
        }
    }
}

/// What an import did.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct ImportSummary {
    /// Its number in the logbook; `None` when nothing changed.
    pub import: Option<i64>,
    /// Batches.
    pub batches: Counts,
    /// Readings.
    pub readings: Counts,
    /// Lines of temperature logs.
    pub surroundings: Counts,
    /// The values of batches that changed, the first [`CHANGES_LISTED`] of them.
    pub changes: Vec<Change>,
    /// Changed values beyond those listed.
    pub further_changes: usize,
    /// Ids of batches that stood twice in the source with different values; the first was taken.
    pub repeated: BTreeSet<String>,
    /// Ids that readings or logs name and the logbook has not (or has in several kitchens); not taken.
    pub without_batch: BTreeSet<String>,
    /// Batches without an id that may have been meant as an edit of another.
    pub look_alikes: Vec<LookAlike>,
}

impl Logbook {
    /// Imports rows that are all at hand; see [`Logbook::importer`] for a stream of them.
    ///
    /// # Errors
    /// When another process is writing, the disk is full, or the file is damaged; then nothing changed.
    pub fn import(
        &mut self,
        source: &Source,
        batches: &[Batch],
        readings: &[Reading],
        surroundings: &[SurroundingsPoint],
    ) -> Result<ImportSummary, LogbookError> {
        let mut importer = self.importer(source)?;
        for batch in batches {
            importer.push(batch)?;
        }
        for reading in readings {
            importer.push_reading(reading)?;
        }
        for point in surroundings {
            importer.push_surroundings(point)?;
        }
        importer.finish()
    }

    /// Starts an import; nothing is kept until [`Importer::finish`].
    ///
    /// # Errors
    /// When another process is writing.
    pub fn importer(&mut self, source: &Source) -> Result<Importer<'_>, LogbookError> {
        Importer::start(&self.conn, &self.path, source.clone()).map_err(|e| e.at(&self.path))
    }
}

/// An import under way. Dropped without [`Importer::finish`], it leaves the logbook as it was.
pub struct Importer<'a> {
    tx: Transaction<'a>,
    insert: Statement<'a>,
    stored: Statement<'a>,
    path: &'a Path,
    pub(super) conn: &'a Connection,
    pub(super) source: Source,
    /// The columns that are compared with what is stored, with their place in a row.
    pub(super) compared: Vec<(usize, Column)>,
    pub(super) id: i64,
    pub(super) seen: Seen,
    pub(super) days: Days,
    pub(super) logs: Logs,
    pub(super) summary: ImportSummary,
}

impl<'a> Importer<'a> {
    fn start(conn: &'a Connection, path: &'a Path, source: Source) -> Result<Self, Fault> {
        let tx = Transaction::new_unchecked(conn, TransactionBehavior::Immediate)?;
        let columns = all_quoted();
        let places = vec!["?"; Column::ALL.len() + 2].join(", ");
        let insert = conn.prepare(&format!(
            "INSERT INTO batches ({columns}, seal, added_by) VALUES ({places})
             ON CONFLICT (kitchen, batch_id) DO NOTHING"
        ))?;
        let stored = conn
            .prepare(&format!("SELECT {columns}, seal, n FROM batches WHERE kitchen = ? AND batch_id = ?"))?;
        conn.execute(
            "INSERT INTO imports (at, source, content_hash) VALUES (?, ?, ?)",
            params![source.at.to_string(), source.name, source.content_hash],
        )?;
        let id = conn.last_insert_rowid();
        let has = |c: Column| source.columns.as_ref().is_none_or(|own| own.contains(&c));
        let keys = [Column::kitchen, Column::batch_id];
        let compared =
            Column::ALL.iter().copied().enumerate().filter(|(_, c)| has(*c) && !keys.contains(c)).collect();
        let days = Days::new(conn)?;
        Ok(Self {
            tx,
            insert,
            stored,
            path,
            conn,
            source,
            compared,
            id,
            seen: Seen::default(),
            days,
            logs: Logs::default(),
            summary: ImportSummary::default(),
        })
    }

    /// Takes a batch.
    ///
    /// # Errors
    /// When the batch holds a number that is not finite or has neither id nor date, the disk is full,
    /// or the file is damaged. The import can then only be dropped.
    pub fn push(&mut self, batch: &Batch) -> Result<Pushed, LogbookError> {
        let pushed = match &batch.batch_id {
            Some(id) => self.put(Keyed { batch, id }),
            None => self.put_without_id(batch),
        };
        pushed.map_err(|e| e.at(self.path))
    }

    /// Takes a reading of a batch that is in the logbook or was pushed before.
    ///
    /// # Errors
    /// As [`Importer::push`].
    pub fn push_reading(&mut self, reading: &Reading) -> Result<Pushed, LogbookError> {
        self.put_reading(reading).map_err(|e| e.at(self.path))
    }

    /// Takes a line of a temperature log, of a batch that is in the logbook or was pushed before.
    ///
    /// # Errors
    /// As [`Importer::push`].
    pub fn push_surroundings(&mut self, point: &SurroundingsPoint) -> Result<Pushed, LogbookError> {
        self.put_surroundings(point).map_err(|e| e.at(self.path))
    }

    /// Keeps it all; when this has returned, it is safe on the disk.
    ///
    /// # Errors
    /// When the disk is full; then nothing changed.
    pub fn finish(mut self) -> Result<ImportSummary, LogbookError> {
        let path = self.path;
        self.settle_waiting().and_then(|()| self.keep()).map_err(|e| e.at(path))
    }

    fn keep(mut self) -> Result<ImportSummary, Fault> {
        let all = [self.summary.batches, self.summary.readings, self.summary.surroundings];
        let (added, changed) = all.iter().fold((0, 0), |(a, c), n| (a + n.added, c + n.changed));
        if added + changed == 0 {
            self.tx.rollback()?;
            return Ok(self.summary);
        }
        self.conn.execute(
            "UPDATE imports SET added = ?, changed = ? WHERE id = ?",
            params![added.cast_signed(), changed.cast_signed(), self.id],
        )?;
        self.tx.commit()?;
        self.summary.import = Some(self.id);
        Ok(self.summary)
    }

    /// Adds a batch under an id, or brings the stored one up to it.
    pub(super) fn put(&mut self, keyed: Keyed<'_>) -> Result<Pushed, Fault> {
        let pushed = match self.add(keyed)? {
            Some(_) => Pushed::Added,
            None => self.merge(keyed)?,
        };
        self.summary.batches.count(pushed);
        if pushed == Pushed::Repeated {
            self.summary.repeated.insert(keyed.id.into());
        }
        Ok(pushed)
    }

    /// Adds a batch unless its id is taken; gives its number.
    pub(super) fn add(&mut self, keyed: Keyed<'_>) -> Result<Option<i64>, Fault> {
        let seal = keyed.bind(&mut self.insert)?;
        let next = Column::ALL.len() + 1;
        self.insert.raw_bind_parameter(next, seal)?;
        self.insert.raw_bind_parameter(next + 1, self.id)?;
        if self.insert.raw_execute()? == 0 {
            return Ok(None);
        }
        let n = self.conn.last_insert_rowid();
        self.seen.insert(n);
        self.logs.forget();
        Ok(Some(n))
    }

    fn merge(&mut self, keyed: Keyed<'_>) -> Result<Pushed, Fault> {
        let mut rows = self.stored.query([keyed.batch.kitchen_name(), keyed.id])?;
        let row = rows
            .next()?
            .ok_or_else(|| Fault::Damaged(format!("batch '{}' is in an index only", keyed.id)))?;
        let n: i64 = row.get(Column::ALL.len() + 1)?;
        let again = self.seen.contains(n);
        self.seen.insert(n);
        let mut differing = Vec::new();
        for &(i, column) in &self.compared {
            let now = keyed.get(column);
            let cell = row.get_ref(i)?;
            if now.as_ref().map_or(rusqlite::types::ValueRef::Null, value_ref) != cell {
                differing.push((column, value_of(cell), now));
            }
        }
        if differing.is_empty() {
            return Ok(Pushed::Unchanged);
        }
        if again {
            return Ok(Pushed::Repeated);
        }
        batch_of(row)?;
        drop(rows);
        for (column, from, to) in differing {
            set_cell(self.conn, "batches", n, column.name(), &from, &to, self.id)?;
            if self.summary.changes.len() == CHANGES_LISTED {
                self.summary.further_changes += 1;
            } else {
                let kitchen = keyed.batch.kitchen_name().into();
                self.summary.changes.push(Change { kitchen, batch_id: keyed.id.into(), column, from, to });
            }
        }
        reseal_batch(self.conn, n)?;
        Ok(Pushed::Changed)
    }

    /// The stored batch with this number.
    pub(super) fn stored_batch(&self, n: i64) -> Result<Batch, Fault> {
        let sql = format!("SELECT {}, seal FROM batches WHERE n = ?", all_quoted());
        let mut statement: CachedStatement<'_> = self.conn.prepare_cached(&sql)?;
        let mut rows = statement.query([n])?;
        batch_of(rows.next()?.ok_or(rusqlite::Error::QueryReturnedNoRows)?)
    }
}

/// Puts a value into a column of a row, and what stood there into the history.
pub(super) fn set_cell(
    conn: &Connection,
    subject: &str,
    n: i64,
    column: &str,
    from: &Option<Value>,
    to: &Option<Value>,
    import: i64,
) -> Result<(), Fault> {
    let cell = |v| super::cells::Cell(Option::as_ref(v).map_or(rusqlite::types::ValueRef::Null, value_ref));
    let seal = seal_of_change(subject, n, import, column, cell(from).0);
    conn.prepare_cached(
        "INSERT INTO changes (subject, n, import, col, former, seal) VALUES (?, ?, ?, ?, ?, ?)",
    )?
    .execute(params![subject, n, import, column, cell(from), seal])?;
    conn.prepare_cached(&format!("UPDATE {subject} SET \"{column}\" = ? WHERE n = ?"))?
        .execute(params![cell(to), n])?;
    Ok(())
}

/// The seal of a row of the history.
pub(super) fn seal_of_change(
    subject: &str,
    n: i64,
    import: i64,
    column: &str,
    former: rusqlite::types::ValueRef<'_>,
) -> i64 {
    use rusqlite::types::ValueRef::{Integer, Text};
    Seal::over([
        ("subject", Text(subject.as_bytes())),
        ("n", Integer(n)),
        ("import", Integer(import)),
        ("col", Text(column.as_bytes())),
        ("former", former),
    ])
}

/// Gives a batch's row the seal of what stands in it now.
pub(super) fn reseal_batch(conn: &Connection, n: i64) -> Result<(), Fault> {
    let sql = format!("SELECT {} FROM batches WHERE n = ?", all_quoted());
    let seal = {
        let mut statement = conn.prepare_cached(&sql)?;
        let mut rows = statement.query([n])?;
        seal_of_row(rows.next()?.ok_or(rusqlite::Error::QueryReturnedNoRows)?)?
    };
    conn.prepare_cached("UPDATE batches SET seal = ? WHERE n = ?")?.execute([seal, n])?;
    Ok(())
}

/// A set of row numbers, which are dense: a bit each.
#[derive(Debug, Default)]
pub(super) struct Seen(Vec<u64>);

impl Seen {
    /// Puts a number in; false when it was in already.
    pub fn insert(&mut self, n: i64) {
        let (word, bit) = Self::place(n);
        if self.0.len() <= word {
            self.0.resize(word + 1, 0);
        }
        self.0[word] |= bit;
    }

    pub fn contains(&self, n: i64) -> bool {
        let (word, bit) = Self::place(n);
        self.0.get(word).is_some_and(|w| w & bit != 0)
    }

    fn place(n: i64) -> (usize, u64) {
        ((n / 64).unsigned_abs() as usize, 1 << n.rem_euclid(64))
    }
}

/// The name of the source of every import so far.
pub(super) fn source_names(conn: &Connection) -> rusqlite::Result<HashMap<i64, String>> {
    conn.prepare("SELECT id, source FROM imports")?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect()
}
