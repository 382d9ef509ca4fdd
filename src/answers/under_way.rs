//! Which plan a dough under way is of: the one named, the one given, or the one that the kitchen is likely at; and the
//! moment at which its mixing ended, from which the clock is told.

use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};
use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use crate::advice::clock::steps::{Step, USUAL_MIX_MIN};
use crate::advice::clock::{later, moment};
use crate::dough::units::UnitSystem;
use crate::dough::{Batch, Column, When};
use crate::logbook::PlanRecord;

use super::plans::{Kept, batch_under_way, in_short, meant};

/// Other plans that are named beside the one taken.
const NAMED: usize = 4;

/// The plan that an adjustment is about.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct About {
    /// The id of the kept plan; none for one given by its columns alone.
    pub plan_id: Option<String>,
    /// When it was kept last.
    #[schemars(with = "Option<String>")]
    pub kept_at: Option<Timestamp>,
    /// The batch that is mixed by it, when that is written down.
    pub batch_id: Option<String>,
    /// When its mixing ended, by the batch or else by the plan; none where neither has an hour.
    #[serde(serialize_with = "iso")]
    #[schemars(with = "Option<String>")]
    pub mixed_at: Option<ZonedDateTime>,
    /// Hours in the fridge.
    pub cold_hours: Option<f64>,
    /// Hours from the end of mixing to the oven.
    pub hours: f64,
    /// Yeast, as weighed.
    pub yeast_g: Option<f64>,
    /// Other plans that may be meant, and how to name one.
    pub notes: Vec<String>,
}

fn iso<S: Serializer>(at: &Option<ZonedDateTime>, s: S) -> Result<S::Ok, S::Error> {
    match at {
        Some(at) => s.collect_str(&at.strftime("%Y-%m-%dT%H:%M%:z")),
        None => s.serialize_none(),
    }
}

impl About {
    /// With what the plan says once its blanks are filled.
    pub fn with(self, plan: &Batch, kept: Option<&PlanRecord>) -> Self {
        Self {
            mixed_at: mixed_at(plan, kept),
            cold_hours: plan.cold_hours,
            hours: plan.total_hours(),
            yeast_g: plan.yeast_g,
            ..self
        }
    }
}

/// A kept plan as it is being baked: what was written down of its batch goes before what was planned.
pub fn started(kept: &PlanRecord, now: Timestamp) -> (Batch, About) {
    let mut about =
        About { plan_id: Some(kept.plan_id.clone()), kept_at: Some(kept.made_at), ..About::default() };
    let Some(batch) = batch_under_way(kept, now) else { return (kept.plan.clone(), about) };
    about.batch_id.clone_from(&batch.batch_id);
    let mut plan = batch.clone();
    for &column in Column::ALL {
        if plan.get(column).is_none()
            && let Some(value) = kept.plan.get(column)
        {
            // What a plan holds, its batch can.
            let _ = plan.set(column, &value);
        }
    }
    (plan, about)
}

/// The plan that is likely under way, with a note of the others.
pub fn likely(kept: &[PlanRecord], now: Timestamp, units: UnitSystem) -> Option<(&PlanRecord, Vec<String>)> {
    let (taken, others) = meant(kept, now)?;
    if others.is_empty() {
        return Some((taken, vec![]));
    }
    let why = match batch_under_way(taken, now) {
        Some(_) => "it is mixed already",
        None => "it was kept last",
    };
    let named: Vec<String> = others
        .iter()
        .rev()
        .take(NAMED)
        .map(|p| format!("--plan {} ({})", p.plan_id, in_short(&p.plan, units)))
        .collect();
    let more = match others.len().saturating_sub(NAMED) {
        0 => String::new(),
        n => format!(", or one of {n} more that `list --plans` shows"),
    };
    let note = format!(
        "{} plans are open, and {} is taken because {why}; if you mean another, say {}{more}",
        others.len() + 1,
        taken.plan_id,
        named.join(", ")
    );
    Some((taken, vec![note]))
}

/// When mixing ends, by the start and the minutes of mixing.
fn mixed_at(plan: &Batch, kept: Option<&PlanRecord>) -> Option<ZonedDateTime> {
    let begins = plan.date.and_then(When::clock)?;
    // A schedule knows the zone that its hours are told in; a date by itself is of the clock on this wall.
    let schedule = kept.and_then(|k| Kept::of(k).ok()).and_then(|k| k.schedule);
    let step = schedule.and_then(|s| s.entries.into_iter().find(|e| e.step == Some(Step::Mix)));
    let begins = match step.map(|e| e.at).filter(|at| at.datetime() == begins) {
        Some(at) => at,
        None => moment(begins, &TimeZone::system()).ok()?.0,
    };
    Some(later(&begins, plan.mix_minutes.unwrap_or(USUAL_MIX_MIN) / 60.0))
}
