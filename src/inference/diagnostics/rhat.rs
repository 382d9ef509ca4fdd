//! Rank-normalised split R-hat.
//!
//! With n draws in each half chain, W the mean of their variances and B n times the variance of their means,
//! R-hat = sqrt((B/W + n - 1)/n): how much wider all draws together are than each half chain. Taken of the
//! rank-normalised draws (do they agree in place?) and of their rank-normalised distances from the median (do
//! they agree in width?); the larger one counts.
//!
//! Source: Vehtari et al. 2021, equations 1-4 and section 4. Infinite when chains stand still apart from each other.

use super::{as_slices, halves, mean, rank_normalised, sorted, usable, variance};
use crate::inference::fit::quantile;

/// R-hat of `chains[chain][draw]`; 1 is agreement.
///
/// DIFFERENCE: with one chain, ArviZ 0.23 gives no number; here its halves are compared.
pub fn rhat<C: AsRef<[f64]>>(chains: &[C]) -> Option<f64> {
    let halves = halves(&usable(chains)?);
    let median = quantile(&sorted(&halves), 0.5);
    let distances: Vec<Vec<f64>> =
        halves.iter().map(|half| half.iter().map(|x| (x - median).abs()).collect()).collect();
    let place = plain(&rank_normalised(&halves));
    let width = plain(&rank_normalised(&as_slices(&distances)));
    place.into_iter().chain(width).reduce(f64::max)
}

/// R-hat as it was before ranks; `None` if all draws are alike.
fn plain(chains: &[Vec<f64>]) -> Option<f64> {
    let draws = chains.first()?.len() as f64;
    let means: Vec<f64> = chains.iter().map(|chain| mean(chain)).collect();
    let between = draws * variance(&means);
    let within = mean(&chains.iter().map(|chain| variance(chain)).collect::<Vec<f64>>());
    (between > 0.0 || within > 0.0).then(|| ((between / within + draws - 1.0) / draws).sqrt())
}
