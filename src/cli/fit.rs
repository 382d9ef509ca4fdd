//! `fit`: what the records say about the parameters.

use std::fmt::Write;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use schemars::JsonSchema;
use serde::Serialize;
use signal_hook::consts::SIGINT;
use signal_hook::flag;

use crate::answers::crust_side;
use crate::dough::units::UnitSystem;
use crate::inference::beliefs::Beliefs;
use crate::inference::compare::{Candidate, Comparison, compare};
use crate::inference::drift::{Change, Periods, change};
use crate::inference::fit::{Fit, InferenceError, Method, Settings, Summary, Warning};
use crate::inference::prepare::{Records, prepare};
use crate::inference::{full, quick};
use crate::logbook::Logbook;

use super::args::{FitArgs, FitMethod};
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::fit_args::DriftChoice;
use super::fit_check::{self, Checked};
use super::fit_gaps::{self, Gaps};
use super::output::answer;
use super::progress::{Bars, while_doing};
use super::text::{bullets, counted, table, trimmed};
use super::{fit_compare, fit_kitchens, kept};

/// The answer of `fit`.
#[derive(Debug, Serialize, JsonSchema)]
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
    elpd_loo_se: Option<f64>,
    worst_pareto_k: Option<f64>,
    ebfmi: Option<f64>,
    deep_trees: Option<usize>,
    warnings: Vec<String>,
    /// The surest change of a drifting vigour.
    drift: Option<Change>,
    #[serde(skip_serializing_if = "Option::is_none")]
    comparison: Option<Comparison>,
    #[serde(skip_serializing_if = "Option::is_none")]
    check: Option<Checked>,
    #[serde(skip_serializing_if = "Option::is_none")]
    gaps: Option<Gaps>,
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
            elpd_loo_se: d.elpd_loo_se,
            worst_pareto_k: d.worst_pareto_k,
            ebfmi: d.ebfmi,
            deep_trees: d.deep_trees,
            warnings: fit.warnings.iter().map(|w| w.says()).collect(),
            drift: change(fit),
            comparison: None,
            check: None,
            gaps: None,
        }
    }
}

/// Runs the command.
pub fn run(context: &Context, args: &FitArgs) -> Outcome {
    let asked = &args.questions;
    let usual = if asked.all_kitchens { Settings::brief() } else { Settings::default() };
    let settings = Settings {
        seed: args.seed,
        draws: args.draws.unwrap_or(usual.draws),
        chains: args.chains,
        warmup: args.warmup,
        ..usual
    };
    if asked.all_kitchens {
        return fit_kitchens::run(context, args, &settings);
    }
    let mut logbook = context.open()?;
    let kitchen = context.kitchen(&logbook)?;
    let records = context.records(&logbook, &kitchen)?;
    let method = args.method.unwrap_or_else(|| usual_method(records.batches.len(), &settings));
    let beliefs = believed(asked.drift, &logbook, &kitchen, &records)?;
    let mut fit = made(&records, beliefs.clone(), &settings, method)?;
    if asked.drift == DriftChoice::On && fit.index.beliefs.drift.is_none() {
        fit.warnings.push(Warning::NoDrift);
    }
    let mut comparison = None;
    if asked.compare {
        let usual = Beliefs { drift: None, ..beliefs };
        let mut drifting = None;
        comparison = compare(&records, &usual, &settings, &mut |candidate, beliefs| {
            context.note(&format!("fitting: {}", candidate.says()));
            let fit = made(&records, beliefs, &settings, method)?;
            if candidate == Candidate::Drift {
                drifting = Some(fit.clone());
            }
            Ok(fit)
        })?;
        match &comparison {
            None => context.note("a comparison needs at least ten batches with their rise at the end"),
            Some(c) if asked.drift == DriftChoice::Auto => {
                let kept = if c.drift_favoured { drifting } else { None };
                fit = match kept {
                    Some(drifting) => drifting,
                    None if fit.index.beliefs.drift.is_some() => made(&records, usual, &settings, method)?,
                    None => fit,
                };
            }
            Some(_) => {}
        }
    }
    let hash = logbook.data_hash(&kitchen)?;
    logbook.keep_fit(&kept::record(&fit, &kitchen, &settings, hash))?;
    // Kept now, so that advice need not wait for it.
    crust_side::kept_foreteller(&mut logbook, &kitchen, &records, &fit)?;
    let fitted = Fitted {
        comparison,
        check: asked
            .check
            .then(|| {
                while_doing("criticising the fit", || fit_check::check(&fit, &records, args.seed, &asked.out))
            })
            .transpose()?,
        gaps: asked
            .gaps
            .then(|| while_doing("weighing measurements", || fit_gaps::gaps(&fit, &records, args.seed))),
        ..Fitted::new(&kitchen, &fit)
    };
    answer(context, &fitted, || all_text(&fitted, context.units))?;
    Ok(Done::All)
}

/// What is believed of a kitchen: as at its last fit, but for a choice about drift.
fn believed(
    drift: DriftChoice,
    logbook: &Logbook,
    kitchen: &str,
    records: &Records,
) -> Result<Beliefs, Failure> {
    let before = logbook.latest_fit(kitchen)?.and_then(|r| kept::beliefs(&r)).unwrap_or_default();
    let drifts = match drift {
        DriftChoice::Auto => before.drift.is_some(),
        DriftChoice::On => true,
        DriftChoice::Off => false,
    };
    let drift = if drifts { Periods::over(&records.batches) } else { None };
    Ok(Beliefs { drift, ..before })
}

/// Full where it is quick enough to wait for.
fn usual_method(batches: usize, settings: &Settings) -> FitMethod {
    if full::expected_seconds(batches, settings) < full::WORTH_WAITING_S {
        FitMethod::Full
    } else {
        FitMethod::Quick
    }
}

/// A fit by either method. Ctrl-C ends the full one between two draws, with nothing written.
fn made(
    records: &Records,
    beliefs: Beliefs,
    settings: &Settings,
    method: FitMethod,
) -> Result<Fit, InferenceError> {
    let ready = prepare(records).believing(beliefs);
    match method {
        FitMethod::Quick => while_doing("fitting", || quick::fit_ready(ready, &records.batches, settings)),
        FitMethod::Full => {
            let bars = Bars::new(settings.chains);
            let stop = Arc::new(AtomicBool::new(false));
            // Without the hook Ctrl-C ends the program at once, which leaves the logbook as it was too.
            let _ = flag::register(SIGINT, Arc::clone(&stop));
            let show = |chain, done, total| bars.show(chain, done, total);
            full::fit_ready(ready, &records.batches, settings, &show, &stop)
        }
    }
}

/// The answer with all that was asked beside it, as text.
fn all_text(fitted: &Fitted, units: UnitSystem) -> String {
    let mut out = said(fitted);
    let mut add = |part: Option<String>| {
        if let Some(part) = part {
            out.push('\n');
            out.push_str(&part);
        }
    };
    add(fitted.comparison.as_ref().map(fit_compare::text));
    add(fitted.check.as_ref().map(fit_check::text));
    add(fitted.gaps.as_ref().map(|g| fit_gaps::text(g, units)));
    add(Some(parameters(fitted)));
    out
}

/// What was fitted and what to know of it.
fn said(fitted: &Fitted) -> String {
    let mut out = String::new();
    let _ = writeln!(
        out,
        "Kitchen '{}': {}, {}, fitted in {:.2} s ({} method)",
        fitted.kitchen,
        counted(fitted.batches, "batch", "batches"),
        counted(fitted.rises, "rise", "rises"),
        fitted.seconds,
        fitted.method
    );
    if let Some(change) = &fitted.drift {
        let _ = writeln!(out, "{}", change.says());
    }
    let _ = writeln!(
        out,
        "Kept in the logbook: `recommend`, `predict` and `report` answer from it; `residuals` shows how it meets each batch."
    );
    bullets(&mut out, "To know:", &fitted.warnings);
    out
}

/// What the fit makes of the kitchen, a line a parameter.
fn parameters(fitted: &Fitted) -> String {
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
    table(&rows)
}
