//! Student's t with four degrees of freedom: noise that forgives a mistake.
//!
//! Computes log density and distribution function of a t4 variable of scale s. With q = r²/(4 s²):
//! ln f = ln(3/8) - ln s - 2.5 ln(1 + q); F(t) = 1/2 + (3/8) w (1 - w²/12), w = t/sqrt(1 + t²/4).
//!
//! Source: the closed forms for an even number of degrees of freedom (checked against statrs in the tests).
//! Limits: s > 0. Four degrees of freedom are a choice: heavy enough to forgive a misread jar, with a
//! variance (2 s²) that still exists.

use statrs::function::gamma::ln_gamma;

/// ln(3/8), the log density of t4 at zero.
pub const LN_PEAK: f64 = -0.980_829_253_011_726_2;

/// Degrees of freedom.
pub const DEGREES: f64 = 4.0;

/// ln of the factor before the density of a multivariate t4 in `n` dimensions: ln Γ((4+n)/2) - ln Γ(2) - n/2 ln(4 pi).
pub fn ln_norm(n: f64) -> f64 {
    // The most common counts, so that the hot path computes no gamma function.
    match n {
        1.0 => LN_PEAK,
        2.0 => 2.0 * -0.918_938_533_204_672_8,
        _ => ln_gamma(0.5 * (DEGREES + n)) - 0.5 * n * (DEGREES * std::f64::consts::PI).ln(),
    }
}

/// The power of 1 + q in the density.
pub const POWER: f64 = 2.5;

/// What a residual r of squared scale v > 0 (in the unit of r squared) tells: its log density in nats is
/// `LN_PEAK - ln(v)/2 - POWER ln(bound)`.
#[derive(Debug, Clone, Copy)]
pub struct Told {
    /// 1 + q.
    pub bound: f64,
    /// Derivative of the log density by r.
    pub by_r: f64,
    /// Derivative by v.
    pub by_v: f64,
}

impl Told {
    /// Of a residual `r` at the squared scale `v`.
    #[inline]
    pub fn new(r: f64, v: f64) -> Self {
        let square = r * r;
        let per_bound = (4.0 * v + square).recip();
        let per_v = v.recip();
        Self {
            bound: 1.0 + 0.25 * square * per_v,
            by_r: -2.0 * POWER * r * per_bound,
            by_v: (POWER * square * per_bound - 0.5) * per_v,
        }
    }
}

/// Log density in nats of a residual `r` at squared scale `v`.
pub fn log_density(r: f64, v: f64) -> f64 {
    LN_PEAK - 0.5 * v.ln() - POWER * Told::new(r, v).bound.ln()
}

/// Probability that a standard t4 variable lies below `t`.
#[inline]
pub fn below(t: f64) -> f64 {
    // The cubic in w has a double root at w = -2; written by d = 2 + w, the far tail keeps its digits.
    let root = (1.0 + 0.25 * t * t).sqrt();
    let d = 4.0 / (root * (2.0 * root + t.abs()));
    let tail = d * d * (6.0 - d) / 32.0;
    if t < 0.0 { tail } else { 1.0 - tail }
}

/// Density of a standard t4 variable at `t`.
#[inline]
pub fn density(t: f64) -> f64 {
    let square = 1.0 + 0.25 * t * t;
    0.375 / (square * square * square.sqrt())
}

/// Variance of a t4 variable over its squared scale.
pub const VARIANCE: f64 = 2.0;

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{Continuous, ContinuousCDF, StudentsT};

    #[test]
    fn common_counts_agree_with_the_general_formula() {
        for n in [1.0, 2.0] {
            let general = ln_gamma(0.5 * (DEGREES + n)) - 0.5 * n * (DEGREES * std::f64::consts::PI).ln();
            assert!((ln_norm(n) - general).abs() < 1e-13);
        }
    }

    #[test]
    fn closed_forms_agree_with_statrs() {
        for scale in [0.05, 1.0, 3.0] {
            let reference = StudentsT::new(0.0, scale, 4.0).unwrap();
            for t in [-30.0, -2.0, -0.1, 0.0, 0.7, 5.0] {
                let r: f64 = t * scale;
                assert!((log_density(r, scale * scale) - reference.ln_pdf(r)).abs() < 1e-12);
                assert!((below(t) - reference.cdf(r)).abs() < 1e-12);
                assert!((density(t) / scale - reference.pdf(r)).abs() < 1e-12);
            }
        }
    }
}
