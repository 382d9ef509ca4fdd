//! The quick method: the mode of the posterior from several starts, a Student t around it shaped by the curvature
//! there, and Pareto-smoothed importance weights that correct it. Where they are uneven, the t moves to the mean and the
//! covariance that they give, and is weighed again. k-hat says when the weights cannot be trusted even so; they are then
//! tempered, so that the answer rests on many draws and says that it is rough.
//!
//! Without any rise the answer is the prior itself, and says so.
//!
//! Sources: those of [`super::minimise`], [`super::laplace`] and [`super::psis`]; a proposal moved by its weights: Bugallo et
//! al. 2017, *IEEE Signal Processing Magazine* 34(4):60-79. Limits: one mode.

use std::time::Instant;

use nalgebra::{DMatrix, DVector};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

use crate::dough::Batch;

use super::curvature::Curvature;
use super::fit::{Diagnostics, FEW_RISES, Fit, InferenceError, Method, Settings, Warning, seconds};
use super::laplace::{DEGREES_OF_FREEDOM, Laplace, Proposal};
use super::lean::Upright;
use super::left_out::LeftOut;
use super::lots::Centring;
use super::minimise::{self, Minimum, Objective, minimise};
use super::posterior::Posterior;
use super::prepare::{Lot, Prepared, Ready, Records, prepare};
use super::psis::{self, Smoothed};
use super::rows::contradiction;
use super::unbend::Unbent;

/// How far from the medians of the priors the further starts of the search lie, in prior standard deviations.
const START_SPREAD: f64 = 0.7;
/// Where the weights cannot be trusted, this share of the draws is made to count.
const LEAST_EFFECTIVE: f64 = 0.2;
/// Above this k-hat the proposals move, at most so many times.
const UNEVEN: f64 = 0.5;
const MOVES: u64 = 3;
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
    fit_ready(prepare(records), &records.batches, settings)
}

/// Fits records made ready from `batches`, under the beliefs of their index.
///
/// # Errors
/// As [`fit`].
pub fn fit_ready(ready: Ready, batches: &[Batch], settings: &Settings) -> Result<Fit, InferenceError> {
    settings.validate()?;
    let begun = Instant::now();
    let rises = ready.batches.iter().map(Prepared::rises).sum();
    let warnings = warnings(&ready, batches, rises);
    let index = ready.index.clone();
    let posterior = Posterior::new(ready, Centring::None);
    let unmeasured_fridge = !posterior.layout.fridge_offset.is_empty();
    let mut fit = Fit {
        index,
        unmeasured_fridge,
        batches: batches.len(),
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
        let found = unbent_mode(&posterior, settings)?;
        let left_out = weigh(&posterior, &found, settings, &mut fit);
        fit.keep_left_out(left_out, batches);
        fit.diagnostics.gradient_evaluations = found.gradients;
    }
    fit.name_far_off(posterior.batches.iter().map(|b| &b.prepared), batches);
    fit.diagnostics.seconds = seconds(begun.elapsed());
    Ok(fit)
}

/// The mode with the most of the posterior about it, over all starts, and the gradients that all of them took.
///
/// # Errors
/// When no start leads to one.
pub fn mode(posterior: &Posterior, seed: u64) -> Result<(Minimum, usize), InferenceError> {
    mode_from(posterior, seed, Settings::default().further_starts)
}

fn mode_from(posterior: &Posterior, seed: u64, further: usize) -> Result<(Minimum, usize), InferenceError> {
    let settings = minimise::Settings::default();
    let found: Vec<_> =
        starts(posterior, seed, further).par_iter().map(|x| minimise(posterior, x, &settings)).collect();
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
    pub upright: Upright,
    /// The mode in them.
    pub mode: Minimum,
    /// Gradients that it took.
    pub gradients: usize,
}

/// The mode, found in the posterior's own coordinates and refined in those of [`super::unbend`] and [`super::lean`].
///
/// # Errors
/// When no start leads to one.
pub(super) fn unbent_mode(posterior: &Posterior, settings: &Settings) -> Result<Found, InferenceError> {
    // One start alone may fail where several do not.
    let (mode, gradients) = mode_from(posterior, settings.seed, settings.further_starts)
        .or_else(|_| mode(posterior, settings.seed))?;
    let (unbent, u) = Unbent::new(posterior, &mode.x)?;
    let found = |o: &dyn Objective, from: &[f64]| {
        minimise(o, from, &minimise::Settings::default()).map_err(|e| InferenceError::NoMode(e.to_string()))
    };
    let leaning = found(&unbent, &u)?;
    let upright = Upright::new(unbent, &leaning)?;
    let mode = found(&upright, &upright.centre())?;
    let gradients = gradients + leaning.gradient_evaluations + mode.gradient_evaluations;
    Ok(Found { upright, mode, gradients })
}

/// How much of the posterior lies about a mode, by Laplace's approximation and up to a constant: a high peak may be too
/// narrow to matter.
fn ln_mass(mode: &Minimum) -> f64 {
    mode.curvature.factor().map_or(f64::NEG_INFINITY, |f| -mode.value - 0.5 * f.ln_determinant())
}

fn starts(posterior: &Posterior, seed: u64, further: usize) -> Vec<Vec<f64>> {
    let median = posterior.layout.prior_median();
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut starts = vec![median.clone()];
    while starts.len() <= further {
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

/// Draws about the mode, weighed and chosen; also what leaving each batch out says.
fn weigh(posterior: &Posterior, found: &Found, settings: &Settings, fit: &mut Fit) -> Option<LeftOut> {
    // The minimiser hands back a curvature that it has just factored.
    let Some(mut weighed) = Weighed::new(found, settings) else {
        fit.warnings.push(Warning::UnevenWeights(f64::INFINITY));
        return None;
    };
    let (k_hat, effective) = (weighed.weights.k_hat, weighed.weights.effective());
    fit.diagnostics.k_hat = Some(k_hat);
    fit.diagnostics.effective_draws = Some(effective);
    if !weighed.weights.trusted() {
        fit.warnings.push(Warning::UnevenWeights(k_hat));
        weighed.weights = tempered(weighed.weights);
    }
    let draws = weighed.draws(found, settings);
    fit.draws = draws.concat();
    // A batch is left out from the draws that the answer rests on, tempered or not.
    let rows = posterior.tabled(&draws.iter().collect::<Vec<_>>())?;
    posterior.left_out(&rows, effective / settings.draws as f64)
}

/// Proposals about a mode with the weights that correct them.
struct Weighed {
    proposals: Vec<Proposal>,
    weights: Smoothed,
}

impl Weighed {
    /// `None` when the curvature has no factor.
    fn new(found: &Found, settings: &Settings) -> Option<Self> {
        let count = settings.draws * PROPOSALS_A_DRAW;
        let weigh = |laplace: &Laplace, seed: u64| {
            let proposals = laplace.draws(seed, count);
            let log_ratios: Vec<f64> =
                proposals.par_iter().map(|d| found.upright.log_density(&d.x) - d.log_density).collect();
            Self { proposals, weights: psis::smooth(&log_ratios) }
        };
        let mut best = weigh(&Laplace::new(&found.mode).ok()?, settings.seed);
        for time in 1..=MOVES {
            if best.weights.k_hat < UNEVEN {
                break;
            }
            let Some(moved) = best.moved() else { break };
            let next = weigh(&moved, settings.seed.wrapping_add(time));
            if next.weights.k_hat < best.weights.k_hat {
                best = next;
            }
        }
        Some(best)
    }

    /// A proposal with the mean and the covariance of the weighed ones; `None` when that has no inverse.
    fn moved(&self) -> Option<Laplace> {
        let weights = match self.weights.trusted() {
            true => self.weights.clone(),
            false => tempered(self.weights.clone()),
        };
        let weighed = || self.proposals.iter().zip(&weights.log_weights).map(|(p, w)| (&p.x, w.exp()));
        let dim = self.proposals.first()?.x.len();
        let mut centre = DVector::zeros(dim);
        weighed().for_each(|(x, w)| centre.axpy(w, &DVector::from_column_slice(x), 1.0));
        let mut covariance = DMatrix::zeros(dim, dim);
        for (x, w) in weighed() {
            let away = DVector::from_column_slice(x) - &centre;
            covariance.ger(w, &away, &away, 1.0);
        }
        let curvature = Curvature(covariance.cholesky()?.inverse());
        Laplace::about(centre.data.into(), &curvature, DEGREES_OF_FREEDOM).ok()
    }

    /// Draws of x, chosen by their weights.
    fn draws(&self, found: &Found, settings: &Settings) -> Vec<Vec<f64>> {
        let chosen = psis::resample(&self.weights, settings.draws, settings.seed);
        chosen.into_iter().filter_map(|i| found.upright.x(&self.proposals[i].x)).collect()
    }
}

/// Draws of x; `None` where k-hat says that they are not to be trusted.
///
/// # Errors
/// When no mode is found.
pub(super) fn trusted_draws(
    posterior: &Posterior,
    settings: &Settings,
) -> Result<Option<Vec<Vec<f64>>>, InferenceError> {
    let found = unbent_mode(posterior, settings)?;
    let weighed = Weighed::new(&found, settings).filter(|w| w.weights.trusted());
    Ok(weighed.map(|w| w.draws(&found, settings)))
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
        draws.extend(posterior.layout.draw_possible(|| StandardNormal.sample(&mut rng)));
    }
    draws
}

/// What to know of records before they are fitted.
pub(super) fn warnings(ready: &Ready, batches: &[Batch], rises: usize) -> Vec<Warning> {
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
    if let Some((low, high)) = contradiction(batches) {
        let named = |i: usize| {
            let id = batches[i].batch_id.clone().unwrap_or_else(|| format!("number {}", i + 1));
            (id, batches[i].rise.unwrap_or(f64::NAN))
        };
        said.push(Warning::Contradiction([named(low), named(high)]));
    }
    let lots = |kind: &str, lots: &[Lot]| -> Vec<String> {
        let once = lots.iter().filter(|l| l.batches == 1 && lots.len() > 1);
        once.map(|l| format!("{kind} lot {}", l.name)).collect()
    };
    let once = [lots("flour", &ready.index.flour_lots), lots("yeast", &ready.index.yeast_lots)].concat();
    if !once.is_empty() && rises > 0 {
        said.push(Warning::LotsOnce(once));
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
            deep_trees: None,
            ebfmi: None,
            elpd_loo: None,
            elpd_loo_se: None,
            worst_pareto_k: None,
        }
    }
}
