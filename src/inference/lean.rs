//! Coordinates in which each axis of the posterior is normal by itself.
//!
//! About the mode m in the coordinates u of [`super::unbend`], with S the inverse of the curvature there and w_i the
//! columns of its symmetric root (each near one parameter, all uncorrelated), the coordinates v have
//!
//! - t = m + Σ h_i(v_i) w_i, h_i a curve that rises everywhere ([`super::bend`]), and u of t by [`super::follow`]
//!
//! Along the line m + y w_i the log density has fallen by f(y) nats; r = ± √(2 f) is looked up at a few y on either side, so
//! that y is a curve of r. The density of r on the line goes as e^(-r²/2) y'(r); h(v) is the y below which a share Φ(v) of it
//! lies, for v = -4 to 4: were the axes independent, v would be standard normal. The change of variables is exact whatever
//! the curves are; the log density takes Σ ln h_i'(v_i).
//!
//! Source: r is the signed root of the likelihood ratio (Barndorff-Nielsen 1986, *Biometrika* 73:307-322); the rest is the
//! inverse of a distribution function. Limits: what bends between two axes is left; a line along which the density does
//! not fall, or with several peaks, keeps a straight axis.

use nalgebra::{DMatrix, DVector, SymmetricEigen};
use rayon::prelude::*;

use super::bend::{Bend, Here};
use super::fit::InferenceError;
use super::follow::Following;
use super::minimise::{Minimum, Objective};
use super::unbend::Unbent;

/// How far the log density falls at two standard deviations of a normal, in nats.
const FALL: f64 = 2.0;
/// How many standard deviations away a place of that fall is looked for, and to which part of a nat.
const FARTHEST: f64 = 10.0;
const NEAR: f64 = 0.02;
/// Steps of that search at most.
const STEPS: usize = 30;
/// Where else the fall is looked up, as parts of that place.
const LOOKED_UP: [f64; 4] = [0.5, 1.0, 1.5, 2.0];
/// The density of r is summed from -FAR_R to FAR_R in steps.
const FAR_R: f64 = 9.0;
const STEP_R: f64 = 0.01;
/// h passes through its values at these whole v and their negatives.
const LAST_V: i32 = 4;

/// A posterior told in these coordinates.
#[derive(Debug)]
pub struct Upright {
    unbent: Unbent,
    following: Following,
    /// m.
    centre: DVector<f64>,
    /// The columns w_i.
    axes: DMatrix<f64>,
    /// h_i.
    bends: Vec<Bend>,
}

impl Upright {
    /// About a mode in the coordinates of `unbent`.
    ///
    /// # Errors
    /// When the curvature is not positive definite.
    pub fn new(unbent: Unbent, mode: &Minimum) -> Result<Self, InferenceError> {
        let centre = DVector::from_column_slice(&mode.x);
        let axes = root_of_inverse(&mode.curvature.0)?;
        let following = Following::new(unbent.layout(), &mode.x, &mode.curvature.0)?;
        let at_mode = unbent.log_density(&mode.x);
        let fall = |i: usize, y: f64| {
            let mut at: DVector<f64> = &centre + axes.column(i) * y;
            following.apply(&mut at);
            at_mode - unbent.log_density(at.as_slice())
        };
        let bends = (0..centre.len()).into_par_iter().map(|i| normal_axis(|y| fall(i, y))).collect();
        Ok(Self { unbent, following, centre, axes, bends })
    }

    /// v of the mode that these coordinates were made about.
    pub fn centre(&self) -> Vec<f64> {
        self.bends.iter().map(|h| h.back(0.0)).collect()
    }

    /// x, with lots told in units of their spread, at v.
    pub fn x(&self, v: &[f64]) -> Option<Vec<f64>> {
        self.unbent.x(self.u(v).as_slice())
    }

    /// v of an x whose lots are told in units of their spread.
    pub fn v(&self, x: &[f64]) -> Option<Vec<f64>> {
        let mut t = DVector::from_vec(self.unbent.u(x)?);
        self.following.undo(&mut t);
        let straight = self.axes.clone().lu().solve(&(t - &self.centre))?;
        Some(straight.iter().zip(&self.bends).map(|(y, h)| h.back(*y)).collect())
    }

    fn here<'a>(&'a self, v: &'a [f64]) -> impl Iterator<Item = Here> + 'a {
        v.iter().zip(&self.bends).map(|(v, h)| h.at(*v))
    }

    fn t(&self, v: &[f64]) -> DVector<f64> {
        let mut t = self.centre.clone();
        t.gemv(1.0, &self.axes, &DVector::from_iterator(v.len(), self.here(v).map(|h| h.value)), 1.0);
        t
    }

    fn u(&self, v: &[f64]) -> DVector<f64> {
        let mut u = self.t(v);
        self.following.apply(&mut u);
        u
    }

    /// The log density at v, up to a constant of the data; minus infinity outside the support.
    pub fn log_density(&self, v: &[f64]) -> f64 {
        let jacobian: f64 = self.here(v).map(|h| h.slope.ln()).sum();
        self.unbent.log_density(self.u(v).as_slice()) + jacobian
    }

    /// The log density at v, and its gradient.
    pub fn log_density_gradient(&self, v: &[f64], gradient: &mut [f64]) -> f64 {
        let mut by_u = DVector::zeros(v.len());
        let t = self.t(v);
        let mut u = t.clone();
        self.following.apply(&mut u);
        let mut value = self.unbent.log_density_gradient(u.as_slice(), by_u.as_mut_slice());
        self.following.chain(&t, &mut by_u);
        let by_axis = self.axes.tr_mul(&by_u);
        for ((by, by_axis), here) in gradient.iter_mut().zip(&by_axis).zip(self.here(v)) {
            value += here.slope.ln();
            *by = by_axis * here.slope + here.bent / here.slope;
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

/// The curve that makes an axis normal by itself, from the fall of the log density at a place of its line.
fn normal_axis(fall: impl Fn(f64) -> f64) -> Bend {
    let fall = &fall;
    let (Some(right), Some(left)) = (place_of_fall(fall), place_of_fall(|y| fall(-y))) else {
        return Bend::straight(1.0);
    };
    let straight = || Bend::straight((right + left) / 4.0);
    let side = |place: f64, sign: f64| {
        let looked_up = LOOKED_UP.iter().map(move |part| sign * part * place);
        looked_up.map(move |y| (sign * (2.0 * fall(y)).sqrt(), y)).take_while(|(r, _)| r.is_finite())
    };
    let mut points: Vec<(f64, f64)> = side(left, -1.0).collect();
    points.reverse();
    points.push((0.0, 0.0));
    points.extend(side(right, 1.0));
    Bend::through(&points).and_then(|y_of_r| by_its_shares(&y_of_r)).unwrap_or_else(straight)
}

/// h from the curve y(r).
fn by_its_shares(y_of_r: &Bend) -> Option<Bend> {
    let places: Vec<f64> = (0..).map(|i| f64::from(i) * STEP_R - FAR_R).take_while(|r| *r <= FAR_R).collect();
    let density: Vec<f64> = places.iter().map(|r| (-0.5 * r * r).exp() * y_of_r.at(*r).slope).collect();
    let total: f64 = density.iter().sum();
    // Each share is summed from the nearer end, so that those of the tails keep their digits.
    let beyond = |v: f64| 0.5 * total * libm::erfc(v.abs() / std::f64::consts::SQRT_2);
    let from_left = |share: f64| place_of_sum(density.iter().copied(), share).map(|i| i * STEP_R - FAR_R);
    let from_right =
        |share: f64| place_of_sum(density.iter().rev().copied(), share).map(|i| FAR_R - i * STEP_R);
    let point = |v: i32| {
        let v = f64::from(v);
        let r = if v < 0.0 { from_left(beyond(v)) } else { from_right(beyond(v)) };
        Some((v, y_of_r.at(r?).value))
    };
    Bend::through(&(-LAST_V..=LAST_V).map(point).collect::<Option<Vec<_>>>()?)
}

/// How many terms, and which part of the next, sum up to `wanted`; less half a term, as each stands for a cell about it.
fn place_of_sum(terms: impl Iterator<Item = f64>, wanted: f64) -> Option<f64> {
    let mut sum = 0.0;
    for (i, term) in terms.enumerate() {
        if sum + term >= wanted {
            return Some(i as f64 + (wanted - sum) / term - 0.5);
        }
        sum += term;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_skew_axis_becomes_normal() {
        // A Gumbel's log density, y in its standard deviations at the mode: e^-y + y - 1 below that there.
        let h = normal_axis(|y| (-y).exp() + y - 1.0);
        for v in [-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0] {
            // Its distribution function is exp(-e^-y).
            let share = 0.5 * libm::erfc(-v / std::f64::consts::SQRT_2);
            let exact = -(-share.ln()).ln();
            // Beyond the last place looked up, the curve goes straight on.
            let near = if v < 3.0 { 0.02 } else { 0.25 };
            assert!((h.at(v).value - exact).abs() < near, "{v}: {} {exact}", h.at(v).value);
        }
    }

    #[test]
    fn a_normal_axis_stays_as_it_is() {
        let h = normal_axis(|y| 0.5 * y * y);
        for v in [-6.0, -2.5, 0.0, 0.3, 5.0] {
            assert!((h.at(v).value - v).abs() < 1e-3, "{v}: {}", h.at(v).value);
        }
    }

    #[test]
    fn a_line_along_which_nothing_falls_stays_straight() {
        assert_eq!(normal_axis(|_| 0.0), Bend::straight(1.0));
    }
}
