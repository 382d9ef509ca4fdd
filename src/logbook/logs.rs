//! Readings and temperature logs going in. Both hang on a batch and are known by their hour; a value
//! given replaces the one that stands there (which goes into the history), a blank says nothing.

use std::collections::HashSet;

use rusqlite::OptionalExtension;
use rusqlite::params_from_iter;
use rusqlite::types::ValueRef;

use super::cells::Cell;
use super::changes::change_row;
use super::error::Fault;
use super::import::Importer;
use super::read::kitchens;
use super::seal::Sealed;
use super::source::Pushed;
use crate::dough::{Reading, SurroundingsPoint, Value};

/// Readings; known by the first three.
pub(super) const READINGS: Sealed =
    Sealed { name: "readings", columns: &["batch", "vessel", "hours", "rise", "dough_temp_c", "added_by"] };

/// Lines of temperature logs; known by the first two.
pub(super) const SURROUNDINGS: Sealed =
    Sealed { name: "surroundings", columns: &["batch", "hours", "surroundings_temp_c", "added_by"] };

/// What an importer remembers of the logs.
#[derive(Debug, Default)]
pub(super) struct Logs {
    seen_readings: HashSet<i64>,
    seen_surroundings: HashSet<i64>,
    kitchens: Option<Vec<String>>,
    last: Option<(String, i64)>,
}

impl Logs {
    /// A new batch may be in a new kitchen.
    pub fn forget(&mut self) {
        self.kitchens = None;
        self.last = None;
    }
}

impl Importer<'_> {
    pub(super) fn put_reading(&mut self, reading: &Reading) -> Result<Pushed, Fault> {
        let pushed = match self.batch_of_log(&reading.batch_id)? {
            Ok(batch) => {
                let vessel = reading.vessel.to_string();
                let key = [
                    ValueRef::Integer(batch),
                    ValueRef::Text(vessel.as_bytes()),
                    ValueRef::Real(reading.hours),
                ];
                self.put_log(&READINGS, &key, &[reading.rise, reading.dough_temp_c])?
            }
            Err(refused) => refused,
        };
        self.summary.readings.count(pushed);
        self.note_repeated(pushed, &reading.batch_id);
        Ok(pushed)
    }

    pub(super) fn put_surroundings(&mut self, point: &SurroundingsPoint) -> Result<Pushed, Fault> {
        let pushed = match self.batch_of_log(&point.batch_id)? {
            Ok(batch) => {
                let key = [ValueRef::Integer(batch), ValueRef::Real(point.hours)];
                self.put_log(&SURROUNDINGS, &key, &[Some(point.surroundings_temp_c)])?
            }
            Err(refused) => refused,
        };
        self.summary.surroundings.count(pushed);
        self.note_repeated(pushed, &point.batch_id);
        Ok(pushed)
    }

    fn note_repeated(&mut self, pushed: Pushed, batch_id: &str) {
        match pushed {
            Pushed::Repeated => self.summary.repeated.insert(batch_id.into()),
            Pushed::NoSuchBatch | Pushed::SeveralKitchens => {
                self.summary.without_batch.insert(batch_id.into())
            }
            _ => false,
        };
    }

    fn put_log(
        &mut self,
        table: &Sealed,
        key: &[ValueRef<'_>],
        values: &[Option<f64>],
    ) -> Result<Pushed, Fault> {
        let told = values.iter().map(|v| v.map_or(ValueRef::Null, ValueRef::Real));
        let cells: Vec<_> = key.iter().copied().chain(told).chain([ValueRef::Integer(self.id)]).collect();
        if !table.insert(self.conn, &cells)? {
            return self.merge_log(table, key, values);
        }
        let n = self.conn.last_insert_rowid();
        self.seen_in(table).insert(n);
        Ok(Pushed::Added)
    }

    fn merge_log(
        &mut self,
        table: &Sealed,
        key: &[ValueRef<'_>],
        values: &[Option<f64>],
    ) -> Result<Pushed, Fault> {
        let names = &table.columns[key.len()..key.len() + values.len()];
        let (n, stored) = {
            let known_by: Vec<_> = table.columns[..key.len()].iter().map(|k| format!("{k} = ?")).collect();
            let from = format!(" FROM {}", table.name);
            let sql = format!(
                "{} WHERE {}",
                table.select().replace(&from, &format!(", n{from}")),
                known_by.join(" AND ")
            );
            let mut statement = self.conn.prepare_cached(&sql)?;
            let mut rows = statement.query(params_from_iter(key.iter().map(|k| Cell(*k))))?;
            let gone = || Fault::Damaged(format!("a row of {} is in an index only", table.name));
            let row = rows.next()?.ok_or_else(gone)?;
            table.verify(row)?;
            let stored = names.iter().map(|&v| row.get(v)).collect::<Result<Vec<Option<f64>>, _>>()?;
            (row.get::<_, i64>("n")?, stored)
        };
        let again = !self.seen_in(table).insert(n);
        let both = names.iter().copied().zip(stored.into_iter().zip(values));
        let differing: Vec<_> = both
            .filter(|(_, (from, to))| to.is_some() && from != *to)
            .map(|(name, (from, to))| (name, from.map(Value::Number), to.map(Value::Number)))
            .collect();
        if differing.is_empty() {
            return Ok(Pushed::Unchanged);
        }
        if again && differing.iter().any(|(_, from, _)| from.is_some()) {
            return Ok(Pushed::Repeated);
        }
        change_row(self.conn, self.id, table.name, n, &differing)?;
        Ok(Pushed::Changed)
    }

    fn seen_in(&mut self, table: &Sealed) -> &mut HashSet<i64> {
        match table.name == READINGS.name {
            true => &mut self.logs.seen_readings,
            false => &mut self.logs.seen_surroundings,
        }
    }

    /// The number of the batch that a log names, or why there is none.
    fn batch_of_log(&mut self, batch_id: &str) -> Result<Result<i64, Pushed>, Fault> {
        self.settle_waiting()?;
        if let Some((last, n)) = &self.logs.last
            && last == batch_id
        {
            return Ok(Ok(*n));
        }
        let kitchens = match (&self.source.kitchen, &self.logs.kitchens) {
            (Some(kitchen), _) => vec![kitchen.clone()],
            (None, Some(known)) => known.clone(),
            (None, None) => self.logs.kitchens.insert(kitchens(self.conn)?).clone(),
        };
        let mut find =
            self.conn.prepare_cached("SELECT n FROM batches WHERE kitchen = ? AND batch_id = ?")?;
        let mut found = Vec::new();
        for kitchen in &kitchens {
            found
                .extend(find.query_row([kitchen.as_str(), batch_id], |row| row.get::<_, i64>(0)).optional()?);
        }
        Ok(match found.as_slice() {
            [n] => {
                self.logs.last = Some((batch_id.into(), *n));
                Ok(*n)
            }
            [] => Err(Pushed::NoSuchBatch),
            _ => Err(Pushed::SeveralKitchens),
        })
    }
}
