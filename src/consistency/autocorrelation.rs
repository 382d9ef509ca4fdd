//! Do neighbouring batches resemble each other? Lag-1 autocorrelation in time order.
//!
//! r1 = Σ (x_t - m)(x_(t+1) - m) / Σ (x_t - m)². Of independent values it lies about -1/n, with a standard deviation
//! near 1/√n (Bartlett 1946; Box & Jenkins 1970; the -1/n from Moran 1948, *Biometrika* 35:255-260). Batches a day
//! apart share a room, a flour lot, a season.

use serde::Serialize;

use super::sample::{mean, positive_sd};

/// The fewest values for which it is looked at.
pub const FEWEST: usize = 8;
/// Two-sided 95 % of a unit normal.
const Z_95: f64 = 1.959_963_984_540_054;
/// No series is taken to remember more than this, so that residuals keep some spread.
const MOST: f64 = 0.95;

/// Lag-1 autocorrelation of a series and the bound it must exceed to count.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Autocorrelation {
    /// r1.
    pub lag1: f64,
    /// 1.96/√n: half the width of the band, about -1/n, that 95 % of independent series keep.
    pub bound: f64,
    /// Number of values.
    pub batches: usize,
}

impl Autocorrelation {
    /// Of values in time order, in any unit; `None` below eight or when all are the same.
    pub fn of(values: &[f64]) -> Option<Self> {
        let n = values.len();
        if n < FEWEST {
            return None;
        }
        positive_sd(values)?;
        let m = mean(values);
        let products: f64 = values.windows(2).map(|w| (w[0] - m) * (w[1] - m)).sum();
        let squares: f64 = values.iter().map(|x| (x - m).powi(2)).sum();
        Some(Self { lag1: products / squares, bound: Z_95 / (n as f64).sqrt(), batches: n })
    }

    /// Whether it is more than independent values would show in 95 of 100 series.
    pub fn matters(&self) -> bool {
        (self.lag1 + 1.0 / self.batches as f64).abs() > self.bound
    }

    /// The coefficient φ of a first-order autoregression, -0.95 to 0.95, freed from the bias -(1 + 3φ)/n that a mean
    /// estimated from the same values brings (Kendall 1954 and Marriott & Pope 1954, *Biometrika* 41:390-404).
    pub fn coefficient(&self) -> f64 {
        let n = self.batches as f64;
        ((n * self.lag1 + 1.0) / (n - 3.0)).clamp(-MOST, MOST)
    }
}

/// What each value adds to what its predecessor foretold, one a value and in their unit:
/// e_t = (x_t - m) - φ (x_(t-1) - m), the first one scaled by √(1 - φ²) to the same spread.
pub fn innovations(values: &[f64], center: f64, phi: f64) -> Vec<f64> {
    let first = values.first().map(|x| (x - center) * (1.0 - phi * phi).sqrt());
    first.into_iter().chain(values.windows(2).map(|w| (w[1] - center) - phi * (w[0] - center))).collect()
}
