//! `trial`: the next batch that teaches the most, and paired comparisons.

use std::fmt::Write;
use std::path::PathBuf;

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::compare::{Comparison, compare};
use crate::advice::limits::Limits;
use crate::advice::plan::complete;
use crate::advice::trial::{Trial, trial};
use crate::dough::units::UnitSystem;
use crate::dough::{Batch, Column, NoColumn};

use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::kitchen::Kitchen;
use super::output::answer;
use super::plan_columns::PlanColumns;
use super::progress::while_doing;
use super::recommend::plans;
use super::text::{bullets, chance, counted, hours, mass, table, temperature, trimmed};

/// `trial`
#[derive(Debug, clap::Args)]
#[command(before_help = "Examples:
  doughwright trial
  doughwright trial --cold-hours 24
  doughwright trial --compare flour_name 'strong white' 'very strong white' --difference 8")]
pub struct TrialArgs {
    /// A plan that fixes what must stay
    #[arg(value_name = "PLAN.csv")]
    pub plan: Option<PathBuf>,
    /// Compare two values of a column in pairs of batches
    #[arg(long, num_args = 3, value_names = ["COLUMN", "A", "B"], allow_hyphen_values = true)]
    pub compare: Option<Vec<String>>,
    /// The difference of rise to be found, in percent (with --compare)
    #[arg(long, value_name = "PERCENT", default_value_t = 10.0, requires = "compare")]
    pub difference: f64,
    /// The chance to find it, in percent (with --compare)
    #[arg(long, value_name = "PERCENT", default_value_t = 80.0, requires = "compare")]
    pub power: f64,
    /// Seed of the order (with --compare)
    #[arg(long, default_value_t = 1, requires = "compare")]
    pub seed: u64,
    /// Columns of the plan.
    #[command(flatten)]
    pub columns: PlanColumns,
}

#[derive(Serialize, JsonSchema)]
pub struct Found<T> {
    #[serde(flatten)]
    found: T,
    warnings: Vec<String>,
}

/// Runs the command.
pub fn run(context: &Context, args: &TrialArgs) -> Outcome {
    let given = plans(args.plan.as_deref(), &args.columns)?;
    let [given] = given.as_slice() else {
        return Err(Failure::Call("one plan at a time: the file has several".into()));
    };
    let factor = args.compare.as_deref().map(|words| factor(&words[0])).transpose()?;
    for (flag, value) in [("--difference", args.difference), ("--power", args.power)] {
        if !(0.5..=99.5).contains(&value) {
            return Err(Failure::Call(format!("{flag} {value}: 0.5 to 99.5 percent are wanted")));
        }
    }
    let mut kitchen = Kitchen::open(context)?;
    let latest = kitchen.latest(given)?;
    let (records, fit) = kitchen.fit(context)?;
    let mut forecaster = fit.forecaster().ok_or(crate::advice::AdviceError::NoForecast)?;
    let warnings = fit.warnings.iter().map(|w| w.says()).collect();
    if let (Some(factor), Some(words)) = (factor, &args.compare) {
        let base = complete(given, latest.as_ref());
        let of = |get: fn(&Batch) -> Option<f64>| get(given).or(latest.as_ref().and_then(get));
        let plan = Batch { yeast_g: of(|b| b.yeast_g), water_temp_c: of(|b| b.water_temp_c), ..base };
        let between = [words[1].as_str(), words[2].as_str()];
        let (difference, power) = (args.difference / 100.0, args.power / 100.0);
        let found = compare(&mut forecaster, &plan, factor, between, difference, power, args.seed)?
            .naming_the_new(&records.batches);
        let found = Found { found, warnings };
        answer(context, &found, || comparison_text(&found.found))?;
        return Ok(Done::All);
    }
    let found = while_doing("weighing what each batch would teach", || {
        trial(&mut forecaster, given, &records.batches, &Limits::default())
    })?;
    let found = Found { found, warnings };
    answer(context, &found, || trial_text(&found.found, &found.warnings, context.units))?;
    Ok(Done::All)
}

fn factor(name: &str) -> Result<Column, Failure> {
    name.replace('-', "_").parse().map_err(|none: NoColumn| {
        Failure::Call(format!("--compare '{name}': there is no such column: {none}"))
    })
}

fn stages(plan: &Batch) -> String {
    plan.stages().map(|s| format!("{} {}", s.kind, hours(s.hours))).collect::<Vec<_>>().join(", ")
}

fn trial_text(t: &Trial, warnings: &[String], units: UnitSystem) -> String {
    let mut out = String::new();
    let name = t.plan.recipe.as_deref().map(|r| format!("{r}: ")).unwrap_or_default();
    let _ = writeln!(
        out,
        "{name}{}; weigh {} of yeast, pour water at {}: {} to land near {}",
        stages(&t.plan),
        mass(t.advice.yeast_g, units),
        temperature(t.advice.water_temp_c, units),
        chance(t.chance_in_window),
        trimmed(t.advice.target_rise, 2)
    );
    let percent = |ln: f64| format!("±{:.1} %", 100.0 * ln.exp_m1());
    let _ = writeln!(
        out,
        "what is not known of this kitchen makes {} of your usual rises; after this batch {} (gain {:.3} nats; repeating the last batch {:.3})",
        percent(t.spread_now),
        percent(t.spread_after),
        t.expected_gain,
        t.repeat.expected_gain
    );
    let mut rows = vec![["batch", "yeast", "lands", "gain, nats"].map(String::from).to_vec()];
    for c in t.candidates.iter().take(8) {
        rows.push(vec![
            stages(&c.plan),
            mass(c.plan.yeast_g.unwrap_or(0.0), units),
            chance(c.chance_in_window),
            format!("{:.3}", c.expected_gain),
        ]);
    }
    out.push_str(&table(&rows));
    bullets(&mut out, "Mind:", &t.notes);
    bullets(&mut out, "About the fit:", warnings);
    out
}

fn comparison_text(c: &Comparison) -> String {
    let mut out = String::new();
    let _ = writeln!(
        out,
        "bake {} ({} batches): {} '{}' and '{}' side by side, all else alike",
        counted(c.pairs, "pair", "pairs"),
        c.batches,
        c.factor,
        c.between[0],
        c.between[1]
    );
    let _ = writeln!(
        out,
        "a difference of {:.0} % of rise is then found with {} (paired t test, 5 %, two-sided; a pair differs by ±{:.1} % by itself)",
        100.0 * c.difference,
        chance(c.power),
        100.0 * c.pair_sd.exp_m1()
    );
    let f = &c.foretold;
    let who = match c.never_baked.as_slice() {
        [] => "the records so far say".to_string(),
        values => format!("no batch with '{}' yet, so most kitchens say", values.join("' or '")),
    };
    let _ = writeln!(
        out,
        "{who} {:+.0} % for '{}' against '{}' ({:+.0} to {:+.0} %)",
        100.0 * f.p50,
        c.between[1],
        c.between[0],
        100.0 * f.p05,
        100.0 * f.p95
    );
    let mut rows = vec![["pair", "mix first", "then"].map(String::from).to_vec()];
    for (i, [first, then]) in c.order.iter().enumerate() {
        rows.push(vec![(i + 1).to_string(), first.clone(), then.clone()]);
    }
    out.push_str(&table(&rows));
    out
}
