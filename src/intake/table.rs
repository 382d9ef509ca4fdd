//! A table found in a file: where its headings are, and its rows one after another.

use std::ops::ControlFlow;

use super::cell::{Cell, trim};
use super::delimited::{TextRow, TextRows};
use super::encoding::TextEncoding;
use super::error::IntakeError;
use super::headings::Target;
use super::source::Source;

/// Rows that are looked through for the headings and the separator.
const LOOKED_THROUGH: usize = 60;
/// What may stand between the cells of a text table.
const DELIMITERS: [u8; 3] = *b",;\t";

/// A table, ready to be read any number of times.
#[derive(Debug, Clone)]
pub struct Table {
    source: Source,
    encoding: TextEncoding,
    delimiter: u8,
    /// The row of headings, as a spreadsheet numbers it.
    pub heading_row: u64,
    /// The headings, trimmed; blank where a column has none.
    pub headings: Vec<String>,
}

impl Table {
    /// Finds the table in a file.
    ///
    /// # Errors
    /// When the file cannot be read, or holds no table with known headings.
    pub fn find(source: Source) -> Result<Self, IntakeError> {
        refuse_other_formats(&source)?;
        let encoding = TextEncoding::find(&source)?;
        let mut best: Option<(usize, Self)> = None;
        for delimiter in DELIMITERS {
            let mut table =
                Self { source: source.clone(), encoding, delimiter, heading_row: 0, headings: vec![] };
            let known = table.find_headings()?;
            if best.as_ref().is_none_or(|(most, _)| known > *most) {
                best = Some((known, table));
            }
        }
        match best {
            Some((known, table)) if known >= 2 => Ok(table),
            _ => Err(no_headings(source, encoding)?),
        }
    }

    /// Sets the row with the most known headings, and says how many those are.
    fn find_headings(&mut self) -> Result<usize, IntakeError> {
        let mut most = 0;
        let mut looked = 0;
        let mut best = (0, Vec::new());
        self.rows::<IntakeError>(|number, cells| {
            let headings: Vec<String> =
                (0..cells.len()).map(|i| cells.cell(i).shown().into_owned()).collect();
            let known = headings.iter().filter(|h| Target::of_heading(h).is_some()).count();
            if known > most {
                most = known;
                best = (number, headings);
            }
            looked += 1;
            Ok(if looked < LOOKED_THROUGH { ControlFlow::Continue(()) } else { ControlFlow::Break(()) })
        })?;
        (self.heading_row, self.headings) = best;
        Ok(most)
    }

    /// The file's name.
    pub fn file(&self) -> &str {
        self.source.name()
    }

    /// Hands over every row below the headings that is not blank, with its number.
    ///
    /// # Errors
    /// When reading fails, and whatever `take` fails with.
    pub fn visit<E: From<IntakeError>>(
        &self,
        mut take: impl FnMut(u64, TextRow<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        self.rows(|number, cells| {
            if number > self.heading_row && (0..cells.len()).any(|i| !cells.cell(i).is_blank()) {
                take(number, cells)?;
            }
            Ok(ControlFlow::Continue(()))
        })
    }

    fn rows<E: From<IntakeError>>(
        &self,
        mut take: impl FnMut(u64, TextRow<'_>) -> Result<ControlFlow<()>, E>,
    ) -> Result<(), E> {
        let mut rows = TextRows::new(&self.source, self.encoding.open(&self.source)?, self.delimiter);
        while let Some((number, cells)) = rows.next_row()? {
            if take(number, cells)?.is_break() {
                break;
            }
        }
        Ok(())
    }
}

fn refuse_other_formats(source: &Source) -> Result<(), IntakeError> {
    let mut reader = source.open()?;
    let start = reader.fill_buf().map_err(|e| source.unreadable(e))?;
    let found = match start {
        [b'P', b'K', 3, 4, ..] => "it is a workbook or another packed file",
        [0xd0, 0xcf, 0x11, 0xe0, ..] => "it is an old workbook",
        [b'%', b'P', b'D', b'F', ..] => "it is a PDF page",
        _ => return Ok(()),
    };
    Err(IntakeError::NotATable { file: source.name().into(), found: found.into() })
}

fn no_headings(source: Source, encoding: TextEncoding) -> Result<IntakeError, IntakeError> {
    let mut rows = TextRows::new(&source, encoding.open(&source)?, b'\n');
    let mut first = None;
    while let Some((row, cells)) = rows.next_row()? {
        let text = cells.cell(0);
        if !matches!(text, Cell::Blank) {
            first = Some((row, trim(&text.shown()).chars().take(40).collect()));
            break;
        }
    }
    let file = source.name().to_string();
    Ok(match first {
        Some((row, begins)) => IntakeError::NoHeadings { file, row, begins },
        None => IntakeError::Empty { file },
    })
}
