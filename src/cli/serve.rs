//! `serve`: the same program as a page in the browser of this machine.

use schemars::JsonSchema;
use serde::Serialize;

use crate::logbook::Logbook;
use crate::serve::{Served, Settings};

use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::output::answer;

/// `serve`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright serve
  doughwright serve --write

Open the address that it writes; Ctrl-C ends it. Without --write it only looks and answers.")]
pub struct ServeArgs {
    /// The port of this machine [default: any that is free]
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    pub port: u16,
    /// Let the page keep things: sheets, plans, batches and readings
    #[arg(long)]
    pub write: bool,
}

#[derive(Serialize, JsonSchema)]
pub struct Answer {
    /// What to open, the key included.
    address: String,
    /// Whether the page keeps things.
    writes: bool,
}

/// Runs the command.
pub fn run(context: &Context, args: &ServeArgs) -> Outcome {
    if !context.logbook.exists() {
        match args.write {
            true => drop(Logbook::open_or_create(&context.logbook)?),
            false => {
                return Err(Failure::Work(format!(
                    "{} is not there: `import` your records first, or begin it with `serve --write`",
                    context.logbook.display()
                )));
            }
        }
    }
    let settings = Settings {
        logbook: context.logbook.clone(),
        kitchen: context.kitchen.clone(),
        units: context.units,
        writes: args.write,
    };
    let served = Served::open(settings, args.port)?;
    let told = Answer { address: served.address(), writes: args.write };
    served.run(|| answer(context, &told, || format!("open {}\nCtrl-C ends it\n", told.address)))?;
    Ok(Done::All)
}
