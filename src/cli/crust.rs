//! `crust`: what goes with a better crust, with honest uncertainty.

use std::fmt::Write;
use std::path::PathBuf;

use schemars::JsonSchema;
use serde::Serialize;

use crate::charts::{CrustChart, Quantiles, crust_score};
use crate::crust::dependence::{Dependence, Range};
use crate::crust::{Crust, Of, study};

use super::context::Context;
use super::crust_args::CrustArgs;
use super::failure::{Done, Failure, Outcome};
use super::kitchen::Kitchen;
use super::output::answer;
use super::residuals::{CHART_PX, write_figures};
use super::text::{bullets, chance, table, trimmed};

#[derive(Serialize, JsonSchema)]
pub struct Answer {
    of: Of,
    #[serde(flatten)]
    crust: Crust,
    charts: Vec<PathBuf>,
}

/// Runs the command.
pub fn run(context: &Context, args: &CrustArgs) -> Outcome {
    let of = if args.of == "ripeness" { Of::Verdict } else { Of::Score };
    let mut kitchen = Kitchen::open(context)?;
    let (records, fit) = kitchen.fit(context)?;
    let forecaster = fit.forecaster().ok_or(crate::advice::AdviceError::NoForecast)?;
    let fitted = study(of, &records.batches, &forecaster).map_err(|e| Failure::Work(e.to_string()))?;
    let figures = match of {
        Of::Score => {
            let dependences = fitted.dependences();
            let charts = dependences.iter().map(|d| crust_score(&chart(d), CHART_PX));
            charts.collect::<Result<Vec<_>, _>>()?
        }
        // The chart's scale is that of the score.
        Of::Verdict => Vec::new(),
    };
    let charts = if figures.is_empty() { Vec::new() } else { write_figures(&figures, &args.out)? };
    let told = Answer { of, crust: fitted.crust(), charts };
    answer(context, &told, || text(&told))?;
    Ok(Done::All)
}

fn chart(d: &Dependence) -> CrustChart {
    let quantiles = |[p05, p25, p50, p75, p95]: [f64; 5]| Quantiles { p05, p25, p50, p75, p95 };
    CrustChart {
        name: d.name.into(),
        unit: d.unit.into(),
        score: d.curve.iter().map(|(at, q)| (*at, quantiles(*q))).collect(),
        batches: d.batches.clone(),
        tried: Some(d.tried),
    }
}

/// The answer as text: what to do, then how sure that is.
fn text(told: &Answer) -> String {
    let c = &told.crust;
    let what = if told.of == Of::Score { "score of the crust" } else { "verdict" };
    let mut out = String::new();
    if c.explained {
        if let Some(ready) = c.called_ready {
            let [from, to] =
                [ready.from, ready.to].map(|[m, low, high]| format!("{m:.0} ({low:.0} to {high:.0})"));
            let _ = writeln!(out, "You call a dough ready from {from} to {to} {}.", ready.unit);
        }
        if told.of == Of::Score {
            let [middle, low, high] = c.best_tried.score;
            let _ = writeln!(
                out,
                "Best so far, {} of your {} batches: expected {middle:.1} ({low:.1} to {high:.1}), with",
                c.best_tried.batches, c.batches
            );
            c.best_tried.ranges.iter().for_each(|r| out.push_str(&range(r)));
        }
        if let Some(o) = c.best_ripeness.filter(|o| o.chance >= 0.5) {
            let _ = writeln!(
                out,
                "Ripeness is best at {:.0} ({:.0} to {:.0}) {}; {} that there is a best inside what you tried.",
                o.p50,
                o.p05,
                o.p95,
                o.unit,
                chance(o.chance)
            );
        }
        let _ = writeln!(
            out,
            "The records explain part of the {what}: foretold from the other batches, it comes {:.0} % nearer than by saying how it usually spreads.",
            100.0 * c.skill
        );
    } else {
        let _ = writeln!(
            out,
            "The records do not explain the {what}: foretold from the other batches, it comes no nearer than by saying how it usually \
             spreads ({:+.0} %, no more than chance). Keep writing it down, and change one thing at a time. For what they are worth:",
            100.0 * c.skill
        );
    }
    out.push_str(&effects(c));
    out.push_str(&models(c));
    bullets(&mut out, "Mind:", &c.cautions);
    if let Some(folder) = told.charts.first().and_then(|p| p.parent()) {
        let _ = writeln!(out, "{} charts in {}", told.charts.len(), folder.display());
    }
    out
}

fn range(r: &Range) -> String {
    let (from, to) = (trimmed(r.from, 1), trimmed(r.to, 1));
    let between = if from == to { from } else { format!("{from} to {to}") };
    format!("  {} {between} {}\n", r.name, r.unit)
}

fn effects(c: &Crust) -> String {
    let head = ["what", "effect", "9 of 10 between", "and", "unit", "tried from", "to"];
    let mut rows = vec![head.map(String::from).to_vec()];
    rows.extend(c.effects.iter().map(|e| {
        let signed = |x: f64| format!("{x:+.2}");
        vec![
            e.name.into(),
            signed(e.mean),
            signed(e.q05),
            signed(e.q95),
            e.unit.clone(),
            trimmed(e.tried_from, 1),
            trimmed(e.tried_to, 1),
        ]
    }));
    table(&rows)
}

fn models(c: &Crust) -> String {
    let head =
        ["foretold from other batches by", "off by (ranked probability)", "off by (expected)", "Brier score"];
    let mut rows = vec![head.map(String::from).to_vec()];
    let number = |x: Option<f64>| x.map_or(String::new(), |x| format!("{x:.3}"));
    rows.extend(
        c.models.iter().map(|m| vec![m.model.into(), number(m.rps), number(m.mean_error), number(m.brier)]),
    );
    table(&rows)
}
