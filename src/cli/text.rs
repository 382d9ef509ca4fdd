//! Text for the terminal: lists and tables; how single numbers read is the report's business too.

use std::fmt::Write;

pub use crate::report::say::{
    chance, counted, hours, in_units, mass, rise, temperature, temperature_change, trimmed,
};

/// Lines of a list, each behind a dash, wrapped by the terminal.
pub fn bullets(out: &mut String, title: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    let _ = writeln!(out, "{title}");
    for line in lines {
        let _ = writeln!(out, "  - {line}");
    }
}

/// Rows as columns of one width each; the first row is the heading. Numbers to the right.
pub fn table(rows: &[Vec<String>]) -> String {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |c: usize| rows.iter().filter_map(|r| r.get(c)).map(|s| s.chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let numeric = |c: usize| {
        rows.iter()
            .skip(1)
            .filter_map(|r| r.get(c))
            .all(|s| s.is_empty() || s.starts_with(|f: char| f.is_ascii_digit() || f == '-' || f == '+'))
    };
    let right: Vec<bool> = (0..columns).map(numeric).collect();
    let mut out = String::new();
    for row in rows {
        let mut line = String::new();
        for (c, cell) in row.iter().enumerate() {
            let pad = " ".repeat(widths[c] - cell.chars().count());
            let _ = if right[c] { write!(line, "{pad}{cell}  ") } else { write!(line, "{cell}{pad}  ") };
        }
        let _ = writeln!(out, "{}", line.trim_end());
    }
    out
}
