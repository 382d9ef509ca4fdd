//! Plans kept in the logbook: the same plan asked for again keeps its id, and a kept plan comes back as it was
//! recommended. Of what-ifs by the dozen, [`meant`] says which one a kitchen is likely at.

use std::collections::HashSet;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::advice::clock::plan::Schedule;
use crate::advice::recommend::Recommendation;
use crate::dough::units::UnitSystem;
use crate::dough::{Batch, When};
use crate::logbook::{Logbook, LogbookError, PlanRecord};
use crate::report::say::{hours, mass};

use super::failure::Failure;

/// A dough is not under way for longer than this: the longest cold stay that the model holds for, and a day.
pub const UNDER_WAY_DAYS: i64 = 4;

/// What was recommended, as the logbook keeps it beside the plan.
#[derive(Debug, Serialize, Deserialize)]
pub struct Kept {
    /// What to do and to expect; the reasons are not kept.
    #[serde(flatten)]
    pub advice: Recommendation,
    /// The same on the clock, when the hour of the bake was known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub schedule: Option<Schedule>,
}

impl Kept {
    /// A kept plan as it was recommended.
    ///
    /// # Errors
    /// When another version of the program kept it in another form.
    pub fn of(record: &PlanRecord) -> Result<Self, Failure> {
        serde_json::from_value(record.predicted.clone()).map_err(|_| {
            Failure::Work(format!(
                "plan '{}' was kept by another version of this program: ask `recommend` for it once more",
                record.plan_id
            ))
        })
    }
}

/// Keeps recommended plans, and gives the names under which they are kept. A plan that is there already, and that no
/// batch has come of, keeps its name.
pub fn keep_plans(
    logbook: &mut Logbook,
    kitchen: &str,
    plans: &[Recommendation],
    schedules: &[Schedule],
) -> Result<Vec<String>, LogbookError> {
    let mut ids: Vec<String> = Vec::new();
    for (i, advice) in plans.iter().enumerate() {
        let kept = Kept { advice: advice.clone(), schedule: schedules.get(i).cloned() };
        let predicted = serde_json::to_value(kept).unwrap_or_default();
        let plan = Batch { kitchen: Some(kitchen.into()), ..advice.plan.clone() };
        // Two plans of one call are two batches, however alike.
        let same = logbook.open_plans_alike(&plan)?.into_iter().find(|id| !ids.contains(id));
        ids.push(match same {
            Some(id) => logbook.keep_plan_again(&id, Timestamp::now(), &plan, &predicted)?,
            None => logbook.keep_plan(Timestamp::now(), &plan, &predicted)?,
        });
    }
    Ok(ids)
}

/// Each plan once, as it was thought of last; the latest thought of all is the last.
pub fn latest_thoughts(all: Vec<PlanRecord>) -> Vec<PlanRecord> {
    let mut seen = HashSet::new();
    let mut latest: Vec<PlanRecord> =
        all.into_iter().rev().filter(|p| seen.insert(p.plan_id.clone())).collect();
    latest.reverse();
    latest
}

/// The plan that is likely under way, and the others that may be.
///
/// A dough that is mixed and not baked goes before all; then comes the plan kept last, of those without an outcome.
pub fn meant(plans: &[PlanRecord], now: Timestamp) -> Option<(&PlanRecord, Vec<&PlanRecord>)> {
    let open: Vec<&PlanRecord> =
        plans.iter().filter(|p| batch_under_way(p, now).is_some() || p.became.is_none()).collect();
    let since = now - SignedDuration::from_hours(24 * UNDER_WAY_DAYS);
    let lately: Vec<&PlanRecord> =
        open.iter().copied().filter(|p| p.made_at >= since || batch_under_way(p, now).is_some()).collect();
    let mixed = lately.iter().rev().find(|p| p.became.is_some());
    let taken = mixed.or(lately.last()).or(open.last()).copied().or(plans.last())?;
    let others = lately.into_iter().filter(|p| p.plan_id != taken.plan_id).collect();
    Some((taken, others))
}

/// The batch that a plan became, while it has no outcome and its day is not long past.
pub fn batch_under_way(plan: &PlanRecord, now: Timestamp) -> Option<&Batch> {
    let batch = plan.became.as_ref()?;
    (batch.rise.is_none() && batch.date.is_none_or(|d| days_since(d, now) <= UNDER_WAY_DAYS)).then_some(batch)
}

/// Today, by the clock of this computer.
pub fn today(now: Timestamp) -> Date {
    now.to_zoned_datetime(TimeZone::system()).date()
}

/// Whole days from a date to today, by the clock of this computer; below zero for a day to come.
pub fn days_since(date: When, now: Timestamp) -> i64 {
    days_to(today(now), date)
}

/// Whole days from a date to a day; below zero for a later date.
pub fn days_to(day: Date, date: When) -> i64 {
    day.duration_since(date.date()).as_hours() / 24
}

/// A plan in a few words: "24 h cold, 2 g yeast".
pub fn in_short(plan: &Batch, units: UnitSystem) -> String {
    briefly(plan.cold_hours, plan.total_hours(), plan.yeast_g, units)
}

/// The same from its hours in the fridge, all its hours, and its yeast.
pub fn briefly(cold: Option<f64>, all: f64, yeast_g: Option<f64>, units: UnitSystem) -> String {
    let length = match cold.filter(|h| *h > 0.0) {
        Some(cold) => format!("{} cold", hours(cold)),
        None => hours(all),
    };
    match yeast_g {
        Some(yeast) => format!("{length}, {} yeast", mass(yeast, units)),
        None => length,
    }
}

/// A kept plan in one line.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PlanLine {
    /// Its id.
    pub plan_id: String,
    /// When it was kept last.
    #[schemars(with = "String")]
    pub kept_at: Timestamp,
    /// When mixing begins.
    pub date: Option<When>,
    /// The recipe.
    pub recipe: Option<String>,
    /// Hours from the end of mixing to the oven.
    pub hours: f64,
    /// Those in the fridge.
    pub cold_hours: Option<f64>,
    /// Yeast, as weighed.
    pub yeast_g: Option<f64>,
    /// Water poured at mixing, ice included.
    pub water_g: Option<f64>,
    /// Its temperature as a whole.
    pub water_temp_c: Option<f64>,
    /// The rise wanted.
    pub target_rise: Option<f64>,
    /// The batch that came of it.
    pub batch_id: Option<String>,
}

impl PlanLine {
    /// Of a plan.
    pub fn of(record: &PlanRecord) -> Self {
        let plan = &record.plan;
        Self {
            plan_id: record.plan_id.clone(),
            kept_at: record.made_at,
            date: plan.date,
            recipe: plan.recipe.clone(),
            hours: plan.total_hours(),
            cold_hours: plan.cold_hours,
            yeast_g: plan.yeast_g,
            water_g: plan.water_added_g(),
            water_temp_c: plan.water_temp_c,
            target_rise: plan.target_rise,
            batch_id: record.became.as_ref().and_then(|b| b.batch_id.clone()),
        }
    }
}
