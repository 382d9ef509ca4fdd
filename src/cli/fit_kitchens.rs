//! `fit --all-kitchens`: one fit for every kitchen of the logbook, over all cores.
//!
//! Kitchens are read and fitted some dozens at a time, so that memory does not grow with their number. With `--pool` all are
//! fitted twice: first each by itself, then under priors moved to where the kitchens lie.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::time::Instant;

use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;

use crate::inference::beliefs::{Beliefs, Moved};
use crate::inference::fit::{Fit, InferenceError, Settings};
use crate::inference::pool::{Said, pooled, said};
use crate::inference::prepare::{Records, prepare};
use crate::inference::quick;
use crate::logbook::Logbook;

use super::args::{FitArgs, FitMethod};
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::kept;
use super::output::answer;
use super::progress::while_doing;
use super::text::{bullets, table};
use crate::answers::words;

/// Kitchens held at a time.
const AT_A_TIME: usize = 64;

/// The answer of `fit --all-kitchens`.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Answer {
    kitchens: Vec<OfKitchen>,
    seconds: f64,
    /// Priors that the kitchens taught one another, by parameter, in prior standard deviations.
    pooled: BTreeMap<String, Moved>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct OfKitchen {
    kitchen: String,
    batches: usize,
    rises: usize,
    k_hat: Option<f64>,
    elpd_loo: Option<f64>,
    warnings: Vec<String>,
    /// Why there is no fit.
    problem: Option<String>,
}

/// Runs the command.
pub fn run(context: &Context, args: &FitArgs, settings: &Settings) -> Outcome {
    if args.method == Some(FitMethod::Full) {
        return Err(Failure::Call(
            "--all-kitchens takes the quick method: fit one kitchen fully with --kitchen NAME --method full"
                .into(),
        ));
    }
    let begun = Instant::now();
    let mut logbook = context.open()?;
    let names = logbook.kitchens()?;
    let mut beliefs = Beliefs::default();
    if args.questions.pool {
        let mut all: Vec<Vec<Said>> = Vec::new();
        each(context, &logbook, &names, &beliefs, settings, |_, fit| {
            all.extend(fit.ok().map(|f| said(&f)));
            Ok(())
        })?;
        beliefs.pooled = pooled(&all);
    }
    let mut kitchens = Vec::new();
    let mut records = Vec::new();
    for some in names.chunks(AT_A_TIME) {
        each(context, &logbook, some, &beliefs, settings, |kitchen, fit| {
            kitchens.push(OfKitchen::new(kitchen, &fit));
            if let Ok(fit) = fit {
                records.push(kept::record(&fit, kitchen, settings, logbook.data_hash(kitchen)?));
            }
            Ok(())
        })?;
        for record in records.drain(..) {
            logbook.keep_fit(&record)?;
        }
    }
    let failed = kitchens.iter().any(|k| k.problem.is_some());
    let answered = Answer { kitchens, seconds: begun.elapsed().as_secs_f64(), pooled: beliefs.pooled };
    answer(context, &answered, || text(&answered))?;
    Ok(if failed { Done::InPart } else { Done::All })
}

/// Fits kitchens, some at a time over the cores, and hands them over in order.
fn each(
    context: &Context,
    logbook: &Logbook,
    names: &[String],
    beliefs: &Beliefs,
    settings: &Settings,
    mut take: impl FnMut(&str, Result<Fit, InferenceError>) -> Result<(), Failure>,
) -> Result<(), Failure> {
    for some in names.chunks(AT_A_TIME) {
        let records: Vec<Records> =
            some.iter().map(|k| context.records(logbook, k)).collect::<Result<_, _>>()?;
        let one = |r: &Records| quick::fit_ready(prepare(r).believing(beliefs.clone()), &r.batches, settings);
        let fits: Vec<Result<Fit, InferenceError>> =
            while_doing("fitting kitchens", || records.par_iter().map(one).collect());
        for (kitchen, fit) in some.iter().zip(fits) {
            take(kitchen, fit)?;
        }
    }
    Ok(())
}

impl OfKitchen {
    fn new(kitchen: &str, fit: &Result<Fit, InferenceError>) -> Self {
        match fit {
            Ok(fit) => Self {
                kitchen: kitchen.into(),
                batches: fit.batches,
                rises: fit.rises,
                k_hat: fit.diagnostics.k_hat,
                elpd_loo: fit.diagnostics.elpd_loo,
                warnings: fit.warnings.iter().map(|w| w.says()).collect(),
                problem: None,
            },
            Err(e) => Self {
                kitchen: kitchen.into(),
                batches: 0,
                rises: 0,
                k_hat: None,
                elpd_loo: None,
                warnings: Vec::new(),
                problem: Some(e.to_string()),
            },
        }
    }
}

fn text(answer: &Answer) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{} kitchens fitted in {:.1} s", answer.kitchens.len(), answer.seconds);
    let mut rows = vec![["kitchen", "batches", "rises", "k-hat", "elpd", ""].map(String::from).to_vec()];
    for k in &answer.kitchens {
        let number = |x: Option<f64>| x.map_or(String::new(), |x| format!("{x:.2}"));
        let note = match (&k.problem, k.warnings.len()) {
            (Some(problem), _) => problem.clone(),
            (None, 0) => String::new(),
            (None, n) => format!("{n} to know: see `fit --kitchen {}`", k.kitchen),
        };
        rows.push(vec![
            k.kitchen.clone(),
            k.batches.to_string(),
            k.rises.to_string(),
            number(k.k_hat),
            number(k.elpd_loo),
            note,
        ]);
    }
    let _ = writeln!(out, "{}{}. {}.", table(&rows), words::K_HAT, words::ELPD);
    let moved = |(name, m): (&String, &Moved)| {
        format!("{name}: {:+.2} prior standard deviations, spread {:.2} of it", m.mean, m.sd)
    };
    let lines: Vec<String> = answer.pooled.iter().map(moved).collect();
    bullets(&mut out, "The kitchens taught one another:", &lines);
    out
}
