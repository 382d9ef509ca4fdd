//! Estimated Bayesian fraction of missing information of a Hamiltonian sampler.
//!
//! The sum of the squared changes of the energy from draw to draw over the sum of its squared deviations from
//! its mean: small when the momentum drawn anew at each step cannot carry the chain from the body of the
//! posterior into its tails and back.
//!
//! Source: Betancourt 2016, *Diagnosing suboptimal cotangent disintegrations in Hamiltonian Monte Carlo*, arXiv 1604.00695.

use super::{mean, usable};

/// E-BFMI of one chain's energies, in draw order; below 0.3 (common practice) the sampler does not reach the tails.
pub fn ebfmi(energies: &[f64]) -> Option<f64> {
    usable(&[energies])?;
    let centre = mean(energies);
    let changes: f64 = energies.windows(2).map(|pair| (pair[1] - pair[0]).powi(2)).sum();
    let deviations: f64 = energies.iter().map(|energy| (energy - centre).powi(2)).sum();
    (changes > 0.0 && deviations > 0.0).then(|| changes / deviations)
}
