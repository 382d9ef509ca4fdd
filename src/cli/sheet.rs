//! What a baker says of a sheet on the command line or in a mapping file, and the sheets so opened.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::de::DeserializeOwned;

use crate::dough::{Batch, Column, Value};
use crate::intake::{ColumnMap, IGNORE, Known, Opened, Source, Target, Unit};
use crate::logbook::Logbook;

use super::args::SheetArgs;
use super::failure::Failure;
use super::import::source_of;

/// The mapping that the flags and the mapping file make together; flags go before the file.
pub fn said(args: &SheetArgs) -> Result<ColumnMap, Failure> {
    let mut map = ColumnMap { sheet: args.sheet.clone(), ..ColumnMap::default() };
    map.decimal = args.decimal.as_deref().map(|w| word("--decimal", w, "point or comma")).transpose()?;
    map.dates = args.dates.as_deref().map(|w| word("--dates", w, "day-first or month-first")).transpose()?;
    for text in &args.column {
        let (heading, column) = pair("--column", text)?;
        if column != IGNORE && Target::of_name(column).is_none() {
            return Err(Failure::Call(format!(
                "--column '{text}': there is no column '{column}': nearest is {}, or say {IGNORE}",
                Column::nearest(column)
            )));
        }
        map.settle(heading).column = Some(column.into());
    }
    for text in &args.unit {
        let (heading, unit) = pair("--unit", text)?;
        let known = Unit::ALL.iter().copied().find(|u| u.name() == unit).ok_or_else(|| {
            let names: Vec<&str> = Unit::ALL.iter().map(|u| u.name()).collect();
            Failure::Call(format!("--unit '{text}': one of {} is wanted", names.join(", ")))
        })?;
        map.settle(heading).unit = Some(known);
    }
    for text in &args.fill {
        let (name, value) = pair("--fill", text)?;
        let column: Column = name.parse().map_err(|nearest| {
            Failure::Call(format!("--fill '{text}': there is no column '{name}': nearest is {nearest}"))
        })?;
        let value = Value::Text(value.into());
        Batch::default().set(column, &value).map_err(|e| Failure::Call(format!("--fill: {e}")))?;
        map.fill.insert(column, value);
    }
    match &args.columns {
        None => Ok(map),
        Some(path) => {
            let text = std::fs::read_to_string(path)
                .map_err(|e| Failure::Call(format!("{} cannot be read: {e}", path.display())))?;
            Ok(map.over(&ColumnMap::from_toml(&path.display().to_string(), &text)?))
        }
    }
}

fn pair<'a>(flag: &str, text: &'a str) -> Result<(&'a str, &'a str), Failure> {
    text.rsplit_once('=').map(|(a, b)| (a.trim(), b.trim())).ok_or_else(|| {
        Failure::Call(format!(
            "{flag} '{text}': two words with = between them are wanted, such as {flag} 'A=b'"
        ))
    })
}

fn word<T: DeserializeOwned>(flag: &str, text: &str, wanted: &str) -> Result<T, Failure> {
    serde_json::from_value(serde_json::Value::String(text.into()))
        .map_err(|_| Failure::Call(format!("{flag} '{text}': {wanted} is wanted")))
}

/// The tables of all files, in order, made out by what is said and by what the logbook remembers of such sheets.
pub fn open(
    files: &[PathBuf],
    map: &ColumnMap,
    logbook: Option<&Logbook>,
) -> Result<Vec<(PathBuf, Opened)>, Failure> {
    let mut opened = Vec::new();
    for path in files {
        for table in tables(path, map, logbook)? {
            opened.push((path.clone(), table));
        }
    }
    Ok(opened)
}

fn tables(path: &Path, map: &ColumnMap, logbook: Option<&Logbook>) -> Result<Vec<Opened>, Failure> {
    let source: Source = source_of(path)?;
    let known = Known { map: map.clone(), ..Known::default() };
    let tables = Opened::all(&source, &known)?;
    let mut remembered = BTreeMap::new();
    for shape in tables.iter().map(|t| &t.understood().shape) {
        if let Some(text) = logbook.map(|l| l.column_map(shape)).transpose()?.flatten() {
            remembered.insert(shape.clone(), ColumnMap::from_toml("the logbook's mapping", &text)?);
        }
    }
    if remembered.is_empty() {
        return Ok(tables);
    }
    Ok(Opened::all(&source, &Known { remembered, ..known })?)
}

/// What each heading was taken for, where that is not its own name.
pub fn understood(table: &Opened) -> Vec<String> {
    let told = |c: &&crate::intake::UnderstoodColumn| c.heading != c.target.name();
    table
        .understood()
        .columns
        .iter()
        .filter(told)
        .map(|c| {
            let unit = c.unit.map(|u| format!(" in {}", u.name())).unwrap_or_default();
            format!("'{}' is taken for {}{unit}", c.heading, c.target.name())
        })
        .collect()
}
