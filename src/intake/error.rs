//! Why a file as a whole could not be taken in, each with its place and the way out.

use std::path::PathBuf;

use super::question::Question;

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
    /// What the sheet leaves open; nothing is read until it is settled.
    #[error("{}", list(file, questions))]
    Open {
        /// Which file.
        file: String,
        /// All that is open.
        questions: Vec<Question>,
    },
    /// A workbook with several tables of one kind.
    #[error("{file}: sheets {} all hold {kind}: choose one with --sheet NAME", sheets.join(", "))]
    WhichSheet {
        /// Which file.
        file: String,
        /// What they hold.
        kind: &'static str,
        /// Their names.
        sheets: Vec<String>,
    },
    /// A sheet that is not in the workbook.
    #[error("{file}: there is no sheet '{wanted}': there are {}", sheets.join(", "))]
    NoSuchSheet {
        /// Which file.
        file: String,
        /// The name that was asked for.
        wanted: String,
        /// The names that there are.
        sheets: Vec<String>,
    },
    /// A mapping file that cannot be applied.
    #[error("{file}: {message}")]
    Map {
        /// Which file.
        file: String,
        /// What is wrong and what would be right.
        message: String,
    },
}

impl IntakeError {
    /// Whether the file's form is wrong (exit code 2), rather than that the work could not be done (1).
    pub fn is_form(&self) -> bool {
        !matches!(self, Self::Missing { .. } | Self::Unreadable { .. })
    }
}

fn list(file: &str, questions: &[Question]) -> String {
    questions.iter().map(|q| format!("{file}, {q}")).collect::<Vec<_>>().join("\n")
}
