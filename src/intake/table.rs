//! A table found in a file: its headings, and its rows one after another.

use std::ops::ControlFlow;
use std::sync::Arc;

use super::cell::{Cell, Cells};
use super::column_map::ColumnMap;
use super::delimited::TextRows;
use super::encoding::TextEncoding;
use super::error::IntakeError;
use super::headings::Target;
use super::json_lines;
use super::layout::{Heading, Layout, Merged, Top, is_unit_row};
use super::set_aside::PROBLEM_HEADING;
use super::source::Source;
use super::spellings::Spellings;
use super::workbook::{self, Format, Sheet};
use crate::dough::Column;

/// Rows that are looked through for the headings and the separator.
const LOOKED_THROUGH: usize = 60;
/// What may stand between the cells of a text table.
const DELIMITERS: [u8; 3] = *b",;\t";
/// As many headings must be known for a row to be the row of headings, unless it has only one.
const ENOUGH_KNOWN: usize = 2;
/// An export has all columns; one by an older version may have some fewer.
const ENOUGH_OF_AN_EXPORT: usize = 40;
/// The name of the batch in the example row of a template: the row is passed over as long as it is called so.
pub const EXAMPLE_ID: &str = "example (not imported)";

/// A table, ready to be read any number of times.
#[derive(Debug, Clone)]
pub struct Table {
    source: Source,
    body: Body,
    /// The row of headings, as a spreadsheet numbers it.
    pub heading_row: u64,
    /// The headings, one a column.
    pub headings: Vec<Heading>,
    unit_row: Option<u64>,
}

#[derive(Debug, Clone)]
enum Body {
    Text { encoding: TextEncoding, delimiter: u8 },
    Sheet(Arc<Sheet>),
    Lines(Arc<Sheet>),
}

/// What a row below the headings is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    /// It holds a batch, a reading or a point.
    Data,
    /// The headings, or the units, once more.
    Heading,
    /// A total or a mean at the foot.
    Foot,
    /// The example of a template.
    Example,
}

impl Table {
    /// Finds the tables in a file: one in a text file, any number in a workbook.
    ///
    /// # Errors
    /// When the file cannot be read, or holds no table with known headings.
    pub fn find_all(
        source: &Source,
        sheet: Option<&str>,
        maps: &[&ColumnMap],
    ) -> Result<Vec<Self>, IntakeError> {
        let tables = match workbook_format(source)? {
            Some(format) => (workbook::read(source, format, sheet)?.into_iter())
                .map(|sheet| Self::in_body(source, Body::Sheet(Arc::new(sheet)), maps))
                .collect::<Result<Vec<_>, _>>()?,
            None if json_lines::is_json_lines(source)? => (json_lines::read(source)?.into_iter())
                .map(|sheet| Self::in_body(source, Body::Lines(Arc::new(sheet)), maps))
                .collect::<Result<Vec<_>, _>>()?,
            None => vec![Self::in_text(source, maps)?],
        };
        let found: Vec<Self> = tables
            .iter()
            .filter(|(known, t)| *known >= ENOUGH_KNOWN.min(t.headings.len().max(1)))
            .map(|(_, t)| t.clone())
            .collect();
        match found.is_empty() {
            false => Ok(found),
            true => Err(no_headings(source, tables.first().map(|(_, t)| t))?),
        }
    }

    /// The separator under which the most headings are known is the separator.
    fn in_text(source: &Source, maps: &[&ColumnMap]) -> Result<(usize, Self), IntakeError> {
        let encoding = TextEncoding::find(source)?;
        let mut best: Option<(usize, Self)> = None;
        for delimiter in DELIMITERS {
            let (known, table) = Self::in_body(source, Body::Text { encoding, delimiter }, maps)?;
            if best.as_ref().is_none_or(|(most, _)| known > *most) {
                best = Some((known, table));
            }
        }
        best.ok_or_else(|| IntakeError::Empty { file: source.name().into() })
    }

    fn in_body(source: &Source, body: Body, maps: &[&ColumnMap]) -> Result<(usize, Self), IntakeError> {
        let mut table =
            Self { source: source.clone(), body, heading_row: 0, headings: Vec::new(), unit_row: None };
        let mut rows: Vec<(u64, Vec<String>)> = Vec::new();
        table.rows::<IntakeError>(|number, cells| {
            if !cells.is_blank() {
                rows.push((number, cells.iter().map(|c| c.shown().into_owned()).collect()));
            }
            Ok(if rows.len() < LOOKED_THROUGH { ControlFlow::Continue(()) } else { ControlFlow::Break(()) })
        })?;
        let merged = table.merged();
        let Layout { heading_row, unit_row, headings, known } =
            Top { rows: &rows, merged: &merged, maps }.layout();
        (table.heading_row, table.headings, table.unit_row) = (heading_row, headings, unit_row);
        Ok((known, table))
    }

    /// The file's name.
    pub fn file(&self) -> &str {
        self.source.name()
    }

    /// The sheet's name, in a workbook.
    pub fn sheet(&self) -> Option<&str> {
        match &self.body {
            Body::Sheet(sheet) => Some(&sheet.name),
            Body::Text { .. } | Body::Lines(_) => None,
        }
    }

    /// What the file is, in words.
    pub fn form(&self) -> String {
        match &self.body {
            Body::Sheet(sheet) => format!("sheet '{}' of a workbook", sheet.name),
            Body::Lines(_) => "lines of JSON".into(),
            Body::Text { encoding, delimiter } => {
                let separator = match delimiter {
                    b'\t' => "tabs",
                    b';' => "semicolons",
                    _ => "commas",
                };
                format!("text in {}, cells parted by {separator}", encoding.name())
            }
        }
    }

    /// Whether the cells of a text are parted by commas, so that a bare comma can be no decimal mark.
    pub fn separates_by_comma(&self) -> bool {
        matches!(self.body, Body::Text { delimiter: b',', .. })
    }

    /// What parts the cells of a text; `None` for other tables.
    pub fn delimiter(&self) -> Option<u8> {
        match self.body {
            Body::Text { delimiter, .. } => Some(delimiter),
            Body::Sheet(_) | Body::Lines(_) => None,
        }
    }

    /// Whether it is a table as `export` writes it: lines of JSON, or headings that are all names of the contract, with
    /// the kitchen among them and, in a table of batches, nearly all others. Its numbers are in the contract's units,
    /// however unusual they are.
    pub fn is_as_exported(&self) -> bool {
        let known: Vec<Target> = self.headings.iter().filter_map(|h| Target::of_name(&h.text)).collect();
        let has = |target| known.contains(&target);
        let is_whole = match has(Target::Hours) {
            true => has(Target::Column(Column::batch_id)),
            false => known.len() >= ENOUGH_OF_AN_EXPORT,
        };
        let all = self.headings.iter().filter(|h| h.text != PROBLEM_HEADING).count() == known.len();
        matches!(self.body, Body::Lines(_)) || (all && is_whole && has(Target::Column(Column::kitchen)))
    }

    fn merged(&self) -> Vec<Merged> {
        match &self.body {
            Body::Text { .. } | Body::Lines(_) => Vec::new(),
            Body::Sheet(sheet) => {
                let block = |d: &calamine::Dimensions| Merged {
                    rows: (d.start.0, d.end.0),
                    columns: (d.start.1, d.end.1),
                };
                sheet.merged.iter().map(block).collect()
            }
        }
    }

    /// Hands over every row of data, with its number.
    ///
    /// # Errors
    /// When reading fails, and whatever `take` fails with.
    pub fn visit<E: From<IntakeError>>(
        &self,
        mut take: impl FnMut(u64, Cells<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        self.visit_lines(|number, cells, line| if line == Line::Data { take(number, cells) } else { Ok(()) })
    }

    /// Hands over every row below the headings that is not blank, with its number and what it is.
    ///
    /// # Errors
    /// When reading fails, and whatever `take` fails with.
    pub fn visit_lines<E: From<IntakeError>>(
        &self,
        mut take: impl FnMut(u64, Cells<'_>, Line) -> Result<(), E>,
    ) -> Result<(), E> {
        self.rows(|number, cells| {
            if number > self.heading_row && Some(number) != self.unit_row {
                let first = cells.iter().find(|c| !c.is_blank());
                if let Some(first) = first {
                    take(number, cells, self.line(first, cells))?;
                }
            }
            Ok(ControlFlow::Continue(()))
        })
    }

    fn line(&self, first: Cell<'_>, cells: Cells<'_>) -> Line {
        let Cell::Text(text) = first else { return Line::Data };
        if text == EXAMPLE_ID {
            return Line::Example;
        }
        if text.bytes().any(|b| b.is_ascii_digit()) {
            return Line::Data;
        }
        let is_heading = |(i, cell): (usize, Cell<'_>)| {
            cell.is_blank() || self.headings.get(i).is_some_and(|h| h.text.contains(&*cell.shown()))
        };
        if cells.iter().enumerate().all(is_heading) {
            return Line::Heading;
        }
        if self.unit_row.is_some() && Spellings::get().unit(text).is_some() {
            let shown: Vec<String> = cells.iter().map(|c| c.shown().into_owned()).collect();
            if is_unit_row(&shown) {
                return Line::Heading;
            }
        }
        // Beside a total stand numbers; a batch that is called "Mean" has words, such as its yeast.
        let is_word = |cell: Cell<'_>| match cell {
            Cell::Text(t) => !t.bytes().any(|b| b.is_ascii_digit()) && !Spellings::get().is_foot(t),
            _ => false,
        };
        match Spellings::get().is_foot(text) && !cells.iter().any(is_word) {
            true => Line::Foot,
            false => Line::Data,
        }
    }

    fn rows<E: From<IntakeError>>(
        &self,
        mut take: impl FnMut(u64, Cells<'_>) -> Result<ControlFlow<()>, E>,
    ) -> Result<(), E> {
        match &self.body {
            Body::Sheet(sheet) | Body::Lines(sheet) => {
                for (number, row) in &sheet.rows {
                    if take(*number, Cells::Stored(row))?.is_break() {
                        break;
                    }
                }
            }
            Body::Text { encoding, delimiter } => {
                let mut rows = TextRows::new(&self.source, encoding.open(&self.source)?, *delimiter);
                while let Some((number, row)) = rows.next_row()? {
                    if take(number, Cells::Text(row))?.is_break() {
                        break;
                    }
                }
            }
        }
        Ok(())
    }
}

/// Which kind of workbook a file is, if any; other formats that are no table are refused here.
fn workbook_format(source: &Source) -> Result<Option<Format>, IntakeError> {
    let mut reader = source.open()?;
    let start = reader.fill_buf().map_err(|e| source.unreadable(e))?;
    let other = |found: &str| IntakeError::NotATable { file: source.name().into(), found: found.into() };
    match start {
        [b'P', b'K', 3, 4, ..] => Ok(Some(Format::Packed)),
        [0xd0, 0xcf, 0x11, 0xe0, ..] => Ok(Some(Format::Xls)),
        [b'%', b'P', b'D', b'F', ..] => Err(other("it is a PDF page")),
        [0x89, b'P', b'N', b'G', ..] | [0xff, 0xd8, 0xff, ..] | [b'G', b'I', b'F', b'8', ..] => {
            Err(other("it is a picture"))
        }
        start if start.starts_with(b"SQLite format 3\0") => Err(other("it is a logbook or another database")),
        _ => Ok(None),
    }
}

/// The error for a file without known headings: how its first row begins.
fn no_headings(source: &Source, table: Option<&Table>) -> Result<IntakeError, IntakeError> {
    let mut first = None;
    if let Some(table) = table {
        table.rows::<IntakeError>(|row, cells| {
            let cell = cells.iter().find(|c| !c.is_blank());
            first = cell.map(|c| (row, c.shown().chars().take(40).collect()));
            Ok(if first.is_some() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) })
        })?;
    }
    let file = source.name().to_string();
    Ok(match first {
        Some((row, begins)) => IntakeError::NoHeadings { file, row, begins },
        None => IntakeError::Empty { file },
    })
}
