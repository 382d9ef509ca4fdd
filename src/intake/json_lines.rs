//! A file of JSON objects, one a line, as `export` writes them: its lines are sorted into the three tables by what
//! they name, so that everything behind reads them like the sheets of a workbook.

use std::io::{BufRead, Read};

use serde_json::{Map, Value};

use super::cell::Stored;
use super::error::IntakeError;
use super::source::Source;
use super::workbook::{Budget, Sheet, text_or_blank};

/// Bytes of one line beyond which it is none of ours.
const MOST_LINE_BYTES: u64 = 1 << 20;

/// Whether the first thing in a file is the begin of an object.
///
/// # Errors
/// When the file cannot be read.
pub fn is_json_lines(source: &Source) -> Result<bool, IntakeError> {
    let mut reader = source.open()?;
    let start = reader.fill_buf().map_err(|e| source.unreadable(e))?;
    let start = start.strip_prefix(b"\xef\xbb\xbf").unwrap_or(start).trim_ascii_start();
    let after = start.get(1..).map(<[u8]>::trim_ascii_start);
    Ok(start.starts_with(b"{") && after.is_some_and(|rest| rest.starts_with(b"\"")))
}

/// The lines as one sheet for each table that they hold: batches first, since the others hang on them.
///
/// # Errors
/// When the file cannot be read, is too large, or a line is no flat object.
pub fn read(source: &Source) -> Result<Vec<Sheet>, IntakeError> {
    let mut reader = source.open()?;
    let mut budget = Budget::new(source);
    let mut tables = ["batches", "readings", "surroundings"].map(Lines::new);
    let mut line = Vec::new();
    for number in 1_u64.. {
        line.clear();
        let read = reader.by_ref().take(MOST_LINE_BYTES).read_until(b'\n', &mut line);
        match read.map_err(|e| source.unreadable(e))? as u64 {
            0 => break,
            MOST_LINE_BYTES => return Err(wrong(source, number, "it is longer than 1 MB")),
            _ => {}
        }
        let text = line.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&line).trim_ascii();
        if text.is_empty() {
            continue;
        }
        let object: Map<String, Value> =
            serde_json::from_slice(text).map_err(|e| wrong(source, number, &e.to_string()))?;
        let table = match (object.contains_key("surroundings_temp_c"), object.contains_key("hours")) {
            (true, _) => 2,
            (false, true) => 1,
            (false, false) => 0,
        };
        tables[table].take(source, number, object, &mut budget)?;
    }
    Ok(tables.into_iter().filter(|t| !t.rows.is_empty()).map(Lines::into_sheet).collect())
}

/// The lines of one table.
struct Lines {
    name: &'static str,
    headings: Vec<String>,
    rows: Vec<(u64, Vec<Stored>)>,
}

impl Lines {
    fn new(name: &'static str) -> Self {
        Self { name, headings: Vec::new(), rows: Vec::new() }
    }

    fn take(
        &mut self,
        source: &Source,
        number: u64,
        object: Map<String, Value>,
        budget: &mut Budget<'_>,
    ) -> Result<(), IntakeError> {
        let mut row = Vec::new();
        for (key, value) in object {
            let cell = match value {
                Value::Null => continue,
                Value::String(text) => text_or_blank(&text),
                Value::Number(x) => Stored::Number(x.as_f64().unwrap_or(f64::NAN)),
                Value::Bool(_) | Value::Array(_) | Value::Object(_) => {
                    return Err(wrong(source, number, &format!("{key} is neither a number nor a text")));
                }
            };
            let place = self.headings.iter().position(|h| *h == key).unwrap_or_else(|| {
                self.headings.push(key);
                self.headings.len() - 1
            });
            if place >= row.len() {
                row.resize(place + 1, Stored::Blank);
            }
            row[place] = cell;
        }
        budget.spend(row.len())?;
        self.rows.push((number, row));
        Ok(())
    }

    /// The names of the values stand above the first line.
    fn into_sheet(self) -> Sheet {
        let headings = self.headings.into_iter().map(|h| Stored::Text(h.into())).collect();
        let rows = [(0, headings)].into_iter().chain(self.rows).collect();
        Sheet { name: self.name.into(), rows, merged: Vec::new() }
    }
}

fn wrong(source: &Source, number: u64, what: &str) -> IntakeError {
    let found = format!("line {number} is not one JSON object of numbers and texts: {what}");
    IntakeError::NotATable { file: source.name().into(), found }
}
