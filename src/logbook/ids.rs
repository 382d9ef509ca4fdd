//! Which batch a row without an id is.
//!
//! A made id is the date and a counter within that day and kitchen, as `2026-03-01-2`. A sheet without
//! ids is imported again and again as it grows and is corrected, so its rows must find their batches:
//!
//! 1. A row equal to a batch of that day with a made id is that batch (each batch once an import, so
//!    two equal rows are two batches).
//! 2. The rows that remain are compared, at the end, with the batches of that day that remain, provided
//!    these came from a source of the same name or from one that this source repeats batches of (a
//!    renamed sheet). The pair with the fewest contradicting columns goes first; a row that contradicts a
//!    batch in as many columns as it agrees in is not an edit of it.
//! 3. What remains is new and takes the next counter. When it is nearly a batch of another source, the
//!    summary says so: only the baker can know.
//!
//! What is typed by hand without an id is always new. An edited date makes a new batch. A batch that was
//! exported with its id keeps it from then on.

use std::collections::hash_map::Entry;
use std::collections::{HashMap, HashSet};

use jiff::civil::Date;
use rusqlite::Connection;

use super::cells::seal_of_key;
use super::error::{Fault, LogbookError};
use super::import::Importer;
use super::ready::{Keyed, Ready};
use super::source::{LookAlike, Pushed};
use crate::dough::{Batch, Column};

/// Rows that wait for the end; beyond this, they are settled with what is known so far (memory).
const MOST_WAITING: usize = 10_000;

/// A counter beyond this was not made here.
const HIGHEST: u32 = 1_000_000_000;

fn made_id(date: Date, counter: u32) -> String {
    format!("{date}-{counter}")
}

/// The days that rows without an id have touched.
#[derive(Debug, Default)]
pub(super) struct Days {
    known: HashMap<String, HashMap<Date, Day>>,
    sources: HashMap<i64, String>,
    /// Sources that this one repeats batches of.
    continued: HashSet<String>,
    waiting: Vec<Ready>,
}

/// The batches of one day with made ids, as they stood before the import.
#[derive(Debug, Default)]
struct Day {
    made: Vec<Made>,
    next: u32,
}

#[derive(Debug, Clone, Copy)]
struct Made {
    n: i64,
    counter: u32,
    content: i64,
    added_by: i64,
}

impl Days {
    /// No day known yet, and the sources of all imports.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn new(conn: &Connection) -> rusqlite::Result<Self> {
        let mut statement = conn.prepare("SELECT n, source FROM imports")?;
        let sources =
            statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
        Ok(Self { sources, ..Self::default() })
    }

    fn day(&mut self, conn: &Connection, kitchen: &str, date: Date) -> Result<&mut Day, Fault> {
        if !self.known.contains_key(kitchen) {
            self.known.insert(kitchen.into(), HashMap::new());
        }
        let days = self.known.get_mut(kitchen).expect("it was put in above");
        Ok(match days.entry(date) {
            Entry::Occupied(known) => known.into_mut(),
            Entry::Vacant(unknown) => unknown.insert(Day::load(conn, kitchen, date)?),
        })
    }
}

impl Day {
    fn load(conn: &Connection, kitchen: &str, date: Date) -> Result<Self, Fault> {
        let mut day = Self { made: Vec::new(), next: 1 };
        // Ids that start with the day and a hyphen: the full stop is the next character in ASCII.
        let mut statement = conn.prepare_cached(
            "SELECT n, batch_id, seal, added_by FROM batches
             WHERE kitchen = ? AND batch_id > ? || '-' AND batch_id < ? || '.' ORDER BY n",
        )?;
        let day_text = date.to_string();
        let mut rows = statement.query([kitchen, &day_text, &day_text])?;
        while let Some(row) = rows.next()? {
            let id: String = row.get(1)?;
            let counter = id.rsplit('-').next().and_then(|c| c.parse().ok()).unwrap_or(0);
            if counter <= HIGHEST && id == made_id(date, counter) {
                let added_by = row.get(3)?;
                let content = row.get::<_, i64>(2)? ^ seal_of_key(&id, added_by);
                day.next = day.next.max(counter + 1);
                day.made.push(Made { n: row.get(0)?, counter, content, added_by });
            }
        }
        Ok(day)
    }
}

impl Importer<'_> {
    /// Takes a batch without an id.
    pub(super) fn put_without_id(&mut self, ready: &Ready) -> Result<Pushed, Fault> {
        let batch = &ready.batch;
        let date = batch.date.ok_or(LogbookError::NoDate)?.date();
        if !self.source.is_sheet {
            return self.put_new(ready, date);
        }
        let day = self.days.day(self.conn, batch.kitchen_name(), date)?;
        let mut free = day.made.iter().filter(|m| !self.seen.contains(&m.n)).peekable();
        if free.peek().is_none() {
            return self.put_new(ready, date);
        }
        if let Some(same) = free.find(|m| m.content == ready.content).copied() {
            self.seen.insert(same.n);
            let name = self.days.sources.get(&same.added_by).cloned();
            self.days.continued.extend(name);
            self.summary.batches.count(Pushed::Unchanged);
            return Ok(Pushed::Unchanged);
        }
        self.days.waiting.push(ready.clone());
        if self.days.waiting.len() >= MOST_WAITING {
            self.settle_waiting()?;
        }
        Ok(Pushed::Waiting)
    }

    /// Adds a batch under the next free counter of its day.
    fn put_new(&mut self, ready: &Ready, date: Date) -> Result<Pushed, Fault> {
        loop {
            let id = self.next_id(ready.batch.kitchen_name(), date)?;
            if self.add(Keyed { ready, id: &id })?.is_none() {
                self.summary.batches.count(Pushed::Added);
                self.made_id = Some(id);
                return Ok(Pushed::Added);
            }
        }
    }

    fn next_id(&mut self, kitchen: &str, date: Date) -> Result<String, Fault> {
        let day = self.days.day(self.conn, kitchen, date)?;
        let id = made_id(date, day.next);
        day.next += 1;
        Ok(id)
    }

    /// Finds the batches of the rows that wait, or adds them.
    pub(super) fn settle_waiting(&mut self) -> Result<(), Fault> {
        let mut groups: Vec<(String, Date, Vec<Ready>)> = Vec::new();
        let mut place: HashMap<(String, Date), usize> = HashMap::new();
        for ready in std::mem::take(&mut self.days.waiting) {
            let date = ready.batch.date.ok_or(LogbookError::NoDate)?.date();
            let key = (ready.batch.kitchen_name().to_string(), date);
            let at = *place.entry(key).or_insert_with_key(|(kitchen, date)| {
                groups.push((kitchen.clone(), *date, Vec::new()));
                groups.len() - 1
            });
            groups[at].2.push(ready);
        }
        groups.into_iter().try_for_each(|(kitchen, date, rows)| self.settle_day(&kitchen, date, &rows))
    }

    fn settle_day(&mut self, kitchen: &str, date: Date, rows: &[Ready]) -> Result<(), Fault> {
        let made = self.days.day(self.conn, kitchen, date)?.made.clone();
        let free: Vec<Made> = made.into_iter().filter(|m| !self.seen.contains(&m.n)).collect();
        let stored: Vec<Batch> = free.iter().map(|m| self.stored_batch(m.n)).collect::<Result<_, _>>()?;
        let mut pairs = Vec::new();
        for (r, row) in rows.iter().enumerate() {
            for (m, batch) in stored.iter().enumerate() {
                let (agree, contradict) = self.compare(&row.batch, batch);
                if contradict < agree {
                    pairs.push((contradict, r, free[m].counter, m));
                }
            }
        }
        pairs.sort_unstable();
        let mut row_done = vec![None; rows.len()];
        for &(_, r, counter, m) in &pairs {
            if row_done[r].is_none() && !self.seen.contains(&free[m].n) && self.may_be_edited(&free[m]) {
                row_done[r] = Some(self.put(Keyed { ready: &rows[r], id: &made_id(date, counter) })?);
            }
        }
        for (r, row) in rows.iter().enumerate().filter(|(r, _)| row_done[*r].is_none()) {
            let alike = pairs.iter().find(|p| p.1 == r && p.0 <= 1 && !self.seen.contains(&free[p.3].n));
            self.put_new(row, date)?;
            if let Some(&(_, _, counter, _)) = alike {
                let added = self.days.day(self.conn, kitchen, date)?.next - 1;
                self.summary
                    .look_alikes
                    .push(LookAlike { added: made_id(date, added), existing: made_id(date, counter) });
            }
        }
        Ok(())
    }

    /// Whether this source may be a later state of the one that brought a batch.
    fn may_be_edited(&self, made: &Made) -> bool {
        let name = self.days.sources.get(&made.added_by);
        name.is_some_and(|name| *name == self.source.name || self.days.continued.contains(name))
    }

    /// In how many columns that both fill, two batches agree and contradict.
    fn compare(&self, row: &Batch, stored: &Batch) -> (usize, usize) {
        let both = |&(_, c): &(usize, Column)| Some(row.get(c)? == stored.get(c)?);
        let (agree, contradict): (Vec<bool>, Vec<bool>) =
            self.compared.iter().filter_map(both).partition(|same| *same);
        (agree.len(), contradict.len())
    }
}
