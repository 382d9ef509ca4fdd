//! `charts`: a kitchen's habits as pictures to pin on the wall.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use schemars::JsonSchema;
use serde::Serialize;

use crate::answers::habits::habits;
use crate::charts::{Figure, Scheme};
use crate::dough::units::UnitSystem;
use crate::inference::fit::Fit;
use crate::inference::prepare::Records;

use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::files::write_whole;
use super::kitchen::Kitchen;
use super::output::answer;
use super::progress::while_doing;
use super::residuals::{CHART_PX, write_figures};
use super::text::{bullets, counted};

/// Dots to a pixel of a PNG: sharp on paper of letter size.
const PNG_SCALE: f32 = 2.0;

/// `charts`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright charts
  doughwright charts --png --out wall")]
pub struct ChartsArgs {
    /// Folder for the charts
    #[arg(long, value_name = "DIR", default_value = "charts")]
    pub out: PathBuf,
    /// As PNG as well, for printing and messages
    #[arg(long)]
    pub png: bool,
}

/// The answer of `charts`.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Answer {
    /// The charts' files.
    pub charts: Vec<PathBuf>,
    /// What each shows, in words.
    says: Vec<String>,
    /// What to know of the fit behind them.
    warnings: Vec<String>,
}

/// Runs the command.
pub fn run(context: &Context, args: &ChartsArgs) -> Outcome {
    let mut kitchen = Kitchen::open(context)?;
    let (records, fit) = kitchen.fit(context)?;
    let told =
        while_doing("drawing the charts", || draw(&fit, &records, context.units, &args.out, args.png))?;
    answer(context, &told, || text(&told, args))?;
    Ok(Done::All)
}

/// Writes the charts into a folder, on demand as PNG too.
pub fn draw(
    fit: &Fit,
    records: &Records,
    units: UnitSystem,
    out: &Path,
    png: bool,
) -> Result<Answer, Failure> {
    let found = habits(fit, records, units, CHART_PX)?;
    let figures: Vec<Figure> = found.wall.into_iter().chain(found.lots).collect();
    let mut charts = write_figures(&figures, out)?;
    if png {
        charts.extend(figures.iter().map(|f| write_png(f, out)).collect::<Result<Vec<_>, _>>()?);
    }
    Ok(Answer {
        charts,
        says: figures.into_iter().map(|f| f.description).collect(),
        warnings: fit.warnings.iter().map(|w| w.says()).collect(),
    })
}

fn write_png(figure: &Figure, out: &Path) -> Result<PathBuf, Failure> {
    let path = out.join(format!("{}.png", figure.name));
    write_whole(&path, figure.png(Scheme::Light, PNG_SCALE)?)?;
    Ok(path)
}

fn text(told: &Answer, args: &ChartsArgs) -> String {
    let mut out = String::new();
    for says in &told.says {
        let _ = writeln!(out, "{says}\n");
    }
    let _ = writeln!(out, "{} in {}", counted(told.charts.len(), "chart", "charts"), args.out.display());
    bullets(&mut out, "About the fit", &told.warnings);
    out
}
