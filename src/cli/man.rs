//! `man`: manual pages from the definitions of the command line, one a command.

use std::io;
use std::path::PathBuf;

use clap::Command;
use clap_mangen::Man;
use clap_mangen::roff::{Roff, roman};
use schemars::JsonSchema;
use serde::Serialize;

use super::args::command;
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::files::write_whole;
use super::output::answer;

/// `man`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright man --out man1            # a page for each command
  doughwright man recommend > page.1    # one of them; read it with: man ./page.1")]
pub struct ManArgs {
    /// The command to tell of [default: the program]
    #[arg(value_name = "COMMAND")]
    pub of: Option<String>,
    /// A folder for the pages of all commands
    #[arg(long, value_name = "DIR", conflicts_with = "of")]
    pub out: Option<PathBuf>,
}

/// The answer of `man`.
#[derive(Serialize, JsonSchema)]
pub struct Answer {
    /// The pages' files.
    pages: Vec<PathBuf>,
    /// The page, when it went into no file.
    page: Option<String>,
}

/// Runs the command.
pub fn run(context: &Context, args: &ManArgs) -> Outcome {
    let mut program = command();
    program.build();
    let answered = match &args.out {
        Some(out) => {
            std::fs::create_dir_all(out).map_err(|e| Failure::write(out, e))?;
            let mut pages = Vec::new();
            for one in std::iter::once(&program).chain(program.get_subcommands()) {
                let file = out.join(format!("{}.1", page_name(one)));
                write_whole(&file, page(one)?)?;
                pages.push(file);
            }
            Answer { pages, page: None }
        }
        None => {
            let one = match &args.of {
                None => &program,
                Some(name) => program.find_subcommand(name).ok_or_else(|| {
                    Failure::Call(format!("there is no command '{name}': doughwright --help lists them"))
                })?,
            };
            Answer { pages: vec![], page: Some(page(one)?) }
        }
    };
    answer(context, &answered, || match &answered.page {
        Some(page) => page.clone(),
        None => answered.pages.iter().map(|p| format!("{}\n", p.display())).collect(),
    })?;
    Ok(Done::All)
}

/// "doughwright-recommend".
fn page_name(command: &Command) -> &str {
    command.get_display_name().unwrap_or_else(|| command.get_name())
}

/// A page as a manual reader takes it: the examples before the options.
fn page(command: &Command) -> Result<String, Failure> {
    let man = Man::new(command.clone().version(env!("CARGO_PKG_VERSION")));
    let mut page = Vec::new();
    let written: io::Result<()> = (|| {
        man.render_title(&mut page)?;
        man.render_name_section(&mut page)?;
        man.render_synopsis_section(&mut page)?;
        man.render_description_section(&mut page)?;
        if let Some(examples) = command.get_before_help() {
            let mut roff = Roff::new();
            roff.control("SH", ["EXAMPLES"]).control("nf", []);
            let lines = examples.to_string();
            lines.lines().skip(1).for_each(|line| {
                roff.text([roman(line)]);
            });
            roff.control("fi", []).to_writer(&mut page)?;
        }
        man.render_options_section(&mut page)?;
        if command.has_subcommands() {
            man.render_subcommands_section(&mut page)?;
        }
        man.render_version_section(&mut page)
    })();
    written.map_err(|e| Failure::Work(format!("the page cannot be made: {e}")))?;
    Ok(String::from_utf8_lossy(&page).into_owned())
}
