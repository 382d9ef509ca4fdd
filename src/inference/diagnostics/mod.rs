//! Whether the chains of a sampler agree, and how much their draws are worth.
//!
//! - [`rhat`](rhat()) rank-normalised split R-hat: do the chains agree? Below 1.01 they do.
//! - [`ess_bulk`], [`ess_tail`] effective sample sizes: 400 or more before a mean or an interval is quoted
//! - [`mcse_mean`], [`mcse_sd`], [`mcse_quantile`] the Monte Carlo standard error of what is quoted
//! - [`ebfmi`](ebfmi()) whether the energies of a Hamiltonian sampler move freely: above 0.3 they do
//!
//! Chains come as `[chain][draw]` of one quantity. Every function gives `None` when there is nothing to say:
//! no chain, chains of different lengths, fewer than four draws in each, a value that is not finite, or
//! draws that are all alike. One chain is enough: its two halves are compared.
//!
//! Source: Vehtari, Gelman, Simpson, Carpenter & Bürkner 2021, *Bayesian Analysis* 16:667-718, also for the limits
//! 1.01 and 400. Betancourt 2016, arXiv 1604.00695, for the energies; the limit 0.3 is common practice.

mod ebfmi;
mod ess;
mod mcse;
mod rhat;

pub use ebfmi::ebfmi;
pub use ess::{ess_bulk, ess_mean, ess_quantile, ess_tail};
pub use mcse::{mcse_mean, mcse_quantile, mcse_sd};
pub use rhat::rhat;

use statrs::distribution::{ContinuousCDF, Normal};

/// Draws that each chain must have.
const FEWEST_DRAWS: usize = 4;

/// The chains as slices, if they can be judged at all.
fn usable<C: AsRef<[f64]>>(chains: &[C]) -> Option<Vec<&[f64]>> {
    let chains: Vec<&[f64]> = chains.iter().map(AsRef::as_ref).collect();
    let draws = chains.first()?.len();
    let regular = draws >= FEWEST_DRAWS && chains.iter().all(|chain| chain.len() == draws);
    (regular && chains.iter().all(|chain| chain.iter().all(|x| x.is_finite()))).then_some(chains)
}

/// The first and the last half of each chain; the middle draw of an odd number is left out.
fn halves<'a>(chains: &[&'a [f64]]) -> Vec<&'a [f64]> {
    chains
        .iter()
        .flat_map(|chain| [&chain[..chain.len() / 2], &chain[chain.len() - chain.len() / 2..]])
        .collect()
}

/// Each draw replaced by the normal quantile of its rank among all, (rank - 3/8)/(count + 1/4) (Blom 1958);
/// equal draws share their mean rank.
fn rank_normalised(chains: &[&[f64]]) -> Vec<Vec<f64>> {
    let pooled = chains.concat();
    let mut order: Vec<usize> = (0..pooled.len()).collect();
    order.sort_by(|&a, &b| pooled[a].total_cmp(&pooled[b]));
    let standard = Normal::standard();
    let mut scores = vec![0.0; pooled.len()];
    let mut before = 0;
    for alike in order.chunk_by(|&a, &b| pooled[a] == pooled[b]) {
        let rank = before as f64 + (alike.len() as f64 + 1.0) / 2.0;
        let score = standard.inverse_cdf((rank - 0.375) / (pooled.len() as f64 + 0.25));
        for &place in alike {
            scores[place] = score;
        }
        before += alike.len();
    }
    let draws = chains.first().map_or(1, |chain| chain.len());
    scores.chunks(draws).map(<[f64]>::to_vec).collect()
}

/// All draws of all chains in rising order.
fn sorted(chains: &[&[f64]]) -> Vec<f64> {
    let mut pooled = chains.concat();
    pooled.sort_by(f64::total_cmp);
    pooled
}

fn mean(x: &[f64]) -> f64 {
    x.iter().sum::<f64>() / x.len() as f64
}

/// The variance with n - 1 below.
pub(super) fn variance(x: &[f64]) -> f64 {
    let mean = mean(x);
    x.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (x.len() as f64 - 1.0)
}

fn as_slices(chains: &[Vec<f64>]) -> Vec<&[f64]> {
    chains.iter().map(Vec::as_slice).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every diagnostic of the same chains.
    fn all(chains: &[Vec<f64>]) -> [Option<f64>; 8] {
        [
            rhat(chains),
            ess_bulk(chains),
            ess_tail(chains),
            ess_mean(chains),
            ess_quantile(chains, 0.5),
            mcse_mean(chains),
            mcse_sd(chains),
            mcse_quantile(chains, 0.5),
        ]
    }

    /// An invented sequence without pattern: the golden ratio's multiples modulo one.
    fn scattered(from: usize, count: usize) -> Vec<f64> {
        (from..from + count).map(|i| (i as f64 * 0.618_033_988_749_895 * 7.3).fract()).collect()
    }

    #[test]
    fn nothing_is_said_about_unusable_chains() {
        let unusable: [Vec<Vec<f64>>; 6] = [
            vec![],
            vec![vec![]],
            vec![vec![1.0, 2.0, 3.0]; 4],
            vec![scattered(0, 10), scattered(0, 11)],
            vec![vec![1.0, 2.0, f64::NAN, 3.0, 4.0]; 2],
            vec![vec![2.5; 50]; 4],
        ];
        for chains in unusable {
            assert_eq!(all(&chains), [None; 8], "{chains:?}");
        }
    }

    #[test]
    fn one_chain_is_enough() {
        let values = all(&[scattered(0, 200)]);
        assert!(values.iter().all(|value| value.is_some_and(f64::is_finite)), "{values:?}");
    }

    #[test]
    fn chains_that_stand_still_apart_never_agree() {
        assert_eq!(rhat(&[vec![1.0; 20], vec![2.0; 20]]), Some(f64::INFINITY));
    }

    /// A quantity that is yes or no, as 1 or 0: no draw lies above its 95 % quantile.
    #[test]
    fn yes_or_no_can_be_judged() {
        let yes = |from| scattered(from, 200).iter().map(|x| f64::from(u8::from(*x < 0.4))).collect();
        let values = all(&[yes(0), yes(300), yes(777)]);
        assert!(values.iter().all(|value| value.is_some_and(f64::is_finite)), "{values:?}");
    }
}
