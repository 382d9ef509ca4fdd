//! `adjust`: mid-course, what the readings so far say and what to do now.

use std::fmt::Write;
use std::path::PathBuf;

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::adjust::{Adjustment, Taken, adjust, asked};
use crate::advice::plan::complete;
use crate::dough::Batch;
use crate::dough::units::Celsius;
use crate::logbook::PlanRecord;

use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::kitchen::Kitchen;
use super::output::answer;
use super::plan_columns::PlanColumns;
use super::recommend::plans;
use super::text::{bullets, chance, hours, table};

/// `adjust`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright adjust plan.csv --reading 1=1.08 --reading 20=1.55
  doughwright adjust --reading 3=1.2 --dough-temp 3=22.5    # the latest plan that `recommend` kept")]
pub struct AdjustArgs {
    /// The plan that is under way; blank yeast and water come from what `recommend` kept for it
    #[arg(value_name = "PLAN.csv")]
    pub plan: Option<PathBuf>,
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
    #[serde(flatten)]
    adjustment: Adjustment,
    warnings: Vec<String>,
}

/// Runs the command.
pub fn run(context: &Context, args: &AdjustArgs) -> Outcome {
    let taken = Taken {
        rises: pairs("--reading", &args.reading)?,
        temperatures: pairs("--dough-temp", &args.dough_temp)?,
    };
    if !(0.5..=50.0).contains(&args.window) {
        return Err(Failure::Call(format!("--window {} is not between 0.5 and 50 percent", args.window)));
    }
    let given = plans(args.plan.as_deref(), &args.columns)?;
    let [given] = given.as_slice() else {
        return Err(Failure::Call("one plan at a time can be under way: the file has several".into()));
    };
    let mut kitchen = Kitchen::open(context)?;
    let kept = kitchen.logbook.plans(&kitchen.name)?;
    let named = args.plan.is_some() || !args.columns.is_empty();
    let started = as_kept(given, &kept, named);
    let latest = kitchen.latest(&started)?;
    let plan = complete(&started, latest.as_ref());
    asked(&plan)?;
    let (records, fit) = kitchen.fit(context)?;
    let mut forecaster = fit.forecaster().ok_or(crate::advice::AdviceError::NoForecast)?;
    // Readings that were taken into the logbook are in the fit already.
    let fitted = plan.batch_id.is_some()
        && records.readings.iter().any(|r| Some(&r.batch_id) == plan.batch_id.as_ref());
    let adjustment = adjust(&mut forecaster, &plan, &taken, args.now, args.window / 100.0, fitted)?;
    let found = Answer { adjustment, warnings: fit.warnings.iter().map(|w| w.says()).collect() };
    answer(context, &found, || text(&found))?;
    Ok(Done::All)
}

/// The plan with what was recommended for it: the latest kept plan of its id, or the latest of all when none is named.
fn as_kept(given: &Batch, kept: &[PlanRecord], named: bool) -> Batch {
    let same = |p: &&PlanRecord| !named || (p.plan.batch_id.is_some() && p.plan.batch_id == given.batch_id);
    let Some(found) = kept.iter().rev().find(same) else { return given.clone() };
    if !named {
        return found.plan.clone();
    }
    Batch {
        yeast_g: given.yeast_g.or(found.plan.yeast_g),
        ice_g: given.ice_g.or(found.plan.ice_g.filter(|_| given.yeast_g.is_none())),
        water_temp_c: match given.yeast_g {
            // What was kept belongs together: tap water beside its ice.
            None => found.plan.water_temp_c.or(given.water_temp_c),
            Some(_) => given.water_temp_c,
        },
        ..given.clone()
    }
}

/// "3=1.25" as two numbers; a temperature may end in F.
fn pairs(flag: &str, given: &[String]) -> Result<Vec<(f64, f64)>, Failure> {
    let pair = |text: &String| {
        let wrong = || {
            Failure::Call(format!("{flag} '{text}': hours and a number are wanted, such as {flag} 3=1.25"))
        };
        let number = |t: &str| t.trim().parse::<f64>().ok().filter(|x| x.is_finite());
        let (hours, value) = text.split_once('=').ok_or_else(wrong)?;
        let value = value.trim();
        let fahrenheit = value.strip_suffix(['F', 'f']).filter(|_| flag == "--dough-temp");
        let value = match fahrenheit {
            Some(f) => number(f).map(|f| Celsius::from_fahrenheit(f).0),
            None => number(value.trim_end_matches(['C', 'c'])),
        };
        Ok((number(hours).ok_or_else(wrong)?, value.ok_or_else(wrong)?))
    };
    given.iter().map(pair).collect()
}

fn text(answer: &Answer) -> String {
    let a = &answer.adjustment;
    let mut out = String::new();
    if let Some(best) = a.options.first() {
        let _ = writeln!(
            out,
            "{}: {} to land near {}",
            best.action,
            chance(best.chance_in_window),
            a.target_rise
        );
    }
    let _ = writeln!(
        out,
        "ready {}, 8 of 10 times between {} and {} (without the readings {} to {})",
        from_now(a.ready_in_hours.p50),
        from_now(a.ready_in_hours_80.0),
        from_now(a.ready_in_hours_80.1),
        from_now(a.ready_without_readings_80.0),
        from_now(a.ready_without_readings_80.1)
    );
    let v = &a.vigour;
    let percent = |x: f64| format!("{:+.0} %", 100.0 * x);
    let _ = writeln!(
        out,
        "this batch works {} against your usual ({} to {} in 9 of 10 cases)",
        percent(v.p50),
        percent(v.p05),
        percent(v.p95)
    );
    let mut rows =
        vec![["what to do", "oven", "rise", "9 of 10 between", "and", "lands"].map(String::from).to_vec()];
    for o in &a.options {
        rows.push(vec![
            o.action.clone(),
            from_now(o.bake_in_hours),
            format!("{:.2}", o.rise.p50),
            format!("{:.2}", o.rise.p05),
            format!("{:.2}", o.rise.p95),
            chance(o.chance_in_window),
        ]);
    }
    out.push_str(&table(&rows));
    bullets(&mut out, "Mind:", &a.cautions);
    bullets(&mut out, "About the fit:", &answer.warnings);
    out
}

/// A time as seen from now.
fn from_now(h: f64) -> String {
    match h {
        h if h.is_infinite() => "not within a day of the plan's end".into(),
        h if h < -0.01 => format!("{} ago", hours(-h)),
        h if h < 0.01 => "now".into(),
        h => format!("in {}", hours(h)),
    }
}
