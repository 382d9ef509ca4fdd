//! Which rows are the same batch: a name that occurs twice in a file, and names for batches without one.

use std::collections::HashMap;
use std::hash::{DefaultHasher, Hash, Hasher};

use super::Checked;
use super::delimited::TextRow;
use super::error::IntakeError;
use super::headings::{TableKind, Target};
use super::row::{Entry, RowReader, SetAside, shown};
use super::table::Table;
use super::understood::Understood;
use crate::dough::{Batch, Column};

/// What is known of one name.
#[derive(Debug, Clone, Copy)]
struct Seen {
    first_row: u64,
    last_row: u64,
    content: u64,
    conflicting: bool,
}

/// The names of a file's batches, as numbers made from kitchen and name.
#[derive(Debug, Default)]
pub struct Identities {
    id_place: Option<usize>,
    kitchen_place: Option<usize>,
    seen: HashMap<u64, Seen>,
    made: HashMap<u64, u32>,
}

impl Identities {
    /// Looks through a table of batches for names that occur more than once.
    ///
    /// # Errors
    /// When reading fails.
    pub fn of(table: &Table, understood: &Understood) -> Result<Self, IntakeError> {
        let place = |column| {
            let target = Target::Column(column);
            understood.columns.iter().find(|c| c.target == target).map(|c| c.place)
        };
        let mut found = Self::default();
        if understood.kind != TableKind::Batches {
            return Ok(found);
        }
        found.id_place = place(Column::batch_id);
        found.kitchen_place = place(Column::kitchen);
        table.visit::<IntakeError>(|row, cells| {
            if let Some(key) = found.key(cells) {
                let content = content_of(cells);
                let new = Seen { first_row: row, last_row: row, content, conflicting: false };
                let seen = found.seen.entry(key).or_insert(new);
                seen.conflicting |= seen.content != content;
                seen.last_row = row;
            }
            Ok(())
        })?;
        Ok(found)
    }

    fn key(&self, cells: TextRow<'_>) -> Option<u64> {
        let id = cells.cell(self.id_place?);
        if id.is_blank() {
            return None;
        }
        let kitchen = self.kitchen_place.map(|i| cells.cell(i).shown()).unwrap_or_default();
        Some(key_of(&kitchen, &id.shown()))
    }

    /// Says of a row whose name occurs twice what becomes of it; `None` when it is to be read.
    pub fn judge(&self, reader: &RowReader<'_>, row: u64, cells: TextRow<'_>) -> Option<Checked> {
        let seen = self.seen.get(&self.key(cells)?)?;
        if seen.conflicting {
            let other = if row == seen.first_row { seen.last_row } else { seen.first_row };
            let id = self.id_place.map(|i| cells.cell(i).shown()).unwrap_or_default();
            let message =
                format!("row {other} has the same batch_id and says otherwise: keep one, or name one anew");
            let problems = vec![reader.problem(row, Column::batch_id, &id, message)];
            return Some(Checked::Bad(SetAside { row, cells: shown(cells), problems }));
        }
        (row != seen.first_row).then_some(Checked::Repeated { row, first: seen.first_row })
    }

    /// Names a batch without a name by its date and a counter, in the order of the sheet.
    pub fn name(&mut self, entry: &mut Entry) {
        let Entry::Batch(batch) = entry else { return };
        if batch.batch_id.is_none() {
            batch.batch_id = self.made_name(batch);
        }
    }

    fn made_name(&mut self, batch: &Batch) -> Option<String> {
        let date = batch.date?.date();
        let kitchen = batch.kitchen_name();
        let counter = self.made.entry(key_of(kitchen, &date.to_string())).or_default();
        loop {
            *counter += 1;
            let name = format!("{date}-{counter}");
            if !self.seen.contains_key(&key_of(kitchen, &name)) {
                return Some(name);
            }
        }
    }
}

fn key_of(kitchen: &str, name: &str) -> u64 {
    let mut hasher = DefaultHasher::new();
    let kitchen = if kitchen.is_empty() { Batch::DEFAULT_KITCHEN } else { kitchen };
    (kitchen, name).hash(&mut hasher);
    hasher.finish()
}

fn content_of(cells: TextRow<'_>) -> u64 {
    let mut hasher = DefaultHasher::new();
    for i in 0..cells.len() {
        cells.cell(i).shown().hash(&mut hasher);
    }
    hasher.finish()
}
