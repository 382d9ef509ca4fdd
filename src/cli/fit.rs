//! `fit`: what the records say about the parameters.

use std::fmt::Write;
use std::sync::atomic::AtomicBool;

use indicatif::{MultiProgress, ProgressBar, ProgressStyle};
use serde::Serialize;

use crate::inference::fit::{Fit, Method, Settings, Summary};
use crate::inference::{full, quick};

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
    let settings = Settings { seed: args.seed, draws: args.draws, chains: args.chains, warmup: args.warmup };
    let fit = match args.method {
        FitMethod::Quick => quick::fit(&records, &settings)?,
        FitMethod::Full => {
            let bars = Bars::new(settings.chains);
            let never = AtomicBool::new(false);
            full::fit(&records, &settings, &|chain, done, total| bars.show(chain, done, total), &never)?
        }
    };
    let hash = logbook.data_hash(&kitchen)?;
    logbook.keep_fit(&kept::record(&fit, &kitchen, &settings, hash))?;
    let fitted = Fitted::new(&kitchen, &fit);
    answer(context, &fitted, || text(&fitted))?;
    Ok(Done::All)
}

/// One bar a chain on standard error; none when that is not a terminal. A kill leaves the logbook as it was, since the
/// fit is written in one step at the end.
struct Bars(Vec<ProgressBar>);

impl Bars {
    fn new(chains: usize) -> Self {
        let all = MultiProgress::new();
        let bar = |i: usize| {
            let bar = all.add(ProgressBar::new(1));
            if let Ok(style) = ProgressStyle::with_template("{msg} {wide_bar} {pos}/{len} {eta}") {
                bar.set_style(style);
            }
            bar.set_message(format!("chain {}", i + 1));
            bar
        };
        Self((0..chains).map(bar).collect())
    }

    fn show(&self, chain: usize, done: usize, total: usize) {
        if let Some(bar) = self.0.get(chain) {
            bar.set_length(total as u64);
            bar.set_position(done as u64);
            if done == total {
                bar.finish_and_clear();
            }
        }
    }
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
