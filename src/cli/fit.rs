//! `fit`: what the records say about the parameters.

use std::fmt::Write;

use serde::Serialize;

use crate::inference::fit::{Fit, Method, Settings, Summary};
use crate::inference::quick;

use super::args::{FitArgs, FitMethod};
use super::context::Context;
use super::failure::{Done, Outcome};
use super::kept;
use super::output::answer;
use super::text::{bullets, table, trimmed};

/// The answer of `fit`.
#[derive(Debug, Serialize)]
pub struct Fitted {
    kitchen: String,
    batches: usize,
    rises: usize,
    method: Method,
    seconds: f64,
    gradient_evaluations: usize,
    parameters: Vec<Summary>,
    divergences: Option<usize>,
    min_ess_bulk: Option<f64>,
    k_hat: Option<f64>,
    elpd_loo: Option<f64>,
    warnings: Vec<String>,
}

impl Fitted {
    /// From a fit.
    pub fn new(kitchen: &str, fit: &Fit) -> Self {
        let d = &fit.diagnostics;
        Self {
            kitchen: kitchen.into(),
            batches: fit.batches,
            rises: fit.rises,
            method: d.method,
            seconds: d.seconds,
            gradient_evaluations: d.gradient_evaluations,
            parameters: fit.parameters(),
            divergences: d.divergences,
            min_ess_bulk: d.min_ess_bulk,
            k_hat: d.k_hat,
            elpd_loo: d.elpd_loo,
            warnings: fit.warnings.iter().map(|w| w.says()).collect(),
        }
    }
}

/// Runs the command.
pub fn run(context: &Context, args: &FitArgs) -> Outcome {
    let mut logbook = context.open()?;
    let kitchen = context.kitchen(&logbook)?;
    let records = context.records(&logbook, &kitchen)?;
    let settings = Settings { seed: args.seed, draws: args.draws, ..Settings::default() };
    let fit = match args.method {
        FitMethod::Quick => quick::fit(&records, &settings)?,
    };
    let hash = logbook.data_hash(&kitchen)?;
    logbook.keep_fit(&kept::record(&fit, &kitchen, &settings, hash))?;
    let fitted = Fitted::new(&kitchen, &fit);
    answer(context, &fitted, || text(&fitted))?;
    Ok(Done::All)
}

/// The answer as text.
pub fn text(fitted: &Fitted) -> String {
    let mut out = String::new();
    let _ = writeln!(
        out,
        "Kitchen '{}': {} batches, {} rises, fitted in {:.2} s ({} method)",
        fitted.kitchen, fitted.batches, fitted.rises, fitted.seconds, fitted.method
    );
    bullets(&mut out, "To know:", &fitted.warnings);
    let mut rows =
        vec![["parameter", "middle", "9 of 10 between", "and", "unit", ""].map(String::from).to_vec()];
    for p in &fitted.parameters {
        let number = |x: f64| {
            trimmed(
                x,
                if x.abs() >= 100.0 {
                    0
                } else if x.abs() >= 10.0 {
                    1
                } else {
                    3
                },
            )
        };
        rows.push(vec![
            p.name.clone(),
            number(p.q50),
            number(p.q05),
            number(p.q95),
            p.unit.into(),
            p.meaning.into(),
        ]);
    }
    out.push_str(&table(&rows));
    out
}
