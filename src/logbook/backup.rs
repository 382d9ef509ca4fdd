//! A copy of the logbook by SQLite's own online backup: whole even while somebody writes.
//!
//! The copy is made under another name beside its own, checked, and put in place in one step; an earlier
//! backup of that name is replaced only then. The logbook remembers where its last backup is.

use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::Duration;

use jiff::Timestamp;
use rusqlite::{Connection, OpenFlags};

use super::Logbook;
use super::error::{At, Backup, Fault, LogbookError, Place};
use super::kept::{keep, kept};
use super::open::{beside, whole};
use super::schema::APPLICATION_ID;

const LAST_BACKUP: &str = "last backup";

/// Pages copied at a time; readers and writers get their turn in between.
const PAGES: i32 = 4096;

impl Logbook {
    /// Copies the logbook to a file.
    ///
    /// # Errors
    /// When the file is the logbook itself, or stands there and is no logbook, or is in use; when its folder
    /// is missing or may not be written; when the disk is full; when the logbook is damaged.
    pub fn backup(&mut self, to: impl AsRef<Path>) -> Result<Backup, LogbookError> {
        let to = to.as_ref();
        refuse_others(&self.place.path, to)?;
        let part = beside(to, "-part");
        let there = Place { path: to.into(), last_backup: None };
        let copied = self.copy_to(&part, &there).and_then(|()| {
            let put = fs::rename(&part, to).and_then(|()| File::open(folder_of(to))?.sync_all());
            put.map_err(|e| refused(to, e))
        });
        if copied.is_err() {
            // What is left of the copy; that it may be gone already is no matter.
            let _ = fs::remove_file(&part);
        }
        copied?;
        let backup = Backup { path: fs::canonicalize(to).map_err(|e| refused(to, e))?, at: Timestamp::now() };
        keep(&self.conn, LAST_BACKUP, backup.at, &backup.path.to_string_lossy()).at(&self.place)?;
        self.place.last_backup = Some(backup.clone());
        Ok(backup)
    }

    fn copy_to(&self, part: &Path, there: &Place) -> Result<(), LogbookError> {
        if part.exists() {
            fs::remove_file(part).map_err(|e| refused(&there.path, e))?;
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
        let mut copy = Connection::open_with_flags(part, flags).at(there)?;
        let online = rusqlite::backup::Backup::new(&self.conn, &mut copy).at(there)?;
        online.run_to_completion(PAGES, Duration::ZERO, None).at(there)?;
        drop(online);
        // One file, without a write-ahead log beside it.
        copy.pragma_update(None, "journal_mode", "delete").at(there)?;
        whole(&copy).at(&self.place)?;
        copy.close().map_err(|(_, e)| Fault::from(e).at(there))
    }
}

/// The last backup that a logbook knows of; nothing when it cannot tell, damaged as it may be.
pub(super) fn last_backup(conn: &Connection) -> Option<Backup> {
    let (at, path) = kept(conn, LAST_BACKUP).ok()??;
    Some(Backup { path: path.into(), at })
}

fn refuse_others(own: &Path, to: &Path) -> Result<(), LogbookError> {
    let no = |what: &str| Err(LogbookError::NoBackup { path: to.into(), what: what.into() });
    if !folder_of(to).is_dir() {
        return Err(LogbookError::NoFolder { path: to.into() });
    }
    if !to.exists() {
        return Ok(());
    }
    if fs::canonicalize(own).ok() == fs::canonicalize(to).ok() {
        return no("it is the logbook itself");
    }
    if beside(to, "-wal").exists() {
        return no("a logbook stands there and is in use");
    }
    match is_logbook(to) {
        true => Ok(()),
        false => no("another file stands there"),
    }
}

/// Whether a file's header says that it is a logbook (SQLite file format, section 1.3: the application id
/// is a big-endian number at offset 68).
pub(super) fn is_logbook(path: &Path) -> bool {
    let mut header = [0; 72];
    let read = File::open(path).and_then(|mut file| file.read_exact(&mut header));
    let id = APPLICATION_ID.to_be_bytes();
    read.is_ok() && header.starts_with(b"SQLite format 3\0") && header[68..] == id[4..]
}

fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.into(),
        _ => ".".into(),
    }
}

fn refused(to: &Path, error: std::io::Error) -> LogbookError {
    LogbookError::NoBackup { path: to.into(), what: error.to_string() }
}
