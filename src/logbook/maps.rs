//! Column maps kept by the shape of a sheet, so that the next import of the same sheet asks nothing.

use jiff::Timestamp;
use rusqlite::OptionalExtension;

use super::Logbook;
use super::error::{Fault, LogbookError};

impl Logbook {
    /// Keeps the map (TOML) of the sheets of one shape, in place of the one before.
    ///
    /// # Errors
    /// When another process is writing, or the disk is full.
    pub fn keep_column_map(&mut self, shape_hash: &str, map: &str) -> Result<(), LogbookError> {
        let kept = self.conn.execute(
            "INSERT INTO column_maps (shape, kept_at, map) VALUES (?, ?, ?)
             ON CONFLICT (shape) DO UPDATE SET kept_at = excluded.kept_at, map = excluded.map",
            [shape_hash, &Timestamp::now().to_string(), map],
        );
        kept.map(|_| ()).map_err(|e| Fault::from(e).at(&self.path))
    }

    /// The map kept for sheets of a shape.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn column_map(&self, shape_hash: &str) -> Result<Option<String>, LogbookError> {
        let map =
            self.conn.query_row("SELECT map FROM column_maps WHERE shape = ?", [shape_hash], |r| r.get(0));
        map.optional().map_err(|e| Fault::from(e).at(&self.path))
    }
}
