//! `list --plans`: the plans that were kept, and what became of them.

use jiff::tz::TimeZone;
use schemars::JsonSchema;
use serde::Serialize;

use crate::answers::plans::{PlanLine, latest_thoughts};
use crate::dough::units::UnitSystem;
use crate::logbook::Logbook;

use super::args::ListArgs;
use super::context::Context;
use super::failure::{Done, Outcome};
use super::output::answer;
use super::text::{counted, hours, mass, table, temperature, trimmed};

#[derive(Serialize, JsonSchema)]
pub struct Listed {
    kitchen: String,
    plans: Vec<PlanLine>,
}

/// Runs `list --plans`.
pub fn run(context: &Context, args: &ListArgs, logbook: &Logbook, kitchen: String) -> Outcome {
    let mut kept = latest_thoughts(logbook.plans(&kitchen)?);
    if let Some(recipe) = &args.recipe {
        kept.retain(|p| p.plan.recipe.as_ref() == Some(recipe));
    }
    if let Some(last) = args.last {
        kept.drain(..kept.len().saturating_sub(last));
    }
    let listed = Listed { kitchen, plans: kept.iter().map(PlanLine::of).collect() };
    answer(context, &listed, || listed.text(context.units))?;
    Ok(Done::All)
}

impl Listed {
    fn text(&self, units: UnitSystem) -> String {
        let headings = ["plan", "kept", "mixing", "hours", "cold", "yeast", "water", "at", "wanted", "batch"];
        let mut rows = vec![headings.map(String::from).to_vec()];
        for p in &self.plans {
            let kept = p.kept_at.to_zoned_datetime(TimeZone::system());
            let some = |x: Option<f64>, says: &dyn Fn(f64) -> String| x.map(says).unwrap_or_default();
            rows.push(vec![
                p.plan_id.clone(),
                kept.strftime("%Y-%m-%dT%H:%M").to_string(),
                p.date.map(|d| d.to_string()).unwrap_or_default(),
                hours(p.hours),
                some(p.cold_hours, &hours),
                some(p.yeast_g, &|g| mass(g, units)),
                some(p.water_g, &|g| mass(g, units)),
                some(p.water_temp_c, &|c| temperature(c, units)),
                some(p.target_rise, &|r| trimmed(r, 2)),
                p.batch_id.clone().unwrap_or_else(|| "not yet".into()),
            ]);
        }
        format!(
            "{}{} of kitchen '{}'\n",
            table(&rows),
            counted(self.plans.len(), "plan", "plans"),
            self.kitchen
        )
    }
}
