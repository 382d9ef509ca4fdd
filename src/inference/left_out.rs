//! Leave-one-batch-out: how well each batch is foretold from all the others, from the draws at hand.
//!
//! A batch's rises, and the dough temperatures read beside them, are left out together, since they share the batch's
//! own vigour: its term is the log of their joint density ([`super::posterior`]). The draws are weighted by one over
//! that density, smoothed ([`super::psis`]). elpd in nats; k-hat without unit.
//!
//! Source: Vehtari, Gelman & Gabry 2017, *Statistics and Computing* 27:1413-1432. Limits: those of the weights, told by
//! k-hat; batches without any observation take no part.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::posterior::Posterior;
use super::psis::{Drawn, loo};

/// The table of draws by batches has at most so many cells (a cell is 8 bytes).
const LARGEST_TABLE: usize = 20_000_000;
/// But at least so many draws.
const FEWEST_DRAWS: usize = 200;
/// And at most so many, which is plenty.
const MOST_DRAWS: usize = 2000;
/// Dependent draws are taken to be worth at least this part of independent ones.
const LEAST_EFFICIENCY: f64 = 1e-3;

/// What leaving each batch out says of a fit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LeftOut {
    /// Expected log predictive density of all batches, nats.
    pub elpd: f64,
    /// Its standard error, nats.
    pub standard_error: f64,
    /// Effective number of parameters.
    pub parameters: f64,
    /// The largest k-hat of any batch.
    pub worst_k: f64,
    /// Batches of the records too influential to be left out this way.
    pub influential: Vec<usize>,
}

impl Posterior {
    /// Log likelihoods `[draw][batch]` of evenly spaced draws of x, as many as the table holds; `None` when one lies
    /// outside the support.
    pub fn tabled(&self, draws: &[&Vec<f64>]) -> Option<Vec<Vec<f64>>> {
        let most = (LARGEST_TABLE / self.batches.len().max(1)).clamp(FEWEST_DRAWS, MOST_DRAWS);
        let step = draws.len().div_ceil(most).max(1);
        draws.par_iter().step_by(step).map(|x| self.pointwise(x)).collect()
    }

    /// Leaves out each observed batch, from the log likelihoods `rows[draw][batch]` of draws that are worth this part of
    /// independent ones; `None` when nothing was observed, or a density is not finite.
    pub fn left_out(&self, rows: &[Vec<f64>], efficiency: f64) -> Option<LeftOut> {
        let observed: Vec<usize> =
            (0..self.batches.len()).filter(|i| !self.batches[*i].prepared.is_silent()).collect();
        let table: Vec<Vec<f64>> =
            rows.iter().map(|row| observed.iter().map(|i| row[*i]).collect()).collect();
        let drawn = Drawn::FromPosterior(efficiency.clamp(LEAST_EFFICIENCY, 1.0));
        let found = loo(&table, drawn).ok()?;
        let worst_k = found.observations.iter().map(|o| o.k_hat).fold(f64::NEG_INFINITY, f64::max);
        let number = |place: usize| self.batches[observed[place]].prepared.batch;
        Some(LeftOut {
            elpd: found.elpd,
            standard_error: found.standard_error,
            parameters: found.parameters,
            worst_k,
            influential: found.influential().into_iter().map(number).collect(),
        })
    }
}
