//! Monte Carlo standard errors: by how much what is quoted from the draws would change with another seed.
//!
//! - mean: sd / sqrt(ESS of the mean)
//! - standard deviation: from the variance of the squared deviations over their ESS, by the delta method
//! - quantile: half the distance between the order statistics that enclose it with probability 68 %, found from the
//!   Beta distribution of the probability below it, given the ESS of that quantile
//!
//! Source: Vehtari et al. 2021, section 4.

use super::{ess_mean, ess_quantile, mean, sorted, usable, variance};
use statrs::distribution::{Beta, ContinuousCDF};

/// Probability below one standard deviation under the mean of a normal distribution, as printed in the source.
const ONE_SD_BELOW: f64 = 0.158_655_3;

/// Standard error of the mean of `chains[chain][draw]`, in its unit.
pub fn mcse_mean<C: AsRef<[f64]>>(chains: &[C]) -> Option<f64> {
    let pooled = usable(chains)?.concat();
    Some((variance(&pooled) / ess_mean(chains)?).sqrt())
}

/// Standard error of the standard deviation, in the draws' unit.
pub fn mcse_sd<C: AsRef<[f64]>>(chains: &[C]) -> Option<f64> {
    let chains = usable(chains)?;
    let centre = mean(&chains.concat());
    let squares: Vec<Vec<f64>> =
        chains.iter().map(|chain| chain.iter().map(|x| (x - centre).powi(2)).collect()).collect();
    let pooled = squares.concat();
    let spread = mean(&pooled);
    let fourth = mean(&pooled.iter().map(|square| square * square).collect::<Vec<f64>>());
    match ess_mean(&squares) {
        Some(effective) => Some(((fourth - spread * spread).max(0.0) / effective / spread / 4.0).sqrt()),
        // Every draw lies equally far from the mean: so does the estimate of the distance, if there is one.
        None => (spread > 0.0).then_some(0.0),
    }
}

/// Standard error of a quantile, in the draws' unit.
pub fn mcse_quantile<C: AsRef<[f64]>>(chains: &[C], probability: f64) -> Option<f64> {
    let pooled = sorted(&usable(chains)?);
    let effective = ess_quantile(chains, probability)?;
    let below = Beta::new(effective * probability + 1.0, effective * (1.0 - probability) + 1.0).ok()?;
    let count = pooled.len() as f64;
    let low = (below.inverse_cdf(ONE_SD_BELOW) * count - 1.0).max(0.0).floor();
    let high = (below.inverse_cdf(1.0 - ONE_SD_BELOW) * count - 1.0).min(count - 1.0).ceil();
    Some((pooled[high as usize] - pooled[low as usize]) / 2.0)
}
