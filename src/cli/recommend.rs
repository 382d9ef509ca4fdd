//! `recommend`: yeast and water temperature for the next batch.

use std::fmt::Write;
use std::path::Path;

use jiff::tz::TimeZone;

use crate::advice::AdviceError;
use crate::advice::cautions::KITCHEN;
use crate::advice::limits::Limits;
use crate::advice::plan::complete;
use crate::advice::predict::predict;
use crate::advice::recommend::{Recommendation, asked};
use crate::answers::crust_side as beside;
use crate::answers::plans::keep_plans;
use crate::answers::recommend::on_the_clock;
pub use crate::answers::recommend::{Answer, answer_plans};
use crate::dough::units::UnitSystem;
use crate::dough::{Batch, Column, Purpose, Value};
use crate::inference::fit::Fit;
use crate::intake::{Opened, Options, typed};

use super::args::RecommendArgs;
use super::clock;
use super::context::Context;
use super::crust_side;
use super::drawn;
use super::failure::{Done, Failure, Outcome};
use super::import::source_of;
use super::kitchen::Kitchen;
use super::output::answer;
use super::pictures;
use super::plan_columns::PlanColumns;
use super::plan_text;
use super::progress::while_doing;
use super::residuals::{CHART_PX, write_figures};
use super::text::{bullets, chance, hours, mass, rise, temperature, temperature_change, trimmed};

/// Runs the command.
pub fn run(context: &Context, args: &RecommendArgs) -> Outcome {
    let answered = recommended(context, args)?;
    answer(context, &answered, || text(&answered, context.units))?;
    Ok(Done::All)
}

/// What is recommended for a call, kept in the logbook.
pub fn recommended(context: &Context, args: &RecommendArgs) -> Result<Answer, Failure> {
    let mut limits = limits(args)?;
    limits.validate()?;
    let clock = args.clock.asked()?;
    let mut given = plans(args.plan.as_deref(), &args.columns)?;
    let (mut kitchen, known) = match args.target {
        None => (Kitchen::open_for(context, &given, |plan| asked(plan).map(drop))?, None),
        Some(_) => {
            let mut kitchen = Kitchen::open(context)?;
            let known = kitchen.fit(context)?;
            let ready = ready(&kitchen.name, &known.1)?;
            limits.window = ready.window();
            given.iter_mut().for_each(|p| p.target_rise = Some(ready.target()));
            context.note(&ready.says());
            (kitchen, Some(known))
        }
    };
    let wanted = |plan: &Batch, complete: Batch| args.wanted.apply(plan, complete);
    let mut full = Vec::new();
    for plan in given {
        let latest = kitchen.latest(&plan)?;
        let complete = wanted(&plan, complete(&plan, latest.as_ref()))?;
        asked(&complete)?;
        full.push((complete, latest));
    }
    let (records, fit) = match known {
        Some(known) => known,
        None => kitchen.fit(context)?,
    };
    let mut answered = match &clock {
        None => answer_plans(&fit, &records, &full, &limits)?,
        Some((asked, odd)) => while_doing("putting it on the clock", || {
            on_the_clock(&fit, &records, &full, &limits, asked, odd.as_deref())
        })?,
    };
    let crust = beside::kept_foreteller(&mut kitchen.logbook, &kitchen.name, &records, &fit)?;
    beside::put_beside(&mut answered.plans, &fit, crust.as_ref());
    answered.plan_ids =
        keep_plans(&mut kitchen.logbook, &kitchen.name, &answered.plans, &answered.schedules)?;
    if let Some(out) = &args.clock.out {
        let zone = clock.as_ref().map_or_else(TimeZone::system, |(asked, _)| asked.bake.time_zone().clone());
        let figures = pictures::of_all(fit.forecaster(), &answered.plans, &zone, context.units, CHART_PX)?;
        answered.charts = write_figures(&figures, out)?;
    }
    if let (Some(columns), Some(mut forecaster)) = (context.columns, fit.forecaster()) {
        let drawn = |r: &Recommendation| {
            Ok(drawn::rise(&predict(&mut forecaster, &r.plan)?, Some(r.target_rise), columns))
        };
        answered.pictures = answered.plans.iter().map(drawn).collect::<Result<_, AdviceError>>()?;
    }
    Ok(answered)
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
fn ready(kitchen: &str, fit: &Fit) -> Result<Ready, Failure> {
    let (from, to) = fit.ready().ok_or_else(|| {
        Failure::Work(format!(
            "kitchen '{kitchen}' has no verdict yet, so nobody knows what it calls ready: write down ripeness (under, ready or over) at the \
             oven, or give --target-rise"
        ))
    })?;
    Ok(Ready { from, to })
}

/// The plans of a file, each changed by the columns given as flags; or one plan of those columns alone.
pub fn plans(file: Option<&Path>, columns: &PlanColumns) -> Result<Vec<Batch>, Failure> {
    let mut plans = match file {
        None => vec![Batch::default()],
        Some(path) => {
            not_an_id(path)?;
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
        columns.put_into(plan).map_err(Failure::Call)?;
    }
    Ok(plans)
}

/// Refuses what is no file and looks like the id of a kept plan, with the way to name one.
fn not_an_id(path: &Path) -> Result<(), Failure> {
    if path.extension().is_some() || path.components().count() > 1 || path.as_os_str() == "-" || path.exists()
    {
        return Ok(());
    }
    let name = path.display();
    Err(Failure::Call(format!(
        "there is no file '{name}': if it is the id of a kept plan, `bench-sheet --plan {name}` prints it and `adjust --plan {name}` \
         goes by it"
    )))
}

fn limits(args: &RecommendArgs) -> Result<Limits, Failure> {
    let wrong = || {
        Failure::Call(format!(
            "--dough-between '{}': two temperatures are wanted, such as 20..26",
            args.dough_between
        ))
    };
    let (low, high) = args.dough_between.split_once("..").ok_or_else(wrong)?;
    let number = |text: &str| match typed(Column::dough_temp_c, text) {
        Ok(Value::Number(x)) => Ok(x),
        _ => Err(wrong()),
    };
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
        if let Some(picture) = answer.pictures.get(i) {
            out.push_str(picture);
        }
        if let Some(schedule) = answer.schedules.get(i) {
            clock::text(&mut out, schedule, units);
        }
        if let Some(id) = answer.plan_ids.get(i) {
            let _ = writeln!(out, "kept as plan {id}: write down what came of it with `record --plan {id}`");
        }
    }
    for chart in &answer.charts {
        let _ = writeln!(out, "chart: {}", chart.display());
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
    out.push_str(&plan_text::lines(plan, units));
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
    crust_side::text(out, r, units);
    in_the_bowl(out, r, units);
    let why: Vec<String> = r.why.iter().map(|w| w.says(units)).collect();
    bullets(out, "Why:", &why);
    bullets(out, "Mind:", &r.cautions);
}

/// What a finer weighing, another piece and a degree would do.
fn in_the_bowl(out: &mut String, r: &Recommendation, units: UnitSystem) {
    let percent = |share: f64| format!("{:+.0} %", 100.0 * share);
    if let Some(w) = &r.weighing {
        if let Some(d) = &w.dilution {
            let _ = writeln!(
                out,
                "small weights: stir {} of yeast into {} of water, weigh {} of that into the dough (it holds {}), pour {} less water",
                mass(d.yeast_g, units),
                mass(d.water_g, units),
                mass(d.take_g, units),
                mass(d.holds_g, units),
                mass(d.pour_less_g, units)
            );
        }
        let _ = writeln!(
            out,
            "half a step of your {} scale moves the rise by {:.1} %",
            mass(w.step_g, units),
            100.0 * w.moves_rise
        );
    }
    if let Some(p) = &r.piece {
        let jar = if p.read_on_jar { "; the jar does not feel it, so go by the pieces" } else { "" };
        let _ = writeln!(
            out,
            "pieces of {} instead of {}: {} rise with the same yeast, which {} yeast makes good{jar}",
            mass(p.piece_g, units),
            mass(p.before_g, units),
            percent(p.rise),
            percent(p.yeast)
        );
    }
    let Some(h) = &r.heat else { return };
    let _ = writeln!(
        out,
        "a degree more in the flour is {:+.2} of dough, in the water {:+.2}, in the room {:+.2}; a degree of dough is {} rise",
        h.by_flour,
        h.by_water,
        h.by_room,
        percent(match units {
            UnitSystem::Metric => h.rise_by_degree,
            UnitSystem::Us => (h.rise_by_degree.ln_1p() / 1.8).exp_m1(),
        })
    );
    if let (Some(rule), Some(dough)) = (h.sum_rule_c, h.dough_by_sum_rule_c) {
        let _ = writeln!(
            out,
            "The trade's sum rule would say water at {}, which would give dough at {}: it weighs all parts alike, while water carries {:.0} % of this dough's heat.",
            temperature(rule, units),
            temperature(dough, units),
            100.0 * h.water_share
        );
    }
}
