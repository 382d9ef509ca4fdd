//! Opening a logbook: what is refused, what is checked, how the file is kept safe.
//!
//! The file is in WAL mode with `synchronous=FULL`: what was acknowledged survives a crash or a power
//! cut, a step cut short leaves no trace, and readers are not kept waiting by the one who writes.
//!
//! On opening, SQLite's `quick_check` walks a file of up to [`CHECKED_WHOLE_BYTES`]. For a larger one
//! that would take seconds at every command; there the opening looks only at the size and the schema,
//! and `Logbook::check` does the rest when asked. In either case every row carries a seal that is
//! compared when the row is read, so that a damaged figure is never passed on as a sound one.

use std::path::Path;
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags};

use super::Logbook;
use super::error::{Fault, LogbookError};
use super::schema::{self, APPLICATION_ID, Found, VERSION};

/// The largest file that is checked whole at each opening, in bytes.
pub const CHECKED_WHOLE_BYTES: i64 = 8 << 20;

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
        open(path, OpenFlags::SQLITE_OPEN_READ_WRITE, false).map_err(|e| e.at(path))
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
        open(path, flags, true).map_err(|e| e.at(path))
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
        open(path, OpenFlags::SQLITE_OPEN_READ_ONLY, false).map_err(|e| e.at(path))
    }

    /// Checks the whole file, however large: its structure, its indexes, and every reference.
    ///
    /// # Errors
    /// [`LogbookError::Damaged`] with the first thing found.
    pub fn check(&self) -> Result<(), LogbookError> {
        whole(&self.conn, "integrity_check").map_err(|e| e.at(&self.path))
    }
}

fn open(path: &Path, flags: OpenFlags, create: bool) -> Result<Logbook, Fault> {
    if path.is_dir() {
        return Err(LogbookError::CannotOpen { path: path.into(), what: "it is a folder".into() }.into());
    }
    let writing = flags.contains(OpenFlags::SQLITE_OPEN_READ_WRITE);
    let conn = Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    settle(&conn)?;
    let found = Found::read(&conn)?;
    refuse_foreign(&found, path, create)?;
    if !found.is_empty() {
        check_size(&conn, path)?;
        if size(&conn)? <= CHECKED_WHOLE_BYTES {
            whole(&conn, "quick_check")?;
        }
        schema::refuse_newer(&conn, &found, path)?;
    }
    if writing {
        if conn.is_readonly(rusqlite::MAIN_DB)? {
            return Err(LogbookError::ReadOnly { path: path.into() }.into());
        }
        conn.pragma_update(None, "journal_mode", "wal")?;
        schema::bring_up_to_date(&conn)?;
    } else if found.version < VERSION || !schema::missing_columns(&conn)?.is_empty() {
        return Err(LogbookError::Older { path: path.into() }.into());
    }
    Ok(Logbook { conn, path: path.into() })
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

fn refuse_foreign(found: &Found, path: &Path, create: bool) -> Result<(), Fault> {
    let refused =
        |what: &str| Fault::Told(LogbookError::NotALogbook { path: path.into(), what: what.into() });
    match found {
        found if found.is_empty() && create => Ok(()),
        found if found.is_empty() => Err(refused("it is empty")),
        found if found.application_id != APPLICATION_ID => Err(refused("a SQLite file of another program")),
        _ => Ok(()),
    }
}

/// Bytes that the header says the database has.
fn size(conn: &Connection) -> rusqlite::Result<i64> {
    conn.query_row("SELECT page_count * page_size FROM pragma_page_count, pragma_page_size", [], |row| {
        row.get(0)
    })
}

/// A file cut short is shorter than its header says (pages still in the write-ahead log aside).
fn check_size(conn: &Connection, path: &Path) -> Result<(), Fault> {
    let stands = std::fs::metadata(path).map_or(0, |m| m.len().cast_signed());
    let wal = std::fs::metadata(wal_of(path)).map_or(0, |m| m.len().cast_signed());
    let wanted = size(conn)?;
    match stands + wal >= wanted {
        true => Ok(()),
        false => Err(Fault::Damaged(format!("it has {stands} bytes of {wanted}"))),
    }
}

/// The write-ahead log that belongs to a file.
fn wal_of(path: &Path) -> std::path::PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push("-wal");
    name.into()
}

fn whole(conn: &Connection, check: &str) -> Result<(), Fault> {
    let said: String = conn.query_row(&format!("PRAGMA {check}(1)"), [], |row| row.get(0))?;
    if said != "ok" {
        return Err(Fault::Damaged(said.replace('\n', " ")));
    }
    let loose = conn.prepare("PRAGMA foreign_key_check")?.exists([])?;
    match loose {
        true => Err(Fault::Damaged("a row refers to one that is gone".into())),
        false => Ok(()),
    }
}
