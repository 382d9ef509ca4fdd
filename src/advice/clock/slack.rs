//! How far a step can be moved, all others as planned, before the rise is likely to miss.

use jiff::ZonedDateTime;
use serde::Serialize;

use super::later;
use super::steps::Step;
use crate::dough::{Batch, StageKind};
use crate::inference::forecast::Forecaster;

/// A step is moved by at most so many hours.
const MOST_H: f64 = 12.0;
/// How exactly the ends are found, in h.
const EXACT_H: f64 = 0.05;

/// From when to when a step may be done.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Slack {
    /// Hours that it may be earlier, not below zero.
    pub earlier_h: f64,
    /// Hours that it may be later, not below zero.
    pub later_h: f64,
}

impl Slack {
    /// As local times about the planned one.
    pub fn around(&self, at: &ZonedDateTime) -> (ZonedDateTime, ZonedDateTime) {
        (later(at, -self.earlier_h), later(at, self.later_h))
    }
}

/// How far `step` of a filled plan can be moved while the chance (0 to 1) of a ln rise between `near` stays at `least`
/// or above, and by 12 h at most; `None` for a step that the dough does not feel.
pub fn slack(
    forecaster: &mut Forecaster,
    plan: &Batch,
    step: Step,
    near: (f64, f64),
    least: f64,
) -> Option<Slack> {
    moved(plan, step, 0.0)?;
    let mut holds = |by: f64| {
        moved(plan, step, by).is_some_and(|b| {
            let (prepared, _) = forecaster.ready(&b);
            forecaster.rise(&prepared).between(near.0, near.1) >= least
        })
    };
    if !holds(0.0) {
        return Some(Slack { earlier_h: 0.0, later_h: 0.0 });
    }
    let mut far = |sign: f64| {
        let (mut inside, mut outside) = (0.0, 0.5);
        while outside <= MOST_H && holds(sign * outside) {
            inside = outside;
            outside *= 2.0;
        }
        if outside > MOST_H {
            return inside;
        }
        while outside - inside > EXACT_H {
            let middle = 0.5 * (inside + outside);
            if holds(sign * middle) { inside = middle } else { outside = middle }
        }
        inside
    };
    Some(Slack { earlier_h: far(-1.0), later_h: far(1.0) })
}

/// The plan with one step later by so many hours, all other clock times as they were; `None` where a stage would end
/// before it begins, or the dough does not feel the step.
fn moved(plan: &Batch, step: Step, by: f64) -> Option<Batch> {
    let mut b = plan.clone();
    let kinds: Vec<StageKind> = plan.stages().map(|s| s.kind).collect();
    let at = |kind: StageKind| kinds.iter().position(|k| *k == kind);
    let (before, after) = match step {
        Step::Preferment => (None, Some(&mut b.preferment_hours)),
        Step::Mix => {
            if plan.preferment_share() > 0.0 {
                lengthen(&mut b.preferment_hours, by)?;
            }
            (None, Some(stage(&mut b, *kinds.first()?)))
        }
        Step::Divide => {
            let second = if at(StageKind::Cold).is_some() { StageKind::Cold } else { StageKind::Temper };
            let first = kinds[at(second)?.checked_sub(1)?];
            lengthen(stage(&mut b, first), by)?;
            (None, Some(stage(&mut b, second)))
        }
        Step::Out => {
            lengthen(&mut b.cold_hours, by)?;
            (None, Some(&mut b.temper_hours))
        }
        Step::Bake => (Some(stage(&mut b, *kinds.last()?)), None),
        Step::Oven => return None,
    };
    if let Some(hours) = before {
        lengthen(hours, by)?;
    }
    if let Some(hours) = after {
        lengthen(hours, -by)?;
    }
    Some(b)
}

fn stage(b: &mut Batch, kind: StageKind) -> &mut Option<f64> {
    match kind {
        StageKind::Bulk => &mut b.bulk_hours,
        StageKind::Cold => &mut b.cold_hours,
        StageKind::Temper => &mut b.temper_hours,
    }
}

fn lengthen(hours: &mut Option<f64>, by: f64) -> Option<()> {
    let longer = hours.unwrap_or(0.0) + by;
    // A stage keeps a moment, so that it stays a stage.
    if longer < 1e-3 {
        return None;
    }
    *hours = Some(longer);
    Some(())
}
