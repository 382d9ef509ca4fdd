//! The local quadratic model of a function: a curvature in arrow form, kept for several steps, and the
//! rank-one corrections learned from the gradients seen since.
//!
//! B = A + sum v v' / c, with v = y - B s and c = v's after a step s that changed the gradient by y: the
//! symmetric rank-one update (Conn, Gould & Toint 1991, *Mathematical Programming* 50:177-195). It may be
//! indefinite, which a trust region can use. Beside local effects, which the updates would couple,
//! systems in B are solved by the Woodbury identity, so the cost stays linear in the number of batches.

use super::vectors::{dot, norm};
use crate::inference::arrow::{Arrow, Factor};
use nalgebra::{DMatrix, DVector, Dyn, SymmetricEigen};

/// A correction is skipped when its denominator is smaller than this part of its norms' product.
const SMALLEST_DENOMINATOR: f64 = 1e-8;

/// A quadratic model's curvature.
pub(super) struct Quadratic {
    base: Arrow,
    /// Corrections beside the arrow; without local effects they go straight into its border.
    corrections: Vec<Correction>,
    /// The border before it was corrected.
    exact_border: Option<DMatrix<f64>>,
}

struct Correction {
    direction: Vec<f64>,
    denominator: f64,
}

impl Quadratic {
    /// The model whose curvature is exactly `base`.
    pub(super) fn new(base: Arrow) -> Self {
        Quadratic { base, corrections: Vec::new(), exact_border: None }
    }

    /// Drops the corrections, and says whether there were any.
    pub(super) fn forget(&mut self) -> bool {
        let exact_border = self.exact_border.take();
        let corrected = exact_border.is_some() || !self.corrections.is_empty();
        self.corrections.clear();
        if let Some(border) = exact_border {
            self.base.border = border;
        }
        corrected
    }

    /// The curvature as it was evaluated, without corrections.
    pub(super) fn into_base(self) -> Arrow {
        self.base
    }

    /// The product B x.
    pub(super) fn multiply(&self, x: &[f64]) -> Vec<f64> {
        let mut product = self.base.multiply(x);
        for Correction { direction, denominator } in &self.corrections {
            add_scaled(&mut product, dot(direction, x) / denominator, direction);
        }
        product
    }

    /// Learns from a step and the change of the gradient along it.
    pub(super) fn learn(&mut self, step: &[f64], gradient_change: &[f64]) {
        let mut direction = gradient_change.to_vec();
        add_scaled(&mut direction, -1.0, &self.multiply(step));
        let denominator = dot(&direction, step);
        if denominator.abs() <= SMALLEST_DENOMINATOR * norm(step) * norm(&direction) {
            return;
        }
        if self.base.local() == 0 {
            self.exact_border.get_or_insert_with(|| self.base.border.clone());
            let direction = DVector::from_vec(direction);
            self.base.border.ger(1.0 / denominator, &direction, &direction, 1.0);
        } else {
            self.corrections.push(Correction { direction, denominator });
        }
    }

    /// B plus a diagonal matrix, factored; `None` when it is not positive definite (or the arrow alone is not).
    pub(super) fn factor_damped(&self, damping: &[f64]) -> Option<FactoredQuadratic> {
        let base = self.base.factor_damped(damping).ok()?;
        let count = self.corrections.len();
        if count == 0 {
            return Some(FactoredQuadratic { base, woodbury: None });
        }
        let solved: Vec<Vec<f64>> = self.corrections.iter().map(|c| base.solve(&c.direction)).collect();
        let product = |i: usize, j: usize| dot(&self.corrections[i].direction, &solved[j]);
        let capacity = DMatrix::from_fn(count, count, |i, j| {
            let own = if i == j { self.corrections[i].denominator } else { 0.0 };
            own + (product(i, j) + product(j, i)) / 2.0
        });
        if capacity.iter().any(|entry| !entry.is_finite()) {
            return None;
        }
        let capacity = SymmetricEigen::new(capacity);
        // Sylvester's law of inertia on [[A, V], [V', -C]]: B is positive definite exactly when the capacity
        // matrix has as many negative eigenvalues as there are negative denominators.
        let negative = capacity.eigenvalues.iter().filter(|&&value| value <= 0.0).count();
        let expected = self.corrections.iter().filter(|c| c.denominator < 0.0).count();
        (negative == expected)
            .then_some(FactoredQuadratic { base, woodbury: Some(Woodbury { solved, capacity }) })
    }
}

/// A positive definite B plus damping, ready to solve systems.
pub(super) struct FactoredQuadratic {
    base: Factor,
    woodbury: Option<Woodbury>,
}

/// What the corrections add to a solution.
struct Woodbury {
    /// A^-1 v for each correction.
    solved: Vec<Vec<f64>>,
    /// C + V' A^-1 V, by its eigenvalues.
    capacity: SymmetricEigen<f64, Dyn>,
}

impl FactoredQuadratic {
    /// The solution x of (B + damping) x = `rhs`.
    pub(super) fn solve(&self, rhs: &[f64]) -> Vec<f64> {
        let mut x = self.base.solve(rhs);
        if let Some(Woodbury { solved, capacity }) = &self.woodbury {
            let along = DVector::from_iterator(solved.len(), solved.iter().map(|z| dot(z, rhs)));
            let by_eigenvector = capacity.eigenvectors.tr_mul(&along).component_div(&capacity.eigenvalues);
            let weights = &capacity.eigenvectors * by_eigenvector;
            for (solved, weight) in solved.iter().zip(weights.iter()) {
                add_scaled(&mut x, -weight, solved);
            }
        }
        x
    }
}

fn add_scaled(to: &mut [f64], factor: f64, what: &[f64]) {
    for (to, what) in to.iter_mut().zip(what) {
        *to += factor * what;
    }
}
