//! `backup` and `undo`: ways back.

use std::path::PathBuf;

use schemars::JsonSchema;
use serde::Serialize;

use crate::logbook::{Source, Undone};

use super::args::BackupArgs;
use super::context::Context;
use super::failure::{Done, Outcome};
use super::output::answer;
use super::text::counted;

#[derive(Serialize, JsonSchema)]
pub struct Kept {
    backup: PathBuf,
}

/// Runs `backup`.
pub fn backup(context: &Context, args: &BackupArgs) -> Outcome {
    let mut logbook = context.open()?;
    let kept = Kept { backup: logbook.backup(&args.file)?.path };
    answer(context, &kept, || format!("the logbook is copied to {}\n", kept.backup.display()))?;
    Ok(Done::All)
}

/// Runs `undo`.
pub fn undo(context: &Context) -> Outcome {
    let mut logbook = context.open()?;
    let undone = logbook.undo_last_import()?;
    answer(context, &undone, || text(&undone))?;
    Ok(Done::All)
}

/// Batches named one by one.
const NAMED: usize = 5;

fn text(undone: &Undone) -> String {
    let (named, more) = undone.batches.split_at(undone.batches.len().min(NAMED));
    let batches = match (named, more.len()) {
        ([], _) => String::new(),
        ([only], _) => format!(" of batch {only}"),
        (some, 0) => format!(" of batches {}", some.join(", ")),
        (some, n) => format!(" of batches {} and {n} more", some.join(", ")),
    };
    let rows = counted(undone.removed, "row", "rows");
    let values = match undone.restored {
        1 => "1 value is as it was before".to_string(),
        n => format!("{n} values are as they were before"),
    };
    let done = match (undone.removed, undone.restored) {
        (0, 0) => "nothing was left of it".into(),
        (_, 0) => format!("{rows} out"),
        (0, _) => values,
        _ => format!("{rows} out, {values}"),
    };
    let what = match undone.import.content_hash.is_none() && undone.import.source == Source::by_hand().name {
        true => "what was recorded".to_string(),
        false => format!("the import of {}", undone.import.source),
    };
    format!("{what}{batches} is taken back: {done}\n")
}
