//! `bench-sheet`: one printable page a batch.

use std::iter::repeat;
use std::path::PathBuf;

use clap::ValueEnum;
use schemars::JsonSchema;
use serde::Serialize;

use crate::answers::plans::Kept;
use crate::answers::record::plan_named;
use crate::dough::units::UnitSystem;
use crate::report::bench_sheet::{BenchSheet, Paper, html, text};

use super::args::RecommendArgs;
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::files::write_whole;
use super::output::{answer, print};
use super::recommend::{Answer as Recommended, recommended};

/// Sheets of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PaperSize {
    /// 210 mm by 297 mm
    A4,
    /// 8.5 in by 11 in
    Letter,
}

/// `bench-sheet`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright bench-sheet plan.csv
  doughwright bench-sheet --plan ID            # a plan kept before, as `list --plans` shows it
  doughwright bench-sheet --bake-at 2026-12-05T18:30 --pieces 24 --to sheet.txt")]
pub struct BenchSheetArgs {
    /// Where to: a name ending in .html or .txt; - writes plain text to standard output
    #[arg(long, value_name = "FILE", default_value = "bench-sheet.html")]
    pub to: PathBuf,
    /// The paper [default: letter with --units us, else a4]
    #[arg(long, value_enum)]
    pub paper: Option<PaperSize>,
    /// A plan that `recommend` kept, by its id: printed as it is, nothing is worked out anew
    #[arg(long = "plan", value_name = "ID", conflicts_with_all = ["plan", "target", "bake_at", "pieces", "tray"])]
    pub kept: Option<String>,
    /// As `recommend` takes it.
    #[command(flatten)]
    pub recommend: RecommendArgs,
}

#[derive(Serialize, JsonSchema)]
pub struct Answer {
    sheet: PathBuf,
    codes: Vec<String>,
}

/// Runs the command.
pub fn run(context: &Context, args: &BenchSheetArgs) -> Outcome {
    let plain = args.to.as_os_str() == "-";
    let ending = args.to.extension().and_then(|e| e.to_str()).unwrap_or_default().to_ascii_lowercase();
    if !plain && !["html", "htm", "txt"].contains(&ending.as_str()) {
        return Err(Failure::Call(format!(
            "--to {}: a name ending in .html or .txt is wanted",
            args.to.display()
        )));
    }
    let found = match &args.kept {
        Some(id) => vec![kept(context, &args.recommend, id)?],
        None => {
            let Recommended { plans, plan_ids, schedules, .. } = recommended(context, &args.recommend)?;
            // Without a clock there is no schedule for any.
            let schedules = schedules.into_iter().map(Some).chain(repeat(None));
            let kept = plans.into_iter().zip(schedules).map(|(advice, schedule)| Kept { advice, schedule });
            plan_ids.into_iter().zip(kept).collect()
        }
    };
    let units = context.units;
    let mut sheets = Vec::new();
    for (code, Kept { advice, schedule }) in &found {
        sheets.push(BenchSheet { code, advice, schedule: schedule.as_ref(), units });
    }
    let as_text = || sheets.iter().map(text).collect::<Vec<_>>().join("\n\u{c}\n");
    if plain {
        if context.json {
            return Err(Failure::Call("--to - and --json both want standard output: leave one out".into()));
        }
        print(&as_text())?;
        return Ok(Done::All);
    }
    let paper = match args.paper {
        Some(PaperSize::A4) => Paper::A4,
        Some(PaperSize::Letter) => Paper::Letter,
        None if units == UnitSystem::Us => Paper::Letter,
        None => Paper::A4,
    };
    let page = if ending == "txt" { as_text() } else { html(&sheets, paper) };
    write_whole(&args.to, page)?;
    let told = Answer { sheet: args.to.clone(), codes: found.iter().map(|(code, _)| code.clone()).collect() };
    answer(context, &told, || format!("sheet: {}\ncode: {}\n", told.sheet.display(), told.codes.join(", ")))?;
    Ok(Done::All)
}

/// A kept plan as it was recommended, with its code.
fn kept(context: &Context, asked: &RecommendArgs, id: &str) -> Result<(String, Kept), Failure> {
    if !asked.columns.is_empty() {
        return Err(Failure::Call(format!(
            "--plan {id} prints the plan as it was kept: leave the plan's columns out, or ask `recommend` for another plan"
        )));
    }
    let logbook = context.look()?;
    let kitchen = context.kitchen(&logbook)?;
    let record = plan_named(&logbook, &kitchen, id)?;
    Ok((record.plan_id.clone(), Kept::of(&record)?))
}
