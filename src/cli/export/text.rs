//! Tables as text: CSV, and JSON Lines. A text that a spreadsheet would take for a formula is guarded in CSV; numbers
//! are written with as many figures as tell them apart from all others.

use std::io::{self, Write};

use serde_json::Map;

use crate::dough::Value;
use crate::intake::guarded;

use super::tables::{Table, Tables};

/// One table as CSV.
pub fn csv(table: &Table, out: impl Write) -> csv::Result<()> {
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record(&table.headings)?;
    for row in &table.rows {
        let cell = |value: &Option<Value>| match value {
            None => String::new(),
            Some(Value::Number(x)) => x.to_string(),
            Some(Value::Text(text)) => guarded(text).into_owned(),
        };
        csv.write_record(row.iter().map(cell))?;
    }
    csv.flush()?;
    Ok(())
}

/// All tables as JSON objects, one a line; blanks are left out.
pub fn json_lines(tables: &Tables, mut out: impl Write) -> io::Result<()> {
    for table in tables.all() {
        for row in &table.rows {
            let mut object = Map::new();
            for (name, value) in table.headings.iter().zip(row) {
                if let Some(value) = value {
                    object.insert((*name).into(), serde_json::to_value(value)?);
                }
            }
            serde_json::to_writer(&mut out, &object)?;
            out.write_all(b"\n")?;
        }
    }
    Ok(())
}
