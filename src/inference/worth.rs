//! Which measurement would narrow tomorrow's forecast most.
//!
//! A plan's rise at the end and what a probe or a jar would read on the way are worked out together, draw by draw, with one
//! chance for both: f = ln rise, m = the reading with its own noise. Knowing m leaves var(f) - cov(f, m)²/var(m) of the
//! variance of f (exact where both are normal, Raiffa & Schlaifer 1961, *Applied Statistical Decision Theory*, ch. 5, for
//! the idea of worth before measuring). What narrows is told in the rise, and, by the slopes of ln rise along ln yeast
//! and along time at the median, in grams of yeast and in hours.
//!
//! What chance does, each draw: the batch's own vigour, lots not met before, the start temperature about the heat
//! balance, the noise of the readings. Limits: one measurement at a time, its use linear.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use schemars::JsonSchema;
use serde::Serialize;

use crate::dough::{Batch, StageKind};
use crate::physics::course::{Output, Start, Workspace};

use super::forecast::{Draw, Forecaster};
use super::prepare::Prepared;

/// Noise of a probe or thermometer in °C (a choice, no source: what a kitchen probe is sold as).
const PROBE_C: f64 = 0.5;
/// Half-width of a central 90 % interval of a normal in standard deviations.
const Z90: f64 = 1.644_853_626_951_472_7;
/// Hours into the fridge at which a reading is asked for, and dough is probed.
const INTO_FRIDGE: [f64; 2] = [2.0, 8.0];

/// A measurement and what it is worth.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Worth {
    /// The column to write it into.
    pub column: &'static str,
    /// What to measure.
    pub measure: String,
    /// Half-width of the 90 % interval of the rise without it, as a share of the rise.
    pub before: f64,
    /// The same with it.
    pub after: f64,
    /// By how much that narrows in grams of yeast.
    pub yeast_g: f64,
    /// By how much that narrows in hours at the end.
    pub hours: f64,
}

/// One measurement that could be made.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Measure {
    /// Dough temperature just after mixing.
    DoughTemperature,
    /// The fridge whose temperature is not known.
    Fridge(usize),
    /// A temperature at this output.
    Probe(usize),
    /// A rise at this output.
    Rise(usize),
}

/// Measurements on a plan, the most telling first; empty when the plan has no stage to rise in. The forecaster learns the
/// plan's mixing method and cold place if it does not know them.
pub fn worth(forecaster: &mut Forecaster, plan: &Batch, seed: u64) -> Vec<Worth> {
    let (mut prepared, _) = forecaster.ready(&Batch { dough_temp_c: None, ..plan.clone() });
    let Some(end) = prepared.course.outputs.pop() else { return Vec::new() };
    let Output::Rise(_) = end else { return Vec::new() };
    let mut measures = Vec::new();
    if prepared.course.start == Start::Mixed {
        measures.push((
            Measure::DoughTemperature,
            "dough_temp_c",
            "dough temperature just after mixing".into(),
        ));
    }
    if let Some(place) = prepared.course.segments.iter().find_map(|s| s.unmeasured) {
        measures.push((
            Measure::Fridge(place),
            "cold_temp_c",
            "the fridge's temperature, in a glass of water".to_string(),
        ));
    }
    on_the_way(&mut prepared, plan, &mut measures);
    // Marks may have cut segments: the end is after the last of them.
    prepared.course.outputs.push(Output::Rise(prepared.course.segments.len()));
    let played = play(forecaster, &prepared, &measures, seed);
    rank(&played, measures, plan)
}

/// Readings on the way: the preferment's, the rise and the dough's temperature in the fridge, the rise after bulk.
fn on_the_way(prepared: &mut Prepared, plan: &Batch, measures: &mut Vec<(Measure, &'static str, String)>) {
    let course = &mut prepared.course;
    let mut at = 0.0;
    let mut marks = Vec::new();
    for stage in plan.stages() {
        match stage.kind {
            StageKind::Bulk => marks.push((at + stage.hours, true, "at the end of bulk".to_string())),
            StageKind::Cold => {
                for hours in INTO_FRIDGE.into_iter().filter(|h| *h < stage.hours) {
                    let rise = hours > INTO_FRIDGE[0];
                    marks.push((at + hours, rise, format!("{hours:.0} h into the fridge")));
                }
                marks.push((at + stage.hours, true, "at the end of the cold".to_string()));
            }
            StageKind::Temper => {}
        }
        at += stage.hours;
    }
    marks.retain(|(hours, ..)| *hours < at);
    // All cuts first, so that counts of segments stand when the outputs are written.
    for (hours, ..) in &marks {
        course.mark(*hours);
    }
    if let Some(vessel) = course.preferment {
        measures.push((
            Measure::Rise(course.outputs.len()),
            "preferment_rise",
            "the preferment's rise at its use".to_string(),
        ));
        course.outputs.push(Output::PrefermentRise(vessel.hours));
    }
    for (hours, rise, when) in marks {
        let Some(after) = course.mark(hours) else { continue };
        let n = course.outputs.len();
        if rise {
            measures.push((Measure::Rise(n), "rise of a reading", format!("the rise {when}")));
            course.outputs.push(Output::Rise(after));
        } else {
            measures.push((
                Measure::Probe(n),
                "dough_temp_c of a reading",
                format!("the dough's temperature {when}"),
            ));
            course.outputs.push(Output::Temperature(after));
        }
    }
}

/// What chance made of the plan, one entry a draw.
struct Played {
    /// ln rise at the end.
    rise: Vec<f64>,
    /// The reading of each measure.
    readings: Vec<Vec<f64>>,
    /// d ln rise by ln yeast.
    by_ln_yeast: f64,
    /// d ln rise by hour at the end.
    by_hour: f64,
}

fn play(
    forecaster: &Forecaster,
    prepared: &Prepared,
    measures: &[(Measure, &'static str, String)],
    seed: u64,
) -> Played {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
    let mut ws = Workspace::<f64>::default();
    let mut played = Played {
        rise: Vec::new(),
        readings: vec![Vec::new(); measures.len()],
        by_ln_yeast: slope_yeast(forecaster, prepared),
        by_hour: slope_hour(forecaster, prepared),
    };
    for draw in &forecaster.draws {
        let mut course = prepared.course.clone();
        let start_c = course.start_c(&draw.parameters);
        if course.start == Start::Mixed {
            course.start = Start::Measured(start_c + draw.sigma_t * normal());
        }
        let k = draw.k_by_chance(prepared, &mut normal);
        course.forward(&draw.parameters, k, &mut ws);
        let answers: Vec<f64> = ws.answers.iter().map(|a| a.value).collect();
        played.rise.push(answers[answers.len() - 1]);
        for ((measure, ..), readings) in measures.iter().zip(&mut played.readings) {
            readings.push(match *measure {
                Measure::DoughTemperature => ws.start_c + PROBE_C * normal(),
                Measure::Fridge(place) => draw.parameters.fridge_offset[place] + PROBE_C * normal(),
                Measure::Probe(n) => answers[n] + PROBE_C * normal(),
                Measure::Rise(n) => answers[n] + draw.sigma * normal(),
            });
        }
    }
    played
}

/// Step of the differences below, on ln yeast and in hours.
const STEP: f64 = 0.05;

fn slope_yeast(forecaster: &Forecaster, prepared: &Prepared) -> f64 {
    let with = |factor: f64| {
        let mut moved = prepared.clone();
        moved.course.fresh_pct *= factor;
        if let Some(p) = &mut moved.course.preferment {
            p.yeast_pct *= factor;
        }
        centre(forecaster).ln_rise(&moved)
    };
    (with(STEP.exp()) - with((-STEP).exp())) / (2.0 * STEP)
}

fn slope_hour(forecaster: &Forecaster, prepared: &Prepared) -> f64 {
    let with = |by: f64| {
        let mut moved = prepared.clone();
        if let Some(last) = moved.course.segments.last_mut() {
            last.hours = (last.hours + by).max(0.0);
        }
        centre(forecaster).ln_rise(&moved)
    };
    (with(STEP) - with(-STEP)) / (2.0 * STEP)
}

fn centre(forecaster: &Forecaster) -> Draw {
    forecaster.central().draws.swap_remove(0)
}

fn rank(played: &Played, measures: Vec<(Measure, &'static str, String)>, plan: &Batch) -> Vec<Worth> {
    let (mean, variance) = moments(&played.rise);
    let before = Z90 * variance.sqrt();
    let yeast = plan.yeast_g.unwrap_or(0.0) + plan.preferment_yeast_g.unwrap_or(0.0);
    let mut ranked: Vec<Worth> = measures
        .into_iter()
        .zip(&played.readings)
        .filter_map(|((_, column, measure), readings)| {
            let (middle, spread) = moments(readings);
            let together =
                played.rise.iter().zip(readings).map(|(f, m)| (f - mean) * (m - middle)).sum::<f64>();
            let told = (together / readings.len() as f64).powi(2) / spread;
            let after = Z90 * (variance - told).max(0.0).sqrt();
            let narrowed = before - after;
            let worth = Worth {
                column,
                measure,
                before: before.exp_m1(),
                after: after.exp_m1(),
                yeast_g: yeast * narrowed / played.by_ln_yeast,
                hours: narrowed / played.by_hour,
            };
            [worth.before, worth.after, worth.yeast_g, worth.hours]
                .iter()
                .all(|v| v.is_finite())
                .then_some(worth)
        })
        .collect();
    ranked.sort_by(|a, b| a.after.total_cmp(&b.after));
    ranked
}

fn moments(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    (mean, values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n)
}
