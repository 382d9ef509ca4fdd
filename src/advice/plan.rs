//! Completing a plan: what is not given comes from the latest batch of that recipe.

use crate::dough::{Batch, Column, Purpose, Value, check};

use super::{AdviceError, plan_name};

/// Columns that belong to a batch that has happened, or to its day; a plan does not inherit them.
const NOT_INHERITED: &[Column] = &[
    Column::batch_id,
    Column::date,
    Column::yeast_g,
    Column::water_temp_c,
    Column::ice_g,
    Column::dough_temp_c,
    Column::preferment_rise,
    Column::rise,
    Column::ripeness,
    Column::bake_temp_c,
    Column::bake_minutes,
    Column::crust_score,
    Column::plan_id,
    Column::notes,
];

/// Ingredients, which grow with the flour when a plan gives another amount of flour.
const INGREDIENTS: &[Column] = &[
    Column::water_g,
    Column::salt_g,
    Column::oil_g,
    Column::sugar_g,
    Column::malt_g,
    Column::preferment_flour_g,
    Column::preferment_water_g,
    Column::preferment_yeast_g,
];

/// The plan with its blanks filled from `latest`, but for yeast, water temperature and outcomes.
///
/// Ingredients that the plan leaves blank keep their percentage of the flour. A stage of which the plan
/// says the length but not the temperature keeps the latest batch's; where the plan gives a new room
/// temperature, stages in the room follow it.
pub fn complete(plan: &Batch, latest: Option<&Batch>) -> Batch {
    let mut full = plan.clone();
    let Some(latest) = latest else { return full };
    let scale = match (plan.flour_g, latest.flour_g) {
        (Some(now), Some(then)) => now / then,
        _ => 1.0,
    };
    for &column in Column::ALL {
        if full.get(column).is_some() || NOT_INHERITED.contains(&column) {
            continue;
        }
        let Some(mut value) = latest.get(column) else { continue };
        if let Value::Number(x) = &mut value
            && INGREDIENTS.contains(&column)
        {
            *x *= scale;
        }
        // A value that the latest batch holds is one that the column can hold; scaled grams may not be.
        if full.set(column, &value).is_err() {
            full.clear(column);
        }
    }
    if let (Some(now), Some(then)) = (plan.room_temp_c, latest.room_temp_c) {
        let moves = |stage: Option<f64>, given: Option<f64>| match given {
            Some(_) => given,
            None => stage.map(|t| if (t - then).abs() <= SAME_ROOM_C { now } else { t }),
        };
        full.bulk_temp_c = moves(full.bulk_temp_c, plan.bulk_temp_c);
        full.temper_temp_c = moves(full.temper_temp_c, plan.temper_temp_c);
        full.flour_temp_c = moves(full.flour_temp_c, plan.flour_temp_c);
        full.preferment_temp_c = moves(full.preferment_temp_c, plan.preferment_temp_c);
    }
    full
}

/// A stage within this of the room's temperature stood in the room, in °C.
const SAME_ROOM_C: f64 = 1.5;

/// Checks a completed plan.
///
/// # Errors
/// When a needed column is blank or the plan does not hold together, naming each column and the remedy.
pub fn sound(plan: &Batch) -> Result<(), AdviceError> {
    let mut problems = check(plan, Purpose::Plan);
    if problems.is_empty() {
        return Ok(());
    }
    problems.dedup_by(|a, b| a.column == b.column);
    let said: Vec<String> = problems
        .iter()
        .map(|p| match p.value.is_empty() {
            true => p.message.clone(),
            false => format!("{} {}: {}", p.column, p.value, p.message),
        })
        .collect();
    Err(AdviceError::Unsound { plan: plan_name(plan), problems: said.join("; ") })
}
