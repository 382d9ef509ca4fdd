//! Workbooks: XLSX, XLS and ODS, as rows of cells. Formulas give the value that the workbook stores for
//! them; a formula that was never calculated is said to be one.

use std::collections::HashMap;
use std::io::{Cursor, Read, Seek};

use calamine::{Data, DataRef, Dimensions, ExcelDateTime, Ods, Reader, SheetVisible, Xls, Xlsx};
use jiff::civil::Date;

use super::cell::Stored;
use super::chains::check_chains;
use super::error::IntakeError;
use super::packed;
use super::source::Source;
use super::spellings::Spellings;
use super::units::{Unit, tidy};
use crate::dough::When;

/// Cells of one workbook beyond which it is not read: some 200 MB of them.
const MOST_CELLS: usize = 6_000_000;
/// Text that stands for a formula without a stored value.
pub const NOT_CALCULATED: &str = "a formula that was never calculated";

/// One sheet of a workbook.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// Its name.
    pub name: String,
    /// Rows that are not blank, with their numbers.
    pub rows: Vec<(u64, Vec<Stored>)>,
    /// Cells that are merged into one, where the format tells.
    pub merged: Vec<Dimensions>,
}

/// What kind of workbook the bytes begin like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// XLSX or ODS, which are both zip files.
    Packed,
    /// The old binary format.
    Xls,
}

/// Reads the visible sheets of a workbook, or the one that is named.
///
/// # Errors
/// When it is damaged, too large, protected by a password, or has no such sheet.
pub fn read(source: &Source, format: Format, wanted: Option<&str>) -> Result<Vec<Sheet>, IntakeError> {
    let bytes = packed::all_bytes(source)?;
    let damaged = |what: String| IntakeError::NotATable { file: source.name().into(), found: what };
    match format {
        Format::Xls => {
            check_chains(source, &bytes)?;
            let mut book = Xls::new(Cursor::new(bytes)).map_err(|e| damaged(e.to_string()))?;
            let mut budget = Budget::new(source);
            let names = chosen(&book, source, wanted)?;
            names
                .into_iter()
                .map(|name| {
                    let range = book.worksheet_range(&name).map_err(|e| damaged(e.to_string()))?;
                    let merged = book.merge_cells_by_sheet_name(&name).unwrap_or_default();
                    Ok(Sheet { rows: budget.rows_of(&range)?, name, merged })
                })
                .collect()
        }
        Format::Packed if packed::is_ods(&bytes) => {
            packed::check_sizes(source, &bytes)?;
            packed::check_ods_extent(source, &bytes, MOST_CELLS)?;
            let mut book = Ods::new(Cursor::new(bytes)).map_err(|e| damaged(e.to_string()))?;
            let mut budget = Budget::new(source);
            let names = chosen(&book, source, wanted)?;
            names
                .into_iter()
                .map(|name| {
                    let range = book.worksheet_range(&name).map_err(|e| damaged(e.to_string()))?;
                    Ok(Sheet { rows: budget.rows_of(&range)?, name, merged: Vec::new() })
                })
                .collect()
        }
        Format::Packed => {
            packed::check_sizes(source, &bytes)?;
            let mut book = Xlsx::new(Cursor::new(bytes)).map_err(|e| damaged(e.to_string()))?;
            let mut budget = Budget::new(source);
            let names = chosen(&book, source, wanted)?;
            names
                .into_iter()
                .map(|name| {
                    let rows = xlsx_rows(&mut book, &name, &mut budget)?;
                    let merged = book.merge_cells_by_sheet_name(&name).unwrap_or_default();
                    Ok(Sheet { rows, name, merged })
                })
                .collect()
        }
    }
}

fn chosen<RS: Read + Seek, B: Reader<RS>>(
    book: &B,
    source: &Source,
    wanted: Option<&str>,
) -> Result<Vec<String>, IntakeError> {
    let sheets = book.sheets_metadata();
    let Some(wanted) = wanted else {
        return Ok(sheets
            .iter()
            .filter(|s| s.visible == SheetVisible::Visible)
            .map(|s| s.name.clone())
            .collect());
    };
    match sheets.iter().find(|s| s.name.eq_ignore_ascii_case(wanted)) {
        Some(sheet) => Ok(vec![sheet.name.clone()]),
        None => Err(IntakeError::NoSuchSheet {
            file: source.name().into(),
            wanted: wanted.to_string(),
            sheets: sheets.iter().map(|s| s.name.clone()).collect(),
        }),
    }
}

/// How many cells may still be kept.
pub(super) struct Budget<'a> {
    source: &'a Source,
    left: usize,
}

impl<'a> Budget<'a> {
    /// For one file.
    pub fn new(source: &'a Source) -> Self {
        Self { source, left: MOST_CELLS }
    }

    /// Takes so many.
    ///
    /// # Errors
    /// When fewer are left: the file is too large.
    pub fn spend(&mut self, cells: usize) -> Result<(), IntakeError> {
        self.left = self.left.checked_sub(cells).ok_or_else(|| IntakeError::TooLarge {
            file: self.source.name().into(),
            what: "the table".into(),
            most: format!("{MOST_CELLS} cells"),
            remedy: "save it as CSV, which may be as large as you like",
        })?;
        Ok(())
    }

    fn rows_of(&mut self, range: &calamine::Range<Data>) -> Result<Vec<(u64, Vec<Stored>)>, IntakeError> {
        let Some((first_row, first_column)) = range.start() else { return Ok(Vec::new()) };
        let mut rows = Vec::new();
        for (i, cells) in range.rows().enumerate() {
            if cells.iter().all(|c| *c == Data::Empty) {
                continue;
            }
            self.spend(first_column as usize + cells.len())?;
            let mut row = vec![Stored::Blank; first_column as usize];
            row.extend(cells.iter().map(stored));
            rows.push((u64::from(first_row) + i as u64 + 1, row));
        }
        Ok(rows)
    }
}

/// Streams an XLSX sheet, so that one far-off cell does not make a table of the whole space before it.
fn xlsx_rows<RS: Read + Seek>(
    book: &mut Xlsx<RS>,
    name: &str,
    budget: &mut Budget<'_>,
) -> Result<Vec<(u64, Vec<Stored>)>, IntakeError> {
    let source = budget.source;
    let damaged = |e: calamine::XlsxError| IntakeError::NotATable {
        file: source.name().into(),
        found: format!("sheet '{name}': {e}"),
    };
    let mut rows: Vec<(u64, Vec<Stored>)> = Vec::new();
    let mut at: HashMap<u32, usize> = HashMap::new();
    let mut cells = book.worksheet_cells_reader(name).map_err(damaged)?;
    let formats: Vec<Option<Unit>> = cells
        .styles()
        .iter()
        .map(|s| s.number_format.as_ref().and_then(|f| unit_of_format(&f.format_code)))
        .collect();
    while let Some((cell, style)) = cells.next_cell_with_style_id().map_err(damaged)? {
        let (row, column) = cell.get_position();
        let value = stored_ref(cell.get_value(), formats.get(style).copied().flatten());
        if value != Stored::Blank {
            let i = *at.entry(row).or_insert_with(|| {
                rows.push((u64::from(row) + 1, Vec::new()));
                rows.len() - 1
            });
            put(&mut rows[i].1, column as usize, value, budget)?;
        }
    }
    drop(cells);
    let mut cells = book.worksheet_cells_reader(name).map_err(damaged)?;
    while let Some(cell) = cells.next_formula().map_err(damaged)? {
        let (row, column) = cell.get_position();
        if cell.get_value().is_empty() {
            continue;
        }
        let i = *at.entry(row).or_insert_with(|| {
            rows.push((u64::from(row) + 1, Vec::new()));
            rows.len() - 1
        });
        if rows[i].1.get(column as usize).is_none_or(|c| *c == Stored::Blank) {
            put(&mut rows[i].1, column as usize, Stored::Error(NOT_CALCULATED.into()), budget)?;
        }
    }
    rows.sort_by_key(|(row, _)| *row);
    Ok(rows)
}

fn put(
    row: &mut Vec<Stored>,
    column: usize,
    value: Stored,
    budget: &mut Budget<'_>,
) -> Result<(), IntakeError> {
    if column >= row.len() {
        budget.spend(column + 1 - row.len())?;
        row.resize(column + 1, Stored::Blank);
    }
    row[column] = value;
    Ok(())
}

fn stored(cell: &Data) -> Stored {
    match cell {
        Data::Empty => Stored::Blank,
        Data::Int(x) => Stored::Number(*x as f64),
        Data::Float(x) => Stored::Number(*x),
        Data::String(text) => text_or_blank(text),
        Data::Bool(yes) => Stored::Text(if *yes { "TRUE".into() } else { "FALSE".into() }),
        Data::DateTime(at) => moment(at),
        Data::DateTimeIso(text) => {
            text.get(..19).unwrap_or(text).parse().map_or_else(|_| text_or_blank(text), Stored::Date)
        }
        Data::DurationIso(text) => iso_hours(text).map_or_else(|| text_or_blank(text), Stored::Span),
        Data::Error(error) => Stored::Error(error.to_string().into()),
    }
}

fn stored_ref(cell: &DataRef<'_>, unit: Option<Unit>) -> Stored {
    let with_unit = |x: f64| match unit {
        Some(Unit::Percent) => Stored::Measured(tidy(x * 100.0), Unit::Percent),
        Some(unit) => Stored::Measured(x, unit),
        None => Stored::Number(x),
    };
    match cell {
        DataRef::Empty => Stored::Blank,
        DataRef::Int(x) => with_unit(*x as f64),
        DataRef::Float(x) => with_unit(*x),
        DataRef::String(text) => text_or_blank(text),
        DataRef::SharedString(text) => text_or_blank(text),
        DataRef::DateTime(at) => moment(at),
        other => stored(&other.clone().into()),
    }
}

/// A cell of text, without the spaces around it.
pub(super) fn text_or_blank(text: &str) -> Stored {
    match super::cell::trim(text) {
        "" => Stored::Blank,
        text => Stored::Text(text.into()),
    }
}

/// A date, a date and time, or (below one day, or shown as a span) a span of time.
fn moment(at: &ExcelDateTime) -> Stored {
    let serial = at.as_f64();
    if at.is_duration() || (0.0..1.0).contains(&serial) {
        return Stored::Span(tidy(serial * 24.0));
    }
    let (year, month, day, hour, minute, second, milli) = at.to_ymd_hms_milli();
    let civil = Date::new(year as i16, month as i8, day as i8).ok();
    let Some(civil) = civil.filter(|_| serial > 0.0) else { return Stored::Number(serial) };
    if serial.fract() == 0.0 {
        return Stored::Date(When::on(civil));
    }
    let exact = civil.at(hour as i8, minute as i8, second as i8, i32::from(milli) * 1_000_000);
    let to_second = jiff::civil::DateTimeRound::new().smallest(jiff::Unit::Second);
    Stored::Date(When::at(exact.round(to_second).unwrap_or(exact)))
}

/// Hours of an ISO 8601 span such as PT01H30M00S.
fn iso_hours(text: &str) -> Option<f64> {
    let span: jiff::SignedDuration = text.parse().ok()?;
    Some(tidy(span.as_secs_f64() / 3600.0))
}

/// The unit that the format of a cell shows: a percent sign, or a unit spelled out in quotes.
fn unit_of_format(code: &str) -> Option<Unit> {
    let code = code.split(';').next()?;
    let mut quoted = String::new();
    let mut plain = String::new();
    for (i, part) in code.split('"').enumerate() {
        if i % 2 == 1 { quoted.push_str(part) } else { plain.push_str(part) }
    }
    match plain.contains('%') {
        true => Some(Unit::Percent),
        false if quoted.trim().is_empty() => None,
        false => Spellings::get().unit(quoted.trim()).filter(|u| *u != Unit::Percent),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formats_that_show_a_unit() {
        assert_eq!(unit_of_format("0.0%"), Some(Unit::Percent));
        assert_eq!(unit_of_format("0.0\" °C\""), Some(Unit::Celsius));
        assert_eq!(unit_of_format("#,##0 \"g\""), Some(Unit::Gram));
        assert_eq!(unit_of_format("0.00"), None);
        assert_eq!(unit_of_format("0\" loaves\""), None);
    }

    #[test]
    fn both_epochs_and_spans() {
        use calamine::ExcelDateTimeType::{DateTime, TimeDelta};
        let at = |serial, kind, since_1904| moment(&ExcelDateTime::new(serial, kind, since_1904));
        // 2026-03-01 is day 46082 since 1899-12-30 and day 44620 since 1904-01-01 (counted by hand: 1462 apart).
        let date = Stored::Date("2026-03-01".parse().unwrap());
        assert_eq!(at(46082.0, DateTime, false), date);
        assert_eq!(at(44620.0, DateTime, true), date);
        assert_eq!(
            at(46082.354166666664, DateTime, false),
            Stored::Date("2026-03-01T08:30".parse().unwrap())
        );
        assert_eq!(at(0.0625, DateTime, false), Stored::Span(1.5));
        assert_eq!(at(1.5, TimeDelta, false), Stored::Span(36.0));
    }
}
