//! Opening a logbook: what is refused, what is checked, how the file is kept safe.
//!
//! The file is in WAL mode with `synchronous=FULL`: what was acknowledged survives a crash or a power
//! cut, a step cut short leaves no trace, and readers are not kept waiting by the one who writes.
//!
//! On opening, a file of up to [`CHECKED_WHOLE_BYTES`] is checked whole. For a larger one that would take
//! too long at every command; there the opening looks at the size, the schema, and whether each table has as
//! many rows as its indexes, so that none is missed in silence; [`Logbook::check`] does the rest when asked. In
//! either case every row carries a seal that is compared when the row is read, so that a damaged figure is
//! never passed on as a sound one.

use std::fs::File;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags};

use super::Logbook;
use super::backup::last_backup;
use super::error::{At, Fault, LogbookError, Place};
use super::schema::{self, Found, VERSION};

/// The largest file that is checked whole at each opening, in bytes.
pub const CHECKED_WHOLE_BYTES: i64 = 16 << 20;

/// How long a second writer waits for the first before it is told.
const PATIENCE: Duration = Duration::from_millis(400);

/// Prepared statements kept: one for each column to update, and the few others.
const STATEMENTS_KEPT: usize = 128;

impl Logbook {
    /// Opens a logbook that must exist, to read and write.
    ///
    /// # Errors
    /// When it is missing, is no logbook, is newer than this program, damaged, locked, or may not be
    /// written.
    pub fn open(path: impl AsRef<Path>) -> Result<Self, LogbookError> {
        let path = path.as_ref();
        if !path.exists() {
            return Err(LogbookError::Missing { path: path.into() });
        }
        open(path, OpenFlags::SQLITE_OPEN_READ_WRITE, false)
    }

    /// Opens a logbook to read and write, and makes it when there is none (or an empty file).
    ///
    /// # Errors
    /// As [`Logbook::open`], and when its folder is missing.
    pub fn open_or_create(path: impl AsRef<Path>) -> Result<Self, LogbookError> {
        let path = path.as_ref();
        let folder = path.parent().filter(|f| !f.as_os_str().is_empty());
        if folder.is_some_and(|f| !f.is_dir()) {
            return Err(LogbookError::NoFolder { path: path.into() });
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
        open(path, flags, true)
    }

    /// Opens a logbook for reading only; nothing in the file is touched.
    ///
    /// # Errors
    /// When it is missing, is no logbook, is newer or older than this program, or damaged.
    pub fn open_read_only(path: impl AsRef<Path>) -> Result<Self, LogbookError> {
        let path = path.as_ref();
        if !path.exists() {
            return Err(LogbookError::Missing { path: path.into() });
        }
        open(path, OpenFlags::SQLITE_OPEN_READ_ONLY, false)
    }

    /// Checks the whole file, however large: its structure, its indexes, and every reference.
    ///
    /// # Errors
    /// [`LogbookError::Damaged`] with the first thing found.
    pub fn check(&self) -> Result<(), LogbookError> {
        whole(&self.conn).at(&self.place)
    }
}

fn open(path: &Path, flags: OpenFlags, create: bool) -> Result<Logbook, LogbookError> {
    let mut place = Place { path: path.into(), last_backup: None };
    if path.is_dir() {
        return Err(LogbookError::CannotOpen { path: path.into(), what: "it is a folder".into() });
    }
    let conn = connect(path, flags).map_err(|fault| on_read_only_disk(fault, path)).at(&place)?;
    place.last_backup = last_backup(&conn);
    prepare(&conn, path, flags.contains(OpenFlags::SQLITE_OPEN_READ_WRITE), create).at(&place)?;
    Ok(Logbook { conn, place })
}

/// A connection that has read from the file.
pub(super) fn connect(path: &Path, flags: OpenFlags) -> Result<Connection, Fault> {
    let open = |path: &Path, flags| -> rusqlite::Result<Connection> {
        let conn = Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
        settle(&conn)?;
        conn.query_row("PRAGMA schema_version", [], |_| Ok(()))?;
        Ok(conn)
    };
    match open(path, flags) {
        // To read beside a writer, SQLite makes files in the folder. Where it may not, and nobody writes,
        // the file is read as one that does not change.
        Err(e) if flags == OpenFlags::SQLITE_OPEN_READ_ONLY && nothing_waits(path) && may_not_write(&e) => {
            let uri = format!("file:{}?immutable=1", escaped(path));
            Ok(open(uri.as_ref(), flags | OpenFlags::SQLITE_OPEN_URI)?)
        }
        other => Ok(other?),
    }
}

/// On a disk that is mounted to be read only, SQLite says no more than that it cannot open the file.
fn on_read_only_disk(fault: Fault, path: &Path) -> Fault {
    match fault {
        Fault::Sqlite(e)
            if may_not_write(&e) && refused_by_system(path) == Some(ErrorKind::ReadOnlyFilesystem) =>
        {
            LogbookError::ReadOnly { path: path.into() }.into()
        }
        other => other,
    }
}

/// Why the system would not let the file be written; nothing when it would.
fn refused_by_system(path: &Path) -> Option<ErrorKind> {
    File::options().append(true).open(path).err().map(|e| e.kind())
}

fn may_not_write(error: &rusqlite::Error) -> bool {
    matches!(error.sqlite_error_code(), Some(ErrorCode::CannotOpen | ErrorCode::ReadOnly))
}

/// Whether all that was written is in the file itself.
fn nothing_waits(path: &Path) -> bool {
    std::fs::metadata(beside(path, "-wal")).map_or(true, |wal| wal.len() == 0)
}

/// A path for a URI: what has a meaning there is written as its code.
fn escaped(path: &Path) -> String {
    path.to_string_lossy().replace('%', "%25").replace('?', "%3f").replace('#', "%23")
}

fn prepare(conn: &Connection, path: &Path, writing: bool, create: bool) -> Result<(), Fault> {
    let found = Found::read(conn)?;
    schema::refuse_foreign(&found, path, create)?;
    if !found.is_empty() {
        check_size(conn, path)?;
        if size(conn)? <= CHECKED_WHOLE_BYTES {
            whole(conn)?;
        } else {
            count(conn)?;
        }
        schema::refuse_newer(conn, &found, path)?;
    }
    if writing {
        if conn.is_readonly(rusqlite::MAIN_DB)? {
            return Err(match refused_by_system(path) {
                Some(_) => LogbookError::ReadOnly { path: path.into() }.into(),
                None => Fault::Damaged("its header says that it may not be written".into()),
            });
        }
        conn.pragma_update(None, "journal_mode", "wal")?;
        schema::bring_up_to_date(conn)?;
    } else if found.version < VERSION || !schema::missing_columns(conn)?.is_empty() {
        return Err(LogbookError::Older { path: path.into() }.into());
    }
    Ok(())
}

/// The settings of one connection.
fn settle(conn: &Connection) -> rusqlite::Result<()> {
    conn.busy_timeout(PATIENCE)?;
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    conn.set_prepared_statement_cache_capacity(STATEMENTS_KEPT);
    conn.execute_batch(
        "PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;
         PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON;",
    )
}

/// Bytes that the header says the database has.
fn size(conn: &Connection) -> rusqlite::Result<i64> {
    conn.query_row("SELECT page_count * page_size FROM pragma_page_count, pragma_page_size", [], |row| {
        row.get(0)
    })
}

/// A file cut short is shorter than its header says (pages that wait in the write-ahead log aside).
fn check_size(conn: &Connection, path: &Path) -> Result<(), Fault> {
    let bytes = |path: &Path| std::fs::metadata(path).map_or(0, |m| m.len().cast_signed());
    let (stands, waits, wanted) = (bytes(path), bytes(&beside(path, "-wal")), size(conn)?);
    match stands + waits >= wanted {
        true => Ok(()),
        false => Err(Fault::Damaged(format!("it has {stands} bytes of {wanted}"))),
    }
}

/// The name of a file that belongs to another, as SQLite makes it.
pub(super) fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    name.into()
}

/// Structure, indexes and references of the whole file.
pub(super) fn whole(conn: &Connection) -> Result<(), Fault> {
    let said: String = conn.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
    if said != "ok" {
        return Err(Fault::Damaged(said.replace('\n', " ")));
    }
    match conn.prepare("PRAGMA foreign_key_check")?.exists([])? {
        true => Err(Fault::Damaged("a row refers to one that is gone".into())),
        false => Ok(()),
    }
}

/// As many rows in each table as in each of its indexes: a bit may have changed how many a page says that it holds, which no
/// seal shows. Pages are counted, rows are not read.
fn count(conn: &Connection) -> Result<(), Fault> {
    let mut indexes = conn.prepare(
        "SELECT tbl_name, name FROM sqlite_schema WHERE type = 'index' AND rootpage > 0 ORDER BY tbl_name, name",
    )?;
    let named = |row: &rusqlite::Row<'_>| Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?));
    for pair in indexes.query_map([], named)? {
        let (table, index) = pair?;
        let rows = |how: &str| -> rusqlite::Result<i64> {
            conn.query_row(&format!("SELECT count(*) FROM \"{table}\" {how}"), [], |row| row.get(0))
        };
        let (stand, told) = (rows("NOT INDEXED")?, rows(&format!("INDEXED BY \"{index}\""))?);
        if stand != told {
            return Err(Fault::Damaged(format!("{table} has {stand} rows, and {told} in an index")));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dough::Batch;
    use crate::logbook::Source;

    /// Kinds of pages by their first byte (SQLite file format, section 1.6): leaves of tables and of indexes.
    const LEAVES: [u8; 2] = [0x0d, 0x0a];
    const PAGE: usize = 4096;

    /// What a page says of the number of its rows, in its fourth and fifth byte, is changed in every leaf of the batches.
    #[test]
    fn a_row_less_on_any_page_is_noticed_without_reading_rows() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a.db");
        let batch = |i: u32| Batch {
            batch_id: Some(format!("B{i:04}")),
            date: "2026-03-01".parse().ok(),
            flour_g: Some(1000.0),
            ..Batch::default()
        };
        let batches: Vec<Batch> = (0..600).map(batch).collect();
        let mut logbook = Logbook::open_or_create(&path).expect("a logbook");
        logbook.import(&Source::new("a.csv"), &batches, &[], &[]).expect("batches");
        drop(logbook);
        let sound = std::fs::read(&path).expect("it is there");
        let counted = |bytes: &[u8]| {
            std::fs::write(&path, bytes).expect("it can be written");
            connect(&path, OpenFlags::SQLITE_OPEN_READ_ONLY).and_then(|conn| count(&conn))
        };
        assert!(counted(&sound).is_ok());
        let mut tried = 0;
        for at in (PAGE..sound.len()).step_by(PAGE) {
            let page = &sound[at..at + PAGE];
            // Only the batches are many; the schema's leaves, which are not counted here, hold some nine.
            if LEAVES.contains(&page[0]) && page[4] > 20 {
                let mut bytes = sound.clone();
                bytes[at + 4] ^= 1;
                assert!(counted(&bytes).is_err(), "page {}", at / PAGE + 1);
                tried += 1;
            }
        }
        assert!(tried > 10, "{tried} pages");
    }
}
