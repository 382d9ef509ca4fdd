//! Each batch's rise at the end, foretold from all the other batches without fitting again.
//!
//! The draws are weighted by one over the density of all that was observed of the batch ([`super::left_out`]); under these
//! weights w the rise y has density sum w t4(y; f, s), f and s centre and scale of each draw's forecast
//! ([`super::forecast`]), distribution function sum w F4((y - f)/s) and mean sum w f. All on the scale of ln rise.
//!
//! Source: Vehtari, Gelman & Gabry 2017, *Statistics and Computing* 27:1413-1432; the distribution function at the
//! observation (LOO-PIT) Gelman et al. 2013, *Bayesian Data Analysis*, 3rd ed., p. 152. Limits: batches whose rise at
//! the end was read and which had not collapsed; k-hat says where the weights are too uneven.

use rayon::prelude::*;

use super::fit::Fit;
use super::forecast::{Component, Forecaster};
use super::lots::Centring;
use super::posterior::{Evidence, Posterior};
use super::prepare::{Prepared, Records, prepare};
use super::psis::smooth_correlated;
use super::student;

/// Draws used at most.
const MOST_DRAWS: usize = 1000;

/// A batch's rise as the other batches foretell it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foretold {
    /// Which batch of the records.
    pub batch: usize,
    /// ln rise as read.
    pub observed: f64,
    /// Log density of the reading, nats.
    pub elpd: f64,
    /// Share of the forecast below the reading.
    pub below: f64,
    /// Mean of the forecast, on ln rise.
    pub mean: f64,
    /// k-hat of the weights.
    pub k_hat: f64,
}

impl Foretold {
    /// ln(observed/foretold).
    pub fn miss(&self) -> f64 {
        self.observed - self.mean
    }
}

/// The rise of a batch at its end, as the likelihood reads it: ln rise; `None` when it was not read or had collapsed.
pub fn end_rise(records: &Records, prepared: &Prepared) -> Option<f64> {
    records.batches[prepared.batch].rise?;
    // The end is read last of all that is measured.
    prepared.observed.last().filter(|o| !o.collapsed).map(|o| o.value)
}

/// The forecast of that rise, a component a draw.
pub fn end_components(forecaster: &Forecaster, prepared: &Prepared) -> Vec<Component> {
    // What was observed comes before what was only judged.
    let Some(end) = prepared.observed.len().checked_sub(1) else { return Vec::new() };
    forecaster.rises(prepared).into_iter().map(|of_draw| of_draw[end]).collect()
}

/// All end rises foretold under a fit to these records; empty when no draw is usable.
pub fn foretold(fit: &Fit, records: &Records) -> Vec<Foretold> {
    let posterior = Posterior::new(prepare(records).believing(fit.index.beliefs.clone()), Centring::None);
    let width = posterior.dim();
    let count = fit.draws.len() / width;
    let step = count.div_ceil(MOST_DRAWS).max(1);
    let usable = |x: &&[f64]| posterior.layout.parameters(x).is_some();
    let draws: Vec<&[f64]> = fit.draws.chunks_exact(width).step_by(step).filter(usable).collect();
    let Some(rows) = draws.par_iter().map(|x| posterior.pointwise(x)).collect::<Option<Vec<_>>>() else {
        return Vec::new();
    };
    let Some(forecaster) = Forecaster::new(&posterior.layout, &fit.index, draws.iter().copied()) else {
        return Vec::new();
    };
    let efficiency = efficiency(fit, draws.len());
    let one = |(place, evidence): (usize, &Evidence)| {
        let prepared = &evidence.prepared;
        let observed = end_rise(records, prepared)?;
        let out: Vec<f64> = rows.iter().map(|row| -row[place]).collect();
        let weights = smooth_correlated(&out, efficiency);
        let of_draws: Vec<Component> = end_components(&forecaster, prepared);
        let (mut density, mut below, mut mean) = (0.0, 0.0, 0.0);
        for (w, c) in weights.weights().into_iter().zip(&of_draws) {
            let z = (observed - c.centre) / c.scale;
            density += w * student::density(z) / c.scale;
            below += w * student::below(z);
            mean += w * c.centre;
        }
        let batch = prepared.batch;
        Some(Foretold { batch, observed, elpd: density.ln(), below, mean, k_hat: weights.k_hat })
    };
    posterior.batches.par_iter().enumerate().filter_map(one).collect()
}

/// Which part of so many draws is effective: all of the quick method's, of the full method's as measured.
fn efficiency(fit: &Fit, draws: usize) -> f64 {
    if fit.mixing.is_empty() {
        return 1.0;
    }
    let effective = fit.mixing.iter().map(|m| m.ess_bulk).sum::<f64>() / fit.mixing.len() as f64;
    (effective / draws as f64).clamp(1e-3, 1.0)
}
