//! `predict`: the rise curve of a plan whose yeast and water are given, as figures and, when asked, as a chart.

use std::fmt::Write;

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::plan::complete;
use crate::advice::predict::{Curve, asked, predict};
use crate::charts::rise_curve;
use crate::dough::Batch;
use crate::dough::units::UnitSystem;

use super::args::PredictArgs;
use super::context::Context;
use super::drawn;
use super::failure::{Done, Outcome};
use super::kitchen::Kitchen;
use super::output::answer;
use super::pictures::rise_chart;
use super::recommend::plans;
use super::residuals::{CHART_PX, write_figures};
use super::text::{bullets, hours, table, temperature};
use super::what_if;

/// The answer of `predict`.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Answer {
    plans: Vec<Curve>,
    charts: Vec<std::path::PathBuf>,
    warnings: Vec<String>,
}

/// Runs the command.
pub fn run(context: &Context, args: &PredictArgs) -> Outcome {
    if !args.vary.is_empty() {
        return what_if::run(context, args);
    }
    let plans = plans(args.plan.as_deref(), &args.columns)?;
    let mut kitchen = Kitchen::open_for(context, &plans, asked)?;
    let mut full = Vec::new();
    for plan in plans {
        let latest = kitchen.latest(&plan)?;
        let complete = as_mixed(&plan, complete(&plan, latest.as_ref()), latest.as_ref());
        asked(&complete)?;
        full.push(complete);
    }
    let (_, fit) = kitchen.fit(context)?;
    let mut forecaster = fit.forecaster().ok_or(crate::advice::AdviceError::NoForecast)?;
    let (mut curves, mut figures) = (Vec::new(), Vec::new());
    for plan in &full {
        let curve = predict(&mut forecaster, plan)?;
        if args.out.is_some() {
            figures.push(rise_curve(&rise_chart(&curve, plan, context.units), CHART_PX)?);
        }
        curves.push(curve);
    }
    let charts = args.out.as_deref().map_or(Ok(Vec::new()), |out| write_figures(&figures, out))?;
    let warnings = fit.warnings.iter().map(|w| w.says()).collect();
    let found = Answer { plans: curves, charts, warnings };
    let drawn = |i: usize, columns| drawn::rise(&found.plans[i], full[i].target_rise, columns);
    let pictures =
        (0..full.len()).map(|i| context.columns.map(|c| drawn(i, c)).unwrap_or_default()).collect();
    answer(context, &found, || text(&found, pictures, context.units))?;
    Ok(Done::All)
}

/// A prediction may lean on the last batch's water too, where the plan does not say.
pub fn as_mixed(plan: &Batch, full: Batch, latest: Option<&Batch>) -> Batch {
    let water_temp_c = plan.water_temp_c.or_else(|| latest.and_then(|l| l.water_temp_c));
    Batch { water_temp_c, dough_temp_c: plan.dough_temp_c, ..full }
}

/// Lines of the table in the terminal at most.
const LINES: usize = 13;

/// The answer as text; `pictures` holds each curve as a small chart, empty where none is drawn.
fn text(answer: &Answer, pictures: Vec<String>, units: UnitSystem) -> String {
    let mut out = String::new();
    for (curve, picture) in answer.plans.iter().zip(pictures) {
        if let Some(id) = &curve.batch_id {
            let _ = writeln!(out, "{id}");
        }
        let mut rows = vec![["after", "rise", "9 of 10 between", "and", "dough"].map(String::from).to_vec()];
        let n = curve.hours.len();
        let step = (n.saturating_sub(1)).div_ceil(LINES - 1).max(1);
        let shown = (0..n).filter(|i| i % step == 0 || i + 1 == n);
        for i in shown {
            rows.push(vec![
                hours(curve.hours[i]),
                format!("{:.2}", curve.rise_p50[i]),
                format!("{:.2}", curve.rise_p05[i]),
                format!("{:.2}", curve.rise_p95[i]),
                temperature(curve.dough_temp_c[i], units),
            ]);
        }
        out.push_str(&table(&rows));
        out.push_str(&picture);
        bullets(&mut out, "Mind:", &curve.cautions);
    }
    for chart in &answer.charts {
        let _ = writeln!(out, "chart: {}", chart.display());
    }
    bullets(&mut out, "About the fit:", &answer.warnings);
    out
}
