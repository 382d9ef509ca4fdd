//! Answers on standard output: text for people, one JSON document for programs.

use std::io::{self, Write};

use schemars::JsonSchema;
use serde::Serialize;

use super::context::Context;
use super::failure::Failure;

/// The version of the JSON documents; a change that could break a reader raises it.
pub const SCHEMA_VERSION: u32 = 1;

/// A JSON document.
#[derive(Serialize, JsonSchema)]
pub struct Document<T> {
    /// The version of this form; a change that could break a reader raises it.
    schema_version: u32,
    #[serde(flatten)]
    answer: T,
}

/// Prints an answer: as JSON when asked for, else as the text. What its JSON looks like is in `schemas/`.
///
/// # Errors
/// When standard output was closed or cannot be written.
pub fn answer<T: Serialize + JsonSchema>(
    context: &Context,
    answer: &T,
    text: impl FnOnce() -> String,
) -> Result<(), Failure> {
    let printed = if context.json {
        let document = Document { schema_version: SCHEMA_VERSION, answer };
        let mut json = serde_json::to_string_pretty(&document)
            .map_err(|e| Failure::Work(format!("the answer cannot be written as JSON: {e}")))?;
        json.push('\n');
        json
    } else {
        text()
    };
    print(&printed)
}

/// Prints text as it is.
///
/// # Errors
/// When standard output was closed or cannot be written.
pub fn print(text: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes()).and_then(|()| out.flush()).map_err(|e| match e.kind() {
        io::ErrorKind::BrokenPipe => Failure::Gone,
        _ => Failure::Work(format!("standard output cannot be written: {e}")),
    })
}
