//! `export`: the logbook back out as a table that imports again to the same batches; of a damaged logbook, every
//! batch that can still be read.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::PathBuf;

use serde::Serialize;

use crate::dough::{Batch, Column};
use crate::intake::guarded;
use crate::logbook::{Logbook, LogbookError};

use super::args::ExportArgs;
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::output::{answer, print};

#[derive(Serialize)]
struct Exported {
    file: PathBuf,
    batches: usize,
}

/// Runs the command.
pub fn run(context: &Context, args: &ExportArgs) -> Outcome {
    let (batches, done) = batches(context)?;
    let wrong = |e: csv::Error| Failure::write(&args.file, std::io::Error::other(e));
    if args.file.as_os_str() == "-" {
        let mut text = Vec::new();
        write_csv(&batches, &mut text).map_err(wrong)?;
        print(&String::from_utf8_lossy(&text))?;
        return Ok(done);
    }
    let extension = args.file.extension().and_then(|e| e.to_str()).unwrap_or_default();
    if !["csv", "jsonl"].contains(&extension) {
        return Err(Failure::Call(format!(
            "{}: the ending of the name says the form: .csv or .jsonl",
            args.file.display()
        )));
    }
    let mut out = BufWriter::new(File::create(&args.file).map_err(|e| Failure::write(&args.file, e))?);
    match extension {
        "csv" => write_csv(&batches, &mut out).map_err(wrong)?,
        _ => write_json_lines(&batches, &mut out).map_err(|e| Failure::write(&args.file, e))?,
    }
    out.into_inner()
        .map_err(|e| e.into_error())
        .and_then(|file| file.sync_all())
        .map_err(|e| Failure::write(&args.file, e))?;
    let exported = Exported { file: args.file.clone(), batches: batches.len() };
    answer(context, &exported, || format!("{} batches in {}\n", exported.batches, exported.file.display()))?;
    Ok(done)
}

/// The batches of the kitchen meant, or of all.
fn batches(context: &Context) -> Result<(Vec<Batch>, Done), Failure> {
    match sound(context) {
        Err(Failure::Logbook(LogbookError::Damaged { .. })) => saved(context),
        read => Ok((read?, Done::All)),
    }
}

fn sound(context: &Context) -> Result<Vec<Batch>, Failure> {
    let logbook = context.open()?;
    let kitchens = match &context.kitchen {
        Some(_) => vec![context.kitchen(&logbook)?],
        None => logbook.kitchens()?,
    };
    let mut batches = Vec::new();
    for kitchen in &kitchens {
        batches.extend(logbook.batches(kitchen)?);
    }
    Ok(batches)
}

/// What a damaged logbook still gives, with what it does not told on standard error.
fn saved(context: &Context) -> Result<(Vec<Batch>, Done), Failure> {
    let place = context.logbook.display();
    let mut saved = Logbook::salvage(&context.logbook).map_err(|why| match why {
        LogbookError::Damaged { what, .. } => Failure::Work(format!(
            "{place}: the logbook is damaged ({what}) and no batch in it can be read any more: bring back a copy of \
             the file, or import your spreadsheets into a new logbook, given with --logbook"
        )),
        other => other.into(),
    })?;
    if let Some(named) = &context.kitchen {
        saved.kitchens.retain(|kitchen, _| kitchen == named);
    }
    for fault in &saved.faults {
        context.note(&format!("doughwright: {place}: not read: {fault}"));
    }
    let batches: Vec<Batch> = saved.kitchens.into_values().flat_map(|rows| rows.batches).collect();
    context.note(&format!(
        "doughwright: {place}: the logbook is damaged; {} of its batches could be read: import what is exported here into a new logbook",
        batches.len()
    ));
    Ok((batches, Done::InPart))
}

/// A table of batches in all columns of the batch table.
pub fn write_csv(batches: &[Batch], out: impl Write) -> csv::Result<()> {
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record(Column::ALL.iter().map(|c| c.name()))?;
    for batch in batches {
        let cell =
            |c: &Column| batch.get(*c).map(|v| guarded(&v.to_string()).into_owned()).unwrap_or_default();
        csv.write_record(Column::ALL.iter().map(cell))?;
    }
    csv.flush()?;
    Ok(())
}

fn write_json_lines(batches: &[Batch], mut out: impl Write) -> std::io::Result<()> {
    for batch in batches {
        serde_json::to_writer(&mut out, batch)?;
        out.write_all(b"\n")?;
    }
    Ok(())
}
