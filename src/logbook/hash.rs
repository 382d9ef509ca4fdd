//! A hash of the data, to tell whether a fit still speaks of it.

use rusqlite::types::ValueRef;

use super::Logbook;
use super::cells::value_ref;
use super::error::{At, Fault, LogbookError};
use super::logs::{READINGS, SURROUNDINGS};
use super::read::{each_batch, each_log};
use super::seal::Seal;
use crate::dough::Column;

impl Logbook {
    /// A hash (BLAKE3, hexadecimal) over all data of a kitchen that a fit could depend on: every batch
    /// but its notes, every reading, every log. It depends on what is in them only, not on the file, nor
    /// on the order in which they came.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn data_hash(&self, kitchen: &str) -> Result<String, LogbookError> {
        self.hash_of_data(kitchen).at(&self.place)
    }

    fn hash_of_data(&self, kitchen: &str) -> Result<String, Fault> {
        let mut hasher = blake3::Hasher::new();
        each_batch(&self.conn, kitchen, "batch_id", |batch| {
            let mut row = Seal::new();
            for &column in Column::ALL.iter().filter(|&&c| c != Column::notes) {
                row.cell(column.name(), value_ref(batch.get(column).as_ref()));
            }
            hasher.update(row.bytes());
        })?;
        for table in [&READINGS, &SURROUNDINGS] {
            each_log(&self.conn, table, kitchen, |id, cells| {
                let mut row = Seal::new();
                row.cell("batch_id", ValueRef::Text(id.as_bytes()));
                for &name in table.columns.iter().filter(|c| !["batch", "added_by"].contains(c)) {
                    row.cell(name, cells.get_ref(name)?);
                }
                hasher.update(row.bytes());
                Ok(())
            })?;
        }
        Ok(hasher.finalize().to_hex().to_string())
    }
}
