//! The tables, and how an older file is brought up to date.
//!
//! Two things move a schema. `MIGRATIONS` is a list of steps, one for each `user_version`; a step is
//! never edited once released, only followed by another. The columns of `batches` follow
//! [`Column::ALL`] by themselves: a column that the file does not have yet is added on opening, blank
//! in every batch. A file with a version or a column that this program does not know is refused.

use std::path::Path;

use rusqlite::{Connection, Transaction, TransactionBehavior};

use super::cells::{quoted, sql_type};
use super::error::{Fault, LogbookError};
use crate::dough::Column;

/// Marks a SQLite file as a logbook: "Doug" in ASCII.
pub(super) const APPLICATION_ID: i64 = 0x446f_7567;

/// The steps; step `k` (from 0) takes `user_version` k to k + 1.
const MIGRATIONS: &[fn() -> String] = &[first];

/// The schema version that this program writes.
pub(super) const VERSION: i64 = MIGRATIONS.len() as i64;

/// Schema 1. The batch table has the columns of [`Column::ALL`], as after every later step.
///
/// `n` numbers rows inside the file only. `added_by` is the import that brought a row; `changes` holds
/// what stood in a column before an import changed it. `kept` is for what the workbench remembers from one
/// run to the next. `seal` is explained in [`super::seal`]; it tells of a changed row, and every table that
/// is looked up by a key also has that key in an index, so that a check tells of a changed key.
fn first() -> String {
    format!(
        "PRAGMA application_id = {APPLICATION_ID};
        CREATE TABLE imports (
            n INTEGER PRIMARY KEY,
            at TEXT NOT NULL,
            source TEXT NOT NULL,
            content_hash TEXT,
            added INTEGER NOT NULL,
            changed INTEGER NOT NULL,
            undone_at TEXT,
            seal INTEGER NOT NULL
        ) STRICT;
        CREATE TABLE batches (
            n INTEGER PRIMARY KEY,
            added_by INTEGER NOT NULL REFERENCES imports (n),
            seal INTEGER NOT NULL,
            {},
            UNIQUE (kitchen, batch_id)
        ) STRICT;
        CREATE TABLE readings (
            n INTEGER PRIMARY KEY,
            added_by INTEGER NOT NULL REFERENCES imports (n),
            seal INTEGER NOT NULL,
            batch INTEGER NOT NULL REFERENCES batches (n),
            vessel TEXT NOT NULL,
            hours REAL NOT NULL,
            rise REAL,
            dough_temp_c REAL,
            UNIQUE (batch, vessel, hours)
        ) STRICT;
        CREATE TABLE surroundings (
            n INTEGER PRIMARY KEY,
            added_by INTEGER NOT NULL REFERENCES imports (n),
            seal INTEGER NOT NULL,
            batch INTEGER NOT NULL REFERENCES batches (n),
            hours REAL NOT NULL,
            surroundings_temp_c REAL,
            UNIQUE (batch, hours)
        ) STRICT;
        CREATE TABLE changes (
            n INTEGER PRIMARY KEY,
            subject TEXT NOT NULL CHECK (subject IN ('batches', 'readings', 'surroundings')),
            row INTEGER NOT NULL,
            import INTEGER NOT NULL REFERENCES imports (n),
            col TEXT NOT NULL,
            former ANY,
            seal INTEGER NOT NULL,
            UNIQUE (subject, row, import, col)
        ) STRICT;
        CREATE TABLE fits (
            n INTEGER PRIMARY KEY,
            kitchen TEXT NOT NULL,
            made_at TEXT NOT NULL,
            program_version TEXT NOT NULL,
            method TEXT NOT NULL,
            seed INTEGER NOT NULL,
            settings TEXT NOT NULL,
            data_hash TEXT NOT NULL,
            summary TEXT NOT NULL,
            names TEXT NOT NULL,
            draws_seal INTEGER NOT NULL,
            draws BLOB NOT NULL DEFAULT x'',
            seal INTEGER NOT NULL
        ) STRICT;
        CREATE INDEX fits_of ON fits (kitchen, n);
        CREATE TABLE plans (
            n INTEGER PRIMARY KEY,
            kitchen TEXT NOT NULL,
            plan_id TEXT NOT NULL,
            made_at TEXT NOT NULL,
            plan TEXT NOT NULL,
            predicted TEXT NOT NULL,
            became TEXT,
            seal INTEGER NOT NULL
        ) STRICT;
        CREATE INDEX plans_of ON plans (kitchen, plan_id);
        CREATE TABLE kept (
            n INTEGER PRIMARY KEY,
            name TEXT NOT NULL UNIQUE,
            kept_at TEXT NOT NULL,
            content TEXT NOT NULL,
            seal INTEGER NOT NULL
        ) STRICT;",
        Column::ALL.iter().map(|&c| definition(c)).collect::<Vec<_>>().join(", ")
    )
}

/// A column of the batch table; those that a batch is known by are never blank.
fn definition(column: Column) -> String {
    let key = matches!(column, Column::kitchen | Column::batch_id);
    format!("{} {}{}", quoted(column), sql_type(column), if key { " NOT NULL" } else { "" })
}

/// What a file says about itself.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Found {
    /// Which program's file it is; 0 when nobody said.
    pub application_id: i64,
    /// How many steps of the schema it has seen.
    pub version: i64,
    /// How many tables, indices and the like it holds.
    pub tables: i64,
}

impl Found {
    /// Asks an open file.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn read(conn: &Connection) -> rusqlite::Result<Self> {
        let number = |sql| conn.query_row(sql, [], |row| row.get(0));
        Ok(Self {
            application_id: number("PRAGMA application_id")?,
            version: number("PRAGMA user_version")?,
            tables: number("SELECT count(*) FROM sqlite_schema")?,
        })
    }

    /// Nothing was ever put into it: a new file, or one whose making was cut short.
    pub fn is_empty(&self) -> bool {
        self.application_id == 0 && self.version == 0 && self.tables == 0
    }
}

/// Brings a file up to date, each step in one transaction; a new file is made by the same steps.
pub(super) fn bring_up_to_date(conn: &Connection) -> Result<(), Fault> {
    run(conn, MIGRATIONS)?;
    add_columns(conn)
}

/// Runs the steps that the file has not seen.
fn run(conn: &Connection, steps: &[fn() -> String]) -> Result<(), Fault> {
    for (step, after) in steps.iter().zip(1_i64..) {
        if Found::read(conn)?.version >= after {
            continue;
        }
        let tx = Transaction::new_unchecked(conn, TransactionBehavior::Immediate)?;
        // Another process may have taken this step while we waited for the lock.
        if Found::read(&tx)?.version < after {
            tx.execute_batch(&step())?;
            tx.pragma_update(None, "user_version", after)?;
        }
        tx.commit()?;
    }
    Ok(())
}

/// Adds the columns that [`Column::ALL`] has and the file has not.
fn add_columns(conn: &Connection) -> Result<(), Fault> {
    if missing_columns(conn)?.is_empty() {
        return Ok(());
    }
    let tx = Transaction::new_unchecked(conn, TransactionBehavior::Immediate)?;
    for column in missing_columns(&tx)? {
        tx.execute_batch(&format!("ALTER TABLE batches ADD COLUMN {}", definition(column)))?;
    }
    tx.commit()?;
    Ok(())
}

/// The columns of this program that the file does not have.
pub(super) fn missing_columns(conn: &Connection) -> rusqlite::Result<Vec<Column>> {
    let have = columns_in_file(conn)?;
    Ok(Column::ALL.iter().copied().filter(|c| !have.iter().any(|h| h == c.name())).collect())
}

/// Refuses a file that is no logbook; an empty one too, unless it may become one.
pub(super) fn refuse_foreign(found: &Found, path: &Path, create: bool) -> Result<(), Fault> {
    let refused =
        |what: &str| Fault::Told(LogbookError::NotALogbook { path: path.into(), what: what.into() });
    match found {
        found if found.is_empty() && create => Ok(()),
        found if found.is_empty() => Err(refused("it is empty")),
        found if found.application_id != APPLICATION_ID => Err(refused("a SQLite file of another program")),
        _ => Ok(()),
    }
}

/// Refuses a file that holds more than this program knows.
pub(super) fn refuse_newer(conn: &Connection, found: &Found, path: &Path) -> Result<(), Fault> {
    let newer = |what| Fault::Told(LogbookError::Newer { path: path.into(), what });
    // The first step that made it gave it the number 1.
    if found.version < 1 {
        return Err(Fault::Damaged(format!("its schema has the number {}", found.version)));
    }
    if found.version > VERSION {
        return Err(newer(format!("schema {}, this version knows up to {VERSION}", found.version)));
    }
    let own = ["n", "added_by", "seal"];
    let unknown: Vec<String> = columns_in_file(conn)?
        .into_iter()
        .filter(|name| !own.contains(&name.as_str()) && name.parse::<Column>().is_err())
        .collect();
    match unknown.join(", ") {
        none if none.is_empty() => Ok(()),
        // A later version only adds columns; with one of ours gone as well, a name has been damaged.
        odd if !missing_columns(conn)?.is_empty() => Err(Fault::Damaged(format!("a column named {odd}"))),
        added => Err(newer(format!("with the column {added}"))),
    }
}

fn columns_in_file(conn: &Connection) -> rusqlite::Result<Vec<String>> {
    conn.prepare("SELECT name FROM pragma_table_info('batches')")?.query_map([], |row| row.get(0))?.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_that_fails_leaves_the_schema_before_it() {
        let conn = Connection::open_in_memory().unwrap();
        let steps: [fn() -> String; 2] =
            [|| "CREATE TABLE a (x)".into(), || "CREATE TABLE b (x); CREATE TABLE a (x)".into()];
        assert!(run(&conn, &steps).is_err());
        assert_eq!(Found::read(&conn).unwrap(), Found { application_id: 0, version: 1, tables: 1 });
        let mended: [fn() -> String; 2] = [steps[0], || "CREATE TABLE b (x)".into()];
        run(&conn, &mended).unwrap();
        assert_eq!(Found::read(&conn).unwrap().version, 2);
    }

    #[test]
    fn every_column_of_the_table_is_in_a_new_file() {
        let conn = Connection::open_in_memory().unwrap();
        bring_up_to_date(&conn).unwrap();
        assert_eq!(missing_columns(&conn).unwrap(), []);
        refuse_newer(&conn, &Found::read(&conn).unwrap(), "x".as_ref()).unwrap();
    }
}
