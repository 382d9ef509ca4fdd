//! Control-chart constants, computed rather than copied from a table.
//!
//! For n independent values of a normal distribution with standard deviation one: d2 and d3 are the mean and
//! the standard deviation of their range, c4 the mean of their standard deviation. The rest follows:
//! A2 = 3/(d2 √n), A3 = 3/(c4 √n), E2 = 3/d2, D3 and D4 = 1 ∓ 3 d3/d2, B3 and B4 = 1 ∓ 3 √(1 - c4²)/c4, lower
//! ones not below zero (ISO 7870-2, ASTM E2587; NIST/SEMATECH e-Handbook 6.3.2).
//!
//! d2 = ∫ (1 - Φⁿ - (1 - Φ)ⁿ) dx by the trapezoid rule, which is exact to rounding for such a curve; d3 from
//! P(range ≤ w) = n ∫ φ(x) (Φ(x + w) - Φ(x))ⁿ⁻¹ dx and E(range²) = 2 ∫ w (1 - P) dw by Simpson's rule.

use statrs::function::{erf::erfc, gamma::ln_gamma};

/// 3: how many standard deviations the limits stand off (Shewhart 1931).
pub const WIDTH: f64 = 3.0;

/// d2 for two values, the mean moving range of a unit normal: 2/√π.
pub const D2_OF_TWO: f64 = std::f64::consts::FRAC_2_SQRT_PI;

/// The constants for subgroups of one size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Constants {
    /// Mean range.
    pub d2: f64,
    /// Standard deviation of the range.
    pub d3: f64,
    /// Mean standard deviation.
    pub c4: f64,
    /// Limits of means from the mean range.
    pub a2: f64,
    /// Limits of means from the mean standard deviation.
    pub a3: f64,
    /// Lower limit of standard deviations.
    pub b3: f64,
    /// Upper limit of standard deviations.
    pub b4: f64,
    /// Lower limit of ranges.
    pub d3_lower: f64,
    /// Upper limit of ranges.
    pub d4: f64,
    /// Limits of individuals from the mean range.
    pub e2: f64,
}

impl Constants {
    /// For subgroups of `n` values; `None` below two.
    pub fn for_size(n: usize) -> Option<Self> {
        if n < 2 {
            return None;
        }
        let (d2, c4, root) = (d2(n), c4(n), (n as f64).sqrt());
        let d3 = d3(n, d2);
        let of_sd = WIDTH * (1.0 - c4 * c4).sqrt() / c4;
        let of_range = WIDTH * d3 / d2;
        Some(Self {
            d2,
            d3,
            c4,
            a2: WIDTH / (d2 * root),
            a3: WIDTH / (c4 * root),
            b3: (1.0 - of_sd).max(0.0),
            b4: 1.0 + of_sd,
            d3_lower: (1.0 - of_range).max(0.0),
            d4: 1.0 + of_range,
            e2: WIDTH / d2,
        })
    }
}

/// c4 = √(2/(n-1)) Γ(n/2)/Γ((n-1)/2): the mean standard deviation of `n` ≥ 2 unit normal values.
pub fn c4(n: usize) -> f64 {
    let n = n as f64;
    (2.0 / (n - 1.0)).sqrt() * (ln_gamma(n / 2.0) - ln_gamma((n - 1.0) / 2.0)).exp()
}

/// D4 for two values: upper limit of a moving range over its mean, 1 + 3 √(π/2 - 1).
pub fn d4_of_two() -> f64 {
    1.0 + WIDTH * (std::f64::consts::FRAC_PI_2 - 1.0).sqrt()
}

/// The standard normal distribution function.
pub(super) fn phi(x: f64) -> f64 {
    0.5 * erfc(-x * std::f64::consts::FRAC_1_SQRT_2)
}

/// Beyond this a unit normal has less than 1e-17 of its mass.
const REACH: f64 = 8.5;

fn d2(n: usize) -> f64 {
    const STEP: f64 = 0.05;
    let steps = (REACH / STEP) as i32;
    let power = n as i32;
    let curve = |x: f64| 1.0 - phi(x).powi(power) - phi(-x).powi(power);
    (-steps..=steps).map(|i| curve(STEP * f64::from(i))).sum::<f64>() * STEP
}

fn d3(n: usize, d2: f64) -> f64 {
    const STEP: f64 = 0.1;
    const RANGE_STEPS: usize = 600;
    let dw = 2.0 * REACH / RANGE_STEPS as f64;
    let steps = (REACH / STEP) as i32;
    let larger = |w: f64| {
        let within: f64 = (-steps..=steps)
            .map(|i| {
                let x = STEP * f64::from(i);
                let density = (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt();
                density * (phi(x + w) - phi(x)).powi(n as i32 - 1)
            })
            .sum();
        1.0 - n as f64 * within * STEP
    };
    let weight = |i: usize| match i {
        0 | RANGE_STEPS => 1.0,
        i if i % 2 == 1 => 4.0,
        _ => 2.0,
    };
    let integral: f64 =
        (0..=RANGE_STEPS).map(|i| weight(i) * dw * i as f64 * larger(dw * i as f64)).sum::<f64>() * dw / 3.0;
    (2.0 * integral - d2 * d2).sqrt()
}
