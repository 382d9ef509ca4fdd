//! A symmetric matrix in arrow form: a dense block for the few parameters that all batches share, one
//! number on the diagonal for each batch's own effect, and what couples the two.
//!
//! ```text
//!     | B   C' |   B border, g x g     (shared parameters, which come first)
//! H = |        |   C cross, local x g
//!     | C   D  |   D diagonal, local   (one effect a batch; no two are coupled)
//! ```
//!
//! Everything goes through the Schur complement S = B - C' D^-1 C, so that the cost is linear in the number
//! of batches (local g^2 multiplications to factor) and the dense matrix is never built. With no local
//! effect it is an ordinary dense symmetric matrix.
//!
//! Source: any text on bordered or block matrices, such as Golub & Van Loan, *Matrix Computations*, section
//! on block LU and the Schur complement.

#[cfg(test)]
mod tests;

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use rand::{Rng, RngExt};
use rand_distr::StandardNormal;
use thiserror::Error;

/// A symmetric matrix in arrow form; vectors that go with it hold the shared parameters first.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrow {
    /// The block of the shared parameters, g x g, symmetric.
    pub border: DMatrix<f64>,
    /// The coupling of each local effect (row) to each shared parameter (column).
    pub cross: DMatrix<f64>,
    /// The diagonal of the local effects.
    pub diagonal: Vec<f64>,
}

/// Why a matrix in arrow form has no Cholesky factor.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
pub enum NotPositiveDefinite {
    /// A local effect by itself has no positive curvature.
    #[error("the curvature of local effect {index} is {value}, which is not positive")]
    Local {
        /// Which local effect, counted from 0 after the shared parameters.
        index: usize,
        /// Its entry on the diagonal.
        value: f64,
    },
    /// The shared parameters have no positive curvature in some direction.
    #[error("the curvature of the shared parameters is not positive in every direction")]
    Shared,
}

impl Arrow {
    /// A matrix of zeros with `shared` parameters and `local` effects.
    pub fn zeros(shared: usize, local: usize) -> Self {
        Arrow {
            border: DMatrix::zeros(shared, shared),
            cross: DMatrix::zeros(local, shared),
            diagonal: vec![0.0; local],
        }
    }

    /// A dense symmetric matrix, without local effects.
    pub fn dense(border: DMatrix<f64>) -> Self {
        let shared = border.nrows();
        Arrow { border, cross: DMatrix::zeros(0, shared), diagonal: Vec::new() }
    }

    /// The number of shared parameters, g.
    pub fn shared(&self) -> usize {
        self.border.nrows()
    }

    /// The number of local effects.
    pub fn local(&self) -> usize {
        self.diagonal.len()
    }

    /// The number of rows, shared and local.
    pub fn dim(&self) -> usize {
        self.shared() + self.local()
    }

    /// The whole diagonal, shared parameters first.
    pub fn main_diagonal(&self) -> Vec<f64> {
        self.border.diagonal().iter().chain(&self.diagonal).copied().collect()
    }

    /// The product H x.
    pub fn multiply(&self, x: &[f64]) -> Vec<f64> {
        let (shared, local) = split(x, self.shared());
        let above = &self.border * &shared + self.cross.tr_mul(&local);
        let below = &self.cross * &shared;
        let below = below.iter().zip(&self.diagonal).zip(local.iter()).map(|((c, d), x)| c + d * x);
        above.iter().copied().chain(below).collect()
    }

    /// The Cholesky factor, or why there is none.
    pub fn factor(&self) -> Result<Factor, NotPositiveDefinite> {
        self.factor_damped(&vec![0.0; self.dim()])
    }

    /// The factor of H plus a diagonal matrix, given as its diagonal.
    pub fn factor_damped(&self, damping: &[f64]) -> Result<Factor, NotPositiveDefinite> {
        let (shared_damping, local_damping) = damping.split_at(self.shared());
        let diagonal: Vec<f64> = self.diagonal.iter().zip(local_damping).map(|(d, more)| d + more).collect();
        if let Some(index) = diagonal.iter().position(|&d| !(d > 0.0 && d.is_finite())) {
            return Err(NotPositiveDefinite::Local { index, value: diagonal[index] });
        }
        let root = DVector::from_iterator(diagonal.len(), diagonal.iter().map(|d| d.sqrt()));
        let mut weights = self.cross.clone();
        divide_rows(&mut weights, &root);
        let mut schur = self.border.clone();
        schur.gemm_tr(-1.0, &weights, &weights, 1.0);
        for (place, more) in shared_damping.iter().enumerate() {
            schur[(place, place)] += more;
        }
        divide_rows(&mut weights, &root);
        if schur.iter().any(|entry| !entry.is_finite()) {
            return Err(NotPositiveDefinite::Shared);
        }
        let schur = Cholesky::new(schur).ok_or(NotPositiveDefinite::Shared)?;
        Ok(Factor { schur, weights, diagonal })
    }
}

/// A positive definite arrow matrix, factored: H = M M' with M upper block triangular.
#[derive(Clone, Debug)]
pub struct Factor {
    /// Cholesky factor of the Schur complement.
    schur: Cholesky<f64, Dyn>,
    /// D^-1 C: how far each local effect follows the shared parameters, with the sign turned.
    weights: DMatrix<f64>,
    /// D, with its damping.
    diagonal: Vec<f64>,
}

impl Factor {
    /// The number of rows, shared and local.
    pub fn dim(&self) -> usize {
        self.weights.ncols() + self.diagonal.len()
    }

    /// The solution x of H x = `rhs`.
    pub fn solve(&self, rhs: &[f64]) -> Vec<f64> {
        let (mut shared, local) = split(rhs, self.weights.ncols());
        shared -= self.weights.tr_mul(&local);
        self.schur.solve_mut(&mut shared);
        let own = local.iter().zip(&self.diagonal).map(|(b, d)| b / d);
        self.with_local(&shared, own)
    }

    /// The natural logarithm of the determinant of H.
    pub fn ln_determinant(&self) -> f64 {
        self.diagonal.iter().map(|d| d.ln()).sum::<f64>() + self.schur.ln_determinant()
    }

    /// M'^-1 z, whose covariance is H^-1 when that of `z` is the identity: x' H x = z' z.
    pub fn unwhiten(&self, z: &[f64]) -> Vec<f64> {
        let (mut shared, local) = split(z, self.weights.ncols());
        // The diagonal of a Cholesky factor has no zero, so that the triangle can be solved.
        self.schur.l_dirty().tr_solve_lower_triangular_mut(&mut shared);
        let own = local.iter().zip(&self.diagonal).map(|(z, d)| z / d.sqrt());
        self.with_local(&shared, own)
    }

    /// M' x, the way back from [`unwhiten`](Self::unwhiten).
    pub fn whiten(&self, x: &[f64]) -> Vec<f64> {
        let (shared, local) = split(x, self.weights.ncols());
        let follow = &self.weights * &shared;
        let below = local.iter().zip(follow.iter()).zip(&self.diagonal).map(|((x, f), d)| (x + f) * d.sqrt());
        let above = self.schur.l().tr_mul(&shared);
        above.iter().copied().chain(below).collect()
    }

    /// One draw from the normal distribution with mean zero and covariance H^-1.
    pub fn sample(&self, rng: &mut impl Rng) -> Vec<f64> {
        let z: Vec<f64> = (0..self.dim()).map(|_| rng.sample(StandardNormal)).collect();
        self.unwhiten(&z)
    }

    /// The covariance of the shared parameters: their block of H^-1.
    pub fn shared_covariance(&self) -> DMatrix<f64> {
        self.schur.inverse()
    }

    /// The diagonal of H^-1: the variance of each parameter, shared ones first.
    pub fn variances(&self) -> Vec<f64> {
        let covariance = self.shared_covariance();
        let spread = &self.weights * &covariance;
        let local = self.diagonal.iter().enumerate().map(|(row, d)| {
            let follows: f64 =
                spread.row(row).iter().zip(self.weights.row(row).iter()).map(|(a, b)| a * b).sum();
            1.0 / d + follows
        });
        covariance.diagonal().iter().copied().chain(local).collect()
    }

    /// The whole vector from its shared part and what each local effect adds of its own.
    fn with_local(&self, shared: &DVector<f64>, own: impl Iterator<Item = f64>) -> Vec<f64> {
        let follow = &self.weights * shared;
        let local = own.zip(follow.iter()).map(|(own, follow)| own - follow);
        shared.iter().copied().chain(local).collect()
    }
}

fn split(x: &[f64], shared: usize) -> (DVector<f64>, DVector<f64>) {
    let (shared, local) = x.split_at(shared);
    (DVector::from_column_slice(shared), DVector::from_column_slice(local))
}

fn divide_rows(matrix: &mut DMatrix<f64>, by: &DVector<f64>) {
    for mut column in matrix.column_iter_mut() {
        column.component_div_assign(by);
    }
}
