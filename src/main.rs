//! The `doughwright` program: words in, an exit code out.

use std::process::ExitCode;

fn main() -> ExitCode {
    doughwright::cli::run(std::env::args_os())
}
