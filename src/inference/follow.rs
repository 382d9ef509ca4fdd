//! How the other parameters follow one whose effect is not straight.
//!
//! The gas lost, a lag, the pull of the room: what they do to a dough is nearly proportional to their value p(x), and x
//! itself, a logarithm or a logit, runs on without end where p no longer changes. Others that make good for them then must
//! follow p, not x. With m the mode, S these parameters, N the others,
//!
//! - u_N = t_N + Σ over i in S of c_i d(t_i), u_S = t_S
//! - d(t) = [p(t) - p(m)]/p'(m) - (t - m): what is not straight in p
//! - c = -H_NN⁻¹ H_NS, H the curvature at the mode: by how much the others make good for x near it
//!
//! d and d' vanish at m, so that mode and curvature stay as they are; the change of variables is a shear, of determinant 1.
//! All without unit.
//!
//! Source: the conditional mean of a normal, as in any text on statistics. Limits: one slope c for each; how two of S bend
//! together is left.

use nalgebra::{DMatrix, DVector};

use super::fit::InferenceError;
use super::layout::Layout;
use super::priors::{Core, Form};

/// S.
const CURVED: [Core; 4] = [Core::Lag, Core::Loss, Core::PrefermentLoss, Core::Pull];

/// The shear.
#[derive(Debug)]
pub struct Following {
    curved: [Curved; 4],
    /// N.
    others: Vec<usize>,
    /// c: a row for each of N, a column for each of S.
    slopes: DMatrix<f64>,
}

/// One of S.
#[derive(Debug)]
pub struct Curved {
    /// Its place in x.
    pub place: usize,
    form: Form,
    mode: f64,
    /// p and p' at the mode.
    there: (f64, f64),
}

impl Curved {
    /// All of S, about a mode as long as x.
    pub fn all(layout: &Layout, mode: &[f64]) -> [Self; 4] {
        CURVED.map(|which| {
            let (place, form) = (which as usize, layout.shared[which as usize].form);
            Self { place, form, mode: mode[place], there: form.value(mode[place]) }
        })
    }

    /// (p(t) - p(m))/p'(m), and its slope.
    pub fn straight(&self, t: f64) -> (f64, f64) {
        let (value, slope) = self.form.value(t);
        ((value - self.there.0) / self.there.1, slope / self.there.1)
    }

    /// d(t) and d'(t).
    fn deviation(&self, t: f64) -> (f64, f64) {
        let (straight, slope) = self.straight(t);
        (straight - (t - self.mode), slope - 1.0)
    }
}

impl Following {
    /// About a mode with this curvature, in coordinates that tell S as `layout` does.
    ///
    /// # Errors
    /// When the curvature of the others is not positive definite.
    pub fn new(layout: &Layout, mode: &[f64], curvature: &DMatrix<f64>) -> Result<Self, InferenceError> {
        let curved = Curved::all(layout, mode);
        let others: Vec<usize> = (0..mode.len()).filter(|i| curved.iter().all(|c| c.place != *i)).collect();
        let own = DMatrix::from_fn(others.len(), others.len(), |i, j| curvature[(others[i], others[j])]);
        let with =
            DMatrix::from_fn(others.len(), curved.len(), |i, j| curvature[(others[i], curved[j].place)]);
        let factor =
            own.cholesky().ok_or_else(|| InferenceError::NoMode("its curvature is not positive".into()))?;
        Ok(Self { curved, others, slopes: -factor.solve(&with) })
    }

    /// u from t.
    pub fn apply(&self, t: &mut DVector<f64>) {
        self.shift(t, 1.0);
    }

    /// t from u.
    pub fn undo(&self, u: &mut DVector<f64>) {
        self.shift(u, -1.0);
    }

    fn shift(&self, at: &mut DVector<f64>, sign: f64) {
        for (curved, slopes) in self.curved.iter().zip(self.slopes.column_iter()) {
            let by = sign * curved.deviation(at[curved.place]).0;
            self.others.iter().zip(slopes.iter()).for_each(|(&i, slope)| at[i] += slope * by);
        }
    }

    /// Turns derivatives by u into derivatives by t, at t.
    pub fn chain(&self, t: &DVector<f64>, by_u: &mut DVector<f64>) {
        for (curved, slopes) in self.curved.iter().zip(self.slopes.column_iter()) {
            let of_others: f64 =
                self.others.iter().zip(slopes.iter()).map(|(&i, slope)| slope * by_u[i]).sum();
            by_u[curved.place] += of_others * curved.deviation(t[curved.place]).1;
        }
    }
}
