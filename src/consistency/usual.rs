//! "9 of 10 batches land between a and b."
//!
//! The next batch of a steady kitchen lies between mean ± t(0.95; n - 1) s √(1 + 1/n) with 90 % chance (Hahn & Meeker
//! 1991, *Statistical Intervals*, section 4.7 - from memory). When the values are not normal: between order statistics r
//! and n + 1 - r, which hold the next batch with chance (n + 1 - 2r)/(n + 1) whatever the distribution (same book,
//! chapter 5), from 19 batches on.
//!
//! For those who must be sure: 9 of 10 batches lie within mean ± k s with 95 % confidence, k = z(0.95) √((n - 1)(1 + 1/n) /
//! χ²(0.05; n - 1)) (Howe 1969, *J Am Stat Assoc* 64:610-620; NIST/SEMATECH e-Handbook 7.2.6.3).

use schemars::JsonSchema;
use serde::Serialize;
use statrs::distribution::{ChiSquared, ContinuousCDF, Normal, StudentsT};

use super::sample::{mean, positive_sd, sorted};

/// The share of batches meant.
pub const SHARE: f64 = 0.90;
/// The confidence of the wider interval.
pub const SURE: f64 = 0.95;

/// Between what values batches usually land, in the unit of the measure.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Usual {
    /// 9 of 10 batches land above this and below `upper`.
    pub lower: f64,
    /// See `lower`.
    pub upper: f64,
    /// The same with 95 % confidence; `None` when the values are not normal.
    pub sure: Option<(f64, f64)>,
    /// Number of batches behind it.
    pub batches: usize,
}

impl Usual {
    /// Of values in any order; `normal` whether they may be treated as such. `None` below three, when all are the same, or
    /// when they are not normal and fewer than 19.
    pub fn of(values: &[f64], normal: bool) -> Option<Self> {
        let batches = values.len();
        if batches < 3 {
            return None;
        }
        let (m, s) = (mean(values), positive_sd(values)?);
        if !normal {
            let (lower, upper) = between_order_statistics(values)?;
            return Some(Self { lower, upper, sure: None, batches });
        }
        let n = batches as f64;
        let t = StudentsT::new(0.0, 1.0, n - 1.0).ok()?.inverse_cdf((1.0 + SHARE) / 2.0);
        let half = t * s * (1.0 + 1.0 / n).sqrt();
        let k = tolerance_factor(batches, SHARE, SURE)?;
        Some(Self { lower: m - half, upper: m + half, sure: Some((m - k * s, m + k * s)), batches })
    }

    /// The same as rises, for a series of ln(rise / target).
    pub fn as_rise(&self, target: f64) -> (f64, f64) {
        (target * self.lower.exp(), target * self.upper.exp())
    }
}

/// Howe's factor k, in standard deviations, for a share `share` held with confidence `sure` by mean ± k s of `n`
/// values; `None` below two values.
pub fn tolerance_factor(n: usize, share: f64, sure: f64) -> Option<f64> {
    let df = n.checked_sub(1).filter(|df| *df > 0)? as f64;
    let z = Normal::standard().inverse_cdf((1.0 + share) / 2.0);
    let chi = ChiSquared::new(df).ok()?.inverse_cdf(1.0 - sure);
    Some(z * (df * (1.0 + 1.0 / n as f64) / chi).sqrt())
}

fn between_order_statistics(values: &[f64]) -> Option<(f64, f64)> {
    let r = ((values.len() + 1) as f64 * (1.0 - SHARE) / 2.0 + 1e-9).floor() as usize;
    let ascending = sorted(values);
    (r >= 1).then(|| (ascending[r - 1], ascending[ascending.len() - r]))
}
