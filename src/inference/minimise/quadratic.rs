//! The local quadratic model of a function: a curvature kept for several steps, and what the gradients seen since have
//! taught.
//!
//! B <- B + v v' / c with v = y - B s and c = v's after a step s that changed the gradient by y: the symmetric rank-one
//! update (Conn, Gould & Toint 1991, *Mathematical Programming* 50:177-195). It may be indefinite, which a trust region can
//! use.

use nalgebra::DVector;

use super::vectors::{dot, norm};
use crate::inference::curvature::{Curvature, Factor};

/// A correction is skipped when its denominator is smaller than this part of its norms' product.
const SMALLEST_DENOMINATOR: f64 = 1e-8;

/// A quadratic model's curvature.
pub(super) struct Quadratic {
    model: Curvature,
    /// As it was evaluated, once the model has learned.
    evaluated: Option<Curvature>,
}

impl Quadratic {
    /// The model whose curvature is exactly this.
    pub(super) fn new(evaluated: Curvature) -> Self {
        Quadratic { model: evaluated, evaluated: None }
    }

    /// Drops what was learned, and says whether there was anything.
    pub(super) fn forget(&mut self) -> bool {
        let evaluated = self.evaluated.take();
        let learned = evaluated.is_some();
        if let Some(curvature) = evaluated {
            self.model = curvature;
        }
        learned
    }

    /// The curvature as it was evaluated.
    pub(super) fn into_evaluated(self) -> Curvature {
        self.evaluated.unwrap_or(self.model)
    }

    /// The product B x.
    pub(super) fn multiply(&self, x: &[f64]) -> Vec<f64> {
        self.model.multiply(x)
    }

    /// Learns from a step and the change of the gradient along it.
    pub(super) fn learn(&mut self, step: &[f64], gradient_change: &[f64]) {
        let foretold = self.multiply(step);
        let direction: Vec<f64> = gradient_change.iter().zip(foretold).map(|(y, b)| y - b).collect();
        let denominator = dot(&direction, step);
        if denominator.abs() <= SMALLEST_DENOMINATOR * norm(step) * norm(&direction) {
            return;
        }
        self.evaluated.get_or_insert_with(|| self.model.clone());
        let direction = DVector::from_vec(direction);
        self.model.0.ger(1.0 / denominator, &direction, &direction, 1.0);
    }

    /// B plus a diagonal matrix, factored; `None` when it is not positive definite.
    pub(super) fn factor_damped(&self, damping: &[f64]) -> Option<Factor> {
        self.model.factor_damped(damping).ok()
    }
}
