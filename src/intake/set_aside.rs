//! Bad rows written out again: the same columns, and what is wrong with each, ready to be corrected and
//! imported once more.

use std::borrow::Cow;
use std::io::Write;

use super::row::SetAside;

/// Heading of the added column, which is passed over when the corrected file is read.
pub const PROBLEM_HEADING: &str = "problem";

/// Writes rows that were set aside as CSV, with one more column saying what is wrong.
///
/// # Errors
/// When the writer fails.
pub fn write_set_aside(headings: &[String], rows: &[SetAside], out: impl Write) -> csv::Result<()> {
    let mut csv = csv::WriterBuilder::new().flexible(true).from_writer(out);
    let width = rows.iter().map(|r| r.cells.len()).chain([headings.len()]).max().unwrap_or(0);
    let heading = |i: usize| headings.get(i).map_or("", String::as_str);
    csv.write_record((0..width).map(heading).chain([PROBLEM_HEADING]))?;
    for row in rows {
        let said: Vec<String> = (row.problems.iter())
            .map(|p| match p.column.is_empty() {
                true => p.message.clone(),
                false => format!("{}: {}", p.column, p.message),
            })
            .collect();
        let cell = |i: usize| row.cells.get(i).map_or(Cow::Borrowed(""), |c| guarded(c));
        csv.write_record((0..width).map(cell).chain([guarded(&said.join("; "))]).map(Cow::into_owned))?;
    }
    csv.flush()?;
    Ok(())
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
