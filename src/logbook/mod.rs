//! The logbook: one SQLite file that keeps a baker's batches, every change to them, and what was made
//! of them.
//!
//! - [`open`] opening: what is refused, what is checked, how the file is kept safe
//! - [`schema`] the tables, and how an older file is brought up to date
//! - [`cells`] a batch as a row and back, and the seal that shows a damaged row
//! - [`import`] batches, readings and logs going in, all or nothing
//! - [`ids`] which batch a row without an id is
//! - [`logs`] readings and temperature logs going in
//! - [`read`] what is in it
//! - [`history`] former values, and taking the last import back
//! - [`fits`], [`plans`], [`maps`] what the workbench keeps for itself
//! - [`error`] what can go wrong, with the way out
//!
//! A batch is known by its kitchen and its `batch_id`; in the file both are always filled.

use std::path::{Path, PathBuf};

use rusqlite::Connection;

pub mod error;
pub mod fits;
pub mod history;
pub mod import;
pub mod maps;
pub mod open;
pub mod plans;
pub mod read;

mod cells;
mod ids;
mod logs;
mod schema;

pub use error::LogbookError;
pub use fits::FitRecord;
pub use history::{ImportRecord, Undone, Version};
pub use import::{Change, ImportSummary, Importer, Pushed, Source};
pub use plans::PlanRecord;

/// An open logbook. One process writes at a time; any number may read meanwhile.
#[derive(Debug)]
pub struct Logbook {
    conn: Connection,
    path: PathBuf,
}

impl Logbook {
    /// Where the file is.
    pub fn path(&self) -> &Path {
        &self.path
    }
}
