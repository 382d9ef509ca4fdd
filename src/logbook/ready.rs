//! A batch made ready for its row, its cells and their seal. That takes no logbook, so that one thread can make
//! batches ready while another writes those before them.

use rusqlite::Statement;

use super::cells::{Cell, value_ref};
use super::error::{Fault, LogbookError};
use super::seal::Seal;
use crate::dough::{Batch, Column, Value};

/// A batch with its cells as they will stand in the logbook.
#[derive(Debug, Clone)]
pub struct Ready {
    pub(super) batch: Batch,
    /// Cells that are not blank, the id apart, each with its place in [`Column::ALL`]; the kitchen is always there.
    cells: Vec<(usize, Value)>,
    /// The part of the seal that does not depend on the id.
    pub(super) content: i64,
}

impl Ready {
    /// Makes a batch ready.
    ///
    /// # Errors
    /// When it holds a number that is not finite.
    pub fn new(batch: Batch) -> Result<Self, LogbookError> {
        let mut seal = Seal::new();
        let mut cells = Vec::with_capacity(Column::ALL.len());
        for (i, &column) in Column::ALL.iter().enumerate() {
            let value = match column {
                Column::batch_id => None,
                Column::kitchen => Some(Value::Text(batch.kitchen_name().into())),
                _ => batch.get(column),
            };
            let Some(value) = value else { continue };
            if let Value::Number(x) = value
                && !x.is_finite()
            {
                let batch_id = batch.batch_id.unwrap_or_default();
                return Err(LogbookError::NotANumber { batch_id, column, value: x });
            }
            seal.cell(column.name(), value_ref(Some(&value)));
            cells.push((i, value));
        }
        Ok(Self { content: seal.done(), batch, cells })
    }

    /// The batch, to be looked at.
    pub fn batch(&self) -> &Batch {
        &self.batch
    }

    /// The batch.
    pub fn into_batch(self) -> Batch {
        self.batch
    }
}

/// A batch under the id that it has in the logbook.
#[derive(Debug, Clone, Copy)]
pub(super) struct Keyed<'a> {
    /// The batch, made ready to be kept.
    pub ready: &'a Ready,
    /// Its id, unique in its kitchen.
    pub id: &'a str,
}

impl Keyed<'_> {
    /// The value in a column; kitchen and id are always there.
    pub fn get(&self, column: Column) -> Option<Value> {
        match column {
            Column::batch_id => Some(Value::Text(self.id.into())),
            Column::kitchen => Some(Value::Text(self.ready.batch.kitchen_name().into())),
            _ => self.ready.batch.get(column),
        }
    }

    /// Binds all columns, from the first parameter on.
    ///
    /// # Errors
    /// When the statement has fewer parameters than there are columns.
    pub fn bind(&self, statement: &mut Statement<'_>) -> Result<(), Fault> {
        statement.clear_bindings();
        for (i, value) in &self.ready.cells {
            statement.raw_bind_parameter(i + 1, Cell(value_ref(Some(value))))?;
        }
        statement.raw_bind_parameter(Column::batch_id as usize + 1, self.id)?;
        Ok(())
    }
}
