//! Plain sample statistics that several files here share.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The median and the central 90 % of a posterior or sampling distribution.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Quantiles {
    /// 5 % lie below.
    pub p05: f64,
    /// Half lie below.
    pub p50: f64,
    /// 95 % lie below.
    pub p95: f64,
}

/// The central 90 % interval of an estimate.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Interval {
    /// 5 % lie below.
    pub p05: f64,
    /// 95 % lie below.
    pub p95: f64,
}

impl Quantiles {
    /// From draws in any order; `None` without any.
    pub(super) fn of(mut draws: Vec<f64>) -> Option<Self> {
        if draws.is_empty() {
            return None;
        }
        draws.sort_by(f64::total_cmp);
        let at = |p| quantile_of_sorted(&draws, p);
        Some(Self { p05: at(0.05), p50: at(0.50), p95: at(0.95) })
    }
}

/// The mean; NaN for an empty slice, which callers exclude.
pub(super) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Sum of squared deviations from the mean.
pub(super) fn sum_of_squares(values: &[f64]) -> f64 {
    let m = mean(values);
    values.iter().map(|x| (x - m).powi(2)).sum()
}

/// Sample standard deviation, divisor n - 1; `None` below two values.
pub(super) fn sd(values: &[f64]) -> Option<f64> {
    (values.len() >= 2).then(|| (sum_of_squares(values) / (values.len() - 1) as f64).sqrt())
}

/// Sample standard deviation when the values differ by more than rounding; `None` below two values or when
/// they are all the same.
pub(super) fn positive_sd(values: &[f64]) -> Option<f64> {
    const ROUNDING: f64 = 1e-12;
    let size = values.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
    sd(values).filter(|s| *s > ROUNDING * size)
}

/// Sorted copy.
pub(super) fn sorted(values: &[f64]) -> Vec<f64> {
    let mut v = values.to_vec();
    v.sort_by(f64::total_cmp);
    v
}

/// The p-quantile of an ascending, non-empty slice, linear between order statistics (type 7 of Hyndman & Fan
/// 1996, *Am Stat* 50:361-365).
pub(super) fn quantile_of_sorted(ascending: &[f64], p: f64) -> f64 {
    let at = p * (ascending.len() - 1) as f64;
    let below = at.floor() as usize;
    let above = (below + 1).min(ascending.len() - 1);
    ascending[below] + (at - at.floor()) * (ascending[above] - ascending[below])
}
