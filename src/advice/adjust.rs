//! Mid-course: what the readings so far say of a batch, when it will be ready, and what can still be done.
//!
//! The fit's draws are conditioned on the readings ([`crate::inference::under_way`]); each thing that can still be done
//! (`remedies`) is a course with the same past and another rest (`rest`), and is ranked by the chance that the rise
//! at the oven lands in the window. [`readings`] refuses what this dough cannot have shown.

mod readings;
mod remedies;
mod rest;

use schemars::JsonSchema;
use serde::Serialize;

use crate::dough::Batch;
use crate::dough::hours::span;
use crate::inference::fit::quantile;
use crate::inference::forecast::Forecaster;
use crate::inference::under_way::UnderWay;

use super::plan::sound;
use super::{AdviceError, Interval, plan_name};

pub use readings::Taken;
use remedies::remedies;
use rest::Rest;

/// Readiness is looked for so many hours beyond the plan's end, the last stage going on.
const BEYOND_H: f64 = 24.0;
/// Times at which the rise is worked out on the way there; between them ln rise is taken as straight.
const POINTS: usize = 120;
/// Doughs that readiness and the search for remedies work on.
const SEARCHED: usize = 250;
/// With fewer draws left than this the readings are much unlike what was expected.
const FEW_DRAWS: f64 = 40.0;

/// What the readings say, and what can be done.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Adjustment {
    /// Of which plan.
    pub batch_id: Option<String>,
    /// Hours since the end of mixing.
    pub now_hours: f64,
    /// When the rise reaches the target, in hours from now with the last stage going on; below zero when it has.
    /// Infinite (null in JSON) when not within a day of the plan's end.
    pub ready_in_hours: Interval,
    /// The 10 and 90 % points of the same.
    pub ready_in_hours_80: (f64, f64),
    /// The same as foretold without the readings.
    pub ready_without_readings: Interval,
    /// The 10 and 90 % points without the readings.
    pub ready_without_readings_80: (f64, f64),
    /// How much faster than usual this batch works, as a share.
    pub vigour: Interval,
    /// The rise wanted.
    pub target_rise: f64,
    /// What can be done, likeliest to land first.
    pub options: Vec<Remedy>,
    /// What to mind.
    pub cautions: Vec<String>,
}

/// Something that can be done, and what comes of it.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Remedy {
    /// What to do.
    pub action: String,
    /// Hours from now to the oven.
    pub bake_in_hours: f64,
    /// The rise at the oven, as it will be read.
    pub rise: Interval,
    /// The chance that it lands in the window.
    pub chance_in_window: f64,
}

/// Checks that a completed plan can be adjusted, and gives its target rise.
///
/// # Errors
/// When it has no yeast or no target, or does not hold together.
pub fn asked(plan: &Batch) -> Result<f64, AdviceError> {
    if plan.yeast_g.is_none() {
        return Err(AdviceError::NoYeast(plan_name(plan)));
    }
    sound(plan)?;
    plan.target_rise.ok_or_else(|| AdviceError::NoTarget(plan_name(plan)))
}

/// What to do with the batch that a completed plan has become. `window` is the share of the target that counts as
/// near; `now` in hours after mixing, the last reading's when `None`; `fitted` when the fit was made with these readings.
///
/// # Errors
/// When the plan cannot be adjusted, or the readings contradict themselves or the plan.
pub fn adjust(
    forecaster: &mut Forecaster,
    plan: &Batch,
    taken: &Taken,
    now: Option<f64>,
    window: f64,
    fitted: bool,
) -> Result<Adjustment, AdviceError> {
    let target = asked(plan)?;
    taken.in_order()?;
    let now = taken.now(now)?;
    let plan = &Batch { dough_temp_c: taken.at_mixing().or(plan.dough_temp_c), ..plan.clone() };
    let rest = Rest::new(forecaster, plan, now);
    let (mut prepared, assumed) = forecaster.ready(plan);
    if now > prepared.course.hours() + BEYOND_H {
        return Err(AdviceError::Readings(format!(
            "{now} h after mixing is more than a day beyond the plan's {}: give the plan the hours it really took",
            span(prepared.course.hours())
        )));
    }
    prepared.course = rest.planned_and(BEYOND_H);
    let seen = taken.seen();
    taken.possible(forecaster, &prepared)?;
    let unlike = || {
        AdviceError::Readings(
            "no dough that the fit can imagine gives these readings: check the hours and the mark on the jar"
                .into(),
        )
    };
    let known = forecaster.under_way(&prepared, &seen, fitted).ok_or_else(unlike)?;
    let unread = forecaster.under_way(&prepared, &[], false).ok_or(AdviceError::NoForecast)?;
    let ready = ready_in(&known.thinned(SEARCHED), &rest, target);
    let without = ready_in(&unread.thinned(SEARCHED), &rest, target);
    let mut cautions: Vec<String> = assumed.into_iter().map(|a| a.says("the plan has")).collect();
    if known.effective < FEW_DRAWS {
        cautions.push(format!(
            "these readings are unlike what was expected ({:.0} of {} draws are left): check them, and take another",
            known.effective,
            forecaster.draws.len()
        ));
    }
    cautions.extend(super::cautions::of_plan(plan));
    let near = ((target * (1.0 - window)).ln(), (target * (1.0 + window)).ln());
    Ok(Adjustment {
        batch_id: plan.batch_id.clone(),
        now_hours: now,
        ready_in_hours: points(&ready),
        ready_in_hours_80: (quantile(&ready, 0.1), quantile(&ready, 0.9)),
        ready_without_readings: points(&without),
        ready_without_readings_80: (quantile(&without, 0.1), quantile(&without, 0.9)),
        vigour: points(&sorted(known.vigour())).map(f64::exp_m1),
        target_rise: target,
        options: remedies(&known, &rest, near),
        cautions,
    })
}

/// Hours from now at which each dough reaches the target, sorted; infinite for those that do not in time.
fn ready_in(doughs: &UnderWay, rest: &Rest, target: f64) -> Vec<f64> {
    let (course, hours) = rest.looked_at(BEYOND_H, POINTS);
    let wanted = target.ln();
    let reached = |path: Vec<f64>| {
        let Some(i) = path.iter().position(|v| *v >= wanted) else { return f64::INFINITY };
        let Some(before) = i.checked_sub(1) else { return hours[0] };
        let share = (wanted - path[before]) / (path[i] - path[before]);
        hours[before] + share * (hours[i] - hours[before])
    };
    sorted(doughs.values(&course).into_iter().map(|path| reached(path) - rest.now).collect())
}

fn sorted(mut values: Vec<f64>) -> Vec<f64> {
    values.sort_by(f64::total_cmp);
    values
}

fn points(sorted: &[f64]) -> Interval {
    // Between two infinite values there is nothing to interpolate.
    let at = |p: f64| Some(quantile(sorted, p)).filter(|q| !q.is_nan()).unwrap_or(f64::INFINITY);
    Interval { p05: at(0.05), p50: at(0.50), p95: at(0.95) }
}
