//! When the dough is ready: the hours during which the forecast's median lies inside the window.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::inference::forecast::Forecaster;
use crate::inference::prepare::Prepared;
use crate::physics::course::Output;

/// How long after the plan's end is looked at, in h.
const BEYOND_H: f64 = 24.0;
/// Looked at every quarter of an hour.
const STEP_H: f64 = 0.25;

/// Hours since the end of mixing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Window {
    /// The median enters the window.
    pub from_hours: f64,
    /// The median leaves it, or the end of what was looked at.
    pub to_hours: f64,
    /// Whether it had not left when the look ended.
    pub open: bool,
}

/// The hours during which the median rise lies between `low` and `high` (on ln rise), if ever; the last stage
/// is taken to go on, for 24 h at most.
pub fn window(forecaster: &Forecaster, plan: &Prepared, low: f64, high: f64) -> Option<Window> {
    let mut longer = plan.clone();
    let end = longer.course.hours();
    longer.course.segments.last_mut()?.hours += BEYOND_H;
    longer.course.outputs.clear();
    let last = end + BEYOND_H;
    let hours: Vec<f64> = (1..=(last / STEP_H) as usize).map(|i| i as f64 * STEP_H).collect();
    let medians = medians(forecaster, longer, &hours);
    let mut inside = hours.iter().zip(&medians).filter(|(_, m)| (low..=high).contains(*m)).map(|(h, _)| *h);
    let from_hours = inside.next()?;
    let to_hours = inside.next_back().unwrap_or(from_hours);
    Some(Window { from_hours, to_hours, open: to_hours + STEP_H > last })
}

/// The forecast's median of ln rise at each of the hours.
fn medians(forecaster: &Forecaster, mut plan: Prepared, hours: &[f64]) -> Vec<f64> {
    for &h in hours {
        if let Some(after) = plan.course.mark(h) {
            plan.course.outputs.push(Output::Rise(after));
        }
    }
    let by_draw = forecaster.values(&plan);
    (0..plan.course.outputs.len())
        .map(|i| {
            let mut centres: Vec<f64> = by_draw.iter().map(|d| d[i]).collect();
            centres.sort_by(f64::total_cmp);
            centres.get(centres.len() / 2).copied().unwrap_or(f64::NAN)
        })
        .collect()
}
