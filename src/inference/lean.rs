//! Coordinates in which the posterior leans to no side.
//!
//! About the mode m in the coordinates u of [`super::unbend`], with S the inverse of the curvature there and w_i the
//! columns of its symmetric root (each near one parameter, all uncorrelated), the coordinates v have
//!
//! - u = m + Σ s_i h(v_i; t_i) w_i, h(v; t) = v + t (√(1 + v²) - 1), |t| ≤ [`MOST_LEAN`]
//!
//! with s_i and t_i such that the log density falls by as much at v_i = 2 and at v_i = -2 as a standard normal's would: by
//! [`FALL`] nats, as it does at the places y of a line m + y w_i that a search finds. h rises without end on both sides, by
//! 1 + t to the right and by 1 - t to the left, so the change of variables is exact; the log density takes Σ ln h'(v_i).
//!
//! Source: h is the sinh-arcsinh transform of Jones & Pewsey 2009, *Biometrika* 96:761-780, with unit tails, scaled to
//! h(0) = 0, h'(0) = 1; places of equal fall are the signed root of the likelihood ratio (Barndorff-Nielsen 1986,
//! *Biometrika* 73:307-322). Limits: what bends between two axes is left.

use nalgebra::{DMatrix, DVector, SymmetricEigen};
use rayon::prelude::*;

use super::fit::InferenceError;
use super::minimise::{Minimum, Objective};
use super::unbend::Unbent;

/// The strongest lean taken out; one side is then nine times as steep as the other.
const MOST_LEAN: f64 = 0.8;
/// How far the log density falls at two standard deviations of a normal, in nats.
const FALL: f64 = 2.0;
/// How many standard deviations away a place of that fall is looked for, and to which part of a nat.
const FARTHEST: f64 = 10.0;
const NEAR: f64 = 0.02;
/// Steps of that search at most.
const STEPS: usize = 30;

/// A posterior told in these coordinates.
#[derive(Debug)]
pub struct Upright {
    unbent: Unbent,
    /// m.
    centre: DVector<f64>,
    /// The columns s_i w_i.
    axes: DMatrix<f64>,
    /// t.
    lean: Vec<f64>,
}

impl Upright {
    /// About a mode in the coordinates of `unbent`, which lies at v = 0.
    ///
    /// # Errors
    /// When the curvature is not positive definite.
    pub fn new(unbent: Unbent, mode: &Minimum) -> Result<Self, InferenceError> {
        let centre = DVector::from_column_slice(&mode.x);
        let mut axes = root_of_inverse(&mode.curvature.0)?;
        let at_mode = unbent.log_density(&mode.x);
        let fall = |i: usize, y: f64| {
            let at: DVector<f64> = &centre + axes.column(i) * y;
            at_mode - unbent.log_density(at.as_slice())
        };
        let sides = |i: usize| (place_of_fall(|y| fall(i, y)), place_of_fall(|y| fall(i, -y)));
        let found: Vec<_> = (0..centre.len()).into_par_iter().map(sides).collect();
        let mut lean = vec![0.0; centre.len()];
        for (i, (right, left)) in found.into_iter().enumerate() {
            let (Some(right), Some(left)) = (right, left) else { continue };
            let scale = (right + left) / 4.0;
            // h(2) + h(-2) = 2 t (√5 - 1).
            lean[i] = ((right - left) / (2.0 * scale * (5.0_f64.sqrt() - 1.0))).clamp(-MOST_LEAN, MOST_LEAN);
            axes.column_mut(i).scale_mut(scale);
        }
        Ok(Self { unbent, centre, axes, lean })
    }

    /// x, with lots told in units of their spread, at v.
    pub fn x(&self, v: &[f64]) -> Option<Vec<f64>> {
        self.unbent.x(self.u(v).as_slice())
    }

    /// v of an x whose lots are told in units of their spread.
    pub fn v(&self, x: &[f64]) -> Option<Vec<f64>> {
        let away = DVector::from_vec(self.unbent.u(x)?) - &self.centre;
        let straight = self.axes.clone().lu().solve(&away)?;
        Some(straight.iter().zip(&self.lean).map(|(y, t)| upright(*y, *t)).collect())
    }

    fn u(&self, v: &[f64]) -> DVector<f64> {
        let leaning = v.iter().zip(&self.lean).map(|(v, t)| leaning(*v, *t));
        let mut u = self.centre.clone();
        u.gemv(1.0, &self.axes, &DVector::from_iterator(v.len(), leaning), 1.0);
        u
    }

    /// The log density at v, up to a constant of the data; minus infinity outside the support.
    pub fn log_density(&self, v: &[f64]) -> f64 {
        let jacobian: f64 = v.iter().zip(&self.lean).map(|(v, t)| slope(*v, *t).ln()).sum();
        self.unbent.log_density(self.u(v).as_slice()) + jacobian
    }

    /// The log density at v, and its gradient.
    pub fn log_density_gradient(&self, v: &[f64], gradient: &mut [f64]) -> f64 {
        let mut by_u = DVector::zeros(v.len());
        let mut value = self.unbent.log_density_gradient(self.u(v).as_slice(), by_u.as_mut_slice());
        let by_axis = self.axes.tr_mul(&by_u);
        for (i, by) in gradient.iter_mut().enumerate() {
            let (v, t) = (v[i], self.lean[i]);
            let slope = slope(v, t);
            value += slope.ln();
            *by = by_axis[i] * slope + t / ((1.0 + v * v).powf(1.5) * slope);
        }
        value
    }
}

impl Objective for Upright {
    fn dim(&self) -> usize {
        self.centre.len()
    }

    fn value_gradient(&self, v: &[f64], gradient: &mut [f64]) -> f64 {
        let value = self.log_density_gradient(v, gradient);
        gradient.iter_mut().for_each(|g| *g = -*g);
        -value
    }

    fn value(&self, v: &[f64]) -> f64 {
        -self.log_density(v)
    }
}

/// The symmetric root of a curvature's inverse.
fn root_of_inverse(curvature: &DMatrix<f64>) -> Result<DMatrix<f64>, InferenceError> {
    let mut eigen = SymmetricEigen::new(curvature.clone());
    if eigen.eigenvalues.iter().any(|e| !e.is_finite() || *e <= 0.0) {
        return Err(InferenceError::NoMode("its curvature is not positive".into()));
    }
    eigen.eigenvalues.apply(|e| *e = e.sqrt().recip());
    Ok(eigen.recompose())
}

/// Where on one side of the mode the log density has fallen by [`FALL`], in standard deviations; `None` where it does not
/// within [`FARTHEST`].
fn place_of_fall(fall: impl Fn(f64) -> f64) -> Option<f64> {
    let (mut low, mut high) = (0.0, FARTHEST);
    let mut y = 2.0;
    for _ in 0..STEPS {
        let here = fall(y);
        if (here - FALL).abs() < NEAR {
            return Some(y);
        }
        if here < FALL {
            low = y
        } else {
            high = y
        }
        // As if the fall were a parabola; halfway where that leaves the bracket or the density has none.
        let guess = y * (FALL / here).sqrt();
        y = if guess > low && guess < high { guess } else { 0.5 * (low + high) };
    }
    None
}

/// h(v).
fn leaning(v: f64, t: f64) -> f64 {
    // √(1 + v²) - 1 without loss near zero.
    v + t * v * v / (1.0 + (1.0 + v * v).sqrt())
}

/// h'(v).
fn slope(v: f64, t: f64) -> f64 {
    1.0 + t * v / (1.0 + v * v).sqrt()
}

/// v of h(v) = y: from (y + t - v)² = t² (1 + v²).
fn upright(y: f64, t: f64) -> f64 {
    let a = y + t;
    let rest = 1.0 - t * t;
    (a - t * (a * a + rest).sqrt()) / rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn upright_undoes_leaning_and_the_slope_is_its_derivative() {
        for t in [-0.8, -0.3, 0.0, 0.5, 0.8] {
            for v in [-50.0, -2.0, -1e-6, 0.0, 0.3, 4.0, 50.0] {
                let y = leaning(v, t);
                assert!((upright(y, t) - v).abs() < 1e-12 * v.abs().max(1.0), "{t} {v}");
                let difference = (leaning(v + 1e-5, t) - leaning(v - 1e-5, t)) / 2e-5;
                assert!((slope(v, t) - difference).abs() < 1e-8, "{t} {v}");
            }
        }
    }
}
