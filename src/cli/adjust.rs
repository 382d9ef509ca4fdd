//! `adjust`: mid-course, what the readings so far say and what to do now.

mod text;

use std::path::PathBuf;

use jiff::Timestamp;

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::adjust::{Adjustment, Taken, adjust, asked};
use crate::advice::plan::complete;
use crate::answers::plans::latest_thoughts;
use crate::answers::record::plan_named;
use crate::answers::under_way::{About, likely, started};
use crate::dough::Batch;
use crate::intake::{typed_probe, typed_reading};
use crate::logbook::PlanRecord;

use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::kitchen::Kitchen;
use super::output::answer;
use super::plan_columns::PlanColumns;
use super::recommend::plans;

/// `adjust`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright adjust plan.csv --reading 1=1.08 --reading 20=1.55
  doughwright adjust --plan ID --reading 3=1.2          # a kept plan, as `list --plans` shows it
  doughwright adjust --reading 3=1.2 --dough-temp 3=22.5    # the plan mixed or kept last")]
pub struct AdjustArgs {
    /// The plan that is under way; blank yeast and water come from what `recommend` kept for it
    #[arg(value_name = "PLAN.csv")]
    pub plan: Option<PathBuf>,
    /// A plan that `recommend` kept, by its id; columns given beside it are as they came instead
    #[arg(long = "plan", value_name = "ID", conflicts_with = "plan")]
    pub kept: Option<String>,
    /// What the jar shows: hours since the end of mixing, and the rise; may be given again
    #[arg(long, value_name = "HOURS=RISE", allow_hyphen_values = true)]
    pub reading: Vec<String>,
    /// What the probe shows: hours since the end of mixing, and the dough's temperature in °C (or with F: 3=72F)
    #[arg(long, value_name = "HOURS=TEMP", allow_hyphen_values = true)]
    pub dough_temp: Vec<String>,
    /// The moment to decide at, in hours since the end of mixing [default: that of the last reading]
    #[arg(long, value_name = "HOURS")]
    pub now: Option<f64>,
    /// How near the target counts as met, in percent of it
    #[arg(long, value_name = "PERCENT", default_value_t = 10.0)]
    pub window: f64,
    /// Columns of the plan.
    #[command(flatten)]
    pub columns: PlanColumns,
}

#[derive(Serialize, JsonSchema)]
pub struct Answer {
    about: About,
    #[serde(flatten)]
    adjustment: Adjustment,
    warnings: Vec<String>,
}

/// Runs the command.
pub fn run(context: &Context, args: &AdjustArgs) -> Outcome {
    let taken = Taken {
        rises: pairs("--reading", &args.reading, typed_reading)?,
        temperatures: pairs("--dough-temp", &args.dough_temp, typed_probe)?,
    };
    if !(0.5..=50.0).contains(&args.window) {
        return Err(Failure::Call(format!("--window {} is not between 0.5 and 50 percent", args.window)));
    }
    let given = plans(args.plan.as_deref(), &args.columns)?;
    let [given] = given.as_slice() else {
        return Err(Failure::Call("one plan at a time can be under way: the file has several".into()));
    };
    let mut kitchen = Kitchen::open(context)?;
    let (started, about, record) = under_way(context, args, given, &kitchen)?;
    let latest = kitchen.latest(&started)?;
    let plan = complete(&started, latest.as_ref());
    asked(&plan)?;
    let (records, fit) = kitchen.fit(context)?;
    let mut forecaster = fit.forecaster().ok_or(crate::advice::AdviceError::NoForecast)?;
    // Readings that were taken into the logbook are in the fit already.
    let fitted = plan.batch_id.is_some()
        && records.readings.iter().any(|r| Some(&r.batch_id) == plan.batch_id.as_ref());
    let adjustment = adjust(&mut forecaster, &plan, &taken, args.now, args.window / 100.0, fitted)?;
    let about = about.with(&plan, record.as_ref());
    let found = Answer { about, adjustment, warnings: fit.warnings.iter().map(|w| w.says()).collect() };
    answer(context, &found, || text::of(&found, context.units))?;
    Ok(Done::All)
}

/// The plan that is under way, what it is, and how it was kept.
fn under_way(
    context: &Context,
    args: &AdjustArgs,
    given: &Batch,
    kitchen: &Kitchen,
) -> Result<(Batch, About, Option<PlanRecord>), Failure> {
    let now = Timestamp::now();
    if let Some(id) = &args.kept {
        let kept = plan_named(&kitchen.logbook, &kitchen.name, id)?;
        let (mut plan, about) = started(&kept, now);
        args.columns.put_into(&mut plan).map_err(|e| Failure::Call(e.to_string()))?;
        return Ok((plan, about, Some(kept)));
    }
    let kept = latest_thoughts(kitchen.logbook.plans(&kitchen.name)?);
    if args.plan.is_some() || !args.columns.is_empty() {
        let same = |p: &&PlanRecord| p.plan.batch_id.is_some() && p.plan.batch_id == given.batch_id;
        let Some(kept) = kept.iter().rev().find(same) else {
            return Ok((given.clone(), About::default(), None));
        };
        let (_, about) = started(kept, now);
        return Ok((as_kept(given, &kept.plan), about, Some(kept.clone())));
    }
    let Some((taken, notes)) = likely(&kept, now, context.units) else {
        return Ok((given.clone(), About::default(), None));
    };
    let (plan, about) = started(taken, now);
    Ok((plan, About { notes, ..about }, Some(taken.clone())))
}

/// The plan as given, with what was recommended for it where it is blank.
fn as_kept(given: &Batch, kept: &Batch) -> Batch {
    Batch {
        yeast_g: given.yeast_g.or(kept.yeast_g),
        ice_g: given.ice_g.or(kept.ice_g.filter(|_| given.yeast_g.is_none())),
        water_temp_c: match given.yeast_g {
            // What was kept belongs together: tap water beside its ice.
            None => kept.water_temp_c.or(given.water_temp_c),
            Some(_) => given.water_temp_c,
        },
        ..given.clone()
    }
}

/// Hours and what was read then, each as a cell of a sheet would say it.
fn pairs(
    flag: &str,
    given: &[String],
    read: impl Fn(&str) -> Result<(f64, f64), String>,
) -> Result<Vec<(f64, f64)>, Failure> {
    let pair = |text: &String| read(text).map_err(|why| Failure::Call(format!("{flag} '{text}': {why}")));
    given.iter().map(pair).collect()
}
