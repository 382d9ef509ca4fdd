//! Why a file as a whole could not be taken in, each with its place and the way out.

use std::path::PathBuf;

use super::headings::UnknownHeading;

/// Why a file could not be taken in. A single bad row is no error: it is set aside.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum IntakeError {
    /// There is no such file.
    #[error("{}: there is no such file: check the name and the folder", path.display())]
    Missing {
        /// As it was asked for.
        path: PathBuf,
    },
    /// The file is there, but cannot be read.
    #[error("{file}: it cannot be read ({source}): check that it is a file, and that you may open it")]
    Unreadable {
        /// Which file.
        file: String,
        /// What the system said.
        source: std::io::Error,
    },
    /// There is nothing in it.
    #[error("{file}: it is empty: save the sheet again, with a row of headings and one row a batch")]
    Empty {
        /// Which file.
        file: String,
    },
    /// The bytes are no table.
    #[error("{file}: it is not a table ({found}): save the sheet as CSV or XLSX")]
    NotATable {
        /// Which file.
        file: String,
        /// What it looks like instead.
        found: String,
    },
    /// The letters are in an encoding that is not known.
    #[error("{file}: row {row} is not in {encoding}: save the sheet as CSV UTF-8")]
    Encoding {
        /// Which file.
        file: String,
        /// Row as a spreadsheet numbers it.
        row: u64,
        /// What was tried.
        encoding: &'static str,
    },
    /// A row, a table or an unpacked file beyond all bounds.
    #[error("{file}: {what} is more than {most}: {remedy}")]
    TooLarge {
        /// Which file.
        file: String,
        /// What is too large.
        what: String,
        /// The bound.
        most: String,
        /// The way out.
        remedy: &'static str,
    },
    /// No row looks like headings.
    #[error(
        "{file}: no row of headings was found (row {row} begins '{begins}'): \
         the first row names the columns, such as date, flour_g, water_g, yeast_g, yeast_type"
    )]
    NoHeadings {
        /// Which file.
        file: String,
        /// The first row that is not blank.
        row: u64,
        /// How that row begins.
        begins: String,
    },
    /// Headings that are not known.
    #[error(
        "{file}: row {row} has headings that are not known: {}; rename them, or take the columns out",
        list(headings)
    )]
    UnknownHeadings {
        /// Which file.
        file: String,
        /// The row of headings.
        row: u64,
        /// Each of them, with the nearest known.
        headings: Vec<UnknownHeading>,
    },
    /// Two columns with the same meaning.
    #[error("{file}: columns {first} and {second} are both {column}: keep one of them")]
    Twice {
        /// Which file.
        file: String,
        /// What both mean.
        column: &'static str,
        /// Letter of the first.
        first: String,
        /// Letter of the second.
        second: String,
    },
    /// Columns without which no row can be used.
    #[error("{file}: columns that every row needs are not there: {}; add them to the sheet", columns.join(", "))]
    MissingColumns {
        /// Which file.
        file: String,
        /// Their names.
        columns: Vec<&'static str>,
    },
}

impl IntakeError {
    /// Whether the file's form is wrong (exit code 2), rather than that the work could not be done (1).
    pub fn is_form(&self) -> bool {
        !matches!(self, Self::Missing { .. } | Self::Unreadable { .. })
    }
}

fn list(headings: &[UnknownHeading]) -> String {
    headings.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}
