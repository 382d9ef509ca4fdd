//! Tables as a workbook, one sheet a table. A whole day is a date of the workbook; a date with its time of day is
//! text, since a workbook keeps time in fractions of a day, in which a midnight is no time at all.

use jiff::civil::{Date, date};
use rust_xlsxwriter::{Format, Workbook, Worksheet, XlsxError};

use crate::dough::{Value, When};

use super::tables::{Table, Tables};

/// The day before which spreadsheets disagree on the number of a day.
const FIRST_SAFE_DAY: Date = date(1900, 3, 1);
/// The day that a workbook counts from.
const DAY_ZERO: Date = date(1899, 12, 30);

/// The bytes of a workbook with a sheet for each table that has rows.
///
/// # Errors
/// When a table is too long for a sheet (1,048,576 rows), or a text for a cell (32,767 letters).
pub fn bytes(tables: &Tables) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let [batches, others @ ..] = tables.all();
    for table in [batches].into_iter().chain(others.into_iter().filter(|t| !t.rows.is_empty())) {
        fill(book.add_worksheet(), table)?;
    }
    book.save_to_buffer()
}

fn fill(sheet: &mut Worksheet, table: &Table) -> Result<(), XlsxError> {
    let (heading, day) = (Format::new().set_bold(), Format::new().set_num_format("yyyy-mm-dd"));
    sheet.set_name(table.name)?;
    sheet.set_freeze_panes(1, 0)?;
    for (column, name) in (0..).zip(&table.headings) {
        sheet.write_string_with_format(0, column, *name, &heading)?;
        sheet.set_column_width(column, (name.len() + 2) as f64)?;
    }
    for (row, values) in (1..).zip(&table.rows) {
        for ((column, name), value) in (0..).zip(&table.headings).zip(values) {
            match value {
                None => continue,
                Some(Value::Number(x)) => sheet.write_number(row, column, *x)?,
                Some(Value::Text(text)) => match serial_day(name, text) {
                    Some(serial) => sheet.write_number_with_format(row, column, serial, &day)?,
                    None => sheet.write_string(row, column, text)?,
                },
            };
        }
    }
    Ok(())
}

/// The number of a whole day in the column of dates.
fn serial_day(name: &str, text: &str) -> Option<f64> {
    let when: When = if name == "date" { text.parse().ok()? } else { return None };
    let day = Some(when.date()).filter(|d| when.clock().is_none() && *d >= FIRST_SAFE_DAY)?;
    Some(f64::from(day.since(DAY_ZERO).ok()?.get_days()))
}
