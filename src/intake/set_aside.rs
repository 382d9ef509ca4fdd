//! Bad rows written out again: the same columns, and what is wrong with each, ready to be corrected and
//! imported once more.

use std::borrow::Cow;
use std::io::Write;

use super::row::SetAside;

/// Heading of the column that says what is wrong; it is passed over when the corrected file is read.
pub const PROBLEM_HEADING: &str = "problem";
/// Writes bad rows as CSV, one after another.
pub struct SetAsideWriter<W: Write> {
    csv: csv::Writer<W>,
    width: usize,
}

impl<W: Write> SetAsideWriter<W> {
    /// Begins the file with the headings of the sheet; `separator` stands between its cells.
    ///
    /// # Errors
    /// When the writer fails.
    pub fn new(headings: &[String], separator: u8, out: W) -> csv::Result<Self> {
        let mut csv = csv::WriterBuilder::new().flexible(true).delimiter(separator).from_writer(out);
        csv.write_record(headings.iter().map(|h| guarded(h).into_owned()).chain([PROBLEM_HEADING.into()]))?;
        Ok(Self { csv, width: headings.len() })
    }

    /// Writes one row. Cells beyond the headings follow the problem.
    ///
    /// # Errors
    /// When the writer fails.
    pub fn write(&mut self, row: &SetAside) -> csv::Result<()> {
        let cell = |place: usize| row.cells.get(place).map_or(Cow::Borrowed(""), |c| guarded(c));
        let said = row.said();
        let beyond = (self.width..row.cells.len()).map(cell);
        let cells = (0..self.width).map(cell).chain([guarded(&said)]).chain(beyond);
        self.csv.write_record(cells.map(Cow::into_owned))
    }

    /// Ends the file.
    ///
    /// # Errors
    /// When the writer fails.
    pub fn finish(mut self) -> csv::Result<()> {
        Ok(self.csv.flush()?)
    }
}

/// Writes rows that were set aside as a text table: the headings of the sheet, and what is wrong with each row. The
/// cells are parted as those of the sheet were ([`super::Opened::separator`]).
///
/// # Errors
/// When the writer fails.
pub fn write_set_aside(
    headings: &[String],
    rows: &[SetAside],
    separator: u8,
    out: impl Write,
) -> csv::Result<()> {
    let mut writer = SetAsideWriter::new(headings, separator, out)?;
    for row in rows {
        writer.write(row)?;
    }
    writer.finish()
}

/// A text as it is written to a CSV file: one that a spreadsheet would take for a formula gets an
/// apostrophe before it, which [`unguarded`] takes away again.
pub fn guarded(text: &str) -> Cow<'_, str> {
    match is_formula_like(text) {
        true => Cow::Owned(format!("'{text}")),
        false => Cow::Borrowed(text),
    }
}

/// A text as it was before [`guarded`].
pub fn unguarded(text: &str) -> &str {
    match text.strip_prefix('\'') {
        Some(rest) if is_formula_like(rest) => rest,
        _ => text,
    }
}

/// Begins like a formula, after any number of apostrophes, and is no number.
fn is_formula_like(text: &str) -> bool {
    let bare = text.trim_start_matches('\'');
    bare.starts_with(['=', '+', '-', '@', '\t', '\r']) && text.parse::<f64>().is_err()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_guard_comes_off_again() {
        for text in ["=1+1", "'=1+1", "-5", "- a dash", "@me", "plain", "'quoted", "+49", "''-x", ""] {
            assert_eq!(unguarded(&guarded(text)), text);
        }
        assert_eq!(guarded("=1+1"), "'=1+1");
        assert_eq!(guarded("-5"), "-5");
    }
}
