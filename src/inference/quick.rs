//! The quick method: the mode of the posterior from several starts, a Student t around it shaped by the curvature
//! there, and Pareto-smoothed importance weights that correct it (and say, by k-hat, when they cannot; the weights are
//! then tempered, so that the answer rests on many draws and says that it is rough).
//!
//! Without any rise the answer is the prior itself, and says so.

use std::time::Instant;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

use super::fit::{Diagnostics, FEW_RISES, Fit, InferenceError, Method, Settings, Warning, seconds};
use super::laplace::Laplace;
use super::lots::Centring;
use super::minimise::{self, Minimum, Objective, minimise};
use super::posterior::Posterior;
use super::prepare::{Prepared, Ready, Records, prepare};
use super::psis::{self, Smoothed};
use super::unbend::Unbent;

/// Starts of the search: the medians of the priors, and so many draws about them.
const FURTHER_STARTS: usize = 3;
/// How far from the medians those draws lie, in prior standard deviations.
const START_SPREAD: f64 = 0.7;
/// Where the weights cannot be trusted, this share of the draws is made to count.
const LEAST_EFFECTIVE: f64 = 0.2;
/// Proposals weighed for each draw kept.
const PROPOSALS_A_DRAW: usize = 2;

impl Objective for Posterior {
    fn dim(&self) -> usize {
        self.layout.dim()
    }

    fn value_gradient(&self, x: &[f64], gradient: &mut [f64]) -> f64 {
        let value = self.log_density_gradient(x, gradient);
        gradient.iter_mut().for_each(|g| *g = -*g);
        -value
    }

    fn value(&self, x: &[f64]) -> f64 {
        -self.log_density(x)
    }
}

/// Fits a kitchen's records.
///
/// # Errors
/// When a setting is out of range, or no start leads to a mode.
pub fn fit(records: &Records, settings: &Settings) -> Result<Fit, InferenceError> {
    settings.validate()?;
    let begun = Instant::now();
    let ready = prepare(records);
    let rises = ready.batches.iter().map(Prepared::rises).sum();
    let warnings = warnings(&ready, rises);
    let index = ready.index.clone();
    let batches = ready.batches.len();
    let posterior = Posterior::new(ready, Centring::None);
    let unmeasured_fridge = !posterior.layout.fridge_offset.is_empty();
    let mut fit = Fit {
        index,
        unmeasured_fridge,
        batches,
        rises,
        draws: Vec::new(),
        diagnostics: Diagnostics::of(Method::Quick),
        warnings,
        mixing: Vec::new(),
    };
    if posterior.batches.iter().all(|b| b.prepared.is_silent()) {
        fit.draws = prior_draws(&posterior, settings);
        fit.diagnostics.method = Method::Prior;
    } else {
        let found = unbent_mode(&posterior, settings.seed)?;
        weigh(&found, settings, &mut fit);
        fit.diagnostics.gradient_evaluations = found.gradients;
    }
    fit.diagnostics.seconds = seconds(begun.elapsed());
    Ok(fit)
}

/// The mode with the most of the posterior about it, over all starts, and the gradients that all of them took.
///
/// # Errors
/// When no start leads to one.
pub fn mode(posterior: &Posterior, seed: u64) -> Result<(Minimum, usize), InferenceError> {
    let settings = minimise::Settings::default();
    let found: Vec<_> =
        starts(posterior, seed).par_iter().map(|x| minimise(posterior, x, &settings)).collect();
    let gradients = found.iter().flatten().map(|m| m.gradient_evaluations).sum();
    let mut why = String::new();
    let mut best: Option<(f64, Minimum)> = None;
    for outcome in found {
        match outcome {
            Ok(m) => {
                let mass = ln_mass(&m);
                if best.as_ref().is_none_or(|(most, _)| mass > *most) {
                    best = Some((mass, m));
                }
            }
            Err(e) => why = e.to_string(),
        }
    }
    best.map(|(_, b)| (b, gradients)).ok_or(InferenceError::NoMode(why))
}

/// The mode in coordinates in which the posterior is nearly normal.
pub(super) struct Found {
    /// The coordinates.
    pub unbent: Unbent,
    /// The mode in them.
    pub mode: Minimum,
    /// Gradients that it took.
    pub gradients: usize,
}

/// The mode, found in the posterior's own coordinates and refined in those of [`super::unbend`].
///
/// # Errors
/// When no start leads to one.
pub(super) fn unbent_mode(posterior: &Posterior, seed: u64) -> Result<Found, InferenceError> {
    let (mode, gradients) = mode(posterior, seed)?;
    let (unbent, u) = Unbent::new(posterior, &mode.x)?;
    let mode = minimise(&unbent, &u, &minimise::Settings::default())
        .map_err(|e| InferenceError::NoMode(e.to_string()))?;
    let gradients = gradients + mode.gradient_evaluations;
    Ok(Found { unbent, mode, gradients })
}

/// How much of the posterior lies about a mode, by Laplace's approximation and up to a constant: a high peak may be too
/// narrow to matter.
fn ln_mass(mode: &Minimum) -> f64 {
    mode.curvature.factor().map_or(f64::NEG_INFINITY, |f| -mode.value - 0.5 * f.ln_determinant())
}

fn starts(posterior: &Posterior, seed: u64) -> Vec<Vec<f64>> {
    let median = posterior.layout.prior_median();
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut starts = vec![median.clone()];
    while starts.len() <= FURTHER_STARTS {
        let moved = |m: &f64| {
            let z: f64 = StandardNormal.sample(&mut rng);
            m + START_SPREAD * z
        };
        let start: Vec<f64> = median.iter().map(moved).collect();
        if posterior.log_density(&start).is_finite() {
            starts.push(start);
        }
    }
    starts
}

fn weigh(Found { unbent, mode, .. }: &Found, settings: &Settings, fit: &mut Fit) {
    // The minimiser hands back a curvature that it has just factored.
    let Ok(proposal) = Laplace::new(mode) else {
        fit.warnings.push(Warning::UnevenWeights(f64::INFINITY));
        return;
    };
    let proposals = proposal.draws(settings.seed, settings.draws * PROPOSALS_A_DRAW);
    let log_ratios: Vec<f64> =
        proposals.par_iter().map(|d| unbent.log_density(&d.x) - d.log_density).collect();
    let weighted = psis::smooth(&log_ratios);
    fit.diagnostics.k_hat = Some(weighted.k_hat);
    fit.diagnostics.effective_draws = Some(weighted.effective());
    let chosen = if weighted.trusted() {
        psis::resample(&weighted, settings.draws, settings.seed)
    } else {
        fit.warnings.push(Warning::UnevenWeights(weighted.k_hat));
        psis::resample(&tempered(weighted), settings.draws, settings.seed)
    };
    fit.draws = chosen.into_iter().filter_map(|i| unbent.x(&proposals[i].x)).flatten().collect();
}

/// Weights too uneven to be trusted, raised to the largest power at which [`LEAST_EFFECTIVE`] of the draws count: the
/// answer then leans on the curvature at the mode rather than on a handful of draws.
fn tempered(weighted: Smoothed) -> Smoothed {
    let at = |power: f64| {
        let raised: Vec<f64> = weighted.log_weights.iter().map(|w| power * w).collect();
        let most = raised.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let total = most + raised.iter().map(|w| (w - most).exp()).sum::<f64>().ln();
        Smoothed { log_weights: raised.into_iter().map(|w| w - total).collect(), k_hat: weighted.k_hat }
    };
    let enough = LEAST_EFFECTIVE * weighted.log_weights.len() as f64;
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..20 {
        let middle = 0.5 * (low + high);
        if at(middle).effective() >= enough { low = middle } else { high = middle }
    }
    at(low)
}

/// Draws of the shared parameters from their priors, those outside the support drawn again.
fn prior_draws(posterior: &Posterior, settings: &Settings) -> Vec<f64> {
    let mut rng = ChaCha8Rng::seed_from_u64(settings.seed);
    let mut draws = Vec::new();
    for _ in 0..settings.draws {
        let x = loop {
            let x = posterior.layout.draw_prior(|| StandardNormal.sample(&mut rng));
            if posterior.layout.parameters(&x).is_some() {
                break x;
            }
        };
        draws.extend(x);
    }
    draws
}

/// What to know of records before they are fitted.
pub(super) fn warnings(ready: &Ready, rises: usize) -> Vec<Warning> {
    let mut said = Vec::new();
    match rises {
        0 => {
            let judged = ready.batches.iter().filter(|p| p.judged.is_some()).count();
            said.push(if judged > 0 { Warning::VerdictsOnly(judged) } else { Warning::NoRises });
        }
        n if n <= FEW_RISES => said.push(Warning::FewRises(n)),
        _ => {
            let hours =
                |p: &Prepared| p.course.segments.iter().map(|s| (s.hours, s.around_c)).collect::<Vec<_>>();
            let mut risen = ready.batches.iter().filter(|p| p.rises() > 0).map(hours);
            if let Some(first) = risen.next()
                && risen.all(|other| other == first)
            {
                said.push(Warning::OneSchedule);
            }
        }
    }
    said.extend(ready.assumptions.iter().map(|(a, n)| Warning::Assumed(*a, *n)));
    said
}

impl Diagnostics {
    /// Of a method, before anything was measured.
    pub fn of(method: Method) -> Self {
        Self {
            method,
            seconds: 0.0,
            gradient_evaluations: 0,
            k_hat: None,
            effective_draws: None,
            divergences: None,
            min_ess_bulk: None,
            elpd_loo: None,
        }
    }
}
