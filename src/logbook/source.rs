//! Where an import comes from, and what it did.

use std::collections::BTreeSet;

use jiff::Timestamp;
use schemars::JsonSchema;
use serde::Serialize;

use crate::dough::{Column, Value};

/// Changes that a summary lists; the logbook keeps every one.
pub const CHANGES_LISTED: usize = 10_000;

/// Where rows come from.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// The file's name without its folder, or `record` for what was typed by hand.
    pub name: String,
    /// Whether it is a sheet that is imported again as it grows, so that a row without an id may be an
    /// edited one. A batch typed by hand without an id is always a new one.
    pub is_sheet: bool,
    /// When.
    pub at: Timestamp,
    /// A hash of the file's bytes, when it was a file.
    pub content_hash: Option<String>,
    /// The columns that it has; `None` when it has all. Values in other columns are left as they are.
    pub columns: Option<Vec<Column>>,
    /// The kitchen that its readings and logs belong to; needed only where two kitchens use one batch id.
    pub kitchen: Option<String>,
}

impl Source {
    /// A sheet with all columns, now.
    pub fn new(name: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            is_sheet: true,
            at: Timestamp::now(),
            content_hash: None,
            columns: None,
            kitchen: None,
        }
    }

    /// What is typed by hand, now.
    pub fn by_hand() -> Self {
        Self { is_sheet: false, ..Self::new("record") }
    }
}

/// What became of one row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pushed {
    /// It was not there before.
    Added,
    /// It was there with other values, which are now in the history.
    Changed,
    /// It was there just so.
    Unchanged,
    /// It has no id and may be an edited batch; that is settled when all rows are known.
    Waiting,
    /// The source has had the same batch, or reading, already, with other values: not taken.
    Repeated,
    /// A reading of a batch that is not in the logbook: not taken.
    NoSuchBatch,
    /// A reading of a batch id that several kitchens have: not taken; say which kitchen.
    SeveralKitchens,
}

/// One value that an import changed.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Change {
    /// The kitchen.
    pub kitchen: String,
    /// The batch.
    pub batch_id: String,
    /// The column.
    pub column: Column,
    /// What stood there; `None` for blank.
    pub from: Option<Value>,
    /// What stands there now.
    pub to: Option<Value>,
}

/// A batch that came without an id and was added, though one of the same day is nearly the same.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct LookAlike {
    /// The batch that was added.
    pub added: String,
    /// The one that it looks like.
    pub existing: String,
}

/// How many rows went which way.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// New rows.
    pub added: usize,
    /// Rows with other values than before.
    pub changed: usize,
    /// Rows that were there just so.
    pub unchanged: usize,
}

impl Counts {
    pub(super) fn count(&mut self, pushed: Pushed) {
        match pushed {
            Pushed::Added => self.added += 1,
            Pushed::Changed => self.changed += 1,
            Pushed::Unchanged => self.unchanged += 1,
            Pushed::Waiting | Pushed::Repeated | Pushed::NoSuchBatch | Pushed::SeveralKitchens => (),
        }
    }
}

/// What an import did.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct ImportSummary {
    /// Its number in the logbook; `None` when nothing changed.
    pub import: Option<i64>,
    /// Batches.
    pub batches: Counts,
    /// Readings.
    pub readings: Counts,
    /// Lines of temperature logs.
    pub surroundings: Counts,
    /// The values of batches that changed, the first [`CHANGES_LISTED`] of them.
    pub changes: Vec<Change>,
    /// Changed values beyond those listed.
    pub further_changes: usize,
    /// Ids of batches that stood twice in the source with different values; the first was taken.
    pub repeated: BTreeSet<String>,
    /// Ids that readings or logs name and the logbook has not (or has in several kitchens); not taken.
    pub without_batch: BTreeSet<String>,
    /// Batches without an id that may have been meant as an edit of another.
    pub look_alikes: Vec<LookAlike>,
}
