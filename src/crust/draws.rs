//! The posterior of an ordered regression as draws: mode, Student t around it, importance weights smoothed; and what each
//! batch would have been foretold by all the others.
//!
//! Rarely given scores make the posterior lopsided in their thresholds, so that the t about the mode covers it badly.
//! It is moved to the mean and the covariance of the weighted draws, and drawn from anew (population Monte Carlo;
//! Cappé, Guillin, Marin & Robert 2004, *J Comput Graph Stat* 13:907-929). Limits: one mode; k-hat says when the draws
//! are not to be trusted.

use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

use super::ordered::{Coefficients, Ordered};
use crate::inference::curvature::Curvature;
use crate::inference::laplace::{Laplace, Proposal};
use crate::inference::minimise::{MinimiseError, Minimum, Objective, Settings, minimise};
use crate::inference::psis::{self, Smoothed};

/// Draws weighed.
pub const PROPOSALS: usize = 4_000;
/// How often the proposal is moved.
const MOVES: usize = 3;
/// It is moved when so many draws a parameter count.
const ENOUGH: f64 = 5.0;
/// Draws kept.
const KEPT: usize = 400;
const SEED: u64 = 1_980;

/// Batches too influential to be left out by weights are left out by fitting again, so many at most.
const FITTED_AGAIN: usize = 20;

/// Draws of one regression.
#[derive(Debug, Clone)]
pub struct Draws {
    /// Equally weighted draws.
    pub kept: Vec<Coefficients>,
    /// k-hat of the importance weights: below 0.7 the draws can be trusted.
    pub k_hat: f64,
    /// For each batch the chance of each class, foretold from all other batches.
    pub left_out: Vec<Vec<f64>>,
}

/// Draws from a proposal with what makes them stand for the posterior.
struct Weighed {
    draws: Vec<Proposal>,
    /// Log of posterior over proposal, up to a constant.
    log_ratios: Vec<f64>,
    smoothed: Smoothed,
}

impl Draws {
    /// Of a regression.
    ///
    /// # Errors
    /// When the search for the mode does not end.
    pub fn of(model: &Ordered) -> Result<Self, MinimiseError> {
        let all = Weighed::of(model)?;
        let coefficients = all.coefficients(model);
        let kept = psis::resample(&all.smoothed, KEPT, SEED).into_iter().map(|i| coefficients[i].clone());
        let pointwise: Vec<Vec<f64>> = all.draws.par_iter().map(|d| model.pointwise(&d.x)).collect();
        let without = |batch: usize| {
            let ratios = all.log_ratios.iter().zip(&pointwise).map(|(ratio, log)| ratio - log[batch]);
            let weights = psis::smooth(&ratios.collect::<Vec<f64>>());
            (chances(&weights, &coefficients, &model.x[batch], model.classes), weights.k_hat)
        };
        let (mut left_out, k_hats): (Vec<Vec<f64>>, Vec<f64>) =
            (0..model.y.len()).into_par_iter().map(without).unzip();
        let limit = psis::good_k(PROPOSALS);
        let influential = (0..k_hats.len()).filter(|b| k_hats[*b] > limit).take(FITTED_AGAIN);
        for batch in influential {
            left_out[batch] = fitted_without(model, batch)?;
        }
        Ok(Self { kept: kept.collect(), k_hat: all.smoothed.k_hat, left_out })
    }
}

/// The chance of each class of a batch, by a fit to all others.
fn fitted_without(model: &Ordered, batch: usize) -> Result<Vec<f64>, MinimiseError> {
    let mut others = model.clone();
    others.x.remove(batch);
    others.y.remove(batch);
    let weighed = Weighed::of(&others)?;
    Ok(chances(&weighed.smoothed, &weighed.coefficients(&others), &model.x[batch], model.classes))
}

impl Weighed {
    fn of(model: &Ordered) -> Result<Self, MinimiseError> {
        let mut around = minimise(model, &model.start(), &Settings::default())?;
        let mut best = Self::about(model, &around)?;
        for _ in 0..MOVES {
            let Some(moved) = moved(&around, &best.draws, &best.smoothed) else { break };
            let other = Self::about(model, &moved)?;
            if other.smoothed.k_hat >= best.smoothed.k_hat {
                break;
            }
            (around, best) = (moved, other);
        }
        Ok(best)
    }

    /// From the Student t about a point.
    fn about(model: &Ordered, point: &Minimum) -> Result<Self, MinimiseError> {
        let around = Laplace::new(point).map_err(|source| MinimiseError::NotAMinimum {
            value: point.value,
            x: point.x.clone(),
            source,
        })?;
        let ratio =
            |d: Proposal| Some((-model.value(&d.x) - d.log_density, d)).filter(|(r, _)| r.is_finite());
        // Draws outside the support weigh nothing.
        let drawn: Vec<(f64, Proposal)> =
            around.draws(SEED, PROPOSALS).into_par_iter().filter_map(ratio).collect();
        let (log_ratios, draws): (Vec<f64>, Vec<Proposal>) = drawn.into_iter().unzip();
        Ok(Self { smoothed: psis::smooth(&log_ratios), draws, log_ratios })
    }

    fn coefficients(&self, model: &Ordered) -> Vec<Coefficients> {
        self.draws.iter().map(|d| model.read(&d.x)).collect()
    }
}

/// The proposal at the mean and with the covariance of weighted draws; `None` when too few of them count.
fn moved(about: &Minimum, draws: &[Proposal], weighted: &Smoothed) -> Option<Minimum> {
    let dim = about.x.len();
    if weighted.effective() < ENOUGH * dim as f64 {
        return None;
    }
    let weights = weighted.weights();
    let mut mean = DVector::zeros(dim);
    for (w, d) in weights.iter().zip(draws) {
        mean += *w * DVector::from_column_slice(&d.x);
    }
    let mut covariance = DMatrix::zeros(dim, dim);
    for (w, d) in weights.iter().zip(draws) {
        let away = DVector::from_column_slice(&d.x) - &mean;
        covariance.ger(*w, &away, &away, 1.0);
    }
    let precision = covariance.cholesky()?.inverse();
    Some(Minimum { x: mean.as_slice().to_vec(), curvature: Curvature(precision), ..about.clone() })
}

/// The chance of each class of a batch under weighted draws.
fn chances(weights: &Smoothed, draws: &[Coefficients], x: &[f64], classes: usize) -> Vec<f64> {
    let mut below = vec![0.0; classes];
    below[classes - 1] = 1.0;
    for (weight, draw) in weights.weights().iter().zip(draws) {
        for (sum, below) in below.iter_mut().zip(draw.below(draw.predictor(x))) {
            *sum += weight * below;
        }
    }
    let mut last = 0.0;
    below.iter_mut().for_each(|b| {
        let up_to = *b;
        *b -= last;
        last = up_to;
    });
    below
}
