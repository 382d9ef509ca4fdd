//! A plan beside the batch that came of it.

use jiff::Timestamp;
use schemars::JsonSchema;
use serde::Serialize;

use crate::consistency::followed::is_followed;
use crate::dough::{Batch, Column};
use crate::logbook::{Logbook, LogbookError};

/// What is compared.
const COMPARED: &[Column] = &[
    Column::flour_g,
    Column::water_g,
    Column::yeast_g,
    Column::water_temp_c,
    Column::dough_temp_c,
    Column::bulk_hours,
    Column::cold_hours,
    Column::temper_hours,
    Column::rise,
];

/// A batch's plan, beside what came of it.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Planned {
    /// The plan.
    pub plan_id: String,
    /// When it was made.
    #[schemars(with = "String")]
    pub made_at: Timestamp,
    /// Whether the yeast and the water of the plan were used.
    pub followed: bool,
    /// What was planned or foretold, and what came.
    pub columns: Vec<Compared>,
}

/// One column of a plan and of its batch.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Compared {
    /// Which.
    pub column: Column,
    /// Planned, or the middle of what was foretold.
    pub planned: Option<f64>,
    /// The interval in which 9 of 10 batches were foretold to lie.
    pub foretold: Option<(f64, f64)>,
    /// What came.
    pub came: Option<f64>,
}

impl Planned {
    /// The plan that a batch was baked by, if any.
    pub fn of(logbook: &Logbook, batch: &Batch) -> Result<Option<Self>, LogbookError> {
        let kitchen = batch.kitchen_name();
        let id = batch.plan_id.as_ref().or(batch.batch_id.as_ref());
        let Some(plan) = id.map(|id| logbook.plan(kitchen, id)).transpose()?.flatten() else {
            return Ok(None);
        };
        let number = |b: &Batch, c: Column| match b.get(c) {
            Some(crate::dough::Value::Number(x)) => Some(x),
            _ => None,
        };
        let columns = COMPARED.iter().map(|&column| {
            let said = &plan.predicted[column.name()];
            let quantile = |name: &str| said[name].as_f64();
            Compared {
                column,
                planned: quantile("p50").or_else(|| number(&plan.plan, column)),
                foretold: quantile("p05").zip(quantile("p95")),
                came: number(batch, column),
            }
        });
        let columns = columns.filter(|c| c.planned.is_some() || c.came.is_some()).collect();
        let followed = is_followed(&plan.plan, batch);
        Ok(Some(Self { plan_id: plan.plan_id, made_at: plan.made_at, followed, columns }))
    }
}
