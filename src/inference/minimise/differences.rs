//! The curvature of a function by differences of its gradient.
//!
//! One move for each parameter. [`central_differences`] takes a pair of gradients a move, [`forward_differences`] one,
//! with half the digits. Where one side lies outside the support, the other side and the point itself are used; where
//! both do, the curvature is not a number. Moves run on all processors, and the result is the same for any number of
//! them.
//!
//! The step is 1e-5 of the parameter or of 1, whichever is larger. For parameters of order one and terms of
//! order F in the gradient, the central error is about 1e-11 F by rounding and 1e-11 of the fourth
//! derivatives by truncation; the forward error about 5e-6 of the third derivatives.

use nalgebra::DMatrix;
use rayon::prelude::*;

use super::{Objective, is_finite};
use crate::inference::curvature::Curvature;

const RELATIVE_STEP: f64 = 1e-5;

/// The curvature at `x` from two gradients for each parameter.
pub fn central_differences<O: Objective + ?Sized>(objective: &O, x: &[f64]) -> Curvature {
    assemble(x.len(), |place| {
        let moved = |steps| moved(objective, x, place, steps);
        match (moved(1.0), moved(-1.0)) {
            (Some(above), Some(below)) => Some(slopes(&above, &below, 2.0 * step_of(x[place]))),
            (above, below) => {
                let here = moved(0.0);
                let (above, below) = above.or(here.clone()).zip(below.or(here))?;
                Some(slopes(&above, &below, step_of(x[place])))
            }
        }
    })
}

/// The curvature at `x`, where the gradient is known, from one further gradient for each parameter.
pub fn forward_differences<O: Objective + ?Sized>(objective: &O, x: &[f64], gradient: &[f64]) -> Curvature {
    assemble(x.len(), |place| {
        let step = step_of(x[place]);
        match moved(objective, x, place, 1.0) {
            Some(above) => Some(slopes(&above, gradient, step)),
            None => Some(slopes(gradient, &moved(objective, x, place, -1.0)?, step)),
        }
    })
}

/// The gradient after moving one parameter that many steps up; `None` outside the support.
fn moved<O: Objective + ?Sized>(objective: &O, x: &[f64], place: usize, steps: f64) -> Option<Vec<f64>> {
    let mut x = x.to_vec();
    x[place] += steps * step_of(x[place]);
    let mut gradient = vec![0.0; x.len()];
    let value = objective.value_gradient(&x, &mut gradient);
    is_finite(value, &gradient).then_some(gradient)
}

/// The change of each entry of the gradient per unit of the parameter moved.
fn slopes(above: &[f64], below: &[f64], apart: f64) -> Vec<f64> {
    above.iter().zip(below).map(|(above, below)| (above - below) / apart).collect()
}

fn step_of(x: f64) -> f64 {
    RELATIVE_STEP * x.abs().max(1.0)
}

/// The symmetric part of the matrix with these columns.
fn assemble(dim: usize, column: impl Fn(usize) -> Option<Vec<f64>> + Sync) -> Curvature {
    let columns: Vec<Vec<f64>> =
        (0..dim).into_par_iter().map(|place| column(place).unwrap_or_else(|| vec![f64::NAN; dim])).collect();
    Curvature(DMatrix::from_fn(dim, dim, |i, j| 0.5 * (columns[i][j] + columns[j][i])))
}
