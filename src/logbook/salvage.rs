//! What is left of a damaged file: every row that can still be read and is as it was written. First the rows that the
//! file's trees lead to; when that fails somewhere, the rows on all pages (`pages`) as well.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use rusqlite::types::Value;
use rusqlite::{Connection, ErrorCode, OpenFlags, Row, params_from_iter};

use super::Logbook;
use super::backup::is_logbook;
use super::cells::{NUMBER, batch_of, select_batches};
use super::changes::BATCHES;
use super::error::{At, Fault, LogbookError, Place};
use super::logs::{READINGS, SURROUNDINGS};
use super::open::{beside, connect};
use super::pages::loose_rows;
use super::read::{point_of, reading_of};
use super::schema::{Found, bring_up_to_date, refuse_foreign};
use crate::dough::{Batch, Reading, SurroundingsPoint};

/// What could be saved.
#[derive(Debug, Default)]
pub struct Salvaged {
    /// By kitchen.
    pub kitchens: BTreeMap<String, Rows>,
    /// Rows that no page of the file leads to any more, found by looking through all pages: they are as they were
    /// written, but may have been changed or taken back since.
    pub loose: usize,
    /// What could not be read, each fault once.
    pub faults: BTreeSet<String>,
}

/// What could be saved of one kitchen.
#[derive(Debug, Default)]
pub struct Rows {
    /// Batches, in the order in which they came.
    pub batches: Vec<Batch>,
    /// Readings of these batches.
    pub readings: Vec<Reading>,
    /// Temperature logs of these batches.
    pub surroundings: Vec<SurroundingsPoint>,
}

impl Logbook {
    /// Reads every sound row of a damaged logbook. The present values only: the history is left.
    ///
    /// # Errors
    /// When nothing can be read: the file is missing, is no logbook, or its first page is damaged.
    pub fn salvage(path: impl AsRef<Path>) -> Result<Salvaged, LogbookError> {
        let path = path.as_ref();
        if !path.exists() {
            return Err(LogbookError::Missing { path: path.into() });
        }
        salvage(path).at(&Place { path: path.into(), last_backup: None })
    }
}

/// First the trees of the file, then, unless every row was there, all its pages.
fn salvage(path: &Path) -> Result<Salvaged, Fault> {
    let mut finding = Finding::default();
    match by_trees(path, &mut finding) {
        Err(fault) if !is_damage(&fault) || !is_logbook(path) => return Err(fault),
        Err(fault) => finding.note(fault),
        Ok(()) => {}
    }
    if !finding.saved.faults.is_empty() {
        finding.loose = true;
        let bytes = std::fs::read(path).map_err(|e| Fault::Damaged(format!("it cannot be read: {e}")))?;
        let scratch = loose_rows_as_tables(loose_rows(&bytes))?;
        finding.take_rows(&scratch, |table| numbers(&scratch, table).map(Vec::into_iter))?;
    }
    Ok(finding.saved)
}

/// What the trees lead to. A file that was cut short is read from a copy that is filled up with empty pages, since
/// SQLite opens no other.
fn by_trees(path: &Path, finding: &mut Finding) -> Result<(), Fault> {
    let mut _copy = None;
    let conn = match connect(path, OpenFlags::SQLITE_OPEN_READ_ONLY) {
        Err(fault) if is_damage(&fault) => {
            let file = _copy.insert(Filled::of(path)?).0.join(COPY);
            connect(&file, OpenFlags::SQLITE_OPEN_READ_ONLY)?
        }
        opened => opened?,
    };
    refuse_foreign(&Found::read(&conn)?, path, false)?;
    let most = most_rows(&conn)?;
    finding.take_rows(&conn, |_| Ok(1..=most))
}

fn is_damage(fault: &Fault) -> bool {
    match fault {
        Fault::Sqlite(e) => e.sqlite_error_code() == Some(ErrorCode::DatabaseCorrupt),
        Fault::Damaged(_) => true,
        Fault::Told(_) => false,
    }
}

/// The name of the copy.
const COPY: &str = "copy.db";

/// A folder with a copy of a file cut short, which goes when dropped.
struct Filled(PathBuf);

impl Filled {
    fn of(path: &Path) -> Result<Self, Fault> {
        let folder = std::env::temp_dir().join(format!("doughwright-salvage-{}", std::process::id()));
        let failed = |e: std::io::Error| {
            Fault::Damaged(format!("no copy of it can be made in {}: {e}", folder.display()))
        };
        std::fs::create_dir_all(&folder).map_err(failed)?;
        let made = Self(folder.clone());
        let copy = folder.join(COPY);
        std::fs::copy(path, &copy).map_err(failed)?;
        let wal = beside(path, "-wal");
        if wal.exists() {
            std::fs::copy(&wal, beside(&copy, "-wal")).map_err(failed)?;
        }
        let file = File::options().read(true).write(true).open(&copy).map_err(failed)?;
        let mut header = [0; 32];
        (&file).read_exact(&mut header).map_err(failed)?;
        let number =
            |at: usize, n: usize| header[at..at + n].iter().fold(0_u64, |x, b| (x << 8) | u64::from(*b));
        let page = match number(16, 2) {
            1 => 65_536,
            size => size,
        };
        let whole = page * number(28, 4);
        let stands = file.metadata().map_err(failed)?.len();
        // A header that is damaged itself could ask for any size.
        if stands < whole && whole <= stands.saturating_mul(MOST_GROWTH).max(1 << 26) {
            file.set_len(whole).map_err(failed)?;
        }
        Ok(made)
    }
}

/// How many times the size of what is left a file may have been.
const MOST_GROWTH: u64 = 64;

impl Drop for Filled {
    fn drop(&mut self) {
        // A copy left behind in the system's scratch folder harms nobody.
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// What was found so far.
#[derive(Default)]
struct Finding {
    saved: Salvaged,
    /// Kitchen and id of each batch, by its number.
    batches: BTreeMap<i64, (String, String)>,
    ids: BTreeSet<(String, String)>,
    logs: BTreeSet<(&'static str, i64)>,
    /// Whether the rows come from loose pages.
    loose: bool,
}

impl Finding {
    /// Notes what could not be read.
    fn note(&mut self, fault: Fault) {
        self.saved.faults.insert(match fault {
            Fault::Damaged(what) => what,
            Fault::Sqlite(error) => error.to_string(),
            Fault::Told(error) => error.to_string(),
        });
    }

    fn take_rows<N: Iterator<Item = i64>>(
        &mut self,
        conn: &Connection,
        numbers: impl Fn(&'static str) -> rusqlite::Result<N>,
    ) -> Result<(), Fault> {
        each_number(conn, &select_batches(""), numbers(BATCHES)?, self, |row, found| {
            let (n, batch) = (row.get::<_, i64>(NUMBER)?, batch_of(row)?);
            let key = (batch.kitchen_name().to_string(), batch.batch_id.clone().unwrap_or_default());
            if !found.batches.contains_key(&n) && found.ids.insert(key.clone()) {
                found.saved.loose += usize::from(found.loose);
                found.saved.kitchens.entry(key.0.clone()).or_default().batches.push(batch);
                found.batches.insert(n, key);
            }
            Ok(())
        })?;
        each_number(conn, &READINGS.select(), numbers(READINGS.name)?, self, |row, found| {
            READINGS.verify(row)?;
            if let Some((kitchen, id)) = found.batch_of_log(READINGS.name, row)? {
                found.saved.kitchens.entry(kitchen).or_default().readings.push(reading_of(id, row)?);
            }
            Ok(())
        })?;
        each_number(conn, &SURROUNDINGS.select(), numbers(SURROUNDINGS.name)?, self, |row, found| {
            SURROUNDINGS.verify(row)?;
            if let Some((kitchen, id)) = found.batch_of_log(SURROUNDINGS.name, row)? {
                found.saved.kitchens.entry(kitchen).or_default().surroundings.push(point_of(id, row)?);
            }
            Ok(())
        })
    }

    /// The batch that a row of a log belongs to; `None` when the row was found before.
    fn batch_of_log(
        &mut self,
        table: &'static str,
        row: &Row<'_>,
    ) -> Result<Option<(String, String)>, Fault> {
        let gone = || Fault::Damaged("a reading or log of a batch that could not be read".into());
        let n = row.get::<_, i64>(row.as_ref().column_count() - 1)?;
        if self.logs.contains(&(table, n)) {
            return Ok(None);
        }
        let batch = self.batches.get(&row.get::<_, i64>("batch")?).cloned().ok_or_else(gone)?;
        self.logs.insert((table, n));
        self.saved.loose += usize::from(self.loose);
        Ok(Some(batch))
    }
}

/// Asks for one row after the other, so that one that cannot be read does not hide the next. Rows of logs carry their
/// number behind all else.
fn each_number(
    conn: &Connection,
    select: &str,
    numbers: impl Iterator<Item = i64>,
    found: &mut Finding,
    mut take: impl FnMut(&Row<'_>, &mut Finding) -> Result<(), Fault>,
) -> Result<(), Fault> {
    let select = match select.contains(", n FROM") {
        true => select.to_string(),
        false => select.replacen(" FROM", ", n FROM", 1),
    };
    let mut statement = conn.prepare(&format!("{select} WHERE n = ?"))?;
    for n in numbers {
        let taken = statement.query([n]).map_err(Fault::from).and_then(|mut rows| match rows.next()? {
            Some(row) => take(row, found),
            None => Ok(()),
        });
        taken.unwrap_or_else(|fault| found.note(fault));
    }
    Ok(())
}

/// Loose rows put into tables of their own, as far as a table can hold them, so that they are read like any others. How
/// the tables were made stands in rows as well; where those are lost, they are taken to be as this program makes them.
fn loose_rows_as_tables(rows: Vec<(i64, Vec<Value>)>) -> Result<Connection, Fault> {
    let scratch = Connection::open_in_memory()?;
    scratch.pragma_update(None, "foreign_keys", false)?;
    bring_up_to_date(&scratch)?;
    let mut tables = Vec::new();
    for name in [BATCHES, READINGS.name, SURROUNDINGS.name] {
        if let Some(made) = rows.iter().find_map(|(_, cells)| made_by(name, cells)) {
            scratch.execute_batch(&format!("DROP TABLE {name}; {made}"))?;
        }
        let columns: Vec<String> = scratch
            .prepare("SELECT name FROM pragma_table_info(?)")?
            .query_map([name], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        tables.push((name, columns));
    }
    let tx = scratch.unchecked_transaction()?;
    for (n, mut cells) in rows {
        // The number of a row stands beside its cells.
        if let Some(first) = cells.first_mut() {
            *first = Value::Integer(n);
        }
        // Columns added later are not in the rows before; those of the logs are fixed.
        let fits = |name: &str, columns: &[String]| match name == BATCHES {
            true => cells.len() > SHORTEST_BATCH && cells.len() <= columns.len(),
            false => cells.len() == columns.len(),
        };
        for (name, columns) in tables.iter().filter(|(name, columns)| fits(name, columns)) {
            let named: Vec<String> = columns[..cells.len()].iter().map(|c| format!("\"{c}\"")).collect();
            let sql = format!(
                "INSERT OR IGNORE INTO {name} ({}) VALUES ({})",
                named.join(", "),
                vec!["?"; cells.len()].join(", ")
            );
            // What the table refuses was never a row of it.
            let _ = tx.prepare_cached(&sql)?.execute(params_from_iter(&cells));
        }
    }
    tx.commit()?;
    Ok(scratch)
}

/// The statement that made a table, when these are the cells of its row in the schema.
fn made_by(name: &str, cells: &[Value]) -> Option<String> {
    match cells {
        [Value::Text(kind), Value::Text(called), _, _, Value::Text(made)]
            if kind == "table" && called == name =>
        {
            Some(made.clone())
        }
        _ => None,
    }
}

/// No other table has rows as long as those of batches, but that of fits.
const SHORTEST_BATCH: usize = 13;

fn numbers(conn: &Connection, table: &str) -> rusqlite::Result<Vec<i64>> {
    conn.prepare(&format!("SELECT n FROM {table} ORDER BY n"))?.query_map([], |row| row.get(0))?.collect()
}

/// A number that no row's exceeds: rows are numbered from 1 on, and none takes less than 16 bytes.
fn most_rows(conn: &Connection) -> rusqlite::Result<i64> {
    conn.query_row("SELECT page_count * page_size / 16 FROM pragma_page_count, pragma_page_size", [], |row| {
        row.get(0)
    })
}
