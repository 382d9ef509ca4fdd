//! One batch written down by hand: what is said of it, checked and written as one step.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

use crate::dough::{Batch, Column, Purpose, Reading, Value, Vessel, check};
use crate::logbook::{Logbook, PlanRecord, Pushed, Source};

use super::defaults::baked_by;
use super::failure::Failure;
use super::planned::Planned;
use super::plans::{UNDER_WAY_DAYS, days_since, days_to, latest_thoughts, today};

/// What was written down.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Recorded {
    /// The kitchen.
    pub kitchen: String,
    /// The batch.
    pub batch_id: String,
    /// Whether the batch is new.
    pub added: bool,
    /// Columns of a batch that was there already, and now say otherwise.
    pub changed: Vec<Column>,
    /// Readings written.
    pub readings: usize,
    /// The batch as it now stands.
    pub batch: Batch,
    /// What is odd about it.
    pub warnings: Vec<String>,
    /// What its plan foretold.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plan: Option<Planned>,
}

/// What is to be written down.
#[derive(Debug)]
pub struct Entry {
    /// The batch.
    pub batch: Batch,
    /// The columns that are said; `None` for a new batch, of which all are.
    pub said: Option<Vec<Column>>,
    /// Hours since the end of mixing, and the rise.
    pub readings: Vec<(f64, f64)>,
}

/// The batch of an id.
pub fn batch_named(logbook: &Logbook, kitchen: &str, id: &str) -> Result<Batch, Failure> {
    logbook.batch(kitchen, id)?.ok_or_else(|| {
        Failure::Work(format!("kitchen '{kitchen}' has no batch '{id}': `list` shows them all"))
    })
}

/// The plan of an id.
pub fn plan_named(logbook: &Logbook, kitchen: &str, id: &str) -> Result<PlanRecord, Failure> {
    logbook.plan(kitchen, id)?.ok_or_else(|| {
        let known = latest_thoughts(logbook.plans(kitchen).unwrap_or_default());
        let mut known: Vec<String> = known.into_iter().map(|p| p.plan_id).collect();
        let known = known.split_off(known.len().saturating_sub(PLANS_NAMED));
        Failure::Work(match known.is_empty() {
            true => format!("kitchen '{kitchen}' has no plan '{id}', nor any other: `recommend` makes them"),
            false => {
                format!("kitchen '{kitchen}' has no plan '{id}': the last ones are {}", known.join(", "))
            }
        })
    })
}

/// What comes of a batch at the oven or after it.
const OUTCOMES: &[Column] = &[
    Column::rise,
    Column::ripeness,
    Column::bake_temp_c,
    Column::bake_minutes,
    Column::crust_score,
    Column::notes,
];

/// A batch by a plan. The batch that the plan is already is gone on with when nothing but readings, or the outcome that
/// it waits for, is `said`.
pub fn by_plan(
    logbook: &Logbook,
    kitchen: &str,
    id: &str,
    said: &BTreeMap<Column, Option<Value>>,
) -> Result<Entry, Failure> {
    let plan = plan_named(logbook, kitchen, id)?;
    let Some(batch) = &plan.became else {
        return Ok(Entry { batch: baked_by(&plan), said: None, readings: Vec::new() });
    };
    let waited_for = |c: &Column| OUTCOMES.contains(c) && batch.get(*c).is_none();
    if batch.rise.is_none() && said.keys().all(waited_for) {
        return Ok(Entry { batch: batch.clone(), said: Some(Vec::new()), readings: Vec::new() });
    }
    not_baked_yet(plan).map(|plan| Entry { batch: baked_by(&plan), said: None, readings: Vec::new() })
}

/// Refuses a plan that is a batch already. A plan named by its baker may be kept and baked again on another day.
pub fn not_baked_yet(plan: PlanRecord) -> Result<PlanRecord, Failure> {
    let Some(batch) = &plan.became else { return Ok(plan) };
    let kept_again = batch.date.is_some_and(|d| days_since(d, plan.made_at) > 0);
    if plan.plan.batch_id.is_some() && kept_again {
        return Ok(plan);
    }
    let (id, became) = (&plan.plan_id, batch.batch_id.as_deref().unwrap_or_default());
    Err(Failure::Call(format!(
        "plan {id} is batch {became} already: finish it with `record --batch {became}`, or ask `recommend` for the next one"
    )))
}

/// Refuses readings that would go to a batch baked long ago because no other was named.
pub fn still_rises(logbook: &Logbook, kitchen: &str, latest: &Batch, now: Timestamp) -> Result<(), Failure> {
    let Some(days) = latest.date.map(|d| days_since(d, now)).filter(|d| *d > UNDER_WAY_DAYS) else {
        return Ok(());
    };
    if latest.rise.is_none() {
        return Ok(());
    }
    let id = latest.batch_id.as_deref().unwrap_or_default();
    let plans = latest_thoughts(logbook.plans(kitchen)?);
    let plan = plans.iter().rev().find(|p| p.became.is_none()).map_or("ID", |p| p.plan_id.as_str());
    Err(Failure::Call(format!(
        "the latest batch, {id}, was mixed {days} days ago and has its rise: name the batch with --batch (--batch {id} if that one is \
         meant); a dough under way by a plan takes readings with `record --plan {plan} --reading ...`, and \
         `adjust --plan {plan} --reading ...` says what to do now"
    )))
}

/// That a batch has its rise before its day has come.
pub fn ahead(batch: &Batch, today: Date) -> Option<String> {
    let date = batch.date.filter(|_| batch.rise.is_some())?;
    let days = -days_to(today, date);
    let when = match days {
        ..1 => return None,
        1 => "tomorrow".to_string(),
        n => format!("{n} days from now ({})", date.date()),
    };
    Some(format!("dated {when}, yet its rise is written down: check the date"))
}

/// Plans named when another was meant.
const PLANS_NAMED: usize = 5;

/// Puts what was said into the batch.
pub fn put(entry: &mut Entry, said: BTreeMap<Column, Option<Value>>) -> Result<(), Failure> {
    for (column, value) in said {
        match value {
            None => entry.batch.clear(column),
            Some(value) => {
                entry.batch.set(column, &value).map_err(|e| Failure::Call(e.to_string()))?;
            }
        }
        if let Some(all) = &mut entry.said {
            if column == Column::batch_id {
                return Err(Failure::Call("a batch keeps its id: leave batch_id out of --set".into()));
            }
            all.push(column);
        }
    }
    Ok(())
}

/// Checks it, and writes it into the logbook as one step.
pub fn write(logbook: &mut Logbook, kitchen: &str, entry: Entry) -> Result<Recorded, Failure> {
    let batch = Batch { kitchen: Some(kitchen.into()), ..entry.batch };
    let is_new = entry.said.is_none();
    let mut changed = entry.said.clone().unwrap_or_default();
    if is_new || !changed.is_empty() {
        let problems = check(&batch, Purpose::Record);
        if !problems.is_empty() {
            let said = problems.iter().map(|p| match p.value.is_empty() {
                true => p.message.clone(),
                false => format!("{} {}: {}", p.column, p.value, p.message),
            });
            return Err(Failure::Call(format!(
                "nothing was written: {}",
                said.collect::<Vec<_>>().join("; ")
            )));
        }
    }
    if let (true, Some(id)) = (is_new, &batch.batch_id)
        && logbook.batch(kitchen, id)?.is_some()
    {
        return Err(Failure::Call(format!(
            "kitchen '{kitchen}' has a batch '{id}' already: `record --batch {id}` adds to it, another batch_id begins a new one"
        )));
    }
    let source = Source { columns: entry.said, kitchen: Some(kitchen.into()), ..Source::by_hand() };
    let mut importer = logbook.importer(&source)?;
    if is_new || !changed.is_empty() {
        importer.push(&batch)?;
    }
    let made = importer.made_id().map(str::to_string);
    let batch_id = batch.batch_id.clone().or(made).unwrap_or_default();
    for &(hours, rise) in &entry.readings {
        let (batch_id, rise) = (batch_id.clone(), Some(rise));
        let reading = Reading { batch_id, hours, rise, dough_temp_c: None, vessel: Vessel::Dough };
        if importer.push_reading(&reading)? == Pushed::Repeated {
            return Err(Failure::Call(format!("--reading: hour {hours} is said twice: say it once")));
        }
    }
    let summary = importer.finish()?;
    changed.retain(|c| summary.changes.iter().any(|change| change.column == *c));
    let batch = logbook.batch(kitchen, &batch_id)?.unwrap_or(batch);
    Ok(Recorded {
        added: is_new,
        changed,
        readings: entry.readings.len(),
        warnings: ahead(&batch, today(Timestamp::now())).into_iter().collect(),
        plan: Planned::of(logbook, &batch)?,
        kitchen: kitchen.into(),
        batch_id,
        batch,
    })
}
