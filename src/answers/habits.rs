//! Pictures of a kitchen's habits, whatever is baked next: yeast against hours, how temperature sets the pace, how a piece
//! cools, how fast each lot of flour works.

use crate::advice::limits::Limits;
use crate::advice::plan::complete;
use crate::advice::yeast_for::{YeastFor, yeast_for};
use crate::charts::{
    ChartError, CoolingChart, Figure, FlourLot, Quantiles, TemperatureChart, YeastChart, YeastCurve,
    YeastPoint, cooling, flour_lots, temperature_response, yeast_against_hours,
};
use crate::dough::counted::counted;
use crate::dough::hours::span;
use crate::dough::units::{Celsius, UnitSystem};
use crate::dough::{Batch, Reading, StageKind, Vessel, YeastType};
use crate::inference::fit::{Fit, quantile};
use crate::inference::forecast::Forecaster;
use crate::inference::prepare::{Lot, Records, flour_lot};
use crate::physics::course::Output;
use crate::physics::rate::REFERENCE_C;

/// Draws behind these pictures: their bands move by less than a line's width against all draws.
const DRAWS: usize = 200;
/// Hours on the yeast chart: a preferment's day to the longest cold proof that the model holds for.
const HOURS: [f64; 11] = [12.0, 18.0, 24.0, 30.0, 36.0, 42.0, 48.0, 54.0, 60.0, 66.0, 72.0];
/// Fridges on it, °C: what household refrigerators are found at (common practice, no source).
const FRIDGES_C: [f64; 4] = [2.0, 4.0, 6.0, 8.0];
/// The same in round °F, as °C.
const FRIDGES_F: [f64; 4] = [36.0, 40.0, 44.0, 48.0];
/// Temperatures on the chart of the pace, from and to, °C.
const PACE_C: (f64, f64) = (0.0, 45.0);
/// Hours on the cooling chart at most.
const COOLING_H: f64 = 12.0;
/// Points of a curve of time or temperature.
const POINTS: usize = 46;
/// A piece cools like another whose mass differs by no more than this share.
const LIKE_PIECE: f64 = 0.25;

/// A kitchen's habits, as pictures and in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Habits {
    /// To pin on the wall: yeast against hours, how a piece cools, how temperature sets the pace.
    pub wall: Vec<Figure>,
    /// How fast each lot of flour works; `None` without lots.
    pub lots: Option<Figure>,
    /// What the latest lot of flour asks for; `None` without lots.
    pub latest_lot: Option<String>,
}

/// The habits that a fit tells of, pictures where there are data for them.
pub fn habits(fit: &Fit, records: &Records, units: UnitSystem, width_px: u32) -> Result<Habits, ChartError> {
    let mut found = Habits { wall: Vec::new(), lots: None, latest_lot: None };
    let Some(mut forecaster) = fit.forecaster().map(|f| f.thinned(DRAWS)) else { return Ok(found) };
    let latest = records.latest();
    if let Some(plan) = latest.map(usual_plan) {
        found
            .wall
            .extend(drawn(yeast_against_hours(&yeast(&mut forecaster, records, &plan, units), width_px))?);
        if let Some(chart) = cooling_of(&mut forecaster, records, &plan, units) {
            found.wall.extend(drawn(cooling(&chart, width_px))?);
        }
    }
    found.wall.extend(drawn(temperature_response(&pace(&forecaster, records, units), width_px))?);
    let lots = lots(fit, &forecaster);
    found.lots = drawn(flour_lots(&lots, width_px))?;
    let name = latest.and_then(flour_lot);
    found.latest_lot = lots.iter().find(|l| Some(l.name.as_str()) == name).map(says);
    Ok(found)
}

/// A chart, or none where there is nothing to draw.
fn drawn(chart: Result<Figure, ChartError>) -> Result<Option<Figure>, ChartError> {
    match chart {
        Err(ChartError::NothingToDraw { .. }) => Ok(None),
        chart => chart.map(Some),
    }
}

/// What a lot of flour asks for, in words.
fn says(lot: &FlourLot) -> String {
    let percent = |ln: f64| format!("{:+.0} %", 100.0 * ln.exp_m1());
    let q = &lot.pace_log;
    let how = match (q.p05 > 0.0, q.p95 < 0.0) {
        (true, _) => "works faster than your usual flour: it takes less yeast or less time",
        (_, true) => "works slower than your usual flour: it takes more yeast or more time",
        _ => "works as your usual flour does, as far as your batches tell",
    };
    let batches = counted(lot.batches, "batch", "batches");
    format!(
        "Your latest flour, {}, {how} ({}, 90 % between {} and {}, {batches}).",
        lot.name,
        percent(q.p50),
        percent(q.p05),
        percent(q.p95)
    )
}

/// The latest batch as a plan; its dough as warm as it was.
fn usual_plan(latest: &Batch) -> Batch {
    let plan = complete(&Batch::default(), Some(latest));
    Batch { water_temp_c: latest.water_temp_c, dough_temp_c: latest.dough_temp_c, ..plan }
}

fn yeast(forecaster: &mut Forecaster, records: &Records, plan: &Batch, units: UnitSystem) -> YeastChart {
    let fridges_c = match units {
        UnitSystem::Metric => FRIDGES_C,
        UnitSystem::Us => FRIDGES_F.map(|f| Celsius::from_fahrenheit(f).0),
    };
    let point = |p: YeastFor| YeastPoint {
        hours: p.hours,
        yeast_pct_p05: p.yeast_pct.p05,
        yeast_pct_p50: p.yeast_pct.p50,
        yeast_pct_p95: p.yeast_pct.p95,
        seen: !p.extrapolated,
    };
    let mut curve = |fridge_temp_c| {
        let found = yeast_for(forecaster, records, plan, fridge_temp_c, &HOURS, &Limits::default());
        YeastCurve { fridge_temp_c, points: found.into_iter().map(point).collect() }
    };
    YeastChart {
        yeast: match plan.yeast_type.unwrap_or(YeastType::Instant) {
            YeastType::Instant => "instant yeast".into(),
            YeastType::ActiveDry => "active dry yeast".into(),
            YeastType::Fresh => "fresh yeast".into(),
        },
        flour_g: plan.flour_g,
        conditions: conditions(plan, units),
        curves: fridges_c.map(&mut curve).into(),
        units,
    }
}

/// What holds for all curves: the plan but for its yeast, its cold hours and its fridge.
fn conditions(plan: &Batch, units: UnitSystem) -> String {
    let degrees = |c: f64| format!("{:.0} {}", units.temperature(c), units.degrees());
    let mut said = Vec::new();
    said.extend(plan.target_rise.map(|rise| format!("to rise {rise:.2} times")));
    said.extend(plan.hydration_pct().map(|pct| format!("{pct:.0} % water")));
    said.extend(plan.dough_temp_c.map(|c| format!("dough at {} after mixing", degrees(c))));
    said.extend(plan.stages().filter(|s| s.kind != StageKind::Cold).map(|s| {
        let place = match s.kind {
            StageKind::Bulk => "whole",
            _ => "out of the fridge",
        };
        let around = s.surroundings_c.or(plan.room_temp_c);
        let at = around.map_or(String::new(), |c| format!(" at {}", degrees(c)));
        format!("{} {place}{at}", span(s.hours))
    }));
    said.extend(plan.piece_g.map(|g| format!("pieces of {}", piece(g, units))));
    format!("As your latest batch: {}; the rest in the fridge.", said.join(", "))
}

/// How a piece comes to the fridge's temperature, with what a probe has read in pieces like it.
fn cooling_of(
    forecaster: &mut Forecaster,
    records: &Records,
    plan: &Batch,
    units: UnitSystem,
) -> Option<CoolingChart> {
    let cold = plan.stages().find(|s| s.kind == StageKind::Cold)?;
    let start = in_fridge_from(plan);
    let (mut prepared, _) = forecaster.ready(&Batch { yeast_g: Some(1.0), ..plan.clone() });
    let span = cold.hours.min(COOLING_H);
    let hours: Vec<f64> = (0..POINTS).map(|i| span * i as f64 / (POINTS - 1) as f64).collect();
    let on_the_clock: Vec<f64> = hours.iter().map(|h| start + h).collect();
    prepared.course.outputs.clear();
    let marks = prepared.course.marks(&on_the_clock);
    prepared.course.outputs = marks.into_iter().flatten().map(Output::Temperature).collect();
    let by_draw = forecaster.values(&prepared);
    let at = |(i, hours): (usize, &f64)| {
        (*hours, quantiles(by_draw.iter().filter_map(|d| d.get(i).copied()).collect()))
    };
    let piece = plan.piece_g.map_or(String::new(), |g| format!("a piece of {}", piece(g, units)));
    let place = plan.cold_place.as_ref().map_or(String::new(), |p| format!(" ({p})"));
    Some(CoolingChart {
        name: format!("{piece}{place}"),
        temp_c: hours.iter().enumerate().map(at).collect(),
        surroundings_temp_c: cold.surroundings_c.map_or(Vec::new(), |c| vec![(0.0, c), (span, c)]),
        readings: probed(records, plan, span),
        units,
    })
}

/// The mass of a piece, as a kitchen scale shows it.
fn piece(grams: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Metric => format!("{grams:.0} g"),
        UnitSystem::Us => format!("{:.1} oz", units.mass(grams)),
    }
}

/// When the cold stage of a plan begins, in hours after mixing.
fn in_fridge_from(plan: &Batch) -> f64 {
    plan.stages().take_while(|s| s.kind != StageKind::Cold).map(|s| s.hours).sum()
}

/// Hours in the fridge and °C, read in pieces like the plan's in the same place.
fn probed(records: &Records, plan: &Batch, span: f64) -> Vec<(f64, f64)> {
    let alike = |b: &Batch| {
        let near = |a: f64, b: f64| (a / b - 1.0).abs() <= LIKE_PIECE;
        b.cold_place == plan.cold_place && b.piece_g.zip(plan.piece_g).is_some_and(|(a, b)| near(a, b))
    };
    let read = |r: &Reading| {
        let batch = records.batches.iter().find(|b| b.batch_id.as_ref() == Some(&r.batch_id))?;
        let hours = r.hours - in_fridge_from(batch);
        let there = r.vessel == Vessel::Dough && alike(batch) && (0.0..=span).contains(&hours);
        r.dough_temp_c.filter(|_| there).map(|c| (hours, c))
    };
    records.readings.iter().filter_map(read).collect()
}

fn pace(forecaster: &Forecaster, records: &Records, units: UnitSystem) -> TemperatureChart {
    let step = (PACE_C.1 - PACE_C.0) / (POINTS - 1) as f64;
    let at = |i: usize| {
        let temp = PACE_C.0 + step * i as f64;
        (temp, quantiles(forecaster.draws.iter().map(|d| d.parameters.rate.at(temp)).collect()))
    };
    let stood = |b: &Batch| {
        let around: Vec<f64> = b.stages().filter_map(|s| s.surroundings_c).collect();
        b.dough_temp_c.into_iter().chain(around)
    };
    TemperatureChart {
        reference_temp_c: REFERENCE_C,
        pace: (0..POINTS).map(at).collect(),
        record_temps_c: records.batches.iter().flat_map(stood).collect(),
        units,
    }
}

fn lots(fit: &Fit, forecaster: &Forecaster) -> Vec<FlourLot> {
    let one = |(i, lot): (usize, &Lot)| FlourLot {
        name: lot.name.clone(),
        batches: lot.batches,
        pace_log: quantiles(forecaster.draws.iter().map(|d| d.flour_effect(i)).collect()),
    };
    fit.index.flour_lots.iter().enumerate().map(one).collect()
}

fn quantiles(mut values: Vec<f64>) -> Quantiles {
    values.sort_by(f64::total_cmp);
    let [p05, p25, p50, p75, p95] = [0.05, 0.25, 0.50, 0.75, 0.95].map(|p| quantile(&values, p));
    Quantiles { p05, p25, p50, p75, p95 }
}
