//! Capability: how the spread compares with the baker's own limits.
//!
//! Cp = (upper - lower)/(6 sigma), Cpk = min(upper - mean, mean - lower)/(3 sigma) with the sigma of neighbouring batches
//! (mean moving range); Pp and Ppk the same with the overall standard deviation (NIST/SEMATECH e-Handbook 6.1.6). Intervals:
//! Cp √(χ²(p; ν)/ν) (Chou, Owen & Borrego 1990, *J Qual Technol* 22:223-229) and Cpk ± 1.645 √(1/(9n) + Cpk²/(2ν))
//! (Bissell 1990, *Appl Stat* 39:331-340; both as the e-Handbook gives them), ν = n - 1, or what the moving range is worth.
//! They assume normal values of a steady kitchen; the count inside the limits, with the exact interval of Clopper &
//! Pearson 1934, assumes neither.

use schemars::JsonSchema;
use serde::Serialize;
use statrs::distribution::{Beta, ChiSquared, ContinuousCDF};

use super::error::ConsistencyError;
use super::individuals::{MovingRange, degrees_of_freedom};
use super::sample::{Interval, mean, positive_sd};

/// 95 % quantile of a unit normal.
const Z_95: f64 = 1.644_853_626_951_472_7;

/// The baker's own limits, in the unit of the measure; one of them may be absent.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct OwnLimits {
    /// The least that is still good.
    pub lower: Option<f64>,
    /// The most that is still good.
    pub upper: Option<f64>,
}

/// The indices with their intervals; those that need both limits are absent when one limit is.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Capability {
    /// Room over spread, spread from neighbouring batches.
    pub cp: Option<f64>,
    /// Central 90 %.
    pub cp_interval: Option<Interval>,
    /// The same for the nearer limit.
    pub cpk: f64,
    /// Central 90 %.
    pub cpk_interval: Interval,
    /// Room over spread, overall spread.
    pub pp: Option<f64>,
    /// Central 90 %.
    pub pp_interval: Option<Interval>,
    /// The same for the nearer limit.
    pub ppk: f64,
    /// Central 90 %.
    pub ppk_interval: Interval,
    /// How many batches lay inside.
    pub inside: usize,
    /// Of how many.
    pub batches: usize,
    /// Central 90 % of the share inside.
    pub inside_share: Interval,
}

impl OwnLimits {
    /// From limits of which at least one is given.
    ///
    /// # Errors
    /// When both are absent, not numbers, or the wrong way round.
    pub fn new(lower: Option<f64>, upper: Option<f64>) -> Result<Self, ConsistencyError> {
        let (low, high) = (lower.unwrap_or(f64::NEG_INFINITY), upper.unwrap_or(f64::INFINITY));
        match low < high && (low.is_finite() || high.is_finite()) {
            true => Ok(Self { lower, upper }),
            false => Err(ConsistencyError::LimitsCrossed { lower: low, upper: high }),
        }
    }

    /// Limits of the miss, ln(rise / target), from limits of the rise ("from 2.0 to 2.4 times") and the target rise.
    ///
    /// # Errors
    /// As [`OwnLimits::new`].
    pub fn of_rise(lower: Option<f64>, upper: Option<f64>, target: f64) -> Result<Self, ConsistencyError> {
        Self::new(lower.map(|r| (r / target).ln()), upper.map(|r| (r / target).ln()))
    }

    fn contains(&self, x: f64) -> bool {
        self.lower.is_none_or(|l| x >= l) && self.upper.is_none_or(|u| x <= u)
    }

    fn both(&self, sigma: f64) -> Option<f64> {
        Some((self.upper? - self.lower?) / (6.0 * sigma))
    }

    fn nearer(&self, mean: f64, sigma: f64) -> f64 {
        let room = [self.lower.map(|l| mean - l), self.upper.map(|u| u - mean)];
        room.into_iter().flatten().fold(f64::INFINITY, f64::min) / (3.0 * sigma)
    }
}

impl Capability {
    /// Of values in time order, in the unit of the limits; `None` below three values or when all are the same.
    pub fn of(values: &[f64], limits: &OwnLimits) -> Option<Self> {
        let n = values.len();
        if n < 3 {
            return None;
        }
        let (mean, overall) = (mean(values), positive_sd(values)?);
        let within = MovingRange::of(values)?.sigma();
        let (df_within, df_overall) = (degrees_of_freedom(n), (n - 1) as f64);
        let (cp, pp) = (limits.both(within), limits.both(overall));
        let (cpk, ppk) = (limits.nearer(mean, within), limits.nearer(mean, overall));
        let inside = values.iter().filter(|x| limits.contains(**x)).count();
        Some(Self {
            cp,
            cp_interval: cp.and_then(|c| of_both(c, df_within)),
            cpk,
            cpk_interval: of_nearer(cpk, n, df_within),
            pp,
            pp_interval: pp.and_then(|c| of_both(c, df_overall)),
            ppk,
            ppk_interval: of_nearer(ppk, n, df_overall),
            inside,
            batches: n,
            inside_share: share(inside, n),
        })
    }
}

/// Central 90 % interval of a Cp or Pp, without unit, whose sigma has `df` degrees of freedom; `None` unless `df` > 0.
pub fn of_both(index: f64, df: f64) -> Option<Interval> {
    let chi = ChiSquared::new(df).ok()?;
    let at = |p| index * (chi.inverse_cdf(p) / df).sqrt();
    Some(Interval { p05: at(0.05), p95: at(0.95) })
}

/// Central 90 % interval of a Cpk or Ppk, without unit, of `n` values whose sigma has `df` degrees of freedom.
pub fn of_nearer(index: f64, n: usize, df: f64) -> Interval {
    let half = Z_95 * (1.0 / (9.0 * n as f64) + index * index / (2.0 * df)).sqrt();
    Interval { p05: index - half, p95: index + half }
}

/// Exact central 90 % interval of a share of which `k` of `n` were seen.
pub fn share(k: usize, n: usize) -> Interval {
    let quantile = |a: usize, b: usize, p| Beta::new(a as f64, b as f64).map(|d| d.inverse_cdf(p)).ok();
    Interval {
        p05: quantile(k, n - k + 1, 0.05).filter(|_| k > 0).unwrap_or(0.0),
        p95: quantile(k + 1, n - k, 0.95).filter(|_| k < n).unwrap_or(1.0),
    }
}
