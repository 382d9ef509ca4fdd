//! The command line: words in, text or JSON out. The only room that prints.
//!
//! `args` is what a baker types; `context` is what a command needs of it; each command has a file that
//! turns its arguments into a typed request and its answer into text or JSON (`output`).

mod adjust;
mod args;
mod bench_sheet;
mod charts;
mod clock;
mod completions;
mod consistency;
mod context;
mod crust;
mod crust_args;
mod crust_side;
mod demo;
mod drawing;
mod drawn;
mod export;
mod files;
mod fit;
mod fit_args;
mod fit_check;
mod fit_compare;
mod fit_gaps;
mod fit_kitchens;
mod forecast;
mod import;
mod kitchen;
mod list;
mod list_plans;
mod man;
mod output;
mod plan_columns;
mod plan_text;
mod planned;
mod progress;
mod recommend;
mod record;
mod report;
mod residuals;
mod safety;
mod schemas;
mod serve;
mod sheet;
mod template;
mod text;
mod trial;
mod wanted;
mod what_if;

use std::ffi::OsString;
use std::process::ExitCode;

use clap::FromArgMatches;

use crate::answers::{failure, kept, pictures};

pub use args::command;
use args::{Args, Command};
use context::Context;
use failure::Failure;
pub use schemas::schemas;

/// Runs the program with the words of the command line, the program's name first.
pub fn run(words: impl IntoIterator<Item = OsString>) -> ExitCode {
    let matches = command().try_get_matches_from(words);
    let args = match matches.and_then(|m| Args::from_arg_matches(&m)) {
        Ok(args) => args,
        Err(said) => {
            // Help and version are not failures; a reader who went away is none of our business.
            let _ = said.print();
            return ExitCode::from(said.exit_code().clamp(0, 255) as u8);
        }
    };
    let context = Context::new(args.common);
    let outcome = match args.command {
        Command::Demo(a) => demo::run(&context, &a),
        Command::Import(a) => import::run(&context, &a),
        Command::Fit(a) => fit::run(&context, &a),
        Command::Recommend(a) => recommend::run(&context, &a),
        Command::Adjust(a) => adjust::run(&context, &a),
        Command::BenchSheet(a) => bench_sheet::run(&context, &a),
        Command::Trial(a) => trial::run(&context, &a),
        Command::Predict(a) => forecast::run(&context, &a),
        Command::Residuals(a) => residuals::run(&context, &a),
        Command::Consistency(a) => consistency::run(&context, &a),
        Command::Charts(a) => charts::run(&context, &a),
        Command::Crust(a) => crust::run(&context, &a),
        Command::Report(a) => report::run(&context, &a),
        Command::List(a) => list::list(&context, &a),
        Command::Show(a) => list::show(&context, &a),
        Command::Record(a) => record::run(&context, &a),
        Command::Template(a) => template::run(&context, &a),
        Command::Backup(a) => safety::backup(&context, &a),
        Command::Undo(_) => safety::undo(&context),
        Command::Export(a) => export::run(&context, &a),
        Command::Serve(a) => serve::run(&context, &a),
        Command::Completions(a) => completions::run(&context, &a),
        Command::Man(a) => man::run(&context, &a),
    };
    match outcome {
        Ok(done) => done.code(),
        Err(Failure::Gone) => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("doughwright: {failure}");
            failure.code()
        }
    }
}
