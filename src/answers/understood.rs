//! Tables of a source, made out by what is said of them and by what the logbook remembers of such sheets.

use std::collections::BTreeMap;

use crate::intake::{ColumnMap, Known, Opened, Source, UnderstoodColumn};
use crate::logbook::Logbook;

use super::failure::Failure;

/// The tables of a source.
pub fn tables(source: &Source, map: &ColumnMap, logbook: Option<&Logbook>) -> Result<Vec<Opened>, Failure> {
    let known = Known { map: map.clone(), ..Known::default() };
    let tables = Opened::all(source, &known)?;
    let mut remembered = BTreeMap::new();
    for shape in tables.iter().map(|t| &t.understood().shape) {
        if let Some(text) = logbook.map(|l| l.column_map(shape)).transpose()?.flatten() {
            remembered.insert(shape.clone(), ColumnMap::from_toml("the logbook's mapping", &text)?);
        }
    }
    if remembered.is_empty() {
        return Ok(tables);
    }
    Ok(Opened::all(source, &Known { remembered, ..known })?)
}

/// What each heading was taken for, where that is not its own name or there is something to know.
pub fn understood(table: &Opened) -> Vec<String> {
    let told = |c: &&UnderstoodColumn| c.heading != c.target.name() || !c.notes.is_empty();
    table
        .understood()
        .columns
        .iter()
        .filter(told)
        .map(|c| {
            let unit = c.unit.map(|u| format!(" in {}", u.name())).unwrap_or_default();
            let notes: String = c.notes.iter().map(|n| format!("; {n}")).collect();
            format!("'{}' is taken for {}{unit}{notes}", c.heading, c.target.name())
        })
        .collect()
}
