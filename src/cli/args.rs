//! What a baker types.

use std::path::PathBuf;

use clap::{CommandFactory, Parser, Subcommand, ValueEnum};

use crate::dough::Column;
use crate::inference::fit::Settings;

use super::fit_args::FitQuestions;
use super::plan_columns::PlanColumns;

/// The program's name.
pub const NAME: &str = "doughwright";

/// Examples go first, since they are what is looked for.
const HELP: &str = "{about-with-newline}\n{before-help}{usage-heading} {usage}\n\n{all-args}{after-help}";

/// The definition of the command line, of which help, completions and manual pages are made too.
pub fn command() -> clap::Command {
    Args::command().help_template(HELP).mut_subcommands(|c| c.help_template(HELP))
}

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = NAME,
    version,
    about = "Learns how your dough ferments from your own batch records, and says what to weigh and heat next time",
    before_help = "Examples:
  doughwright demo                         # the whole job on invented records
  doughwright import batches.csv           # your records into a logbook
  doughwright recommend --cold-hours 24    # yeast and water for the next batch",
    disable_help_subcommand = true
)]
pub struct Args {
    /// What is common to all commands.
    #[command(flatten)]
    pub common: Common,
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What is common to all commands.
#[derive(Debug, Clone, clap::Args)]
pub struct Common {
    /// The logbook [default: logbook.db here]
    #[arg(long, value_name = "FILE", env = "DOUGHWRIGHT_LOGBOOK", global = true, hide_env_values = true)]
    pub logbook: Option<PathBuf>,
    /// Which kitchen [default: the only one, else home]
    #[arg(long, value_name = "NAME", global = true)]
    pub kitchen: Option<String>,
    /// Answer as one JSON document on standard output
    #[arg(long, global = true)]
    pub json: bool,
    /// Units of what is shown
    #[arg(long, value_enum, default_value = "metric", global = true)]
    pub units: Units,
}

/// Units of what is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Units {
    /// g and °C
    Metric,
    /// oz and °F
    Us,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// The whole main job on invented records: import, fit, recommend, charts
    Demo(DemoArgs),
    /// Take spreadsheets into the logbook
    Import(ImportArgs),
    /// Fit the fermentation model to a kitchen's records
    Fit(FitArgs),
    /// Yeast and water temperature for the next batch
    Recommend(Box<RecommendArgs>),
    /// Mid-course: what the readings so far say, and what to do now
    Adjust(super::adjust::AdjustArgs),
    /// One printable page: weights, temperatures, clock times
    BenchSheet(Box<super::bench_sheet::BenchSheetArgs>),
    /// The next batch that teaches the most and still makes good bread
    Trial(super::trial::TrialArgs),
    /// The rise curve of a plan whose yeast and water are given
    Predict(PredictArgs),
    /// Where the fit misses: charts and figures
    Residuals(ResidualsArgs),
    /// Is it getting steadier: limits, signals, and a chart
    Consistency(ConsistencyArgs),
    /// What goes with a better crust, and how sure that is
    Crust(super::crust_args::CrustArgs),
    /// Pictures to pin on the wall: yeast against hours, cooling, temperature, flour lots
    Charts(super::charts::ChartsArgs),
    /// Everything about a kitchen on one page
    Report(ReportArgs),
    /// The batches of a kitchen, or its plans
    List(ListArgs),
    /// One batch, with its readings and its history
    Show(ShowArgs),
    /// Write one batch down by hand, or a reading while it rises
    Record(RecordArgs),
    /// An empty sheet with units and allowed values, to be filled in
    Template(TemplateArgs),
    /// The logbook back out as CSV, XLSX or JSON Lines
    Export(ExportArgs),
    /// A page to work in, in the browser of this machine
    Serve(super::serve::ServeArgs),
    /// Copy the logbook, whole even while somebody writes
    Backup(BackupArgs),
    /// Take back the last import that changed something
    Undo(UndoArgs),
    /// What your shell needs to complete these words
    Completions(super::completions::CompletionsArgs),
    /// Manual pages, one a command
    Man(super::man::ManArgs),
}

/// `demo`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright demo
  doughwright demo --out tour --units us")]
pub struct DemoArgs {
    /// Folder to write into; it must be empty or not yet there [default: a fresh folder doughwright-demo-N here]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}

/// The columns of the batch table, a line each.
fn columns_listed() -> String {
    let needed = |c: Column| if Column::NEEDED.contains(&c) { " (needed)" } else { "" };
    let line = |c: &Column| format!("\n  {:<22} {}{}", c.name(), c.meaning(), needed(*c));
    format!("Columns:{}", Column::ALL.iter().map(line).collect::<String>())
}

/// `import`
#[derive(Debug, clap::Args)]
#[command(
    after_long_help = columns_listed(),
    before_help = "Examples:
  doughwright import batches.csv --check          # only say what would happen
  doughwright import batches.csv readings.csv
  doughwright import mine.csv --column 'Warm spot=bulk_temp_c' --fill yeast_type=instant"
)]
pub struct ImportArgs {
    /// Tables of batches, readings or surroundings; - reads standard input
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Only say what would happen; write nothing
    #[arg(long)]
    pub check: bool,
    /// What the baker says of the sheet.
    #[command(flatten)]
    pub sheet: SheetArgs,
}

/// What is said of a sheet where its headings and cells leave it open.
#[derive(Debug, Clone, Default, clap::Args)]
#[command(next_help_heading = "What the sheet leaves open")]
pub struct SheetArgs {
    /// A mapping file: what each heading is taken for
    #[arg(long, value_name = "MAP.toml")]
    pub columns: Option<PathBuf>,
    /// Write what was understood as a mapping file, to be edited
    #[arg(long, value_name = "MAP.toml")]
    pub save_columns: Option<PathBuf>,
    /// Which sheet of a workbook
    #[arg(long, value_name = "NAME")]
    pub sheet: Option<String>,
    /// Take a heading for a column, or for ignore: --column 'Warm place=bulk_temp_c'
    #[arg(long, value_name = "HEADING=COLUMN")]
    pub column: Vec<String>,
    /// The unit of a heading's cells: --unit 'Flour=kg'
    #[arg(long, value_name = "HEADING=UNIT")]
    pub unit: Vec<String>,
    /// The decimal mark
    #[arg(long, value_name = "point|comma")]
    pub decimal: Option<String>,
    /// The order of day and month
    #[arg(long, value_name = "day-first|month-first")]
    pub dates: Option<String>,
    /// What every row says though the sheet has no column for it: --fill yeast_type=instant
    #[arg(long, value_name = "COLUMN=VALUE")]
    pub fill: Vec<String>,
}

/// Which way of fitting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FitMethod {
    /// Best fit with a Student t around it and importance weights
    Quick,
    /// Hamiltonian sampling: slower, and right where the quick one says that it is not
    Full,
}

/// `fit`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright fit
  doughwright fit --method full
  doughwright fit --check --gaps    # does it hold, and what would teach it most
  doughwright fit --compare         # which model foretells your rises best")]
pub struct FitArgs {
    /// How [default: full where that takes seconds, else quick]
    #[arg(long, value_enum)]
    pub method: Option<FitMethod>,
    /// Draws kept (of each chain, for full) [default: 1000; 200 a kitchen for --all-kitchens]
    #[arg(long)]
    pub draws: Option<usize>,
    /// Chains (full)
    #[arg(long, default_value_t = 4)]
    pub chains: usize,
    /// Draws of each chain to warm up with (full)
    #[arg(long, default_value_t = Settings::default().warmup)]
    pub warmup: usize,
    /// Seed of the random numbers
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// What else it is asked.
    #[command(flatten)]
    pub questions: FitQuestions,
}

/// `recommend`
#[derive(Debug, clap::Args)]
#[command(
    before_help = "Examples:
  doughwright recommend --cold-hours 24 --room-temp-c 26
  doughwright recommend plan.csv
  doughwright recommend --bake-at 2026-12-05T18:30 --away 22:00-06:30 --free cold_hours=18..48
  doughwright recommend --pieces 24 --piece-g 250",
    after_help = "All columns of the batch table are flags: see --help."
)]
pub struct RecommendArgs {
    /// A table of plans: yeast_g and/or water_temp_c blank; other blanks come from the latest batch of that recipe
    #[arg(value_name = "PLAN.csv")]
    pub plan: Option<PathBuf>,
    /// How near the target counts as met, in percent of it
    #[arg(long, value_name = "PERCENT", default_value_t = 10.0, allow_negative_numbers = true)]
    pub window: f64,
    /// Aim at what this kitchen calls ready, by its verdicts; sets the target and the window
    #[arg(long, value_name = "ready", value_parser = ["ready"])]
    pub target: Option<String>,
    /// What your scale resolves, in g
    #[arg(
        long,
        visible_alias = "scale-resolution",
        value_name = "G",
        default_value_t = 0.1,
        allow_negative_numbers = true
    )]
    pub scale: f64,
    /// Coldest and warmest dough allowed after mixing, in °C
    #[arg(long, value_name = "LOW..HIGH", default_value = "18..28")]
    pub dough_between: String,
    /// The hour of the bake.
    #[command(flatten)]
    pub clock: super::clock::ClockArgs,
    /// Pieces or trays wanted.
    #[command(flatten)]
    pub wanted: super::wanted::WantedArgs,
    /// Columns of the plan.
    #[command(flatten)]
    pub columns: PlanColumns,
}

/// `predict`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright predict --yeast-g 1.6 --cold-hours 36
  doughwright predict --yeast-g 1.6 --cold-hours 36 --out charts
  doughwright predict --yeast-g 1.6 --vary cold_hours=18..48 --vary room_temp_c=18..26")]
pub struct PredictArgs {
    /// A table of plans with yeast and water given
    #[arg(value_name = "PLAN.csv")]
    pub plan: Option<PathBuf>,
    /// Folder for a chart of each curve
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// The rise along a column, or along two: cold_hours=18..48, with /7 for seven values
    #[arg(long, value_name = "COLUMN=FROM..TO")]
    pub vary: Vec<String>,
    /// Columns of the plan.
    #[command(flatten)]
    pub columns: PlanColumns,
}

/// `residuals`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright residuals
  doughwright residuals --out charts")]
pub struct ResidualsArgs {
    /// Folder for the charts
    #[arg(long, value_name = "DIR", default_value = "residuals")]
    pub out: PathBuf,
}

/// `consistency`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright consistency
  doughwright consistency --phase \"new fridge\"=2026-03-01
  doughwright consistency --of dough_temp --content -1..1")]
pub struct ConsistencyArgs {
    /// What is watched from batch to batch
    #[arg(long, value_name = "MEASURE", default_value = "miss", value_parser = ["miss", "dough_temp", "crust_score", "hours_late"])]
    pub of: String,
    /// Folder for the chart
    #[arg(long, value_name = "DIR", default_value = "consistency")]
    pub out: PathBuf,
    /// From this day on something was different; may be given again [default: the first batch baked by a plan]
    #[arg(long, value_name = "NAME=DATE")]
    pub phase: Vec<String>,
    /// What you would be content with: percent of the target, °C off the aim, or scores [default for miss: -10..10]
    #[arg(long, value_name = "LOW..HIGH", allow_hyphen_values = true)]
    pub content: Option<String>,
    /// Take the limits from the batches of these days alone, both included [default: each phase has its own]
    #[arg(long, value_name = "FROM..TO")]
    pub base: Option<String>,
    /// Which patterns signal: default, nelson, western-electric, or names such as nelson-1,nelson-5
    #[arg(long, value_name = "RULES", default_value = "default")]
    pub rules: String,
}

/// `report`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright report --out report.html --cold-hours 24
  doughwright report plan.csv")]
pub struct ReportArgs {
    /// Where to
    #[arg(long, value_name = "FILE.html", default_value = "report.html")]
    pub out: PathBuf,
    /// A table of plans for the batches to come
    #[arg(value_name = "PLAN.csv")]
    pub plan: Option<PathBuf>,
    /// Columns of the plan.
    #[command(flatten)]
    pub columns: PlanColumns,
}

/// `list`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright list
  doughwright list --last 10 --recipe pizza
  doughwright list --plans                   # plans that `recommend` kept, and what became of them")]
pub struct ListArgs {
    /// Only this recipe
    #[arg(long)]
    pub recipe: Option<String>,
    /// Only the latest so many
    #[arg(long, value_name = "N")]
    pub last: Option<usize>,
    /// Plans kept, in place of batches
    #[arg(long)]
    pub plans: bool,
}

/// `show`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright show BATCH
  doughwright show BATCH --history    # with every former value")]
pub struct ShowArgs {
    /// The batch's id, as `list` shows it
    #[arg(value_name = "BATCH")]
    pub batch: String,
    /// Former values too
    #[arg(long)]
    pub history: bool,
}

/// `record`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright record                           # asks column by column
  doughwright record --plan ID --set dough_temp_c=23.5 room_temp_c='72 °F'
  doughwright record --reading 3=1.4           # of the latest batch, 3 h after mixing
  doughwright record --plan ID --reading 3=1.4 # of the batch that the plan is
  doughwright record --batch BATCH --set rise=2.3 ripeness=ready")]
pub struct RecordArgs {
    /// What was weighed or measured, without questions; nothing behind the = makes a column blank
    #[arg(long, value_name = "COLUMN=VALUE", num_args = 1..)]
    pub set: Vec<String>,
    /// A reading: hours since the end of mixing, and the rise; may be given again
    #[arg(long, value_name = "HOURS=RISE", num_args = 1..)]
    pub reading: Vec<String>,
    /// The plan that it was baked by: its weights and hours are taken where nothing else is said
    #[arg(long, value_name = "ID", conflicts_with = "batch")]
    pub plan: Option<String>,
    /// A batch that is in the logbook, to be finished or corrected [readings: default the latest]
    #[arg(long, value_name = "BATCH")]
    pub batch: Option<String>,
}

/// `template`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright template log.xlsx")]
pub struct TemplateArgs {
    /// Where to: a name ending in .xlsx
    #[arg(value_name = "FILE.xlsx")]
    pub file: PathBuf,
}

/// `export`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright export all.xlsx
  doughwright export all.csv         # readings and surroundings go beside it
  doughwright export - > batches.csv")]
pub struct ExportArgs {
    /// Where to: a name ending in .csv (readings and surroundings go beside it), .xlsx or .jsonl; - writes the
    /// batches as CSV to standard output
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
}

/// `backup`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright backup copy.db")]
pub struct BackupArgs {
    /// Where to
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
}

/// `undo`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright undo")]
pub struct UndoArgs {}
