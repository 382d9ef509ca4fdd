//! The full method, end to end: the mode, the chains from there, and what the chains say of themselves.

use std::sync::atomic::AtomicBool;
use std::time::Instant;

use super::diagnostics::{ess_bulk, ess_tail, rhat};
use super::fit::{Diagnostics, Fit, InferenceError, Method, Mixing, Settings, Warning, seconds};
use super::lots::Centring;
use super::posterior::Posterior;
use super::prepare::{Prepared, Records, prepare};
use super::quick;
use super::sampler::{ChainDraws, Progress, sample};

/// Above this R-hat chains disagree (Vehtari et al. 2021).
const GOOD_RHAT: f64 = 1.01;
/// Below this bulk or tail effective size, in all chains together, figures wobble (100 a chain, ibid.).
const GOOD_ESS: f64 = 400.0;

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
    settings.validate()?;
    let begun = Instant::now();
    let ready = prepare(records);
    if ready.batches.iter().all(Prepared::is_silent) {
        return quick::fit(records, settings);
    }
    let rises = ready.batches.iter().map(Prepared::rises).sum();
    let mut warnings = quick::warnings(&ready, rises);
    let index = ready.index.clone();
    let batches = ready.batches.len();
    let posterior = Posterior::new(ready, Centring::None);
    let found = quick::unbent_mode(&posterior, settings.seed)?;
    let chains = sample(&found.unbent, &found.mode, settings, progress, stop)?;
    let mixing = mixing(&posterior, &chains);
    let mut diagnostics = Diagnostics::of(Method::Full);
    diagnostics.gradient_evaluations = found.gradients + chains.iter().map(|c| c.gradients).sum::<usize>();
    diagnostics.divergences = Some(chains.iter().map(|c| c.divergences).sum());
    diagnostics.min_ess_bulk = mixing.iter().map(|m| m.ess_bulk).reduce(f64::min);
    warnings.extend(judge(&diagnostics, &mixing, &chains));
    let draws = chains.iter().flat_map(|c| c.draws.iter().flatten().copied()).collect();
    diagnostics.seconds = seconds(begun.elapsed());
    Ok(Fit {
        index,
        unmeasured_fridge: !posterior.layout.fridge_offset.is_empty(),
        batches,
        rises,
        draws,
        diagnostics,
        warnings,
        mixing,
    })
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
    said
}
