//! Charts of one dough from its forecast: its rise with bands over its temperatures, and when it is ready.

use jiff::tz::TimeZone;

use crate::advice::AdviceError;
use crate::advice::predict::{Curve, predict};
use crate::advice::readiness::chances;
use crate::advice::recommend::Recommendation;
use crate::charts::{
    AtOven, ChartError, Figure, Quantiles, ReadinessChart, ReadyChance, RiseChart, StageSpan, readiness,
    rise_curve,
};
use crate::dough::units::UnitSystem;
use crate::dough::{Batch, Stage, StageKind};
use crate::inference::forecast::Forecaster;
use crate::report::mixed_at;

use super::failure::Failure;

/// A plan's curve as the chart takes it.
pub fn rise_chart(curve: &Curve, plan: &Batch, units: UnitSystem) -> RiseChart {
    let quantiles = |i: usize| Quantiles {
        p05: curve.rise_p05[i],
        p25: curve.rise_p25[i],
        p50: curve.rise_p50[i],
        p75: curve.rise_p75[i],
        p95: curve.rise_p95[i],
    };
    RiseChart {
        name: plan.batch_id.clone().unwrap_or_default(),
        units,
        rise: curve.hours.iter().enumerate().map(|(i, h)| (*h, quantiles(i))).collect(),
        dough_temp_c: curve.hours.iter().copied().zip(curve.dough_temp_c.iter().copied()).collect(),
        surroundings_temp_c: surroundings(plan),
        stages: stages(plan),
        target_rise: plan.target_rise,
        ..RiseChart::default()
    }
}

/// How a recommended batch rises, on the clock where its hour is known.
pub fn rise_of(
    forecaster: &mut Forecaster,
    advice: &Recommendation,
    zone: &TimeZone,
    units: UnitSystem,
    width_px: u32,
) -> Result<Figure, Failure> {
    let longer = until_ready(advice);
    let (curve, shown) = match predict(forecaster, &longer) {
        Ok(curve) => (curve, &longer),
        // A last stage that long is more than a plan may have.
        Err(_) => (predict(forecaster, &advice.plan)?, &advice.plan),
    };
    let end = shown.total_hours();
    let chart = RiseChart {
        mixed_at: mixed_at(&advice.plan, zone),
        target_rise: Some(advice.target_rise),
        window_hours: advice
            .window
            .map(|w| (w.from_hours.min(end), w.to_hours.min(end)))
            .filter(|w| w.0 < w.1),
        oven: Some(AtOven {
            hours: advice.plan.total_hours(),
            p05: advice.rise.p05,
            p50: advice.rise.p50,
            p95: advice.rise.p95,
        }),
        ..rise_chart(&curve, shown, units)
    };
    Ok(rise_curve(&chart, width_px)?)
}

/// When a recommended batch is under, ready and over.
pub fn readiness_of(
    forecaster: &mut Forecaster,
    advice: &Recommendation,
    zone: &TimeZone,
    width_px: u32,
) -> Result<Figure, ChartError> {
    let (prepared, _) = forecaster.ready(&advice.plan);
    let chances = chances(forecaster, &prepared, advice.near());
    let end = chances.last().map_or(0.0, |c| c.hours);
    let chance = |c: crate::advice::readiness::Chances| ReadyChance {
        hours: c.hours,
        under: c.under,
        ready: c.ready,
        over: c.over,
    };
    let chart = ReadinessChart {
        name: advice.batch_id.clone().unwrap_or_default(),
        mixed_at: mixed_at(&advice.plan, zone),
        window_hours: advice.window.map(|w| (w.from_hours, w.to_hours.min(end))),
        oven_hours: Some(prepared.course.hours()),
        chances: chances.into_iter().map(chance).collect(),
    };
    readiness(&chart, width_px)
}

/// Both charts of each recommended batch.
pub fn of_all(
    forecaster: Option<Forecaster>,
    advice: &[Recommendation],
    zone: &TimeZone,
    units: UnitSystem,
    width_px: u32,
) -> Result<Vec<Figure>, Failure> {
    let mut forecaster = forecaster.ok_or(AdviceError::NoForecast)?;
    let mut figures = Vec::new();
    for one in advice {
        figures.push(rise_of(&mut forecaster, one, zone, units, width_px)?);
        figures.push(readiness_of(&mut forecaster, one, zone, width_px)?);
    }
    Ok(figures)
}

/// The plan, its last stage going on until the dough has been ready.
fn until_ready(advice: &Recommendation) -> Batch {
    let mut plan = advice.plan.clone();
    let more = advice.window.map_or(0.0, |w| w.to_hours - plan.total_hours());
    let last = match plan.stages().last().map(|s| s.kind) {
        Some(StageKind::Bulk) => &mut plan.bulk_hours,
        Some(StageKind::Cold) => &mut plan.cold_hours,
        Some(StageKind::Temper) | None => &mut plan.temper_hours,
    };
    *last = last.map(|hours| hours + more.max(0.0));
    plan
}

/// Hours after mixing and the temperature around the dough, of the stages that tell it.
fn surroundings(plan: &Batch) -> Vec<(f64, f64)> {
    let ends = stages(plan).into_iter().map(|s| (s.from_hours, s.to_hours));
    let told = plan.stages().zip(ends).filter_map(|(s, ends)| Some((s.surroundings_c?, ends)));
    told.flat_map(|(c, (from, to))| [(from, c), (to, c)]).collect()
}

fn stages(plan: &Batch) -> Vec<StageSpan> {
    let mut from_hours = 0.0;
    let span = |stage: Stage| {
        let from = from_hours;
        from_hours += stage.hours;
        StageSpan { name: stage.kind.to_string(), from_hours: from, to_hours: from_hours }
    };
    plan.stages().map(span).collect()
}
