//! `recommend`: yeast and water temperature for the next batch.

use std::fmt::Write;
use std::path::Path;

use jiff::Timestamp;
use serde::Serialize;

use crate::advice::cautions::{KITCHEN, unseen};
use crate::advice::limits::Limits;
use crate::advice::plan::complete;
use crate::advice::recommend::{Recommendation, asked, recommend};
use crate::dough::units::UnitSystem;
use crate::dough::{Batch, Purpose};
use crate::inference::fit::Fit;
use crate::inference::prepare::Records;
use crate::intake::{Opened, Options};

use super::args::RecommendArgs;
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::import::source_of;
use super::kitchen::Kitchen;
use super::output::answer;
use super::plan_columns::PlanColumns;
use super::text::{bullets, chance, hours, mass, rise, temperature, temperature_change, trimmed};

/// The answer of `recommend`.
#[derive(Debug, Serialize)]
pub struct Answer {
    /// One entry a plan.
    pub plans: Vec<Recommendation>,
    /// Under which names they are kept in the logbook, for `record --plan`; none where they are not kept.
    pub plan_ids: Vec<String>,
    /// What to know of the fit behind it.
    pub warnings: Vec<String>,
}

/// Runs the command.
pub fn run(context: &Context, args: &RecommendArgs) -> Outcome {
    let mut limits = limits(args)?;
    let mut plans = plans(args.plan.as_deref(), &args.columns)?;
    if args.target.is_some() {
        let ready = ready(context)?;
        limits.window = ready.window();
        plans.iter_mut().for_each(|p| p.target_rise = Some(ready.target()));
        context.note(&ready.says());
    }
    let mut kitchen = Kitchen::open_for(context, &plans, |plan| asked(plan).map(drop))?;
    let mut full = Vec::new();
    for plan in plans {
        let latest = kitchen.latest(&plan)?;
        let complete = complete(&plan, latest.as_ref());
        asked(&complete)?;
        full.push((complete, latest));
    }
    let (records, fit) = kitchen.fit(context)?;
    let mut answered = answer_plans(&fit, &records, &full, &limits)?;
    let mut plan_ids = Vec::new();
    for r in &answered.plans {
        let predicted = serde_json::to_value(r).unwrap_or_default();
        let plan = Batch { kitchen: Some(kitchen.name.clone()), ..r.plan.clone() };
        plan_ids.push(kitchen.logbook.keep_plan(Timestamp::now(), &plan, &predicted)?);
    }
    answered.plan_ids = plan_ids;
    answer(context, &answered, || text(&answered, context.units))?;
    Ok(Done::All)
}

/// The rises that a kitchen calls ready.
struct Ready {
    from: f64,
    to: f64,
}

impl Ready {
    /// Their middle, on the scale of ln rise.
    fn target(&self) -> f64 {
        (100.0 * (self.from * self.to).sqrt()).round() / 100.0
    }

    /// How far below the middle still counts, so that the window stays inside what is called ready.
    fn window(&self) -> f64 {
        1.0 - (self.from / self.to).sqrt()
    }

    fn says(&self) -> String {
        format!("this kitchen calls a dough ready from a rise of {:.2} to {:.2} times", self.from, self.to)
    }
}

/// What the kitchen calls ready, by its verdicts and the fit.
fn ready(context: &Context) -> Result<Ready, Failure> {
    let mut kitchen = Kitchen::open(context)?;
    let (_, fit) = kitchen.fit(context)?;
    let (from, to) = fit.ready().ok_or_else(|| {
        Failure::Work(format!(
            "kitchen '{}' has no verdict yet, so nobody knows what it calls ready: write down ripeness (under, ready or over) at the \
             oven, or give --target-rise",
            kitchen.name
        ))
    })?;
    Ok(Ready { from, to })
}

/// Recommends for completed plans, each with the batch it was completed from.
pub fn answer_plans(
    fit: &Fit,
    records: &Records,
    plans: &[(Batch, Option<Batch>)],
    limits: &Limits,
) -> Result<Answer, Failure> {
    let mut forecaster = fit.forecaster().ok_or(crate::advice::AdviceError::NoForecast)?;
    let mut answers = Vec::new();
    for (plan, last) in plans {
        let mut one = recommend(&mut forecaster, plan, last.as_ref(), limits)?;
        one.cautions.extend(unseen(&one.plan, records));
        answers.push(one);
    }
    Ok(Answer {
        plans: answers,
        plan_ids: Vec::new(),
        warnings: fit.warnings.iter().map(|w| w.says()).collect(),
    })
}

/// The plans of a file, each changed by the columns given as flags; or one plan of those columns alone.
pub fn plans(file: Option<&Path>, columns: &PlanColumns) -> Result<Vec<Batch>, Failure> {
    let mut plans = match file {
        None => vec![Batch::default()],
        Some(path) => {
            let read = Opened::new(source_of(path)?)?.read(&Options { purpose: Purpose::Plan })?;
            if let Some(p) = read.problems().next() {
                return Err(Failure::Call(format!(
                    "{} row {}, {}: '{}': {}",
                    p.file, p.row, p.column, p.value, p.message
                )));
            }
            read.batches.into_iter().map(|row| row.value).collect()
        }
    };
    if plans.is_empty() {
        return Err(Failure::Call("the file of plans has no plan in it: one row is one plan".into()));
    }
    for plan in &mut plans {
        columns.put_into(plan).map_err(|e| Failure::Call(e.to_string()))?;
    }
    Ok(plans)
}

fn limits(args: &RecommendArgs) -> Result<Limits, Failure> {
    let wrong = || {
        Failure::Call(format!(
            "--dough-between '{}': two temperatures are wanted, such as 20..26",
            args.dough_between
        ))
    };
    let (low, high) = args.dough_between.split_once("..").ok_or_else(wrong)?;
    let number = |text: &str| text.trim().parse::<f64>().map_err(|_| wrong());
    Ok(Limits {
        window: args.window / 100.0,
        scale_g: args.scale,
        dough_c: (number(low)?, number(high)?),
        ..Limits::default()
    })
}

/// The answer as text: what to do first, then how sure, then why.
pub fn text(answer: &Answer, units: UnitSystem) -> String {
    let mut out = String::new();
    for (i, r) in answer.plans.iter().enumerate() {
        if i > 0 {
            out.push('\n');
        }
        one(&mut out, r, units);
        if let Some(id) = answer.plan_ids.get(i) {
            let _ = writeln!(out, "kept as plan {id}: write down what came of it with `record --plan {id}`");
        }
    }
    bullets(&mut out, "About the fit:", &answer.warnings);
    let _ = writeln!(out, "{}", KITCHEN[0]);
    let _ = writeln!(out, "{}", KITCHEN[4]);
    out
}

fn one(out: &mut String, r: &Recommendation, units: UnitSystem) {
    let plan = &r.plan;
    let name = r.batch_id.as_ref().map(|id| format!("{id}: ")).unwrap_or_default();
    let kind = plan.yeast_type.map(|t| t.to_string().replace('_', " ")).unwrap_or_default();
    let _ = writeln!(
        out,
        "{name}weigh {} of {kind} yeast ({} % of the flour)",
        mass(r.yeast_g, units),
        trimmed(r.yeast_pct, 3)
    );
    let water = plan.water_added_g().unwrap_or(0.0);
    if r.ice_g > 0.0 {
        let known = if r.pour.tap_known { "" } else { ", if your tap gives that" };
        let _ = writeln!(
            out,
            "pour {} of tap water at {}{known} with {} of ice (together like water at {})",
            mass(r.pour.liquid_g, units),
            temperature(r.pour.tap_c, units),
            mass(r.ice_g, units),
            temperature(r.water_temp_c, units)
        );
    } else {
        let _ =
            writeln!(out, "pour {} of water at {}", mass(water, units), temperature(r.water_temp_c, units));
    }
    let d = &r.dough_temp_c;
    let _ = writeln!(
        out,
        "expect dough at {} ({} to {})",
        temperature(d.p50, units),
        temperature(d.p05, units),
        temperature(d.p95, units)
    );
    let _ = writeln!(
        out,
        "expect a rise of {}; wanted {}: {} to land near it",
        rise(&r.rise),
        trimmed(r.target_rise, 2),
        chance(r.chance_in_window)
    );
    if let Some(limit) = &r.out_of_reach {
        let _ = writeln!(out, "BUT {limit}");
    }
    if let Some(w) = &r.window {
        let _ = writeln!(
            out,
            "ready from {} to {}{} after mixing (the plan bakes after {})",
            hours(w.from_hours),
            hours(w.to_hours),
            if w.open { " or later" } else { "" },
            hours(plan.total_hours())
        );
    }
    let mut change = Vec::new();
    if let Some(y) = r.change.yeast_pct {
        change.push(format!("yeast {:+.3} % of the flour", y));
    }
    if let Some(w) = r.change.water_temp_c {
        change.push(format!("water {}", temperature_change(w, units)));
    }
    if !change.is_empty() {
        let _ = writeln!(out, "against the last batch: {}", change.join(", "));
    }
    bullets(out, "Why:", &r.why);
    if let Some(rule) = r.sum_rule_water_c {
        let _ = writeln!(
            out,
            "The trade's sum rule would say water at {}: it weighs all parts alike, while water carries most of a dough's heat.",
            temperature(rule, units)
        );
    }
    bullets(out, "Mind:", &r.cautions);
}
