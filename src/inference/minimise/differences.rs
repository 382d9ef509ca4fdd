//! The curvature of a function by differences of its gradient, in arrow form.
//!
//! One move for each shared parameter, and one for all local effects together: moving them all at once shows
//! each one's own curvature, because no two of them are coupled. [`central_differences`] takes a pair of
//! gradients a move, [`forward_differences`] one, with half the digits. Where one side lies outside the
//! support, the other side and the point itself are used; where both do, the curvature is not a number.
//! Moves run on all processors, and the result is the same for any number of them.
//!
//! The step is 1e-5 of the parameter or of 1, whichever is larger. For parameters of order one and terms of
//! order F in the gradient, the central error is about 1e-11 F by rounding and 1e-11 of the fourth
//! derivatives by truncation; the forward error about 5e-6 of the third derivatives.

use super::{Objective, is_finite};
use crate::inference::arrow::Arrow;
use rayon::prelude::*;

const RELATIVE_STEP: f64 = 1e-5;

/// The curvature at `x` from two gradients for each move.
pub fn central_differences<O: Objective + ?Sized>(objective: &O, x: &[f64]) -> Arrow {
    assemble(objective, |which| {
        let moved = Move::new(objective, x, which);
        match (moved.gradient(1.0), moved.gradient(-1.0)) {
            (Some(above), Some(below)) => moved.slopes(&above, &below, 2.0),
            (above, below) => {
                let here = moved.gradient(0.0);
                above
                    .or(here.clone())
                    .zip(below.or(here))
                    .and_then(|(above, below)| moved.slopes(&above, &below, 1.0))
            }
        }
    })
}

/// The curvature at `x`, where the gradient is known, from one further gradient for each move.
pub fn forward_differences<O: Objective + ?Sized>(objective: &O, x: &[f64], gradient: &[f64]) -> Arrow {
    assemble(objective, |which| {
        let moved = Move::new(objective, x, which);
        match moved.gradient(1.0) {
            Some(above) => moved.slopes(&above, gradient, 1.0),
            None => moved.slopes(gradient, &moved.gradient(-1.0)?, 1.0),
        }
    })
}

/// How many moves there are.
pub(super) fn moves<O: Objective + ?Sized>(objective: &O) -> usize {
    objective.dim() - objective.local() + usize::from(objective.local() > 0)
}

/// One shared parameter, or all local effects, moved away from a point.
struct Move<'a, O: ?Sized> {
    objective: &'a O,
    x: &'a [f64],
    /// The parameters that move.
    moving: std::ops::Range<usize>,
}

impl<'a, O: Objective + ?Sized> Move<'a, O> {
    fn new(objective: &'a O, x: &'a [f64], which: usize) -> Self {
        let shared = objective.dim() - objective.local();
        let moving = if which < shared { which..which + 1 } else { shared..x.len() };
        Move { objective, x, moving }
    }

    /// The gradient after moving that many steps up; `None` outside the support.
    fn gradient(&self, steps: f64) -> Option<Vec<f64>> {
        let mut x = self.x.to_vec();
        for place in self.moving.clone() {
            x[place] += steps * step_of(self.x[place]);
        }
        let mut gradient = vec![0.0; x.len()];
        let value = self.objective.value_gradient(&x, &mut gradient);
        is_finite(value, &gradient).then_some(gradient)
    }

    /// The change of each entry of the gradient per unit of the parameter moved; when all local effects move,
    /// each per unit of its own.
    fn slopes(&self, above: &[f64], below: &[f64], steps: f64) -> Option<Vec<f64>> {
        let unit = |place: usize| {
            step_of(self.x[if self.moving.contains(&place) { place } else { self.moving.start }])
        };
        let changes = above.iter().zip(below).map(|(above, below)| above - below);
        Some(changes.enumerate().map(|(place, change)| change / (steps * unit(place))).collect())
    }
}

fn step_of(x: f64) -> f64 {
    RELATIVE_STEP * x.abs().max(1.0)
}

fn assemble<O: Objective + ?Sized>(
    objective: &O,
    slopes: impl Fn(usize) -> Option<Vec<f64>> + Sync,
) -> Arrow {
    let (dim, local) = (objective.dim(), objective.local());
    let shared = dim - local;
    let columns: Vec<Vec<f64>> = (0..moves(objective))
        .into_par_iter()
        .map(|which| slopes(which).unwrap_or_else(|| vec![f64::NAN; dim]))
        .collect();
    let mut arrow = Arrow::zeros(shared, local);
    for (j, column) in columns.iter().enumerate().take(shared) {
        for (i, entry) in column.iter().enumerate().take(shared) {
            arrow.border[(i, j)] += entry / 2.0;
            arrow.border[(j, i)] += entry / 2.0;
        }
        arrow.cross.column_mut(j).copy_from_slice(&column[shared..]);
    }
    if let Some(together) = columns.get(shared) {
        // The shared entries of this move hold sums over all local effects and say nothing about one of them.
        arrow.diagonal.copy_from_slice(&together[shared..]);
    }
    arrow
}
