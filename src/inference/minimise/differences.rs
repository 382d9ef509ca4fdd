//! The curvature of a function by central differences of its gradient, in arrow form.
//!
//! One pair of gradients for each shared parameter, and one pair for all local effects together: moving
//! them all at once shows each one's own curvature, because no two of them are coupled. Where one side of a
//! pair lies outside the support, the other side and the point itself are used.
//!
//! The step is 1e-5 of the parameter or of 1, whichever is larger: for parameters of order one the error of
//! truncation (fourth derivative times 1e-11) and that of rounding (gradient terms times 1e-11) are alike.

use super::Objective;
use crate::inference::arrow::Arrow;
use rayon::prelude::*;

const RELATIVE_STEP: f64 = 1e-5;

/// The curvature at `x`, one gradient after the other.
pub fn central_differences<O: Objective + ?Sized>(objective: &O, x: &[f64]) -> Arrow {
    let shared = objective.dim() - objective.local();
    let columns = (0..moves(objective)).map(|which| column(objective, x, shared, which)).collect();
    assemble(objective, columns)
}

/// The same on all processors, with the same result to the last digit.
pub fn central_differences_in_parallel<O: Objective + Sync + ?Sized>(objective: &O, x: &[f64]) -> Arrow {
    let shared = objective.dim() - objective.local();
    let columns =
        (0..moves(objective)).into_par_iter().map(|which| column(objective, x, shared, which)).collect();
    assemble(objective, columns)
}

/// How many pairs of gradients: one a shared parameter, and one for the local effects if there are any.
pub(super) fn moves<O: Objective + ?Sized>(objective: &O) -> usize {
    objective.dim() - objective.local() + usize::from(objective.local() > 0)
}

/// The change of the gradient per unit of move `which` (the one after the last shared parameter moves all
/// local effects), each entry divided by the step of the parameter that moved, or of its own if all do.
fn column<O: Objective + ?Sized>(objective: &O, x: &[f64], shared: usize, which: usize) -> Vec<f64> {
    let moving = if which < shared { which..which + 1 } else { shared..x.len() };
    let gradient_at = |side: f64| {
        let mut moved = x.to_vec();
        for place in moving.clone() {
            moved[place] += side * step_of(x[place]);
        }
        let mut gradient = vec![0.0; x.len()];
        let value = objective.value_gradient(&moved, &mut gradient);
        let finite = value.is_finite() && gradient.iter().all(|g| g.is_finite());
        (gradient, finite)
    };
    let (mut above, finite_above) = gradient_at(1.0);
    let (mut below, finite_below) = gradient_at(-1.0);
    let mut sides = 2.0;
    if !finite_above || !finite_below {
        let (here, _) = gradient_at(0.0);
        sides = 1.0;
        if finite_below { above = here } else { below = here }
    }
    let own = |place: usize| step_of(x[if which < shared { which } else { place }]);
    above
        .iter()
        .zip(&below)
        .enumerate()
        .map(|(place, (up, down))| (up - down) / (sides * own(place)))
        .collect()
}

fn step_of(x: f64) -> f64 {
    RELATIVE_STEP * x.abs().max(1.0)
}

fn assemble<O: Objective + ?Sized>(objective: &O, columns: Vec<Vec<f64>>) -> Arrow {
    let (local, shared) = (objective.local(), objective.dim() - objective.local());
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
