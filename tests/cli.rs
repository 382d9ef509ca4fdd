//! The program as a baker meets it: words in, an exit code, standard output and standard error out.
//!
//! Black-box tests of the built binary. What they check against is the documented contract (exit codes 0 done,
//! 1 could not be done, 2 call or file form wrong, 3 done in part; the JSON keys that scripts rely on) and the
//! operating system. The records are the invented ones of `demo-data`.

#[path = "cli/bench.rs"]
mod bench;

#[path = "cli/answers.rs"]
mod answers;
#[path = "cli/bad_calls.rs"]
mod bad_calls;
#[path = "cli/bad_logbooks.rs"]
mod bad_logbooks;
#[path = "cli/bad_tables.rs"]
mod bad_tables;
#[path = "cli/crust.rs"]
mod crust;
#[path = "cli/exports.rs"]
mod exports;
#[path = "cli/few_records.rs"]
mod few_records;
#[path = "cli/fit_questions.rs"]
mod fit_questions;
#[path = "cli/own_words.rs"]
mod own_words;
#[path = "cli/plans.rs"]
mod plans;
#[path = "cli/record.rs"]
mod record;
#[path = "cli/round_trip.rs"]
mod round_trip;
#[path = "cli/schemas.rs"]
mod schemas;
#[path = "cli/sheets.rs"]
mod sheets;
#[path = "cli/templates.rs"]
mod templates;

#[cfg(unix)]
#[path = "cli/faults.rs"]
mod faults;
#[cfg(unix)]
#[path = "cli/system.rs"]
mod system;
#[cfg(unix)]
#[path = "cli/terminal.rs"]
mod terminal;
#[path = "cli/three_days.rs"]
mod three_days;
