//! The generalised Pareto distribution fitted to the excesses of a tail.
//!
//! Distribution function 1 - (1 + k x / sigma)^(-1/k) for excesses x > 0, shape k, scale sigma > 0. Given theta =
//! -k / sigma, the most likely k is the mean of ln(1 - theta x), so that only theta need be searched, and its posterior
//! mean over a grid needs no iteration. The shape is then drawn towards 1/2 as if by ten further observations.
//!
//! Source: Zhang & Stephens 2009, *Technometrics* 51:316-325 (grid, prior from the lower quartile, posterior mean);
//! Vehtari et al. 2024, appendix, for the pull towards 1/2. Limits: excesses above zero and not all alike.

/// The grid has this many points and sqrt(n) more.
const GRID: usize = 30;
/// How many times the lower quartile the prior's scale is.
const QUARTILES: f64 = 3.0;
/// Observations' worth of the prior for the shape, and its place.
const PRIOR_COUNT: f64 = 10.0;
const PRIOR_SHAPE: f64 = 0.5;

/// A fitted tail.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Tail {
    /// k: the tail has moments of every order below 1/k.
    pub(super) shape: f64,
    /// sigma, in the unit of the excesses.
    pub(super) scale: f64,
}

/// Fits excesses given in rising order; `None` if they are too much alike or too small for a finite fit.
pub(super) fn fit(excesses: &[f64]) -> Option<Tail> {
    let count = excesses.len() as f64;
    let largest = *excesses.last()?;
    let quartile = excesses[((count / 4.0 + 0.5).floor() as usize).max(1) - 1];
    let points = GRID + count.sqrt() as usize;
    let shape_at = |theta: f64| excesses.iter().map(|x| (-theta * x).ln_1p()).sum::<f64>() / count;
    let thetas: Vec<f64> = (1..=points)
        .map(|i| {
            let spread = 1.0 - (points as f64 / (i as f64 - 0.5)).sqrt();
            1.0 / largest + spread / (QUARTILES * quartile)
        })
        .collect();
    let log_likelihood = |theta: f64| {
        let shape = shape_at(theta);
        count * ((-theta / shape).ln() - shape - 1.0)
    };
    let log_likelihoods: Vec<f64> = thetas.iter().map(|&theta| log_likelihood(theta)).collect();
    let total = super::log_sum_exp(log_likelihoods.iter().copied());
    let theta: f64 = thetas.iter().zip(&log_likelihoods).map(|(theta, l)| theta * (l - total).exp()).sum();
    let shape = shape_at(theta);
    let tail = Tail {
        shape: (count * shape + PRIOR_COUNT * PRIOR_SHAPE) / (count + PRIOR_COUNT),
        scale: -shape / theta,
    };
    (tail.shape.is_finite() && tail.scale.is_finite() && tail.scale > 0.0).then_some(tail)
}

impl Tail {
    /// The excess with this probability below it, strictly between 0 and 1.
    pub(super) fn quantile(&self, probability: f64) -> f64 {
        let exponential = -(-probability).ln_1p();
        let unit = if self.shape.abs() < f64::EPSILON {
            exponential
        } else {
            (self.shape * exponential).exp_m1() / self.shape
        };
        self.scale * unit
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Excesses at the plotting positions of a known tail give its shape back, but for the pull towards 1/2.
    #[test]
    fn finds_a_known_shape() {
        for shape in [-0.3, 0.0, 0.4, 0.9] {
            let known = Tail { shape, scale: 2.0 };
            let count = 4_000;
            let excesses: Vec<f64> =
                (0..count).map(|i| known.quantile((f64::from(i) + 0.5) / f64::from(count))).collect();
            let found = fit(&excesses).expect("a regular tail");
            assert!((found.shape - shape).abs() < 0.01, "{shape}: {found:?}");
            assert!((found.scale - 2.0).abs() < 0.03, "{shape}: {found:?}");
        }
    }

    #[test]
    fn gives_up_on_excesses_that_vanish() {
        assert_eq!(fit(&[0.0; 8]), None);
        assert_eq!(fit(&[]), None);
    }
}
