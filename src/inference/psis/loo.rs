//! Leave-one-out predictive accuracy by importance sampling: how well each observation is foretold from all the others.
//!
//! Leaving observation i out divides the posterior by p(y_i | draw), so the draws at hand, weighted by 1 / p(y_i | draw)
//! and smoothed, stand for the fit without it. Expected log predictive density: elpd = sum over i of
//! ln sum over draws of w p(y_i | draw), in nats; higher is better.
//!
//! Source: Vehtari, Gelman & Gabry 2017, *Statistics and Computing* 27:1413-1432, with the smoothing of Vehtari et al.
//! 2024. Limits: an observation with k-hat above the limit is too influential to be left out without fitting
//! again. The standard error takes observations as independent, with n below as in ArviZ (R's loo has n - 1).

use super::{good_k, log_sum_exp, smooth, smooth_correlated};
use rayon::prelude::*;
use thiserror::Error;

/// Leave-one-out predictive accuracy.
#[derive(Clone, Debug, PartialEq)]
pub struct Loo {
    /// Expected log predictive density of all observations, nats.
    pub elpd: f64,
    /// Its standard error, nats.
    pub standard_error: f64,
    /// Effective number of parameters: how much better the observations are foretold when they were seen.
    pub parameters: f64,
    /// Each observation, in the order given.
    pub observations: Vec<Observation>,
    /// The limit of k-hat for so many draws.
    pub good_k: f64,
}

/// One observation left out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observation {
    /// Its expected log predictive density, nats.
    pub elpd: f64,
    /// k-hat of the weights that leave it out.
    pub k_hat: f64,
}

impl Loo {
    /// Places of the observations too influential to be left out this way.
    pub fn influential(&self) -> Vec<usize> {
        let beyond = |(place, one): (usize, &Observation)| (one.k_hat > self.good_k).then_some(place);
        self.observations.iter().enumerate().filter_map(beyond).collect()
    }
}

/// Why there is no leave-one-out result.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
pub enum LooError {
    /// No draw, or no observation.
    #[error("there are no draws, or no observations")]
    Empty,
    /// There is not one log ratio a draw.
    #[error("there are {ratios} log ratios for {draws} draws")]
    WrongRatios {
        /// Log ratios given.
        ratios: usize,
        /// Draws given.
        draws: usize,
    },
    /// The draws disagree about the number of observations.
    #[error("draw {draw} has {has} observations where the first has {wanted}")]
    Ragged {
        /// Which draw, from 0.
        draw: usize,
        /// Observations it has.
        has: usize,
        /// Observations of the first draw.
        wanted: usize,
    },
    /// A log likelihood that is not a finite number.
    #[error("the log likelihood of observation {observation} at draw {draw} is {value}")]
    NotFinite {
        /// Which draw, from 0.
        draw: usize,
        /// Which observation, from 0.
        observation: usize,
        /// The value.
        value: f64,
    },
}

/// Where the draws come from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Drawn<'a> {
    /// From the posterior, by chains of which this part of the draws is effective (1 for independent draws).
    FromPosterior(f64),
    /// From a stand-in, with these log ratios of posterior to stand-in; independent.
    FromProposal(&'a [f64]),
}

/// Leaves out each observation in turn, from its log likelihood at each draw, `log_likelihood[draw][observation]` in
/// nats.
///
/// # Errors
/// When there is nothing to leave out, the draws have unlike numbers of observations, there is not one log ratio a draw,
/// or a log likelihood is not finite.
pub fn loo(log_likelihood: &[Vec<f64>], drawn: Drawn) -> Result<Loo, LooError> {
    check(log_likelihood, drawn)?;
    let whole = match drawn {
        Drawn::FromPosterior(_) => smooth(&vec![0.0; log_likelihood.len()]),
        Drawn::FromProposal(log_ratios) => smooth(log_ratios),
    };
    let one = |place: usize| {
        let column: Vec<f64> = log_likelihood.iter().map(|draw| draw[place]).collect();
        let without = match drawn {
            Drawn::FromPosterior(efficiency) => {
                smooth_correlated(&column.iter().map(|l| -l).collect::<Vec<f64>>(), efficiency)
            }
            Drawn::FromProposal(ratios) => {
                smooth(&ratios.iter().zip(&column).map(|(ratio, l)| ratio - l).collect::<Vec<f64>>())
            }
        };
        let density = |log_weights: &[f64]| log_sum_exp(log_weights.iter().zip(&column).map(|(w, l)| w + l));
        let observation = Observation { elpd: density(&without.log_weights), k_hat: without.k_hat };
        (observation, density(&whole.log_weights))
    };
    let count = log_likelihood[0].len();
    let (observations, seen): (Vec<Observation>, Vec<f64>) = (0..count).into_par_iter().map(one).unzip();
    let elpd: f64 = observations.iter().map(|one| one.elpd).sum();
    let mean = elpd / count as f64;
    let deviations: f64 = observations.iter().map(|one| (one.elpd - mean).powi(2)).sum();
    Ok(Loo {
        elpd,
        standard_error: deviations.sqrt(),
        parameters: seen.iter().sum::<f64>() - elpd,
        observations,
        good_k: good_k(log_likelihood.len()),
    })
}

fn check(log_likelihood: &[Vec<f64>], drawn: Drawn) -> Result<(), LooError> {
    let wanted = log_likelihood.first().map_or(0, Vec::len);
    if wanted == 0 {
        return Err(LooError::Empty);
    }
    if let Drawn::FromProposal(ratios) = drawn
        && ratios.len() != log_likelihood.len()
    {
        return Err(LooError::WrongRatios { ratios: ratios.len(), draws: log_likelihood.len() });
    }
    for (draw, values) in log_likelihood.iter().enumerate() {
        if values.len() != wanted {
            return Err(LooError::Ragged { draw, has: values.len(), wanted });
        }
        if let Some(observation) = values.iter().position(|value| !value.is_finite()) {
            return Err(LooError::NotFinite { draw, observation, value: values[observation] });
        }
    }
    Ok(())
}
