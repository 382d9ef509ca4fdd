//! For a program that stays open: whether the logbook was changed by others, and a copy in memory to try things on.

use std::path::Path;
use std::time::Duration;

use rusqlite::Connection;

use super::Logbook;
use super::error::{At, LogbookError};

/// Pages copied at a time; readers and writers get their turn in between.
const PAGES: i32 = 4096;

/// What changes when somebody else writes to a logbook, or puts another file in its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stamp {
    version: i64,
    file: Option<(u64, u64)>,
}

impl Logbook {
    /// The stamp of now. It stays the same as long as no other connection writes; what this one writes does not count.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn stamp(&self) -> Result<Stamp, LogbookError> {
        let version = self.conn.query_row("PRAGMA data_version", [], |row| row.get(0)).at(&self.place)?;
        Ok(Stamp { version, file: identity(&self.place.path) })
    }

    /// A whole copy in memory: what is written to it leaves the file as it is.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn copy_in_memory(&self) -> Result<Self, LogbookError> {
        let mut conn = Connection::open_in_memory().at(&self.place)?;
        let online = rusqlite::backup::Backup::new(&self.conn, &mut conn).at(&self.place)?;
        online.run_to_completion(PAGES, Duration::ZERO, None).at(&self.place)?;
        drop(online);
        Ok(Self { conn, place: self.place.clone() })
    }
}

/// Which file stands under a name.
#[cfg(unix)]
fn identity(path: &Path) -> Option<(u64, u64)> {
    use std::os::unix::fs::MetadataExt;
    std::fs::metadata(path).ok().map(|m| (m.dev(), m.ino()))
}

/// Elsewhere the file is not told apart from another of its name.
#[cfg(not(unix))]
fn identity(_: &Path) -> Option<(u64, u64)> {
    None
}
