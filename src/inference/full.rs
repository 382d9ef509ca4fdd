//! The full method, end to end: the mode, the chains from there, and what the chains say of themselves.
//!
//! Sources: those of [`super::sampler`] and [`super::diagnostics`].

use std::sync::atomic::AtomicBool;
use std::time::Instant;

use crate::dough::Batch;

use super::diagnostics::{ebfmi, ess_bulk, ess_tail, mcse_mean, rhat};
use super::fit::{Diagnostics, Fit, InferenceError, Method, Mixing, Settings, Warning, seconds};
use super::left_out::LeftOut;
use super::lots::Centring;
use super::posterior::Posterior;
use super::prepare::{Prepared, Ready, Records, prepare};
use super::quick;
use super::sampler::{ChainDraws, Progress, sample};

/// Above this R-hat chains disagree (Vehtari et al. 2021).
const GOOD_RHAT: f64 = 1.01;
/// Below this bulk or tail effective size, in all chains together, figures wobble (100 a chain, ibid.).
const GOOD_ESS: f64 = 400.0;

/// Below this E-BFMI a chain hardly reaches the tails (common practice).
const GOOD_EBFMI: f64 = 0.3;

/// Gradients a draw takes, and seconds a batch takes of each, about: for telling whether the wait is worth it.
const GRADIENTS_A_DRAW: f64 = 8.0;
const SECONDS_A_BATCH: f64 = 0.6e-6;

/// The longest that a fit is waited for without being asked to, in s.
pub const WORTH_WAITING_S: f64 = 3.0;

/// About how many seconds the chains of so many batches take on the cores of this machine.
pub fn expected_seconds(batches: usize, settings: &Settings) -> f64 {
    let draws = settings.chains * (settings.warmup + settings.draws);
    let at_once = settings.chains.min(rayon::current_num_threads()).max(1);
    draws as f64 * GRADIENTS_A_DRAW * batches as f64 * SECONDS_A_BATCH / at_once as f64
}

/// Fits a kitchen's records by sampling; without any observation the answer is the prior.
///
/// # Errors
/// When a setting is out of range, no mode or start is found, or it was stopped.
pub fn fit(
    records: &Records,
    settings: &Settings,
    progress: Progress<'_>,
    stop: &AtomicBool,
) -> Result<Fit, InferenceError> {
    fit_ready(prepare(records), &records.batches, settings, progress, stop)
}

/// Fits records made ready from `batches`, under the beliefs of their index.
///
/// # Errors
/// As [`fit`].
pub fn fit_ready(
    ready: Ready,
    batches: &[Batch],
    settings: &Settings,
    progress: Progress<'_>,
    stop: &AtomicBool,
) -> Result<Fit, InferenceError> {
    settings.validate()?;
    let begun = Instant::now();
    if ready.batches.iter().all(Prepared::is_silent) {
        return quick::fit_ready(ready, batches, settings);
    }
    let rises = ready.batches.iter().map(Prepared::rises).sum();
    let mut warnings = quick::warnings(&ready, batches, rises);
    let index = ready.index.clone();
    let posterior = Posterior::new(ready, Centring::None);
    let found = quick::unbent_mode(&posterior, settings)?;
    let chains = sample(&found.upright, &found.mode, settings, progress, stop)?;
    let mixing = mixing(&posterior, &chains);
    let mut diagnostics = Diagnostics::of(Method::Full);
    diagnostics.gradient_evaluations = found.gradients + chains.iter().map(|c| c.gradients).sum::<usize>();
    diagnostics.divergences = Some(chains.iter().map(|c| c.divergences).sum());
    diagnostics.deep_trees = Some(chains.iter().map(|c| c.deepest).sum());
    diagnostics.ebfmi = chains.iter().filter_map(|c| ebfmi(&c.energy)).reduce(f64::min);
    diagnostics.min_ess_bulk = mixing.iter().map(|m| m.ess_bulk).reduce(f64::min);
    warnings.extend(judge(&diagnostics, &mixing, &chains));
    let draws = chains.iter().flat_map(|c| c.draws.iter().flatten().copied()).collect();
    let left_out = left_out(&posterior, &chains, &mixing);
    let mut fit = Fit {
        index,
        unmeasured_fridge: !posterior.layout.fridge_offset.is_empty(),
        batches: batches.len(),
        rises,
        draws,
        diagnostics,
        warnings,
        mixing,
    };
    fit.keep_left_out(left_out, batches);
    fit.name_far_off(posterior.batches.iter().map(|b| &b.prepared), batches);
    fit.diagnostics.seconds = seconds(begun.elapsed());
    Ok(fit)
}

/// What leaving each batch out says, from evenly spaced draws of the chains.
fn left_out(posterior: &Posterior, chains: &[ChainDraws], mixing: &[Mixing]) -> Option<LeftOut> {
    let all: Vec<&Vec<f64>> = chains.iter().flat_map(|c| &c.draws).collect();
    let rows = posterior.tabled(&all)?;
    let effective = mixing.iter().map(|m| m.ess_bulk).sum::<f64>() / mixing.len() as f64;
    // Thinned draws are the more worth the fewer they are.
    posterior.left_out(&rows, effective / rows.len() as f64)
}

/// R-hat and effective sizes of each parameter's value; NaN where the chains do not move.
fn mixing(posterior: &Posterior, chains: &[ChainDraws]) -> Vec<Mixing> {
    let of = |i: usize| {
        let values: Vec<Vec<f64>> =
            chains.iter().map(|c| c.draws.iter().map(|x| posterior.layout.value(x, i)).collect()).collect();
        Mixing {
            rhat: rhat(&values).unwrap_or(f64::NAN),
            ess_bulk: ess_bulk(&values).unwrap_or(f64::NAN),
            ess_tail: ess_tail(&values).unwrap_or(f64::NAN),
            mcse_mean: mcse_mean(&values).unwrap_or(f64::NAN),
        }
    };
    (0..posterior.dim()).map(of).collect()
}

/// What is wrong with the chains, in words.
fn judge(diagnostics: &Diagnostics, mixing: &[Mixing], chains: &[ChainDraws]) -> Vec<Warning> {
    let mut said = Vec::new();
    let worst = mixing.iter().map(|m| m.rhat).fold(1.0, f64::max);
    if worst > GOOD_RHAT || mixing.iter().any(|m| m.rhat.is_nan()) {
        said.push(Warning::ChainsDisagree(worst));
    }
    let least = mixing.iter().map(|m| m.ess_bulk.min(m.ess_tail)).fold(f64::INFINITY, f64::min);
    if least < GOOD_ESS {
        said.push(Warning::FewEffectiveDraws(least));
    }
    if let Some(n) = diagnostics.divergences.filter(|n| *n > 0) {
        said.push(Warning::Divergences(n));
    }
    let deepest: usize = chains.iter().map(|c| c.deepest).sum();
    if deepest > 0 {
        said.push(Warning::DeepTrees(deepest));
    }
    if let Some(b) = diagnostics.ebfmi.filter(|b| *b < GOOD_EBFMI) {
        said.push(Warning::StuckEnergy(b));
    }
    said
}
