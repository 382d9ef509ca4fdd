//! What the workbench remembers from one run to the next, by name: column maps, a
//! batch begun by hand, the regression of the crust, and the last backup.

use jiff::Timestamp;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, Transaction, TransactionBehavior};

use super::Logbook;
use super::error::{At, Fault, LogbookError};
use super::seal::Sealed;
use crate::dough::Batch;

const KEPT: Sealed = Sealed { name: "kept", columns: &["name", "kept_at", "content"] };

impl Logbook {
    /// Keeps the map (TOML) of the sheets of one shape, in place of the one before, so that the next
    /// import of the same sheet asks nothing.
    ///
    /// # Errors
    /// When another process is writing, or the disk is full.
    pub fn keep_column_map(&mut self, shape_hash: &str, map: &str) -> Result<(), LogbookError> {
        keep(&self.conn, &map_name(shape_hash), Timestamp::now(), map).at(&self.place)
    }

    /// The map kept for sheets of a shape.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn column_map(&self, shape_hash: &str) -> Result<Option<String>, LogbookError> {
        let found = kept(&self.conn, &map_name(shape_hash)).at(&self.place)?;
        Ok(found.map(|(_, map)| map))
    }

    /// Keeps a kitchen's regression of the crust (JSON), in place of the one before.
    ///
    /// # Errors
    /// When another process is writing, or the disk is full.
    pub fn keep_crust(&mut self, kitchen: &str, content: &str) -> Result<(), LogbookError> {
        keep(&self.conn, &crust_name(kitchen), Timestamp::now(), content).at(&self.place)
    }

    /// The regression of the crust kept for a kitchen.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn crust(&self, kitchen: &str) -> Result<Option<String>, LogbookError> {
        let found = kept(&self.conn, &crust_name(kitchen)).at(&self.place)?;
        Ok(found.map(|(_, content)| content))
    }

    /// Keeps a batch that a kitchen has begun to write down by hand, in place of the one before.
    ///
    /// # Errors
    /// When another process is writing, or the disk is full.
    pub fn keep_draft(&mut self, kitchen: &str, batch: &Batch) -> Result<(), LogbookError> {
        let text = serde_json::to_string(batch).expect("a batch is a flat table of numbers and texts");
        keep(&self.conn, &draft_name(kitchen), Timestamp::now(), &text).at(&self.place)
    }

    /// The batch that a kitchen has begun to write down by hand.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn draft(&self, kitchen: &str) -> Result<Option<Batch>, LogbookError> {
        let found = kept(&self.conn, &draft_name(kitchen)).at(&self.place)?;
        let read = |(_, text): (Timestamp, String)| serde_json::from_str(&text);
        found
            .map(read)
            .transpose()
            .map_err(|e| Fault::Damaged(format!("a batch begun by hand: {e}")))
            .at(&self.place)
    }

    /// Forgets the batch that a kitchen has begun to write down.
    ///
    /// # Errors
    /// When another process is writing, or the disk is full.
    pub fn forget_draft(&mut self, kitchen: &str) -> Result<(), LogbookError> {
        let name = draft_name(kitchen);
        self.conn.execute("DELETE FROM kept WHERE name = ?", [name]).map(drop).at(&self.place)
    }
}

fn draft_name(kitchen: &str) -> String {
    format!("batch begun in {kitchen}")
}

fn crust_name(kitchen: &str) -> String {
    format!("crust of {kitchen}")
}

fn map_name(shape_hash: &str) -> String {
    format!("columns of {shape_hash}")
}

/// Keeps a text under a name, in place of the one before.
pub(super) fn keep(conn: &Connection, name: &str, at: Timestamp, content: &str) -> Result<(), Fault> {
    let tx = Transaction::new_unchecked(conn, TransactionBehavior::Immediate)?;
    tx.execute("DELETE FROM kept WHERE name = ?", [name])?;
    let at = at.to_string();
    KEPT.insert(&tx, &[name, &at, content].map(|t| ValueRef::Text(t.as_bytes())))?;
    tx.commit()?;
    Ok(())
}

/// What is kept under a name, and since when.
pub(super) fn kept(conn: &Connection, name: &str) -> Result<Option<(Timestamp, String)>, Fault> {
    let mut statement = conn.prepare_cached(&format!("{} WHERE name = ?", KEPT.select()))?;
    let mut rows = statement.query([name])?;
    let Some(row) = rows.next()? else { return Ok(None) };
    KEPT.verify(row)?;
    Ok(Some((super::history::time(&row.get::<_, String>("kept_at")?)?, row.get("content")?)))
}
