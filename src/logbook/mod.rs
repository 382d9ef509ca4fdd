//! The logbook: one SQLite file that keeps a baker's batches, every change to them, and what was made
//! of them.
//!
//! - [`open`] opening: what is refused, what is checked, how the file is kept safe
//! - `schema` the tables, and how an older file is brought up to date
//! - [`ready`] a batch made into a row; `cells` a row and back; `seal` what shows a damaged row
//! - [`source`] where an import comes from, and what it did
//! - [`import`] batches going in, all or nothing; `logs` readings and temperature logs with them;
//!   `ids` which batch a row without an id is; `changes` former values
//! - [`read`] what is in it; [`history`] former values, and taking the last import back
//! - [`fits`], [`plans`], [`kept`] what the workbench keeps for itself
//! - [`backup`] a copy by SQLite's own online backup; [`salvage`] what is left of a damaged file
//! - [`watch`] whether others wrote to it meanwhile, and a copy in memory
//! - [`error`] what can go wrong, with the way out
//!
//! A batch is known by its kitchen and its `batch_id`; in the file both are always filled.

use std::path::Path;

use rusqlite::Connection;

pub mod backup;
pub mod error;
pub mod fits;
pub mod history;
pub mod import;
pub mod kept;
pub mod open;
pub mod plans;
pub mod read;
pub mod ready;
pub mod salvage;
pub mod source;
pub mod watch;

mod cells;
mod changes;
mod hash;
mod ids;
mod logs;
mod pages;
mod schema;
mod seal;

pub use error::{Backup, LogbookError};
pub use fits::FitRecord;
pub use history::{ImportRecord, Undone, Version};
pub use import::Importer;
pub use plans::PlanRecord;
pub use ready::Ready;
pub use salvage::Salvaged;
pub use source::{Change, Counts, ImportSummary, LookAlike, Pushed, Source};
pub use watch::Stamp;

use error::Place;

/// An open logbook. One process writes at a time; any number may read meanwhile.
#[derive(Debug)]
pub struct Logbook {
    conn: Connection,
    place: Place,
}

impl Logbook {
    /// Where the file is.
    pub fn path(&self) -> &Path {
        &self.place.path
    }
}
