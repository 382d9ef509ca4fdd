//! `completions`: what a shell needs to complete this program's words.

use clap_complete::Shell;
use schemars::JsonSchema;
use serde::Serialize;

use super::args::{NAME, command};
use super::context::Context;
use super::failure::{Done, Outcome};
use super::output::answer;

/// `completions`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright completions bash > doughwright.bash    # then: source doughwright.bash
  doughwright completions fish > doughwright.fish    # into ~/.config/fish/completions/
  doughwright completions zsh > _doughwright         # into a folder of $fpath")]
pub struct CompletionsArgs {
    /// Which shell
    #[arg(value_enum, value_name = "SHELL")]
    pub shell: Shell,
}

/// The answer of `completions`.
#[derive(Serialize, JsonSchema)]
pub struct Answer {
    /// Which shell.
    shell: String,
    /// What it is to read.
    script: String,
}

/// Runs the command.
pub fn run(context: &Context, args: &CompletionsArgs) -> Outcome {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut command(), NAME, &mut script);
    let script = String::from_utf8_lossy(&script).into_owned();
    let answered = Answer { shell: args.shell.to_string(), script };
    answer(context, &answered, || answered.script.clone())?;
    Ok(Done::All)
}
