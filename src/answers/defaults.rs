//! What is known of a batch before a question is asked: from its plan, else from the latest batch of its recipe.
//!
//! Weights and hours are offered, to be taken with Enter. What is measured on the day is never offered: a figure
//! taken over unread would be a reading that nobody took. Last time's is told beside the question.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::advice::plan::complete;
use crate::dough::{Batch, Column, Value};
use crate::logbook::{Logbook, LogbookError, PlanRecord};

/// Read from a thermometer or judged by eye, batch by batch.
const MEASURED: &[Column] = &[
    Column::flour_temp_c,
    Column::room_temp_c,
    Column::tap_temp_c,
    Column::dough_temp_c,
    Column::preferment_rise,
    Column::rise,
    Column::ripeness,
    Column::bake_temp_c,
    Column::bake_minutes,
    Column::crust_score,
];

/// What is known beforehand.
#[derive(Debug, Default)]
pub struct Defaults {
    plan: Option<PlanRecord>,
    /// The plan's own id for its batch, when no batch has it yet.
    free_id: Option<String>,
    /// The latest batch of each recipe, and the latest of all.
    latest: Vec<Batch>,
}

/// The batch of a plan, as it will be baked: the plan's weights and hours, and nothing measured.
pub fn baked_by(plan: &PlanRecord) -> Batch {
    let mut batch = plan.plan.clone();
    MEASURED.iter().for_each(|c| batch.clear(*c));
    Batch { batch_id: None, plan_id: Some(plan.plan_id.clone()), ..batch }
}

impl Defaults {
    /// From the plan named, else the last plan that no batch has come of, else the latest batches.
    pub fn of(logbook: &Logbook, kitchen: &str, named: Option<PlanRecord>) -> Result<Self, LogbookError> {
        let waiting = || -> Result<_, LogbookError> {
            Ok(logbook.plans(kitchen)?.pop().filter(|p| p.became.is_none()))
        };
        let plan = match named {
            Some(plan) => Some(plan),
            None => waiting()?,
        };
        let mut latest: Vec<Batch> = Vec::new();
        for batch in logbook.batches(kitchen)?.into_iter().rev() {
            if !latest.iter().any(|known| known.recipe == batch.recipe) {
                latest.push(batch);
            }
        }
        let own_id = plan.as_ref().and_then(|p| p.plan.batch_id.clone());
        let free_id = match own_id {
            Some(id) if logbook.batch(kitchen, &id)?.is_none() => Some(id),
            _ => None,
        };
        Ok(Self { plan, free_id, latest })
    }

    /// Where they come from, in words.
    pub fn says(&self) -> String {
        match (&self.plan, self.latest.first().and_then(|b| b.batch_id.as_ref())) {
            (Some(plan), _) => format!("A new batch, by plan {}.", plan.plan_id),
            (None, Some(last)) => {
                format!("A new batch; what is offered comes from batch {last}, or the last of its recipe.")
            }
            (None, None) => "A new batch.".into(),
        }
    }

    /// The plan's id.
    pub fn plan_id(&self) -> Option<String> {
        self.plan.as_ref().map(|p| p.plan_id.clone())
    }

    /// The id that the plan has for its batch.
    pub fn batch_id(&self) -> Option<String> {
        self.free_id.clone()
    }

    /// The likely date (now) or recipe.
    pub fn of_day(&self, column: Column) -> Option<Value> {
        let planned = self.plan.as_ref().and_then(|p| p.plan.get(column));
        planned.or_else(|| match column {
            Column::date => Some(Value::Text(
                TimeZone::system().to_datetime(Timestamp::now()).strftime("%Y-%m-%dT%H:%M").to_string(),
            )),
            column => self.latest.first().and_then(|b| b.get(column)),
        })
    }

    /// For a batch of a recipe.
    pub fn for_recipe(&self, recipe: Option<&str>) -> ForRecipe {
        let last = self.latest.iter().find(|b| b.recipe.as_deref() == recipe).cloned();
        let likely = match &self.plan {
            Some(plan) => baked_by(plan),
            None => complete(&Batch::default(), last.as_ref()),
        };
        ForRecipe { likely, last }
    }
}

/// What is known of a batch of one recipe.
#[derive(Debug)]
pub struct ForRecipe {
    likely: Batch,
    last: Option<Batch>,
}

impl ForRecipe {
    /// What is offered for a column.
    pub fn likely(&self, column: Column) -> Option<Value> {
        self.likely.get(column).filter(|_| !MEASURED.contains(&column))
    }

    /// What was measured last time.
    pub fn last_time(&self, column: Column) -> Option<Value> {
        self.last.as_ref()?.get(column).filter(|_| MEASURED.contains(&column) || column == Column::yeast_g)
    }
}
