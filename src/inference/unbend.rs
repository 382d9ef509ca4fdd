//! Coordinates in which the posterior is nearly normal.
//!
//! What a batch tells is its whole vigour, ln k plus what its lots add; how that is shared out between the kitchen and
//! the lots hangs on how much lots differ. With lots told in units of that spread, or by themselves, the posterior is a
//! funnel or a curved ridge, and neither a normal at the mode nor a sampler of one step length fits it. Here the vigour
//! and the lots, together b, are told by standard numbers z instead: as the records leave b, given the spreads s and
//! the other parameters o,
//!
//! - b = V(o) e + P⁻¹ [h - C d(o)] + L'⁻¹ z, P = K + D(s) = L L', d(o) = o - o*, but for parameters whose effect goes as
//!   their value p: [p(o) - p(o*)]/p'(o*) ([`super::follow`])
//! - V(o) the vigour at which a middling batch would rise as it does at the mode ([`super::standing`]), e the place of the
//!   vigour in b: the ridge of vigour, growth, cold rate and gas lost is thinner than its own bend
//! - K and C the curvature of minus the log likelihood at the mode, by b twice and by b and o (of C what V leaves);
//!   h = P(s*) b*; D the precision of the prior: 1 for the vigour, 1/rho² for a lot, rho the spread over its prior
//!   scale; * at the mode
//!
//! If the likelihood were normal in b, z would be standard normal whatever s. The change of variables is exact
//! whatever K and C are: the log density takes -ln|L| (V is a shift).
//!
//! Derivatives with Y = P⁻¹ g and w = L⁻¹ g, g those of the log posterior by b: by z w; by o less d'(o) C'Y and g_e V'(o); by
//! D_i -Y_i m_i + (half the diagonal of the symmetric adjoint of the Cholesky factor), m = P⁻¹[h - C d(o)].
//!
//! Source: non-centring by the conditional posterior, as in Papaspiliopoulos, Roberts & Sköld 2007, Statistical
//! Science 22:59-73, section 3; the adjoint of a Cholesky factor: Murray 2016, arXiv:1602.07527, equation 10.
//! Limits: one mode; K is cut to its positive part.

use std::ops::Range;

use nalgebra::{Cholesky, DMatrix, DVector, Dyn, SymmetricEigen};

use super::fit::InferenceError;
use super::follow::Curved;
use super::layout::Layout;
use super::lots::{Centring, Lots};
use super::minimise::{Objective, central_differences};
use super::posterior::Posterior;
use super::priors::{Core, half_normal};
use super::standing::{Standing, Stands};

/// A posterior told in these coordinates: u is x, but for z in the places of the vigour and of the lots.
#[derive(Debug)]
pub struct Unbent {
    /// The posterior, with each lot told by itself.
    posterior: Posterior,
    /// The places of b in x: the vigour, then the lots.
    block: Vec<usize>,
    /// Each kind of lots: the place of its spread in x, and its rows of b.
    kinds: Vec<(usize, Range<usize>)>,
    /// The places of o in x.
    others: Vec<usize>,
    /// K.
    data: DMatrix<f64>,
    /// C.
    cross: DMatrix<f64>,
    /// h.
    pull: DVector<f64>,
    /// x at the mode.
    centre: Vec<f64>,
    /// Those of o that are followed by what they do, not by their place in x.
    curved: [Curved; 4],
    /// V; `None` where no rise was read.
    standing: Option<Standing>,
}

/// b given s and o: its mean, and the factor of its precision.
struct Conditional {
    /// Without V.
    mean: DVector<f64>,
    factor: Cholesky<f64, Dyn>,
    standing: Option<Stands>,
}

impl Unbent {
    /// About a mode `x` of a posterior whose lots are told in units of their spread; and that mode in u.
    ///
    /// # Errors
    /// When the posterior has no finite curvature there.
    pub fn new(posterior: &Posterior, x: &[f64]) -> Result<(Self, Vec<f64>), InferenceError> {
        let posterior = posterior.retold(Centring::Full);
        let x = posterior.layout.centred(x);
        let lots = || [&posterior.layout.flour, &posterior.layout.yeast].into_iter().flatten();
        let mut block = vec![Core::Vigour as usize];
        let mut kinds = Vec::new();
        for Lots { spread, effects, .. } in lots() {
            kinds.push((*spread, block.len()..block.len() + effects.len()));
            block.extend(effects.clone());
        }
        let inner = |i: &usize| !block.contains(i) && kinds.iter().all(|(spread, _)| spread != i);
        let others: Vec<usize> = (0..posterior.dim()).filter(inner).collect();

        let curvature = central_differences(&posterior, &x).0;
        let prior = DMatrix::from_diagonal(&precision(block.len(), &kinds, &x));
        let of = |rows: &[usize], columns: &[usize]| {
            DMatrix::from_fn(rows.len(), columns.len(), |i, j| curvature[(rows[i], columns[j])])
        };
        let data = of(&block, &block) - &prior;
        let mut cross = of(&block, &others);
        let standing = Standing::new(&posterior, &x);
        if let Some(s) = standing.as_ref().and_then(|s| s.at(&posterior.layout, &x)) {
            let mut slopes = vec![0.0; x.len()];
            s.chain(&posterior.layout, &x, 1.0, &mut slopes);
            let slopes = DVector::from_iterator(others.len(), others.iter().map(|&i| slopes[i]));
            let mut column: DVector<f64> = data.column(0).into();
            column[0] += 1.0;
            cross += column * slopes.transpose();
        }
        if data.iter().chain(cross.iter()).any(|c| !c.is_finite()) {
            return Err(InferenceError::NoMode("its curvature is not finite".into()));
        }
        let data = positive_part(data);
        let at = DVector::from_iterator(block.len(), block.iter().map(|&i| x[i]));
        let pull = (&data + prior) * &at;
        let mut u = x.clone();
        block.iter().for_each(|&i| u[i] = 0.0);
        let curved = Curved::all(&posterior.layout, &x);
        Ok((Self { posterior, block, kinds, others, data, cross, pull, centre: x, curved, standing }, u))
    }

    /// Which place of u tells what; those of the vigour and of the lots hold z.
    pub fn layout(&self) -> &Layout {
        &self.posterior.layout
    }

    /// x, with lots told in units of their spread, at u.
    pub fn x(&self, u: &[f64]) -> Option<Vec<f64>> {
        let x = self.place(u, &self.conditional(u)?);
        Some(self.posterior.layout.uncentred(&x))
    }

    /// u of an x whose lots are told in units of their spread.
    pub fn u(&self, x: &[f64]) -> Option<Vec<f64>> {
        let mut u = self.posterior.layout.centred(x);
        let given = self.conditional(&u)?;
        let mut away =
            DVector::from_iterator(self.block.len(), self.block.iter().map(|&i| u[i])) - &given.mean;
        away[0] -= given.standing.as_ref().map_or(0.0, |s| s.shift);
        let z = given.factor.l().tr_mul(&away);
        for (&place, z) in self.block.iter().zip(z.iter()) {
            u[place] = *z;
        }
        Some(u)
    }

    /// The log density at u, up to a constant of the data; minus infinity outside the support.
    pub fn log_density(&self, u: &[f64]) -> f64 {
        let Some(given) = self.conditional(u) else { return f64::NEG_INFINITY };
        self.posterior.log_density(&self.place(u, &given)) - 0.5 * given.factor.ln_determinant()
    }

    /// The log density at u, and its gradient.
    pub fn log_density_gradient(&self, u: &[f64], gradient: &mut [f64]) -> f64 {
        let Some(given) = self.conditional(u) else { return f64::NEG_INFINITY };
        let value = self.posterior.log_density_gradient(&self.place(u, &given), gradient);
        if !value.is_finite() {
            return value;
        }
        let n = self.block.len();
        let by_b = DVector::from_iterator(n, self.block.iter().map(|&i| gradient[i]));
        let lower = given.factor.l_dirty();
        if let Some(s) = &given.standing {
            s.chain(&self.posterior.layout, u, by_b[0], gradient);
        }
        let mut by_z = by_b;
        lower.solve_lower_triangular_mut(&mut by_z);
        let mut pulled = by_z.clone();
        lower.tr_solve_lower_triangular_mut(&mut pulled);
        for (&place, by) in self.others.iter().zip(self.cross.tr_mul(&pulled).iter()) {
            gradient[place] -= by * self.away(place, u).1;
        }
        if !self.kinds.is_empty() {
            let by_precision = self.by_precision(u, &given, &by_z, &pulled);
            for (spread, rows) in &self.kinds {
                let (rho, slope) = half_normal(u[*spread]);
                let by: f64 = by_precision.as_slice()[rows.clone()].iter().sum();
                gradient[*spread] += by * -2.0 * slope / (rho * rho * rho);
            }
        }
        for (&place, by) in self.block.iter().zip(by_z.iter()) {
            gradient[place] = *by;
        }
        value - 0.5 * given.factor.ln_determinant()
    }

    /// Derivatives of the log density by the diagonal of D.
    fn by_precision(
        &self,
        u: &[f64],
        given: &Conditional,
        by_z: &DVector<f64>,
        pulled: &DVector<f64>,
    ) -> DVector<f64> {
        let n = self.block.len();
        let lower = given.factor.l();
        // The adjoint of L: of L'⁻¹ z along by_b, and of -ln|L|.
        let mut away = DVector::from_iterator(n, self.block.iter().map(|&i| u[i]));
        lower.tr_solve_lower_triangular_mut(&mut away);
        let mut adjoint = -&away * by_z.transpose();
        for i in 0..n {
            adjoint[(i, i)] -= 1.0 / lower[(i, i)];
        }
        // The adjoint of P is L'⁻¹ Phi(L' adjoint) L⁻¹, Phi the lower triangle with half the diagonal; of it the diagonal.
        let mut middle = lower.tr_mul(&adjoint).lower_triangle();
        for i in 0..n {
            middle[(i, i)] *= 0.5;
        }
        lower.tr_solve_lower_triangular_mut(&mut middle);
        let mut middle = middle.transpose();
        lower.tr_solve_lower_triangular_mut(&mut middle);
        middle.diagonal() - pulled.component_mul(&given.mean)
    }

    /// How far one of o is from the mode, along which the vigour and the lots follow it, and the slope of that.
    fn away(&self, place: usize, u: &[f64]) -> (f64, f64) {
        match self.curved.iter().find(|c| c.place == place) {
            Some(curved) => curved.straight(u[place]),
            None => (u[place] - self.centre[place], 1.0),
        }
    }

    /// `None` outside the support.
    fn conditional(&self, u: &[f64]) -> Option<Conditional> {
        let mut precision = self.data.clone();
        precision.set_diagonal(&(self.data.diagonal() + self::precision(self.block.len(), &self.kinds, u)));
        if precision.iter().any(|p| !p.is_finite()) {
            return None;
        }
        let factor = Cholesky::new(precision)?;
        let away = DVector::from_iterator(self.others.len(), self.others.iter().map(|&i| self.away(i, u).0));
        let mut mean = &self.pull - &self.cross * away;
        factor.solve_mut(&mut mean);
        let standing = match &self.standing {
            Some(standing) => Some(standing.at(&self.posterior.layout, u)?),
            None => None,
        };
        Some(Conditional { mean, factor, standing })
    }

    /// u with b in the places of z.
    fn place(&self, u: &[f64], given: &Conditional) -> Vec<f64> {
        let mut b = DVector::from_iterator(self.block.len(), self.block.iter().map(|&i| u[i]));
        given.factor.l_dirty().tr_solve_lower_triangular_mut(&mut b);
        b += &given.mean;
        b[0] += given.standing.as_ref().map_or(0.0, |s| s.shift);
        let mut x = u.to_vec();
        for (&place, b) in self.block.iter().zip(b.iter()) {
            x[place] = *b;
        }
        x
    }
}

impl Objective for Unbent {
    fn dim(&self) -> usize {
        self.posterior.dim()
    }

    fn value_gradient(&self, u: &[f64], gradient: &mut [f64]) -> f64 {
        let value = self.log_density_gradient(u, gradient);
        gradient.iter_mut().for_each(|g| *g = -*g);
        -value
    }

    fn value(&self, u: &[f64]) -> f64 {
        -self.log_density(u)
    }
}

/// The diagonal of D, of so many rows.
fn precision(count: usize, kinds: &[(usize, Range<usize>)], x: &[f64]) -> DVector<f64> {
    let mut diagonal = DVector::from_element(count, 1.0);
    for (spread, rows) in kinds {
        diagonal.rows_range_mut(rows.clone()).fill(half_normal(x[*spread]).0.powi(-2));
    }
    diagonal
}

/// A symmetric matrix without its negative eigenvalues.
fn positive_part(matrix: DMatrix<f64>) -> DMatrix<f64> {
    let mut eigen = SymmetricEigen::new(matrix);
    eigen.eigenvalues.apply(|e| *e = e.max(0.0));
    eigen.recompose()
}
