//! Effective sample sizes: how many independent draws would estimate as well as these.
//!
//! S / tau for S draws in all, tau = -1 + 2 sum of P_k, where P_k = rho_2k + rho_2k+1 pairs the autocorrelations of the
//! half chains at two lags. The sum ends before the first pair that is not positive (Geyer's initial positive
//! sequence), no pair counts more than the one before it (his monotone sequence), and of the pair that
//! ended the sum the even lag is added once when positive. The autocorrelation is taken relative to the variance
//! of all half chains together, so that chains which disagree are worth less.
//!
//! Source: Vehtari et al. 2021, section 3.2 and appendix; Geyer 1992, *Statistical Science* 7:473-483. For draws that
//! alternate, tau is kept above 1/log10(S).

use super::{as_slices, halves, mean, rank_normalised, sorted, usable, variance};
use crate::inference::fit::quantile;

/// The tails that [`ess_tail`] looks at.
const TAILS: [f64; 2] = [0.05, 0.95];

/// Effective size for the bulk: of the rank-normalised draws of `chains[chain][draw]`.
pub fn ess_bulk<C: AsRef<[f64]>>(chains: &[C]) -> Option<f64> {
    effective(&as_slices(&rank_normalised(&halves(&usable(chains)?))))
}

/// Effective size for the tails: the smaller one of the 5 % and the 95 % quantile.
///
/// A quantile above which no draw lies cannot be judged, and the other one counts.
/// DIFFERENCE: ArviZ 0.23 takes the number of draws for such a quantile.
pub fn ess_tail<C: AsRef<[f64]>>(chains: &[C]) -> Option<f64> {
    TAILS.iter().filter_map(|&tail| ess_quantile(chains, tail)).reduce(f64::min)
}

/// Effective size for the mean, of `chains[chain][draw]`.
pub fn ess_mean<C: AsRef<[f64]>>(chains: &[C]) -> Option<f64> {
    effective(&halves(&usable(chains)?))
}

/// Effective size for the quantile of a `probability` from 0 to 1: of the draws' lying at or below it; `None` also if none
/// lies above it.
pub fn ess_quantile<C: AsRef<[f64]>>(chains: &[C], probability: f64) -> Option<f64> {
    let chains = usable(chains)?;
    let limit = quantile(&sorted(&chains), probability);
    let at_or_below: Vec<Vec<f64>> =
        chains.iter().map(|chain| chain.iter().map(|&x| f64::from(u8::from(x <= limit))).collect()).collect();
    effective(&halves(&as_slices(&at_or_below)))
}

/// S / tau of half chains; `None` if all draws are alike, or there is no second lag to look at.
pub(super) fn effective(chains: &[&[f64]]) -> Option<f64> {
    let draws = chains.first()?.len();
    let total = (chains.len() * draws) as f64;
    let means: Vec<f64> = chains.iter().map(|chain| mean(chain)).collect();
    let covariance = |lag: usize| {
        let of_chain = |(chain, &mean): (&&[f64], &f64)| {
            chain.iter().zip(&chain[lag..]).map(|(x, later)| (x - mean) * (later - mean)).sum::<f64>()
        };
        chains.iter().zip(&means).map(of_chain).sum::<f64>() / total
    };
    let biased = covariance(0);
    let within = biased * draws as f64 / (draws as f64 - 1.0);
    let overall = biased + if chains.len() > 1 { variance(&means) } else { 0.0 };
    // Rounding leaves a trace of variance in chains that stand still.
    let size = chains.iter().flat_map(|chain| chain.iter()).fold(0.0, |most: f64, x| most.max(x.abs()));
    if overall <= (size * f64::EPSILON).powi(2) {
        return None;
    }
    let correlation = |lag: usize| 1.0 - (within - covariance(lag)) / overall;

    let mut tau = -1.0;
    let (mut even, mut odd) = (1.0, correlation(1));
    let mut most = f64::INFINITY;
    let mut lag = 1;
    while even + odd > 0.0 && lag + 3 < draws {
        most = most.min(even + odd);
        tau += 2.0 * most;
        (even, odd) = (correlation(lag + 1), correlation(lag + 2));
        lag += 2;
    }
    tau += even.max(0.0);
    Some(total / tau.max(1.0 / total.log10()))
}
