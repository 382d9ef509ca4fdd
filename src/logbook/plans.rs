//! Plans kept: what was recommended and what was foretold, joined to the batch that came of it.

use std::collections::HashMap;

use jiff::Timestamp;
use rusqlite::types::ValueRef;
use rusqlite::{Row, Transaction, TransactionBehavior};
use serde::Serialize;

use super::Logbook;
use super::error::{At, Fault, LogbookError};
use super::history::time;
use super::seal::Sealed;
use crate::dough::Batch;

const PLANS: Sealed =
    Sealed { name: "plans", columns: &["kitchen", "plan_id", "made_at", "plan", "predicted", "became"] };

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
    /// The batch that came of it: the first that names the plan in `plan_id`, else the one with the plan's id.
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
        self.insert_plan(None, made_at, plan, predicted).at(&self.place)
    }

    /// Keeps a plan under an id that is there already, as a later thought of the same.
    ///
    /// # Errors
    /// When another process is writing, or the disk is full.
    pub fn keep_plan_again(
        &mut self,
        plan_id: &str,
        made_at: Timestamp,
        plan: &Batch,
        predicted: &serde_json::Value,
    ) -> Result<String, LogbookError> {
        self.insert_plan(Some(plan_id), made_at, plan, predicted).at(&self.place)
    }

    /// Ids under which just this plan was thought of last, and of which no batch came; in the order they were kept.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn open_plans_alike(&self, plan: &Batch) -> Result<Vec<String>, LogbookError> {
        self.alike(plan).at(&self.place)
    }

    fn alike(&self, plan: &Batch) -> Result<Vec<String>, Fault> {
        let mut statement = self.conn.prepare_cached(
            "SELECT plan_id FROM plans p WHERE kitchen = ?1 AND plan = ?2
             AND n = (SELECT max(n) FROM plans WHERE kitchen = ?1 AND plan_id = p.plan_id)
             AND NOT EXISTS (SELECT 1 FROM batches b WHERE b.kitchen = ?1 AND CASE WHEN p.became IS NULL
                 THEN b.plan_id = p.plan_id OR b.batch_id = p.plan_id ELSE b.batch_id = p.became END)
             ORDER BY n",
        )?;
        let ids = statement.query_map([plan.kitchen_name(), &as_text(plan)], |row| row.get(0))?;
        Ok(ids.collect::<Result<_, _>>()?)
    }

    fn insert_plan(
        &self,
        known: Option<&str>,
        made_at: Timestamp,
        plan: &Batch,
        predicted: &serde_json::Value,
    ) -> Result<String, Fault> {
        let kitchen = plan.kitchen_name();
        let tx = Transaction::new_unchecked(&self.conn, TransactionBehavior::Immediate)?;
        let id = match known.or(plan.batch_id.as_deref()) {
            Some(id) => id.into(),
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
        let texts = [kitchen, &id, &made_at.to_string(), &as_text(plan), &predicted.to_string()];
        let cells = texts.map(|t| ValueRef::Text(t.as_bytes()));
        PLANS.insert(&tx, &[cells.as_slice(), &[ValueRef::Null]].concat())?;
        tx.commit()?;
        Ok(id)
    }

    /// The plans of a kitchen in the order they were made.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn plans(&self, kitchen: &str) -> Result<Vec<PlanRecord>, LogbookError> {
        let mut plans = self.plans_of(kitchen).at(&self.place)?;
        let baked = self.baked_by_plan(kitchen).at(&self.place)?;
        for (record, became) in &mut plans {
            let said = became.as_ref().or_else(|| baked.get(&record.plan_id));
            record.became = self.batch(kitchen, said.unwrap_or(&record.plan_id))?;
        }
        Ok(plans.into_iter().map(|(record, _)| record).collect())
    }

    /// The last plan kept under an id.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn plan(&self, kitchen: &str, plan_id: &str) -> Result<Option<PlanRecord>, LogbookError> {
        Ok(self.plans(kitchen)?.into_iter().rev().find(|p| p.plan_id == plan_id))
    }

    /// The first batch that names each plan.
    fn baked_by_plan(&self, kitchen: &str) -> Result<HashMap<String, String>, Fault> {
        let mut statement = self.conn.prepare_cached(
            "SELECT plan_id, batch_id FROM batches WHERE kitchen = ? AND plan_id IS NOT NULL ORDER BY n DESC",
        )?;
        let rows = statement.query_map([kitchen], |row| Ok((row.get(0)?, row.get(1)?)))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Plans, each with the batch that an older version wrote beside it.
    fn plans_of(&self, kitchen: &str) -> Result<Vec<(PlanRecord, Option<String>)>, Fault> {
        let mut statement =
            self.conn.prepare_cached(&format!("{} WHERE kitchen = ? ORDER BY n", PLANS.select()))?;
        let mut rows = statement.query([kitchen])?;
        let mut all = Vec::new();
        while let Some(row) = rows.next()? {
            all.push((plan_of(row)?, row.get("became")?));
        }
        Ok(all)
    }
}

/// A plan as it is kept.
fn as_text(plan: &Batch) -> String {
    serde_json::to_string(plan).expect("a batch is a flat table of numbers and texts")
}

fn plan_of(row: &Row<'_>) -> Result<PlanRecord, Fault> {
    PLANS.verify(row)?;
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
