//! How many hours too late (positive) or too early a batch was ripe, by its own rise and the fit.
//!
//! The course of the batch at the mean of the posterior is given the vigour at which it passes through the rise that was
//! read; its last stage is then taken to go on, or to have ended sooner, until the target is reached. Hours late = hour of
//! the target less the hour of the oven. Both are found by bisection: rise grows with vigour and with time.
//!
//! Limits: one vigour for the whole course; a target beyond two more days, or beyond what the flour bears, has no hour.

use crate::dough::Batch;
use crate::physics::course::Output;

use super::forecast::Forecaster;

/// How much longer the last stage is taken to go on, in h.
const BEYOND_H: f64 = 48.0;
/// The vigour that a rise asks for is looked for within so much of ln k.
const WIDEST: f64 = 3.0;
/// Halvings of either search: 48 h / 2^24 is a hundredth of a second.
const HALVINGS: usize = 24;

/// Hours late of a batch whose `rise` was read at its oven and whose `target_rise` is known; `None` without them, or when no
/// hour can be told.
pub fn hours_late(forecaster: &Forecaster, batch: &Batch) -> Option<f64> {
    let (rise, target) = (batch.rise?.ln(), batch.target_rise?.ln());
    let mut one = forecaster.central();
    let (plan, _) = one.ready(batch);
    let end = plan.course.hours();
    let k = one.draws.first()?.parameters.k;
    let mut ln_rise = |ln_effect: f64, hours: f64| {
        let mut cut = plan.clone();
        let last = cut.course.segments.last_mut()?;
        last.hours += (hours - end).max(0.0);
        cut.course.outputs.clear();
        let after = cut.course.mark(hours)?;
        cut.course.outputs.push(Output::Rise(after));
        one.draws[0].parameters.k = k * ln_effect.exp();
        one.values(&cut).first()?.first().copied()
    };
    let vigour = bisect(-WIDEST, WIDEST, |effect| Some(ln_rise(effect, end)? - rise))?;
    let ripe = bisect(0.0, end + BEYOND_H, |hours| Some(ln_rise(vigour, hours)? - target))?;
    Some(ripe - end)
}

/// Where a rising function crosses zero; `None` unless it does between both ends.
fn bisect(low: f64, high: f64, mut of: impl FnMut(f64) -> Option<f64>) -> Option<f64> {
    let (mut low, mut high) = (low, high);
    if of(low)? > 0.0 || of(high)? < 0.0 {
        return None;
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if of(middle)? < 0.0 { low = middle } else { high = middle }
    }
    Some(0.5 * (low + high))
}
