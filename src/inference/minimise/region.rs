//! The step of a trust region: the p that minimises g'p + p'Bp/2 subject to |S p| <= radius.
//!
//! It is -(B + lambda S^2)^-1 g for the smallest lambda >= 0 that makes the matrix positive definite and the
//! step short enough; lambda is found by Newton's method on 1/|S p|, kept inside a bracket.
//!
//! Source: Moré & Sorensen 1983, *SIAM J Sci Stat Comput* 4:553-572, without its treatment of the hard case
//! (a gradient with no part along the lowest eigenvector), in which the step is shorter than allowed.

use super::quadratic::Quadratic;
use super::vectors::{dot, norm, scaled_norm};
use crate::inference::curvature::Factor;

/// How far from the radius the length of a step may be.
const LENGTH_TOLERANCE: f64 = 0.1;
/// Attempts at lambda; a handful suffices outside the hard case.
const ATTEMPTS: usize = 60;

/// A step and what the model says about it.
pub(super) struct Step {
    /// The change of the parameters.
    pub(super) change: Vec<f64>,
    /// Its length in the scaled norm.
    pub(super) length: f64,
    /// The fall of the function that the model predicts, positive.
    pub(super) predicted: f64,
    /// Whether it is the undamped Newton step.
    pub(super) newton: bool,
}

/// The step from a point with this gradient; `None` when no amount of damping gives a usable one.
pub(super) fn step(model: &Quadratic, gradient: &[f64], scale: &[f64], radius: f64) -> Option<Step> {
    let solve = |lambda: f64| {
        let damping: Vec<f64> = scale.iter().map(|s| lambda * s * s).collect();
        let factor = model.factor_damped(&damping)?;
        let change: Vec<f64> = factor.solve(gradient).iter().map(|x| -x).collect();
        let length = scaled_norm(&change, scale);
        length.is_finite().then_some((factor, change, length))
    };
    let finish = |change: Vec<f64>, length: f64, newton: bool| {
        let predicted = -(dot(gradient, &change) + dot(&change, &model.multiply(&change)) / 2.0);
        Step { change, length, predicted, newton }
    };

    // Newton's lambda and the lower end come from factors that exist, the upper end from steps too short.
    let mut low = 0.0;
    let mut lambda = match solve(0.0) {
        Some((_, change, length)) if length <= radius * (1.0 + LENGTH_TOLERANCE) => {
            return Some(finish(change, length, true));
        }
        Some((factor, change, length)) => newton_increase(&factor, &change, length, scale, radius),
        None => 1e-3 * steepness(gradient, scale) / radius,
    };
    let mut high = f64::INFINITY;
    let mut best = None;
    for _ in 0..ATTEMPTS {
        let Some((factor, change, length)) = solve(lambda) else {
            low = lambda;
            lambda = between(low, high);
            continue;
        };
        if (length - radius).abs() <= LENGTH_TOLERANCE * radius {
            return Some(finish(change, length, false));
        }
        let increase = newton_increase(&factor, &change, length, scale, radius);
        if length > radius {
            low = lambda;
        } else {
            high = lambda;
            best = Some((change, length));
        }
        let proposed = lambda + increase;
        lambda = if proposed > low && proposed < high { proposed } else { between(low, high) };
        if high.is_finite() && high - low <= 1e-10 * high {
            break;
        }
    }
    best.map(|(change, length)| finish(change, length, false))
}

/// Newton's step for lambda on 1/|S p(lambda)| = 1/radius.
fn newton_increase(factor: &Factor, change: &[f64], length: f64, scale: &[f64], radius: f64) -> f64 {
    let weighted: Vec<f64> = change.iter().zip(scale).map(|(p, s)| p * s * s).collect();
    let slope = dot(&weighted, &factor.solve(&weighted));
    length * length / slope * (length - radius) / radius
}

/// The gradient's length in the norm dual to the scaled one.
fn steepness(gradient: &[f64], scale: &[f64]) -> f64 {
    norm(&gradient.iter().zip(scale).map(|(g, s)| g / s).collect::<Vec<f64>>())
}

fn between(low: f64, high: f64) -> f64 {
    match (low > 0.0, high.is_finite()) {
        (true, true) => (low * high).sqrt().clamp(low + 1e-3 * (high - low), high - 1e-3 * (high - low)),
        (false, true) => high * 1e-3,
        (_, false) => low * 10.0,
    }
}
