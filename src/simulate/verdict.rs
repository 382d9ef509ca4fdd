//! The baker's verdict on an invented batch: how ripe it was, and how the crust came out. Invented rules, no source.

use crate::dough::{Batch, Ripeness};

/// A dough this much over its target (a ratio) is over; its inverse is under.
const READY_RATIO: f64 = 1.2;

/// What is left of the height of a dough that fell.
pub(super) const FALLEN: f64 = 0.8;

/// Ripeness of a dough whose ln rise seems so much over its target.
pub(super) fn ripeness(over_target: f64, fell: bool) -> Ripeness {
    let limit = READY_RATIO.ln();
    match over_target {
        _ if fell => Ripeness::Collapsed,
        x if x > limit => Ripeness::Over,
        x if x < -limit => Ripeness::Under,
        _ => Ripeness::Ready,
    }
}

/// Score of the crust, 1 to 10 in halves: best a little over the target rise, better by a long cold rest.
/// `mood` is what else moves it.
pub(super) fn score(plan: &Batch, over_target: f64, fell: bool, mood: f64) -> f64 {
    let ripe = 30.0 * (over_target - 0.03).powi(2);
    let rest = 0.5 * ((plan.cold_hours.unwrap_or(0.0) - 24.0) / 24.0).clamp(-1.0, 1.0);
    let fallen = if fell { 2.0 } else { 0.0 };
    let score = 7.6 - ripe.min(4.0) + rest - fallen + mood;
    (2.0 * score).round().clamp(2.0, 20.0) / 2.0
}
