//! `backup` and `undo`: ways back.

use std::path::PathBuf;

use schemars::JsonSchema;
use serde::Serialize;

use super::args::BackupArgs;
use super::context::Context;
use super::failure::{Done, Outcome};
use super::output::answer;

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
    answer(context, &undone, || {
        format!(
            "the import of {} is taken back: {} rows out, {} values as they were before\n",
            undone.import.source, undone.removed, undone.restored
        )
    })?;
    Ok(Done::All)
}
