//! Exponentially weighted moving average, which finds small lasting shifts sooner than single points do.
//!
//! z_t = λ x_t + (1 - λ) z_(t-1), z_0 = center; limits center ± L sigma √(λ/(2 - λ) · (1 - (1 - λ)^(2t))), exact at
//! every t, so that the first batches are not judged by limits meant for the hundredth (Roberts 1959,
//! *Technometrics* 1:239-250; Lucas & Saccucci 1990, *Technometrics* 32:1-12; NIST/SEMATECH e-Handbook 6.3.2.4
//! gives the limits for large t). Assumes independent values of a known sigma.

use serde::Serialize;

/// Weight λ of the newest value: 0.2, within the usual 0.05 to 0.3.
pub const WEIGHT: f64 = 0.2;
/// Width L: 2.86 with λ = 0.2 cries wolf about once in 366 points, like single points beyond three sigma
/// (computed: R package spc 0.6.7, `xewma.arl(0.2, 2.86, 0, sided = "two", limits = "vacl")` = 365.86).
pub const WIDTH: f64 = 2.86;

/// The chart, in the unit of the values.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ewma {
    /// z_t, one a value, as the limits are.
    pub values: Vec<f64>,
    /// Lower limit at each t.
    pub lower: Vec<f64>,
    /// Upper limit at each t.
    pub upper: Vec<f64>,
    /// The positions beyond a limit.
    pub signals: Vec<usize>,
}

/// Draws up the chart of `values` about `center`, `sigma` in their unit; `weight` λ in (0, 1], `width` L in sigmas.
pub fn ewma(values: &[f64], center: f64, sigma: f64, weight: f64, width: f64) -> Ewma {
    let mut chart = Ewma { values: Vec::new(), lower: Vec::new(), upper: Vec::new(), signals: Vec::new() };
    let (mut z, mut forgotten) = (center, 1.0);
    for (t, x) in values.iter().enumerate() {
        z += weight * (x - z);
        forgotten *= (1.0 - weight).powi(2);
        let half = width * sigma * (weight / (2.0 - weight) * (1.0 - forgotten)).sqrt();
        if (z - center).abs() > half {
            chart.signals.push(t);
        }
        chart.values.push(z);
        chart.lower.push(center - half);
        chart.upper.push(center + half);
    }
    chart
}
