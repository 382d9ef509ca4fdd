//! Changing a cell so that its former value stays readable.

use std::collections::BTreeSet;

use rusqlite::types::ValueRef;
use rusqlite::{Connection, Row, params};

use super::cells::{Cell, batch_of, seal_of_row, select_batches, value_of, value_ref};
use super::error::Fault;
use super::logs::{READINGS, SURROUNDINGS};
use super::seal::Sealed;
use crate::dough::Value;

/// Former values: in which table and row, by which import, of which column.
pub(super) const CHANGES: Sealed =
    Sealed { name: "changes", columns: &["subject", "row", "import", "col", "former"] };

/// The table of batches, as the subject of a change.
pub(super) const BATCHES: &str = "batches";

/// What stood in a cell before an import changed it.
#[derive(Debug)]
pub(super) struct Former {
    /// The table that was changed.
    pub subject: String,
    /// The number of its row.
    pub row: i64,
    /// The number of the import that changed it.
    pub import: i64,
    /// The column.
    pub column: String,
    /// What stood there; `None` for a blank cell.
    pub value: Option<Value>,
}

impl Former {
    /// Former values that meet a condition in SQL, with what is `given` for its question marks.
    ///
    /// # Errors
    /// When the file cannot be read, or a row is not as it was written.
    pub fn find(
        conn: &Connection,
        condition: &str,
        given: impl rusqlite::Params,
    ) -> Result<Vec<Self>, Fault> {
        let mut statement = conn.prepare_cached(&format!("{} WHERE {condition}", CHANGES.select()))?;
        let mut rows = statement.query(given)?;
        let mut all = Vec::new();
        while let Some(row) = rows.next()? {
            all.push(Self::read(row)?);
        }
        Ok(all)
    }

    fn read(row: &Row<'_>) -> Result<Self, Fault> {
        CHANGES.verify(row)?;
        Ok(Self {
            subject: row.get("subject")?,
            row: row.get("row")?,
            import: row.get("import")?,
            column: row.get("col")?,
            value: value_of(row.get_ref("former")?),
        })
    }
}

/// Puts values into columns of a row that has been verified, and what stood there into the history.
pub(super) fn change_row(
    conn: &Connection,
    import: i64,
    subject: &str,
    row: i64,
    cells: &[(&str, Option<Value>, Option<Value>)],
) -> Result<(), Fault> {
    for (column, from, to) in cells {
        let key = [ValueRef::Text(subject.as_bytes()), ValueRef::Integer(row), ValueRef::Integer(import)];
        let what = [ValueRef::Text(column.as_bytes()), value_ref(from.as_ref())];
        CHANGES.insert(conn, &[key.as_slice(), &what].concat())?;
        set(conn, subject, row, column, to.as_ref())?;
    }
    reseal(conn, subject, row)
}

/// Puts back what an import changed, and forgets the changes; gives their number.
pub(super) fn restore(conn: &Connection, import: i64) -> Result<usize, Fault> {
    let changes = Former::find(conn, "import = ?", [import])?;
    let rows: BTreeSet<(&str, i64)> = changes.iter().map(|c| (c.subject.as_str(), c.row)).collect();
    rows.iter().try_for_each(|(subject, row)| verify(conn, subject, *row))?;
    changes.iter().try_for_each(|c| set(conn, &c.subject, c.row, &c.column, c.value.as_ref()))?;
    rows.iter().try_for_each(|(subject, row)| reseal(conn, subject, *row))?;
    conn.execute("DELETE FROM changes WHERE import = ?", [import])?;
    Ok(changes.len())
}

fn set(conn: &Connection, subject: &str, row: i64, column: &str, value: Option<&Value>) -> Result<(), Fault> {
    conn.prepare_cached(&format!("UPDATE {subject} SET \"{column}\" = ? WHERE n = ?"))?
        .execute(params![Cell(value_ref(value)), row])?;
    Ok(())
}

fn verify(conn: &Connection, subject: &str, row: i64) -> Result<(), Fault> {
    match subject {
        BATCHES => {
            let mut statement = conn.prepare_cached(&select_batches("WHERE n = ?"))?;
            let mut rows = statement.query([row])?;
            batch_of(rows.next()?.ok_or(rusqlite::Error::QueryReturnedNoRows)?).map(|_| ())
        }
        _ => log(subject).verify_row(conn, row),
    }
}

fn reseal(conn: &Connection, subject: &str, row: i64) -> Result<(), Fault> {
    if subject != BATCHES {
        return log(subject).reseal(conn, row);
    }
    let seal = {
        let mut statement = conn.prepare_cached(&select_batches("WHERE n = ?"))?;
        let mut rows = statement.query([row])?;
        seal_of_row(rows.next()?.ok_or(rusqlite::Error::QueryReturnedNoRows)?)?
    };
    conn.prepare_cached("UPDATE batches SET seal = ? WHERE n = ?")?.execute([seal, row])?;
    Ok(())
}

/// The schema lets no other subject in.
fn log(subject: &str) -> &'static Sealed {
    match subject == READINGS.name {
        true => &READINGS,
        false => &SURROUNDINGS,
    }
}
