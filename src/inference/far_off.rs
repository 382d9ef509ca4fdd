//! Batches that the fit itself finds incredible: most often a figure written down wrongly.
//!
//! The rise at the end is set against its forecast under the fit, the batch's own vigour not known ([`super::residuals`]):
//! one is named when no rise of n sound batches would lie so far off but by a chance of [`INCREDIBLE`]; or when its miss,
//! ln(observed/median), is [`FAR`] times as far from their median as the usual one, where the fit took it for noise. Without
//! unit.
//!
//! Source: Bonferroni's bound and the median absolute deviation, as in any text on statistics; the chance and the distance are
//! choices of this project (a sound batch with t4 noise is as far off once in 500). Limits: the batch took part
//! in the fit, so one that the fit follows is not found.

use crate::dough::Batch;

use super::fit::{Fit, Warning, quantile};
use super::prepare::Prepared;
use super::residuals::{Reading, residuals};

/// The chance that any batch of sound records is named.
const INCREDIBLE: f64 = 0.05;
/// How many usual misses are far, where there are so many batches that a usual miss is known.
const FAR: f64 = 8.0;
const FEWEST: usize = 8;
/// A miss below this, on ln rise, is never far.
const LEAST: f64 = 0.25;
/// Draws that the forecasts rest on.
const DRAWS: usize = 50;
/// Batches named at most, the farthest first.
const MOST: usize = 3;

impl Fit {
    /// Puts what is said of such batches before all other warnings; `batches` are those of the records.
    pub(super) fn name_far_off<'a>(
        &mut self,
        prepared: impl IntoIterator<Item = &'a Prepared>,
        batches: &[Batch],
    ) {
        let Some(forecaster) = self.forecaster_of(DRAWS) else { return };
        let mut found = residuals(&forecaster, prepared);
        found.retain(|r| r.kind == Reading::End);
        let found_enough = found.len() >= FEWEST;
        let least = INCREDIBLE / (2.0 * found.len() as f64);
        let (middle, usual) = middle_and_usual(&found.iter().map(|r| r.log).collect::<Vec<_>>());
        let far = |log: f64| found_enough && (log - middle).abs() > (FAR * usual).max(LEAST);
        found.retain(|r| r.below.min(1.0 - r.below) < least || far(r.log));
        found.sort_by(|a, b| b.log.abs().total_cmp(&a.log.abs()));
        let far_off = found.iter().take(MOST).map(|r| Warning::FarOff {
            batch: batches[r.batch].batch_id.clone().unwrap_or_else(|| format!("number {}", r.batch + 1)),
            rose: r.observed,
            expected: r.p50,
        });
        self.warnings.splice(0..0, far_off.collect::<Vec<_>>());
    }
}

/// The median, and the median distance from it; NaN of none.
fn middle_and_usual(misses: &[f64]) -> (f64, f64) {
    let median = |mut values: Vec<f64>| {
        values.sort_by(f64::total_cmp);
        quantile(&values, 0.5)
    };
    let middle = median(misses.to_vec());
    (middle, median(misses.iter().map(|m| (m - middle).abs()).collect()))
}
