//! Pareto-smoothed importance sampling: draws from one distribution made to stand for another.
//!
//! Each draw carries the log ratio of the density wanted to the density drawn from. The largest ratios, about
//! 3 sqrt(S) of S, are replaced by the expected order statistics of the generalised Pareto distribution fitted to
//! them; its shape k-hat says how far the weights can be trusted: below min(0.7, 1 - 1/log10(S)) they can.
//!
//! - [`smooth`] weights and k-hat · [`resample`] equally weighted draws
//! - [`loo`](loo()) leave-one-out predictive accuracy from the same draws, without fitting again
//!
//! Source: Vehtari, Simpson, Gelman, Yao & Gabry 2024, *Journal of Machine Learning Research* 25(72):1-58; Zhang &
//! Stephens 2009, *Technometrics* 51:316-325, for the fit (see `pareto`).

mod loo;
mod pareto;

pub use loo::{Drawn, Loo, LooError, Observation, loo};

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Fewer ratios than this in the tail cannot be fitted.
const FEWEST_IN_TAIL: usize = 5;

/// Smoothed weights, one a draw.
#[derive(Clone, Debug, PartialEq)]
pub struct Smoothed {
    /// Natural logarithms of the weights, which sum to one.
    pub log_weights: Vec<f64>,
    /// The shape of the tail of the ratios. Minus infinity if they are all alike; infinity, so that nobody trusts
    /// them, if the tail is too short to fit, or a ratio was not a number.
    pub k_hat: f64,
}

impl Smoothed {
    /// The weights, one a draw, which sum to one.
    pub fn weights(&self) -> Vec<f64> {
        self.log_weights.iter().map(|w| w.exp()).collect()
    }

    /// How many equally weighted draws these are worth: 1 / sum of the squared weights.
    pub fn effective(&self) -> f64 {
        1.0 / self.log_weights.iter().map(|w| (2.0 * w).exp()).sum::<f64>()
    }

    /// Whether k-hat lies below the limit for so many draws.
    pub fn trusted(&self) -> bool {
        self.k_hat < good_k(self.log_weights.len())
    }
}

/// The limit of k-hat below which `draws` weighted draws can be trusted: min(0.7, 1 - 1/log10(draws)).
pub fn good_k(draws: usize) -> f64 {
    (1.0 - 1.0 / (draws as f64).log10()).min(0.7)
}

/// Smooths the log ratios (natural logarithms, one a draw) of independent draws. A draw whose ratio is minus infinity
/// or not a number gets no weight; if no draw has any, all weigh alike.
///
/// DIFFERENCE: for ratios that are all alike ArviZ 0.23 gives infinity as k-hat, though such weights are perfect.
pub fn smooth(log_ratios: &[f64]) -> Smoothed {
    smooth_correlated(log_ratios, 1.0)
}

/// The same for draws of a chain, of which the part `efficiency` (effective size over number, above 0) is effective.
pub fn smooth_correlated(log_ratios: &[f64], efficiency: f64) -> Smoothed {
    let sound = log_ratios.iter().all(|ratio| !ratio.is_nan() && *ratio < f64::INFINITY);
    let numbers =
        || log_ratios.iter().map(|ratio| if ratio.is_finite() { *ratio } else { f64::NEG_INFINITY });
    let most = numbers().fold(f64::NEG_INFINITY, f64::max);
    if most == f64::NEG_INFINITY {
        let alike = -(log_ratios.len() as f64).ln();
        return Smoothed { log_weights: vec![alike; log_ratios.len()], k_hat: f64::INFINITY };
    }
    let mut log_weights: Vec<f64> = numbers().map(|ratio| ratio - most).collect();
    let k_hat = if log_weights.iter().all(|&w| w == 0.0) {
        f64::NEG_INFINITY
    } else {
        smooth_tail(&mut log_weights, efficiency).unwrap_or(f64::INFINITY)
    };
    let total = log_sum_exp(log_weights.iter().copied());
    for weight in &mut log_weights {
        *weight -= total;
    }
    Smoothed { log_weights, k_hat: if sound { k_hat } else { f64::INFINITY } }
}

/// Replaces the tail of log ratios, the largest of which is zero, and gives k-hat; `None` if it cannot be fitted.
fn smooth_tail(log_ratios: &mut [f64], efficiency: f64) -> Option<f64> {
    let count = log_ratios.len() as f64;
    let length = (count / 5.0).min(3.0 * (count / efficiency).sqrt()).ceil() as usize;
    let mut order: Vec<usize> = (0..log_ratios.len()).collect();
    order.sort_by(|&a, &b| log_ratios[a].total_cmp(&log_ratios[b]));
    let last_of_body = order.len().checked_sub(length + 1)?;
    // Ratios below the least normal number cannot be told from zero.
    let cutoff = log_ratios[order[last_of_body]].max(f64::MIN_POSITIVE.ln());
    let tail = &order[order.partition_point(|&place| log_ratios[place] <= cutoff)..];
    if tail.len() < FEWEST_IN_TAIL {
        return None;
    }
    let excesses: Vec<f64> = tail.iter().map(|&place| log_ratios[place].exp() - cutoff.exp()).collect();
    let fitted = pareto::fit(&excesses)?;
    for (rank, &place) in tail.iter().enumerate() {
        let expected = fitted.quantile((rank as f64 + 0.5) / tail.len() as f64);
        log_ratios[place] = (expected + cutoff.exp()).ln().min(0.0);
    }
    Some(fitted.shape)
}

/// Places of `count` draws chosen in proportion to their weights, in rising order and with repeats: one at each of
/// `count` equal steps of the summed weights, from a start drawn with `seed`.
///
/// Systematic resampling (Kitagawa 1996): a draw of weight w comes floor(count w) or ceil(count w) times.
pub fn resample(smoothed: &Smoothed, count: usize, seed: u64) -> Vec<usize> {
    let start: f64 = ChaCha8Rng::seed_from_u64(seed).random();
    let Some(last) = smoothed.log_weights.iter().rposition(|w| *w > f64::NEG_INFINITY) else {
        return Vec::new();
    };
    let mut chosen = Vec::with_capacity(count);
    let mut summed = 0.0;
    for (place, log_weight) in smoothed.log_weights.iter().enumerate() {
        summed += log_weight.exp() * count as f64;
        while chosen.len() < count && (chosen.len() as f64 + start < summed || place == last) {
            chosen.push(place);
        }
    }
    chosen
}

/// ln of the sum of the exponentials; minus infinity if there are none.
fn log_sum_exp(x: impl Iterator<Item = f64> + Clone) -> f64 {
    let most = x.clone().fold(f64::NEG_INFINITY, f64::max);
    if most == f64::NEG_INFINITY {
        return most;
    }
    most + x.map(|x| (x - most).exp()).sum::<f64>().ln()
}

#[cfg(test)]
mod tests;
