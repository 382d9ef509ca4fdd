//! Batches going in, all or nothing.
//!
//! An import is one transaction. It names its source and the time; what it changes keeps its former
//! value beside the import's number. An import that changes nothing leaves nothing behind.
//!
//! What a source does not say is left alone: a column that it does not have keeps its values, a batch
//! that it does not have stays. A cell that it leaves blank is blank afterwards, with the former value
//! in the history.

use std::collections::HashSet;

use rusqlite::types::ValueRef;
use rusqlite::{Connection, OptionalExtension, Statement, Transaction, TransactionBehavior, params};

use super::Logbook;
use super::cells::{all_quoted, batch_of, seal_of_key, select_batches, value_of, value_ref};
use super::changes::{BATCHES, change_row};
use super::error::{At, Fault, LogbookError, Place};
use super::history::IMPORTS;
use super::ids::Days;
use super::logs::Logs;
use super::ready::{Keyed, Ready};
use super::source::{CHANGES_LISTED, Change, ImportSummary, Pushed, Source};
use crate::dough::{Batch, Column, Reading, SurroundingsPoint};

/// Memory for pages of the file while it is written, in KiB: enough for the upper parts of the indexes of a million
/// batches, so that a page is seldom written twice.
const CACHE_KIB: i64 = 64 << 10;

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
        Importer::start(&self.conn, &self.place, source.clone()).at(&self.place)
    }
}

/// An import under way. Dropped without [`Importer::finish`], it leaves the logbook as it was.
pub struct Importer<'a> {
    tx: Transaction<'a>,
    insert: Statement<'a>,
    glance: Statement<'a>,
    stored: Statement<'a>,
    place: &'a Place,
    broken: bool,
    pub(super) conn: &'a Connection,
    pub(super) source: Source,
    /// The columns that are compared with what is stored, with their place in a row.
    pub(super) compared: Vec<(usize, Column)>,
    /// The number of this import.
    pub(super) id: i64,
    pub(super) seen: Seen,
    pub(super) days: Days,
    pub(super) logs: Logs,
    pub(super) summary: ImportSummary,
    pub(super) made_id: Option<String>,
}

impl<'a> Importer<'a> {
    fn start(conn: &'a Connection, place: &'a Place, source: Source) -> Result<Self, Fault> {
        let tx = Transaction::new_unchecked(conn, TransactionBehavior::Immediate)?;
        conn.pragma_update(None, "cache_size", -CACHE_KIB)?;
        let insert = conn.prepare(&format!(
            "INSERT INTO batches ({}, added_by, seal) VALUES ({}) ON CONFLICT (kitchen, batch_id) DO NOTHING",
            all_quoted(),
            vec!["?"; Column::ALL.len() + 2].join(", ")
        ))?;
        let glance =
            conn.prepare("SELECT n, added_by, seal FROM batches WHERE kitchen = ? AND batch_id = ?")?;
        let stored = conn.prepare(&select_batches("WHERE n = ?"))?;
        let at = source.at.to_string();
        let texts = [at.as_bytes(), source.name.as_bytes()].map(ValueRef::Text);
        let hash = source.content_hash.as_ref().map_or(ValueRef::Null, |h| ValueRef::Text(h.as_bytes()));
        let none_yet = ValueRef::Integer(0);
        IMPORTS.insert(conn, &[texts[0], texts[1], hash, none_yet, none_yet, ValueRef::Null])?;
        let id = conn.last_insert_rowid();
        let has = |c: Column| source.columns.as_ref().is_none_or(|own| own.contains(&c));
        let keys = [Column::kitchen, Column::batch_id];
        let all = Column::ALL.iter().copied().enumerate();
        Ok(Self {
            tx,
            insert,
            glance,
            stored,
            place,
            broken: false,
            conn,
            compared: all.filter(|(_, c)| has(*c) && !keys.contains(c)).collect(),
            source,
            id,
            seen: Seen::new(conn)?,
            days: Days::new(conn)?,
            logs: Logs::default(),
            summary: ImportSummary::default(),
            made_id: None,
        })
    }

    /// The id that was made for the last batch that was added without one.
    pub fn made_id(&self) -> Option<&str> {
        self.made_id.as_deref()
    }

    /// The kitchen that the readings and logs to come belong to; `None` where their batch id tells it.
    pub fn logs_of_kitchen(&mut self, kitchen: Option<&str>) {
        if self.source.kitchen.as_deref() != kitchen {
            self.source.kitchen = kitchen.map(str::to_string);
            self.logs.forget();
        }
    }

    /// Takes a batch.
    ///
    /// # Errors
    /// When the batch holds a number that is not finite or has neither id nor date, the disk is full,
    /// or the file is damaged. The import can then only be dropped.
    pub fn push(&mut self, batch: &Batch) -> Result<Pushed, LogbookError> {
        self.push_ready(&Ready::new(batch.clone())?)
    }

    /// Takes a batch that was made ready.
    ///
    /// # Errors
    /// As [`Importer::push`].
    pub fn push_ready(&mut self, ready: &Ready) -> Result<Pushed, LogbookError> {
        self.guarded(|import| match &ready.batch.batch_id {
            Some(id) => import.put(Keyed { ready, id }),
            None => import.put_without_id(ready),
        })
    }

    /// Takes a reading of a batch that is in the logbook or was pushed before.
    ///
    /// # Errors
    /// As [`Importer::push`].
    pub fn push_reading(&mut self, reading: &Reading) -> Result<Pushed, LogbookError> {
        self.guarded(|import| import.put_reading(reading))
    }

    /// Takes a line of a temperature log, of a batch that is in the logbook or was pushed before.
    ///
    /// # Errors
    /// As [`Importer::push`].
    pub fn push_surroundings(&mut self, point: &SurroundingsPoint) -> Result<Pushed, LogbookError> {
        self.guarded(|import| import.put_surroundings(point))
    }

    /// Keeps it all; when this has returned, it is safe on the disk.
    ///
    /// # Errors
    /// When the disk is full, or a row failed before; then nothing changed.
    pub fn finish(mut self) -> Result<ImportSummary, LogbookError> {
        self.guarded(Self::settle_waiting)?;
        let place = self.place;
        self.keep().at(place)
    }

    /// SQLite may give a transaction up when the disk is full; what follows must not be kept by itself.
    fn guarded<T>(&mut self, step: impl FnOnce(&mut Self) -> Result<T, Fault>) -> Result<T, LogbookError> {
        if self.broken {
            return Err(LogbookError::Broken { path: self.place.path.clone() });
        }
        let done = step(self).at(self.place);
        self.broken = done.is_err();
        done
    }

    fn keep(mut self) -> Result<ImportSummary, Fault> {
        let all = [self.summary.batches, self.summary.readings, self.summary.surroundings];
        let (added, changed) = all.iter().fold((0, 0), |(a, c), n| (a + n.added, c + n.changed));
        if added + changed == 0 {
            self.tx.rollback()?;
            return Ok(self.summary);
        }
        self.conn.execute(
            "UPDATE imports SET added = ?, changed = ? WHERE n = ?",
            params![added.cast_signed(), changed.cast_signed(), self.id],
        )?;
        IMPORTS.reseal(self.conn, self.id)?;
        self.tx.commit()?;
        self.summary.import = Some(self.id);
        Ok(self.summary)
    }

    /// Adds a batch under an id, or brings the stored one up to it.
    pub(super) fn put(&mut self, keyed: Keyed<'_>) -> Result<Pushed, Fault> {
        let pushed = match self.add(keyed)? {
            None => Pushed::Added,
            Some(()) => self.merge(keyed)?,
        };
        self.summary.batches.count(pushed);
        if pushed == Pushed::Repeated {
            self.summary.repeated.insert(keyed.id.into());
        }
        Ok(pushed)
    }

    /// Adds a batch; gives something when its id is taken.
    pub(super) fn add(&mut self, keyed: Keyed<'_>) -> Result<Option<()>, Fault> {
        keyed.bind(&mut self.insert)?;
        let next = Column::ALL.len() + 1;
        self.insert.raw_bind_parameter(next, self.id)?;
        self.insert.raw_bind_parameter(next + 1, keyed.ready.content ^ seal_of_key(keyed.id, self.id))?;
        if self.insert.raw_execute()? == 0 {
            return Ok(Some(()));
        }
        self.logs.forget();
        Ok(None)
    }

    fn merge(&mut self, keyed: Keyed<'_>) -> Result<Pushed, Fault> {
        let key = [keyed.ready.batch.kitchen_name(), keyed.id];
        let found =
            self.glance.query_row(key, |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?))).optional()?;
        let gone = || Fault::Damaged(format!("batch '{}' is in an index only", keyed.id));
        let (n, added_by, seal): (i64, i64, i64) = found.ok_or_else(gone)?;
        let again = !self.seen.insert(n);
        if seal == keyed.ready.content ^ seal_of_key(keyed.id, added_by) {
            return Ok(Pushed::Unchanged);
        }
        let differing = self.differing(keyed, n)?;
        if differing.is_empty() {
            return Ok(Pushed::Unchanged);
        }
        if again {
            return Ok(Pushed::Repeated);
        }
        let cells: Vec<_> =
            differing.iter().map(|c| (c.column.name(), c.from.clone(), c.to.clone())).collect();
        change_row(self.conn, self.id, BATCHES, n, &cells)?;
        let room = CHANGES_LISTED.saturating_sub(self.summary.changes.len());
        self.summary.further_changes += differing.len().saturating_sub(room);
        self.summary.changes.extend(differing.into_iter().take(room));
        Ok(Pushed::Changed)
    }

    /// Where a batch differs from the stored one with this number.
    fn differing(&mut self, keyed: Keyed<'_>, n: i64) -> Result<Vec<Change>, Fault> {
        let mut rows = self.stored.query([n])?;
        let row = rows.next()?.ok_or(rusqlite::Error::QueryReturnedNoRows)?;
        batch_of(row)?;
        let mut changes = Vec::new();
        for &(i, column) in &self.compared {
            let (cell, to) = (row.get_ref(i)?, keyed.get(column));
            if value_ref(to.as_ref()) != cell {
                let (kitchen, batch_id) = (keyed.ready.batch.kitchen_name().into(), keyed.id.into());
                changes.push(Change { kitchen, batch_id, column, from: value_of(cell), to });
            }
        }
        Ok(changes)
    }

    /// The stored batch with this number.
    pub(super) fn stored_batch(&mut self, n: i64) -> Result<Batch, Fault> {
        let mut rows = self.stored.query([n])?;
        batch_of(rows.next()?.ok_or(rusqlite::Error::QueryReturnedNoRows)?)
    }
}

/// The batches that an import has met: those it added have numbers above all there were, so that only the others
/// need be kept.
#[derive(Debug)]
pub(super) struct Seen {
    last_before: i64,
    before: HashSet<i64>,
}

impl Seen {
    fn new(conn: &Connection) -> rusqlite::Result<Self> {
        let last = conn.query_row("SELECT max(n) FROM batches", [], |row| row.get::<_, Option<i64>>(0))?;
        Ok(Self { last_before: last.unwrap_or(0), before: HashSet::new() })
    }

    /// Whether a batch was met.
    pub fn contains(&self, n: &i64) -> bool {
        *n > self.last_before || self.before.contains(n)
    }

    /// Meets a batch; false when it was met before.
    pub fn insert(&mut self, n: i64) -> bool {
        n <= self.last_before && self.before.insert(n)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn batch(i: usize) -> Batch {
        let (id, text) = (Some(format!("B{i}")), Some("invented ".repeat(50)));
        Batch { batch_id: id, flour_g: Some(1000.0), notes: text, ..Batch::default() }
    }

    #[test]
    fn a_full_disk_leaves_the_logbook_as_it_was() {
        let folder = tempfile::tempdir().unwrap();
        let mut logbook = Logbook::open_or_create(folder.path().join("a.db")).unwrap();
        logbook.import(&Source::new("a"), &[batch(0)], &[], &[]).unwrap();
        let hash = logbook.data_hash("home").unwrap();
        // SQLite answers as on a full disk when the file may not grow any further.
        let room = |logbook: &Logbook, more: i64| {
            let pages: i64 = logbook.conn.query_row("PRAGMA page_count", [], |row| row.get(0)).unwrap();
            let most: i64 = logbook
                .conn
                .query_row(&format!("PRAGMA max_page_count = {}", pages + more), [], |r| r.get(0))
                .unwrap();
            assert_eq!(most, pages + more);
        };
        room(&logbook, 5);
        let source = Source::new("b");
        let mut importer = logbook.importer(&source).unwrap();
        let told = (1..1000).find_map(|i| importer.push(&batch(i)).err()).unwrap();
        assert!(matches!(told, LogbookError::DiskFull { .. }), "{told}");
        assert!(matches!(importer.push(&batch(1)), Err(LogbookError::Broken { .. })));
        assert!(matches!(importer.finish(), Err(LogbookError::Broken { .. })));
        assert_eq!(logbook.data_hash("home").unwrap(), hash);
        assert_eq!(logbook.imports().unwrap().len(), 1);
        logbook.check().unwrap();
        room(&logbook, 1000);
        assert_eq!(logbook.import(&source, &[batch(1)], &[], &[]).unwrap().batches.added, 1);
    }
}
