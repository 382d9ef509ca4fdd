//! Draws of chance, and the rounding of a baker's pencil.

use rand::Rng;
use rand_distr::{Distribution, StandardNormal, StudentT};

/// A draw of N(0, 1).
pub(super) fn normal(rng: &mut impl Rng) -> f64 {
    StandardNormal.sample(rng)
}

/// A draw of Student's t with four degrees of freedom.
pub(super) fn student_t4(rng: &mut impl Rng) -> f64 {
    StudentT::new(4.0).expect("four degrees of freedom are more than none").sample(rng)
}

/// To half a degree, as a baker writes a temperature.
pub(super) fn to_half(x: f64) -> f64 {
    (2.0 * x).round() / 2.0
}

/// To a twentieth, as a baker reads a jar.
pub(super) fn to_twentieth(x: f64) -> f64 {
    (20.0 * x).round() / 20.0
}
