//! `predict --vary`: the rise along one or two columns, as a table and as charts.

use std::path::PathBuf;

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::AdviceError;
use crate::advice::limits::Limits;
use crate::advice::plan::complete;
use crate::advice::predict::asked;
use crate::advice::vary::{Along, Point, vary};
use crate::charts::{Quantiles, VaryChart, varied};
use crate::dough::units::UnitSystem;
use crate::dough::{Column, Value};

use super::args::PredictArgs;
use super::context::Context;
use super::failure::{Done, Failure, Outcome};
use super::forecast::as_mixed;
use super::kitchen::Kitchen;
use super::output::answer;
use super::progress::while_doing;
use super::recommend::plans;
use super::residuals::{CHART_PX, write_figures};
use super::text::{bullets, chance, in_units, table, trimmed};

#[derive(Serialize, JsonSchema)]
pub struct Answer {
    columns: Vec<Column>,
    points: Vec<Point>,
    charts: Vec<PathBuf>,
    warnings: Vec<String>,
}

/// Runs `predict` along columns.
pub fn run(context: &Context, args: &PredictArgs) -> Outcome {
    let along: Vec<Along> = args.vary.iter().map(|t| Along::parse(t)).collect::<Result<_, _>>()?;
    if along.len() > 2 {
        return Err(Failure::Call("--vary can be given once or twice".into()));
    }
    if along.len() == 2 && along[0].column == along[1].column {
        return Err(Failure::Call(format!("--vary {} is given twice: give another column", along[0].column)));
    }
    let given = plans(args.plan.as_deref(), &args.columns)?;
    let [given] = given.as_slice() else {
        return Err(Failure::Call("--vary takes one plan at a time: the file has several".into()));
    };
    let mut kitchen = Kitchen::open(context)?;
    let latest = kitchen.latest(given)?;
    let plan_of = |setting: &[(Column, f64)]| {
        let mut plan = given.clone();
        for (column, value) in setting {
            // Values within the column's range can always be set.
            let _ = plan.set(*column, &Value::Number(*value));
        }
        as_mixed(&plan, complete(&plan, latest.as_ref()), latest.as_ref())
    };
    let first: Vec<(Column, f64)> = along.iter().map(|a| (a.column, a.values[0])).collect();
    asked(&plan_of(&first))?;
    let (records, fit) = kitchen.fit(context)?;
    let mut forecaster = fit.forecaster().ok_or(AdviceError::NoForecast)?;
    let points = while_doing("foretelling", || {
        vary(&mut forecaster, &records, &along, Limits::default().window, plan_of)
    })?;
    let target = plan_of(&first).target_rise;
    let charts = match &args.out {
        None => vec![],
        Some(out) => {
            let each = points.chunks(along[0].values.len());
            let figures = each
                .map(|p| varied(&chart(&along, p, target, context.units), CHART_PX))
                .collect::<Result<Vec<_>, _>>()?;
            write_figures(&figures, out)?
        }
    };
    let warnings = fit.warnings.iter().map(|w| w.says()).collect();
    let found = Answer { columns: along.iter().map(|a| a.column).collect(), points, charts, warnings };
    answer(context, &found, || text(&found, context.units))?;
    Ok(Done::All)
}

fn chart(along: &[Along], points: &[Point], target_rise: Option<f64>, units: UnitSystem) -> VaryChart {
    let quantiles = |p: &Point| Quantiles {
        p05: p.rise.p05,
        p25: p.rise_p25,
        p50: p.rise.p50,
        p75: p.rise_p75,
        p95: p.rise.p95,
    };
    let column = along[0].column;
    let shown = |c: Column, value: f64| in_units(value, c.unit(), units);
    let second = along.get(1).zip(points.first());
    VaryChart {
        column: format!("{}, {}", named(column), shown(column, 0.0).1),
        at: second.map_or(String::new(), |(a, p)| {
            let (value, unit) = shown(a.column, p.values[1]);
            format!("{} {} {unit}", named(a.column), trimmed(value, 3))
        }),
        rise: points.iter().map(|p| (shown(column, p.values[0]).0, quantiles(p))).collect(),
        chance: points.iter().filter_map(|p| p.chance_in_window).collect(),
        reached: points.iter().map(|p| !p.extrapolated).collect(),
        target_rise,
    }
}

/// A column's name without its unit.
fn named(column: Column) -> String {
    let name = column.name();
    let stem = name.strip_suffix("_c").or(name.strip_suffix("_g")).unwrap_or(name);
    stem.replace('_', " ")
}

fn text(answer: &Answer, units: UnitSystem) -> String {
    let shown = |c: Column, value: f64| in_units(value, c.unit(), units);
    let mut heading: Vec<String> =
        answer.columns.iter().map(|c| format!("{}, {}", named(*c), shown(*c, 0.0).1)).collect();
    heading.extend(["rise", "9 of 10 between", "and", "lands", ""].map(String::from));
    let mut rows = vec![heading];
    for p in &answer.points {
        let mut row: Vec<String> =
            p.values.iter().zip(&answer.columns).map(|(v, c)| trimmed(shown(*c, *v).0, 3)).collect();
        row.extend([p.rise.p50, p.rise.p05, p.rise.p95].map(|r| format!("{r:.2}")));
        row.push(p.chance_in_window.map(chance).unwrap_or_default());
        row.push(if p.extrapolated { "beyond your records".into() } else { String::new() });
        rows.push(row);
    }
    let mut out = table(&rows);
    for chart in &answer.charts {
        out += &format!("chart: {}\n", chart.display());
    }
    bullets(&mut out, "About the fit:", &answer.warnings);
    out
}
