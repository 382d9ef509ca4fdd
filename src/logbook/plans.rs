//! Plans kept: what was recommended and what was foretold, joined to the batch that came of it.

use jiff::Timestamp;
use rusqlite::{Row, params};
use serde::Serialize;

use super::Logbook;
use super::error::{Fault, LogbookError};
use super::history::time;
use crate::dough::Batch;

/// A plan that was made, and what came of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanRecord {
    /// The kitchen.
    pub kitchen: String,
    /// Known by this; the `batch_id` of the plan, or made from its date and a counter.
    pub plan_id: String,
    /// When it was made.
    pub made_at: Timestamp,
    /// The plan with its blanks filled.
    pub plan: Batch,
    /// What was foretold.
    pub predicted: serde_json::Value,
    /// The batch that came of it: the one said by [`Logbook::join_plan`], else the one with the plan's id.
    pub became: Option<Batch>,
}

impl Logbook {
    /// Keeps a plan and gives its id. A plan of an id that is there already is kept beside it, as a later
    /// thought.
    ///
    /// # Errors
    /// When another process is writing, or the disk is full.
    pub fn keep_plan(
        &mut self,
        made_at: Timestamp,
        plan: &Batch,
        predicted: &serde_json::Value,
    ) -> Result<String, LogbookError> {
        self.insert_plan(made_at, plan, predicted).map_err(|e| e.at(&self.path))
    }

    fn insert_plan(
        &self,
        made_at: Timestamp,
        plan: &Batch,
        predicted: &serde_json::Value,
    ) -> Result<String, Fault> {
        let kitchen = plan.kitchen_name();
        let tx = rusqlite::Transaction::new_unchecked(&self.conn, rusqlite::TransactionBehavior::Immediate)?;
        let id = match &plan.batch_id {
            Some(id) => id.clone(),
            None => {
                let stem = plan.date.map_or("plan-".into(), |d| format!("plan-{}-", d.date()));
                let taken: i64 = tx.query_row(
                    "SELECT count(*) FROM plans WHERE kitchen = ?1 AND substr(plan_id, 1, length(?2)) = ?2",
                    [kitchen, &stem],
                    |row| row.get(0),
                )?;
                format!("{stem}{}", taken + 1)
            }
        };
        let text = serde_json::to_string(plan).expect("a batch is a flat table of numbers and texts");
        tx.execute(
            "INSERT INTO plans (kitchen, plan_id, made_at, plan, predicted) VALUES (?, ?, ?, ?, ?)",
            params![kitchen, id, made_at.to_string(), text, predicted.to_string()],
        )?;
        tx.commit()?;
        Ok(id)
    }

    /// Says which batch came of a plan; false when there is no such plan.
    ///
    /// # Errors
    /// When another process is writing, or the disk is full.
    pub fn join_plan(&mut self, kitchen: &str, plan_id: &str, batch_id: &str) -> Result<bool, LogbookError> {
        let changed = self.conn.execute(
            "UPDATE plans SET became = ? WHERE kitchen = ? AND plan_id = ?",
            [batch_id, kitchen, plan_id],
        );
        changed.map(|n| n > 0).map_err(|e| Fault::from(e).at(&self.path))
    }

    /// The plans of a kitchen in the order they were made.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn plans(&self, kitchen: &str) -> Result<Vec<PlanRecord>, LogbookError> {
        let mut plans = self.plans_of(kitchen).map_err(|e| e.at(&self.path))?;
        for (record, became) in &mut plans {
            record.became = self.batch(kitchen, became.as_deref().unwrap_or(&record.plan_id))?;
        }
        Ok(plans.into_iter().map(|(record, _)| record).collect())
    }

    fn plans_of(&self, kitchen: &str) -> Result<Vec<(PlanRecord, Option<String>)>, Fault> {
        let mut statement = self.conn.prepare_cached(
            "SELECT kitchen, plan_id, made_at, plan, predicted, became FROM plans WHERE kitchen = ? ORDER BY n",
        )?;
        let mut rows = statement.query([kitchen])?;
        let mut all = Vec::new();
        while let Some(row) = rows.next()? {
            all.push((plan_of(row)?, row.get("became")?));
        }
        Ok(all)
    }
}

fn plan_of(row: &Row<'_>) -> Result<PlanRecord, Fault> {
    let plan_id: String = row.get("plan_id")?;
    let not_sound = |e: serde_json::Error| Fault::Damaged(format!("plan '{plan_id}': {e}"));
    Ok(PlanRecord {
        kitchen: row.get("kitchen")?,
        made_at: time(&row.get::<_, String>("made_at")?)?,
        plan: serde_json::from_str(&row.get::<_, String>("plan")?).map_err(not_sound)?,
        predicted: serde_json::from_str(&row.get::<_, String>("predicted")?).map_err(not_sound)?,
        became: None,
        plan_id,
    })
}
