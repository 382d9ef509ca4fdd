//! `list` and `show`: the logbook back out, for reading.

use std::fmt::Write;

use jiff::tz::TimeZone;
use schemars::JsonSchema;
use serde::Serialize;

use crate::answers::planned::Planned;
use crate::dough::units::UnitSystem;
use crate::dough::{Batch, Column, Reading, Value};
use crate::logbook::Version;

use super::args::{ListArgs, ShowArgs};
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::list_plans;
use super::output::answer;
use super::planned;
use super::text::{counted, in_units, table, temperature, trimmed};

#[derive(Serialize, JsonSchema)]
pub struct Listed {
    kitchen: String,
    batches: Vec<Batch>,
}

/// Runs `list`.
pub fn list(context: &Context, args: &ListArgs) -> Outcome {
    let logbook = context.look()?;
    let kitchen = context.kitchen(&logbook)?;
    if args.plans {
        return list_plans::run(context, args, &logbook, kitchen);
    }
    let mut batches = logbook.batches(&kitchen)?;
    if let Some(recipe) = &args.recipe {
        batches.retain(|b| b.recipe.as_ref() == Some(recipe));
    }
    if let Some(last) = args.last {
        batches.drain(..batches.len().saturating_sub(last));
    }
    let listed = Listed { kitchen, batches };
    answer(context, &listed, || listed.text(context.units))?;
    Ok(Done::All)
}

impl Listed {
    fn text(&self, units: UnitSystem) -> String {
        let headings = [
            "batch",
            "date",
            "recipe",
            "flour lot",
            "yeast %",
            "dough",
            "hours",
            "rise",
            "wanted",
            "verdict",
        ];
        let mut rows = vec![headings.map(String::from).to_vec()];
        for b in &self.batches {
            let text = |t: &Option<String>| t.clone().unwrap_or_default();
            let number = |x: Option<f64>, digits| x.map(|x| trimmed(x, digits)).unwrap_or_default();
            rows.push(vec![
                text(&b.batch_id),
                b.date.map(|d| d.to_string()).unwrap_or_default(),
                text(&b.recipe),
                text(&b.flour_lot),
                number(b.yeast_pct(), 3),
                b.dough_temp_c.map(|t| temperature(t, units)).unwrap_or_default(),
                number(Some(b.total_hours()).filter(|h| *h > 0.0), 1),
                number(b.rise, 2),
                number(b.target_rise, 2),
                b.ripeness.map(|r| r.to_string()).unwrap_or_default(),
            ]);
        }
        let n = self.batches.len();
        format!("{}{} of kitchen '{}'\n", table(&rows), counted(n, "batch", "batches"), self.kitchen)
    }
}

#[derive(Serialize, JsonSchema)]
pub struct Shown {
    batch: Batch,
    readings: Vec<Reading>,
    #[serde(skip_serializing_if = "Option::is_none")]
    plan: Option<Planned>,
    #[serde(skip_serializing_if = "Option::is_none")]
    history: Option<Vec<Version>>,
}

/// Runs `show`.
pub fn show(context: &Context, args: &ShowArgs) -> Outcome {
    let logbook = context.look()?;
    let kitchen = context.kitchen(&logbook)?;
    let batch = logbook.batch(&kitchen, &args.batch)?.ok_or_else(|| {
        Failure::Work(format!("kitchen '{kitchen}' has no batch '{}': `list` shows them all", args.batch))
    })?;
    let readings = logbook.readings(&kitchen)?.into_iter().filter(|r| r.batch_id == args.batch).collect();
    let history = if args.history { Some(logbook.history(&kitchen, &args.batch)?) } else { None };
    let plan = Planned::of(&logbook, &batch)?;
    let shown = Shown { batch, readings, plan, history };
    answer(context, &shown, || shown.text(context.units))?;
    Ok(Done::All)
}

impl Shown {
    fn text(&self, units: UnitSystem) -> String {
        let mut out = String::new();
        let mut rows = vec![["column", "value", ""].map(String::from).to_vec()];
        for &column in Column::ALL {
            if let Some(value) = self.batch.get(column) {
                let (value, unit) = match value {
                    Value::Number(x) if in_units(x, column.unit(), units).1 != column.unit() => {
                        let (x, unit) = in_units(x, column.unit(), units);
                        (trimmed(x, 3), unit)
                    }
                    value => (value.to_string(), column.unit()),
                };
                rows.push(vec![column.name().into(), value, unit.into()]);
            }
        }
        out.push_str(&table(&rows));
        if !self.readings.is_empty() {
            let mut rows = vec![["hours", "rise", "dough", "of"].map(String::from).to_vec()];
            for r in &self.readings {
                let number = |x: Option<f64>| x.map(|x| trimmed(x, 2)).unwrap_or_default();
                rows.push(vec![
                    trimmed(r.hours, 2),
                    number(r.rise),
                    r.dough_temp_c.map(|t| temperature(t, units)).unwrap_or_default(),
                    r.vessel.to_string(),
                ]);
            }
            let _ = write!(out, "\nReadings\n{}", table(&rows));
        }
        if let Some(plan) = &self.plan {
            out.push_str(&planned::text(plan, units));
        }
        if let Some(history) = &self.history {
            out.push_str(&told(history));
        }
        out
    }
}

/// The versions of a batch, oldest first: when, from which file, and each value with the one before it.
fn told(history: &[Version]) -> String {
    let mut out = String::new();
    let mut before: Option<&Batch> = None;
    for version in history {
        let at = TimeZone::system().to_datetime(version.at).strftime("%Y-%m-%d %H:%M");
        let first = if before.is_none() { ": first version" } else { "" };
        let _ = writeln!(out, "\n{at} from {}{first}", version.source);
        for column in &version.changed {
            let value = |batch: &Batch| batch.get(*column).map_or("blank".into(), |v| v.to_string());
            let former = before.map_or("blank".into(), value);
            let _ = writeln!(out, "  {column}: {former} -> {}", value(&version.batch));
        }
        before = Some(&version.batch);
    }
    out
}
