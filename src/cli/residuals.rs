//! `residuals`: where the fit misses, as charts and figures.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use schemars::JsonSchema;
use serde::Serialize;

pub use crate::answers::residuals::{coverage, find, fit_in_words, observations};
use crate::charts::{Figure, residual_panel};
use crate::dough::units::UnitSystem;
use crate::frame::{self, Group};
use crate::inference::prepare::Records;
use crate::inference::residuals::{Residual, inside, rms_log};

use super::args::ResidualsArgs;
use super::context::Context;
use super::drawn;
use super::failure::{Done, Failure, Outcome};
use super::files::write_whole;
use super::kitchen::Kitchen;
use super::output::answer;
use super::text::{bullets, counted, table};

/// Width of a chart in a file, in px.
pub const CHART_PX: u32 = 900;

/// The answer of `residuals`.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Answer {
    /// Readings compared.
    pub readings: usize,
    /// Root mean square of ln(observed/predicted).
    pub rms_log: Option<f64>,
    /// Share of readings inside the 50 % intervals.
    pub coverage_50: Option<f64>,
    /// Share of readings inside the 80 % intervals.
    pub coverage_80: Option<f64>,
    /// Share of readings inside the 90 % intervals.
    pub coverage_90: Option<f64>,
    /// Residuals by flour lot.
    pub by_flour_lot: Vec<Group>,
    /// Batches with the largest residuals.
    pub worst: Vec<Worst>,
    /// The charts' files.
    pub charts: Vec<PathBuf>,
    /// What to know of the fit behind it.
    pub warnings: Vec<String>,
    /// The figures in words.
    #[serde(skip)]
    in_words: Vec<String>,
}

/// A batch that the fit misses by much.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Worst {
    batch_id: String,
    observed: f64,
    predicted: f64,
}

/// Runs the command.
pub fn run(context: &Context, args: &ResidualsArgs) -> Outcome {
    let mut kitchen = Kitchen::open(context)?;
    let (records, fit) = kitchen.fit(context)?;
    let found = find(&fit, &records)?;
    if found.is_empty() {
        return Err(Failure::Work(format!(
            "kitchen '{}' has no measured rise yet, so nothing can be compared",
            kitchen.name
        )));
    }
    let mut told = tell(&found, &records, context.units, &args.out)?;
    told.warnings = fit.warnings.iter().map(|w| w.says()).collect();
    let picture = |columns| drawn::misses(&observations(&found, &records.batches), columns);
    answer(context, &told, || text(&told, &context.columns.map(picture).unwrap_or_default()))?;
    Ok(Done::All)
}

/// Figures and charts of residuals; the charts are written into a folder.
pub fn tell(found: &[Residual], records: &Records, units: UnitSystem, out: &Path) -> Result<Answer, Failure> {
    let n = found.len();
    let share = |nominal| (n > 0).then(|| inside(found, nominal) as f64 / n as f64);
    let framed = frame::residuals(found, &records.batches).map_err(unframed)?;
    let worst = frame::worst(&framed, 3).map_err(unframed)?;
    let figures = residual_panel(&observations(found, &records.batches), &coverage(found), units, CHART_PX)?;
    Ok(Answer {
        readings: n,
        rms_log: rms_log(found),
        coverage_50: share(0.50),
        coverage_80: share(0.80),
        coverage_90: share(0.90),
        by_flour_lot: frame::grouped(&framed, "flour_lot").map_err(unframed)?,
        worst: worst_rows(&worst).map_err(unframed)?,
        charts: write_figures(&figures, out)?,
        warnings: Vec::new(),
        in_words: fit_in_words(found),
    })
}

fn unframed(e: polars::prelude::PolarsError) -> Failure {
    Failure::Work(format!("the residuals cannot be tabulated: {e}"))
}

fn worst_rows(worst: &polars::prelude::DataFrame) -> polars::prelude::PolarsResult<Vec<Worst>> {
    let (ids, observed, predicted) = (
        worst.column("batch_id")?.str()?,
        worst.column("observed")?.f64()?,
        worst.column("predicted")?.f64()?,
    );
    Ok((0..worst.height())
        .map(|i| Worst {
            batch_id: ids.get(i).unwrap_or_default().to_string(),
            observed: observed.get(i).unwrap_or(f64::NAN),
            predicted: predicted.get(i).unwrap_or(f64::NAN),
        })
        .collect())
}

/// Writes charts into a folder, which is made if need be.
pub fn write_figures(figures: &[Figure], out: &Path) -> Result<Vec<PathBuf>, Failure> {
    std::fs::create_dir_all(out).map_err(|e| Failure::write(out, e))?;
    figures
        .iter()
        .map(|figure| {
            let path = out.join(format!("{}.svg", figure.name));
            write_whole(&path, &figure.svg)?;
            Ok(path)
        })
        .collect()
}

/// The answer as text, with its small chart.
pub fn text(told: &Answer, picture: &str) -> String {
    let mut out = String::new();
    for sentence in &told.in_words {
        let _ = writeln!(out, "{sentence}");
    }
    if told.by_flour_lot.len() > 1 {
        let mut rows = vec![["flour lot", "readings", "mean miss", "spread"].map(String::from).to_vec()];
        for g in &told.by_flour_lot {
            let percent = |x: f64| format!("{:+.1} %", 100.0 * x.exp_m1());
            rows.push(vec![
                g.name.clone(),
                g.count.to_string(),
                percent(g.mean_log),
                format!("{:.1} %", 100.0 * g.rms_log.exp_m1()),
            ]);
        }
        out.push_str(&table(&rows));
    }
    for w in &told.worst {
        let _ = writeln!(
            out,
            "look at batch {}: rose {:.2} times, {:.2} expected",
            w.batch_id, w.observed, w.predicted
        );
    }
    out.push_str(picture);
    bullets(&mut out, "About the fit:", &told.warnings);
    if let Some(first) = told.charts.first().and_then(|p| p.parent()) {
        let _ = writeln!(out, "{} in {}", counted(told.charts.len(), "chart", "charts"), first.display());
    }
    out
}
