//! Do the values follow a normal distribution? Anderson-Darling test with mean and standard deviation estimated.
//!
//! A² = -n - (1/n) Σ (2i - 1) [ln Φ(z_i) + ln(1 - Φ(z_(n+1-i)))], z sorted and standardised; the p-value from
//! A²(1 + 0.75/n + 2.25/n²) by the formulas of D'Agostino & Stephens 1986 (*Goodness-of-Fit Techniques*, table 4.9).
//! Below eight values it says nothing.

use serde::Serialize;

use super::constants::phi;
use super::sample::{mean, positive_sd, sorted};

/// The fewest values for which the p-value formulas hold.
pub const FEWEST: usize = 8;

/// The outcome of the test.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Normality {
    /// A², before the correction for n.
    pub a_squared: f64,
    /// Chance of so large an A² from normal values.
    pub p: f64,
}

/// The test of values in any order and unit; `None` below eight or when all are the same.
pub fn anderson_darling(values: &[f64]) -> Option<Normality> {
    if values.len() < FEWEST {
        return None;
    }
    let (center, spread) = (mean(values), positive_sd(values)?);
    let z: Vec<f64> = sorted(values).iter().map(|x| (x - center) / spread).collect();
    let n = z.len() as f64;
    let sum: f64 = z
        .iter()
        .zip(z.iter().rev())
        .enumerate()
        .map(|(i, (low, high))| (2 * i + 1) as f64 * (phi(*low).ln() + phi(-high).ln()))
        .sum();
    let a_squared = -n - sum / n;
    Some(Normality { a_squared, p: p_value(a_squared * (1.0 + 0.75 / n + 2.25 / (n * n))) })
}

fn p_value(a: f64) -> f64 {
    let p = match a {
        a if a < 0.2 => 1.0 - (-13.436 + 101.14 * a - 223.73 * a * a).exp(),
        a if a < 0.34 => 1.0 - (-8.318 + 42.796 * a - 59.938 * a * a).exp(),
        a if a < 0.6 => (0.9177 - 4.279 * a - 1.38 * a * a).exp(),
        a if a < 10.0 => (1.2937 - 5.709 * a + 0.0186 * a * a).exp(),
        _ => 0.0,
    };
    p.clamp(0.0, 1.0)
}
