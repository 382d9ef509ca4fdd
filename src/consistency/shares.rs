//! Where the spread comes from: each source's share of the variance, and what halving it would bring.
//!
//! A source (weighing, temperatures, flour lot, ...) contributes a variance, known as posterior draws; sources are
//! independent, so variances add. Halving a source's own spread takes away three quarters of its variance: the spread
//! of all becomes √(1 - 3/4 share) of what it was.

use schemars::JsonSchema;
use serde::Serialize;

use super::sample::Quantiles;

/// A source of spread and the draws of its variance, the same number for every source and in the same order.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// What it is.
    pub name: String,
    /// Its variance in each draw, in the squared unit of the measure.
    pub variance: Vec<f64>,
}

/// One source's part.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Share {
    /// What it is.
    pub source: String,
    /// Its share of the variance, 0 to 1.
    pub share: Quantiles,
    /// The spread that would be left if its own were halved, over the spread now.
    pub halved: Quantiles,
}

/// The shares, the largest median first. Draws in which nothing varies do not count; draws beyond the shortest source's do
/// not either. Empty when nothing is left.
pub fn shares(sources: &[Source]) -> Vec<Share> {
    let draws = sources.iter().map(|s| s.variance.len()).min().unwrap_or(0);
    let total = |i: usize| sources.iter().map(|s| s.variance[i]).sum::<f64>();
    let varied: Vec<usize> = (0..draws).filter(|i| total(*i) > 0.0).collect();
    let of = |s: &Source| {
        let share: Vec<f64> = varied.iter().map(|i| s.variance[*i] / total(*i)).collect();
        let halved = share.iter().map(|s| (1.0 - 0.75 * s).sqrt()).collect();
        Some(Share { source: s.name.clone(), share: Quantiles::of(share)?, halved: Quantiles::of(halved)? })
    };
    let mut shares: Vec<Share> = sources.iter().filter_map(of).collect();
    shares.sort_by(|a, b| b.share.p50.total_cmp(&a.share.p50));
    shares
}
