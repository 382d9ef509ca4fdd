//! `export`: the logbook back out as tables that import again to the same logbook, readings and surroundings with it;
//! of a damaged logbook, everything that can still be read. The history stays behind: `backup` copies that too.

mod tables;
mod text;
mod workbook;

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use schemars::JsonSchema;
use serde::Serialize;

use crate::logbook::salvage::Rows;
use crate::logbook::{Logbook, LogbookError};

use super::args::ExportArgs;
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::files::whole;
use super::output::{answer, print};
use super::text::counted;
use tables::Tables;

/// What was written.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Exported {
    file: PathBuf,
    /// Files beside it, with the other tables.
    beside: Vec<PathBuf>,
    batches: usize,
    readings: usize,
    surroundings: usize,
}

/// Runs the command.
pub fn run(context: &Context, args: &ExportArgs) -> Outcome {
    let ending = args.file.extension().and_then(|e| e.to_str()).unwrap_or_default();
    let to_standard_output = args.file.as_os_str() == "-";
    if !to_standard_output && !["csv", "xlsx", "jsonl"].contains(&ending) {
        return Err(Failure::Call(format!(
            "{}: the ending of the name says the form: .csv, .xlsx or .jsonl",
            args.file.display()
        )));
    }
    let (kitchens, done) = kitchens(context)?;
    let tables = Tables::of(&kitchens);
    if to_standard_output {
        let mut csv = Vec::new();
        text::csv(&tables.batches, &mut csv).map_err(|e| Failure::write(&args.file, io::Error::other(e)))?;
        print(&String::from_utf8_lossy(&csv))?;
        return Ok(done);
    }
    let mut beside = Vec::new();
    match ending {
        "csv" => {
            let file = |path: &Path, table| whole(path, |out| text::csv(table, out).map_err(plain));
            file(&args.file, &tables.batches)?;
            for table in [&tables.readings, &tables.surroundings].into_iter().filter(|t| !t.rows.is_empty()) {
                let path = args.file.with_extension(format!("{}.csv", table.name));
                file(&path, table)?;
                beside.push(path);
            }
        }
        "xlsx" => {
            let book =
                workbook::bytes(&tables).map_err(|e| Failure::write(&args.file, io::Error::other(e)))?;
            whole(&args.file, |out| out.write_all(&book))?;
        }
        _ => whole(&args.file, |out| text::json_lines(&tables, out))?,
    }
    let [batches, readings, surroundings] = tables.all().map(|t| t.rows.len());
    let exported = Exported { file: args.file.clone(), beside, batches, readings, surroundings };
    answer(context, &exported, || exported.text())?;
    Ok(done)
}

impl Exported {
    fn text(&self) -> String {
        let logs = [
            (self.readings, "reading", "readings"),
            (self.surroundings, "line of surroundings", "lines of surroundings"),
        ];
        let logs = logs
            .iter()
            .filter(|(n, ..)| *n > 0)
            .map(|(n, one, many)| ", ".to_string() + &counted(*n, one, many));
        let files = [&self.file].into_iter().chain(&self.beside).map(|f| f.display().to_string());
        let files = files.collect::<Vec<_>>().join(", ");
        let batches = counted(self.batches, "batch", "batches");
        format!("{batches}{} in {files}\n", logs.collect::<String>())
    }
}

/// The writer's own error, where that is what went wrong.
fn plain(error: csv::Error) -> io::Error {
    match error.into_kind() {
        csv::ErrorKind::Io(error) => error,
        other => io::Error::other(format!("{other:?}")),
    }
}

/// All of the kitchen meant, or of every kitchen.
fn kitchens(context: &Context) -> Result<(BTreeMap<String, Rows>, Done), Failure> {
    match sound(context) {
        Err(Failure::Logbook(LogbookError::Damaged { .. })) => saved(context),
        read => Ok((read?, Done::All)),
    }
}

fn sound(context: &Context) -> Result<BTreeMap<String, Rows>, Failure> {
    let logbook = context.look()?;
    let names = match &context.kitchen {
        Some(_) => vec![context.kitchen(&logbook)?],
        None => logbook.kitchens()?,
    };
    let mut kitchens = BTreeMap::new();
    for name in names {
        let rows = Rows {
            batches: logbook.batches(&name)?,
            readings: logbook.readings(&name)?,
            surroundings: logbook.surroundings(&name)?,
        };
        kitchens.insert(name, rows);
    }
    Ok(kitchens)
}

/// What a damaged logbook still gives, with what it does not told on standard error.
fn saved(context: &Context) -> Result<(BTreeMap<String, Rows>, Done), Failure> {
    let place = context.logbook.display();
    let mut saved = Logbook::salvage(&context.logbook).map_err(|why| match why {
        LogbookError::Damaged { what, .. } => nothing_left(context, &what),
        other => other.into(),
    })?;
    let all: usize = saved.kitchens.values().map(|rows| rows.batches.len()).sum();
    if all == 0 {
        return Err(nothing_left(context, saved.faults.first().map_or("no batch in it", String::as_str)));
    }
    if let Some(named) = &context.kitchen {
        saved.kitchens.retain(|kitchen, _| kitchen == named);
    }
    for fault in &saved.faults {
        context.note(&format!("doughwright: {place}: not read: {fault}"));
    }
    let count = |of: fn(&Rows) -> usize| saved.kitchens.values().map(of).sum::<usize>();
    context.note(&format!(
        "doughwright: {place}: the logbook is damaged; {} of its batches could be read, with {} readings and {} lines of \
         surroundings{}: import what is exported here into a new logbook",
        count(|rows| rows.batches.len()),
        count(|rows| rows.readings.len()),
        count(|rows| rows.surroundings.len()),
        match saved.loose {
            0 => String::new(),
            n => format!(" ({n} of these rows were found on loose pages: look them over, they may be former states)"),
        }
    ));
    Ok((saved.kitchens, Done::InPart))
}

fn nothing_left(context: &Context, what: &str) -> Failure {
    Failure::Work(format!(
        "{}: the logbook is damaged ({what}) and no batch in it can be read any more: bring back a copy of \
         the file, or import your spreadsheets into a new logbook, given with --logbook",
        context.logbook.display()
    ))
}
