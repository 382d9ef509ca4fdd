//! Individuals and moving-range chart (Shewhart; NIST/SEMATECH e-Handbook 6.3.2.2).
//!
//! With values x in time order and moving ranges MR = |x_i - x_(i-1)|: center = mean x, sigma = mean MR / d2 with
//! d2 = 2/√π, limits = center ± 3 sigma; the moving range has the limits 0 and D4 · mean MR. Sigma is that of
//! neighbouring batches, so a slow drift does not widen the limits; it assumes that neighbours are independent.

use schemars::JsonSchema;
use serde::Serialize;

use super::constants::{D2_OF_TWO, WIDTH, d4_of_two};
use super::sample::mean;

/// Center, sigma and limits of single values, in their unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Individuals {
    /// Mean of the values.
    pub center: f64,
    /// Standard deviation, from the mean moving range.
    pub sigma: f64,
    /// center - 3 sigma.
    pub lower: f64,
    /// center + 3 sigma.
    pub upper: f64,
    /// The ranges between neighbours.
    pub moving_range: MovingRange,
}

/// The moving-range chart, in the unit of the values; its lower limit is zero.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct MovingRange {
    /// |x_i - x_(i-1)|, one fewer than the values.
    pub ranges: Vec<f64>,
    /// Their mean.
    pub mean: f64,
    /// D4 times the mean.
    pub upper: f64,
}

impl MovingRange {
    /// Of values in time order; `None` below two.
    pub fn of(values: &[f64]) -> Option<Self> {
        let ranges: Vec<f64> = values.windows(2).map(|w| (w[1] - w[0]).abs()).collect();
        if ranges.is_empty() {
            return None;
        }
        let mean = mean(&ranges);
        Some(Self { mean, upper: d4_of_two() * mean, ranges })
    }

    /// Sigma of the values, in their unit: mean range over d2.
    pub fn sigma(&self) -> f64 {
        self.mean / D2_OF_TWO
    }
}

impl Individuals {
    /// Of values in time order; `None` below two. Sigma is zero when all values are the same.
    pub fn of(values: &[f64]) -> Option<Self> {
        let moving_range = MovingRange::of(values)?;
        let (center, sigma) = (mean(values), moving_range.sigma());
        Some(Self {
            center,
            sigma,
            lower: center - WIDTH * sigma,
            upper: center + WIDTH * sigma,
            moving_range,
        })
    }
}

/// How many degrees of freedom a standard deviation from the mean moving range of `n` values is worth.
///
/// Var(mean MR / d2) ≈ 0.8264 sigma²/(n - 1), from Var MR = (2 - 4/π) sigma² and the covariance 0.1627 sigma² of
/// neighbouring ranges (computed; Cryer & Ryan 1990, *J Qual Technol* 22:187-192, give 0.826 - from memory); a
/// standard deviation with ν degrees of freedom has variance sigma²/(2ν).
pub fn degrees_of_freedom(n: usize) -> f64 {
    const VARIANCE: f64 = 0.8264;
    (n.saturating_sub(1)) as f64 / (2.0 * VARIANCE)
}
