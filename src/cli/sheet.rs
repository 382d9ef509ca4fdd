//! What a baker says of a sheet on the command line or in a mapping file, and the sheets so opened.

use std::path::PathBuf;

use serde::de::DeserializeOwned;

use crate::answers::import::Table;
use crate::answers::understood::tables;
use crate::dough::{Batch, Column, NoColumn, Value};
use crate::intake::{ColumnMap, IGNORE, Target, UNSAID, Unit};
use crate::logbook::Logbook;

use super::args::SheetArgs;
use super::failure::Failure;
use super::import::{file_name, source_of};

/// The mapping that the flags and the mapping file make together; flags go before the file.
pub fn said(args: &SheetArgs) -> Result<ColumnMap, Failure> {
    let mut map = ColumnMap { sheet: args.sheet.clone(), ..ColumnMap::default() };
    map.decimal = args.decimal.as_deref().map(|w| word("--decimal", w, "point or comma")).transpose()?;
    map.dates = args.dates.as_deref().map(|w| word("--dates", w, "day-first or month-first")).transpose()?;
    for text in &args.column {
        let (heading, column) = said_pair("--column", text, "a column's name, or ignore")?;
        if column != IGNORE && Target::of_name(column).is_none() {
            return Err(Failure::Call(format!(
                "--column '{text}': there is no column '{column}': {}, or say {IGNORE}",
                Column::none_named(column)
            )));
        }
        map.settle(heading).column = Some(column.into());
    }
    for text in &args.unit {
        let (heading, unit) = said_pair("--unit", text, "a unit")?;
        let known = Unit::ALL.iter().copied().find(|u| u.name() == unit).ok_or_else(|| {
            let names: Vec<&str> = Unit::ALL.iter().map(|u| u.name()).collect();
            Failure::Call(format!("--unit '{text}': one of {} is wanted", names.join(", ")))
        })?;
        map.settle(heading).unit = Some(known);
    }
    for text in &args.fill {
        let (name, value) = said_pair("--fill", text, "what every row says")?;
        let column: Column = name.parse().map_err(|none: NoColumn| {
            Failure::Call(format!("--fill '{text}': there is no column '{name}': {none}"))
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

/// A pair of which the second is said, and not left as a question.
fn said_pair<'a>(flag: &str, text: &'a str, wanted: &str) -> Result<(&'a str, &'a str), Failure> {
    let (first, second) = pair(flag, text)?;
    match second {
        UNSAID => Err(Failure::Call(format!("{flag} '{text}': put {wanted} in place of the {UNSAID}"))),
        second => Ok((first, second)),
    }
}

fn word<T: DeserializeOwned>(flag: &str, text: &str, wanted: &str) -> Result<T, Failure> {
    serde_json::from_value(serde_json::Value::String(text.into()))
        .map_err(|_| Failure::Call(format!("{flag} '{text}': {wanted} is wanted")))
}

/// The tables of all files, in order, each with the path of its file, made out by what is said and by what the logbook
/// remembers of such sheets.
pub fn open(
    files: &[PathBuf],
    map: &ColumnMap,
    logbook: Option<&Logbook>,
) -> Result<(Vec<PathBuf>, Vec<Table>), Failure> {
    let (mut paths, mut all) = (Vec::new(), Vec::new());
    for path in files {
        for opened in tables(&source_of(path)?, map, logbook)? {
            paths.push(path.clone());
            all.push(Table { file: path.display().to_string(), source: file_name(path), opened });
        }
    }
    Ok((paths, all))
}
