//! A batch as a row and back: numbers as REAL, all else as TEXT, blank as NULL.
//!
//! The seal of a batch is that of its content exclusive-or that of its id and the import that brought
//! it, so that equal batches can be found whatever their ids are.

use rusqlite::types::{ToSqlOutput, ValueRef};
use rusqlite::{Row, ToSql};
use serde::Deserialize;
use serde::de::value::{Error as DeError, MapDeserializer};
use serde::de::{Deserializer, IntoDeserializer, Visitor};

use super::error::Fault;
use super::seal::Seal;
use crate::dough::{Batch, Column, Kind, Value};

/// How the values of a column are kept.
pub(super) fn sql_type(column: Column) -> &'static str {
    match column.kind() {
        Kind::Number { .. } => "REAL",
        Kind::Text | Kind::When | Kind::Choice(_) => "TEXT",
    }
}

/// A column's name in SQL.
pub(super) fn quoted(column: Column) -> String {
    format!("\"{column}\"")
}

/// All columns for a SELECT or an INSERT, in the order of [`Column::ALL`].
pub(super) fn all_quoted() -> String {
    Column::ALL.iter().map(|&c| quoted(c)).collect::<Vec<_>>().join(", ")
}

/// The part of the seal that depends on the id, and on the import that brought the batch.
pub(super) fn seal_of_key(id: &str, added_by: i64) -> i64 {
    Seal::over(["batch_id", "added_by"], [ValueRef::Text(id.as_bytes()), ValueRef::Integer(added_by)])
}

/// A SELECT of batches: all columns, then `added_by`, `seal` and `n`.
pub(super) fn select_batches(rest: &str) -> String {
    format!("SELECT {}, added_by, seal, n FROM batches {rest}", all_quoted())
}

/// The places of what follows the columns in a row of [`select_batches`].
const ADDED_BY: usize = Column::ALL.len();
const SEAL: usize = ADDED_BY + 1;
pub(super) const NUMBER: usize = SEAL + 1;

/// The seal that belongs to what stands in a row of [`select_batches`]; `each` is handed the cells.
fn read_row<'r>(row: &'r Row<'_>, mut each: impl FnMut(&'static str, Cell<'r>)) -> Result<i64, Fault> {
    let mut seal = Seal::new();
    let mut id = "";
    for (i, &column) in Column::ALL.iter().enumerate() {
        let cell = row.get_ref(i)?;
        match column {
            Column::batch_id => id = cell.as_str().unwrap_or_default(),
            _ => seal.cell(column.name(), cell),
        }
        each(column.name(), Cell(cell));
    }
    Ok(seal.done() ^ seal_of_key(id, row.get(ADDED_BY)?))
}

/// The seal that belongs to what stands in a row of [`select_batches`].
pub(super) fn seal_of_row(row: &Row<'_>) -> Result<i64, Fault> {
    read_row(row, |_, _| ())
}

/// A row of [`select_batches`] as the batch it was; refused when the seal is not its own.
pub(super) fn batch_of(row: &Row<'_>) -> Result<Batch, Fault> {
    let not_sound = |what: &str| {
        let id: String = row.get("batch_id").unwrap_or_default();
        Fault::Damaged(format!("batch '{id}': {what}"))
    };
    let mut filled = Vec::with_capacity(Column::ALL.len());
    let seal = read_row(row, |name, cell| {
        if cell.0 != ValueRef::Null {
            filled.push((name, cell));
        }
    })?;
    if row.get::<_, i64>(SEAL)? != seal {
        return Err(not_sound("it is not as it was written"));
    }
    Batch::deserialize(MapDeserializer::new(filled.into_iter())).map_err(|e| not_sound(&e.to_string()))
}

/// A value of a batch as SQLite sees it.
pub(super) fn value_ref(value: Option<&Value>) -> ValueRef<'_> {
    match value {
        Some(Value::Number(x)) => ValueRef::Real(*x),
        Some(Value::Text(t)) => ValueRef::Text(t.as_bytes()),
        None => ValueRef::Null,
    }
}

/// A value in a row as a value of a batch; `None` where it is blank.
pub(super) fn value_of(cell: ValueRef<'_>) -> Option<Value> {
    match cell {
        ValueRef::Real(x) => Some(Value::Number(x)),
        ValueRef::Text(t) => Some(Value::Text(String::from_utf8_lossy(t).into_owned())),
        ValueRef::Null | ValueRef::Integer(_) | ValueRef::Blob(_) => None,
    }
}

/// The batch with one value put in, or out, as it stood, even where today's limits would refuse it.
pub(super) fn with_value(batch: &Batch, column: Column, value: Option<&Value>) -> Result<Batch, Fault> {
    let kept = |e: serde_json::Error| Fault::Damaged(format!("a former {column}: {e}"));
    let mut all = serde_json::to_value(batch).map_err(kept)?;
    all[column.name()] = serde_json::to_value(value).map_err(kept)?;
    serde_json::from_value(all).map_err(kept)
}

/// A cell, to bind and to deserialize from.
#[derive(Clone, Copy)]
pub(super) struct Cell<'a>(pub ValueRef<'a>);

impl ToSql for Cell<'_> {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::Borrowed(self.0))
    }
}

impl<'de> IntoDeserializer<'de, DeError> for Cell<'de> {
    type Deserializer = Self;
    fn into_deserializer(self) -> Self {
        self
    }
}

impl<'de> Deserializer<'de> for Cell<'de> {
    type Error = DeError;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, DeError> {
        match self.0 {
            ValueRef::Null => visitor.visit_none(),
            ValueRef::Integer(i) => visitor.visit_i64(i),
            ValueRef::Real(x) => visitor.visit_f64(x),
            ValueRef::Text(t) => visitor.visit_str(&String::from_utf8_lossy(t)),
            ValueRef::Blob(b) => visitor.visit_bytes(b),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, DeError> {
        match self.0 {
            ValueRef::Null => visitor.visit_none(),
            _ => visitor.visit_some(self),
        }
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, DeError> {
        let word = self.0.as_str().unwrap_or_default();
        IntoDeserializer::<DeError>::into_deserializer(word).deserialize_enum(name, variants, visitor)
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf unit
        unit_struct newtype_struct seq tuple tuple_struct map struct identifier ignored_any
    }
}
