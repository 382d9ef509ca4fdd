//! The curvature of a function about a point, a symmetric matrix H, and its Cholesky factor, H = L L'.
//!
//! Units: those of the function per unit of each of two parameters. Vectors have one entry a parameter, as many as H has
//! rows. Source: textbook linear algebra, by nalgebra. Limits: dense, so the cost grows with the cube of the parameters.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use thiserror::Error;

/// A symmetric matrix.
#[derive(Clone, Debug, PartialEq)]
pub struct Curvature(pub DMatrix<f64>);

/// Why a curvature has no Cholesky factor.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
#[error("the curvature is not positive in every direction")]
pub struct NotPositiveDefinite;

impl Curvature {
    /// The diagonal, one entry a parameter.
    pub fn diagonal(&self) -> Vec<f64> {
        self.0.diagonal().data.into()
    }

    /// The product H x.
    pub fn multiply(&self, x: &[f64]) -> Vec<f64> {
        (&self.0 * DVector::from_column_slice(x)).data.into()
    }

    /// The Cholesky factor.
    ///
    /// # Errors
    /// When H is not positive definite or not finite.
    pub fn factor(&self) -> Result<Factor, NotPositiveDefinite> {
        if self.0.iter().any(|entry| !entry.is_finite()) {
            return Err(NotPositiveDefinite);
        }
        Cholesky::new(self.0.clone()).map(Factor).ok_or(NotPositiveDefinite)
    }

    /// The factor of H plus a diagonal matrix, given as its diagonal, one entry a parameter.
    ///
    /// # Errors
    /// As [`Curvature::factor`].
    pub fn factor_damped(&self, damping: &[f64]) -> Result<Factor, NotPositiveDefinite> {
        let mut damped = self.clone();
        for (place, more) in damping.iter().enumerate() {
            damped.0[(place, place)] += more;
        }
        damped.factor()
    }
}

/// A positive definite curvature, factored.
#[derive(Clone, Debug)]
pub struct Factor(Cholesky<f64, Dyn>);

impl Factor {
    /// The solution x of H x = `rhs`.
    pub fn solve(&self, rhs: &[f64]) -> Vec<f64> {
        self.0.solve(&DVector::from_column_slice(rhs)).data.into()
    }

    /// The natural logarithm of the determinant of H.
    pub fn ln_determinant(&self) -> f64 {
        self.0.ln_determinant()
    }

    /// L'^-1 z, whose covariance is H^-1 when that of `z` is the identity: x' H x = z' z.
    pub fn unwhiten(&self, z: &[f64]) -> Vec<f64> {
        let mut x = DVector::from_column_slice(z);
        // The diagonal of a Cholesky factor has no zero, so that the triangle can be solved.
        self.0.l_dirty().tr_solve_lower_triangular_mut(&mut x);
        x.data.into()
    }

    /// L' x, the way back from [`unwhiten`](Self::unwhiten).
    pub fn whiten(&self, x: &[f64]) -> Vec<f64> {
        self.0.l().tr_mul(&DVector::from_column_slice(x)).data.into()
    }

    /// The diagonal of H^-1: the variance of each parameter, when H is that of minus a log density.
    pub fn variances(&self) -> Vec<f64> {
        self.0.inverse().diagonal().data.into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three parameters; the inverse and the determinant by hand.
    fn example() -> Curvature {
        Curvature(DMatrix::from_row_slice(3, 3, &[2.0, 1.0, 0.0, 1.0, 2.0, 0.0, 0.0, 0.0, 5.0]))
    }

    fn close(a: &[f64], b: &[f64]) -> bool {
        a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-14)
    }

    #[test]
    fn solves_whitens_and_measures() {
        let factor = example().factor().unwrap();
        assert!(close(&factor.variances(), &[2.0 / 3.0, 2.0 / 3.0, 0.2]));
        assert!((factor.ln_determinant() - 15.0_f64.ln()).abs() < 1e-14);
        let z = [0.3, -1.0, 2.0];
        assert!(close(&factor.solve(&example().multiply(&z)), &z));
        let x = factor.unwhiten(&z);
        assert!(close(&factor.whiten(&x), &z));
        let product = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        assert!((product(&x, &example().multiply(&x)) - product(&z, &z)).abs() < 1e-14);
    }

    #[test]
    fn says_what_is_not_positive() {
        let mut turned = example();
        turned.0[(2, 2)] = -1.0;
        assert_eq!(turned.factor().err(), Some(NotPositiveDefinite));
        assert!(turned.factor_damped(&[0.0, 0.0, 2.0]).is_ok());
        turned.0[(2, 2)] = f64::NAN;
        assert_eq!(turned.factor().err(), Some(NotPositiveDefinite));
    }
}
