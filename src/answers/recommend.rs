//! The next batch: plans filled by the fit, and kept in the logbook so that what came of them can be told.

use std::path::PathBuf;

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::AdviceError;
use crate::advice::cautions::unseen;
use crate::advice::clock::plan::{Asked, Schedule, schedule};
use crate::advice::limits::Limits;
use crate::advice::recommend::{Recommendation, recommend};
use crate::dough::Batch;
use crate::inference::fit::Fit;
use crate::inference::prepare::Records;

use super::failure::Failure;

/// The answer of `recommend`.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Answer {
    /// One entry a plan.
    pub plans: Vec<Recommendation>,
    /// Under which names they are kept in the logbook, for `record --plan`; none where they are not kept.
    pub plan_ids: Vec<String>,
    /// Each on the clock, when the hour of the bake was given.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub schedules: Vec<Schedule>,
    /// Charts drawn.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub charts: Vec<PathBuf>,
    /// What to know of the fit behind it.
    pub warnings: Vec<String>,
    /// How each rises, as a small chart for the terminal; none where none is drawn.
    #[serde(skip)]
    pub pictures: Vec<String>,
}

/// Recommends for completed plans, each with the batch it was completed from.
pub fn answer_plans(
    fit: &Fit,
    records: &Records,
    plans: &[(Batch, Option<Batch>)],
    limits: &Limits,
) -> Result<Answer, Failure> {
    let mut forecaster = fit.forecaster().ok_or(AdviceError::NoForecast)?;
    let mut answers = Vec::new();
    for (plan, last) in plans {
        let mut one = recommend(&mut forecaster, plan, last.as_ref(), limits)?;
        one.cautions.extend(unseen(&one.plan, records));
        answers.push(one);
    }
    Ok(answer_of(fit, answers, vec![]))
}

/// Recommends for completed plans that are all baked at one hour.
pub fn on_the_clock(
    fit: &Fit,
    records: &Records,
    plans: &[(Batch, Option<Batch>)],
    limits: &Limits,
    asked: &Asked,
    odd: Option<&str>,
) -> Result<Answer, Failure> {
    let mut forecaster = fit.forecaster().ok_or(AdviceError::NoForecast)?;
    let (mut answers, mut schedules) = (Vec::new(), Vec::new());
    for (plan, last) in plans {
        let (mut one, mut schedule) = schedule(&mut forecaster, plan, last.as_ref(), limits, asked)?;
        one.cautions.extend(unseen(&one.plan, records));
        schedule.notes.extend(odd.map(str::to_string));
        answers.push(one);
        schedules.push(schedule);
    }
    Ok(answer_of(fit, answers, schedules))
}

fn answer_of(fit: &Fit, plans: Vec<Recommendation>, schedules: Vec<Schedule>) -> Answer {
    let warnings = fit.warnings.iter().map(|w| w.says()).collect();
    Answer { plans, schedules, plan_ids: vec![], charts: vec![], warnings, pictures: vec![] }
}
