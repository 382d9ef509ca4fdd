//! The posterior of an ordered regression as draws: mode, Student t around it, importance weights smoothed; and what each
//! batch would have been foretold by all the others.

use rayon::prelude::*;

use super::ordered::{Coefficients, Ordered};
use crate::inference::laplace::Laplace;
use crate::inference::minimise::{MinimiseError, Objective, Settings, minimise};
use crate::inference::psis::{self, Smoothed};

/// Draws weighed.
const PROPOSALS: usize = 2_000;
/// Draws kept.
const KEPT: usize = 400;
const SEED: u64 = 1_980;

/// Draws of one regression.
#[derive(Debug, Clone)]
pub struct Draws {
    /// Equally weighted draws.
    pub kept: Vec<Coefficients>,
    /// k-hat of the importance weights: below 0.7 the draws can be trusted.
    pub k_hat: f64,
    /// For each batch the chance of each class, foretold from all other batches.
    pub left_out: Vec<Vec<f64>>,
    /// The largest k-hat of the weights that leave a batch out.
    pub left_out_k_hat: f64,
}

impl Draws {
    /// Of a regression.
    ///
    /// # Errors
    /// When the search for the mode does not end.
    pub fn of(model: &Ordered) -> Result<Self, MinimiseError> {
        let mode = minimise(model, &model.start(), &Settings::default())?;
        let around = Laplace::new(&mode)
            .map_err(|source| MinimiseError::NotAMinimum { value: mode.value, x: mode.x.clone(), source })?;
        let proposals = around.draws(SEED, PROPOSALS);
        let log_ratios: Vec<f64> =
            proposals.par_iter().map(|d| -model.value(&d.x) - d.log_density).collect();
        let weighted = psis::smooth(&log_ratios);
        let all: Vec<Coefficients> = proposals.iter().map(|d| model.read(&d.x)).collect();
        let kept = psis::resample(&weighted, KEPT, SEED).into_iter().map(|i| all[i].clone()).collect();
        let pointwise: Vec<Vec<f64>> = proposals.par_iter().map(|d| model.pointwise(&d.x)).collect();
        let without = |batch: usize| {
            let ratios = log_ratios.iter().zip(&pointwise).map(|(ratio, log)| ratio - log[batch]);
            let weights = psis::smooth(&ratios.collect::<Vec<f64>>());
            (chances(&weights, &all, &model.x[batch], model.classes), weights.k_hat)
        };
        let left_out: Vec<(Vec<f64>, f64)> =
            (0..model.y.len()).into_par_iter().map(without).collect();
        Ok(Self {
            kept,
            k_hat: weighted.k_hat,
            left_out_k_hat: left_out.iter().map(|l| l.1).fold(f64::NEG_INFINITY, f64::max),
            left_out: left_out.into_iter().map(|l| l.0).collect(),
        })
    }
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
