//! The rise curve of a plan whose yeast and water are given.

use schemars::JsonSchema;
use serde::Serialize;

use crate::dough::Batch;
use crate::inference::forecast::{Forecaster, Mixture};
use crate::physics::course::Output;

use super::plan::sound;
use super::{AdviceError, Interval, plan_name};

/// Points of a curve at most; steps are whole minutes.
const POINTS: f64 = 100.0;

/// A forecast along the hours.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Curve {
    /// Of which plan.
    pub batch_id: Option<String>,
    /// Hours since the end of mixing.
    pub hours: Vec<f64>,
    /// 5 % of batches rise less.
    pub rise_p05: Vec<f64>,
    /// A quarter of batches rise less.
    pub rise_p25: Vec<f64>,
    /// Half of the batches rise less.
    pub rise_p50: Vec<f64>,
    /// Three quarters of batches rise less.
    pub rise_p75: Vec<f64>,
    /// 95 % of batches rise less.
    pub rise_p95: Vec<f64>,
    /// Median dough temperature in °C.
    pub dough_temp_c: Vec<f64>,
    /// What was assumed of what the plan leaves blank.
    pub cautions: Vec<String>,
}

/// Checks that a completed plan can be foretold.
///
/// # Errors
/// When it has no yeast or does not hold together.
pub fn asked(plan: &Batch) -> Result<(), AdviceError> {
    match plan.yeast_g {
        Some(_) => sound(plan),
        None => Err(AdviceError::NoYeast(plan_name(plan))),
    }
}

/// The curve of a completed plan.
///
/// # Errors
/// When the plan has no yeast or does not hold together.
pub fn predict(forecaster: &mut Forecaster, plan: &Batch) -> Result<Curve, AdviceError> {
    asked(plan)?;
    let (mut prepared, assumed) = forecaster.ready(plan);
    let cautions = assumed.into_iter().map(|a| a.says("the plan has")).collect();
    prepared.course.outputs.clear();
    let total = prepared.course.hours();
    let step = (total / POINTS * 60.0).ceil().max(1.0) / 60.0;
    let mut hours: Vec<f64> = (0..).map(|i| f64::from(i) * step).take_while(|h| *h < total).collect();
    hours.push(total);
    for mark in prepared.course.marks(&hours) {
        let after = mark.unwrap_or(prepared.course.segments.len());
        prepared.course.outputs.extend([Output::Rise(after), Output::Temperature(after)]);
    }
    let by_draw = forecaster.rises(&prepared);
    let column = |i: usize| Mixture(by_draw.iter().map(|d| d[i]).collect());
    let mut curve = Curve {
        batch_id: plan.batch_id.clone(),
        hours,
        rise_p05: vec![],
        rise_p25: vec![],
        rise_p50: vec![],
        rise_p75: vec![],
        rise_p95: vec![],
        dough_temp_c: vec![],
        cautions,
    };
    for i in 0..curve.hours.len() {
        let rise = column(2 * i);
        let Interval { p05, p50, p95 } = Interval::of_log(&rise);
        curve.rise_p05.push(p05);
        curve.rise_p25.push(rise.quantile(0.25).exp());
        curve.rise_p50.push(p50);
        curve.rise_p75.push(rise.quantile(0.75).exp());
        curve.rise_p95.push(p95);
        curve.dough_temp_c.push(column(2 * i + 1).quantile(0.5));
    }
    Ok(curve)
}
