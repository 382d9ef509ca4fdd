//! What kitchens teach one another: priors moved to where the kitchens of one logbook lie.
//!
//! Each parameter is a standard number x with prior N(0, 1). Of kitchen i the fit says mean m and variance v of x;
//! taken out of it, the prior leaves what its records alone say: y = m/(1 - v) with variance s² = v/(1 - v). The
//! numbers y are taken as drawn from N(M, T²) plus their own errors; M and T² are the most likely ones (by EM). The
//! pooled prior of x is N(M, T²).
//!
//! Source: empirical Bayes, Efron & Morris 1975, *Journal of the American Statistical Association* 70:311-319.
//! Limits: parameter by parameter, though a ridge joins some; a kitchen's own records count twice (once through M and T²),
//! which is of little weight from some ten kitchens on; half-normal spreads are not moved.

use std::collections::BTreeMap;

use super::beliefs::Moved;
use super::fit::Fit;

/// Fewer kitchens that say something of a parameter move nothing.
pub const FEWEST_KITCHENS: usize = 5;
/// A kitchen says something of a parameter when it took this share off the prior's variance.
const SAYS: f64 = 0.05;
/// Kitchens are never taken to be more alike than this, in prior standard deviations.
const MOST_ALIKE: f64 = 0.1;
/// Turns of the EM.
const TURNS: usize = 300;

/// What one kitchen's fit says of one parameter's standard number.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// The parameter.
    pub name: String,
    /// Mean of x.
    pub mean: f64,
    /// Variance of x.
    pub variance: f64,
}

/// What a fit under the usual priors says of its parameters.
pub fn said(fit: &Fit) -> Vec<Said> {
    let layout = fit.layout();
    let width = layout.dim();
    let n = (fit.draws.len() / width) as f64;
    let of = |i: usize| {
        let values = || fit.draws.chunks_exact(width).map(|x| x[i]);
        let mean = values().sum::<f64>() / n;
        let variance = values().map(|x| (x - mean).powi(2)).sum::<f64>() / n;
        Said { name: layout.shared[i].name.clone(), mean, variance }
    };
    (0..width).filter(|i| layout.is_own(*i) && n > 1.0).map(of).collect()
}

/// Moved priors, by the parameter's name, from what all kitchens say.
pub fn pooled(kitchens: &[Vec<Said>]) -> BTreeMap<String, Moved> {
    let mut by_name: BTreeMap<&str, Vec<(f64, f64)>> = BTreeMap::new();
    for s in kitchens.iter().flatten() {
        if s.variance < 1.0 - SAYS && s.variance > 0.0 {
            let left = 1.0 - s.variance;
            by_name.entry(&s.name).or_default().push((s.mean / left, s.variance / left));
        }
    }
    by_name
        .into_iter()
        .filter(|(_, seen)| seen.len() >= FEWEST_KITCHENS)
        .map(|(name, seen)| (name.to_string(), population(&seen)))
        .collect()
}

/// The most likely mean and spread of a population of which each member was seen with an error: (value, squared error).
fn population(seen: &[(f64, f64)]) -> Moved {
    let n = seen.len() as f64;
    let (mut mean, mut variance) = (0.0, 1.0);
    for _ in 0..TURNS {
        // The most likely M given T², then a turn of the EM for T².
        let weight = |s2: f64| 1.0 / (variance + s2);
        let total: f64 = seen.iter().map(|(_, s2)| weight(*s2)).sum();
        mean = seen.iter().map(|(y, s2)| weight(*s2) * y).sum::<f64>() / total;
        let member = |(y, s2): &(f64, f64)| {
            let share = variance * weight(*s2);
            share * s2 + (share * (y - mean)).powi(2)
        };
        variance = (seen.iter().map(member).sum::<f64>() / n).max(MOST_ALIKE * MOST_ALIKE);
    }
    Moved { mean, sd: variance.sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Equal errors s²: the most likely M is the mean, T² the variance (n below) less s².
    #[test]
    fn equal_errors_by_hand() {
        let seen: Vec<(f64, f64)> = [1.0, 2.0, 3.0, 6.0].map(|y| (y, 0.5)).into();
        let found = population(&seen);
        assert!((found.mean - 3.0).abs() < 1e-9);
        assert!((found.sd - 3.0_f64.sqrt()).abs() < 1e-9, "{found:?}");
    }

    #[test]
    fn the_prior_is_taken_out_again() {
        // A kitchen seen at y = 2 with squared error 1 under N(0, 1): mean 1, variance 1/2.
        let one = vec![Said { name: "vigour".into(), mean: 1.0, variance: 0.5 }];
        let found = pooled(&vec![one; FEWEST_KITCHENS]);
        assert!((found["vigour"].mean - 2.0).abs() < 1e-6, "{found:?}");
        assert!(pooled(&vec![vec![]; 9]).is_empty());
    }
}
