//! From a baker's file to checked batches. Intake reads and judges; it neither prints nor stores.
//!
//! - [`source`] where the bytes come from, unpacked; `encoding`, `delimited`, `json_lines`, `workbook`, `packed` and
//!   `chains` turn
//!   them into rows of cells (`cell`)
//! - `layout` finds the row of headings; `table` hands over the rows below it
//! - `spellings` (with `spellings.toml`, the one table of accepted spellings) says what a heading may mean
//! - `survey` looks at all cells of each column once; `decide` settles for the whole column what it is,
//!   in which unit, with which decimal mark and order of day and month, or leaves a [`Question`]
//! - [`Understood`] is what came of that, to be told, and to be kept as a [`ColumnMap`] (`map_text` writes it)
//! - `value`, `row` and `batch_row` read one row at a time and note everything that is wrong with it;
//!   a good row is handed on, a bad one is set aside whole (`set_aside`); none is dropped in silence
//! - [`typed()`] reads one value that is typed by hand
//!
//! [`Opened::for_each_row`] does this in constant memory, [`read_path`] and [`read_bytes`] collect the answer.

mod batch_row;
mod cell;
mod chains;
mod column_map;
mod dates;
mod decide;
mod delimited;
mod encoding;
mod error;
mod headings;
mod identity;
mod json_lines;
mod layout;
mod map_text;
mod number;
mod opened;
mod packed;
mod question;
mod row;
mod set_aside;
pub mod source;
mod spellings;
mod survey;
mod table;
mod typed;
mod understood;
mod units;
mod usual;
mod value;
mod way;
mod workbook;

use std::collections::BTreeMap;
use std::path::Path;

pub use column_map::{ColumnMap, IGNORE, Mapped, UNSAID};
pub use dates::DateOrder;
pub use error::IntakeError;
pub use headings::{TableKind, Target};
pub use number::Decimal;
pub use opened::{Checked, Opened};
pub use question::Question;
pub use row::{Entry, Row, RowProblem, SetAside};
pub use set_aside::{SetAsideWriter, guarded, unguarded, write_set_aside};
pub use source::Source;
pub use table::EXAMPLE_ID;
pub use typed::{typed, typed_beside, typed_probe, typed_reading};
pub use understood::{LeftOut, PassedOver, Understood, UnderstoodColumn};
pub use units::{Quantity, Unit};
pub use way::{Way, quoted};

use crate::dough::{Batch, Purpose, Reading, SurroundingsPoint};

/// How rows are judged.
#[derive(Debug, Clone)]
pub struct Options {
    /// Whether the rows are records, or plans with blanks.
    pub purpose: Purpose,
}

impl Default for Options {
    fn default() -> Self {
        Self { purpose: Purpose::Record }
    }
}

/// What is known of a sheet beforehand.
#[derive(Debug, Clone, Default)]
pub struct Known {
    /// What the baker says about the sheet now: a mapping file, or single options.
    pub map: ColumnMap,
    /// What was settled about sheets before, by their shape ([`Understood::shape`]).
    pub remembered: BTreeMap<String, ColumnMap>,
}

/// All of one table.
#[derive(Debug)]
pub struct Intake {
    /// The file's name.
    pub file: String,
    /// What the sheet was taken for.
    pub understood: Understood,
    /// Good rows, when it is a table of batches.
    pub batches: Vec<Row<Batch>>,
    /// Good rows, when it is a table of readings.
    pub readings: Vec<Row<Reading>>,
    /// Good rows, when it is a table of surroundings.
    pub surroundings: Vec<Row<SurroundingsPoint>>,
    /// Rows that repeat an earlier one word for word: (row, first).
    pub repeated: Vec<(u64, u64)>,
    /// Bad rows.
    pub set_aside: Vec<SetAside>,
    /// The headings of the sheet, for writing bad rows out again.
    pub headings: Vec<String>,
}

impl Intake {
    /// Everything that is wrong with the bad rows, in the order of the sheet.
    pub fn problems(&self) -> impl Iterator<Item = &RowProblem> {
        self.set_aside.iter().flat_map(|row| &row.problems)
    }
}

/// Reads the one table of a file on disk.
///
/// # Errors
/// When the file as a whole cannot be taken in; bad rows are no error.
pub fn read_path(path: &Path, options: &Options) -> Result<Intake, IntakeError> {
    Opened::new(Source::path(path))?.read(options)
}

/// Reads the one table of bytes at hand, such as all of standard input, under a name for messages.
///
/// # Errors
/// When the bytes as a whole cannot be taken in; bad rows are no error.
pub fn read_bytes(name: &str, bytes: &[u8], options: &Options) -> Result<Intake, IntakeError> {
    Opened::new(Source::bytes(name, bytes))?.read(options)
}
