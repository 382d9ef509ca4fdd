//! From a baker's file to checked batches. Intake reads and judges; it neither prints nor stores.
//!
//! A file is opened ([`Source`]), the table in it found (its encoding, separator and row of headings), the
//! headings made out ([`Understood`]), and then every row is read and checked. A good row is handed on; a
//! bad one is set aside whole with all that is wrong with it; none is dropped in silence.
//! [`for_each_row`] does this in constant memory, [`read_path`] and [`read_bytes`] collect the answer.

mod cell;
mod delimited;
mod encoding;
mod error;
mod headings;
mod identity;
mod row;
mod set_aside;
mod source;
mod table;
mod understood;

use std::path::Path;

pub use cell::Cell;
pub use error::IntakeError;
pub use headings::{TableKind, Target, UnknownHeading};
pub use row::{Entry, Row, RowProblem, SetAside};
pub use set_aside::{guarded, unguarded, write_set_aside};
pub use source::Source;
pub use understood::{Understood, UnderstoodColumn};

use crate::dough::{Batch, Purpose, Reading, SurroundingsPoint};
use identity::Identities;
use row::RowReader;
use table::Table;

/// How a file is to be read.
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

/// One row, judged.
#[derive(Debug)]
pub enum Checked {
    /// It can be used.
    Good(Row<Entry>),
    /// It is set aside, with what is wrong.
    Bad(SetAside),
    /// It says word for word what an earlier row says, and is passed over.
    Repeated {
        /// This row.
        row: u64,
        /// The row that said it first.
        first: u64,
    },
}

/// All of one file.
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
    /// Headings of the sheet, for writing bad rows out again.
    pub headings: Vec<String>,
}

impl Intake {
    /// Everything that is wrong with the bad rows, in the order of the sheet.
    pub fn problems(&self) -> impl Iterator<Item = &RowProblem> {
        self.set_aside.iter().flat_map(|row| &row.problems)
    }
}

/// A file whose table is found and understood, but whose rows are not yet read.
#[derive(Debug)]
pub struct Opened {
    table: Table,
    understood: Understood,
}

impl Opened {
    /// Finds the table in a source and makes out its headings.
    ///
    /// # Errors
    /// When the file cannot be read, holds no table, or its headings cannot be made out.
    pub fn new(source: Source) -> Result<Self, IntakeError> {
        let table = Table::find(source)?;
        let understood = Understood::of(&table)?;
        Ok(Self { table, understood })
    }

    /// What the sheet was taken for.
    pub fn understood(&self) -> &Understood {
        &self.understood
    }

    /// The headings of the sheet.
    pub fn headings(&self) -> &[String] {
        &self.table.headings
    }

    /// Reads and checks every row, in constant memory apart from one number a batch.
    ///
    /// # Errors
    /// When reading fails half way, and whatever `take` fails with.
    pub fn for_each_row<E: From<IntakeError>>(
        &self,
        options: &Options,
        mut take: impl FnMut(Checked) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut identities = Identities::of(&self.table, &self.understood)?;
        let reader = RowReader::new(self.table.file(), &self.understood, options.purpose);
        self.table.visit(|row, cells| {
            if let Some(checked) = identities.judge(&reader, row, cells) {
                return take(checked);
            }
            take(match reader.read(row, cells) {
                Ok(mut good) => {
                    identities.name(&mut good.value);
                    Checked::Good(good)
                }
                Err(bad) => Checked::Bad(bad),
            })
        })
    }

    /// Reads everything at once.
    ///
    /// # Errors
    /// When reading fails half way.
    pub fn read(&self, options: &Options) -> Result<Intake, IntakeError> {
        let mut intake = Intake {
            file: self.table.file().to_string(),
            understood: self.understood.clone(),
            batches: Vec::new(),
            readings: Vec::new(),
            surroundings: Vec::new(),
            repeated: Vec::new(),
            set_aside: Vec::new(),
            headings: self.table.headings.clone(),
        };
        self.for_each_row::<IntakeError>(options, |checked| {
            match checked {
                Checked::Bad(bad) => intake.set_aside.push(bad),
                Checked::Repeated { row, first } => intake.repeated.push((row, first)),
                Checked::Good(Row { row, value }) => match value {
                    Entry::Batch(value) => intake.batches.push(Row { row, value: *value }),
                    Entry::Reading(value) => intake.readings.push(Row { row, value }),
                    Entry::Surroundings(value) => intake.surroundings.push(Row { row, value }),
                },
            }
            Ok(())
        })?;
        Ok(intake)
    }
}

/// Reads a file on disk.
///
/// # Errors
/// When the file as a whole cannot be taken in; bad rows are no error.
pub fn read_path(path: &Path, options: &Options) -> Result<Intake, IntakeError> {
    Opened::new(Source::path(path))?.read(options)
}

/// Reads bytes at hand, such as all of standard input, under a name for messages.
///
/// # Errors
/// When the bytes as a whole cannot be taken in; bad rows are no error.
pub fn read_bytes(name: &str, bytes: &[u8], options: &Options) -> Result<Intake, IntakeError> {
    Opened::new(Source::bytes(name, bytes))?.read(options)
}
