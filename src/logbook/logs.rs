//! Readings and temperature logs going in. Both hang on a batch and are known by their hour; a value
//! given replaces the one that stands there (which goes into the history), a blank says nothing.

use rusqlite::types::ValueRef;
use rusqlite::{Connection, OptionalExtension, Row, ToSql};

use super::cells::{Cell, Seal};
use super::error::Fault;
use super::import::{Importer, Pushed, Seen, set_cell};
use super::read::kitchens;
use crate::dough::{Reading, SurroundingsPoint, Value};

/// What an importer remembers of the logs.
#[derive(Debug, Default)]
pub(super) struct Logs {
    seen_readings: Seen,
    seen_surroundings: Seen,
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

/// A table of a log: what its rows are known by, and what they say.
pub(super) struct LogTable {
    pub name: &'static str,
    pub keys: &'static [&'static str],
    pub values: &'static [&'static str],
}

pub(super) const READINGS: LogTable =
    LogTable { name: "readings", keys: &["batch", "vessel", "hours"], values: &["rise", "dough_temp_c"] };
pub(super) const SURROUNDINGS: LogTable =
    LogTable { name: "surroundings", keys: &["batch", "hours"], values: &["surroundings_temp_c"] };

impl LogTable {
    /// All its columns but those of the file's own.
    pub fn columns(&self) -> impl Iterator<Item = &'static str> {
        self.keys.iter().chain(self.values).copied()
    }

    /// The seal of a row, its cells given in the order of keys and values.
    pub fn seal<'a>(&self, cells: impl IntoIterator<Item = ValueRef<'a>>) -> i64 {
        let mut seal = Seal::new();
        self.columns().zip(cells).for_each(|(name, cell)| seal.cell(name, cell));
        seal.done()
    }

    /// Refuses a row (its columns first, then its seal) that is not as it was written.
    pub fn verify(&self, row: &Row<'_>, batch_id: &str) -> Result<(), Fault> {
        let count = self.columns().count();
        let cells = (0..count).map(|i| row.get_ref(i)).collect::<Result<Vec<_>, _>>()?;
        match self.seal(cells) == row.get::<_, i64>(count)? {
            true => Ok(()),
            false => Err(Fault::Damaged(format!(
                "{} of batch '{batch_id}': a row is not as it was written",
                self.name
            ))),
        }
    }

    /// Gives a row the seal of what stands in it now.
    pub fn reseal(&self, conn: &Connection, n: i64) -> Result<(), Fault> {
        let columns: Vec<_> = self.columns().collect();
        let sql = format!("SELECT {} FROM {} WHERE n = ?", columns.join(", "), self.name);
        let seal = conn.prepare_cached(&sql)?.query_row([n], |row| {
            let cells = (0..columns.len()).map(|i| row.get_ref(i)).collect::<Result<Vec<_>, _>>()?;
            Ok(self.seal(cells))
        })?;
        conn.prepare_cached(&format!("UPDATE {} SET seal = ? WHERE n = ?", self.name))?.execute([seal, n])?;
        Ok(())
    }
}

impl Importer<'_> {
    pub(super) fn put_reading(&mut self, reading: &Reading) -> Result<Pushed, Fault> {
        let batch = match self.batch_of_log(&reading.batch_id)? {
            Ok(n) => n,
            Err(refused) => return Ok(refused),
        };
        let vessel = reading.vessel.to_string();
        let keys =
            [ValueRef::Integer(batch), ValueRef::Text(vessel.as_bytes()), ValueRef::Real(reading.hours)];
        let pushed = self.put_log(&READINGS, &keys, &[reading.rise, reading.dough_temp_c])?;
        self.summary.readings.count(pushed);
        self.note_repeated(pushed, &reading.batch_id);
        Ok(pushed)
    }

    pub(super) fn put_surroundings(&mut self, point: &SurroundingsPoint) -> Result<Pushed, Fault> {
        let batch = match self.batch_of_log(&point.batch_id)? {
            Ok(n) => n,
            Err(refused) => return Ok(refused),
        };
        let keys = [ValueRef::Integer(batch), ValueRef::Real(point.hours)];
        let pushed = self.put_log(&SURROUNDINGS, &keys, &[Some(point.surroundings_temp_c)])?;
        self.summary.surroundings.count(pushed);
        self.note_repeated(pushed, &point.batch_id);
        Ok(pushed)
    }

    fn note_repeated(&mut self, pushed: Pushed, batch_id: &str) {
        if pushed == Pushed::Repeated {
            self.summary.repeated.insert(batch_id.into());
        }
    }

    fn put_log(
        &mut self,
        table: &LogTable,
        keys: &[ValueRef<'_>],
        values: &[Option<f64>],
    ) -> Result<Pushed, Fault> {
        let names: Vec<_> = table.columns().collect();
        let cells: Vec<Cell<'_>> = keys
            .iter()
            .copied()
            .chain(values.iter().map(|v| v.map_or(ValueRef::Null, ValueRef::Real)))
            .map(Cell)
            .collect();
        let seal = table.seal(cells.iter().map(|c| c.0));
        let insert = format!(
            "INSERT INTO {} ({}, seal, added_by) VALUES ({}) ON CONFLICT DO NOTHING",
            table.name,
            names.join(", "),
            vec!["?"; names.len() + 2].join(", ")
        );
        let own: [&dyn ToSql; 2] = [&seal, &self.id];
        let parameters = cells.iter().map(|c| c as &dyn ToSql).chain(own);
        if self.conn.prepare_cached(&insert)?.execute(rusqlite::params_from_iter(parameters))? == 1 {
            let n = self.conn.last_insert_rowid();
            self.seen_in(table).insert(n);
            return Ok(Pushed::Added);
        }
        self.merge_log(table, keys, values)
    }

    fn merge_log(
        &mut self,
        table: &LogTable,
        keys: &[ValueRef<'_>],
        values: &[Option<f64>],
    ) -> Result<Pushed, Fault> {
        let known_by: Vec<_> = table.keys.iter().map(|k| format!("{k} = ?")).collect();
        let columns: Vec<_> = table.columns().collect();
        let sql = format!(
            "SELECT {}, seal, n FROM {} WHERE {}",
            columns.join(", "),
            table.name,
            known_by.join(" AND ")
        );
        let mut statement = self.conn.prepare_cached(&sql)?;
        let mut rows = statement.query(rusqlite::params_from_iter(keys.iter().map(|k| Cell(*k))))?;
        let row = rows
            .next()?
            .ok_or_else(|| Fault::Damaged(format!("{}: a row is in an index only", table.name)))?;
        table.verify(row, "")?;
        let n: i64 = row.get("n")?;
        let stored = table.values.iter().map(|&v| row.get(v)).collect::<Result<Vec<Option<f64>>, _>>()?;
        drop(rows);
        drop(statement);
        let again = self.seen_in(table).contains(n);
        self.seen_in(table).insert(n);
        let told = table.values.iter().zip(stored.into_iter().zip(values));
        let differing: Vec<_> = told.filter(|(_, (from, to))| to.is_some() && from != *to).collect();
        if differing.is_empty() {
            return Ok(Pushed::Unchanged);
        }
        if again && differing.iter().any(|(_, (from, _))| from.is_some()) {
            return Ok(Pushed::Repeated);
        }
        for (name, (from, to)) in differing {
            set_cell(
                self.conn,
                table.name,
                n,
                name,
                &from.map(Value::Number),
                &to.map(Value::Number),
                self.id,
            )?;
        }
        table.reseal(self.conn, n)?;
        Ok(Pushed::Changed)
    }

    fn seen_in(&mut self, table: &LogTable) -> &mut Seen {
        match table.name == READINGS.name {
            true => &mut self.logs.seen_readings,
            false => &mut self.logs.seen_surroundings,
        }
    }

    /// The number of the batch that a log names.
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
        let refused = match found.as_slice() {
            [n] => {
                self.logs.last = Some((batch_id.into(), *n));
                return Ok(Ok(*n));
            }
            [] => Pushed::NoSuchBatch,
            _ => Pushed::SeveralKitchens,
        };
        self.summary.without_batch.insert(batch_id.into());
        Ok(Err(refused))
    }
}
