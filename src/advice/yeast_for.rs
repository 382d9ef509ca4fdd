//! How much yeast reaches the target after how many hours, at one temperature of the fridge: the table to pin on the wall.
//!
//! The rise grows with the yeast y, so the yeast that a dough turns out to need has the distribution
//! P(needed < y) = P(rise(y) > target), by the posterior predictive distribution of the rise. Its 5, 50 and 95 % points
//! are found by halving, on ln y. The cold stage is as long as the other stages leave room for. Limits: those of the
//! forecast; a point whose middle lies outside what may be weighed is left out, an end is cut there.

use schemars::JsonSchema;
use serde::Serialize;

use super::Interval;
use super::cautions::unseen;
use super::limits::Limits;
use super::recommend::yeast_range;
use crate::dough::Batch;
use crate::inference::forecast::Forecaster;
use crate::inference::prepare::Records;

/// Halvings of the range of ln yeast, some seven wide: to a third of a percent.
const HALVINGS: usize = 11;

/// The yeast for one number of hours.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct YeastFor {
    /// From the end of mixing to the oven, h.
    pub hours: f64,
    /// Yeast in % of the flour, of the plan's kind; one dough in twenty needs less than `p05`.
    pub yeast_pct: Interval,
    /// Whether the records have never been there.
    pub extrapolated: bool,
}

/// The yeast that a completed plan needs for each of some hours with its fridge at `fridge_c` °C, where it can be reached.
pub fn yeast_for(
    forecaster: &mut Forecaster,
    records: &Records,
    plan: &Batch,
    fridge_c: f64,
    hours: &[f64],
    limits: &Limits,
) -> Vec<YeastFor> {
    let (Some(target), Some(flour_g)) = (plan.target_rise, plan.flour_g) else { return Vec::new() };
    let other_hours = plan.total_hours() - plan.cold_hours.unwrap_or(0.0);
    let (least, most) = yeast_range(plan, limits);
    let mut found = Vec::new();
    for &hours in hours.iter().filter(|h| **h > other_hours) {
        let with = |yeast_g: f64| Batch {
            cold_hours: Some(hours - other_hours),
            cold_temp_c: Some(fridge_c),
            yeast_g: Some(yeast_g),
            ..plan.clone()
        };
        let mut short = |ln_yeast: f64| {
            let (prepared, _) = forecaster.ready(&with(ln_yeast.exp()));
            forecaster.rise(&prepared).below(target.ln())
        };
        let mut needed = |chance: f64, (mut low, mut high): (f64, f64)| {
            for _ in 0..HALVINGS {
                let middle = 0.5 * (low + high);
                if short(middle) > 1.0 - chance { low = middle } else { high = middle }
            }
            0.5 * (low + high)
        };
        let (low, high) = (least.ln(), most.ln());
        let middle = needed(0.50, (low, high));
        let step = (high - low) / (1 << HALVINGS) as f64;
        if middle - low < step || high - middle < step {
            continue;
        }
        let ends = [needed(0.05, (low, middle)), middle, needed(0.95, (middle, high))];
        let [p05, p50, p95] = ends.map(|ln_yeast| ln_yeast.exp() / flour_g * 100.0);
        let extrapolated = !unseen(&with(middle.exp()), records).is_empty();
        found.push(YeastFor { hours, yeast_pct: Interval { p05, p50, p95 }, extrapolated });
    }
    found
}
