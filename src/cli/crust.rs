//! `crust`: what goes with a better crust, with honest uncertainty.

use std::fmt::Write;
use std::path::PathBuf;

use schemars::JsonSchema;
use serde::Serialize;

use crate::charts::{CrustChart, Quantiles, Scored, crust_score};
use crate::crust::dependence::{Dependence, Range};
use crate::crust::{Crust, CrustError, Of, study};
use crate::dough::units::UnitSystem;

use super::context::Context;
use super::crust_args::CrustArgs;
use super::failure::{Done, Failure, Outcome};
use super::kitchen::Kitchen;
use super::output::answer;
use super::progress::while_doing;
use super::residuals::{CHART_PX, write_figures};
use super::text::{bullets, chance, counted, in_units, table, trimmed};
use crate::answers::words;

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
    let (fitted, dependences) = while_doing("relating what was baked to how it came out", || {
        let fitted = study(of, &records.batches, &forecaster)?;
        let dependences = fitted.dependences();
        Ok((fitted, dependences))
    })
    .map_err(|e: CrustError| Failure::Work(e.to_string()))?;
    let figures = dependences.iter().map(|d| crust_score(&chart(of, d, context.units), CHART_PX));
    let charts = write_figures(&figures.collect::<Result<Vec<_>, _>>()?, &args.out)?;
    let told = Answer { of, crust: fitted.crust(), charts };
    answer(context, &told, || text(&told, context.units))?;
    Ok(Done::All)
}

/// A curve as the chart takes it.
fn chart(of: Of, d: &Dependence, units: UnitSystem) -> CrustChart {
    let quantiles = |[p05, p25, p50, p75, p95]: [f64; 5]| Quantiles { p05, p25, p50, p75, p95 };
    let at = |x: f64| in_units(x, d.unit, units).0;
    CrustChart {
        of: match of {
            Of::Score => Scored::Crust,
            Of::Verdict => Scored::Verdict,
        },
        name: d.name.into(),
        unit: in_units(0.0, d.unit, units).1.into(),
        score: d.curve.iter().map(|(x, q)| (at(*x), quantiles(*q))).collect(),
        batches: d.batches.iter().map(|(x, seen)| (at(*x), *seen)).collect(),
        tried: Some((at(d.tried.0), at(d.tried.1))),
    }
}

/// The answer as text: what to do, then how sure that is.
fn text(told: &Answer, units: UnitSystem) -> String {
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
            c.best_tried.ranges.iter().for_each(|r| out.push_str(&range(r, units)));
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
    out.push_str(&effects(c, units));
    out.push_str(&models(c));
    bullets(&mut out, "Mind:", &c.cautions);
    if let Some(folder) = told.charts.first().and_then(|p| p.parent()) {
        let _ = writeln!(out, "{} in {}", counted(told.charts.len(), "chart", "charts"), folder.display());
    }
    out
}

fn range(r: &Range, units: UnitSystem) -> String {
    let shown = |x: f64| in_units(x, r.unit, units);
    let (from, to) = (trimmed(shown(r.from).0, 1), trimmed(shown(r.to).0, 1));
    let between = if from == to { from } else { format!("{from} to {to}") };
    format!("  {} {between} {}\n", r.name, shown(r.from).1)
}

/// Effects are told per step; a step of °C is told as the same step in °F.
fn effects(c: &Crust, units: UnitSystem) -> String {
    let head = ["what", "effect", "9 of 10 between", "and", "unit", "tried from", "to"];
    let mut rows = vec![head.map(String::from).to_vec()];
    rows.extend(c.effects.iter().map(|e| {
        let signed = |x: f64| format!("{x:+.2}");
        let us = units == UnitSystem::Us && e.unit.ends_with(" 10 °C");
        let unit = if us { e.unit.replace("10 °C", "18 °F") } else { e.unit.clone() };
        let tried = |x: f64| trimmed(if us { in_units(x, "°C", units).0 } else { x }, 1);
        vec![
            e.name.into(),
            signed(e.mean),
            signed(e.q05),
            signed(e.q95),
            unit,
            tried(e.tried_from),
            tried(e.tried_to),
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
    format!("{}{}\n", table(&rows), words::OFF_BY)
}
